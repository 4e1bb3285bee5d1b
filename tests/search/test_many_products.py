"""Large price lists: the work of making them ready grows with the list, not with its square."""

from __future__ import annotations

import cProfile
import math
import pstats
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest
import toy_space as small
from large_lists import large_choices, large_list, open_brief, pricing_for

from materials.catalogue import load_catalogue
from optimiser.heat import air_layers
from optimiser.search import boxes
from optimiser.search import skins as skins_module
from optimiser.search.complete import Complete
from optimiser.search.parts import Figures
from optimiser.search.parts import joined as join
from optimiser.search.space import undominated
from optimiser.space.buildable import space_size
from optimiser.space.choices import Choices
from optimiser.space.options import offers, with_allowed
from optimiser.template import BEFORE_FRAME, FILL_VARIABLES, MEMBRANES, ZONE
from optimiser.wall import layers
from optimiser.wall.pricing import stacked

FEW, MANY = 500, 2000
FEW_BOARDS = {  # boards and membranes before the frame stay open
    "cladding": {"allow": ["larch-cladding"]},
    "ventilated space": {"allow": ["larch-batten"], "spacing_mm": [600]},
    "outer board": {"allow": ["none", "wood-fibre-insulating-board"]},
    "outer gap board": {"lock": "none"},
    "inner gap board": {"lock": "none"},
    "airtight layer": {"allow": ["airtight-paper"]},
    "lining": {"allow": ["clay-board"]},
}
MOST_GROWTH = 1.3 * MANY / FEW  # of calls; a loop over pairs of products would make it sixteen


def calls(work: Callable[[], Any]) -> tuple[Any, int]:
    """What a piece of work makes, and how many functions it calls, however busy the machine is."""
    profile = cProfile.Profile()
    made = profile.runcall(work)
    return made, pstats.Stats(profile).total_calls


@pytest.fixture(scope="module")
def counted() -> dict[int, dict[str, int]]:
    """Calls by what is made ready, for each size of the list."""
    catalogue = load_catalogue()
    brief = open_brief(catalogue)
    large_choices(FEW)  # what is made once and for all is not counted
    counts: dict[int, dict[str, int]] = {}
    for count in (FEW, MANY):
        pricing = pricing_for(large_list(count), brief, catalogue)
        of = counts[count] = {}
        choices, of["choices"] = calls(partial(Choices, brief, catalogue, pricing))
        _, of["undominated"] = calls(partial(undominated, choices))
        _, of["size of the space"] = calls(partial(space_size, choices))
        offered, of["offers"] = calls(partial(offers, brief, catalogue, pricing))
        on = {each.slot: [option.key for option in each.options if option.on] for each in offered}
        named = with_allowed(brief, on, offered)
        _, of["offers by name"] = calls(partial(offers, named, catalogue, pricing))
    return counts


def test_work_grows_with_the_list_and_not_with_its_square(counted):
    for work, few in counted[FEW].items():
        assert counted[MANY][work] < MOST_GROWTH * few, work


def test_only_what_is_worth_combining_in_its_slot_is_joined_to_skins(monkeypatch):
    """With four times as many products hardly more rows are joined: the others are beaten in their own slot."""
    rows: list[int] = []
    monkeypatch.setattr(skins_module, "joined", lambda *both: rows.append(len(both[0]) * len(both[1])) or join(*both))
    joins = {}
    for count in (FEW, MANY):
        choices = large_choices(count, slots=FEW_BOARDS)
        rows.clear()
        skins_module.skins(choices, Figures.of(choices))
        joins[count] = sum(rows)
        options = math.prod(len(choices.options[name]) for name in (*MEMBRANES, *BEFORE_FRAME))
        assert max(rows[:2]) < options / 10
    assert joins[MANY] < MOST_GROWTH * joins[FEW]


def test_tables_of_fills_are_those_of_each_fill_and_depth_alone():
    choices = large_choices(FEW)
    draw = np.random.default_rng(3)
    for name in FILL_VARIABLES:
        table, fills, zone = choices.tables[name], choices.fills[name], choices.options[ZONE[name]]
        assert table.fits.any() and not table.fits.all()
        for fill, depth in zip(draw.integers(0, len(fills), 60), draw.integers(0, len(zone), 60), strict=True):
            option, thickness = fills[fill], zone[depth].thickness
            if option.air:
                assert table.resistance[fill, depth] == air_layers.unventilated(thickness)
                continue
            assert table.resistance[fill, depth] == layers.resistance_of(option.stock.material, thickness)
            if option.loose or thickness == 0:
                assert table.fits[fill, depth]
                continue
            laying = choices.pricing.terms.laying(option.stock.material.waste_fraction)
            stack = stacked(list(option.line), thickness * 1000, laying)
            assert table.fits[fill, depth] == bool(stack)
            if stack:
                alone = layers.sheet(replace(option.stock, products=stack), "fill", thickness, choices.pricing.terms)
                assert table.stacks[fill, depth].products == stack
                assert (table.price[fill, depth], table.labour[fill, depth]) == (alone.price, alone.labour)


def test_frames_laid_a_few_at_a_time_make_the_same_front(tmp_path, monkeypatch):
    """Thousands of frames and fills pair up to millions: they are laid in parts, and the account stays the same."""
    choices = small.choices_of(small.brief_in(tmp_path), tmp_path)
    fronts = []
    for pairs in (10**6, 5):
        monkeypatch.setattr(boxes, "PAIRS", pairs)
        search = Complete(choices, choices.brief.target.u_value)
        for _ in search.run():
            pass
        assert len(search.x) and search.tally.settled == search.size
        fronts.append((search.x.tolist(), search.steps.tolist()))
    assert fronts[0] == fronts[1]
