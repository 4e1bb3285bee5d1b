"""Carbon of the heat that a wall loses: reckoned by hand (exact), and its laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from materials.errors import InputError
from materials.factors import load_factors
from optimiser.score.operation import degree_hours, operational_per_u, per_kwh_heat, weighted_years
from optimiser.score.settings import HeatSource, Operation, Vehicle
from optimiser.wall.buildup import Conditions

HALF = Conditions(indoor_temperature_c=20, outdoor_temperature_c=(0, 0, 0, 0, 0, 0, 18, 18, 18, 18, 18, 18))
temperatures = st.lists(st.floats(-20, 30), min_size=12, max_size=12).map(tuple)


def test_degree_hours_by_hand():
    """January to June at 0 C is 181 days: 20 K x 181 x 24 h = 86.88 K kh; 18 C is not heated at a base of 15 C."""
    assert degree_hours(HALF, Operation()) == pytest.approx(86.88, rel=1e-12)
    assert degree_hours(HALF, Operation(base_temperature_c=19)) == pytest.approx(86.88 + 2 * 184 * 0.024, rel=1e-12)
    assert degree_hours(HALF, Operation(degree_hours_kkh=70)) == 70


def test_rooms_may_have_a_temperature_by_month():
    rooms = HALF.model_copy(update={"indoor_temperature_c": (22,) + (20,) * 11})
    assert degree_hours(rooms, Operation()) == pytest.approx(86.88 + 2 * 31 * 0.024, rel=1e-12)


def test_a_house_cooler_than_outside_gains_no_credit():
    cool = HALF.model_copy(update={"indoor_temperature_c": 12})
    assert degree_hours(cool, Operation(base_temperature_c=25)) == pytest.approx(12 * 181 * 0.024, rel=1e-12)


def test_operational_carbon_by_hand():
    """80 K kh a year, 0.3 kg per kWh at 3 kWh heat per kWh, 50 years: 80 x 0.1 x 50 = 400 kg/m2 per W/m2K."""
    operation = Operation(degree_hours_kkh=80, kgco2e_kwh=0.3, efficiency=3)
    assert operational_per_u(Conditions(), operation, 50) == pytest.approx(400, rel=1e-12)
    assert operational_per_u(Conditions(), None, 50) == 0.0


def test_a_source_of_the_brief_s_own_keeps_the_usual_efficiency():
    usual = load_factors().heat_sources["gas"]
    assert per_kwh_heat(Operation(heat_source="gas")) == usual.kgco2e_kwh / usual.efficiency
    assert per_kwh_heat(Operation(heat_source="gas", kgco2e_kwh=0.1)) == 0.1 / usual.efficiency
    assert per_kwh_heat(Operation(heat_source="gas", efficiency=0.5)) == usual.kgco2e_kwh / 0.5


def test_cleaner_every_year():
    """1 + 0.9 + 0.81 = 2.71; half of a fourth year adds 0.729 / 2."""
    operation = Operation(yearly_change=-0.1)
    assert weighted_years(operation, 3) == pytest.approx(2.71, rel=1e-12)
    assert weighted_years(operation, 3.5) == pytest.approx(2.71 + 0.3645, rel=1e-12)
    assert weighted_years(Operation(), 37.5) == 37.5


@given(st.floats(0.5, 200), st.floats(-0.5, 0.1).filter(lambda each: abs(each) > 1e-3))
def test_the_sum_of_years_is_the_geometric_one(years, change):
    whole, factor = math.floor(years), 1 + change
    expected = (1 - factor**whole) / (1 - factor) + (years - whole) * factor**whole
    assert weighted_years(Operation(yearly_change=change), years) == pytest.approx(expected, rel=1e-9)


@given(st.floats(1, 200), st.floats(0.01, 100), st.sampled_from(list(load_factors().heat_sources)))
def test_more_degree_hours_are_more_carbon(kkh, more, source):
    few, many = (
        operational_per_u(Conditions(), Operation(heat_source=source, degree_hours_kkh=each), 50)
        for each in (kkh, kkh + more)
    )
    assert many > few > 0


@given(st.floats(0.5, 9), st.floats(-0.1, 0.1), st.floats(1, 100))
def test_twice_the_heat_per_kwh_is_half_the_carbon(efficiency, change, years):
    once, twice = (
        operational_per_u(HALF, Operation(efficiency=each, yearly_change=change), years)
        for each in (efficiency, 2 * efficiency)
    )
    assert twice == pytest.approx(once / 2, rel=1e-12)


@given(temperatures, st.integers(0, 11), st.floats(0.1, 10))
def test_a_colder_month_never_needs_less_heat(outdoor, month, colder):
    cold = tuple(each - (colder if number == month else 0) for number, each in enumerate(outdoor))
    mild, harsh = (degree_hours(Conditions(outdoor_temperature_c=each), Operation()) for each in (outdoor, cold))
    assert harsh >= mild >= 0


def test_a_climate_is_needed():
    with pytest.raises(InputError, match=r"operation: .*outdoor_temperature_c.*degree_hours_kkh"):
        operational_per_u(Conditions(), Operation(), 50)


@pytest.mark.parametrize(
    "given_",
    [{"heat_source": "coal"}, {"efficiency": 0}, {"kgco2e_kwh": -1}, {"yearly_change": -1}, {"degree_hours_kkh": 0}],
)
def test_a_heat_source_that_makes_no_sense_is_refused(given_):
    with pytest.raises(ValidationError):
        Operation(**given_)


def test_every_source_and_vehicle_a_brief_may_name_is_known():
    factors = load_factors()
    assert set(HeatSource.__args__) == set(factors.heat_sources)
    assert set(Vehicle.__args__) == set(factors.vehicles)
