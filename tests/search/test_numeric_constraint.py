"""The numerical U as the constraint: the front of all walls whose exact U meets the target, each solved by itself."""

from __future__ import annotations

import csv

import numpy as np
import pytest
import toy_space as small
from hypothesis import HealthCheck, assume, given, settings
from random_spaces import STEPS, spaces

from materials.errors import InputError
from optimiser.brief.brief import brief_from, read_brief
from optimiser.conduction.u_value import enclosed_u
from optimiser.search import front
from optimiser.search.complete import Complete
from optimiser.search.numeric_front import prove_front
from optimiser.search.run import save, search
from optimiser.search.second_opinion import verify
from optimiser.search.study import to_csv
from optimiser.space import buildable as rules
from optimiser.space import settled_target as numeric
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.space.judgements import judgements
from optimiser.space.walls import buildup
from optimiser.template import AT

MOST_SOLVED = 150  # walls between the bounds of one space
FEW = {
    "target": {"u_value": 0.1211},
    "framing": {"plates": 0},  # every timber stands in the repeating cell, so that every wall is told one way
    "gap": {"min_mm": 0, "max_mm": 140, "step_mm": 20},
    "tie": {"product": "k-12", "height_mm": 200, "vertical_spacing_mm": 1200},
    "slots": small.SMALL["slots"]
    | {
        "wind-tight layer": {"lock": "w-1"},
        "outer board": {"lock": "none"},
        "sheathing": {"allow": ["o-9", "o-12"]},
        "outer frame": {"allow": ["t-145"]},
        "outer gap board": {"allow": ["none", "o-9"]},
        "inner frame": {"allow": ["none", "t-95"]},
        "fill": {"allow": ["f-cel", "f-fib", "f-gw"]},
        "airtight layer": {"lock": "a-2"},
        "service zone": {"allow": ["none", "b-45"]},
    },
}


def with_constraint(choices: Choices) -> Choices:
    brief = choices.brief
    asked = brief.numeric.model_copy(update={"constraint": True})
    bare = brief.framing.model_copy(update={"plates": 0, "nogging_rows": 0})
    return Choices(brief.model_copy(update={"numeric": asked, "framing": bare}), choices.catalogue, choices.pricing)


def every_wall(choices: Choices) -> np.ndarray:
    found = np.unravel_index(np.arange(int(np.prod(choices.sizes))), choices.sizes)
    x = np.stack(found, axis=1).astype(np.int32)
    return x[rules.buildable(choices, x)]


def within_limits(choices: Choices, x: np.ndarray) -> np.ndarray:
    """Rows that hold the limits and whose exact U may meet the target."""
    scores, target = evaluate(choices, x), choices.brief.target.u_value
    with np.errstate(invalid="ignore"):
        holds = scores.u_least <= target
    for key, limit in choices.brief.limits.upper().items():
        holds &= getattr(scores, key) <= limit
    return x[holds]


def enclosed(choices: Choices, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    low, high = np.empty(len(x)), np.empty(len(x))
    for rows, batch in choices.batches(x):
        low[rows], high[rows] = numeric.bounds(choices, batch)
    return low, high


class Undecided(Exception):
    """A wall too close to the target to be told."""


def solved(choices: Choices, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which rows meet the target, every wall between its bounds solved for itself; and how many were."""
    target = choices.brief.target.u_value
    low, high = enclosed(choices, x)
    meets = high <= target
    between = np.flatnonzero((low <= target) & ~meets)
    for row in between:
        wall = buildup(choices, x[row], "w")
        for tolerance in (0.005, 0.0005, 0.0001):
            enclosed_by = enclosed_u(wall, tolerance)
            assert low[row] - enclosed_by.error <= enclosed_by.u_value <= high[row] + enclosed_by.error
            if enclosed_by.high <= target or enclosed_by.least_high > target:
                break
        else:
            raise Undecided
        meets[row] = enclosed_by.high <= target
    return meets, between


def front_of(choices: Choices, x: np.ndarray) -> tuple[list, list, list]:
    """Score vectors, lowest rows and counts of the front of rows that pass."""
    scores = evaluate(choices, x)
    keys = choices.brief.objectives.minimise
    steps = np.stack([np.rint(getattr(scores, key) * STEPS[key]) for key in keys], axis=1).astype(np.int64)
    beaten = [((steps <= each).all(axis=1) & (steps < each).any(axis=1)).any() for each in steps]
    best: dict[tuple, list] = {}
    for vector, row, lost in zip(steps.tolist(), x.tolist(), beaten, strict=True):
        if not lost:
            best.setdefault(tuple(vector), []).append(tuple(row))
    vectors = sorted(best)
    return [list(v) for v in vectors], [min(best[v]) for v in vectors], [len(best[v]) for v in vectors]


def searched(choices: Choices, guarded: bool = False) -> tuple[list, list, list]:
    found = Complete(choices, choices.brief.target.u_value, judgements=judgements(choices), guarded=guarded)
    assert list(found.run())[-1].share == 1.0
    x, steps, counts = front.distinct(found.x, found.steps)
    return steps.tolist(), [tuple(row) for row in x.tolist()], counts.tolist()


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    folder = tmp_path_factory.mktemp("few")
    return small.choices_of(small.brief_in(folder, **FEW, numeric={"constraint": True}), folder)


def test_the_front_of_a_small_space_is_that_of_walls_all_solved(few):
    x = within_limits(few, every_wall(few))
    meets, between = solved(few, x)
    assert len(between) >= 10 and 0 < meets[between].sum() < len(between)
    truth = front_of(few, x[meets])
    assert searched(few) == truth == searched(few, guarded=True)
    combined = evaluate(few, x).u_value <= few.brief.target.u_value
    assert (combined != meets).any(), "the combined method decides alike: the space shows nothing"
    assert truth != front_of(few, x[combined])


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(spaces())
def test_random_spaces_give_the_front_of_walls_all_solved(choices):
    assume(choices.brief.framing.fraction is None)
    choices = with_constraint(choices)
    x = within_limits(choices, every_wall(choices))
    low, high = enclosed(choices, x)
    assume(0 < ((low <= choices.brief.target.u_value) & (high > choices.brief.target.u_value)).sum() <= MOST_SOLVED)
    try:
        meets, _ = solved(choices, x)
    except Undecided:
        assume(False)
    except InputError as error:
        assert "line up" in str(error)  # members without a common cell are not what is tested here
        assume(False)
    assert searched(choices) == front_of(choices, x[meets])


def test_what_is_known_of_one_wall_settles_others_of_its_geometry(few):
    """Walls of one geometry that are colder than one that fails, or warmer than one that passes, are not solved."""
    x = within_limits(few, every_wall(few))
    meets, between = solved(few, x)
    (judgement,) = judgements(few)
    assert (judgement.passes(few, x) == meets).all()
    settle = judgement.passes.__self__
    assert 0 < settle.solved < len(between) and settle.open == 0
    before = settle.solved
    judgement.passes(few, x)
    assert settle.solved == before
    assert (judgement.lacks(few, x[~meets]) > -0.1).all()


def test_thicker_layers_of_equal_resistance_are_not_taken_for_equal():
    """R and -d lambda: a thicker layer that resists as much conducts more along itself."""
    across, along = numeric.properties(np.array([0.5, 0.5, 0.0]), np.array([0.02, 0.04, 0.001]))
    assert across.tolist() == [0.5, 0.5, 0.0]
    assert along[0] == pytest.approx(-0.02 * 0.04) and along[1] == pytest.approx(-0.04 * 0.08) and along[2] == 0.0


def test_a_run_ends_with_walls_whose_numerical_u_meets_the_target(tmp_path, few):
    small.write_brief(tmp_path, **FEW, numeric={"constraint": True}, search={"start_generations": 5, "population": 40})
    brief = read_brief(tmp_path / "brief.toml")
    outcome = search(brief, tmp_path)
    (archive,) = outcome.archives
    assert outcome.summary["complete"]
    assert [tuple(row) for row in archive.best_x.tolist()] == searched(few)[1]
    walls = [buildup(archive.choices, row, "w") for row in archive.best_x]
    assert all(each.u_value - each.u_error <= brief.target.u_value for each in prove_front(walls, workers=1))
    assert archive.stability is None  # every swap of every wall would have to be solved
    assert {row["check"] for row in outcome.ruled_out} == set()


def test_the_second_opinion_finds_a_wall_that_conduction_alone_admits(tmp_path):
    """Taken off by hand, a wall whose combined U misses the target and whose exact U meets it is named."""
    small.write_brief(tmp_path, **FEW, numeric={"constraint": True}, search={"start_generations": 5, "population": 40})
    brief = read_brief(tmp_path / "brief.toml")
    save(search(brief, tmp_path), tmp_path, tmp_path / "study")
    assert verify(tmp_path / "study", draws=2_000).missed == []
    file = tmp_path / "study" / "front.csv"
    with file.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    gone = next(row for row in rows if float(row["u_value"]) > brief.target.u_value)
    file.write_text(to_csv([row for row in rows if row is not gone]), encoding="utf-8")
    missed = verify(tmp_path / "study", draws=2_000).missed
    assert [each["u_value"] for each in missed] == [pytest.approx(float(gone["u_value"]), abs=5e-7)]


def test_a_target_that_no_wall_reaches_is_told(tmp_path):
    small.write_brief(
        tmp_path,
        **FEW | {"target": {"u_value": 0.05}},
        numeric={"constraint": True},
        search={"start_generations": 2, "population": 20},
    )
    outcome = search(read_brief(tmp_path / "brief.toml"), tmp_path)
    assert not outcome.has_front
    assert "numerical U-value" in outcome.shortfalls[0].words()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"search": {"complete": False}}, "complete search"),
        ({"framing": {"fraction": 0.14}}, "framing.fraction"),
        ({"target": {"u_value": 0.1, "also": [0.12]}}, "target.also"),
    ],
)
def test_briefs_that_the_constraint_cannot_serve_are_refused(change, words):
    raw = small.raw(numeric={"constraint": True}, **change)
    with pytest.raises(InputError, match=words):
        brief_from(raw, "brief.toml")


def test_the_columns_of_a_wall_are_those_of_its_slots(few):
    """The judgement reads every plain slot that resists heat."""
    (judgement,) = judgements(few)
    resisting = {name for name in few.column if (few.column[name]["resistance"] > 0).any()}
    members = {"ventilated space", "outer frame", "inner frame", "service zone", "gap", "cladding"}
    assert resisting - members <= set(judgement.reads)
    assert "service zone" in judgement.reads and AT["service zone"] == AT["lining"] - 1


def test_a_wall_that_timber_without_a_place_leaves_open_counts_as_a_miss(few):
    """Its target lies between the limits of its U by conduction: no finer grid decides, and it does not pass."""
    brief = few.brief.model_copy(update={"framing": few.brief.framing.model_copy(update={"further_fraction": 0.05})})
    loose = Choices(brief, few.catalogue, few.pricing)
    row = within_limits(loose, every_wall(loose))[0]
    wall = buildup(loose, row, "w")
    limits = enclosed_u(wall, 0.001)
    assert limits.error > 0.01 * limits.u_value
    for target, passes in ((limits.high * 1.001, True), (limits.u_value, False), (limits.u_value * 0.98, False)):
        settle = numeric.Settle(target)
        assert settle.passes(loose, row[None])[0] == passes
