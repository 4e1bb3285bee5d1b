"""Slips of unit in briefs and build-up files: each refused with its place, its value, and what was probably meant."""

from __future__ import annotations

import copy
import tomllib

import pytest
import tomli_w
from wall_text import framed, head

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.wall.buildup import parse_buildup

BRIEF = tomllib.loads(demo_brief().read_text(encoding="utf-8"))
SINGLE = head("w") + framed("outer frame", "blown-cellulose", 145)
HOUSE = {"length_m": 12.0, "width_m": 8.0}

# what is written -> (where, value, what was meant; None where no other unit makes sense of it)
IN_BRIEFS = {
    "U in milliwatts": (
        "target.u_value",
        105,
        "0.005 to 10 W/m2K; 105 looks like mW: did you mean 0.105?",
    ),
    "R for U": ("target.u_value", 12.5, "12.5 looks like R in m2K/W: did you mean 0.08?"),
    "U of nothing": ("target.u_value", 0, "expected 0.005 to 10 W/m2K"),
    "a further target as R": ("target.also", [20], "20 looks like R in m2K/W: did you mean 0.05?"),
    "a wall in metres": ("limits.max_thickness_mm", 0.55, "0.55 looks like m: did you mean 550?"),
    "a least depth in metres": ("limits.min_load_bearing_depth_mm", 0.12, "0.12 looks like m: did you mean 120?"),
    "a house in millimetres": ("house", {"length_m": 12000, "width_m": 8}, "12000 looks like mm: did you mean 12?"),
    "an outline in millimetres": (
        "house",
        {"outline": [[0, 0], [9500, 0], [9500, 7000], [0, 7000]]},
        "outline: is 9500 m long: expected 0 to 200 m; 9500 looks like mm: did you mean 9.5?",
    ),
    "a storey in millimetres": ("house", HOUSE | {"storey_height_m": 2700}, "2700 looks like mm: did you mean 2.7?"),
    "a storey of a foot": ("house", HOUSE | {"storey_height_m": 0.27}, "expected 1 to 30 m"),
    "storeys in millimetres": (
        "house",
        HOUSE | {"storey_heights_m": [2.6, 2500]},
        "2500 looks like mm: did you mean 2.5?",
    ),
    "a reference wall in metres": (
        "house",
        HOUSE | {"reference_thickness_mm": 0.4},
        "0.4 looks like m: did you mean 400?",
    ),
    "humidity as a share": ("climate", {"indoor_rh_percent": 0.5}, "0.5 looks like a share: did you mean 50?"),
    "dry as no air is": ("climate", {"indoor_rh_percent": 3}, "expected 5 to 100 % relative humidity"),
    "outdoor humidity as shares": (
        "climate",
        {"outdoor_rh_percent": [0.85] * 12},
        "0.85 looks like a share: did you mean 85?",
    ),
    "a room in kelvin": ("climate", {"indoor_temperature_c": 293.15}, "293.15 looks like kelvin: did you mean 20?"),
    "months in kelvin": (
        "climate",
        {"outdoor_temperature_c": [278.15] * 12},
        "278.15 looks like kelvin: did you mean 5?",
    ),
    "months in fahrenheit": ("climate", {"outdoor_temperature_c": [75.0] * 12}, "expected -70 to 60 °C"),
    "plates of a storey in metres": ("framing.height_mm", 2.75, "2.75 looks like m: did you mean 2750?"),
    "openings in percent": ("framing.openings_fraction", 2, "2 looks like percent: did you mean 0.02?"),
    "a fraction in percent": ("framing.fraction", 15, "15 looks like percent: did you mean 0.15?"),
    "a gap in metres": ("gap.max_mm", 0.2, "0.2 looks like m: did you mean 200?"),
    "a step in metres": ("gap.step_mm", 0.02, "0.02 looks like m: did you mean 20?"),
    "a stud spacing in metres": ("slots.outer frame.spacing_mm", [0.6], "0.6 looks like m: did you mean 600?"),
    "a tie in metres": ("tie.height_mm", 0.2, "0.2 looks like m: did you mean 200?"),
    "ties apart in metres": ("tie.vertical_spacing_mm", 1.2, "1.2 looks like m: did you mean 1200?"),
    "wind in newtons": ("loads", {"wind_kn_m2": 800}, "800 looks like N: did you mean 0.8?"),
    "snow in newtons": ("loads", {"snow_kn_m": 6000}, "6000 looks like N: did you mean 6?"),
    "a stud in metres": ("loads", {"height_mm": 2.7}, "2.7 looks like m: did you mean 2700?"),
    "a floor's span in millimetres": ("loads", {"floor_span_m": 4500}, "4500 looks like mm: did you mean 4.5?"),
    "a study of a moment": ("carbon.study_years", 1e-6, "at least 1"),
    "grams per kilowatt hour": ("operation.kgco2e_kwh", 250, "did you mean 0.25?"),
    "efficiency in percent": ("operation.efficiency", 320, "320 looks like percent: did you mean 3.2?"),
    "kelvin hours": ("operation.degree_hours_kkh", 84000, "did you mean 84?"),
    "labour in minutes": ("labour.board_h_per_m2", 30, "30 looks like minutes: did you mean 0.5?"),
    "a rate of a number's end": ("labour.rate_per_h", 1e308, "expected 0 to 1e+07 of the currency"),
    "a way in metres": ("transport.distance_km", 120000, "120000 looks like m: did you mean 120?"),
    "a margin in percent": ("climate", {"humidity_margin": 110}, "110 looks like percent: did you mean 1.1?"),
    "north beyond a turn": ("house", HOUSE | {"north_deg": 400}, "north_deg = 400: expected at most 360"),
    "openings larger than the walls": ("house", HOUSE | {"openings_m2": 500}, "openings_m2 is larger than the walls"),
    "a bag in grams": ("filling.bag_kg", 12500, "did you mean 12.5?"),
    "a chamber in metres": ("filling.chamber_height_mm", 2.6, "2.6 looks like m: did you mean 2600?"),
    "a deepest void in metres": ("filling.deepest_mm", 0.4, "0.4 looks like m: did you mean 400?"),
}

# the values of [materials.mine] in a build-up -> what is said
OF_MATERIALS = {
    "a decimal too many": (
        {"conductivity_w_mk": 0.0038},
        "0.0038 looks like a slip of the decimal point: did you mean 0.038?",
    ),
    "a decimal too many, of a kind": (
        {"like": "blown-cellulose", "conductivity_w_mk": 0.0058},
        "expected 0.0216 to 0.0624 W/mK for a loose fill; 0.0058 looks like a slip of the decimal point: did",
    ),
    "a decimal too few, of a kind": (
        {"like": "blown-cellulose", "conductivity_w_mk": 0.38},
        "0.38 looks like a slip of the decimal point: did you mean 0.038?",
    ),
    "milliwatts": ({"like": "hemp-batt", "conductivity_w_mk": 39}, "39 looks like mW: did you mean 0.039?"),
    "milliwatts of a light thing": (
        {"conductivity_w_mk": 39, "density_kg_m3": 40},
        "39 looks like mW: did you mean 0.039?",
    ),
    "carbon of a number's end": ({"like": "osb", "fossil_kgco2e_kg": 1e308}, "expected -100 to 1000 kgCO2e per kg"),
    "carbon that is burnt": ({"like": "osb", "burnt_fossil_kgco2e_kg": 1e308}, "expected 0 to 4 kgCO2e per kg"),
    "more stored than there is": ({"like": "osb", "biogenic_kgco2e_kg": -1600}, "did you mean -1.6?"),
    "a life of a moment": ({"like": "osb", "service_life_years": 1e-6}, "expected 1 to 1000 years"),
    "waste in percent": ({"like": "osb", "waste_fraction": 10}, "10 looks like percent: did you mean 0.1?"),
    "a density of a number's end": ({"conductivity_w_mk": 0.04, "density_kg_m3": 1e308}, "expected 0.1 to 25000 kg/m3"),
    "heat capacity in kilojoules": (
        {"conductivity_w_mk": 0.04, "specific_heat_j_kgk": 1.6},
        "1.6 looks like thousands: did you mean 1600?",
    ),
    "a membrane in grams": ({"sd_m": 5, "mass_kg_m2": 150}, "did you mean 0.15?"),
    "mu of a number's end": ({"conductivity_w_mk": 0.04, "vapour_mu": 1e308}, "expected 0.5 to 1e+07"),
}

IN_BUILDUPS = {
    "a frame in metres": ("thickness_mm = 145", "thickness_mm = 0.145", "0.145 looks like m: did you mean 145?"),
    "a stud's face in metres": ("width_mm = 45", "width_mm = 0.045", "0.045 looks like m: did you mean 45?"),
    "a spacing in metres": ("spacing_mm = 600", "spacing_mm = 0.6", "0.6 looks like m: did you mean 600?"),
}


def with_value(path: str, value: object) -> dict:
    raw = copy.deepcopy(BRIEF)
    *sections, key = path.split(".")
    table = raw
    for each in sections:
        table = table.setdefault(each, {})
    if isinstance(value, dict) and key in ("climate", "loads"):
        value = {k: v for k, v in table.get(key, {}).items() if k not in ("epw",)} | value
        if "indoor_rh_percent" in value:
            value.pop("indoor_humidity_class", None)
    table[key] = value
    return raw


@pytest.mark.parametrize("name", IN_BRIEFS)
def test_a_slip_in_a_brief_is_told_with_what_was_meant(name, tmp_path):
    path, value, words = IN_BRIEFS[name]
    place = tmp_path / "brief.toml"
    place.write_text(tomli_w.dumps(with_value(path, value)), encoding="utf-8")
    with pytest.raises(InputError) as error:
        read_brief(place)
    said = str(error.value)
    assert words in said, said
    assert path.split(".")[0] in said


@pytest.mark.parametrize("name", OF_MATERIALS)
def test_a_slip_in_a_material_of_one_s_own_is_told_with_what_was_meant(name):
    values, words = OF_MATERIALS[name]
    with pytest.raises(InputError) as error:
        parse_buildup(SINGLE + tomli_w.dumps({"materials": {"mine": values}}), load_catalogue(), "wall.toml")
    assert words in str(error.value), error.value
    assert "materials.mine" in str(error.value)


@pytest.mark.parametrize("name", IN_BUILDUPS)
def test_a_slip_in_a_layer_is_told_with_what_was_meant(name):
    right, wrong, words = IN_BUILDUPS[name]
    assert right in SINGLE
    with pytest.raises(InputError) as error:
        parse_buildup(SINGLE.replace(right, wrong), load_catalogue(), "wall.toml")
    assert words in str(error.value) and "layer" in str(error.value)


def test_a_number_that_a_list_could_stand_for_is_refused_in_one_message():
    with pytest.raises(InputError) as error:
        parse_buildup(SINGLE + "[conditions]\nindoor_rh_percent = 0.5\n", load_catalogue(), "wall.toml")
    said = "0.5: expected 5 to 100 % relative humidity; 0.5 looks like a share: did you mean 50?"
    assert str(error.value) == f"wall.toml: conditions, indoor_rh_percent = {said}"


REAL = {
    "an arctic winter": ("climate", {"outdoor_temperature_c": [-52.0, -48, -35, -20, -5, 8, 14, 10, 2, -14, -34, -49]}),
    "a desert": ("climate", {"outdoor_temperature_c": [38.0] * 12, "outdoor_rh_percent": [9.0] * 12}),
    "a row of houses": ("house", {"length_m": 160.0, "width_m": 11.0, "storeys": 5}),
    "a hut": ("house", {"length_m": 2.4, "width_m": 2.0, "storey_height_m": 2.0}),
    "a hall": ("house", {"length_m": 40.0, "width_m": 20.0, "storey_height_m": 9.0}),
    "a storm": ("loads", {"wind_kn_m2": 2.5, "snow_kn_m": 60.0, "height_mm": 6000}),
    "studs apart like posts": ("slots.outer frame.spacing_mm", [2400.0]),
    "no gap": ("gap", {"min_mm": 0, "max_mm": 0}),
    "a very good wall": ("target.u_value", 0.04),
    "a shed": ("target.u_value", 3.0),
}


@pytest.mark.parametrize("name", REAL)
def test_what_is_rare_and_real_is_read(name, tmp_path):
    place = tmp_path / "brief.toml"
    place.write_text(tomli_w.dumps(with_value(*REAL[name])), encoding="utf-8")
    assert read_brief(place).name


@pytest.mark.parametrize(
    "values",
    [
        {"conductivity_w_mk": 0.007, "density_kg_m3": 190},  # an evacuated panel
        {"conductivity_w_mk": 0.013, "density_kg_m3": 150},  # aerogel
        {"conductivity_w_mk": 380, "density_kg_m3": 8900},  # copper
        {"like": "blown-cellulose", "conductivity_w_mk": 0.045},
        {"like": "pir-board", "conductivity_w_mk": 0.02},
        {"sd_m": 1500, "mass_kg_m2": 0.4},  # a foil
        {"sd_m_dry": 20, "sd_m_humid": 0.3},
        {"conductivity_w_mk": 1.1, "vapour_mu": 1e6, "density_kg_m3": 2500},  # glass
    ],
)
def test_a_material_that_is_rare_and_real_is_read(values):
    parse_buildup(SINGLE + tomli_w.dumps({"materials": {"mine": values}}), load_catalogue(), "wall.toml")


@pytest.mark.parametrize(
    "text",
    [
        head("w") + framed("outer frame", "blown-cellulose", 38),
        head("w") + framed("outer frame", "blown-cellulose", 900),
        SINGLE.replace("width_mm = 45", "width_mm = 0.6"),  # webs of steel
        SINGLE + '[[layer]]\nrole = "airtight layer"\nmaterial = "pe-membrane"\nthickness_mm = 0.2\n',
        SINGLE + "[loads]\nheight_mm = 2700\nstoreys = 5\nfloor_span_m = 6\nroof_snow_kn_m2 = 9\n",
    ],
    ids=["slim", "deep", "steel webs", "a foil", "five storeys of snow"],
)
def test_a_wall_that_is_rare_and_real_is_read(text):
    assert parse_buildup(text, load_catalogue(), "wall.toml").layers


def test_there_are_forty_kinds_of_mistake():
    assert len(IN_BRIEFS) + len(OF_MATERIALS) + len(IN_BUILDUPS) >= 40
