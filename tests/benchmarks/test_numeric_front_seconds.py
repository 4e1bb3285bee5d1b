"""Seconds for the conduction of every wall of the shipped front, and for the chances of meeting the target.

python -m pytest -q -s tests/benchmarks/test_numeric_front.py --benchmark-enable
"""

from __future__ import annotations

import time

import pytest

from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.conduction.uncertainty import chances
from optimiser.conduction.wall_cell import numeric_heat
from optimiser.search.numeric_front import prove_front
from optimiser.search.run import save, search
from optimiser.search.study import open_study

FRONT_SECONDS = 15.0  # on two cores, at 0.1 %
WALL_SECONDS = 5.0  # one wall, at 0.5 %
TOLERANCE = 0.001


@pytest.fixture(scope="module")
def walls(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "study"
    save(search(read_brief(demo_brief()), demo_brief().parent), demo_brief().parent, folder)
    study = open_study(folder)
    return [study.buildup(row["id"]) for row in study.rows]


def test_the_whole_front(benchmark, walls):
    some = walls if benchmark.enabled else walls[:4]
    started = time.perf_counter()
    found = prove_front(some, TOLERANCE, workers=2)
    seconds = time.perf_counter() - started
    assert len(found) == len(some)
    for wall, each in zip(some[:4], found, strict=False):
        heat = numeric_heat(wall, tolerance=TOLERANCE)  # timber without a place leaves more open: no fault of the grids
        assert heat.conduction.u_error <= TOLERANCE * heat.u_cell
        assert each.u_error - heat.u_extra_error <= 1.2 * TOLERANCE * each.u_value  # plates add an error of their own
    if benchmark.enabled:
        print(f"\n{len(some)} walls as drawn, in space, 0.1 %: {seconds:.1f} s with two processes")
        assert seconds < FRONT_SECONDS
    started = time.perf_counter()
    chances(some, [0.105] * len(some), [each.u_value for each in found])
    if benchmark.enabled:
        print(f"their chances of meeting the target: {time.perf_counter() - started:.1f} s")
    benchmark.pedantic(prove_front, (walls[:1], 0.005, 1), rounds=3)
    if benchmark.enabled:
        assert benchmark.stats.stats.max < WALL_SECONDS
