"""Overlap of members on one line, against an independent count: the bay is sampled millimetre by millimetre."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from random_walls import LAMBDAS, batch, build, heat, tied_twins, walls

from optimiser.batch import Members
from optimiser.heat import air_layers, steady
from optimiser.heat.overlap import overlaps

many = settings(max_examples=100, deadline=None)


def members(*sizes: tuple) -> list[Members]:
    """(width, centre, share, extra) of each, in units of a bay 600 long; arrays of one wall."""
    zero = np.zeros(1)
    return [
        Members(
            layer=number,
            resistance=zero,
            width=np.array([width / 1000]),
            spacing=np.array([0.6]),
            centre=np.array([centre / 1000]),
            share=np.array([share]),
            extra=np.array([extra]),
            mass=zero,
            price=zero,
            labour=zero,
            carbon=zero,
            biogenic=zero,
        )
        for number, (width, centre, share, extra) in enumerate(sizes)
    ]


def shares(found: list[Members]) -> dict[tuple, float]:
    """Combination of members crossed -> share of the area."""
    fraction, inside = overlaps(found)
    total: Counter = Counter()
    for path in range(len(fraction)):
        total[tuple(bool(each) for each in inside[path, :, 0])] += fraction[path, 0]
    return {key: value for key, value in total.items() if value > 1e-12}


def sampled(sizes: list[tuple], spacing: int = 600) -> dict[tuple, float]:
    """The same by sampling every quarter and three quarters of a millimetre; ties by the share of height they fill."""
    at = np.arange(2 * spacing) / 2 + 0.25
    hits = []
    for width, centre, *_ in sizes:  # neighbours a spacing away reach in from both ends
        hits.append(np.any([abs(at - centre - turn * spacing) < width / 2 for turn in (-2, -1, 0, 1, 2)], axis=0))
    patterns, counts = np.unique(np.array(hits), axis=1, return_counts=True)
    total: Counter = Counter()
    for pattern, count in zip(patterns.T, counts, strict=True):
        for there in product(*[(True, False) if hit else (False,) for hit in pattern]):
            weight = count / len(at)
            for hit, present, (_, _, share, *_) in zip(pattern, there, sizes, strict=True):
                weight *= (share if present else 1 - share) if hit else 1.0
            total[there] += weight
    return {key: value for key, value in total.items() if value > 1e-12}


def same(one: dict, two: dict) -> None:
    assert set(one) == set(two)
    for key, value in one.items():
        assert value == pytest.approx(two[key], abs=1e-12)


sizes = st.tuples(st.integers(0, 300), st.integers(0, 599), st.just(1.0), st.just(0.0))


@many
@given(st.lists(sizes, min_size=1, max_size=3))
def test_staggered_members(given_sizes):
    same(shares(members(*given_sizes)), sampled(given_sizes))


@many
@given(
    st.lists(sizes, min_size=1, max_size=2), st.integers(1, 200), st.integers(0, 599), st.sampled_from([0.0, 0.25, 1.0])
)
def test_ties_fill_a_share_of_the_height(given_sizes, width, centre, share):
    every = [*given_sizes, (width, centre, share, 0.0)]
    same(shares(members(*every)), sampled(every))


def test_nested_members_by_hand():
    """Exact: studs 60 and 45 on one line at 600: both in 45/600, the wide one alone in 15/600."""
    found = shares(members((60, 0, 1.0, 0.0), (45, 0, 1.0, 0.0)))
    assert found == pytest.approx({(True, True): 0.075, (True, False): 0.025, (False, False): 0.9})


def test_staggered_members_by_hand():
    """Exact: half a bay apart, no path crosses both."""
    found = shares(members((60, 0, 1.0, 0.0), (45, 300, 1.0, 0.0)))
    assert found == pytest.approx({(True, False): 0.1, (False, True): 0.075, (False, False): 0.825})


def test_a_tie_by_hand():
    """Exact: a 12 mm tie, 200 of 1200 mm high, between studs of 45 mm: 12/600/6 of the area is crossed by all three."""
    found = shares(members((45, 0, 1.0, 0.0), (12, 0, 1 / 6, 0.0), (45, 0, 1.0, 0.0)))
    tied = 12 / 600 / 6
    assert found == pytest.approx(
        {(True, True, True): tied, (True, False, True): 0.075 - tied, (False, False, False): 0.925}
    )


@many
@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(0, 599), st.just(1.0), st.integers(0, 200)), min_size=2, max_size=3
    )
)
def test_plates_of_all_frames_line_up(given_sizes):
    """Extras take the clear bay, the smaller within the larger; studs keep their own overlap."""
    extras = [extra / 1000 for *_, extra in given_sizes]
    bare = sampled([(*size[:3], 0.0) for size in given_sizes])
    nothing = (False,) * len(given_sizes)
    assume(bare.get(nothing, 0) > max(extras))
    expected = Counter(bare)
    steps = [0.0, *sorted(extras)]
    for low, high in pairwise(steps):
        expected[tuple(extra > (low + high) / 2 for extra in extras)] += high - low
        expected[nothing] -= high - low
    found = shares(members(*[(width, centre, share, extra / 1000) for width, centre, share, extra in given_sizes]))
    same(found, {key: value for key, value in expected.items() if value > 1e-12})


def test_walls_of_a_batch_keep_to_themselves():
    """A lined-up, a staggered and a single frame in one batch give what each gives alone."""
    alone = [((60, 0), (45, 0)), ((60, 0), (45, 300)), ((60, 0), (0, 0))]
    one_by_one = [shares(members(*[(*size, 1.0, 0.0) for size in wall])) for wall in alone]
    batched = members((60, 0, 1.0, 0.0), (45, 0, 1.0, 0.0))
    columns = []
    for number, each in enumerate(batched):
        width = np.array([wall[number][0] / 1000 for wall in alone])
        centre = np.array([wall[number][1] / 1000 for wall in alone])
        ones = np.ones(3)
        change = {"width": width, "centre": centre, "spacing": 0.6 * ones, "share": ones, "extra": 0 * ones}
        columns.append(Members(**(vars(each) | change)))
    fraction, inside = overlaps(columns)
    for wall, expected in enumerate(one_by_one):
        total: Counter = Counter()
        for path in range(len(fraction)):
            total[tuple(bool(each) for each in inside[path, :, wall])] += fraction[path, wall]
        same({key: value for key, value in total.items() if value > 1e-12}, expected)


# Whole walls against an independent calculation


def reference(layers: list[dict]) -> tuple[float, float]:
    """R' and R'' of a wall without extras, by sampling each line millimetre by millimetre."""
    lines: dict[object, list[int]] = {}
    for number, layer in enumerate(layers):
        if frame := layer.get("frame"):
            key = number if "fraction" in frame else (frame["axis"], frame["spacing_mm"])
            lines.setdefault(key, []).append(number)
        elif "tie" in layer:
            stud = layers[number - 1]["frame"]
            lines.setdefault(("vertical", stud["spacing_mm"]), []).append(number)
    crossed = {number for numbers in lines.values() for number in numbers}
    base = 0.17 + sum(own(layer) for number, layer in enumerate(layers) if number not in crossed)
    paths = [(1.0, base)]
    lower = base
    for key, numbers in lines.items():
        if isinstance(key, int):
            share = layers[key]["frame"]["fraction"]
            split = {(True,): share, (False,): 1 - share}
        else:
            split = sampled([placed(layers, number) for number in numbers], key[1])
        paths = [
            (weight * part, r + sum(own(layers[n], hit) for n, hit in zip(numbers, hits, strict=True)))
            for weight, r in paths
            for hits, part in split.items()
        ]
        for place, number in enumerate(numbers):
            share = sum(part for hits, part in split.items() if hits[place])
            lower += 1 / (share / own(layers[number], True) + (1 - share) / own(layers[number]))
    return 1 / sum(weight / r for weight, r in paths), lower


def own(layer: dict, member: bool = False) -> float:
    """Resistance of a layer's fill, or of its member."""
    material = (layer.get("frame") or layer["tie"])["material"] if member else layer["material"]
    depth = layer["thickness_mm"] / 1000
    return float(air_layers.unventilated(depth)) if material == "air" else depth / LAMBDAS[int(material[1:])]


def placed(layers: list[dict], number: int) -> tuple:
    layer = layers[number]
    if frame := layer.get("frame"):
        return frame["width_mm"], frame["offset_mm"], 1.0
    tie, stud = layer["tie"], layers[number - 1]["frame"]
    return tie["thickness_mm"], stud["offset_mm"], tie["height_mm"] / tie["vertical_spacing_mm"]


@settings(max_examples=120, deadline=None)
@given(walls(extras=False))
def test_whole_walls(layers):
    upper, lower = reference(layers)
    found = heat(layers)
    assert found.r_upper[0] == pytest.approx(upper, rel=1e-9)
    assert found.r_lower[0] == pytest.approx(lower, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(tied_twins(extras=False))
def test_tied_twins(layers):
    upper, lower = reference(layers)
    found = steady.transmittance(batch(build(layers)))
    assert found.r_upper[0] == pytest.approx(upper, rel=1e-9)
    assert found.r_lower[0] == pytest.approx(lower, rel=1e-9)
