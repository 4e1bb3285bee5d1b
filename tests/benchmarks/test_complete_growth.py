"""The complete front beside NSGA2, and how its time grows with the space.

    python -m pytest -q -s tests/benchmarks/test_complete_growth.py --benchmark-enable

prints the table; without --benchmark-enable the same code runs on the small spaces alone. Spaces are the shipped brief
with slots opened by undominated options: padding a catalogue with dominated ones does not count as space.
"""

from __future__ import annotations

import copy
import math
import resource
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest

from materials.catalogue import load_catalogue
from optimiser.brief.brief import brief_from, read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.command.cli import demo_brief
from optimiser.search import front
from optimiser.search.parallel import complete
from optimiser.search.space import undominated
from optimiser.space.buildable import space_size
from optimiser.space.choices import Choices

# Options that a space opens, by level; a level holds those of the levels before it.
OPENED = {
    "wind-tight layer": (["none", "ps-breather", "lf-wind-paper"], ["mi-breather-recycled"], ["bb-wind-paper"], []),
    "outer board": (
        ["none", "bb-wood-fibre-60", "lf-insulating-60", "lf-cork-60"],
        ["bb-insulating-80", "lf-insulating-40"],
        ["bb-wood-fibre-35", "lf-insulating-80", "lf-cork-40", "bb-wood-fibre-22"],
        ["wood-fibre-insulating-board", "cork-board"],
    ),
    "sheathing": (
        ["none", "bb-osb-9", "bb-wood-fibre-22", "ps-osb-9"],
        ["ht-diagonal-20"],
        ["ps-osb-12", "cs-diagonal-22", "mi-wood-fibre-22"],
        ["bb-osb-12", "ps-plywood-9", "ps-plywood-12"],
    ),
    "outer frame": (
        ["ht-c16-45x120", "cs-c16-45x145", "ht-c24-45x195"],
        ["ht-c24-38x140", "ht-c16-45x145"],
        ["cs-c16-45x195", "ht-c16-45x170", "ht-c24-45x220"],
        ["softwood-c16", "softwood-c24"],
    ),
    "outer gap board": (["none", "bb-osb-9"], ["bb-softboard-8"], ["ps-osb-9"], ["bb-softboard-12", "ps-plywood-9"]),
    "inner gap board": (["none", "bb-softboard-8"], [], ["bb-osb-9"], []),
    "inner frame": (
        ["none", "ht-c16-38x63", "cs-c16-38x89"],
        ["ht-c16-45x95", "cs-c16-38x63"],
        ["ht-c16-38x89", "ht-c16-45x120"],
        ["cs-c16-45x95", "cs-c16-45x145", "ht-c16-45x145", "cs-c16-38x140"],
    ),
    "fill": (
        ["lf-cellulose", "lf-blown-wood-fibre", "mi-blown-glass-wool"],
        ["ps-cellulose"],
        ["lf-cellulose-local", "mi-blown-wood-fibre"],
        ["blown-cellulose", "hemp-batt", "wood-fibre-batt"],
    ),
    "airtight layer": (["ps-pe-0.2", "lf-airtight-paper"], ["mi-airtight-fleece"], ["ps-pe-recycled"], ["ps-osb-12"]),
    "service zone": (
        ["none", "ht-batten-45x45", "ht-batten-45x60"],
        ["cs-batten-45x60"],
        ["cs-batten-45x45"],
        ["ht-batten-45x80", "cs-batten-45x80"],
    ),
    "service fill": (["wood-fibre-batt", "glass-wool-batt"], ["hemp-batt"], ["sheep-wool-batt"], ["air"]),
}
GAP_STEP = (30, 15, 10, 6)
LEVELS = ("10^6", "10^8", "10^10", "10^12")


def brief_at(level: int, **search):
    raw = copy.deepcopy(read_brief(demo_brief()).model_dump(exclude_unset=True, by_alias=True))
    raw["gap"] = {"min_mm": 0, "max_mm": 300, "step_mm": GAP_STEP[level]}
    raw["search"] = search
    for slot, levels in OPENED.items():
        keys = [key for each in levels[: level + 1] for key in each]
        raw["slots"][slot] = dict(raw["slots"].get(slot, {}), lock=None, allow=keys)
    return brief_from(raw, f"level {level}")


def choices_at(level: int, **search) -> Choices:
    catalogue = load_catalogue()
    brief = brief_at(level, **search)
    return Choices(brief, catalogue, pricing_of(brief, Path(demo_brief()).parent, catalogue)[0])


def evolved(level: int, seed: int, population: int, generations: int) -> tuple[np.ndarray, float]:
    """One NSGA2 search: the scores of its front in steps, and its seconds."""
    from optimiser.search.evolution import Evolution

    search = {"population": population, "generations": generations, "stagnation": 10**6, "seconds": 10**6}
    choices = choices_at(level, **search)
    choices.brief = choices.brief.model_copy(update={"seed": choices.brief.seed.model_copy(update={"value": seed})})
    started = time.perf_counter()
    evolution = Evolution(choices, choices.brief.target.u_value)
    for _ in evolution.run():
        pass
    return evolution.archive.best_steps, time.perf_counter() - started


def settled(level: int, workers: int) -> tuple:
    """The complete search without an evolutionary start: itself and its seconds."""
    choices = choices_at(level)
    started = time.perf_counter()
    *_, (_, search) = complete(choices, choices.brief.target.u_value, workers=workers)
    return search, time.perf_counter() - started


def both_at_once(level: int, population: int, generations: int) -> tuple[np.ndarray, float]:
    """NSGA2 with two processes: two searches of other seeds side by side, their fronts joined."""
    started = time.perf_counter()
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        runs = [pool.submit(evolved, level, seed, population, generations) for seed in (1, 2)]
        steps = np.unique(np.concatenate([run.result()[0] for run in runs]), axis=0)
    return steps[front.nondominated(steps)], time.perf_counter() - started


def test_time_grows_slower_than_the_space(benchmark):
    levels = range(2 if benchmark.disabled else 4)
    rows = []
    for level in levels:
        search, seconds = settled(level, 1)
        assert search.tally.settled == search.size
        counts = undominated(search.choices)
        rows.append((search.size, seconds))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        effective = math.prod(counts.values())
        print(
            f"\n{LEVELS[level]:>6}: space {search.size:.2e}, undominated options multiply to {effective:.2e}, "
            f"{seconds:.2f} s, {search.tally.evaluated} evaluated, front {len(search.steps)}, peak {peak} MB\n"
            f"        undominated {counts}"
        )
        assert peak < 1024
    (small, first), (large, last) = rows[0], rows[-1]
    growth = (last / first) ** (math.log(100) / math.log(large / small))
    print(f"time grows by a factor {growth:.2f} per factor 100 of space")
    benchmark.extra_info.update(growth=growth, seconds=[seconds for _, seconds in rows])
    benchmark(lambda: settled(0, 1))
    if not benchmark.disabled:
        assert growth < 5


def test_the_complete_front_beside_nsga2(benchmark):
    level, population, generations = (0, 60, 30) if benchmark.disabled else (2, 400, 300)
    exact, alone = settled(level, 1)
    shared, together = settled(level, 1 if benchmark.disabled else 2)
    assert np.array_equal(exact.x, shared.x)
    evolution, took = evolved(level, 1, population, generations)
    if not benchmark.disabled:
        joined, took_two = both_at_once(level, population, generations)
    else:
        joined, took_two = evolution, took
    steps = np.unique(exact.steps, axis=0)
    reference = np.maximum(steps, 0).max(axis=0) * 1.1
    whole = front.hypervolume(steps, reference)
    ratios = [front.hypervolume(each, reference) / whole for each in (evolution, joined)]
    print(
        f"\nspace {exact.size:.2e}: complete front of {len(steps)} walls in {alone:.2f} s with one process, "
        f"{together:.2f} s with two, {exact.tally.evaluated} evaluated\n"
        f"NSGA2 {population} x {generations}: {took:.2f} s with one process, hypervolume {ratios[0]:.4f} of it; "
        f"two searches with two processes {took_two:.2f} s, {ratios[1]:.4f}\n"
        f"complete / NSGA2: {alone / took:.3f} with one process each, {together / took_two:.3f} with two"
    )
    benchmark.extra_info.update(complete=[alone, together], nsga2=[took, took_two], hypervolume=ratios)
    benchmark(lambda: front.hypervolume(steps, reference))
    assert max(ratios) <= 1 + 1e-12
    if not benchmark.disabled:
        assert alone / took <= 0.5
        assert together <= 15


@pytest.mark.parametrize("level", range(4))
def test_a_level_is_as_large_as_its_name(level):
    """Within a factor of ten; and no padding: most of the options in the open slots are undominated."""
    choices = choices_at(level)
    assert 10 ** (5 + 2 * level) <= space_size(choices) <= 10 ** (7 + 2 * level)
    counts = undominated(choices)
    offered = sum(len(choices.options.get(name) or choices.fills[name]) for name in counts)
    assert sum(counts.values()) > 0.6 * offered
