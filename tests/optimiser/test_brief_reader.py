"""The brief: every message of its reader, and a brief written and read again is the same brief."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest
from broken_files import broken
from hypothesis import given, settings
from hypothesis import strategies as st
from small_briefs import BASE, CATALOGUE, LOCKED, OPEN, PRICING, choices_of
from written_brief import TEXT

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import Brief, brief_from, brief_to_toml, parse_brief, read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.space.choices import Choices
from optimiser.space.options import with_allowed

DEMO = resources.files("optimiser") / "demo" / "brief.toml"


def said(text: str) -> str:
    with pytest.raises(InputError) as error:
        parse_brief(text, "brief.toml")
    return str(error.value)


def test_the_shipped_brief_is_read():
    with resources.as_file(DEMO) as path:
        brief = read_brief(path)
    assert brief.target.u_value < 0.15
    assert parse_brief(brief_to_toml(brief), "again.toml") == brief


def test_a_whole_brief_is_read():
    brief = parse_brief(TEXT, "brief.toml")
    assert brief.target.all == (0.105,)
    assert brief.slot("lining").lock == "bb-gypsum-fibre-12.5"
    assert brief.gap.widths_mm() == [10.0 * number for number in range(31)]


MESSAGES = {
    "empty": ("", "brief.toml: the brief is empty; expected at least name, [target], [prices] and [slots]"),
    "decimal comma": (
        TEXT.replace("u_value = 0.105", "u_value = 0,105"),
        'brief.toml: Expected newline or end of document after a statement (at line 4, column 12); "0,105": write '
        "decimals with a point",
    ),
    "decimal comma in quotes": (
        TEXT.replace("u_value = 0.105", 'u_value = "0,105"'),
        "brief.toml: target, u_value = '0,105': expected a number; write decimals with a point, and without quotes "
        "or unit",
    ),
    "a target of nothing": (
        TEXT.replace("u_value = 0.105", "u_value = 0"),
        "brief.toml: target, u_value = 0: expected 0.005 to 10 W/m2K",
    ),
    "an infinite limit": (
        TEXT.replace("max_thickness_mm = 620", "max_thickness_mm = inf"),
        "brief.toml: limits, max_thickness_mm = inf: expected a finite number",
    ),
    "a negative depth": (
        TEXT.replace("min_load_bearing_depth_mm = 120", "min_load_bearing_depth_mm = -1"),
        "brief.toml: limits, min_load_bearing_depth_mm = -1: expected 0 or 1 to 5000 mm",
    ),
    "an unknown key": (
        TEXT.replace("max_thickness_mm", "max_thicknes_mm"),
        'brief.toml: limits, max_thicknes_mm: unknown key (nearest: "max_thickness_mm")',
    ),
    "a key without its unit": (
        TEXT.replace("max_thickness_mm", "max_thickness"),
        'brief.toml: limits, max_thickness: unknown key (nearest: "max_thickness_mm")',
    ),
    "a number of storeys in quotes": (
        TEXT.replace("storeys = 2", 'storeys = "2"'),
        "brief.toml: house, storeys = '2': expected a whole number",
    ),
    "more openings than wall": (
        TEXT.replace("openings_m2 = 31.0", "openings_m2 = 3100"),
        "brief.toml: house: openings_m2 is larger than the walls",
    ),
    "no shape of the house": (
        TEXT.replace("length_m = 11.4\n", ""),
        "brief.toml: house: give length_m and width_m, or an outline = [[0, 0], ...] of at least 4 corners",
    ),
    "an outline that crosses itself": (
        TEXT.replace(
            "length_m = 11.4\nwidth_m = 5.2\n", "outline = [[0, 0], [6, 0], [6, 6], [3, 6], [3, -3], [0, -3]]\n"
        ),
        "brief.toml: house, outline: the wall from point 1 to 2 crosses or touches that from point 4 to 5 at [3, 0]",
    ),
    "an outline with a decimal comma": (
        TEXT.replace("length_m = 11.4\nwidth_m = 5.2\n", "outline = [[0, 0], [11, 4, 0], [11, 5], [0, 5]]\n"),
        "brief.toml: house, outline: point 2 = [11, 4, 0]: expected two numbers [x, y] in metres",
    ),
    "walls as thick as the house": (
        TEXT.replace("width_m = 5.2", "width_m = 1.2"),
        "brief.toml: limits.max_thickness_mm = 620: such walls meet across the house: the wall from [0, 0] to "
        "[11.4, 0] and the wall from [11.4, 1.2] to [0, 1.2] leave room for 600 mm each",
    ),
    "an unknown key of the house": (
        TEXT.replace("openings_m2 = 31.0", "openings = 31.0"),
        'brief.toml: house, openings: unknown key (nearest: "openings_m2")',
    ),
    "an unknown objective": (
        TEXT.replace('"carbon_kgco2e_m2"]', '"carbon"]'),
        'brief.toml: objectives, minimise: "carbon" is no objective (nearest: "carbon_kgco2e_m2"); choose among '
        "thickness_mm, cost_per_m2, carbon_kgco2e_m2, weight_kg_m2, whole_life_kgco2e_m2",
    ),
    "an objective twice": (
        TEXT.replace('"carbon_kgco2e_m2"]', '"cost_per_m2"]'),
        "brief.toml: objectives, minimise: name at least one objective, each once",
    ),
    "an unknown slot": (
        TEXT.replace('[slots."outer frame"]', '[slots."outer fame"]'),
        'brief.toml: slots: "outer fame" is no slot (nearest: "outer frame")',
    ),
    "the gap among the slots": (
        TEXT + '\n[slots.gap]\nlock = "100"\n',
        "brief.toml: slots: the gap's widths stand in [gap] (min_mm, max_mm, step_mm)",
    ),
    "an unlocked lining": (
        TEXT.replace('[slots.lining]\nlock = "bb-gypsum-fibre-12.5"\n', ""),
        'brief.toml: [slots."lining"] is missing: lock = "..." one product, or open it with allow = [...] (otherwise '
        "the cheapest and thinnest always wins and says nothing)",
    ),
    "locked and open at once": (
        TEXT.replace('lock = "bb-gypsum-fibre-12.5"', 'lock = "bb-gypsum-fibre-12.5"\nallow = ["plasterboard"]'),
        "brief.toml: slots, lining: give allow or lock, not both",
    ),
    "a gap from wide to narrow": (
        TEXT.replace("min_mm = 0\n", "min_mm = 400\n"),
        "brief.toml: gap: max_mm must not be below min_mm",
    ),
    "a gap in steps of a hair": (
        TEXT.replace("step_mm = 10\n", "step_mm = 0.01\n"),
        "brief.toml: gap, step_mm = 0.01: expected 0.1 to 1000 mm; 0.01 looks like m: did you mean 10?",
    ),
    "a tie higher than its spacing": (
        TEXT.replace("height_mm = 220", "height_mm = 2200"),
        "brief.toml: tie: height_mm must not exceed vertical_spacing_mm",
    ),
    "an offset of the outer frame": (
        TEXT.replace('[slots."outer frame"]\n', '[slots."outer frame"]\noffset_mm = [300]\n'),
        'brief.toml: offset_mm belongs to [slots."inner frame"]: the outer frame is the line of reference',
    ),
    "a lying frame": (
        TEXT.replace('[slots."outer frame"]\n', '[slots."outer frame"]\naxis = "horizontal"\n'),
        'brief.toml: [slots."outer frame"] axis belongs to: service zone',
    ),
    "a spacing of boards": (
        TEXT + "\n[slots.sheathing]\nspacing_mm = [600]\n",
        'brief.toml: [slots."sheathing"] spacing_mm belongs to: ventilated space, outer frame, inner frame, service '
        "zone",
    ),
    "corrections of no slot": (
        TEXT + '\n[corrections]\nair_gap_level = 1\nair_gap_layer = "outer bord"\n',
        "brief.toml: corrections name layer 'outer bord', which is no slot (nearest: \"outer board\")",
    ),
    "no price list": (
        TEXT.replace('"demo:hollin-timber.csv"', ""),
        "brief.toml: prices, lists: expected at least 1 value, found 0",
    ),
    "a budget of nothing": (
        TEXT + "\n[search]\npopulation = 1\n",
        "brief.toml: search, population = 1: expected at least 8",
    ),
}


@pytest.mark.parametrize(("text", "expected"), MESSAGES.values(), ids=MESSAGES)
def test_one_clear_message(text, expected):
    assert text != TEXT
    assert said(text) == expected


# What only the catalogue and the lists can tell


def refused(slots: dict, **more) -> str:
    base = {name: {"allow": keys} for name, keys in OPEN.items()}
    with pytest.raises(InputError) as error:
        choices_of(base | slots, **more)
    return str(error.value)


CONTENTS = {
    "neither product nor material": (
        {"sheathing": {"allow": ["strand-21"]}},
        'slots."sheathing": "strand-21" is neither a product on the lists nor a material (nearest: "strand-12")',
    ),
    "not made for the slot": (
        {"sheathing": {"allow": ["soft-8"]}},
        'slots."sheathing": "soft-8" is not made for this slot; the catalogue uses it for: gap board',
    ),
    "a slot that cannot be empty": (
        {"outer frame": {"allow": ["none"]}},
        'slots."outer frame": "none": this slot cannot be empty',
    ),
    "rigid foam between studs": (
        {"fill": {"allow": ["foam"]}},
        'slots."fill": "foam": rigid foam does not belong between studs',
    ),
    "rigid foam that calls itself a fill": (
        {"fill": {"allow": ["slab-60"]}},
        'slots."fill": "slab-60": rigid foam does not belong between studs',
    ),
    "too little air behind the cladding": (
        {"ventilated space": {"lock": "batten-50x20"}},
        'slots."ventilated space": "batten-50x20": a ventilated space is at least 25 mm deep',
    ),
    "air alone": ({"fill": {"allow": ["air"]}}, 'slots."fill": air alone does not insulate; allow a fill'),
    "blown service zone": (
        {"service fill": {"allow": ["flock"]}},
        'slots."service fill": "flock" is not made for this slot; the catalogue uses it for: fill',
    ),
    "studs side by side": (
        {"outer frame": {"allow": ["stud-45x120"], "spacing_mm": [40]}},
        'slots."outer frame": stud-45x120 at 40 mm leaves no room between the members',
    ),
    "an offset as wide as the bay": (
        {"inner frame": {"allow": ["stud-38x60"], "spacing_mm": [300], "offset_mm": [300]}},
        'slots."inner frame": offset_mm = 300 must be below spacing_mm = 300',
    ),
}


@pytest.mark.parametrize(("slots", "expected"), CONTENTS.values(), ids=CONTENTS)
def test_contents_of_slots(slots, expected):
    assert refused(slots) == expected


def test_no_stud_is_deep_enough():
    assert refused({}, limits={"min_load_bearing_depth_mm": 200}) == (
        'slots."outer frame": no stud on the lists is 200 mm deep (limits.min_load_bearing_depth_mm)'
    )


@pytest.mark.parametrize(
    ("product", "words"),
    [("plate-21", 'product "plate-21" is on no price list (nearest: "plate-12")'), ("flock", "has no thickness")],
)
def test_ties_of_a_product_that_cannot_be_one(product, words):
    assert words in refused({}, tie={"product": product})


def test_plates_reach_no_further_than_the_studs():
    assert refused({}, tie={"product": "plate-12", "overlap_mm": 61}) == (
        "tie.overlap_mm = 61: the shallowest stud allowed is 60 mm deep; the plates cannot reach further"
    )


def test_lists_and_suppliers():
    catalogue, brief = load_catalogue(), parse_brief(TEXT, "brief.toml")
    for change, words in (
        ({"lists": ("demo:holin-timber.csv",)}, 'nearest: "demo:hollin-timber.csv"'),
        ({"lists": ("none.csv",)}, "no such file"),
        ({"currency": "NOK"}, "the lists are in EUR; the brief asks for NOK"),
        ({"suppliers": ("Hollin Timbre",)}, 'supplier "Hollin Timbre" is on no list (nearest: "Hollin Timber")'),
    ):
        other = brief.model_copy(update={"prices": brief.prices.model_copy(update=change)})
        with pytest.raises(InputError) as error:
            pricing_of(other, Path("."), catalogue)
        assert words in str(error.value)


def test_a_slot_switched_off_altogether():
    with pytest.raises(InputError, match=r'slots."sheathing": nothing is left; switch on at least one'):
        with_allowed(parse_brief(TEXT, "brief.toml"), {"sheathing": []})


# Both ways, and anything at all


def test_written_and_read_again():
    brief = parse_brief(TEXT, "brief.toml")
    assert parse_brief(brief_to_toml(brief), "again.toml") == brief


BRIEF = BASE | {
    "slots": LOCKED | {name: {"allow": list(keys)} for name, keys in OPEN.items()},
    "gap": {"min_mm": 0, "max_mm": 100, "step_mm": 20},
    "objectives": {"minimise": ["thickness_mm", "weight_kg_m2"]},
    "framing": {"plates": 2, "openings_fraction": 0.02},
    "tie": {"product": "plate-12"},
    "climate": {"indoor_temperature_c": 20, "surface_r_inside": 0.13},
    "corrections": {"air_gap_level": 1, "air_gap_layer": "outer board"},
    "house": {
        "outline": [[0, 0], [9.0, 0], [9.0, 6.0], [3.0, 6.0], [3.0, 5.0], [0, 5.0]],
        "storey_heights_m": [2.7, 2.5],
        "openings_m2": {"north": 2.0, "south": 9.5},
        "reference_thickness_mm": 300,
    },
}
NUMBERS = st.one_of(
    st.integers(-5, 700),
    st.floats(),
    st.sampled_from([0, 1e-320, 1e308, -1e308, 10**400, 2**70, float("nan"), float("inf")]),
)
WORDS = st.one_of(st.text(max_size=6), st.sampled_from(["none", "air", "horizontal", "0,1", "allow", "lock", "flock"]))


def brief_or_words(raw: dict) -> Brief | None:
    try:
        return brief_from(raw, "brief.toml")
    except InputError as error:
        assert str(error)
        return None


@settings(max_examples=400, deadline=None)
@given(broken(st.just(BRIEF), NUMBERS, WORDS))
def test_any_brief_is_read_or_refused_in_words(raw):
    """No other exception, not even when its choices are made; and what is read is written and read again alike."""
    brief = brief_or_words(raw)
    if brief is None:
        return
    assert parse_brief(brief_to_toml(brief), "again.toml") == brief
    try:
        Choices(brief, CATALOGUE, PRICING)
    except InputError as error:
        assert str(error)


def test_the_brief_that_those_break_is_sound():
    assert brief_or_words(BRIEF) is not None
    assert len(Choices(brief_from(BRIEF, "b"), CATALOGUE, PRICING).options["gap"]) == 6


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("[]{}=\"'.,0123456789e+-slot \n#", max_size=60)))
def test_any_text_at_all(text):
    assert said(text)
