"""The complete search against plain enumeration: the same walls, ties and counts, on hundreds of random catalogues."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_spaces import listed, spaces

from optimiser.checks.common.search_judgement import Judgement, Reading
from optimiser.search import bounds, front
from optimiser.search.complete import Complete
from optimiser.search.parallel import complete
from optimiser.search.tally import REASONS
from optimiser.template import AT

RANDOM = settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
FEWER = settings(RANDOM, max_examples=40)


def found(search: Complete) -> tuple[list, list, list]:
    for _ in search.run():
        pass
    return told(search)


def told(search: Complete) -> tuple[list, list, list]:
    x, steps, counts = front.distinct(search.x, search.steps)
    return steps.tolist(), [tuple(row) for row in x.tolist()], counts.tolist()


def assert_same(search: Complete, truth) -> None:
    steps, rows, counts = found(search)
    assert steps == truth.steps.tolist()
    assert rows == truth.rows
    assert counts == truth.counts
    assert search.tally.settled == search.size == truth.size
    assert min(search.tally.excluded.values()) >= 0


@RANDOM
@given(spaces())
def test_the_front_equals_plain_enumeration(choices):
    target = choices.brief.target.u_value
    assert_same(Complete(choices, target), listed(choices, target))


@FEWER
@given(spaces())
def test_the_front_does_not_depend_on_dominance(choices):
    """Without dropping options and gaps only bounds and limits exclude walls, and the front is the same."""
    target = choices.brief.target.u_value
    search = Complete(choices, target, guarded=True)
    assert_same(search, listed(choices, target))
    assert search.tally.excluded["dominated option"] == search.tally.excluded["smallest sufficient gap"] == 0


@FEWER
@given(spaces(), st.integers(0, 2**32 - 1))
def test_the_start_does_not_change_the_front(choices, seed):
    """Any walls to begin with, good ones or ones that fail, end in the same front."""
    target = choices.brief.target.u_value
    truth = listed(choices, target)
    rows = np.array(truth.rows, np.int32).reshape(-1, len(choices.sizes))
    rng = np.random.default_rng(seed)
    assert_same(Complete(choices, target, rows[rng.random(len(rows)) < 0.5]), truth)


def _odd_gap(choices, x):
    return x[:, AT["gap"]] % 2 == 1


def _no_first_sheathing(choices, x):
    return x[:, AT["sheathing"]] != 1


def _light_outside(choices, x):
    return choices.take("outer board", "mass", x) + choices.take("sheathing", "mass", x) < 12.0


def _lightness(name):
    return Reading(lambda choices: -choices.column[name]["mass"][:, None])


def _even_cents(choices, x):
    return np.rint(choices.take("sheathing", "price", x) * 100) % 2 == 0


ODD = Reading(lambda choices: np.rint(choices.column["sheathing"]["price"] * 100)[:, None] % 2, alike=True)


PLUGGED = [
    Judgement("odd gaps", {"gap": None, "gap fill": None}, _odd_gap),
    Judgement("no first sheathing", {"sheathing": None}, _no_first_sheathing),
    Judgement("even cents", {"sheathing": ODD}, _even_cents),
    Judgement("light outside", {name: _lightness(name) for name in ("outer board", "sheathing")}, _light_outside),
]


@FEWER
@given(spaces(), st.sampled_from([PLUGGED[:1], PLUGGED[1:2], PLUGGED[2:3], PLUGGED[3:], PLUGGED[1:], PLUGGED]))
def test_a_judgement_releases_what_failing_walls_displaced(choices, judgements):
    """Judgements without a known direction, and with one, give the front of the walls that pass them."""
    target = choices.brief.target.u_value

    def all_pass(choices, x):
        return np.logical_and.reduce([each.passes(choices, x) for each in judgements])

    search = Complete(choices, target, judgements=tuple(judgements))
    assert_same(search, listed(choices, target, all_pass))
    assert set(search.tally.ruled_out) == {each.name for each in judgements}


@pytest.fixture(scope="module")
def one_space():
    """One random space with a front of some size."""
    best = []

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), database=None, derandomize=True)
    @given(spaces(signs=False))
    def look(choices):
        size = len(listed(choices, choices.brief.target.u_value).rows)
        if not best or size > best[0][0]:
            best[:] = [(size, choices)]

    look()
    assert best[0][0] > 5
    return best[0][1]


def test_the_front_does_not_depend_on_the_number_of_workers(one_space):
    target = one_space.brief.target.u_value
    fronts, tallies = [], []
    for workers in (1, 2, 3):
        *_, (_, search) = complete(one_space, target, workers=workers)
        fronts.append(told(search))
        tallies.append(search.tally.settled)
    assert fronts[0] == fronts[1] == fronts[2]
    assert tallies == [Complete(one_space, target).size] * 3


def test_a_stopped_search_holds_only_walls_that_pass(one_space):
    """Stopped at any moment, what it holds is feasible; taken up as a start, it ends with the same front."""
    target = one_space.brief.target.u_value
    truth = listed(one_space, target)
    for moment in range(3):
        search = Complete(one_space, target)
        for number, _ in enumerate(search.run()):
            if number == moment:
                break
        assert_same(Complete(one_space, target, search.x), truth)


def test_progress_ends_with_the_whole_space(one_space):
    standings = list(Complete(one_space, one_space.brief.target.u_value).run())
    shares = [each.share for each in standings]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert standings[-1].still is None


vectors = st.lists(st.tuples(*[st.integers(-4, 4)] * 3), min_size=1, max_size=30)


@given(vectors, vectors, st.integers(1, 3))
def test_the_cut_strikes_what_the_front_strictly_beats_and_nothing_else(rows, asked, objectives):
    """Against the definition: some row no greater anywhere and smaller somewhere."""
    steps = np.unique(np.array(rows)[:, :objectives], axis=0)
    steps = steps[bounds.undominated(steps)]
    least = np.array(asked)[:, :objectives]
    expected = [any((v <= one).all() and (v < one).any() for v in steps) for one in least]
    assert bounds.Cut(steps).beats(least.astype(float)).tolist() == expected


@given(st.lists(st.tuples(*[st.integers(0, 9)] * 4), min_size=1, max_size=40))
def test_an_option_is_dropped_only_for_one_that_surely_beats_it(rows):
    """Against the definition, two figures to be small (one the objective) and two properties to be large."""
    table = np.array(rows, float)
    worth = bounds.worth_combining(table[:, :2], table[:, 2:], objectives=1)

    def beats(one, other):
        no_worse = (one[:2] <= other[:2]).all() and (one[2:] >= other[2:]).all()
        return no_worse and one[0] <= other[0] - bounds.MARGIN

    for number, row in enumerate(table):
        dropped = any(beats(other, row) for other in table)
        assert worth[number] == (not dropped)


@given(st.lists(st.tuples(st.floats(-5, 5), st.floats(-5, 5)), min_size=1, max_size=40), st.data())
def test_range_minimum(rows, data):
    table = np.array(rows)
    start = data.draw(st.integers(0, len(rows)))
    stop = data.draw(st.integers(start, len(rows)))
    least = bounds.RangeMin(table).over(np.array([start]), np.array([stop]))[0]
    expected = table[start:stop].min(axis=0) if stop > start else np.full(2, np.inf)
    assert least.tolist() == expected.tolist()


def test_the_reasons_are_the_ones_the_argument_gives():
    """The docstring is the argument: every reason that is counted stands in it."""
    from optimiser.search import complete as module

    for reason in REASONS:
        assert f"- {reason}:" in module.__doc__
