"""The house: wall areas by orientation, floor area against a reference wall, and totals for one wall all round."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError
from written_brief import TEXT

from materials.errors import InputError, explain
from optimiser.brief.brief import parse_brief
from optimiser.house.house import Facade, House, house_totals
from optimiser.search.study import Study, area_lost

L_SHAPE = [[0, 0], [10, 0], [10, 4], [6, 4], [6, 8], [0, 8]]  # 64 m2, 36 m round
U_SHAPE = [[0, 0], [12, 0], [12, 9], [8, 9], [8, 4], [4, 4], [4, 9], [0, 9]]  # 88 m2, 52 m round; a recess of 4 m


def rectangle(**more) -> House:
    return House(length_m=10.0, width_m=8.0, **more)


def l_shape(**more) -> House:
    return House(outline=L_SHAPE, **more)


def said(**raw) -> str:
    with pytest.raises(ValidationError) as error:
        House(**raw)
    return str(explain(error.value, "house.toml"))


# Floor area


def test_floor_within_the_walls_of_a_rectangle():
    """Exact: 10 x 8 m at 0.30: 9.4 x 7.4 = 69.56 m2 on each of two storeys."""
    house = rectangle(storeys=2)
    assert float(house.floor_area(0.30)) == pytest.approx(139.12, abs=1e-12)
    assert float(house.floor_area_lost(0.30)) == pytest.approx(20.88, abs=1e-12)
    assert float(house.floor_area_lost_percent(0.30)) == pytest.approx(13.05, abs=1e-12)
    assert float(house.footprint(0.30)) == 80.0
    assert float(house.ground_taken(0.30)) == 0.0


def test_floor_against_a_reference_wall():
    """Exact: the L loses 36 t - 4 t^2; walls of 0.5 m leave 47 m2, walls of 0.3 m 53.56 m2, walls of 0.4 m 50.24 m2."""
    house = l_shape(reference_thickness_mm=400, floor_price_per_m2=3000.0)
    lost = house.floor_area_lost([0.3, 0.4, 0.5])
    assert lost == pytest.approx([-3.32, 0.0, 3.24], abs=1e-12)
    assert house.floor_area_lost_percent(0.5) == pytest.approx(100 * 3.24 / 50.24, abs=1e-12)
    assert house.floor_value_lost(0.5) == pytest.approx(9720, abs=1e-9)
    assert l_shape().floor_value_lost(0.5) is None


def test_without_a_reference_lost_and_left_make_the_whole():
    t = np.linspace(0, 2, 41)
    for house in (rectangle(storeys=3), l_shape(storeys=2), House(outline=U_SHAPE)):
        assert house.floor_area(t) + house.floor_area_lost(t) == pytest.approx(house.storeys * house.plan.area_m2)


def test_a_notch_at_a_corner_loses_what_the_rectangle_loses():
    """Cutting a corner out leaves perimeter and corners as they are."""
    t = np.linspace(0, 1, 11)
    assert np.array_equal(l_shape().floor_area_lost(t), House(length_m=10, width_m=8).floor_area_lost(t))


def test_where_walls_meet_there_is_no_floor_area():
    house = l_shape()
    assert house.largest_thickness_m == 2.0
    for of in (house.floor_area, house.floor_area_lost, house.footprint, house.wall_area, house.ground_taken):
        assert np.isfinite(of(2.0))
        assert np.isnan(of([2.001, -0.001, math.nan, math.inf])).all()


def test_rooms_are_kept_where_the_inside_is_fixed():
    """Exact: the same L grows to 64 + 36 * 0.5 + 4 * 0.25 = 83 m2 with walls of 0.5 m."""
    house = l_shape(fixed="inside", storeys=2, reference_thickness_mm=300, floor_price_per_m2=3000.0)
    assert np.array_equal(house.floor_area([0.0, 0.5, 9.0]), [128, 128, 128])
    assert np.array_equal(house.floor_area_lost([0.0, 0.5]), [0, 0])
    assert float(house.floor_value_lost(0.5)) == 0
    assert float(house.footprint(0.5)) == 83
    assert float(house.ground_taken(0.5)) == pytest.approx(83 - (64 + 36 * 0.3 + 4 * 0.09), abs=1e-12)
    assert house.largest_thickness_m == math.inf


def test_a_recess_closes_where_the_inside_is_fixed():
    house = House(outline=U_SHAPE, fixed="inside")
    assert house.largest_thickness_m == 2.0
    assert np.isnan(house.floor_area(2.1))
    with pytest.raises(InputError) as error:
        house.check_thickness(2.1)
    assert str(error.value) == (
        "walls 2100 mm thick meet across a recess: the wall from [4, 4] to [4, 9] and the wall from [8, 9] to [8, 4] "
        "leave room for 2000 mm each"
    )


def test_inside_fixed_undoes_outside_fixed():
    """The rooms of the outside-fixed house, built outward with the same wall, fill the plot again."""
    house = l_shape()
    rooms = House(outline=[[x / 1e6, y / 1e6] for x, y in house.plan.moved(-0.4).points], fixed="inside")
    assert float(rooms.floor_area(0.4)) == pytest.approx(float(house.floor_area(0.4)), abs=1e-9)
    assert float(rooms.footprint(0.4)) == pytest.approx(64, abs=1e-9)
    assert float(rooms.wall_area(0.4)) == pytest.approx(float(house.wall_area(0.4)), abs=1e-9)


# Walls


def test_walls_by_orientation():
    """By hand: on the L 10 m of wall face north and south each, 8 m east and west each; two storeys of 2.5 m."""
    openings = {"north": 4.0, "south": 21.5, "east": 0.0}
    house = l_shape(storeys=2, storey_height_m=2.5, openings_m2=openings)
    assert house.facades(0.4) == (
        Facade("north", 0.0, 50.0, 4.0),
        Facade("east", 90.0, 40.0, 0.0),
        Facade("south", 180.0, 50.0, 21.5),
        Facade("west", 270.0, 40.0, 0.0),
    )
    assert house.wall_area_m2 == pytest.approx(180 - 25.5)
    assert sum(each.gross_m2 - each.openings_m2 for each in house.facades()) == pytest.approx(house.wall_area_m2)


def test_openings_of_the_whole_house_are_of_no_side():
    house = rectangle(openings_m2=20)
    assert [each.openings_m2 for each in house.facades()] == [None] * 4
    assert house.wall_area_m2 == pytest.approx(36 * 2.7 - 20)


@pytest.mark.parametrize(
    ("north_deg", "first"),
    [
        (0, ("north", 0.0)),
        (22, ("north", 338.0)),
        (22.5, ("north", 337.5)),
        (23, ("north-west", 337.0)),
        (45, ("north-west", 315.0)),
        (90, ("west", 270.0)),
        (180, ("south", 180.0)),
        (-45, ("north-east", 45.0)),
        (-350, ("north", 350.0)),
    ],
)
def test_a_turned_plan(north_deg, first):
    """The wall on +y, 12 m long, faces so many degrees against north as north lies clockwise from +y."""
    house = House(outline=[[0, 0], [12, 0], [12, 5], [0, 5]], storey_height_m=2.0, north_deg=north_deg)
    facade = next(each for each in house.facades() if each.azimuth_deg == pytest.approx(first[1]))
    assert facade.orientation == first[0]
    assert facade.gross_m2 == 24
    assert len({each.orientation for each in house.facades()}) == 4
    assert sum(each.gross_m2 for each in house.facades()) == 68


def test_outer_faces_grow_where_the_inside_is_fixed():
    """Exact: P + 8 t round any right-angled plan; 0.5 m on both ends of either façade of the rectangle."""
    house = rectangle(fixed="inside", storey_height_m=2.5, openings_m2=10)
    assert [each.gross_m2 for each in house.facades(0.5)] == [27.5, 22.5, 27.5, 22.5]
    assert house.wall_area([0.0, 0.5]) == pytest.approx([80, 90])
    assert l_shape(fixed="inside", storey_height_m=2.5).wall_area([0.0, 0.5]) == pytest.approx([90, 100])
    assert rectangle(storey_height_m=2.5).wall_area([0.0, 0.5]) == pytest.approx([90, 90])


def test_wall_area_in_one_number_is_that_with_the_reference_wall():
    assert rectangle(fixed="inside", storey_height_m=2.5, reference_thickness_mm=250).wall_area_m2 == pytest.approx(95)
    assert rectangle(storey_height_m=2.5, reference_thickness_mm=250).wall_area_m2 == pytest.approx(90)


def test_storeys_of_their_own_heights():
    house = rectangle(storey_heights_m=[2.8, 2.5, 2.2])
    assert (house.storeys, house.height_m) == (3, 7.5)
    assert house.wall_area_m2 == pytest.approx(36 * 7.5)
    assert House(**house.model_dump(exclude_none=True, exclude_unset=True)) == house


# The whole house


def test_totals_for_one_wall_all_round():
    """By hand: 100 m2 of wall less 10 m2 of openings; 10 x 8 m at 0.30 against walls of 0.20 m, one storey."""
    house = rectangle(storey_height_m=100 / 36, openings_m2=10, reference_thickness_mm=200, floor_price_per_m2=2000)
    found = house_totals(
        house,
        300.0,
        u_value=0.1,
        cost_per_m2=250.0,
        carbon_kgco2e_m2=-12.0,
        biogenic_kgco2e_m2=-60.0,
        weight_kg_m2=55.0,
    )
    assert found.wall_area_m2 == pytest.approx(90)
    assert found.floor_area_m2 == pytest.approx(69.56)
    assert found.floor_area_lost_m2 == pytest.approx(72.96 - 69.56)
    assert found.floor_area_lost_percent == pytest.approx(100 * 3.4 / 72.96)
    assert found.floor_value_lost == pytest.approx(6800)
    assert (found.footprint_m2, found.ground_taken_m2) == (80, 0)
    assert found.heat_loss_w_k == pytest.approx(9.0)
    assert found.cost == pytest.approx(22500)
    assert found.carbon_kgco2e == pytest.approx(-1080)
    assert found.biogenic_kgco2e == pytest.approx(-5400)
    assert found.weight_kg == pytest.approx(4950)


def test_totals_of_what_is_not_known_are_not_known():
    found = house_totals(rectangle(), 300.0)
    assert found.heat_loss_w_k is None
    assert found.cost is found.carbon_kgco2e is found.biogenic_kgco2e is found.weight_kg is None
    assert found.floor_value_lost is None


def test_totals_use_the_outer_face_of_the_wall_that_stands_there():
    house = rectangle(fixed="inside", storey_height_m=2.5)
    assert house_totals(house, 500.0, u_value=0.1).heat_loss_w_k == pytest.approx(10.0)
    assert house_totals(house, 250.0, u_value=0.1).heat_loss_w_k == pytest.approx(9.5)


@pytest.mark.parametrize(
    ("thickness_mm", "words"),
    [
        (
            4100.0,
            "walls 4100 mm thick meet across the house: the wall from [0, 0] to [10, 0] and the wall from [10, 8] to "
            "[0, 8] leave room for 4000 mm each",
        ),
        (-1.0, "a wall -1 mm thick: expected a thickness of 0 or more"),
        (math.nan, "a wall nan mm thick: expected a thickness of 0 or more"),
        (math.inf, "a wall inf mm thick: expected a thickness of 0 or more"),
    ],
)
def test_no_totals_of_walls_that_do_not_fit(thickness_mm, words):
    with pytest.raises(InputError) as error:
        house_totals(rectangle(), thickness_mm)
    assert str(error.value) == words


def study_of(text: str, *thicknesses_mm: float) -> Study:
    """A study of a brief with a front of these thicknesses, as if it had been read."""
    per_m2 = {"cost_per_m2": 250.0, "carbon_kgco2e_m2": 20.0, "weight_kg_m2": 60.0, "biogenic_kgco2e_m2": -50.0}
    rows = [{"id": f"W-{at}", "thickness_mm": t, "u_value": 0.1} | per_m2 for at, t in enumerate(thicknesses_mm, 1)]
    return Study(Path("study"), parse_brief(text, "brief.toml"), rows, {})


def test_a_front_tells_what_a_wall_comes_to_for_the_house():
    """By hand: 11.4 x 5.2 m, two storeys of 2.7 m less 31 m2 of openings: 148.28 m2 of wall."""
    study = study_of(TEXT, 400.0)
    found = study.totals("W-1")
    assert found.wall_area_m2 == pytest.approx(148.28)
    assert found.heat_loss_w_k == pytest.approx(14.828)
    assert found.cost == pytest.approx(37070)
    assert found.biogenic_kgco2e == pytest.approx(-7414)
    assert found.floor_area_lost_m2 == pytest.approx(2 * (33.2 * 0.4 - 4 * 0.16))
    assert found.floor_area_lost_m2 == area_lost(study.brief, 400.0)


def test_a_brief_without_a_house_has_no_totals():
    text = TEXT.replace("[house]\nlength_m = 11.4\nwidth_m = 5.2\nstoreys = 2\nopenings_m2 = 31.0\n", "")
    study = study_of(text, 400.0)
    assert study.totals("W-1") is None
    assert area_lost(study.brief, 400.0) is None
    with pytest.raises(InputError, match='no wall "W-2"'):
        study.totals("W-2")


def test_floor_lost_is_told_against_the_reference_wall_and_not_where_walls_meet():
    brief = study_of(TEXT.replace("storeys = 2", "storeys = 2\nreference_thickness_mm = 300")).brief
    assert area_lost(brief, 300.0) == 0
    assert area_lost(brief, 250.0) == pytest.approx(2 * (33.2 * -0.05 - 4 * (0.0625 - 0.09)))
    assert area_lost(brief, 2600.0) is not None
    assert area_lost(brief, 2601.0) is None


# What a house may not be

REFUSED = {
    "no size": ({}, "house.toml: give length_m and width_m, or an outline = [[0, 0], ...] of at least 4 corners"),
    "half a size": (
        {"length_m": 10.0},
        "house.toml: give length_m and width_m, or an outline = [[0, 0], ...] of at least 4 corners",
    ),
    "two shapes": (
        {"outline": L_SHAPE, "width_m": 8.0},
        "house.toml: give outline, or length_m and width_m, not both",
    ),
    "an outline with a fault": (
        {"outline": [[0, 0], [10, 0], [10, 8], [1, 8]]},
        "house.toml: outline: point 4 [1, 8] to point 1 [0, 0] is not along x or y; every wall must be, a right-angled "
        "outline",
    ),
    "no length": (
        {"length_m": 0, "width_m": 8},
        "house.toml: length_m = 0: expected 0.1 to 200 m",
    ),
    "millimetres": (
        {"length_m": 11400, "width_m": 8},
        "house.toml: length_m = 11400: expected 0.1 to 200 m; 11400 looks like mm: did you mean 11.4?",
    ),
    "an unknown side fixed": (
        {"length_m": 10, "width_m": 8, "fixed": "middle"},
        "house.toml: fixed = 'middle': expected 'outside' or 'inside'",
    ),
    "both heights": (
        {"length_m": 10, "width_m": 8, "storey_height_m": 2.5, "storey_heights_m": [2.5]},
        "house.toml: give storey_height_m or storey_heights_m, not both",
    ),
    "heights of other storeys": (
        {"length_m": 10, "width_m": 8, "storeys": 2, "storey_heights_m": [2.5, 2.5, 2.5]},
        "house.toml: storey_heights_m has 3 heights; storeys is 2",
    ),
    "a height in millimetres": (
        {"length_m": 10, "width_m": 8, "storey_heights_m": [2.7, 2700]},
        "house.toml: storey_heights_m 2 = 2700: expected 1 to 30 m; 2700 looks like mm: did you mean 2.7?",
    ),
    "no heights": (
        {"length_m": 10, "width_m": 8, "storey_heights_m": []},
        "house.toml: storey_heights_m has 0 heights; storeys is 1",
    ),
    "a reference wall that fills the house": (
        {"length_m": 10, "width_m": 2, "reference_thickness_mm": 1000},
        "house.toml: reference_thickness_mm = 1000: such walls meet across the house: the wall from [0, 0] to [10, 0] "
        "and the wall from [10, 2] to [0, 2] leave room for 1000 mm each",
    ),
    "openings without a number": (
        {"length_m": 10, "width_m": 8, "openings_m2": "31"},
        "house.toml: openings_m2 = '31': expected m2, or m2 by side of the house, such as { north = 4.5, south = 12 }",
    ),
    "openings below nothing": (
        {"length_m": 10, "width_m": 8, "openings_m2": -1},
        "house.toml: openings_m2 = -1: expected an area of 0 or more [m2], and a finite one",
    ),
    "endless openings": (
        {"length_m": 10, "width_m": 8, "openings_m2": {"north": math.nan}},
        "house.toml: openings_m2: north: expected an area of 0 or more [m2], and a finite one",
    ),
    "openings on no side": (
        {"length_m": 10, "width_m": 8, "openings_m2": {"nort": 4}},
        'house.toml: openings_m2: "nort" is no side (nearest: "north"); one of north, north-east, east, south-east, '
        "south, south-west, west, north-west",
    ),
    "openings where no wall faces": (
        {"length_m": 10, "width_m": 8, "north_deg": 45, "openings_m2": {"north": 4}},
        'house.toml: openings_m2 "north": no wall faces there; the walls face north-east, south-east, south-west, '
        "north-west",
    ),
    "openings larger than their side": (
        {"length_m": 10, "width_m": 8, "storey_height_m": 2.5, "openings_m2": {"east": 20.5}},
        'house.toml: openings_m2 "east" = 20.5 is larger than the walls there, 20.00 m2',
    ),
    "openings larger than the house": (
        {"length_m": 10, "width_m": 8, "storey_height_m": 2.5, "openings_m2": 90},
        "house.toml: openings_m2 is larger than the walls",
    ),
}


@pytest.mark.parametrize(("raw", "words"), REFUSED.values(), ids=REFUSED)
def test_refused(raw, words):
    assert said(**raw) == words
