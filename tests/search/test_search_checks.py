"""The checks as constraints: the front is that of the walls that pass, each judged through its build-up file."""

from __future__ import annotations

import numpy as np
import pytest
import toy_space as small

from optimiser.checks.check_table import NAMED, Demands
from optimiser.checks.judge import judge
from optimiser.search import front
from optimiser.search.archive import Archive
from optimiser.search.complete import Complete
from optimiser.search.parallel import complete
from optimiser.search.ruled_out import ruled_out
from optimiser.search.run import save, search
from optimiser.search.second_opinion import verify
from optimiser.search.study import open_study
from optimiser.space.evaluate import evaluate
from optimiser.space.judgements import judgements, passes_all
from optimiser.space.walls import buildup


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sound")
    brief = small.brief_in(folder, **small.SOUND)
    return folder, small.choices_of(brief, folder)


@pytest.fixture(scope="module")
def feasible(sound):
    """Every wall of the toy space that holds target and limits, with what each judgement says of it."""
    folder, choices = sound
    whole = small.listed(choices.brief, folder)
    x = whole.x[whole.holding()]
    said = {each.name: each.passes(choices, x) for each in judgements(choices)}
    return x, said


def test_every_check_rules_some_walls_out_and_not_all(feasible):
    x, said = feasible
    for name, passes in said.items():
        assert 0 < passes.sum() < len(x), name


def test_the_complete_front_is_that_of_the_walls_that_pass(sound, feasible):
    """Against plain enumeration of the whole space."""
    _, choices = sound
    x, said = feasible
    x = x[np.logical_and.reduce(list(said.values()))]
    steps = evaluate(choices, x).steps(choices.brief.objectives.minimise)
    asked = judgements(choices)
    for guarded in (False, True):
        found = Complete(choices, choices.brief.target.u_value, judgements=asked, guarded=guarded)
        for _ in found.run():
            pass
        rows, scores, counts = front.distinct(found.x, found.steps)
        true = small.best_of(steps)
        assert scores.tolist() == true.tolist()
        assert counts.tolist() == [int((steps == vector).all(axis=1).sum()) for vector in true]
        assert [row.tolist() for row in rows] == [min(x[(steps == vector).all(axis=1)].tolist()) for vector in true]
        assert found.tally.settled == found.size


def test_workers_judge_as_one_process_does(sound):
    _, choices = sound
    fronts = []
    for workers in (1, 2):
        *_, (_, found) = complete(choices, choices.brief.target.u_value, workers=workers)
        fronts.append(found.x.tolist())
        assert found.tally.settled == found.size
    assert fronts[0] == fronts[1]


def test_a_batch_says_of_each_wall_what_its_build_up_file_says(sound, feasible):
    """One wall is a batch of one: the same verdicts through the file format."""
    _, choices = sound
    x, said = feasible
    brief = choices.brief
    demands = Demands.of(brief)
    for number in range(0, len(x), max(1, len(x) // 60)):
        told = judge(buildup(choices, x[number], "w"), None, demands).verdicts
        for name, passes in said.items():
            found = told[NAMED[name]].passes  # None: nothing is blown in
            assert (found is None or found) == passes[number], (name, x[number])


def test_the_evolutionary_front_passes_too(sound, feasible):
    _, choices = sound
    x, said = feasible
    archive = Archive(choices, choices.brief.target.u_value)
    archive.add(x, evaluate(choices, x))
    assert passes_all(choices, archive.judgements, archive.best_x).all()
    passing = np.logical_and.reduce(list(said.values()))
    steps = evaluate(choices, x[passing]).steps(choices.brief.objectives.minimise)
    assert archive.best_steps.tolist() == small.best_of(steps).tolist()


def test_walls_kept_off_the_front_are_told_with_their_reason(sound, feasible):
    """The front without the checks, less the walls that pass; the reason names the first check that fails."""
    _, choices = sound
    x, said = feasible
    steps = evaluate(choices, x).steps(choices.brief.objectives.minimise)
    rows, scores, _ = front.distinct(x, steps)
    rows = rows[front.nondominated(scores)]
    failing = rows[~passes_all(choices, judgements(choices), rows)]
    archive = Archive(choices, choices.brief.target.u_value)
    told = ruled_out(archive)
    assert len(told) == len(failing) > 0
    assert {row["check"] for row in told} <= set(said)
    for row in told:
        assert row["reason"]
        assert row["check"] != "strength" or int(row["reason"].split("%")[0]) > 100


def test_a_study_with_checks_is_verified_with_checks(sound):
    folder, choices = sound
    outcome = search(choices.brief, folder)
    save(outcome, folder, folder / "study")
    study = open_study(folder / "study")
    assert outcome.summary["complete"]
    assert study.ruled_out and set(outcome.summary["ruled_out"]) <= {"moisture", "strength", "fill"}
    demands = Demands.of(study.brief)
    for row in study.rows:
        assert judge(study.buildup(row["id"]), study.pricing, demands).verdicts.failed == []
    assert verify(folder / "study", draws=3_000).missed == []
