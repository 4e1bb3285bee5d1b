"""What the second opinion tries: every wall of a small space, every change of two choices, and sound draws."""

from itertools import combinations

import numpy as np
import pytest
import toy_space as small

from optimiser.space.buildable import buildable, canonical, space_size
from optimiser.verification.candidates import Once, anywhere, changes, every, nearby
from optimiser.verification.missed import unbeaten, unmatched

SPACES = {
    "toy": {},
    "a gap that must be": {"gap": {"min_mm": 20, "max_mm": 60, "step_mm": 20}},
    "boards on both sides of the gap": {
        "gap": {"min_mm": 0, "max_mm": 40, "step_mm": 20},
        "slots": small.SMALL["slots"] | {"inner gap board": {"allow": ["none", "o-9"]}},
    },
    "one batt alone": {"slots": small.SMALL["slots"] | {"fill": {"allow": ["hemp-batt"]}}},
}


@pytest.fixture(scope="module", params=SPACES)
def whole(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("space")
    return small.listed(small.brief_in(folder, **SPACES[request.param]), folder)


def test_a_space_is_listed_wall_by_wall(whole):
    """The same rows as by going through every combination of indices, each once."""
    x = np.concatenate(list(every(whole.choices)))
    assert len(x) == space_size(whole.choices)
    assert np.unique(x, axis=0).tolist() == np.unique(whole.x, axis=0).tolist()


def test_every_change_of_two_choices_is_tried(whole):
    rng = np.random.default_rng(3)
    walls = whole.x[rng.integers(0, len(whole.x), 3)]
    tried = {tuple(row) for chunk in changes(whole.choices, walls) for row in chunk.tolist()}
    sizes, expected = whole.choices.sizes, set()
    for wall in walls:
        for one, other in combinations(range(len(sizes)), 2):
            for first in range(sizes[one]):
                x = np.repeat(wall[None], sizes[other], axis=0)
                x[:, one], x[:, other] = first, np.arange(sizes[other])
                x = canonical(whole.choices, x)
                expected |= {tuple(row) for row in x[buildable(whole.choices, x)].tolist()}
    assert tried == expected


def test_draws_are_walls_that_can_be_built(whole):
    rng = np.random.default_rng(5)
    for x in (anywhere(whole.choices, rng, 4000), nearby(whole.choices, whole.x[:5], rng, 4000)):
        assert len(x) > 400
        assert buildable(whole.choices, x).all()


def test_a_row_comes_through_once(whole):
    once = Once(whole.choices, np.random.default_rng(1))
    first = once.fresh(np.concatenate([whole.x[:50], whole.x[:50]]))
    assert sorted(map(tuple, first.tolist())) == sorted(map(tuple, whole.x[:50].tolist()))
    second = once.fresh(whole.x[40:60])
    assert sorted(map(tuple, second.tolist())) == sorted(map(tuple, whole.x[50:60].tolist()))
    assert len(once.fresh(whole.x[:60])) == 0


def test_what_a_front_does_not_match_is_what_none_of_its_rows_equals_or_beats():
    rng = np.random.default_rng(2)
    steps, front = rng.integers(0, 30, (3000, 3)), rng.integers(0, 20, (12, 3))
    expected = [at for at, row in enumerate(steps) if not (front <= row).all(axis=1).any()]
    assert sorted(unmatched(steps, front)) == expected
    assert 0 < len(expected) < len(steps)
    assert sorted(unmatched(steps, front[:0])) == list(range(len(steps)))
    assert sorted(map(tuple, steps[unbeaten(steps, 10_000)].tolist())) == sorted(
        map(tuple, small.best_of(steps).tolist())
    )
    assert unbeaten(steps, 3) == unbeaten(steps, 10_000)[:3]
