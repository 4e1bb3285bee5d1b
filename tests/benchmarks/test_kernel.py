"""Walls a second that the combined method judges on one core, with all frames and ties present."""

from __future__ import annotations

import numpy as np
import pytest

from materials.models import Material
from optimiser.batch import WallBatch
from optimiser.heat.steady import transmittance
from optimiser.wall.assemble import batch_of, parts_of
from optimiser.wall.buildup import BuildUp

WALLS = 200_000
TARGET = 1_000_000  # walls a second on one core
STUD = {"material": "stud", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.06}
TIE = {"material": "stud", "thickness_mm": 12, "height_mm": 200, "vertical_spacing_mm": 1200}
BATTEN = {"material": "stud", "width_mm": 45, "spacing_mm": 600, "axis": "horizontal"}
LAYERS = [
    {"role": "cladding", "material": "board", "thickness_mm": 24},
    {"role": "ventilated space", "material": "air", "thickness_mm": 38, "frame": STUD},
    {"role": "outer board", "material": "fill", "thickness_mm": 60},
    {"role": "sheathing", "material": "board", "thickness_mm": 12},
    {"role": "outer frame", "material": "fill", "thickness_mm": 145, "frame": STUD},
    {"role": "outer gap board", "material": "board", "thickness_mm": 8},
    {"role": "gap", "material": "fill", "thickness_mm": 100, "tie": TIE},
    {"role": "inner gap board", "material": "board", "thickness_mm": 8},
    {"role": "inner frame", "material": "fill", "thickness_mm": 95, "frame": STUD | {"width_mm": 38}},
    {"role": "airtight layer", "material": "board", "thickness_mm": 12},
    {"role": "service zone", "material": "fill", "thickness_mm": 60, "frame": BATTEN},
    {"role": "lining", "material": "board", "thickness_mm": 12.5},
]
MATERIALS = {
    "board": Material(key="board", name="board", conductivity_w_mk=0.13),
    "fill": Material(key="fill", name="fill", conductivity_w_mk=0.039),
    "stud": Material(key="stud", name="stud", conductivity_w_mk=0.13),
    "air": Material(key="air", name="air", kind="air"),
}


def batch(staggered: bool) -> WallBatch:
    """Many walls of the whole template, no two alike: resistances vary by a few percent, staggered inner studs too."""
    wall = BuildUp(name="w", outside="vented", layer=LAYERS, materials=MATERIALS)
    many = batch_of(wall, parts_of(wall)).rows(np.zeros(WALLS, int))
    rng = np.random.default_rng(1)
    many.resistance[:] = np.asfortranarray(many.resistance * rng.uniform(0.9, 1.1, many.resistance.shape))
    for each in many.members:
        each.resistance[:] *= rng.uniform(0.9, 1.1, WALLS)
    if staggered:
        many.members[3].centre[:] = np.where(rng.random(WALLS) < 0.5, 0.3, 0.0)
    return many


@pytest.mark.parametrize("staggered", [False, True], ids=["lined up", "half of them staggered"])
def test_walls_per_second(benchmark, staggered):
    walls = batch(staggered)
    assert walls.thickness.shape == (WALLS, 12)
    assert len({number for line in walls.lines for number in line}) == 4  # two frames, ties, battens
    found = benchmark(transmittance, walls)
    assert np.unique(found.u_bare).size > 0.99 * WALLS
    assert ((found.u_bare > 0.05) & (found.u_bare < 0.15)).all()
    if benchmark.stats:  # not in a plain run of the tests, where nothing is timed
        rate = WALLS / benchmark.stats["min"]
        benchmark.extra_info["walls_per_second"] = round(rate)
        print(f"\nISO 6946, all frames and ties: {rate / 1e6:.2f} million walls a second ({TARGET / 1e6:g} asked for)")
        assert rate > TARGET
