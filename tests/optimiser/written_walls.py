"""A build-up file in pieces, read and refused, for the tests of its reader."""

from __future__ import annotations

import pytest

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.checks.judge import judge
from optimiser.wall.buildup import BuildUp, parse_buildup

CATALOGUE = load_catalogue()

HEAD = 'name = "w"\noutside = "vented"\n'
BOARD = '[[layer]]\nrole = "sheathing"\nmaterial = "wood-fibre-board"\nthickness_mm = 22\n'
OUTER = """[[layer]]
role = "outer frame"
material = "blown-cellulose"
thickness_mm = 145
[layer.frame]
material = "softwood-c24"
width_mm = 45
spacing_mm = 600
"""
GAP = """[[layer]]
role = "gap"
material = "blown-cellulose"
thickness_mm = 100
"""
TIE = """[layer.tie]
material = "plywood"
thickness_mm = 12
height_mm = 200
vertical_spacing_mm = 1200
"""
INNER = OUTER.replace("outer frame", "inner frame").replace("145", "95")
AIR = '[[layer]]\nrole = "space"\nmaterial = "air"\nthickness_mm = 50\n'
LINING = '[[layer]]\nrole = "lining"\nmaterial = "plasterboard"\nthickness_mm = 12.5\n'
FRAME = HEAD + OUTER
TWIN = HEAD + BOARD + OUTER + GAP + TIE + INNER + LINING
OWN = "[materials.mine]\nconductivity_w_mk = 0.038\n"


def read(text: str) -> BuildUp:
    return parse_buildup(text, CATALOGUE, "wall.toml")


def said(text: str) -> str:
    """What the user is told of a faulty file."""
    with pytest.raises(InputError) as error:
        judge(read(text))
    return str(error.value)
