"""Laws of the stud check that hold for any wall (exact: they follow from the formulas)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.strength.classes import timber
from optimiser.strength.loads import WallLoads
from optimiser.strength.national_parameters import CAUTION, DURATIONS, RECOMMENDED, Settings
from optimiser.strength.stud import DEFLECTION, STRENGTH_CHECKS, Stud, check

many = settings(max_examples=150, deadline=None)
SLACK = 1 + 1e-9  # rounding

# Sizes as they are built: studs stand clear of each other by more than twice their plate's thickness.
WALL = {
    "depth": st.floats(0.06, 0.36),
    "width": st.floats(0.03, 0.15),
    "spacing": st.floats(0.3, 1.0),
    "length": st.floats(1.5, 4.5),
    "grade": st.sampled_from(["C16", "C18", "C24"]),
    "service_class": st.sampled_from([1, 2, 3]),
    "restrained": st.booleans(),
    "rows": st.integers(0, 3),
    "end_distance": st.sampled_from([0.0, 0.01, 0.1, np.inf]),
}
load = st.one_of(st.just(0.0), st.floats(1.0, 60e3))
LOADS = {"permanent": load, "imposed": load, "snow": load, "wind": st.one_of(st.just(0.0), st.floats(1.0, 3e3))}
walls = st.fixed_dictionaries(WALL | LOADS)
choices = st.builds(
    Settings,
    psi0_imposed=st.floats(0, 1),
    psi0_snow=st.floats(0, 1),
    psi0_wind=st.floats(0, 1),
    duration_imposed=st.sampled_from(DURATIONS),
    duration_snow=st.sampled_from(DURATIONS),
    duration_wind=st.sampled_from(DURATIONS),
    k_sys=st.floats(1.0, 1.1),
)


def found(rows: list[dict], chosen: Settings = RECOMMENDED):
    """The check of walls drawn as dictionaries."""
    columns = {key: np.array([row[key] for row in rows]) for key in rows[0]}
    names, noggings = columns.pop("grade").tolist(), columns.pop("rows")
    loads = WallLoads(**{key: columns.pop(key) for key in LOADS})
    along = columns["length"] / (noggings + 1)
    return check(Stud(**columns, timber=timber(names), length_along=along), loads, chosen)


@many
@given(walls, choices, st.sampled_from(sorted(LOADS)), st.floats(0, 20e3))
def test_more_load_never_lowers_utilisation(wall, chosen, action, more):
    more = more / 10 if action == "wind" else more
    before, after = found([wall, wall | {action: wall[action] + more}], chosen).largest
    assert after * SLACK >= before


@many
@given(walls, st.sampled_from(["depth", "width"]), st.floats(1.0, 2.0))
def test_a_deeper_or_wider_stud_never_raises_it(wall, side, factor):
    wall = wall | {"width": min(wall["width"], 0.1)}
    before, after = found([wall, wall | {side: wall[side] * factor}]).largest
    assert after <= before * SLACK


@many
@given(walls, st.floats(0.3, 1.0))
def test_closer_spacing_never_raises_it(wall, factor):
    closer = max(wall["spacing"] * factor, 0.3)
    before, after = found([wall, wall | {"spacing": closer}]).largest
    assert after <= before * SLACK


@many
@given(walls, st.floats(1.0, 1.5))
def test_a_longer_stud_is_never_stronger(wall, factor):
    before, after = found([wall, wall | {"length": wall["length"] * factor}]).largest
    assert after * SLACK >= before


@many
@given(walls)
def test_a_better_class_or_a_drier_place_never_raises_it(wall):
    graded = [wall | {"grade": each} for each in ("C16", "C18", "C24")]
    dry = [wall | {"service_class": each} for each in (3, 2, 1)]
    for rows in (graded, dry):
        worst = found(rows).largest
        assert (np.diff(worst) <= 1e-9 * worst[0]).all()


@many
@given(walls)
def test_sheathing_never_raises_it(wall):
    free, held = found([wall | {"restrained": each} for each in (False, True)]).largest
    assert held <= free * SLACK


@many
@given(walls, choices)
def test_a_shorter_duration_never_raises_it(wall, chosen):
    """The same actions, every variable one in the next shorter class."""
    shorter = {
        key: DURATIONS[min(DURATIONS.index(getattr(chosen, key)) + 1, len(DURATIONS) - 1)]
        for key in ("duration_imposed", "duration_snow", "duration_wind")
    }
    before = found([wall], chosen).largest[0]
    after = found([wall], Settings(**(vars(chosen) | shorter))).largest[0]
    assert after <= before * SLACK


@many
@given(st.lists(walls, min_size=1, max_size=5), choices)
def test_a_batch_is_its_walls_one_by_one(rows, chosen):
    together = found(rows, chosen)
    for number, wall in enumerate(rows):
        alone = found([wall], chosen)
        assert np.array_equal(together.utilisation[number], alone.utilisation[0])
        assert np.array_equal(together.applies[number], alone.applies[0])
        assert together.governing[number] == alone.governing[0]
        assert (together.k_c_y[number], together.k_c_z[number]) == (alone.k_c_y[0], alone.k_c_z[0])


@many
@given(walls, choices)
def test_the_governing_case_is_the_largest_of_the_cases_shown(wall, chosen):
    result = found([wall], chosen)
    shown = result.of()
    case = result.cases[result.governing[0]]
    assert case in [each for each, _ in shown]
    assert dict(shown)[case] == result.largest[0] == max(value for _, value in shown)
    assert result.governing_words() == case.words
    assert bool(result.passes[0]) == (result.largest[0] <= 1)


@many
@given(walls, choices)
def test_every_utilisation_is_a_number_and_every_factor_a_share(wall, chosen):
    result = found([wall], chosen)
    assert np.isfinite(result.utilisation).all() and (result.utilisation >= 0).all()
    assert (result.utilisation[~result.applies] == 0).all()
    for factor in (result.k_c_y, result.k_c_z, result.k_crit):
        assert 0 < factor[0] <= 1 + 1e-12


def test_an_unloaded_stud_is_not_used():
    wall = Stud(0.145, 0.045, 0.6, 2.7, timber(["C24"]))
    result = check(wall, WallLoads())
    assert result.largest[0] == 0 and result.passes[0]
    assert result.governing_words() == "buckling through the wall (6.23) under permanent alone"
    assert {case.combination for case, _ in result.of()} == {"permanent alone"}


def test_a_wall_without_wind_shows_no_case_of_wind():
    result = check(Stud(0.145, 0.045, 0.6, 2.7, timber(["C24"]), restrained=False), WallLoads(10e3, 4e3, 6e3))
    assert not [case for case, _ in result.of() if "wind" in case.combination]
    assert {case.check for case, _ in result.of()} == {STRENGTH_CHECKS[0], STRENGTH_CHECKS[1], STRENGTH_CHECKS[3]}


def test_a_free_stud_in_the_wind_shows_every_check():
    result = check(Stud(0.145, 0.045, 0.6, 2.7, timber(["C24"]), restrained=False), WallLoads(10e3, wind=800.0))
    assert {case.check for case, _ in result.of()} == {*STRENGTH_CHECKS, DEFLECTION}


@pytest.mark.parametrize("change", [{"depth": 0.0}, {"length": -1.0}, {"spacing": np.nan}, {"end_distance": -0.01}])
def test_impossible_studs_are_refused(change):
    sizes = {"depth": 0.145, "width": 0.045, "spacing": 0.6, "length": 2.7} | change
    with pytest.raises(ValueError, match="must"):
        check(Stud(**sizes, timber=timber(["C24"])), WallLoads(10e3))


def test_the_caution_says_what_is_not_checked():
    for word in ("Preliminary", "licensed engineer", "Racking", "uplift", "lintels", "connections", "fire", "local"):
        assert word in CAUTION
