"""Blown fill over arrays: limits, words, batches."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.fill.practice import CAUTION, LIMITS, FillNeeds, Practice, needs

sizes = st.floats(0.0, 1.5)
walls = st.lists(st.tuples(sizes, sizes, st.floats(0.5, 9.0), sizes, st.floats(20, 80)), min_size=1, max_size=6)


@given(walls)
def test_a_batch_is_its_walls_one_by_one(rows):
    together = needs(*np.array(rows).T)
    for number, row in enumerate(rows):
        for key, value in vars(needs(*row)).items():
            assert np.array_equal(vars(together)[key][number], value[0])


@given(walls)
def test_the_chambers_make_up_the_height_and_none_is_too_high(rows):
    found = needs(*np.array(rows).T)
    assert found.chamber_height * found.chambers == pytest.approx(np.array(rows)[:, 2])
    assert (found.chamber_height <= 3 + 1e-6).all()


@given(walls, st.floats(1.0, 3.0))
def test_a_larger_or_denser_void_never_needs_less(rows, factor):
    depth, volume, height, bay, density = np.array(rows).T
    assert (needs(depth, volume * factor, height, bay, density).kg_m2 >= needs(*np.array(rows).T).kg_m2).all()
    assert (needs(depth, volume, height, bay, density * factor).bags_m2 >= needs(*np.array(rows).T).bags_m2).all()


@pytest.mark.parametrize(
    ("depth", "bay", "reason"),
    [
        (0.3, 0.555, None),
        (0.05, 0.555, None),
        (0.1 + 0.2 + 0.2, 1.0, None),
        (0.045, 0.555, LIMITS[0]),
        (0.51, 0.555, LIMITS[1]),
        (0.3, 0.04, LIMITS[2]),
        (0.3, 1.2, LIMITS[3]),
    ],
)
def test_what_can_be_filled(depth, bay, reason):
    found = needs(depth, 0.1, 2.7, bay, 56.0)
    assert (found.reason(), bool(found.passes[0])) == (reason, reason is None)


def test_the_worst_limit_is_named_and_measured():
    found = needs([0.6, 0.3], 0.1, 2.7, [1.2, 0.5], 56.0)
    assert found.excess == pytest.approx([0.2, -0.2])
    assert found.passes.tolist() == [False, True]
    assert found.reason(0) == LIMITS[3]


def test_every_limit_can_be_set():
    wide = Practice(narrowest=0.03, deepest=0.8, widest=2.0, bag_mass=10.0)
    found = needs([0.035, 0.75], [0.03, 0.6], 2.7, [0.035, 1.9], 50.0, wide)
    assert found.passes.all()
    assert found.bags_m2 == pytest.approx([0.15, 3.0])


@pytest.mark.parametrize("change", [{"bag_mass": 0}, {"narrowest": -0.1}, {"chamber_height": 7.0}, {"widest": np.nan}])
def test_impossible_practice_is_refused(change):
    with pytest.raises(ValueError, match=next(iter(change))):
        Practice(**change)


@pytest.mark.parametrize("row", [(-0.1, 0.1, 2.7, 0.5, 50), (0.3, 0.1, 0, 0.5, 50), (0.3, 0.1, 2.7, 0.5, np.nan)])
def test_impossible_voids_are_refused(row):
    with pytest.raises(ValueError, match="must"):
        needs(*row)


def test_the_caution_speaks_of_fire_dust_and_cables():
    assert all(word in CAUTION for word in ("Fire", "dust", "electrician", "local codes"))
    assert isinstance(needs(0.3, 0.2, 2.7, 0.5, 56), FillNeeds)
