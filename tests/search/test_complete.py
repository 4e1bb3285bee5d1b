"""The complete search against plain enumeration: the same walls, ties and counts, on hundreds of random catalogues."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from random_spaces import listed, spaces

from optimiser.search import front
from optimiser.search.complete import Complete, Judgement

RANDOM = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))


def found(search: Complete) -> tuple[np.ndarray, list, list]:
    for _ in search.run():
        pass
    x, steps, counts = front.distinct(search.x, search.steps)
    return steps, [tuple(row) for row in x.tolist()], counts.tolist()


def assert_same(search: Complete, truth) -> None:
    steps, rows, counts = found(search)
    assert steps.tolist() == truth.steps.tolist()
    assert rows == truth.rows
    assert counts == truth.counts
    assert search.tally.settled == search.size == truth.size


@RANDOM
@given(spaces())
def test_the_front_equals_plain_enumeration(choices):
    target = choices.brief.target.u_value
    assert_same(Complete(choices, target), listed(choices, target))
