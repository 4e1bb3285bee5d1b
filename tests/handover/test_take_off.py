"""The take-off against counts by hand, for a rectangle and an L, and against the score that it must tie to."""

from __future__ import annotations

import math

import pytest
from house_walls import L_SHAPE, RECTANGLE, brief, pricing, single, twin
from hypothesis import given
from hypothesis import strategies as st

from materials.errors import InputError
from optimiser.checks.judge import judge
from optimiser.handover.ordering.take_off import TakeOff, take_off
from optimiser.handover.pieces.counting import CountingPractice, cut_lengths, laps, placed, sheet_size, timber
from optimiser.handover.pieces.counting import Pieces as Equal
from optimiser.handover.pieces.runs import bays, heights, members_along, openings, runs
from optimiser.house.house import House


def item(taken: TakeOff, what: str, layer: int | None = None):
    (found,) = [each for each in taken.items if each.what == what and layer in (None, each.layer)]
    return found


# Runs


def test_the_runs_of_a_rectangle_lose_a_depth_at_every_corner():
    """6.0 x 4.2 m, 200 mm on its outer face: 5.8, 4.0, 5.8, 4.0 m = P - 4 d (exact)."""
    found = runs(House(**RECTANGLE), 0.2125, 0.0, 0.2)
    assert [(each.number, each.orientation, each.length) for each in found] == [
        (1, "south", pytest.approx(5.8)),
        (2, "east", pytest.approx(4.0)),
        (3, "north", pytest.approx(5.8)),
        (4, "west", pytest.approx(4.0)),
    ]


def test_a_run_is_longer_towards_a_re_entrant_corner():
    found = runs(House(**L_SHAPE), 0.2125, 0.0, 0.2)
    assert [each.length for each in found] == pytest.approx([5.8, 2.8, 3.2, 2.8, 2.8, 5.8])


@given(
    st.sampled_from([RECTANGLE, L_SHAPE]),
    st.sampled_from(["outside", "inside"]),
    st.integers(0, 300),
    st.integers(1, 200),
)
def test_the_runs_hold_the_exact_area_of_the_layer_on_plan(shape, fixed, outer, depth):
    """Area between both faces of a layer, by the outline moved to each (exact): sum of the runs times its depth."""
    house = House(**shape, fixed=fixed)
    thickness = 0.6
    found = runs(house, thickness, outer / 1000, depth / 1000)
    out = thickness if fixed == "inside" else 0.0
    between = house.plan.moved(out - outer / 1000).area_m2 - house.plan.moved(out - (outer + depth) / 1000).area_m2
    assert math.fsum(each.length for each in found) * depth / 1000 == pytest.approx(between, rel=1e-9)


def test_walls_that_meet_in_the_house_are_refused():
    with pytest.raises(InputError, match="meet across the house"):
        take_off(twin(), brief({"length_m": 6.0, "width_m": 0.9}), pricing())
    with pytest.raises(InputError, match=r"no \[house\]"):
        take_off(twin(), brief(), pricing())


def test_members_along_a_run():
    """5.8 m at 600: 10 from the start and one that closes it; 6.0 m ends on a stud; a spare 30 mm moves the last."""
    assert members_along(5.8, 0.6, 0.045) == pytest.approx([0.6 * step for step in range(10)] + [5.755])
    assert members_along(6.0, 0.6, 0.045) == pytest.approx([0.6 * step for step in range(10)] + [5.955])
    assert members_along(5.475, 0.6, 0.045) == pytest.approx([0.6 * step for step in range(9)] + [5.43])
    assert members_along(0.04, 0.6, 0.045) == ()
    assert bays(5.8, 0.6, 0.045, posts=1) == pytest.approx([0.555] * 9 + [0.265])


@given(st.floats(0.1, 30), st.floats(0.2, 1.0), st.floats(0.03, 0.1))
def test_no_bay_is_wider_than_the_spacing_leaves_and_both_ends_are_closed(length, spacing, width):
    faces = members_along(length, spacing, width)
    assert len(faces) >= math.floor(length / spacing)
    assert faces[0] == 0
    if len(faces) > 1:
        assert faces[-1] == pytest.approx(length - width)
    assert all(each <= spacing + 1e-6 for each in bays(length, spacing, width))


def test_openings_are_spread_over_the_runs_that_face_their_side():
    house = House(**L_SHAPE, openings_m2={"north": 3.0, "south": 5.8})
    spread = openings(house, runs(house, 0.2, 0.0, 0.2))
    assert spread[1] == pytest.approx(5.8)
    assert (spread[3], spread[5]) == pytest.approx((3.0 * 3.2 / 6.0, 3.0 * 2.8 / 6.0))  # both face north
    assert spread[2] == spread[4] == spread[6] == 0


# Timber by hand


def test_the_frame_of_a_rectangle_by_hand():
    """Runs 5.8 and 4.0 m twice: 11 and 8 studs, 38 in all; 4 corners; 2.7 m less two plates of 45 mm: 2.61 m."""
    taken = take_off(single(), brief(RECTANGLE), pricing())
    studs, corners, plates = item(taken, "studs"), item(taken, "corner studs"), item(taken, "plates")
    assert (studs.count, corners.count, plates.count) == (38, 4, 8)
    assert studs.length_mm == corners.length_mm == 2610
    assert (studs.net, corners.net) == pytest.approx((38 * 2.61, 4 * 2.61))
    assert plates.net == pytest.approx(2 * 19.6)
    area = 2 * 10.2 * 2.7
    assert taken.area_m2 == pytest.approx(area)
    assert (studs.score, corners.score, plates.score) == pytest.approx((area / 0.6, 0, area * 2 / 2.7))


def test_the_frame_of_an_l_by_hand():
    """Runs 5.8, 2.8, 3.2, 2.8, 2.8, 5.8 m: 11 + 6 + 7 + 6 + 6 + 11 = 47 studs, 6 corners, two storeys."""
    taken = take_off(single(), brief(L_SHAPE | {"storeys": 2}), pricing())
    assert (item(taken, "studs").count, item(taken, "corner studs").count) == (94, 12)
    assert item(taken, "plates").net == pytest.approx(2 * 2 * 23.2)


def test_noggings_fill_the_clear_bays():
    """In a run of 5.8 m: nine of 555 mm and one of 265 beside the corner stud; in 4.0 m six of 555 and one of 265."""
    framing = {"height_mm": 2700.0, "plates": 2, "nogging_rows": 2}
    taken = take_off(single(), brief(RECTANGLE, framing=framing), pricing())
    noggings = item(taken, "noggings")
    assert noggings.count == 2 * 2 * (10 + 7)
    assert noggings.net == pytest.approx(2 * 2 * (15 * 0.555 + 2 * 0.265))


def test_storeys_of_their_own_heights():
    house = {"length_m": 6.0, "width_m": 4.2, "storey_heights_m": [2.7, 2.4]}
    assert heights(House(**house)) == (2.7, 2.4)
    studs = item(take_off(single(), brief(house), pricing()), "studs")
    assert (studs.count, studs.length_mm) == (76, None)
    assert studs.net == pytest.approx(38 * (2.61 + 2.31))
    asked = brief(RECTANGLE)
    low = asked.model_copy(update={"house": asked.house.model_copy(update={"storey_height_m": 0.08})})
    with pytest.raises(InputError, match="leaves no room for studs"):
        take_off(single(), low, pricing())


def test_the_inner_frame_stands_on_its_own_runs():
    """The twin frame's inner frame lies 362 mm inside: 5.276 + 3.476 m, less 100 mm a corner: 5.176 and 3.376 m."""
    taken = take_off(twin(), brief(RECTANGLE), pricing())
    assert item(taken, "plates", 6).net == pytest.approx(2 * 2 * (5.176 + 3.376))
    assert item(taken, "studs", 6).count == 2 * (10 + 7)


def test_battens_by_hand():
    """Upright ones on 5.92 and 4.12 m (40 mm, 20 mm inside): 11 and 8 a run. Service battens lie 462 mm inside, on
    5.036 and 3.236 m, in 6 rows of a storey: 0, 600, 1200, 1800, 2400 mm and one below the ceiling.
    """
    framing, at = brief(RECTANGLE).framing, placed(twin(), brief(RECTANGLE))
    upright, lying = timber(at, 1, framing).pieces, timber(at, 7, framing).pieces
    assert [(each.length_mm, each.count) for each in upright] == [(2700, 2 * (11 + 8))]
    assert [(each.length_mm, each.count) for each in lying] == [(5036, 2 * 6), (3236, 2 * 6)]


def test_ties_by_hand():
    """On the 10 and 7 lines that the inner frame has, floor(2610 / 1200) + 1 = 3 rows: 102 plates of 210 x 200 mm."""
    taken = take_off(twin(), brief(RECTANGLE), pricing())
    ties = item(taken, "ties")
    assert (ties.count, ties.length_mm) == (2 * (10 + 7) * 3, 210)
    assert ties.net == pytest.approx(102 * 0.21 * 0.2)
    assert next(each for each in taken.items if each.role == "tie").net == 8 * 102


def test_a_frame_by_its_share_is_metres():
    taken = take_off(single(extra_fraction=0.0, fraction=0.15), brief(RECTANGLE), pricing())
    members = item(taken, "members")
    assert members.count is None
    assert members.net == pytest.approx(0.15 * 19.6 * 2.7 / 0.045)


def test_long_plates_are_joined_on_a_stud_and_studs_are_not():
    plates = Equal("plates", 11400, 3, splice_mm=600)
    assert cut_lengths(plates, [4800, 5000]) == {4800: 6, 1800: 3}
    assert cut_lengths(plates, [12000]) == {11400: 3}
    with pytest.raises(InputError, match="studs of 6100 mm: longer than the longest stock, 6000 mm, and in one piece"):
        cut_lengths(Equal("studs", 6100, 1), [6000])
    with pytest.raises(InputError, match="studs of 7910 mm"):
        take_off(single(), brief(RECTANGLE | {"storey_height_m": 8.0}), pricing())


def test_members_round_openings_come_from_long_offcuts_first():
    """2.61 m studs from 4 m stock alone: 42 offcuts of 1.386 m serve for what 0.5 % of the face takes."""
    framing = {"height_mm": 2700.0, "plates": 0, "openings_fraction": 0.005}
    practice = CountingPractice(stock_lengths_m=(4.1,))
    taken = take_off(single(), brief(RECTANGLE, framing=framing), pricing(), practice)
    (section,) = taken.sections
    assert section.plan.bars[0].offcut_mm >= practice.offcut_mm
    assert item(taken, "round openings").net == pytest.approx(0.005 * 19.6 * 2.7 / 0.045)
    assert section.loose_count == 0
    assert math.fsum(each.gross for each in taken.items if each.key == "stud-200") == pytest.approx(section.bought_m)


# Sheets, rolls, fill


def test_sheets_as_laid_by_hand():
    """Lining of 1.2 x 2.5 m on 12.5 mm: runs 5.5875 and 3.7875 m, 5 and 4 columns, 18 sheets and strips of 200 mm."""
    taken = take_off(single(), brief(RECTANGLE), pricing())
    lining = item(taken, "sheets or boards")
    length = 2 * (6.0 - 0.4 - 0.0125 + 4.2 - 0.4 - 0.0125)
    assert lining.net == pytest.approx(length * 2.7)
    laid = (18 + math.ceil(18 / 12)) * 3.0  # 12 strips of 200 mm out of 2.5 m
    assert lining.gross == pytest.approx(max(laid, length * 2.7))
    assert sheet_size(3.125) == (1.25, 2.5)
    assert sheet_size(2.2) is None


def test_openings_come_off_areas_and_not_off_studs():
    closed, opened = (take_off(single(), brief(RECTANGLE | {"openings_m2": area}), pricing()) for area in (0.0, 6.0))
    assert item(closed, "sheets or boards").net - item(opened, "sheets or boards").net == pytest.approx(6.0)
    assert item(closed, "membrane").net - item(opened, "membrane").net == pytest.approx(6.0)
    assert item(closed, "studs").count == item(opened, "studs").count


def test_membranes_lap():
    """Rolls of 1.5 x 50 m that lap by 100 mm: 1.5 / 1.4 x 50 / 49.9 = 1.0736 (exact); waste of 10 % is more."""
    assert laps(CountingPractice(), 50.0) == pytest.approx(1.5 / 1.4 * 50 / 49.9)
    foil = item(take_off(single(), brief(RECTANGLE), pricing()), "membrane")
    assert foil.gross == pytest.approx(foil.net * 1.1)
    wide = item(take_off(single(), brief(RECTANGLE), pricing(), CountingPractice(lap_mm=300)), "membrane")
    assert wide.gross == pytest.approx(wide.net * 1.5 / 1.2 * 50 / 49.7)


def test_tape_is_never_less_than_the_brief_says():
    """On 18.8 m in 2.7 m: edges above and below, one lap: 3 x 18.8 = 56.4 m; the brief's 0.5 m/m2 is less."""
    taken = take_off(single(), brief(RECTANGLE), pricing())
    tape = item(taken, "tape")
    assert tape.net == pytest.approx(3 * 18.8)
    assert tape.score == pytest.approx(0.5 * taken.area_m2)


def test_fill_is_what_the_chambers_hold():
    taken = take_off(twin(), brief(RECTANGLE), pricing())
    fills = [each for each in taken.items if each.what == "blown fill"]
    assert [each.layer for each in fills] == [4, 5, 6]
    assert math.fsum(each.net for each in fills) == pytest.approx(taken.filling.kg)


# The score


@pytest.mark.parametrize("house", [RECTANGLE, L_SHAPE | {"fixed": "inside", "openings_m2": 4.0}])
def test_the_scores_quantities_are_the_scores_money(house):
    """Layer by layer, to 1e-9: quantity by the score times price is its material, with waste its fixings."""
    taken = take_off(twin(), brief(house), pricing())
    told = judge(twin(), pricing()).cost
    assert taken.figures == told
    for number, part in enumerate(told.by_layer, 1):
        mine = [each for each in taken.items if each.layer == number]
        goods = [each for each in mine if each.what not in ("fixings", "tape")]
        fixings = [each for each in mine if each.what in ("fixings", "tape")]
        assert math.fsum(each.score * each.price for each in goods) == pytest.approx(
            part.material * taken.area_m2, rel=1e-9
        )
        paid = math.fsum(each.score * 1.02 * each.price for each in fixings)
        assert paid == pytest.approx(part.fixings * taken.area_m2, rel=1e-9)


def test_a_layer_on_the_outer_face_differs_by_its_corners_alone():
    """Cladding of 20 mm: the outer faces less 4 x 20 mm of corners, times the height."""
    cladding = item(take_off(twin(), brief(RECTANGLE), pricing()), "sheets or boards", 1)
    assert cladding.score - cladding.net == pytest.approx(4 * 0.02 * 2.7)


def test_what_is_on_no_list_is_counted_all_the_same():
    taken = take_off(single(), brief(RECTANGLE), pricing("stud-200", "stud-100", "batten-40", "foil-roll"))
    studs = item(taken, "studs")
    assert (studs.product, studs.price, studs.unit, studs.count) == (None, None, "m", 38)
    assert studs.net == pytest.approx(38 * 2.61)
    assert studs.gross == pytest.approx(studs.net * taken.sections[0].bought_m / taken.sections[0].net_m)
    assert item(taken, "membrane").product is None
    assert taken.figures.by_part.material is None
