"""Loads on the wall: from the house, per stud, and the settings behind the combinations."""

import numpy as np
import pytest

from optimiser.strength.loads import WallLoads, carried, combinations, stud_loads
from optimiser.strength.national_parameters import DURATIONS, Settings, k_mod


def test_a_wall_of_two_storeys_by_hand():
    """Exact: one floor of 5 m, a roof of 8 m with 0.5 m of eaves, two storeys of 2.75 m of wall."""
    found = carried(
        storeys=2,
        storey_height=2.75,
        floor_span=5.0,
        floor_permanent=800.0,
        floor_imposed=2000.0,
        roof_span=8.0,
        eaves=0.5,
        roof_permanent=900.0,
        snow=1200.0,
        wall_permanent=500.0,
        wind=700.0,
    )
    assert found.permanent == pytest.approx(2.5 * 800 + 4.5 * 900 + 2 * 2.75 * 500)
    assert found.imposed == pytest.approx(2.5 * 2000)
    assert found.snow == pytest.approx(4.5 * 1200)
    assert found.wind == 700


def test_half_of_the_span_on_either_side():
    one = carried(storeys=2, storey_height=2.7, floor_span=4.0, floor_imposed=2000.0)
    two = carried(storeys=2, storey_height=2.7, floor_span=4.0, floor_span_beyond=6.0, floor_imposed=2000.0)
    assert (one.imposed, two.imposed) == (4000, 10000)


def test_the_only_storey_carries_no_floor():
    found = carried(storeys=[1, 3], storey_height=2.7, floor_span=4.0, floor_imposed=2000.0, roof_imposed=400.0)
    assert found.imposed == pytest.approx([0, 8000])


def test_imposed_load_of_the_roof_counts_as_imposed():
    found = carried(storeys=1, storey_height=2.7, roof_span=8.0, roof_imposed=400.0, roof_span_beyond=2.0)
    assert found.imposed == pytest.approx(5 * 400)


@pytest.mark.parametrize("change", [{"storeys": 0}, {"floor_span": -1.0}, {"eaves": np.nan}])
def test_impossible_houses_are_refused(change):
    with pytest.raises(ValueError, match="expected at least one storey"):
        carried(**({"storeys": 1, "storey_height": 2.7} | change))


@pytest.mark.parametrize("name", ["permanent", "imposed", "snow", "wind"])
def test_uplift_and_nonsense_are_refused(name):
    for value in (-1.0, np.nan, np.inf):
        with pytest.raises(ValueError, match=f"{name} load"):
            WallLoads(**{name: [1.0, value]})


def test_what_a_stud_gets():
    """Exact: line loads and pressure times the spacing, times the factors."""
    found = combinations()
    got = stud_loads(WallLoads(10e3, 4e3, 6e3, 800.0), [0.6, 0.4], found)
    column = [each.name for each in found].index("permanent + wind + 0.7 imposed + 0.5 snow")
    line = 1.35 * 10e3 + 1.05 * 4e3 + 0.75 * 6e3
    assert got.axial[:, column] == pytest.approx([0.6 * line, 0.4 * line])
    assert got.wind[:, column] == pytest.approx([1.5 * 0.6 * 800, 1.5 * 0.4 * 800])
    assert got.wind_characteristic == pytest.approx([480, 320])
    assert got.present.all()


def test_a_combination_is_present_where_all_its_actions_act():
    found = combinations()
    got = stud_loads(WallLoads(10e3, snow=[0.0, 5e3]), 0.6, found)
    names = [[each.name for each, there in zip(found, row, strict=True) if there] for row in got.present]
    assert names == [["permanent alone"], ["permanent alone", "permanent + snow"]]


def test_an_action_that_never_accompanies_makes_no_combination():
    names = [each.name for each in combinations(Settings(psi0_wind=0.0))]
    assert "permanent + imposed + 0 wind" not in names
    assert not [name for name in names if " 0 " in name]
    assert "permanent + wind + 0.7 imposed" in names


def test_settings_reach_the_combinations():
    settings = Settings(gamma_g=1.2, gamma_q=1.6, psi0_snow=0.7, duration_snow="medium", duration_wind="instantaneous")
    found = {each.name: each for each in combinations(settings)}
    each = found["permanent + imposed + 0.7 snow"]
    assert (each.permanent, each.imposed, each.duration) == (1.2, 1.6, "medium")
    assert each.snow == pytest.approx(1.12)
    assert found["permanent + wind"].duration == "instantaneous"


@pytest.mark.parametrize(
    "change", [{"gamma_m": 0}, {"psi0_snow": 1.2}, {"duration_wind": "brief"}, {"deflection_limit": -300}]
)
def test_impossible_settings_are_refused(change):
    with pytest.raises(ValueError, match=next(iter(change))):
        Settings(**change)


@pytest.mark.parametrize("service_class", [1, 2, 3])
def test_the_shorter_the_load_the_stronger_the_timber(service_class):
    factors = [k_mod([service_class], each)[0] for each in DURATIONS]
    assert factors == sorted(factors) and len(set(factors)) == len(factors)


def test_wet_timber_is_never_stronger():
    for each in DURATIONS:
        dry, sheltered, wet = k_mod([1, 2, 3], each)
        assert dry >= sheltered >= wet


def test_an_unknown_service_class_is_refused():
    with pytest.raises(ValueError, match="service class"):
        k_mod([2, 4], "medium")
