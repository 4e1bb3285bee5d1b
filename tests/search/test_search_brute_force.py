"""The evolutionary front against every wall of a small space, listed and filtered without the search."""

from dataclasses import replace

import numpy as np
import pytest
import toy_space as small

from optimiser.search.evolution import Evolution
from optimiser.space.buildable import space_size

CASES = {
    "the usual three": {},
    "another seed": {"seed": {"value": 8}},
    "thickness and carbon": {"objectives": {"minimise": ["thickness_mm", "carbon_kgco2e_m2"]}},
    "cost alone": {"objectives": {"minimise": ["cost_per_m2"]}},
    "all four": {"objectives": {"minimise": ["weight_kg_m2", "carbon_kgco2e_m2", "cost_per_m2", "thickness_mm"]}},
    "tight limits": {"limits": {"max_thickness_mm": 500, "max_cost_per_m2": 105, "max_carbon_kgco2e_m2": 16}},
    "a corner": {"target": {"u_value": 0.082}, "limits": {"max_weight_kg_m2": 70}, "seed": {"value": 1}},
    "a hard target": {"target": {"u_value": 0.078}, "limits": {"max_weight_kg_m2": 72}},
}


def evolved(brief, folder) -> Evolution:
    evolution = Evolution(small.choices_of(brief, folder), brief.target.u_value)
    for _ in evolution.run():
        pass
    return evolution


@pytest.fixture(scope="module", params=CASES.values(), ids=CASES.keys())
def case(request, toy, whole):
    """A search, and the whole space as its brief sees it: limits and objectives leave the walls as they are."""
    brief = small.brief_in(toy, **request.param)
    found = evolved(brief, toy)
    return found.archive, replace(whole, choices=found.choices)


def test_the_space_listed_is_as_large_as_it_says_and_a_search_at_all(whole):
    assert len(whole.x) == space_size(whole.choices)
    assert 10_000 <= len(whole.x) <= 50_000


def test_every_wall_of_the_front_can_be_built_and_holds_target_and_limits(case):
    archive, every = case
    place = {row.tobytes(): number for number, row in enumerate(every.x)}
    holds, steps = every.holding(), every.steps()
    assert 0 < holds.sum() < len(holds), "the case filters nothing, or everything"
    assert len(archive.best_x)
    for row, score in zip(archive.best_x, archive.best_steps, strict=True):
        number = place[np.ascontiguousarray(row, np.int32).tobytes()]
        assert holds[number]
        assert score.tolist() == steps[number].tolist()


def test_no_wall_of_the_front_beats_or_equals_another(case):
    steps = case[0].best_steps
    at_least = (steps[:, None, :] <= steps[None, :, :]).all(axis=2)
    assert np.array_equal(at_least, np.eye(len(steps), dtype=bool))


def test_the_front_reaches_99_percent_of_the_true_hypervolume(case):
    archive, every = case
    true = every.front()
    reference = true.max(axis=0) * 1.1
    assert small.volume(archive.best_steps, reference) >= 0.99 * small.volume(true, reference)


def test_nothing_evaluated_that_holds_the_limits_beats_the_front(case):
    archive, _ = case
    x, scores, missed = archive.all()
    assert len(np.unique(x, axis=0)) == len(x) == len(archive), "a wall stands in the archive twice"
    holds = (missed <= 0).all(axis=1)
    evaluated = scores.steps(archive.objectives)[holds]
    assert np.array_equal(archive.best_steps, small.best_of(evaluated))


def test_equal_seeds_give_equal_fronts_and_another_seed_another_course(toy):
    changes = {"search": {"population": 40, "generations": 12}}
    one, two, other = (evolved(small.brief_in(toy, seed={"value": seed}, **changes), toy).archive for seed in (5, 5, 6))
    for first, second in zip(one.all(), two.all(), strict=True):
        first, second = (each if isinstance(each, np.ndarray) else each.u_value for each in (first, second))
        assert np.array_equal(first, second)
    assert np.array_equal(one.best_x, two.best_x)
    assert np.array_equal(one.best_steps, two.best_steps)
    assert not np.array_equal(one.all()[0][:40], other.all()[0][:40])


@pytest.mark.parametrize(
    ("budget", "generations", "reason"),
    [
        ({"population": 20, "generations": 9, "stagnation": 200}, 9, "the generations are spent"),
        ({"population": 20, "generations": 900, "stagnation": 4}, None, "the hypervolume stagnates"),
        ({"population": 20, "generations": 900, "stagnation": 900, "seconds": 1e-9}, 0, "the time is spent"),
    ],
)
def test_a_search_ends_when(toy, budget, generations, reason):
    found = evolved(small.brief_in(toy, search=budget), toy)
    if generations is None:
        assert found.stagnant == 4
        assert found.generation < 900
    else:
        assert found.generation == generations


def test_progress_only_grows(toy):
    brief = small.brief_in(toy, search={"population": 30, "generations": 25})
    seen = list(Evolution(small.choices_of(brief, toy), brief.target.u_value).run())
    assert [each.generation for each in seen] == list(range(1, len(seen) + 1))
    for key in ("evaluations", "hypervolume", "seconds"):
        values = [getattr(each, key) for each in seen]
        assert values == sorted(values), key
    thinnest = [each.best_thickness_mm for each in seen if each.best_thickness_mm is not None]
    assert thinnest == sorted(thinnest, reverse=True)
    assert seen[-1].front_size > 0
