"""Porteous and Kermani, Structural Timber Design to Eurocode 5: posts and stud walls of chapter 5.

Status: the sizes, classes and loads, and the figures marked seen, were read in the book's text; own = computed by an
independent script in N and mm. The book's classes are those of EN 338:2003, the same for these properties.
"""

import pytest

from optimiser.strength import stud as rules
from optimiser.strength.classes import CLASSES
from optimiser.strength.loads import WallLoads
from optimiser.strength.national_parameters import Settings
from optimiser.strength.stud import Stud, check


def under(found, combination: str) -> dict[str, float]:
    return {case.check: value for case, value in found.of() if case.combination == combination}


def test_post_of_example_5_7_1():
    """150 x 200 C18, 3.75 m, 30 kN permanent and 50 kN medium-term, service class 2.

    lambda_y 64.95 (seen); lambda_z 86.60, lambda_rel,z 1.510, k_c,z 0.375, utilisation 0.927 (own).
    """
    c18 = CLASSES["C18"]
    assert rules.slenderness(3.75, 0.2) == pytest.approx(64.95, abs=5e-3)
    assert rules.slenderness(3.75, 0.15) == pytest.approx(86.60, abs=5e-3)
    assert rules.relative_slenderness(rules.slenderness(3.75, 0.15), c18) == pytest.approx(1.510, abs=5e-4)
    post = Stud(depth=0.2, width=0.15, spacing=1.0, length=3.75, timber=c18, service_class=2, restrained=False)
    found = check(post, WallLoads(permanent=30e3, imposed=50e3))
    assert found.k_c_z[0] == pytest.approx(0.375, abs=5e-4)
    buckling = under(found, "permanent + imposed")["buckling along the wall (6.24)"]
    assert buckling == pytest.approx(0.927, abs=5e-4)


def test_stud_of_example_5_7_6():
    """44 x 100 C16, 3.75 m: lambda_rel,y 2.32, k_y 3.39 (seen), k_c,y 0.170 (own)."""
    relative = rules.relative_slenderness(rules.slenderness(3.75, 0.1), CLASSES["C16"])
    assert relative == pytest.approx(2.32, abs=5e-3)
    assert rules.instability(relative) == pytest.approx(3.39, abs=5e-3)
    assert rules.buckling_factor(relative) == pytest.approx(0.170, abs=5e-4)


# Example 5.7.7: 38 x 125 C18 at 600 mm, 3.75 m high, held along the wall at mid-height, service class 2; each stud
# 0.5 kN permanent and 2 kN medium-term, wind 0.75 kN/m2 (seen). Wind instantaneous and k_sys 1.1, as UK practice has it
# (memory).
STUDS = Stud(0.125, 0.038, 0.6, 3.75, CLASSES["C18"], service_class=2, restrained=False, length_along=3.75 / 2)
LOADS = WallLoads(permanent=500 / 0.6, imposed=2000 / 0.6, wind=750.0)
UK = Settings(duration_wind="instantaneous", k_sys=1.1)


def test_stability_factors_of_example_5_7_7():
    """The effective length 0.9 L/2 + 2 h (seen) = 1937.5 mm; lambda_rel,m 0.803, k_crit 0.958, k_c,y 0.270, k_c,z 0.105
    (own)."""
    length = rules.lateral_length(0.125, 3.75, 3.75 / 2)
    assert length == pytest.approx(1.9375, rel=1e-12)
    assert rules.lateral_slenderness(0.125, 0.038, length, CLASSES["C18"]) == pytest.approx(0.80317, abs=5e-6)
    found = check(STUDS, LOADS, UK)
    assert found.k_crit[0] == pytest.approx(0.957625, abs=5e-7)
    assert found.k_c_y[0] == pytest.approx(0.270469, abs=5e-7)
    assert found.k_c_z[0] == pytest.approx(0.105488, abs=5e-7)


def test_wind_leading_in_example_5_7_7():
    """Own: (6.23) 0.8190, (6.24) 0.8136, (6.35) 0.8498, shear 0.2073."""
    rows = under(check(STUDS, LOADS, UK), "permanent + wind + 0.7 imposed")
    assert rows["buckling through the wall (6.23)"] == pytest.approx(0.818963, abs=5e-7)
    assert rows["buckling along the wall (6.24)"] == pytest.approx(0.813587, abs=5e-7)
    assert rows["lateral-torsional buckling (6.35)"] == pytest.approx(0.849785, abs=5e-7)
    assert rows["shear"] == pytest.approx(0.207348, abs=5e-7)


def test_bearing_and_deflection_in_example_5_7_7():
    """Own: bearing with the spread of 30 mm 0.1773; 20.82 mm of deflection, 1.6653 of L/300 (the book's limit is the
    ultimate one alone)."""
    found = check(STUDS, LOADS, UK)
    assert under(found, "permanent + imposed")["bearing on the plate"] == pytest.approx(0.177273, abs=5e-7)
    assert under(found, "wind (characteristic)")["horizontal deflection"] == pytest.approx(1.665296, abs=5e-7)
    assert found.governing_words() == "horizontal deflection under wind (characteristic)"
