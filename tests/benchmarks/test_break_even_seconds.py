"""How long the break-even prices of all products of the demo take that are off its front.

Run with `pytest tests/benchmarks --benchmark-enable` for the whole lists; a plain run asks for some of the products.
"""

from __future__ import annotations

import time

from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.market.break_even_study import break_evens
from optimiser.search.run import save, search
from optimiser.search.study import open_study

MOST_SECONDS = 60.0
EVERY = 9  # of the products, where the time is not asked


def test_break_even_prices_of_the_demo(benchmark, tmp_path):
    source = demo_brief().parent
    save(search(read_brief(demo_brief()), source), source, tmp_path / "study")
    study = open_study(tmp_path / "study")
    keys = None if benchmark.enabled else list(study.pricing.products)[::EVERY]
    start = time.perf_counter()
    found = benchmark.pedantic(break_evens, args=(study,), kwargs={"keys": keys, "workers": 2}, rounds=1, iterations=1)
    seconds = time.perf_counter() - start
    searched = [each for each in found if each.searches]
    benchmark.extra_info |= {
        "seconds": round(seconds, 2),
        "products": len(found),
        "searched": len(searched),
        "searches": sum(each.searches for each in found),
        "with_a_break_even": sum(each.at is not None for each in found),
        "seconds_in_workers": round(sum(each.seconds for each in found), 1),
    }
    print(benchmark.extra_info)
    assert searched
    assert all((each.at is None) == bool(each.reason) for each in found)
    assert all(0 <= each.at < each.today for each in found if each.at is not None)
    if benchmark.enabled:
        assert seconds < MOST_SECONDS
