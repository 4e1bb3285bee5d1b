"""The solver itself: closed forms, the enclosure of the truth, orders of convergence, symmetry, a solver by others."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from grid_limits import limits
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from other_solver import conductance

from optimiser.conduction.blocks import solve, solve_on, worthwhile
from optimiser.conduction.cell import Crossing, MemberRow, Slab, Wall, area, repeating
from optimiser.conduction.grid import ROOM, Air, Block, Domain, Face, edges, first_lines, laid
from optimiser.conduction.results import Solution

AIRS = (Air(0.0, 0.04), Air(1.0, 0.13))
STUD = MemberRow(0.045, 0.6)
KS = (0.022, 0.035, 0.05, 0.13, 0.25, 2.0)
few = settings(max_examples=40, deadline=None)


def u_of(found: Solution) -> float:
    return found.conductance / area(found.grid.domain)


@st.composite
def crossings(draw, ties: bool = True) -> Crossing:
    kind = draw(st.sampled_from(["along", "along", "up", "both"] if ties else ["along"]))
    along = MemberRow(draw(st.integers(2, 120)) / 1000, 0.6, draw(st.sampled_from([0.0, 0.0, 0.3, 0.2])))
    up = MemberRow(draw(st.integers(20, 200)) / 1000, draw(st.sampled_from([0.4, 0.6])))
    return Crossing(
        "members",
        draw(st.sampled_from(KS)),
        along if kind in ("along", "both") else None,
        up if kind in ("up", "both") else None,
    )


@st.composite
def walls(draw, ties: bool = True) -> Wall:
    """Up to five slabs, up to three of them crossed."""
    found = []
    crossed = draw(st.integers(1, 3))
    for number in range(draw(st.integers(crossed, 5))):
        thickness = draw(st.integers(5, 300)) / 1000
        crossing = draw(crossings(ties)) if number < crossed else None
        found.append(Slab(f"slab {number}", thickness, draw(st.sampled_from(KS)), crossing))
    return tuple(draw(st.permutations(found)))


# Closed forms


def test_layers_without_members_are_a_sum():
    wall = (Slab("a", 0.1, 0.04), Slab("b", 0.02, 0.13))
    found = solve(repeating(wall, 0.13, 0.04))
    assert u_of(found) == pytest.approx(1 / (0.17 + 2.5 + 0.02 / 0.13), rel=1e-12)
    assert found.error < 1e-12


def test_single_300_mm_stud():
    """Own (finite elements and finite volumes elsewhere): 0.13360. Enclosed here to 5 digits: 0.133608."""
    wall = (
        Slab("board", 0.022, 0.049),
        Slab("fill", 0.3, 0.039, Crossing("stud", 0.13, STUD)),
        Slab("strand board", 0.012, 0.13),
        Slab("plasterboard", 0.0125, 0.25),
    )
    cell = repeating(wall, 0.13, 0.13)
    found, close = solve(cell), solve(cell, 1e-5)
    assert u_of(found) == pytest.approx(0.13360, rel=0.001)
    assert u_of(close) == pytest.approx(0.13360, abs=1e-5)
    assert u_of(close) == pytest.approx(0.133608, abs=1.5e-6)
    assert conductance(cell, 16) / area(cell) == pytest.approx(u_of(close), rel=1e-5)  # scikit-fem


def test_metal_between_airs_needs_no_more_than_it_is():
    """A steel sheet of no width worth speaking of: R' alone when nothing flows sideways into it."""
    wall = (Slab("fill", 0.2, 0.04, Crossing("steel", 50.0, MemberRow(0.6 / 3, 0.6))),)
    found = solve(repeating(wall, 1e-6, 1e-6), 0.02)
    assert u_of(found) == pytest.approx((50 / 3 + 0.04 * 2 / 3) / 0.2, rel=0.02)


# The truth between two figures


@few
@given(walls(), st.integers(0, 2))
def test_every_grid_encloses_the_truth_between_the_limits_of_iso_6946(wall, cuts):
    cell = repeating(wall, 0.13, 0.04)
    truth = solve(cell, 0.01 if len(cell.size) == 3 else 0.0005)
    low, high = (each / area(cell) for each in (truth.heat_low, truth.heat_high))
    assert low <= high * (1 + 1e-8)
    upper, lower = limits(truth)
    lines = edges(cell) if cuts == 0 else first_lines(cell)
    coarse = solve_on(laid(cell, lines))
    if cuts == 2:
        coarse = solve_on(laid(cell, tuple(np.sort(np.append(line, (line[0] + line[1]) / 2)) for line in lines)))
    for each in (coarse, truth):
        assert upper * (1 - 1e-8) <= each.heat_low / area(cell) <= high * (1 + 1e-8)
        assert low * (1 - 1e-8) <= each.heat_high / area(cell) <= lower * (1 + 1e-8)
        assert each.balance < 1e-6


@few
@given(walls(ties=False))
def test_the_stated_error_holds(wall):
    cell = repeating(wall, 0.13, 0.04)
    rough, close = solve(cell, 0.02), solve(cell, 0.0002)
    assert rough.error <= 0.02
    assert abs(u_of(rough) / u_of(close) - 1) <= rough.error + close.error + 1e-12


@settings(max_examples=15, deadline=None)
@given(walls(ties=False))
def test_finite_elements_of_others_agree_in_plan(wall):
    """scikit-fem, second order: 0.2 %. It knows no cells that repeat without a plane of symmetry."""
    cell = repeating(wall, 0.13, 0.04)
    assume(not cell.periodic)
    assert conductance(cell, 6) == pytest.approx(solve(cell).conductance, rel=0.002)


def test_finite_elements_of_others_agree_in_space():
    """A tie and battens; scikit-fem, second order: 0.2 %."""
    wall = (
        Slab("fill", 0.14, 0.035, Crossing("stud", 0.13, STUD)),
        Slab("gap", 0.1, 0.035, Crossing("tie", 0.17, MemberRow(0.012, 0.6), MemberRow(0.2, 1.2))),
        Slab("service zone", 0.045, 0.05, Crossing("batten", 0.13, None, MemberRow(0.045, 0.6))),
    )
    cell = repeating(wall, 0.13, 0.04)
    found = solve(cell, 0.0005)
    assert found.grid.shape[0] > 3
    assert conductance(cell, 2) == pytest.approx(found.conductance, rel=0.002)


# Convergence


def order(domain: Domain, pieces: list[int], of) -> float:
    """The power of the grid's step by which a figure settles, from three even grids that halve it."""
    figures = []
    for count in pieces:
        found = solve_on(laid(domain, tuple(np.linspace(0, size, count + 1) for size in domain.size)))
        figures.append(of(found))
    return math.log2(abs((figures[0] - figures[1]) / (figures[1] - figures[2])))


def quarter(inner: float, outer: float) -> Domain:
    """A square whose quarter is of another material; warm on one side, cold on the side across."""
    boxes = (Block("outer", (0, 0), (1, 1), outer), Block("inner", (0, 0), (0.5, 0.5), inner))
    return Domain((1.0, 1.0), boxes, (Air(0.0, 0.1), Air(1.0, 0.1)), (Face(0, 0, 0), Face(0, 1, 1)))


def test_second_order_where_nothing_is_sharp():
    """Warm from below, cold from the side, through surfaces that resist: both schemes settle with the step squared."""
    smooth = Domain(
        (1.0, 1.0), (Block("all", (0, 0), (1, 1), 1.0),), (Air(0, 0.5), Air(1, 0.5)), (Face(0, 0, 0), Face(1, 0, 1))
    )
    assert order(smooth, [16, 32, 64], lambda found: found.heat_low) == pytest.approx(2, abs=0.2)
    assert order(smooth, [16, 32, 64], lambda found: found.heat_high) == pytest.approx(2, abs=0.2)


@pytest.mark.parametrize(("inner", "outer"), [(0.13, 0.039), (50.0, 0.04)])
def test_order_at_a_corner(inner, outer):
    """At a right-angled corner between two materials temperature goes with r^a: heat flow settles with the step to 2 a.

    a is the smallest root of p tan(a pi/4) = -tan(3 a pi/4) (alike on both sides of the diagonal) or of the same with
    cotangents (unlike); p the ratio of conductivities. Exact.
    """
    from scipy.optimize import brentq

    ratio = inner / outer
    even = brentq(lambda a: ratio * math.tan(a * math.pi / 4) + math.tan(3 * a * math.pi / 4), 2 / 3 + 1e-9, 1.3)
    odd = brentq(lambda a: ratio / math.tan(a * math.pi / 4) + 1 / math.tan(3 * a * math.pi / 4), 0.67, 4 / 3 - 1e-9)
    expected = 2 * min(even, odd)
    found = order(quarter(inner, outer), [64, 128, 256], lambda found: found.heat_high - found.heat_low)
    print(f"\nratio {ratio:g}: order {found:.3f}, expected {expected:.3f}")
    assert found == pytest.approx(expected, abs=0.1)


def test_cutting_where_it_matters_needs_far_fewer_cells():
    domain = quarter(50.0, 0.04)
    even = solve_on(laid(domain, (np.linspace(0, 1, 65),) * 2))
    chosen = solve(domain, even.error)
    assert chosen.error <= even.error
    assert chosen.grid.conductivity.size < even.grid.conductivity.size / 3
    assert any(each.any() for each in worthwhile(chosen))


# Symmetry


def doubled(domain: Domain) -> Domain:
    """The half cell and its mirror image."""
    length = domain.size[-1]
    mirrored = [
        replace(box, low=(*box.low[:-1], 2 * length - box.high[-1]), high=(*box.high[:-1], 2 * length - box.low[-1]))
        for box in domain.boxes
    ]
    return replace(domain, size=(*domain.size[:-1], 2 * length), boxes=(*domain.boxes, *mirrored))


STAGGERED = (
    Slab("outer", 0.14, 0.04, Crossing("stud", 0.13, STUD)),
    Slab("gap", 0.05, 0.04),
    Slab("inner", 0.09, 0.04, Crossing("stud inside", 0.13, MemberRow(0.038, 0.6, 0.3))),
)


def test_half_a_cell_is_the_whole_cell():
    half = repeating(STAGGERED, 0.13, 0.04)
    assert half.size[-1] == pytest.approx(0.3)
    assert not half.periodic
    one = solve(half)
    lines = one.grid.lines
    whole = doubled(half)
    mirrored = (*lines[:-1], np.concatenate([lines[-1], 0.6 - lines[-1][-2::-1]]))
    two = solve_on(laid(whole, mirrored))
    around = solve_on(laid(replace(whole, periodic=(1,)), mirrored))
    for other in (two, around):
        assert u_of(other) == pytest.approx(u_of(one), rel=1e-10)
        assert other.heat_low == pytest.approx(2 * one.heat_low, rel=1e-10)
    np.testing.assert_allclose(two.temperature[:, : len(lines[-1])], one.temperature, rtol=1e-9)
    np.testing.assert_allclose(around.temperature, two.temperature, rtol=1e-9)


def moved_along(slab: Slab, by: float) -> Slab:
    if slab.crossing is None:
        return slab
    row = slab.crossing.along
    return replace(slab, crossing=replace(slab.crossing, along=replace(row, centre=row.centre + by)))


def test_studs_anywhere_in_the_bay_repeat():
    """200 mm apart at 600 mm there is no plane of symmetry: the cell repeats, wherever it is cut."""
    moved = (*STAGGERED[:2], replace(STAGGERED[2], crossing=Crossing("stud inside", 0.13, MemberRow(0.038, 0.6, 0.2))))
    cell = repeating(moved, 0.13, 0.04)
    assert cell.periodic == (1,)
    assert cell.size[-1] == pytest.approx(0.6)
    shifted = tuple(moved_along(slab, 0.1) for slab in moved[::-1])
    turned = repeating(shifted, 0.04, 0.13)  # inside out, and along the wall
    one, two = solve(cell, 0.0002), solve(turned, 0.0002)
    assert u_of(one) == pytest.approx(u_of(two), rel=0.0004)


def test_space_agrees_with_plan():
    """Ties as high as their distance are studs of the gap."""
    flat = (Slab("gap", 0.1, 0.035, Crossing("tie", 0.17, MemberRow(0.012, 0.6))),)
    tall = (Slab("gap", 0.1, 0.035, Crossing("tie", 0.17, MemberRow(0.012, 0.6), MemberRow(1.2, 1.2))),)
    one = solve(repeating(flat, 0.13, 0.04))
    lines = one.grid.lines
    cell = repeating(tall, 0.13, 0.04)
    assert len(cell.size) == 3
    other = solve_on(laid(cell, (edges(cell)[0], *lines)))
    assert u_of(other) == pytest.approx(u_of(one), rel=1e-8)


# What a solution tells


def test_shares_add_up_by_layer_and_every_plane_passes_all_heat():
    found = solve(repeating(STAGGERED, 0.13, 0.04))
    shares = found.shares(0)
    for pair in (("outer", "stud"), ("inner", "stud inside"), ("gap",)):
        assert sum(shares[name] for name in pair) == pytest.approx(1, abs=1e-6)
    assert 0.075 < shares["stud"] < 0.075 * 0.13 / 0.04  # more than its area, less than in proportion
    passing = np.concatenate([found.low_flow[0], found.high_flow[0][-1:]]).sum(axis=1)
    assert passing.shape == found.temperature.shape[:1]
    np.testing.assert_allclose(passing, -found.heat[1], rtol=1e-6)  # from inside to outside, through every plane


@pytest.mark.parametrize("centre", [0.3, 0.2], ids=["mirrored", "repeated"])
def test_the_cell_unfolds_to_any_stretch_of_the_wall(centre):
    """Three bays from -0.1 m on: each bay like the next, studs coldest at the inside face before the warm air."""
    moved = (
        *STAGGERED[:2],
        replace(STAGGERED[2], crossing=Crossing("stud inside", 0.13, MemberRow(0.038, 0.6, centre))),
    )
    found = solve(repeating(moved, 0.13, 0.04))
    at, shown = found.unfolded(1, -0.1, 1.8)
    assert (at[0], at[-1]) == (pytest.approx(-0.1), pytest.approx(1.7))
    assert shown.shape == (found.temperature.shape[0], len(at))
    inside = shown[-1]
    middle = np.interp([centre, centre + 0.6, centre + 1.2], at, inside)
    np.testing.assert_allclose(middle, middle[0], rtol=1e-6)
    assert middle[0] == pytest.approx(inside.min(), abs=1e-3)
    assert inside.min() == pytest.approx(found.temperature[-1].min(), abs=1e-9)


def test_heat_flows_from_warm_to_cold():
    found = solve(repeating(STAGGERED, 0.13, 0.04))
    assert (found.low_flow[0] + found.high_flow[0] < 0).all()  # in the middle of every cell
    assert 0 < found.temperature.min() < found.temperature.max() < 1
    assert found.grid.air.max() == ROOM
    assert found.heat[1] == pytest.approx(found.heat_low, rel=1e-9)


def test_every_part_needs_a_material():
    empty = Domain((1.0, 1.0), (Block("half", (0, 0), (1, 0.5), 1.0),), AIRS, (Face(0, 0, 0), Face(0, 1, 1)))
    with pytest.raises(ValueError, match="needs a block"):
        solve(empty)
