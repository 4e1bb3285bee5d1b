"""A stop acts in every loop of a search; what was found stays, and what is said of the rest is true."""

from __future__ import annotations

import copy
import time

import numpy as np
import pytest
import toy_space as small

from materials.catalogue import load_catalogue
from optimiser import stopping
from optimiser.brief.brief import brief_from, read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.command.cli import demo_brief
from optimiser.search import front, parallel
from optimiser.search.archive import Archive
from optimiser.search.complete import Complete
from optimiser.search.parallel import complete
from optimiser.search.ruled_out import ruled_out
from optimiser.search.run import search
from optimiser.search.tally import share_of
from optimiser.space.choices import Choices
from optimiser.space.judgements import judgements
from optimiser.stopping import Stopped, ask, pieces, stepwise, stoppable

MOMENTS = (0, 1, 2, 5, 9, 24, 65, 180, 300, 500, 600, 680, 730, 760, 774)  # asked so often before it is told to stop


class After:
    """A stop that comes when it was asked so often."""

    def __init__(self, times: int) -> None:
        self.left = times

    def __call__(self) -> bool:
        self.left -= 1
        return self.left < 0


@pytest.fixture
def every_ask(monkeypatch):
    """Every `ask` looks, however soon after the last."""
    monkeypatch.setattr(stopping, "EVERY", 0.0)


@pytest.fixture(scope="module")
def sound(toy):
    """Choices of the toy space with every check, and its complete front."""
    choices = small.choices_of(small.brief_in(toy, **small.SOUND), toy)
    *_, (standing, whole) = complete(choices, choices.brief.target.u_value)
    assert standing.share == 1.0
    assert len(whole.x)
    return choices, whole


def test_nothing_is_asked_outside_of_a_stoppable_block(every_ask):
    ask()
    with stoppable(lambda: True), pytest.raises(Stopped):
        ask()
    ask()
    assert list(pieces(5, 2)) == [slice(0, 2), slice(2, 4), slice(4, 5)]


def test_only_the_steps_are_stoppable_not_what_happens_between_them(every_ask):
    def steps():
        yield 1
        ask()
        yield 2

    stop = After(0)
    received = stepwise(steps(), stop)
    assert next(received) == 1
    ask()
    with pytest.raises(Stopped):
        next(received)


def test_a_share_is_whole_only_where_every_wall_is_settled():
    assert share_of(10**18, 10**18) == share_of(0, 0) == 1.0
    assert share_of(10**18 - 1, 10**18) < 1.0
    assert share_of(1, 4) == 0.25


@pytest.mark.parametrize("times", MOMENTS)
def test_stopped_at_any_moment_it_holds_what_it_found_and_a_true_bound(sound, every_ask, times):
    choices, whole = sound
    target = choices.brief.target.u_value
    *_, (standing, search) = complete(choices, target, stop=After(times))
    found = {tuple(row) for row in search.x.tolist()}
    yet_to_come = [steps for row, steps in zip(whole.x.tolist(), whole.steps, strict=True) if tuple(row) not in found]
    assert standing.share < 1.0 or not yet_to_come
    assert standing.front_size == len(np.unique(search.steps, axis=0))
    if standing.still is not None and yet_to_come:
        least = np.array(yet_to_come).min(axis=0) / search.follow.scale[: len(search.follow.objectives)]
        assert all(value <= least[at] + 1e-6 for at, value in enumerate(standing.still.values()) if at < len(least))
    again = Complete(choices, target, search.x, judgements(choices))
    assert list(again.run())[-1].share == 1.0
    assert front.distinct(again.x, again.steps)[1].tolist() == front.distinct(whole.x, whole.steps)[1].tolist()


def test_the_moments_reach_from_the_first_preparation_to_the_last_walls(sound, every_ask):
    """What the test above tries: nothing known, a floor of all walls, and the least of those that are open."""
    choices, _ = sound
    kinds = []
    for times in MOMENTS:
        *_, (standing, _) = complete(choices, choices.brief.target.u_value, stop=After(times))
        kinds.append((standing.share == 0.0, standing.still is None))
    assert (True, True) in kinds
    assert (False, False) in kinds


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.long)])
def test_one_and_several_processes_tell_the_bound_on_what_is_open(workers):
    """On the shipped brief: stopped once a bound is known, it is still known at the end, and no wall is below it."""
    brief = read_brief(demo_brief())
    choices = small.choices_of(brief, demo_brief().parent)
    known = []
    for standing, _ in complete(choices, brief.target.u_value, None, workers, lambda: bool(known)):
        known.extend([standing.still] if standing.still else [])
    assert 0.0 < standing.share < 1.0
    assert standing.still.keys() == {*brief.objectives.minimise}
    assert all(value <= standing.still[key] for key, value in known[0].items()), "it only ever rises"
    assert 100 < standing.still["thickness_mm"] < 450


def test_the_bounds_of_processes_are_joined_and_one_that_knows_none_hides_them():
    nothing = np.inf  # is open any more
    lines = np.array([[0.2, 3, 9, 2, 400.0, 90.0], [0.1, 2, 5, 2, 380.0, 95.0], [0.3, 1, 1, 2, nothing, nothing]])
    assert parallel._bound(lines).tolist() == [380.0, 90.0]
    lines[1, parallel.STATE] = parallel.BEGUN
    assert parallel._bound(lines) is None


def test_processes_that_are_stopped_keep_the_seeds_or_never_looked_at_them(sound):
    choices, whole = sound
    *_, (standing, search) = complete(choices, choices.brief.target.u_value, whole.x, 2, After(0))
    assert standing.share < 1.0
    assert len(search.x) in (0, len(whole.x))


def test_walls_that_the_checks_keep_off_are_looked_for_stoppably(sound, every_ask):
    choices, whole = sound
    archive = Archive(choices, choices.brief.target.u_value)
    archive.best_x = whole.x
    counted = After(10**9)
    assert ruled_out(archive, counted) is not None
    asked = 10**9 - counted.left
    assert asked > 20
    assert all(ruled_out(archive, After(asked * part // 7)) is None for part in range(7))


def test_a_spent_budget_is_told_with_its_bound(toy):
    brief = small.brief_in(toy, search={"population": 20, "seconds": 1e-9})
    outcome = search(brief, toy)
    assert outcome.summary["stopped"] == "budget"
    assert not outcome.summary["complete"]
    assert [each["share"] < 1.0 for each in outcome.summary["proof"]] == [True]
    assert "still" in outcome.summary["proof"][0]
    words = "\n".join(each.words() for each in outcome.shortfalls)
    assert "spent" in words, "that no wall was found says nothing of those not looked at"


def test_without_a_budget_a_proof_runs_to_its_end(toy):
    assert small.brief_in(toy).search.seconds is None
    assert read_brief(demo_brief()).search.seconds is None
    assert not small.brief_in(toy).search.over(1e12)
    assert small.brief_in(toy, search={"seconds": 3}).search.over(3.0)


def wide_choices() -> Choices:
    """The shipped lists with nearly every slot open: some 10^18 walls."""
    raw = copy.deepcopy(read_brief(demo_brief()).model_dump(exclude_unset=True, by_alias=True))
    raw["gap"]["step_mm"] = 2
    raw["limits"] = {}
    framed = {"outer frame", "inner frame", "service zone"}
    named = {name: raw["slots"][name] for name in ("cladding", "ventilated space", "lining")}
    raw["slots"] = named | {name: {"spacing_mm": [400, 600]} for name in framed}
    brief, catalogue = brief_from(raw, "wide"), load_catalogue()
    return Choices(brief, catalogue, pricing_of(brief, demo_brief().parent, catalogue)[0])


@pytest.fixture(scope="module")
def wide():
    return wide_choices()


@pytest.mark.parametrize(
    "moment", [0.3, 1.5, *(pytest.param(each, marks=pytest.mark.long) for each in (5.0, 9.0, 15.0, 25.0))]
)
def test_a_stop_acts_within_a_second_in_a_space_of_more_than_1e14_walls(wide, moment):
    """In seconds of this process, so that other work on the machine does not count."""
    asked = judgements(wide)
    proving = Complete(wide, wide.brief.target.u_value, judgements=asked)
    assert proving.size > 1e14
    end = time.process_time() + moment
    *_, standing = stepwise(proving.run(), lambda: time.process_time() >= end)
    assert standing.share < 1.0
    assert time.process_time() - end < 1.0
