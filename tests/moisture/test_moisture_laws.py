"""Laws of the monthly method that hold for any wall (exact: they follow from the equations)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from plain_account import batch, climates, layers, wall

from optimiser.moisture import humid_air, monthly
from optimiser.moisture.diffusion import construction, grid
from optimiser.moisture.monthly import climate, condensation
from optimiser.moisture.reserve import drying_reserve

many = settings(max_examples=60, deadline=None)
MEMBRANES = st.sampled_from([0.02, 0.1, 0.3, 0.5, 1.0, 2.0, 5.0, 20.0, 100.0])


def same(one: monthly.Monthly, two: monthly.Monthly, **tolerance) -> None:
    """Totals by month of two calculations, in which places may be numbered differently."""
    np.testing.assert_array_equal(one.start, two.start)
    np.testing.assert_allclose(one.monthly.sum(axis=1), two.monthly.sum(axis=1), **tolerance)
    np.testing.assert_allclose(one.left_total, two.left_total, **tolerance)


@many
@given(
    st.integers(20, 300),
    st.sampled_from([0.02, 0.2, 1.0, 3.0, 10.0]),
    st.tuples(MEMBRANES, MEMBRANES).map(sorted),
    climates(warmest=17),
)
def test_a_tighter_membrane_inside_never_lets_more_condense(depth, outside, membranes, weather):
    """Fixed sd, outside colder in every month, one wet plane: in no month does more condense."""
    several = [([0.1154, depth / 39, 0.0, 0.05], [outside, depth / 500, sd, 0.125]) for sd in membranes]
    loose, tight = (condensation(wall(*each), weather).monthly[0] for each in several)
    for amounts in (loose, tight):
        assume(not amounts[[0, *range(2, 7)]].any())
    assert (np.maximum(tight[1], 0) <= np.maximum(loose[1], 0) * (1 + 1e-9) + 1e-6).all()


@many
@given(
    st.floats(0.1, 12.0),
    st.floats(0.05, 50.0),
    st.lists(st.integers(-20, 20), min_size=12, max_size=12),
    st.integers(30, 100),
)
def test_one_material_and_equal_vapour_pressure_stay_dry(resistance, sd, outdoors, rh):
    weather = climate(outdoors, np.full(12, rh / 100), 20.0, humid_air.pressure_at_humidity(outdoors, rh / 100))
    found = condensation(wall([resistance], [sd]), weather)
    assert not found.wet[0]
    assert not found.monthly.any()


@many
@given(st.lists(layers(), min_size=2, max_size=6), climates(), st.sampled_from([1, 2, 1024]))
def test_many_walls_at_once_equal_one_by_one(several, weather, chunk):
    """One wall is a batch of one, with its own subdivision; where a batch is cut into chunks changes nothing."""
    together = batch(several)
    size, monthly.CHUNK = monthly.CHUNK, chunk
    try:
        found = condensation(together, weather)
    finally:
        monthly.CHUNK = size
    reserve = drying_reserve(together)
    for row in range(len(several)):
        alone = condensation(together.rows(slice(row, row + 1)), weather)
        for key, value in vars(found).items():
            np.testing.assert_allclose(value[row], getattr(alone, key)[0], rtol=1e-12, atol=1e-9)
        dries = drying_reserve(together.rows(slice(row, row + 1)))
        for key, value in vars(reserve).items():
            assert value[row] == pytest.approx(getattr(dries, key)[0], rel=1e-12)


@many
@given(layers(), climates(), st.data())
def test_an_empty_layer_changes_nothing(one, weather, data):
    place = data.draw(st.integers(0, len(one[0])))
    more = [[*each[:place], 0.0, *each[place:]] for each in one]
    same(condensation(wall(*one), weather), condensation(wall(*more), weather), rtol=1e-12, atol=1e-9)
    assert drying_reserve(wall(*more)).reserve == pytest.approx(drying_reserve(wall(*one)).reserve, rel=1e-12)


@many
@given(layers(), climates(), st.integers(2, 4))
def test_cutting_layers_changes_nothing_where_water_lies_between_layers(one, weather, parts):
    """Within a layer the planes are the method's own choice (R of 0.25 at most); the zone below tests those."""
    whole = wall(*one)
    cut = condensation(whole.split(parts), weather)
    planes = [place for place in range(cut.monthly.shape[1]) if (place + 1) % (2 * parts)]
    assume(not cut.monthly[0, planes].any())
    found = condensation(whole, weather)
    assume(not found.monthly[0, ::2].any())
    same(found, cut, rtol=1e-9, atol=1e-6)


def test_a_wet_zone_within_the_fill_does_not_depend_on_how_it_is_cut():
    """300 mm of loose fill, open inside, in hard winter: peak and drying agree within 1 % however fine the parts."""
    outdoors = 4 - 19 * np.cos(np.arange(12) * np.pi / 6)
    weather = climate(outdoors, np.full(12, 0.8), 20.0, humid_air.pressure_at_humidity(20.0, 0.6))
    whole = wall([0.12, 0.3 / 0.039, 0.05], [0.5, 0.6, 0.1])
    coarse = condensation(whole, weather)
    assert coarse.monthly[0, 2].any()  # within the fill
    for parts in (2, 3, 8):
        fine = condensation(whole.split(parts), weather)
        assert fine.peak_total == pytest.approx(coarse.peak_total, rel=0.01)
        months = fine.monthly.sum(axis=1) - coarse.monthly.sum(axis=1)
        assert np.abs(months).max() <= 0.01 * coarse.peak_total[0]


@many
@given(layers(), climates())
def test_the_account_balances(one, weather):
    """The water on hand is the sum of its months; it is never less than nothing; the year's end is what is left."""
    found = condensation(wall(*one), weather)
    if not found.wet[0]:
        assert not found.accumulated.any() and not found.left.any()
        return
    start = found.start[0]
    in_order = [np.roll(each[0], -start, axis=1) for each in (found.monthly, found.accumulated)]
    np.testing.assert_allclose(np.cumsum(in_order[0], axis=1), in_order[1], rtol=1e-9, atol=1e-6)
    assert (found.accumulated >= 0).all()
    np.testing.assert_array_equal(found.left[0], in_order[1][:, -1])
    assert (in_order[0][:, 0] >= 0).all() and in_order[0][:, 0].any()  # it begins with condensation


@many
@given(layers(least=2), climates())
def test_vapour_pressure_never_exceeds_saturation_inside(one, weather):
    found = condensation(wall(*one), weather)
    assert (found.humidity <= 1 + 1e-6).all()
    wet = found.monthly[0, 1::2] > 0  # the interfaces in which vapour condensed this month
    assert found.humidity[0, 1:-1][wet] == pytest.approx(1.0, abs=1e-6)


@many
@given(layers(), climates(), st.floats(0.02, 1.0))
def test_a_membrane_of_one_value_is_a_layer_of_fixed_sd(one, weather, sd):
    """Two equal values stand for one; and between two values sd stays between them."""
    resistance, given_sd = [*one[0], 0.0, 0.05], [*one[1], sd, 0.1]
    fixed = wall(resistance, given_sd)
    doubled = construction([resistance], [given_sd], [given_sd])
    same(condensation(fixed, weather), condensation(doubled, weather), rtol=1e-12)


@many
@given(layers(), climates(), st.floats(2.0, 20.0), st.floats(0.05, 1.0))
def test_sd_that_follows_the_humidity_has_settled(one, weather, dry, humid):
    """In the month as it is found, the pressures on the membrane's two sides belong to the sd those sides ask for."""
    resistance, sd = [0.1, *one[0], 0.0, 0.05], [0.2, *one[1], dry, 0.1]
    follows = construction([resistance], [sd], [[*sd[:-2], humid, sd[-1]]])
    found = condensation(follows, weather)
    membrane = len(sd) - 2
    humidity = found.humidity[0, membrane : membrane + 2].mean(axis=0)
    share = np.clip((humidity - 0.25) / (0.715 - 0.25), 0, 1)
    asked = dry * (humid / dry) ** share
    pressure = found.pressure[0]
    across = pressure[membrane + 1] - pressure[membrane]
    lining = (pressure[membrane + 2] - pressure[membrane + 1]) / 0.1  # the same flow, unless the plane between is wet
    flowing = (np.abs(across) > 1) & ~(found.humidity[0, membrane + 1] > 1 - 1e-6)
    assert (across / lining)[flowing] == pytest.approx(asked[flowing], rel=2e-3)


def test_the_account_begins_after_the_longest_dry_spell():
    """Wet in July, and from November to January: five months are dry before July, three before November. Wet from
    January to March: January. Never dry: January too."""
    wet = np.zeros((3, 12), bool)
    wet[0, [6, 10, 11, 0]] = True
    wet[1, [0, 1, 2]] = True
    wet[2] = True
    assert monthly._starts(wet).tolist() == [6, 0, 0]


def test_what_cannot_be_calculated_is_refused():
    with pytest.raises(ValueError, match="needs sd above 0"):
        construction([[0.1, 2.0]], [[1.0, 0.0]])
    with pytest.raises(ValueError, match="differ in shape"):
        construction([[0.1, 2.0]], [[1.0]])
    with pytest.raises(ValueError, match="0 or more"):
        construction([[0.1, float("nan")]], [[1.0, 1.0]])
    with pytest.raises(ValueError, match="at least one layer"):
        construction([[0.0]], [[0.0]])


def test_thick_layers_are_subdivided():
    """R 7.69 in 31 parts of at most 0.25 m2K/W, a membrane and a board of 0.25 in one (ISO 13788)."""
    planes = grid(construction([[0.25, 0.3 / 0.039, 0.0]], [[1.0, 0.6, 2.0]]))
    assert np.diff(planes.boundary).tolist() == [1, 31, 1]
    assert planes.usable[0].sum() == 32
