"""Batts that add up to a depth: all depths of a line at once, held to every stack there is."""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest

from materials.models import Product
from optimiser.wall.pricing import MOST_BATTS, stacked, stacks

DEPTHS = (0, 40, 95, 100, 120, 145, 200, 237.5, 240, 400, 401)
PRICES = {40: 3.1, 45: 3.4, 50: 4.0, 97.5: 6.0, 100: 7.4, 140: 9.0}


def batt(thickness: float, price: float, suffix: str = "") -> Product:
    return Product(
        key=f"b-{thickness:g}{suffix}",
        name=f"batt {thickness:g}",
        material="hemp-batt",
        supplier="Stores 001",
        thickness_mm=thickness,
        price=price,
        unit="m2",
        currency="EUR",
        source="invented for the test",
    )


@pytest.mark.parametrize("laying", [0.0, 2.5])
def test_every_depth_has_the_cheapest_of_all_stacks(laying):
    line = [batt(thickness, price) for thickness, price in PRICES.items()]
    every = [stack for count in range(1, MOST_BATTS + 1) for stack in combinations_with_replacement(line, count)]
    for depth, stack in zip(DEPTHS, stacks(line, DEPTHS, laying), strict=True):
        exact = [each for each in every if abs(sum(batt.thickness_mm for batt in each) - depth) < 0.01]
        assert bool(stack) == bool(exact)
        assert stack == stacked(line, depth, laying)
        if exact:
            least = min(sum(each.price + laying for each in other) for other in exact)
            assert sum(each.price + laying for each in stack) == pytest.approx(least, abs=1e-9)
            assert [each.thickness_mm for each in stack] == sorted((each.thickness_mm for each in stack), reverse=True)


def test_of_one_size_at_several_prices_the_cheapest_is_laid_and_the_first_of_equal_ones():
    line = [batt(50, 5.0, "-dear"), batt(50, 4.0, "-first"), batt(50, 4.0, "-second")]
    assert [each.key for each in stacked(line, 100)] == ["b-50-first", "b-50-first"]
