"""ASHRAE Handbook of Fundamentals: the wood-frame wall, by parallel path and by isothermal planes.

Status: memory; an independent recomputation agreed to 3 digits. The parallel-path method is our R', isothermal planes
are our R''. The source is in inch-pound units: 1 h ft2 F/Btu = 0.17611 m2K/W.
"""

from pathlib import Path

import pytest

from materials.catalogue import load_catalogue
from optimiser.checks.judge import HeatPaths, judge
from optimiser.wall.buildup import BuildUp, parse_buildup

IP = 0.17611  # m2K/W in 1 h ft2 F/Btu
TEXT = (Path(__file__).parent / "walls" / "wood_frame_inch_pound.toml").read_text(encoding="utf-8")


def wall(fraction: float) -> BuildUp:
    text = TEXT.replace("fraction = 0.25", f"fraction = {fraction}")
    return parse_buildup(text, load_catalogue(), "wood_frame_inch_pound.toml")


def heat(fraction: float) -> HeatPaths:
    return judge(wall(fraction)).heat


def test_the_file_holds_the_layers_in_si():
    """Films .17 and .68, bevel siding .81, rigid foam 4.0, batt 13.0, stud 4.38, gypsum .45 h ft2 F/Btu (memory)."""
    own = wall(0.25)
    assert own.conditions.surface_r_outside == pytest.approx(0.17 * IP, abs=5e-6)
    assert own.conditions.surface_r_inside == pytest.approx(0.68 * IP, abs=5e-6)
    for key, value in {"bevel-siding": 0.81, "rigid-foam": 4.0, "batt": 13.0, "stud": 4.38, "gypsum": 0.45}.items():
        assert own.of(key).resistance_m2k_w == pytest.approx(value * IP, abs=5e-6)


def test_paths():
    """Between the studs 19.11, through them 10.49 h ft2 F/Btu (memory)."""
    batt, stud = heat(0.25).paths
    assert (batt.fraction, stud.fraction) == pytest.approx((0.75, 0.25), abs=1e-12)
    assert batt.resistance / IP == pytest.approx(19.11, abs=5e-3)
    assert stud.resistance / IP == pytest.approx(10.49, abs=5e-3)


def test_framing_of_25_percent():
    """Parallel path U .063; isothermal planes R 14.82, U .067 (memory)."""
    found = heat(0.25)
    assert IP / found.r_upper == pytest.approx(0.063, abs=5e-4)
    assert found.r_lower / IP == pytest.approx(14.82, abs=5e-3)
    assert IP / found.r_lower == pytest.approx(0.067, abs=5e-4)


def test_framing_of_22_percent():
    """Parallel path at 78/22: R 16.18, U .062 (memory)."""
    found = heat(0.22)
    assert found.r_upper / IP == pytest.approx(16.18, abs=5e-3)
    assert IP / found.r_upper == pytest.approx(0.062, abs=5e-4)


def test_our_u_value_lies_between_the_two_methods():
    """Law of the combined method: U is the mean of both resistances."""
    found = heat(0.25)
    assert found.u_value == pytest.approx(2 / (found.r_upper + found.r_lower), rel=1e-12)
    assert 1 / found.r_upper < found.u_value < 1 / found.r_lower
