"""Verdicts on one wall through its build-up file: published figures, what cannot be judged, and what fails whom."""

from __future__ import annotations

import json

import numpy as np
import pytest
from wall_text import framed, head, layer

from materials.catalogue import load_catalogue
from optimiser.checks.judge import judge
from optimiser.checks.moisture.check import MOISTURE
from optimiser.moisture import monthly
from optimiser.wall.buildup import parse_buildup
from optimiser.wall.climate import climate_of

# ISO 13788, the standard's example climate (memory); the wall and its tables are own, January closed form exact.
WALL = """
name = "vapour"
outside = "exposed"
[materials]
plasterboard = { resistance_m2k_w = 0.05, sd_m = 0.125 }
membrane = { sd_m = SD }
cellulose = { conductivity_w_mk = 0.039, vapour_mu = 2 }
board = { resistance_m2k_w = 0.1154, sd_m = 3.0 }
[[layer]]
role = "sheathing"
material = "board"
thickness_mm = 15
[[layer]]
role = "outer frame"
material = "cellulose"
thickness_mm = 300
[[layer]]
role = "airtight layer"
material = "membrane"
thickness_mm = 0
[[layer]]
role = "lining"
material = "plasterboard"
thickness_mm = 12.5
[conditions]
indoor_humidity_class = 3
outdoor_temperature_c = [-1, 0, 4, 9, 14, 18, 19, 19, 15, 10, 5, 1]
outdoor_rh_percent = [85, 84, 78, 72, 68, 69, 73, 75, 79, 83, 88, 88]
"""
TABLE = {  # g/m2, January first (own)
    0.5: ([326.0, 288.0, 190.7, 6.1, -205.3, -346.4, -347.3, -320.3, -125.3, 56.6, 210.0, 310.9], 1388.4, 43.9),
    2: ([136.4, 119.3, 66.4, -29.4, -143.7, -217.0, -148.5, 0, 0, 3.4, 82.8, 130.3], 538.6, 0),
}
RESERVE = {0.5: -8.7, 2: 166.4}  # g/m2 (own): 894.0 - 902.7, and 166.4 unrounded


def read(text: str):
    return parse_buildup(text, load_catalogue(), "wall.toml")


def told(text: str) -> dict:
    return judge(read(text)).as_json()


@pytest.mark.parametrize("sd", TABLE)
def test_the_monthly_account_of_the_example_wall_in_the_contract_s_words(sd):
    found = told(WALL.replace("SD", str(sd)))["moisture"]
    months, peak, left = TABLE[sd]
    (place,) = found["interfaces"]
    assert place["between"] == ["1 sheathing", "2 outer frame"]
    assert place["monthly_g_m2"] == pytest.approx(months, abs=0.051)
    assert place["peak_g_m2"] == pytest.approx(peak, abs=0.051)
    assert place["left_g_m2"] == pytest.approx(left, abs=0.051)
    assert found["drying_reserve_g_m2"] == pytest.approx(RESERVE[sd], abs=0.1)
    assert (found["month"], round(found["f_rsi_required"], 3)) == ("February", 0.773)  # ISO 13788 example (memory)
    assert found["passes"] is False  # both: peak above 500 g/m2, and the first does not dry


def test_a_climate_that_nobody_gave_fails_nobody():
    text = WALL.replace("SD", "0.5").split("[conditions]")[0]
    found = judge(read(text)).verdicts
    assert not found[MOISTURE].climate_given
    assert "moisture" not in found.failed
    assert "moisture" in judge(read(WALL.replace("SD", "0.5"))).verdicts.failed


def test_a_layer_without_vapour_resistance_is_named():
    text = WALL.replace("SD", "2").replace("conductivity_w_mk = 0.039, vapour_mu = 2", "conductivity_w_mk = 0.039")
    found = told(text)["moisture"]
    assert found["passes"] is None
    assert "layer 2 (outer frame)" in found["reason"]


TIMBER = '[materials]\ntimber = { like = "softwood-c24" }\n'


def studs(depth=195, width=45, more="") -> str:
    return (
        head("studs", TIMBER)
        + layer("sheathing", "osb", 12)
        + framed("outer frame", "blown-cellulose", depth, f"width_mm = {width}, spacing_mm = 600", stud="timber")
        + layer("airtight layer", "pe-membrane", 0)
        + layer("lining", "plasterboard", 12.5)
        + more
    )


def test_fill_of_a_void_by_hand():
    """300 mm, 85 % void at the installed density (exact); at 55 kg/m3 that would be 14.03 kg/m2 (physics, exact)."""
    found = told(studs(300, 90))["fill"]
    assert found["kg_m2"] == pytest.approx(0.300 * 0.85 * found["density_kg_m3"], rel=1e-12)
    assert pytest.approx(14.03, abs=0.005) == 0.300 * 0.85 * 55
    assert 54 <= found["density_kg_m3"] <= 58  # depth to 300 mm: common practice, memory
    assert found["bags_m2"] == pytest.approx(found["kg_m2"] / 12.5)
    assert found["chambers"] == 1
    assert found["passes"] is True


def test_a_high_void_is_broken_into_chambers():
    """Voids higher than about 3 m: common practice."""
    assert told(studs(more="[loads]\nheight_mm = 4200\nwind_kn_m2 = 0.3\n"))["fill"]["chambers"] == 2


def test_a_void_too_deep_to_fill_says_so():
    found = told(studs(560))["fill"]
    assert found["passes"] is False
    assert found["voids"][0]["reason"] == "the void is too deep to fill evenly"


def test_strength_reports_every_case_and_the_one_that_governs():
    loads = "[loads]\nheight_mm = 2700\npermanent_kn_m = 10\nimposed_kn_m = 4\nsnow_kn_m = 6\nwind_kn_m2 = 0.8\n"
    found = told(studs(145, more=loads))["strength"]
    largest = max(found["cases"], key=lambda case: case["utilisation"])
    assert found["utilisation"] == largest["utilisation"]
    assert found["governing"] == f"{largest['check']} under {largest['combination']}"
    assert found["passes"] is (found["utilisation"] <= 1)
    heavier = told(studs(145, more=loads.replace("10", "40")))["strength"]
    assert heavier["utilisation"] > found["utilisation"]
    assert set(found) >= {"utilisation", "governing", "k_c_y", "k_c_z", "cases", "passes"}


def test_loads_from_storeys_and_spans_are_those_added_up_by_hand():
    """Half a span rests on the wall: G = 1.5 m x 1 kN/m2 + 2 m x 0.8, Q = 1.5 x 2, S = 2 x 1.2 kN/m."""
    house = "storeys = 2\nfloor_span_m = 3\nfloor_permanent_kn_m2 = 1\nfloor_imposed_kn_m2 = 2\n"
    house += "roof_span_m = 4\nroof_permanent_kn_m2 = 0.8\nroof_snow_kn_m2 = 1.2\n"
    metre = "permanent_kn_m = 3.1\nimposed_kn_m = 3.0\nsnow_kn_m = 2.4\n"
    one, other = (told(studs(145, more=f"[loads]\n{text}"))["strength"] for text in (house, metre))
    assert one["utilisation"] == pytest.approx(other["utilisation"], rel=1e-12)


def test_rules_of_a_whole_wall_and_of_a_list_of_layers():
    whole = told(studs())["rules"]
    assert {rule["rule"]: rule["passes"] for rule in whole} == {
        "one airtight layer": True,
        "a wind-tight layer outside": False,  # OSB outside, and no membrane
        "at most a third of the insulation inside the airtight layer": True,
        "a racking board fixed to the load-bearing frame": True,
    }
    part = told(studs().replace("airtight layer", "foil"))["rules"]
    assert all(rule["passes"] is None for rule in part)


def test_the_json_holds_no_number_that_json_lacks():
    for text in (WALL.replace("SD", "0.5"), studs(), studs(560)):
        json.dumps(told(text), allow_nan=False)


def test_the_profile_is_the_monthly_method_s_own():
    found = judge(read(WALL.replace("SD", "2"))).verdicts
    climate = climate_of(read(WALL.replace("SD", "2")).conditions)
    account = found[MOISTURE].accounts["fill"]
    assert isinstance(account, monthly.Monthly)
    assert account.temperature.shape == (1, 5, 12)
    assert np.all(np.diff(account.temperature[0, :, 0]) >= 0)  # warmer towards the inside in January
    assert climate.outdoor_temperature[0] == -1


def test_too_much_humidity_for_wood_is_told_in_points_and_not_in_percent():
    found = judge(read(WALL.replace("SD", "0.5"))).verdicts[MOISTURE]
    (flag,) = [each for each in found.flags if each.startswith("mould can grow")]
    assert f"humidity {-found.mould_margin_percent:.1f} points above the critical one" in flag
