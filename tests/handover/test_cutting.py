"""The cutting plan: every piece once, never longer than the stock, never worse than first-fit-decreasing."""

from __future__ import annotations

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.errors import InputError
from optimiser.handover.ordering.cutting import CuttingPlan, cutting_plan

STOCKS = st.lists(st.sampled_from([3000.0, 3600.0, 4200.0, 4800.0, 5400.0, 6000.0]), min_size=1, max_size=4)
DEMANDS = st.dictionaries(st.integers(2000, 30000).map(lambda tenths: tenths / 10), st.integers(1, 25), max_size=7)


def cut(plan: CuttingPlan) -> dict[float, int]:
    found: dict[float, int] = {}
    for bar in plan.bars:
        for piece in bar.pieces_mm:
            found[piece] = found.get(piece, 0) + bar.count
    return found


def by_hand(demand: dict[float, int], stock: list[float], kerf: float = 4.0) -> list[tuple[float, list[float]]]:
    """First-fit-decreasing: (stock length, its pieces) of each bar; longest pieces first, each into the first bar that
    holds it, bars begun from the longest stock and bought in the shortest that is enough (the usual way, from memory).
    """

    def used(pieces: list[float]) -> float:
        return sum(pieces) + kerf * (len(pieces) - 1) - 1e-6

    bars: list[list[float]] = []
    for piece in sorted((each for each, number in demand.items() for _ in range(number)), reverse=True):
        bar = next((each for each in bars if used([*each, piece]) <= max(stock)), None)
        bars.append([piece]) if bar is None else bar.append(piece)
    return [(min(each for each in stock if used(pieces) <= each), pieces) for pieces in bars]


def held(plan: CuttingPlan, demand: dict[float, int], stock: list[float], kerf: float) -> None:
    """What any plan must keep."""
    assert cut(plan) == demand
    for bar in plan.bars:
        assert bar.stock_mm in stock
        assert sum(bar.pieces_mm) + kerf * (len(bar.pieces_mm) - 1) <= bar.stock_mm + 1e-6


@settings(deadline=None, max_examples=60)
@given(DEMANDS, STOCKS, st.sampled_from([0.0, 3.2, 4.0]))
def test_never_worse_than_first_fit_decreasing_and_never_longer_than_the_stock(demand, stock, kerf):
    plan, plain = cutting_plan(demand, stock, kerf), by_hand(demand, stock, kerf)
    held(plan, demand, stock, kerf)
    assert plan.count <= len(plain)
    assert plan.stock_mm <= sum(length for length, _ in plain) + 1e-6
    assert plan == cutting_plan(dict(reversed(demand.items())), stock[::-1], kerf)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(3, 30), min_size=1, max_size=5), st.integers(0, 1))
def test_the_least_length_of_all_plans_where_they_can_be_listed(pieces, kerf):
    """Pieces of 0.3 to 3 m from 3 m stock, against every way of putting them into bars."""
    demand: dict[float, int] = {}
    for each in pieces:
        demand[each * 100.0] = demand.get(each * 100.0, 0) + 1
    plan = cutting_plan(demand, [3000.0], kerf)
    assert plan.proven
    assert plan.count == fewest([each * 100 for each in pieces], kerf)


def fewest(pieces: list[int], kerf: int) -> int:
    """Bars of 3 m that these pieces need, by trying every bar for every piece."""

    def tried(at: int, bars: list[int]) -> int:
        if at == len(pieces):
            return len(bars)
        found = tried(at + 1, [*bars, pieces[at]])
        for number, used in enumerate(bars):
            if used + kerf + pieces[at] <= 3000:
                found = min(found, tried(at + 1, [*bars[:number], used + kerf + pieces[at], *bars[number + 1 :]]))
        return found

    return tried(0, [])


def test_it_beats_first_fit_decreasing_where_that_can_be_beaten():
    """1 + 2 + 2 m, 2 + 1.5 + 1.5 m twice: three full bars of 5 m; by hand 2 + 2 + 1, 2 + 2, 1.5 three times, 1.5."""
    demand = {2000.0: 4, 1500.0: 4, 1000.0: 1}
    plan, plain = cutting_plan(demand, [5000.0], kerf_mm=0), by_hand(demand, [5000.0], kerf=0)
    assert (plan.count, plan.waste_mm, plan.proven) == (3, 0, True)
    assert [pieces for _, pieces in plain] == [[2000, 2000, 1000], [2000, 2000], [1500, 1500, 1500], [1500]]


def test_a_saw_cut_counts():
    """Two of 2.4 m come out of 4.8 m only without a cut between them."""
    assert cutting_plan({2400.0: 2}, [4800.0], kerf_mm=0).count == 1
    assert cutting_plan({2400.0: 2}, [4800.0], kerf_mm=4).count == 2
    assert cutting_plan({4800.0: 1}, [4800.0], kerf_mm=4).count == 1  # a whole length needs none


def test_the_shortest_stock_is_bought():
    plan = cutting_plan({2600.0: 3}, [3000.0, 4200.0, 5400.0])
    assert plan.stock == {3000.0: 1, 5400.0: 1}
    assert plan.waste_mm == pytest.approx(8400 - 7800)


def test_a_piece_longer_than_the_stock_is_refused():
    with pytest.raises(InputError, match="a piece of 6200 mm is longer than the longest stock, 6000 mm"):
        cutting_plan({6200.0: 1}, [4800.0, 6000.0])
    with pytest.raises(InputError, match="at least one stock length"):
        cutting_plan({600.0: 1}, [])


def test_nothing_to_cut():
    plan = cutting_plan({}, [4800.0])
    assert (plan.bars, plan.count, plan.waste_mm, plan.waste_share) == ((), 0, 0, 0)


def test_a_house_of_many_lengths_is_planned_in_seconds():
    demand = {round(400 + 137.3 * step, 1): 5 + 3 * step for step in range(30)}
    start = time.perf_counter()
    stock = [3000.0, 3600.0, 4200.0, 4800.0, 5400.0, 6000.0]
    plan = cutting_plan(demand, stock)
    assert time.perf_counter() - start < 10
    assert cut(plan) == demand
    assert plan.stock_mm < sum(length for length, _ in by_hand(demand, stock))
