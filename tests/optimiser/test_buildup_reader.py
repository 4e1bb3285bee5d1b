"""The build-up file: every message of its reader, and a wall written and read again is the same wall."""

from __future__ import annotations

import json
import math
from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from written_walls import AIR, BOARD, GAP, HEAD, INNER, LINING, OUTER, OWN, TIE, TWIN

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.buildup import BuildUp, buildup_from, parse_buildup, read_buildup, to_toml
from optimiser.judge import Judgement, judge

CATALOGUE = load_catalogue()


def read(text: str) -> BuildUp:
    return parse_buildup(text, CATALOGUE, "wall.toml")


def said(text: str) -> str:
    """What the user is told of a faulty file."""
    with pytest.raises(InputError) as error:
        judge(read(text))
    return str(error.value)


def test_a_whole_file_is_read():
    wall = read(TWIN)
    assert [layer.role for layer in wall.layers] == ["sheathing", "outer frame", "gap", "inner frame", "lining"]
    assert wall.thickness_mm == 22 + 145 + 100 + 95 + 12.5
    assert wall.layers[2].tie.height_mm == 200
    assert 0.09 < judge(wall).u_value < 0.13


FRAME = HEAD + OUTER
MESSAGES = {
    "decimal comma": (
        HEAD + BOARD.replace("22", "22,5"),
        'wall.toml: Expected newline or end of document after a statement (at line 6, column 18); "22,5": '
        "write decimals with a point",
    ),
    "decimal comma in quotes": (
        HEAD + BOARD.replace("22", '"22,5"'),
        "wall.toml: layer 1 (sheathing), thickness_mm = '22,5': expected a number; write decimals with a point, "
        "and without quotes or unit",
    ),
    "a unit behind the number": (
        HEAD + BOARD.replace("22", '"22 mm"'),
        "wall.toml: layer 1 (sheathing), thickness_mm = '22 mm': expected a number; write it without quotes or unit",
    ),
    "a quoted number": (
        HEAD + BOARD.replace("22", '"22"'),
        "wall.toml: layer 1 (sheathing), thickness_mm = '22': expected a number; write it without quotes or unit",
    ),
    "a truth value": (
        HEAD + BOARD.replace("22", "true"),
        "wall.toml: layer 1 (sheathing), thickness_mm = true: input should be a valid number",
    ),
    "negative thickness": (
        HEAD + BOARD.replace("22", "-22"),
        "wall.toml: layer 1 (sheathing), thickness_mm = -22: input should be greater than or equal to 0",
    ),
    "infinite": (
        HEAD + BOARD.replace("22", "inf"),
        "wall.toml: layer 1 (sheathing), thickness_mm = inf: input should be a finite number",
    ),
    "not a number": (
        HEAD + BOARD.replace("22", "nan"),
        "wall.toml: layer 1 (sheathing), thickness_mm = nan: input should be a finite number",
    ),
    "huge": (
        HEAD + BOARD.replace("22", "1e300"),
        "wall.toml: layer 1 (sheathing), thickness_mm = 1e+300: input should be less than or equal to 5000",
    ),
    "thousands of digits": (HEAD + BOARD.replace("22", "1" * 5000), "wall.toml: holds a number too long to be read"),
    "material missing": (
        HEAD + BOARD.replace("wood-fibre-board", "wood-fiber-bord"),
        'wall.toml: layer 1 (sheathing): material "wood-fiber-bord" is neither in the catalogue nor in [materials] '
        '(nearest: "wood-fibre-board")',
    ),
    "own material misspelt": (
        HEAD + OWN + BOARD.replace("wood-fibre-board", "mime"),
        'wall.toml: layer 1 (sheathing): material "mime" is neither in the catalogue nor in [materials] '
        '(nearest: "mine")',
    ),
    "material of a frame missing": (
        FRAME.replace("softwood-c24", "softwood-c42"),
        'wall.toml: layer 1 (outer frame), frame: material "softwood-c42" is neither in the catalogue nor in '
        '[materials] (nearest: "softwood-c24")',
    ),
    "material without heat values": (
        HEAD + "[materials.mine]\ndensity_kg_m3 = 50\n" + BOARD.replace("wood-fibre-board", "mine"),
        'layer 1 (sheathing): material "mine" has neither conductivity_w_mk nor resistance_m2k_w',
    ),
    "material that resists beyond reason": (
        HEAD + OWN.replace("0.038", "1e-320") + BOARD.replace("wood-fibre-board", "mine"),
        'layer 1 (sheathing): material "mine" resists inf m2K/W: no layer of a wall does; check its '
        "conductivity_w_mk (W/mK) and thickness_mm",
    ),
    "unknown key of a material": (
        HEAD + OWN.replace("conductivity_w_mk", "conductivity") + BOARD,
        'wall.toml: [materials.mine]: conductivity: unknown key (nearest: "conductivity_w_mk")',
    ),
    "a material that is no table": (
        HEAD + "materials = { mine = 3 }\n" + BOARD,
        "wall.toml: materials.mine must be a table of values, e.g. conductivity_w_mk = 0.038",
    ),
    "materials that are no tables": (
        HEAD + "materials = 3\n" + BOARD,
        "wall.toml: materials must be tables, as [materials.my-fill]",
    ),
    "like a material that is not there": (
        HEAD + '[materials.mine]\nlike = "hemp-bat"\n' + BOARD,
        "wall.toml: materials.mine, like = 'hemp-bat' is not in the catalogue (nearest: \"hemp-batt\")",
    ),
    "declared without conversion": (
        HEAD + OWN.replace("conductivity_w_mk", "conductivity_declared_w_mk") + BOARD,
        "wall.toml: [materials.mine]: conductivity_declared_w_mk needs conversion = { moisture = ..., "
        "temperature = ..., ageing = ... } (ISO 10456), or give the design value conductivity_w_mk",
    ),
    "outside neither vented nor exposed": (
        HEAD.replace("vented", "vent") + BOARD,
        "wall.toml: outside = 'vent': input should be 'vented' or 'exposed'",
    ),
    "outside missing": ('name = "w"\n' + BOARD, "wall.toml: outside is missing"),
    "empty file": ("", "wall.toml: is empty; expected name, outside and at least one [[layer]]"),
    "no layer": (HEAD, "wall.toml: layer is missing"),
    "an empty list of layers": (HEAD + "layer = []\n", "wall.toml: expected at least one [[layer]]"),
    "layer for [[layer]]": (HEAD + "[layer]\nrole = 'x'\n", "wall.toml: layer: input should be a list"),
    "a layer that is no table": (HEAD + "layer = [3]\n", "wall.toml: layer 1 = 3: input should be a table"),
    "layers for layer": (
        HEAD + BOARD.replace("[[layer]]", "[[layers]]"),
        'wall.toml: layers: unknown key (nearest: "layer"); every layer is a [[layer]]',
    ),
    "members wider than their spacing": (
        FRAME.replace("45\n", "600\n"),
        "wall.toml: layer 1 (outer frame), frame: the members leave no room between them: width_mm / spacing_mm + "
        "extra_fraction must be below 1",
    ),
    "extras that leave no room": (
        FRAME + "extra_fraction = 0.95\n",
        "wall.toml: layer 1 (outer frame), frame: the members leave no room between them: width_mm / spacing_mm + "
        "extra_fraction must be below 1",
    ),
    "a frame without geometry": (
        FRAME.replace("width_mm = 45\n", ""),
        "wall.toml: layer 1 (outer frame), frame: a frame needs width_mm and spacing_mm, or a fraction",
    ),
    "extras beside a fraction": (
        FRAME + "fraction = 0.1\nextra_fraction = 0.02\n",
        "wall.toml: layer 1 (outer frame), frame: fraction replaces the geometry: extra_fraction cannot stand "
        "beside it",
    ),
    "studs of two frames that leave no room": (
        FRAME.replace("45\n", "320\n") + INNER.replace("45\n", "320\n") + "offset_mm = 300\nextra_fraction = 0.1\n",
        "layers 1 (outer frame), 2 (inner frame): studs and extra_fraction together take more than the whole area",
    ),
    "plates without room beside staggered studs": (
        FRAME.replace("45\n", "200\n") + INNER.replace("45\n", "200\n") + "offset_mm = 300\nextra_fraction = 0.4\n",
        "layers 1 (outer frame), 2 (inner frame): studs and extra_fraction together take more than the whole area",
    ),
    "tie beside one frame only": (
        FRAME + GAP + TIE,
        "wall.toml: layer 2 (gap), tie: needs a vertical frame on both sides of the gap",
    ),
    "tie between crossing frames": (
        FRAME + GAP + TIE + INNER + 'axis = "horizontal"\n',
        "wall.toml: layer 2 (gap), tie: needs a vertical frame on both sides of the gap",
    ),
    "tie between staggered studs": (
        FRAME + GAP + TIE + INNER + "offset_mm = 300\n",
        "wall.toml: layer 2 (gap), tie: staggered studs can't take straight ties; line the frames up or leave the "
        "tie out",
    ),
    "tie between studs of two spacings": (
        FRAME + GAP + TIE + INNER.replace("600", "400"),
        "wall.toml: layer 2 (gap), tie: staggered studs can't take straight ties; line the frames up or leave the "
        "tie out",
    ),
    "tie between frames by fraction": (
        FRAME + GAP + TIE + INNER.replace("width_mm = 45\nspacing_mm = 600", "fraction = 0.1"),
        "wall.toml: layer 2 (gap), tie: the frames are given by fraction, so their studs have no line; give "
        "width_mm and spacing_mm",
    ),
    "tie as wide as the bay": (
        FRAME + GAP + TIE.replace("12\n", "600\n", 1) + INNER,
        "wall.toml: layer 2 (gap), tie: thickness_mm runs along the wall: it must be below the studs' spacing_mm",
    ),
    "tie higher than its spacing": (
        FRAME + GAP + TIE.replace("= 200\n", "= 1300\n") + INNER,
        "wall.toml: layer 2 (gap), tie: height_mm must not exceed vertical_spacing_mm",
    ),
    "frame and tie in one layer": (
        FRAME + TIE,
        "wall.toml: layer 1 (outer frame): a layer has a frame or a tie, not both: ties stand in the gap",
    ),
    "air too deep": (
        HEAD + AIR.replace("50", "301"),
        "layer 1 (space): thickness_mm = 301: an air layer deeper than 300 mm needs a heat balance",
    ),
    "slight ventilation without its opening": (
        HEAD + AIR + 'ventilation = "slight"\n',
        'wall.toml: layer 1 (space): ventilation = "slight" needs opening_mm2_per_m (above 500, below 1500)',
    ),
    "an opening without slight ventilation": (
        HEAD + AIR + "opening_mm2_per_m = 1000\n",
        'wall.toml: layer 1 (space): opening_mm2_per_m belongs to ventilation = "slight"',
    ),
    "ventilation of a board": (
        HEAD + BOARD + 'ventilation = "well"\n',
        'wall.toml: layer 1 (sheathing): ventilation belongs to a layer of material "air"',
    ),
    "two slightly ventilated layers": (
        HEAD + 2 * (AIR + 'ventilation = "slight"\nopening_mm2_per_m = 800\n') + BOARD,
        "layers 1 and 2: only one slightly ventilated layer can be judged",
    ),
    "correction of a layer by a wrong name": (
        HEAD + BOARD + '[corrections]\nair_gap_level = 1\nair_gap_layer = "sheeting"\n',
        "wall.toml: corrections name layer 'sheeting', which the wall does not have (nearest: \"sheathing\")",
    ),
    "correction of a layer by a wrong number": (
        HEAD + BOARD + "[corrections]\nair_gap_level = 1\nair_gap_layer = 2\n",
        "wall.toml: corrections name layer 2, which the wall does not have",
    ),
    "air gaps in no layer": (
        HEAD + BOARD + "[corrections]\nair_gap_level = 1\n",
        "wall.toml: corrections: air_gap_level needs air_gap_layer: the number or role of the insulation layer with "
        "the gaps",
    ),
    "a wall that resists nothing": (
        HEAD + BOARD.replace("22", "0") + "[conditions]\nsurface_r_inside = 0\nsurface_r_outside = 0\n",
        "the wall resists nothing: its layers and both surface resistances are 0",
    ),
}


@pytest.mark.parametrize(("text", "expected"), MESSAGES.values(), ids=MESSAGES)
def test_one_clear_message(text, expected):
    assert said(text) == expected


KEYS = {
    "without its unit": ("thickness", "thickness_mm"),
    "in another unit": ("thickness_m", "thickness_mm"),
    "misspelt": ("thicknes_mm", "thickness_mm"),
}


@pytest.mark.parametrize(("wrong", "right"), KEYS.values(), ids=KEYS)
def test_a_key_in_the_wrong_unit(wrong, right):
    """Units stand in the keys: one line for what is missing, one for what is not known."""
    assert said(HEAD + BOARD.replace("thickness_mm", wrong)) == (
        "wall.toml: layer 1 (sheathing), thickness_mm is missing\n"
        f'wall.toml: layer 1 (sheathing), {wrong}: unknown key (nearest: "{right}")'
    )


@pytest.mark.parametrize(
    ("text", "where", "right"),
    [
        (FRAME + "offset = 300\n", "layer 1 (outer frame), frame, offset", "offset_mm"),
        (FRAME + GAP + TIE + "spacing_mm = 1200\n" + INNER, "layer 2 (gap), tie, spacing_mm", "vertical_spacing_mm"),
        (HEAD + "elemnt = 'wall'\n" + BOARD, "elemnt", "element"),
        (HEAD + BOARD + "[conditions]\nindoor_temperature = 20\n", "conditions, indoor_temperature", None),
        (HEAD + BOARD + "[loads]\nwind_kn_m = 1\n", "loads, wind_kn_m", "wind_kn_m2"),
    ],
)
def test_an_unknown_key_names_the_nearest(text, where, right):
    message = said(text)
    assert message.startswith(f"wall.toml: {where}: unknown key (nearest: ")
    assert right is None or message.endswith(f'(nearest: "{right}")')
    assert "\n" not in message


def test_metal_is_read_but_not_given_a_u_value():
    """Refused with a pointer to a numerical calculation; the wall itself is a wall."""
    for text, what in (
        (FRAME.replace("softwood-c24", "steel-screws"), "layer 1 (outer frame): the frame"),
        (TWIN.replace('"plywood"', '"steel-screws"'), "layer 3 (gap): the tie"),
    ):
        found = judge(read(text))
        assert math.isnan(found.u_value)
        assert found.heat.refused.startswith(f'{what} of "steel-screws" is metal')
        assert found.heat.refused.endswith("a numerical calculation (ISO 10211) is needed")
        assert found.as_json()["heat"]["u_value"] is None


def test_a_missing_file_a_folder_and_bytes(tmp_path):
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00name")
    for name, words in (("none.toml", "no such file"), (".", "is a folder"), ("bytes.toml", "cannot be read as UTF-8")):
        with pytest.raises(InputError, match=words):
            read_buildup(tmp_path / name, CATALOGUE)


def test_offsets_a_whole_spacing_apart_are_in_line():
    """A stud's line repeats every spacing: 600 mm on is the next stud."""
    moved = TWIN.replace(INNER, INNER + "offset_mm = 600\n")
    assert judge(read(moved)).u_value == pytest.approx(judge(read(TWIN)).u_value, rel=1e-12)


def test_a_membrane_needs_no_conductivity():
    """Known by its sd, a membrane carries no resistance, whatever its thickness."""
    foil = '[[layer]]\nrole = "airtight layer"\nmaterial = "foil"\nthickness_mm = 0.4\n'
    with_it = judge(read(HEAD + "[materials.foil]\nsd_m = 2\n" + BOARD + foil))
    assert with_it.u_value == pytest.approx(judge(read(HEAD + BOARD)).u_value, rel=1e-12)


# Anything at all

NUMBERS = st.one_of(
    st.integers(-5, 2000),
    st.integers(),
    st.floats(),
    st.sampled_from([0, 0.0, -0.0, 1e308, -1e308, 5e-324, 10**400, float("nan"), float("inf"), 2**63, True]),
)
WORDS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["wall", "roof", "vented", "exposed", "air", "osb", "mine", "slight", "well", "vertical", "horizontal", "22,5"]
    ),
)
VALUES = st.recursive(
    st.one_of(NUMBERS, WORDS, st.dates(), st.booleans()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(WORDS, inner, max_size=3)),
    max_leaves=6,
)


def table(keys: dict, *optional: str) -> st.SearchStrategy[dict]:
    """A table with all keys but the optional ones, which may be there."""
    needed = {key: value for key, value in keys.items() if key not in optional}
    return st.fixed_dictionaries(needed, optional={key: keys[key] for key in optional})


def places(node: object, path: tuple = ()) -> list[tuple]:
    """The path to every value of a parsed file."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [found for key, value in items for found in [(*path, key), *places(value, (*path, key))]]


@st.composite
def broken(draw, files: st.SearchStrategy[dict]) -> dict:
    """A sound file with one or two values replaced by anything, taken out, or put where no key is."""
    raw = deepcopy(draw(files))
    for _ in range(draw(st.integers(1, 2))):
        *way, key = draw(st.sampled_from(places(raw) or [("name",)]))
        node = raw
        for step in way:
            node = node[step]
        what = draw(st.sampled_from(["replace", "replace", "number", "take out", "add"]))
        if what == "take out":
            del node[key]
        elif what == "add" and isinstance(node, dict):
            node[draw(WORDS)] = draw(VALUES)
        else:
            node[key] = draw(NUMBERS if what == "number" else VALUES)
    return raw


SIZE = st.one_of(st.integers(1, 200), st.floats(0.1, 300))
EXTREME = st.sampled_from([1e-320, 1e-30, 1e-9, 1e9, 1e30, 1e308])
MATERIAL = st.sampled_from(["osb", "air", "mine", "softwood-c24", "blown-cellulose", "steel-screws"])
STUDS = table(
    {
        "material": MATERIAL,
        "width_mm": SIZE,
        "spacing_mm": st.sampled_from([400, 600, 625]),
        "axis": st.sampled_from(["vertical", "horizontal"]),
        "offset_mm": SIZE,
        "extra_fraction": st.floats(0, 0.5),
    },
    *("axis", "offset_mm", "extra_fraction"),
)
FRAMES = st.one_of(STUDS, STUDS, st.fixed_dictionaries({"material": MATERIAL, "fraction": st.floats(0, 0.99)}))
TIES = table(
    {
        "material": MATERIAL,
        "thickness_mm": SIZE,
        "height_mm": SIZE,
        "vertical_spacing_mm": st.just(1200),
        "overlap_mm": SIZE,
    },
    "overlap_mm",
)
LAYERS = table(
    {
        "role": st.sampled_from(["gap", "outer frame", "inner frame", "ventilated space", "x"]),
        "material": MATERIAL,
        "thickness_mm": SIZE,
        "frame": FRAMES,
    },
    "frame",
)
AIR_LAYERS = st.builds(
    lambda layer, air: layer | air,
    table(
        {
            "role": st.just("space"),
            "material": st.just("air"),
            "thickness_mm": SIZE,
            "emissivities": st.lists(st.floats(0.01, 1), min_size=2, max_size=2),
        },
        "emissivities",
    ),
    st.one_of(
        st.fixed_dictionaries({}, optional={"ventilation": st.sampled_from(["none", "well"])}),
        st.fixed_dictionaries({"ventilation": st.just("slight"), "opening_mm2_per_m": st.floats(0, 2000)}),
    ),
)
TWINS = st.builds(
    lambda one, two, tie, gap: [
        one | {"frame": {"material": "softwood-c24", "width_mm": 45, "spacing_mm": 600}},
        gap | {"tie": tie},
        two | {"frame": {"material": "softwood-c16", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.04}},
    ],
    *[LAYERS, LAYERS, TIES, LAYERS],
).map(lambda layers: [layers[0], {k: v for k, v in layers[1].items() if k != "frame"}, layers[2]])
OWN_MATERIALS = table(
    {
        "conductivity_w_mk": st.one_of(st.floats(0.02, 3), EXTREME),
        "resistance_m2k_w": st.one_of(st.floats(0, 5), EXTREME),
        "density_kg_m3": st.one_of(st.floats(1, 3000), EXTREME),
        "like": MATERIAL.filter("mine".__ne__),
        "fossil_kgco2e_kg": st.floats(-2, 5),
        "kind": st.sampled_from(["loose fill", "batt", "membrane"]),
    },
    *("resistance_m2k_w", "density_kg_m3", "like", "fossil_kgco2e_kg", "kind"),
)
FASTENERS = {"layer": st.just(1), "number_per_m2": SIZE, "conductivity_w_mk": SIZE, "diameter_mm": SIZE}
CORRECTIONS = table(
    {
        "air_gap_level": st.sampled_from([0, 1, 2]),
        "air_gap_layer": st.just(1),
        "fastener": st.lists(table(FASTENERS), max_size=2),
        "point": st.lists(table({"number_per_m2": SIZE, "chi_w_k": st.one_of(SIZE, EXTREME)}), max_size=2),
    },
    *("fastener", "point"),
)
SURFACE = st.one_of(st.floats(0, 1), EXTREME)
CONDITIONS = table({"surface_r_inside": SURFACE, "surface_r_outside": SURFACE}, "surface_r_inside", "surface_r_outside")
FILES = table(
    {
        "name": st.text(max_size=5),
        "element": st.sampled_from(["wall", "roof", "floor"]),
        "outside": st.sampled_from(["vented", "exposed"]),
        "layer": st.one_of(st.lists(st.one_of(LAYERS, LAYERS, AIR_LAYERS), min_size=1, max_size=4), TWINS),
        "materials": st.fixed_dictionaries({"mine": OWN_MATERIALS}),
        "corrections": CORRECTIONS,
        "conditions": CONDITIONS,
    },
    *("element", "corrections", "conditions"),
)


def judged(raw: dict) -> Judgement | None:
    """The judgement of a parsed file; None where it is refused in words."""
    try:
        return judge(buildup_from(raw, CATALOGUE, "w.toml"))
    except InputError as error:
        assert str(error)
        return None


@pytest.mark.filterwarnings("error")
@settings(max_examples=400, deadline=None)
@given(st.one_of(FILES, broken(FILES)))
def test_any_file_is_judged_or_refused_in_words(raw):
    """No other exception, no warning of the arithmetic, no U-value that is not a number without its reason."""
    found = judged(raw)
    if found is not None:
        assert found.heat.refused or 0 < found.u_value < math.inf
        json.dumps(found.as_json(), allow_nan=False)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(st.one_of(WORDS, st.sampled_from(["layer", "materials", "name", "self"])), VALUES, max_size=4))
def test_any_table_at_all(raw):
    judged(raw)


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("[]{}=\"'.,0123456789e+-layerx \n#", max_size=60)))
def test_any_text_at_all(text):
    """No text gets past the reader: none this short is a whole wall."""
    assert said(text)


def test_deep_nesting_is_refused():
    assert "nested too deeply" in said("x = " + 5000 * "[" + 5000 * "]")


# Both ways


def close(one: object, two: object) -> bool:
    if isinstance(one, dict):
        return one.keys() == two.keys() and all(close(one[key], two[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(two) and all(close(*pair) for pair in zip(one, two, strict=True))
    return one == pytest.approx(two, rel=1e-8, abs=1e-12) if isinstance(one, float) else one == two


def assert_same_when_read_again(wall: BuildUp) -> None:
    again = read(to_toml(wall, CATALOGUE))
    assert close(judge(wall).as_json(), judge(again).as_json())
    assert close(wall.model_dump(exclude={"materials"}), again.model_dump(exclude={"materials"}))


@settings(max_examples=200, deadline=None)
@given(FILES)
def test_written_and_read_again(raw):
    found = judged(raw)
    if found is not None and found.heat.refused is None and plain_numbers(raw):
        assert_same_when_read_again(found.wall)


def plain_numbers(raw: object) -> bool:
    """Whether all numbers are of a size that a file of ten decimals carries."""
    if isinstance(raw, dict | list | tuple):
        return all(plain_numbers(each) for each in (raw.values() if isinstance(raw, dict) else raw))
    return not isinstance(raw, float) or raw == 0 or 1e-2 <= abs(raw) < 1e6


EVERYTHING = (
    TWIN.replace(HEAD, HEAD + "[materials.mine]\nlike = 'blown-cellulose'\nconductivity_w_mk = 0.036\n")
    .replace('role = "gap"\nmaterial = "blown-cellulose"', 'role = "gap"\nmaterial = "mine"')
    .replace(LINING, "extra_fraction = 0.04\n" + LINING)
    + '[corrections]\nair_gap_level = 1\nair_gap_layer = "gap"\n'
    + "[[corrections.point]]\nnumber_per_m2 = 2\nchi_w_k = 0.001\n"
    + "[conditions]\nindoor_temperature_c = 21\nsurface_r_outside = 0.1\n[loads]\npermanent_kn_m = 9\n"
)


def test_a_file_with_everything_is_written_and_read_again():
    assert_same_when_read_again(read(EVERYTHING))


def test_loads_of_no_size_stay():
    """[loads] with nothing but defaults is still there when written and read again."""
    assert read(to_toml(read(HEAD + BOARD + "[loads]\n"), CATALOGUE)).loads is not None
