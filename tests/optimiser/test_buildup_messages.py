"""The build-up file: every message of its reader, word for word."""

from __future__ import annotations

import pytest
from written_walls import AIR, BOARD, FRAME, GAP, HEAD, INNER, OWN, TIE, said

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.wall.buildup import parse_buildup, to_toml

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
    "a layer bought as nothing": (
        HEAD + BOARD + "product = []\n",
        "wall.toml: layer 1 (sheathing): product = [] names nothing: leave it out, or name what the layer is bought as",
    ),
    "a quoted number": (
        HEAD + BOARD.replace("22", '"22"'),
        "wall.toml: layer 1 (sheathing), thickness_mm = '22': expected a number; write it without quotes or unit",
    ),
    "a truth value": (
        HEAD + BOARD.replace("22", "true"),
        "wall.toml: layer 1 (sheathing), thickness_mm = true: expected a number",
    ),
    "negative thickness": (
        HEAD + BOARD.replace("22", "-22"),
        "wall.toml: layer 1 (sheathing), thickness_mm = -22: expected at least 0",
    ),
    "infinite": (
        HEAD + BOARD.replace("22", "inf"),
        "wall.toml: layer 1 (sheathing), thickness_mm = inf: expected a finite number",
    ),
    "not a number": (
        HEAD + BOARD.replace("22", "nan"),
        "wall.toml: layer 1 (sheathing), thickness_mm = nan: expected a finite number",
    ),
    "huge": (
        HEAD + BOARD.replace("22", "1e300"),
        "wall.toml: layer 1 (sheathing), thickness_mm = 1e+300: expected at most 5000",
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
        HEAD
        + OWN.replace("conductivity_w_mk = 0.038", "resistance_m2k_w = 4000")
        + BOARD.replace("wood-fibre-board", "mine"),
        'layer 1 (sheathing): material "mine" resists 4e+03 m2K/W: no layer of a wall does; check its '
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
        "wall.toml: outside = 'vent': expected 'vented' or 'exposed'",
    ),
    "outside missing": ('name = "w"\n' + BOARD, "wall.toml: outside is missing"),
    "empty file": ("", "wall.toml: is empty; expected name, outside and at least one [[layer]]"),
    "no layer": (HEAD, "wall.toml: layer is missing"),
    "an empty list of layers": (HEAD + "layer = []\n", "wall.toml: expected at least one [[layer]]"),
    "layer for [[layer]]": (HEAD + "[layer]\nrole = 'x'\n", "wall.toml: layer: expected a list"),
    "a layer that is no table": (HEAD + "layer = [3]\n", "wall.toml: layer 1 = 3: expected a table"),
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


def test_plates_that_take_more_than_the_share_they_are_part_of_are_refused():
    """[framing] says where a part of extra_fraction stands; it cannot be more than all of it."""
    text = """name = "w"
outside = "exposed"
[framing]
height_mm = 2700
plates = 3
[[layer]]
role = "outer frame"
material = "blown-cellulose"
thickness_mm = 145
[layer.frame]
material = "softwood-c24"
width_mm = 45
spacing_mm = 600
extra_fraction = 0.04
"""
    with pytest.raises(InputError, match=r"plates and noggings take 0\.0500 of layer 1 .* extra_fraction = 0\.04"):
        parse_buildup(text, load_catalogue(), "w.toml")
    wall = parse_buildup(text.replace("0.04", "0.05"), load_catalogue(), "w.toml")
    assert parse_buildup(to_toml(wall, load_catalogue()), load_catalogue(), "again").framing == wall.framing
