"""What a front loses against another: cases worked by hand, and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from toy_space import best_of, volume

from optimiser.market.losses import Losses, losses

KEYS = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")
SCALE = np.array([100.0, 10_000.0, 10_000.0])


def steps(*walls):
    return np.rint(np.array(walls) * SCALE).astype(np.int64)


def test_three_walls_by_hand():
    """Thickness, cost, carbon. At 300 mm the cheapest costs 90, at 320 mm 80; then 95 and 84."""
    full = steps((300, 90, 20), (320, 80, 22), (310, 92, 15))
    left = steps((300, 95, 20), (325, 84, 21), (310, 92, 15))
    told = losses(KEYS, full, left, SCALE)
    assert (told.walls, told.stay) == (3, 1)
    cost = told.same_thickness["cost_per_m2"]
    # at 300: 95 instead of 90. At 320: the cheapest no thicker is now 92, instead of 80.
    assert (cost.median, cost.worst) == (pytest.approx(8.5), pytest.approx(12.0))
    assert (cost.unreached, cost.asked) == (0, 2)
    like = told.like_for_like["cost_per_m2"]
    # (300, ., 20): 95 - 90. (320, ., 22): of 95 and 92 the cheaper, 92 - 80. (310, ., 15): 0.
    assert (like.median, like.worst, like.unreached) == (pytest.approx(5.0), pytest.approx(12.0), 0)
    thin = told.like_for_like["thickness_mm"]
    # no wall left costs 90 or less with at most 20; none 80 or less at all; the third stays.
    assert (thin.median, thin.worst, thin.unreached, thin.asked) == (0.0, 0.0, 2, 3)
    assert told.best == {"thickness_mm": 0.0, "cost_per_m2": pytest.approx(4.0), "carbon_kgco2e_m2": 0.0}


def test_nothing_left_and_nothing_lost():
    full = steps((300, 90, 20), (320, 80, 22))
    none = losses(KEYS, full, full[:0], SCALE)
    assert (none.walls, none.stay, none.volume, none.best) == (0, 0, 0.0, {})
    same = losses(KEYS, full, full, SCALE)
    assert (same.stay, same.volume) == (2, 1.0)
    assert set(same.best.values()) == {0.0}
    assert all(each.worst == 0 for each in (*same.same_thickness.values(), *same.like_for_like.values()))
    assert Losses.from_json(same.as_json()) == same


def test_without_thickness_among_the_objectives_nothing_is_asked_at_a_thickness():
    full = steps((300, 90, 20))[:, 1:]
    told = losses(KEYS[1:], full, full, SCALE[1:])
    assert told.same_thickness == {} and set(told.like_for_like) == set(KEYS[1:])


FRONTS = arrays(np.int64, st.tuples(st.integers(1, 12), st.just(3)), elements=st.integers(0, 30))


@given(FRONTS, st.integers(0, 2**12 - 1))
def test_leaving_walls_out_never_gains_anything(walls, chosen):
    full = best_of(walls)
    left = np.array([row for number, row in enumerate(walls) if chosen >> number & 1]).reshape(-1, 3)
    other = best_of(left) if len(left) else left
    told = losses(KEYS, full, other, SCALE)
    assert 0 <= told.stay <= min(len(full), len(other))
    assert 0 <= told.volume <= 1 + 1e-12
    assert all(value >= 0 for value in told.best.values())
    for each in (*told.same_thickness.values(), *told.like_for_like.values()):
        assert 0 <= each.unreached <= each.asked
        assert (each.median is None) == (each.unreached == each.asked)
        assert each.median is None or 0 <= each.median <= each.worst


@given(FRONTS, FRONTS)
def test_the_volume_is_that_counted_cell_by_cell(one, other):
    full, left = best_of(one), best_of(other)
    low = np.minimum(full.min(axis=0), left.min(axis=0))
    reach = full.max(axis=0) - low + np.maximum(0.1 * (full.max(axis=0) - low), 1.0)
    shares = [volume(each - low, reach) for each in (left, full)]
    assert losses(KEYS, full, left, SCALE).volume == pytest.approx(shares[0] / shares[1], abs=1e-9)
