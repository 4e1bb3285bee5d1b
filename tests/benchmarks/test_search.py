"""How long a search takes and how near it comes: against every wall of a small space, and on the shipped brief.

Figures stand in `extra_info`; run with `pytest tests/benchmarks --benchmark-enable` to see the times.
"""

import time

import pytest
import toy_space as small

from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.search.evolution import Evolution


def evolve(choices) -> Evolution:
    evolution = Evolution(choices, choices.brief.target.u_value)
    for _ in evolution.run():
        pass
    return evolution


@pytest.fixture(scope="module")
def toy(tmp_path_factory):
    folder = tmp_path_factory.mktemp("toy")
    return folder, small.brief_in(folder)


def test_search_against_brute_force(benchmark, toy):
    folder, brief = toy
    start = time.perf_counter()
    every = small.listed(brief, folder)
    true = every.front()
    listing = time.perf_counter() - start
    start = time.perf_counter()
    found = benchmark.pedantic(evolve, args=(every.choices,), rounds=1, iterations=1)
    searching = time.perf_counter() - start
    reference = true.max(axis=0) * 1.1
    ratio = small.volume(found.archive.best_steps, reference) / small.volume(true, reference)
    benchmark.extra_info |= {
        "walls": len(every.x),
        "brute_force_s": round(listing, 3),
        "search_s": round(searching, 3),
        "evaluated": len(found.archive),
        "generations": found.generation,
        "front": len(found.archive.best_x),
        "true_front": len(true),
        "hypervolume_ratio": round(ratio, 5),
    }
    print(benchmark.extra_info)
    assert ratio >= 0.99
    assert len(found.archive) < 0.25 * len(every.x), "a search that looks at most of the space is none"


def test_search_of_the_shipped_brief(benchmark):
    brief = read_brief(demo_brief())
    choices = small.choices_of(brief, demo_brief().parent)
    start = time.perf_counter()
    found = benchmark.pedantic(evolve, args=(choices,), rounds=1, iterations=1)
    benchmark.extra_info |= {
        "search_s": round(time.perf_counter() - start, 3),
        "evaluated": len(found.archive),
        "generations": found.generation,
        "front": len(found.archive.best_x),
        "hypervolume": round(found.volume, 5),
    }
    print(benchmark.extra_info)
    assert len(found.archive.best_x) >= 60
    assert brief.search.seconds is None, "a clock may cut it off: the front would depend on the machine"
