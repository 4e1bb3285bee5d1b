"""Laws of the combined method of ISO 6946 that hold for any wall (exact: they follow from the formulas)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from random_walls import INSULATION, TIMBER, batch, build, frames, heat, plain, plain_layers, stacked, tied_twins, walls

from optimiser.heat import steady

RELATIVE = 1e-9
many = settings(max_examples=100, deadline=None)


def has_room(layers: list[dict]) -> bool:
    """Whether plates and noggings find room beside the studs."""
    shares = [fraction[0] for fraction, _, _ in steady.paths(batch(build(layers)))]
    return min(shares) >= -1e-12 and abs(sum(shares) - 1) < RELATIVE


@many
@given(walls())
def test_lower_limit_never_exceeds_the_upper_one(layers):
    assume(has_room(layers))
    found = heat(layers)
    assert found.r_lower[0] <= found.r_upper[0] * (1 + RELATIVE)
    assert found.r_total[0] == pytest.approx((found.r_upper[0] + found.r_lower[0]) / 2, rel=RELATIVE)
    assert found.u_bare[0] == pytest.approx(1 / found.r_total[0], rel=RELATIVE)


@many
@given(walls())
def test_shares_of_the_paths_make_up_the_wall(layers):
    assume(has_room(layers))
    found = batch(build(layers))
    paths = steady.paths(found)
    shares = np.array([fraction[0] for fraction, _, _ in paths])
    assert shares.min() >= -1e-12
    assert shares.sum() == pytest.approx(1, abs=1e-12)
    for member in found.members:  # the paths through a member take its share of the area
        through = sum(fraction[0] for fraction, _, where in paths if where[member.layer][0])
        assert through == pytest.approx(member.fraction[0], abs=1e-12)


@many
@given(plain_layers())
def test_without_members_both_limits_are_the_sum_of_the_layers(layers):
    found = heat(layers)
    resistance = batch(build(layers)).resistance.sum()
    assert found.r_upper[0] == pytest.approx(resistance + 0.17, rel=RELATIVE)
    assert found.r_lower[0] == pytest.approx(resistance + 0.17, rel=RELATIVE)


@many
@given(walls(), st.randoms(use_true_random=False))
def test_the_order_of_homogeneous_layers_does_not_matter(layers, random):
    places = [number for number, layer in enumerate(layers) if "frame" not in layer and "tie" not in layer]
    shuffled = list(places)
    random.shuffle(shuffled)
    moved = list(layers)
    for place, source in zip(places, shuffled, strict=True):
        moved[place] = layers[source]
    one, two = heat(layers), heat(moved)
    assert one.r_upper[0] == pytest.approx(two.r_upper[0], rel=RELATIVE)
    assert one.r_lower[0] == pytest.approx(two.r_lower[0], rel=RELATIVE)


@many
@given(walls(), st.data())
def test_adding_insulation_never_raises_u(layers, data):
    assume(has_room(layers))
    thicker = [dict(layer) for layer in layers]
    if data.draw(st.booleans(), "thicken a layer"):
        layer = thicker[data.draw(st.integers(0, len(layers) - 1), "which")]
        deepest = 300 if layer["material"] == "air" else 400
        layer["thickness_mm"] = data.draw(st.integers(layer["thickness_mm"], max(deepest, layer["thickness_mm"])))
    else:
        place = data.draw(st.integers(0, len(layers)), "where")
        thicker.insert(place, plain(data.draw(st.sampled_from(INSULATION)), data.draw(st.integers(0, 200))))
    before, after = heat(layers), heat(thicker)
    assert after.u_bare[0] <= before.u_bare[0] * (1 + RELATIVE)
    assert after.r_upper[0] >= before.r_upper[0] * (1 - RELATIVE)
    assert after.r_lower[0] >= before.r_lower[0] * (1 - RELATIVE)


@many
@given(walls(), st.data())
def test_a_better_fill_never_raises_u(layers, data):
    assume(has_room(layers))
    place = data.draw(st.integers(0, len(layers) - 1))
    assume(layers[place]["material"] not in ("air", "m0"))
    better = [dict(layer) for layer in layers]
    better[place]["material"] = f"m{int(layers[place]['material'][1:]) - 1}"  # the next lower conductivity
    assert heat(better).u_bare[0] <= heat(layers).u_bare[0] * (1 + RELATIVE)


@many
@given(
    st.lists(frames(materials=TIMBER, axes=("vertical",), extras=False, fractions=False), min_size=2, max_size=3),
    st.data(),
)
def test_lined_up_frames_insulate_no_better_than_independent_ones(given_frames, data):
    """Where members conduct better than what lies beside them: R' is never higher, and R'' is the same."""
    fills = [data.draw(st.sampled_from(INSULATION)) for _ in given_frames]
    depths = [data.draw(st.integers(1, 300)) for _ in given_frames]
    lined = [frame | {"spacing_mm": 600, "offset_mm": 0} for frame in given_frames]
    apart = [{"material": frame["material"], "fraction": frame["width_mm"] / frame["spacing_mm"]} for frame in lined]
    crossing = [*lined[:-1], lined[-1] | {"axis": "horizontal"}]
    together, independent, crossed = (
        heat([plain(fill, depth, frame=frame) for fill, depth, frame in zip(fills, depths, each, strict=True)])
        for each in (lined, apart, crossing)
    )
    assert together.r_upper[0] <= independent.r_upper[0] * (1 + RELATIVE)
    assert together.r_upper[0] <= crossed.r_upper[0] * (1 + RELATIVE)
    assert crossed.r_upper[0] <= independent.r_upper[0] * (1 + RELATIVE)
    assert together.r_lower[0] == pytest.approx(independent.r_lower[0], rel=RELATIVE)
    assert together.r_lower[0] == pytest.approx(crossed.r_lower[0], rel=RELATIVE)


def test_a_batten_beside_air_may_break_that_law():
    """Why the law asks for members that conduct better: a batten insulates better than the air beside it."""
    studs = {"material": "m5", "width_mm": 60, "spacing_mm": 600}
    fill, space = plain("m1", 140, frame=studs), plain("air", 45, frame=studs)
    crossed = plain("air", 45, frame=studs | {"axis": "horizontal"})
    assert heat([fill, space]).r_upper[0] > heat([fill, crossed]).r_upper[0]


@many
@given(st.data(), st.integers(60, 240), st.integers(60, 240))
def test_staggering_studs_never_lowers_the_upper_limit(data, first, second):
    """Studs moved out of each other's line shadow less: R' grows, R'' stays."""
    studs = {"material": "m5", "width_mm": data.draw(st.integers(20, 100)), "spacing_mm": 600}
    offset = data.draw(st.integers(0, 300))
    lined = heat([plain("m1", first, frame=studs), plain("m1", second, frame=studs)])
    apart = heat([plain("m1", first, frame=studs), plain("m1", second, frame=studs | {"offset_mm": offset})])
    assert apart.r_upper[0] >= lined.r_upper[0] * (1 - RELATIVE)
    assert apart.r_lower[0] == pytest.approx(lined.r_lower[0], rel=RELATIVE)


@many
@given(tied_twins(), st.data())
def test_ties_never_insulate_better_than_the_fill_of_the_gap(layers, data):
    """A tie that conducts better than the gap's fill raises U; a taller one more."""
    assume(has_room(layers))
    gap = layers[1] | {"material": data.draw(st.sampled_from(INSULATION))}
    tie = gap["tie"] | {"material": data.draw(st.sampled_from(TIMBER))}
    height = data.draw(st.integers(tie["height_mm"], 1200))
    without = {key: value for key, value in gap.items() if key != "tie"}
    none, some, tall = (
        heat([layers[0], middle, layers[2]]).u_bare[0]
        for middle in (without, gap | {"tie": tie}, gap | {"tie": tie | {"height_mm": height}})
    )
    assert none <= some * (1 + RELATIVE)
    assert some <= tall * (1 + RELATIVE)


@many
@given(walls(), st.data())
def test_a_slot_without_thickness_changes_nothing(layers, data):
    assume(has_room(layers))
    empty = plain(data.draw(st.sampled_from(["m1", "m7", "air"])), 0)
    if data.draw(st.booleans(), "framed"):
        empty["frame"] = data.draw(frames(extras=False))
    more = list(layers)
    more.insert(data.draw(st.integers(0, len(layers))), empty)
    assume(not any("tie" in layer for layer in layers) or "frame" not in empty)  # ties look for the nearest frame
    assume(has_room(more))
    one, two = heat(layers), heat(more)
    assert one.r_upper[0] == pytest.approx(two.r_upper[0], rel=RELATIVE)
    assert one.r_lower[0] == pytest.approx(two.r_lower[0], rel=RELATIVE)


@st.composite
def alike(draw):
    """Several walls of one topology: the same frames' lines, other sizes and materials."""
    axes = [draw(st.sampled_from(["vertical", "horizontal"])) for _ in range(2)]
    tied = axes == ["vertical", "vertical"] and draw(st.booleans())
    slight = draw(st.booleans())
    found = []
    for _ in range(draw(st.integers(2, 6))):
        one, gap, two = draw(tied_twins(extras=False))
        one["frame"]["axis"], two["frame"]["axis"] = axes
        if not tied:
            del gap["tie"]
            two["frame"]["offset_mm"] = draw(st.integers(0, 300))
        opening = draw(st.integers(0, 2000))
        outside = {"ventilation": "slight", "opening_mm2_per_m": min(opening, 1499)} if slight else {}
        found.append([plain("air", draw(st.integers(1, 300)), **outside), one, gap, two])
    return found


@many
@given(alike(), st.sampled_from([1, 2, 8192]))
def test_many_walls_at_once_equal_one_by_one(several, chunk):
    """One wall is a batch of one; where a batch is cut into chunks changes nothing."""
    batches = [batch(build(layers)) for layers in several]
    one_by_one = [steady.transmittance(each) for each in batches]
    size, steady.CHUNK = steady.CHUNK, chunk
    try:
        together = steady.transmittance(stacked(batches))
    finally:
        steady.CHUNK = size
    for key in ("r_upper", "r_lower", "r_total", "u_bare"):
        expected = [getattr(each, key)[0] for each in one_by_one]
        np.testing.assert_allclose(getattr(together, key), expected, rtol=1e-12)
