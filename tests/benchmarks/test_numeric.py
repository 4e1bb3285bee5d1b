"""Conduction through the cells of the demo's front: seconds per wall in plan and in space, and by scikit-fem.

python -m pytest -q -s tests/benchmarks/test_numeric.py --benchmark-enable
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import pytest

from materials.models import Material
from optimiser.conduction.blocks import solve
from optimiser.conduction.cell import repeating
from optimiser.conduction.wall import in_plan
from optimiser.conduction.wall_cell import cell_of, numeric_heat
from optimiser.wall.buildup import BuildUp

sys.path.insert(0, str(Path(__file__).parents[1] / "heat"))
from other_solver import conductance

WALLS = 500
FRONT_SECONDS = 15.0  # for 500 walls in plan at 0.1 % on two cores
SPACE_SECONDS = 5.0  # for one wall in space at 0.5 %
MATERIALS = {
    "board": Material(key="board", name="board", conductivity_w_mk=0.13),
    "fill": Material(key="fill", name="fill", conductivity_w_mk=0.039),
    "stud": Material(key="stud", name="stud", conductivity_w_mk=0.13),
    "plaster": Material(key="plaster", name="plaster", conductivity_w_mk=0.32),
}
STUD = {"material": "stud", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.06}
TIE = {"material": "stud", "thickness_mm": 12, "height_mm": 220, "vertical_spacing_mm": 1250}
BATTEN = {"material": "stud", "width_mm": 45, "spacing_mm": 600, "axis": "horizontal"}


def wall(number: int, ties: bool, battens: bool) -> BuildUp:
    """One of many twin-stud walls, no two alike."""
    layers = [
        {"role": "sheathing", "material": "board", "thickness_mm": 9 + number % 4 * 3},
        {"role": "outer frame", "material": "fill", "thickness_mm": 120 + number % 5 * 20, "frame": STUD},
        {"role": "gap", "material": "fill", "thickness_mm": 80 + number % 23 * 10} | ({"tie": TIE} if ties else {}),
        {"role": "inner frame", "material": "fill", "thickness_mm": 63, "frame": STUD | {"width_mm": 38}},
        {"role": "lining", "material": "plaster", "thickness_mm": 12.5},
    ]
    if battens:
        layers.insert(4, {"role": "service zone", "material": "fill", "thickness_mm": 45, "frame": BATTEN})
    return BuildUp(name=f"w{number}", outside="vented", layer=layers, materials=MATERIALS)


def timed(what, walls: list) -> tuple[float, list]:
    """Seconds per wall, and what was found."""
    start = time.perf_counter()
    found = [what(each) for each in walls]
    return (time.perf_counter() - start) / len(walls), found


def test_a_front_in_plan(benchmark):
    walls = [wall(number, ties=False, battens=False) for number in range(WALLS if benchmark.enabled else 5)]
    seconds, found = timed(lambda each: numeric_heat(each, tolerance=0.001), walls)
    assert max(each.conduction.u_error / each.u_cell for each in found) <= 0.001
    cells = [repeating(*cell_of(each)) for each in walls[:10]]
    others, figures = timed(lambda cell: conductance(cell, 6), cells)
    own, ours = timed(solve, cells)
    assert np.allclose(figures, [each.conductance for each in ours], rtol=0.002)
    if benchmark.enabled:
        print(f"\nplan, 0.1 %: {1000 * seconds:.1f} ms a wall with extras and psi, the cell {1000 * own:.1f} ms")
        print(f"scikit-fem, to 0.2 %: {1000 * others:.1f} ms a cell, {others / own:.0f} times as long")
        assert seconds * WALLS < 2 * FRONT_SECONDS
    benchmark.pedantic(solve, (cells[0],), rounds=5)


@pytest.mark.parametrize(
    ("ties", "battens"), [(True, False), (False, True), (True, True)], ids=["ties", "battens", "both"]
)
def test_walls_in_space(benchmark, ties, battens):
    walls = [wall(number, ties, battens) for number in range(50 if benchmark.enabled else 2)]
    seconds, found = timed(numeric_heat, walls)
    flat, enclosed = timed(lambda each: in_plan(*cell_of(each)), walls)
    assert max(each.conduction.u_error / each.u_cell for each in found) <= 0.005
    for one, other in zip(found, enclosed, strict=True):
        assert abs(one.u_cell - other.u_value) <= other.u_error + one.conduction.u_error
    if benchmark.enabled:
        print(f"\nspace, 0.5 %: {1000 * seconds:.1f} ms a wall; enclosed in plan {1000 * flat:.1f} ms", end="")
        if not (ties and battens):
            cells = [repeating(*cell_of(each)) for each in walls[:2]]
            own, _ = timed(solve, cells)
            others, _ = timed(lambda cell: conductance(cell, 2), cells)
            print(f"; the cell alone {1000 * own:.1f} ms, scikit-fem {1000 * others:.0f} ms ({others / own:.0f} times)")
        assert seconds < SPACE_SECONDS
    benchmark.pedantic(numeric_heat, (walls[0],), rounds=3)
