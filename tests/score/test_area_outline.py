"""Areas of right-angled outlines against counting cells, which is exact; and every outline that is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_outlines import cells_of, plans, refined, thicker, thinner

from materials.errors import InputError
from optimiser.house.outline import Outline, outline_of, points_of
from optimiser.score.area import floor_area_lost

RECTANGLE = [(0, 0), (10, 0), (10, 8), (0, 8)]
L_SHAPE = [(0, 0), (10, 0), (10, 4), (6, 4), (6, 8), (0, 8)]
U_SHAPE = [(0, 0), (12, 0), (12, 9), (8, 9), (8, 4), (4, 4), (4, 9), (0, 9)]
T_SHAPE = [(0, 5), (4, 5), (4, 0), (7, 0), (7, 5), (12, 5), (12, 9), (0, 9)]
CROSS = [(3, 0), (6, 0), (6, 3), (9, 3), (9, 6), (6, 6), (6, 9), (3, 9), (3, 6), (0, 6), (0, 3), (3, 3)]
# Two rooms joined at a neck whose walls stand beside each other, not opposite: corners meet there first.
NECK = [(0, 0), (9, 0), (9, 5), (12, 5), (12, 14), (4, 14), (4, 8), (0, 8)]
SHAPES = {"rectangle": RECTANGLE, "L": L_SHAPE, "U": U_SHAPE, "T": T_SHAPE, "cross": CROSS, "neck": NECK}
SHAPE = pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)


def outline(points) -> Outline:
    return outline_of(points_of([list(point) for point in points]))


def counted(cells: np.ndarray, step, steps: int) -> list[int]:
    """Number of cells with no wall, one cell of wall, and so on."""
    found = [int(cells.sum())]
    for _ in range(steps):
        cells = step(cells)
        found.append(int(cells.sum()))
    return found


# By hand


def test_rectangle():
    """Exact: 10 x 8 m at t 0.30: 9.4 x 7.4 = 69.56 m2 inside; 10.6 x 8.6 = 91.16 m2 round the same outline."""
    found = outline(RECTANGLE)
    assert found.area_inside(0.30) == pytest.approx(69.56, abs=1e-12)
    assert found.area_outside(0.30) == pytest.approx(91.16, abs=1e-12)
    assert (found.area_m2, found.perimeter_m, found.corners) == (80.0, 36.0, 4)


@pytest.mark.parametrize(
    ("shape", "area", "perimeter", "inward", "outward"),
    [
        (RECTANGLE, 80, 36, 4.0, math.inf),
        (L_SHAPE, 64, 36, 2.0, math.inf),
        (U_SHAPE, 88, 52, 2.0, 2.0),
        (T_SHAPE, 63, 42, 1.5, math.inf),
        (CROSS, 45, 36, 1.5, math.inf),
        (NECK, 129, 52, 2.5, math.inf),
    ],
    ids=SHAPES,
)
def test_shapes_by_hand(shape, area, perimeter, inward, outward):
    """Read off the sketch: between the corners (9, 5) and (4, 8) of the neck lie 5 m across and 3 m up."""
    found = outline(shape)
    assert (found.area_m2, found.perimeter_m, found.corners) == (area, perimeter, 4)
    assert (found.inward_limit_m, found.outward_limit_m) == (inward, outward)


def test_thicknesses_in_arrays_and_what_has_no_area():
    found = outline(L_SHAPE)
    thickness = np.array([[0.0, 0.5], [2.0, 2.1]])
    assert np.array_equal(found.area_inside(thickness), [[64, 47], [8, np.nan]], equal_nan=True)
    assert np.isnan(found.area_inside([-0.1, np.nan, np.inf])).all()
    assert np.isnan(found.area_outside([-0.1, np.nan, np.inf])).all()
    assert np.isnan(outline(U_SHAPE).area_outside(2.01))
    assert found.area_outside(50.0) == 64 + 36 * 50 + 4 * 2500


def test_where_walls_meet_is_told():
    assert outline(NECK).inwards.between == "the corners [9, 5] and [4, 8]"
    assert outline(RECTANGLE).inwards.between == "the wall from [0, 0] to [10, 0] and the wall from [10, 8] to [0, 8]"


def test_a_limit_passed_by_the_rounding_of_a_sum_still_counts():
    third = outline([(0, 0), (0.6, 0), (0.6, 5), (0, 5)])
    assert third.inward_limit_m < 0.1 + 0.2
    assert third.area_inside(0.1 + 0.2) == pytest.approx(0, abs=1e-12)


# By counting cells


@SHAPE
def test_shapes_by_counting_cells_of_a_decimetre(shape):
    found = outline(shape)
    steps = int(found.inward_limit_m * 10)
    areas = found.area_inside(np.arange(steps + 1) / 10)
    assert areas == pytest.approx(np.array(counted(cells_of(shape, 10), thinner, steps)) / 100, abs=1e-9)
    areas = found.area_outside(np.arange(16) / 10)
    assert areas == pytest.approx(np.array(counted(cells_of(shape, 10, around=16), thicker, 15)) / 100, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(plans())
def test_random_outlines_by_counting_cells(plan):
    """Exact up to the limit, and no longer exact a quarter of a metre beyond it: the limit is the greatest one."""
    corners, cells = plan
    found = outline(corners)
    assert found.area_m2 == cells.sum()
    fine = refined(cells, 4)
    steps = round(found.inward_limit_m * 4) + 1
    areas = counted(fine, thinner, steps)
    t = np.arange(steps) / 4
    assert np.array_equal(found.area_inside(t), np.array(areas[:-1]) / 16)
    assert found.area_m2 - floor_area_lost(steps / 4, found.perimeter_m) != areas[-1] / 16
    assert np.isnan(found.area_inside(steps / 4))


@settings(max_examples=60, deadline=None)
@given(plans())
def test_random_outlines_with_walls_around_by_counting_cells(plan):
    corners, cells = plan
    found = outline(corners)
    narrow = math.isfinite(found.outward_limit_m)
    steps = round(found.outward_limit_m * 4) + 1 if narrow else 13
    areas = counted(refined(cells, 4, around=steps + 1), thicker, steps)
    t = np.arange(steps) / 4
    assert np.array_equal(found.area_outside(t), np.array(areas[:-1]) / 16)
    beyond = found.area_m2 + found.perimeter_m * steps / 4 + 4 * (steps / 4) ** 2
    assert (beyond != areas[-1] / 16) == narrow


@settings(max_examples=60, deadline=None)
@given(plans())
def test_outer_faces_by_counting_edges_of_cells(plan):
    corners, cells = plan
    found = outline(corners)
    steps = min(round(found.outward_limit_m * 4), 9) if math.isfinite(found.outward_limit_m) else 9
    fine = refined(cells, 4, around=steps + 2)
    for number in range(steps):
        lengths = found.lengths_outside(number / 4)
        for way, length in lengths.items():
            assert length == (fine & ~np.roll(fine, (-way[0], -way[1]), (0, 1))).sum() / 4, way
        assert sum(lengths.values()) == found.perimeter_m + 8 * number / 4
        fine = thicker(fine)


# Laws


def figures(points) -> tuple:
    found = outline(points)
    t = np.linspace(0, 6, 25)
    return (
        found.area_m2,
        found.perimeter_m,
        found.inward_limit_m,
        found.outward_limit_m,
        found.area_inside(t).tobytes(),
        found.area_outside(t).tobytes(),
    )


@settings(max_examples=100, deadline=None)
@given(plans(), st.integers(0, 60), st.integers(-40, 40))
def test_direction_start_place_turn_and_mirror_do_not_matter(plan, first, by):
    corners = plan[0]
    first %= len(corners)
    same = figures(corners)
    assert figures(corners[first:] + corners[:first]) == same
    assert figures(corners[::-1]) == same
    assert figures([(x + by, y - 2 * by) for x, y in corners]) == same
    assert figures([(-y, x) for x, y in corners]) == same
    assert figures([(-x, y) for x, y in corners]) == same


@settings(max_examples=100, deadline=None)
@given(plans(), st.integers(1, 99), st.integers(1, 99))
def test_walls_add_up(plan, one, more):
    """A wall of a and one of b inside it take as much as one of a + b, and limits shorten by what is taken."""
    found = outline(plan[0])
    a, b = (round(found.inward_limit_m * share / 200, 3) for share in (one, more))
    smaller = found.moved(-a)
    assert smaller.area_m2 == pytest.approx(float(found.area_inside(a)), abs=1e-9)
    assert float(smaller.area_inside(b)) == pytest.approx(float(found.area_inside(a + b)), abs=1e-9)
    assert smaller.inward_limit_m == pytest.approx(found.inward_limit_m - a, abs=1e-9)
    assert smaller.moved(a) == found


@settings(max_examples=100, deadline=None)
@given(plans(), st.integers(1, 99))
def test_the_inside_of_the_outside_is_the_outline_again(plan, share):
    found = outline(plan[0])
    t = round(min(found.outward_limit_m, 3.0) * share / 100, 3)
    larger = found.moved(t)
    assert larger.area_m2 == pytest.approx(float(found.area_outside(t)), abs=1e-9)
    assert larger.perimeter_m == pytest.approx(found.perimeter_m + 8 * t, abs=1e-9)
    assert float(larger.area_inside(t)) == pytest.approx(found.area_m2, abs=1e-9)
    assert larger.moved(-t) == found


def test_an_outline_is_not_moved_past_its_limit():
    assert outline(U_SHAPE).moved(1.9).perimeter_m == pytest.approx(52 + 8 * 1.9)
    for by in (2.0, -2.0):
        with pytest.raises(InputError, match=f"moved by {by:g} m: the wall from"):
            outline(U_SHAPE).moved(by)


# How an outline may be written


def test_corners_on_a_straight_run_are_left_out():
    more = [(0, 0), (3, 0), (10, 0), (10, 4), (6, 4), (6, 5), (6, 8), (0, 8), (0, 1)]
    assert set(outline(more).points) == set(outline(L_SHAPE).points)


def test_lengths_count_to_the_micrometre():
    found = outline([(0.1 + 0.2, 0), (11.7, 0), (11.7, 5.2), (0.3, 5.2)])
    assert (found.perimeter_m, found.area_m2) == (33.2, 59.28)


def test_as_many_points_as_are_read():
    stairs = [(number // 2 + number % 2, number // 2) for number in range(198)]
    found = outline([*stairs, (99, 99), (0, 99)])
    assert len(found.points) == 200
    assert found.corners == 4
    assert (found.area_m2, found.inward_limit_m) == (99 * 100 / 2, 0.5)


REFUSED = {
    "no list": ("11.4 x 5.2", "expected a list of points [x, y] in metres"),
    "a single number": (5, "expected a list of points [x, y] in metres"),
    "no points": ([], "has 0 points; a right-angled outline has at least 4 corners"),
    "a triangle": ([[0, 0], [4, 0], [4, 4]], "has 3 points; a right-angled outline has at least 4 corners"),
    "three numbers": (
        [[0, 0, 0], [4, 0], [4, 4], [0, 4]],
        "point 1 = [0, 0, 0]: expected two numbers [x, y] in metres",
    ),
    "a point in quotes": (
        [[0, 0], ["4", 0], [4, 4], [True, 4]],
        "point 2 = ['4', 0]: expected two numbers [x, y] in metres, without quotes; point 4 = [True, 4]: expected two "
        "numbers [x, y] in metres, without quotes",
    ),
    "no number": ([[0, 0], [math.nan, 0], [4, 4], [0, 4]], "point 2 = [nan, 0]: expected finite numbers"),
    "infinite": ([[0, 0], [4, 0], [4, -math.inf], [0, 4]], "point 3 = [4, -inf]: expected finite numbers"),
    "millimetres": (
        [[0, 0], [11400, 0], [11400, 5200], [0, 5200]],
        "point 2 = [11400, 0]: expected metres, at most 10000 from 0; point 3 = [11400, 5200]: expected metres, at "
        "most 10000 from 0",
    ),
    "a number of many digits": (
        [[0, 0], [10**400, 0], [4, 4], [0, 4]],
        "point 2: expected metres, at most 10000 from 0",
    ),
    "too many": ([[0, number] for number in range(201)], "has 201 points; at most 200 are read"),
    "closed by hand": (
        [[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]],
        "point 5 [0, 0] repeats point 1 (the outline closes of itself; leave it out)",
    ),
    "a point twice": (
        [[0, 0], [4, 0], [4, 0], [4, 4], [0, 4]],
        "point 3 [4, 0] repeats point 2",
    ),
    "nearer than a micrometre": (
        [[0, 0], [4, 0], [4, 0.0000001], [4, 4], [0, 4]],
        "point 3 [4, 0] repeats point 2",
    ),
    "two rooms that touch at a corner": (
        [[0, 0], [4, 0], [4, 4], [8, 4], [8, 8], [4, 8], [4, 4], [0, 4]],
        "point 7 [4, 4] repeats point 3",
    ),
    "on one line": (
        [[2, 1], [4, 1], [9, 1], [6, 1]],
        "encloses no area: all points from [2, 1] on lie on one line",
    ),
    "askew": (
        [[0, 0], [4, 0], [4.5, 4], [0, 4]],
        "point 2 [4, 0] to point 3 [4.5, 4] is not along x or y; every wall must be, a right-angled outline",
    ),
    "askew where it closes": (
        [[0, 0], [4, 0], [4, 4], [0.2, 4]],
        "point 4 [0.2, 4] to point 1 [0, 0] is not along x or y; every wall must be, a right-angled outline",
    ),
    "back on itself": (
        [[0, 0], [9, 0], [9, 4], [12, 4], [8, 4], [0, 4]],
        "turns back on itself at point 4 [12, 4]",
    ),
    "a figure of eight": (
        [[0, 0], [6, 0], [6, 6], [3, 6], [3, -3], [0, -3]],
        "the wall from point 1 to 2 crosses or touches that from point 4 to 5 at [3, 0]",
    ),
    "a wall along another": (
        [[0, 0], [9, 0], [9, 4], [6, 4], [6, 0.5], [7, 0.5], [7, 0], [5, 0], [5, 4], [0, 4]],
        "the wall from point 1 to 2 crosses or touches that from point 6 to 7 at [7, 0]; the wall from point 1 to 2 "
        "crosses or touches that from point 7 to 8 at [5, 0]; the wall from point 1 to 2 crosses or touches that from "
        "point 8 to 9 at [5, 0]",
    ),
}


@pytest.mark.parametrize(("raw", "words"), REFUSED.values(), ids=REFUSED)
def test_refused(raw, words):
    with pytest.raises(InputError) as error:
        outline_of(points_of(raw))
    assert str(error.value) == words


def test_of_many_faults_the_first_are_told():
    with pytest.raises(InputError, match=r"; point 5 = .*; and 3 more$"):
        points_of([[]] * 8)


SCRAWLS = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=6)


@settings(max_examples=400, deadline=None)
@given(SCRAWLS)
def test_any_scrawl_is_refused_or_encloses_what_counting_says(turns):
    """Any closed walk along x and y in turn: read only when simple, and then its area is that of the cells."""
    walk = [
        point
        for (x, y), (after, _) in zip(turns, (*turns[1:], turns[0]), strict=True)
        for point in ((x, y), (after, y))
    ]
    walk = [point for at, point in enumerate(walk) if point != walk[at - 1]]
    try:
        found = outline(walk)
    except InputError as error:
        assert "point" in str(error)
        return
    cells = cells_of(walk)
    assert found.area_m2 == cells.sum()
    assert 2 * found.corners == 8
    assert len(set(walk)) == len(walk)
