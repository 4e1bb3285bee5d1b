"""Seconds until a search of large price lists starts: list read, options and offers ready, exact search prepared.

    python -m pytest -q -s tests/benchmarks/test_many_products_seconds.py --benchmark-enable

prints the table for 1,000, 5,000 and 10,000 products; without --benchmark-enable a short list goes through the same.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from large_lists import large_list, open_brief, pricing_for, write_large_list

from materials.catalogue import load_catalogue
from optimiser.brief.brief import read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.command.cli import demo_brief
from optimiser.search.complete import Complete
from optimiser.search.space import undominated
from optimiser.space.buildable import space_size
from optimiser.space.choices import Choices
from optimiser.space.judgements import judgements
from optimiser.space.options import offers

COUNTS = (1_000, 5_000, 10_000)
SHORT = 300
MOST_SECONDS = 10.0  # of one core, from a price list of 10,000 products to its options; "in seconds" is asked for


class Clock:
    """Seconds of this process by step: other work on the machine does not count."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def of(self, step: str, work: Callable[[], Any]) -> Any:
        started = time.process_time()
        made = work()
        self.seconds[step] = round(time.process_time() - started, 2)
        return made


def every_slot_open(count: int, folder: Path) -> dict[str, float]:
    """A brief that opens every slot to the whole list."""
    catalogue, clock = load_catalogue(), Clock()
    write_large_list(folder / "large.csv", count)
    brief = open_brief(catalogue)
    pricing, _ = clock.of("list", lambda: pricing_of(brief, folder, catalogue))
    choices = clock.of("options", lambda: Choices(brief, catalogue, pricing))
    clock.of("offers", lambda: offers(brief, catalogue, pricing))
    clock.of("size", lambda: space_size(choices))
    clock.of("undominated", lambda: undominated(choices))
    return clock.seconds


def demo_with(count: int) -> dict[str, float]:
    """The demo's brief, all its checks on, with so many products more on the lists."""
    catalogue, clock = load_catalogue(), Clock()
    brief = read_brief(demo_brief())
    pricing, _ = pricing_of(brief, demo_brief().parent, catalogue)
    more = pricing_for(large_list(count), brief.model_copy(update={"fixings": {}}), catalogue)
    pricing = replace(pricing, products={**pricing.products, **more.products})
    choices = clock.of("options", lambda: Choices(brief, catalogue, pricing))
    search = Complete(choices, brief.target.u_value, None, judgements(choices))
    clock.of("prepared", search._prepare)
    return clock.seconds


def test_seconds_until_a_search_starts(benchmark, tmp_path):
    for count in [SHORT] if benchmark.disabled else COUNTS:
        whole, demo = every_slot_open(count, tmp_path), demo_with(count)
        print(f"\n{count} products, every slot open: {whole}\n{' ' * 6}the demo's brief with them: {demo}")
        benchmark.extra_info[str(count)] = {"open": whole, "demo": demo}
        assert whole["list"] + whole["options"] < MOST_SECONDS
    benchmark(every_slot_open, SHORT, tmp_path)
