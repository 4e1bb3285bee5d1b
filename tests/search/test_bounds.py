"""Dropping options: only for another that is no worse in all and better by the margin; held to the words, pair by pair.

Common practice of dominance (exact): two options whose totals could round to one step are both kept.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.search.bounds import BLOCK, FEW, MARGIN, worth_combining

SAME = np.zeros((2, 1))  # a property in which both options are alike


@pytest.mark.parametrize(
    ("lead", "both"),
    [(0.0, True), (1.0, True), (MARGIN - 0.001, True), (MARGIN, False), (MARGIN + 1, False)],
)
def test_an_option_falls_only_to_one_that_is_better_by_the_margin(lead, both):
    figures = np.array([[10.0], [10.0 + lead]])
    assert worth_combining(figures, SAME, objectives=1).tolist() == [True, both]
    assert worth_combining(figures[::-1], SAME, objectives=1).tolist() == [both, True]


def test_whole_steps_alone_cannot_tell_two_totals_apart_but_the_margin_can():
    """Totals are rounded: 1 step apart they may be equal, and the dropped option could be the better wall; 2 cannot."""
    rest = np.linspace(0.0, 1.0, 101)  # what the other layers add
    gaps = {lead: np.round(rest + lead) - np.round(rest) for lead in (0.5, MARGIN)}
    assert gaps[0.5].min() == 0
    assert gaps[MARGIN].min() >= 1


@pytest.mark.parametrize(
    ("figures", "better"),
    [
        ([[10.0, 5.0], [20.0, 4.0]], [[0.0], [0.0]]),  # more of a limited figure
        ([[10.0, 4.0], [20.0, 4.0]], [[1.0], [1.1]]),  # less resistance
        ([[10.0, 4.0], [10.0, 20.0]], [[0.0], [0.0]]),  # a lead in what is limited alone
        ([[10.0, 4.0], [10.0, 4.0]], [[9.0], [0.0]]),  # a lead in a property alone
    ],
)
def test_a_lead_in_an_objective_does_not_make_up_for_less_of_anything_else(figures, better):
    assert worth_combining(np.array(figures), np.array(better), objectives=1).all()


steps = st.integers(0, 6).map(float)
options = st.lists(st.tuples(steps, steps, steps, steps), min_size=1, max_size=40)


@given(options, st.integers(1, 3))
def test_what_is_dropped_is_beaten_by_one_that_stays(rows, objectives):
    """Every dropped option has such another among those kept, and no kept one has."""
    table = np.array(rows)
    alive = worth_combining(table[:, :3], table[:, 3:], objectives)

    def beats(one: np.ndarray, other: np.ndarray) -> bool:
        no_worse = (one[:3] <= other[:3]).all() and one[3] >= other[3]
        return no_worse and bool((other[:objectives] - one[:objectives] >= MARGIN).any())

    for number, row in enumerate(table):
        assert alive[number] != any(beats(other, row) for other in table[alive])


@pytest.mark.parametrize("sizes", [(1, 2, 3, FEW, FEW + 1), (3 * BLOCK, 1, 2)])
def test_groups_are_looked_at_as_if_each_were_alone(sizes):
    draw = np.random.default_rng(5)
    table = np.round(draw.uniform(0, 40, (sum(sizes), 5)))
    table[draw.random(len(table)) < 0.1, 4] = -np.inf  # a property without end, as that of a board that holds any fill
    groups = draw.permutation(np.repeat(np.arange(len(sizes)), sizes))
    alive = worth_combining(table[:, :3], table[:, 3:], 2, groups)
    for group in range(len(sizes)):
        rows = table[groups == group]
        assert alive[groups == group].tolist() == [not _superfluous(each, rows) for each in rows]
    assert not alive.all()


def _superfluous(row: np.ndarray, rows: np.ndarray) -> bool:
    """By the words: another is no worse in all three figures and both properties, and clearly better in one of two."""
    no_worse = (rows[:, :3] <= row[:3]).all(axis=1) & (rows[:, 3:] >= row[3:]).all(axis=1)
    return bool((no_worse & (rows[:, :2] <= row[:2] - MARGIN).any(axis=1)).any())


def test_more_options_than_a_block_are_compared_across_blocks():
    count = 2 * BLOCK + 7
    figures = np.arange(count, dtype=float)[:, None] * MARGIN
    assert np.flatnonzero(worth_combining(figures[::-1], np.zeros((count, 1)), objectives=1)).tolist() == [count - 1]
