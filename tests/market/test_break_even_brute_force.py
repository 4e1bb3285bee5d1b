"""Break-even values against plain enumeration: every wall of random small spaces just below, and just above."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from random_spaces import STEPS, listed, spaces

from optimiser.market.break_even import break_even, complete_front
from optimiser.market.levers import NEVER
from optimiser.space import buildable as rules
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.template import AT, FILL_VARIABLES, ZONE
from optimiser.wall.pricing import Pricing

RANDOM = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
NEAR = 1e-6


def changed(choices: Choices, moved: tuple[str, ...], lever: str, value: float) -> Choices:
    """The choices with other products on the list, made without the code under test."""
    products = dict(choices.pricing.products)
    for key in moved:
        product = products[key]
        if lever == "price":
            products[key] = product.model_copy(update={"price": value})
        elif lever == "conductivity":
            products[key] = product.model_copy(update={"conductivity_w_mk": value})
        else:
            stage = product.declaration.modules["A1-A3"].model_copy(update={"fossil": value})
            declared = product.declaration.model_copy(update={"modules": {"A1-A3": stage}})
            products[key] = product.model_copy(update={"declaration": declared})
    return Choices(choices.brief, choices.catalogue, Pricing(products, choices.pricing.terms, "EUR"))


def holding(choices: Choices, x: np.ndarray, keys: set[str]) -> np.ndarray:
    """(n,) rows with one of the products, looked up wall by wall."""
    found = []
    for row in x:
        names = set()
        for slot in AT:
            if slot in FILL_VARIABLES:
                depth = row[AT[ZONE[slot]]]
                if choices.options[ZONE[slot]][depth].thickness > 0:
                    fill = choices.fills[slot][row[AT[slot]]]
                    stock = choices.tables[slot].stacks[row[AT[slot]], depth] if fill.line else fill.stock
                    names |= {each.key for each in stock.products}
            elif choices.options[slot][row[AT[slot]]].stock:
                names |= {each.key for each in choices.options[slot][row[AT[slot]]].stock.products}
        found.append(bool(names & keys))
    return np.array(found, bool)


def plain(choices: Choices) -> np.ndarray:
    """Every wall that can be built, by going through all rows."""
    every = np.unravel_index(np.arange(int(np.prod(choices.sizes))), choices.sizes)
    x = np.stack(every, axis=1).astype(np.int32)
    return x[rules.buildable(choices, x)]


def enters(moved: Choices, x: np.ndarray, target: float, front: np.ndarray, keys: set[str]) -> bool:
    """Whether some wall with the product holds target and limits, and no wall of today's front beats it."""
    scores = evaluate(moved, x)
    with np.errstate(invalid="ignore"):
        holds = scores.u_value <= target
    for key, limit in moved.brief.limits.upper().items():
        holds &= getattr(scores, key) <= limit
    objectives = moved.brief.objectives.minimise
    steps = np.stack([np.rint(getattr(scores, key)[holds] * STEPS[key]) for key in objectives], axis=1)
    x = x[holds]
    for row in front:
        alive = ~((row <= steps).all(axis=1) & (row < steps).any(axis=1))
        x, steps = x[alive], steps[alive]
    return bool(holding(moved, x, keys).any())


def check_against_enumeration(choices: Choices, lever: str) -> int:
    """Every product of the lists: just below its break-even it enters, just above not. How many had one."""
    target = choices.brief.target.u_value
    known = complete_front(choices, target)
    front = listed(choices, target).steps
    assert known.vectors.tolist() == front.tolist()
    x, count = plain(choices), 0
    for key in choices.pricing.products:
        found = break_even(choices, target, known, key, lever)
        if not found.searches:
            assert found.at is None and found.reason
            continue
        keys = set(found.moved)
        assert not holding(choices, np.array(known.x), keys).any()
        if found.at is None:
            assert found.reason == NEVER[lever]
            least = changed(choices, found.moved, lever, found.today / 3 if lever == "conductivity" else 0.0)
            assert not enters(least, x, target, front, keys)
            continue
        count += 1
        assert 0 <= found.at < found.today
        below, above = (changed(choices, found.moved, lever, found.at + sign * NEAR * found.today) for sign in (-1, 1))
        assert enters(below, x, target, front, keys)
        assert not enters(above, x, target, front, keys)
    return count


@RANDOM
@given(spaces(signs=False))
def test_break_even_prices_equal_plain_enumeration(choices):
    check_against_enumeration(choices, "price")


@RANDOM
@given(spaces(signs=False))
def test_break_even_carbon_equals_plain_enumeration(choices):
    check_against_enumeration(choices, "carbon")


@RANDOM
@given(spaces(signs=False))
def test_break_even_conductivities_equal_plain_enumeration(choices):
    check_against_enumeration(choices, "conductivity")


@RANDOM
@given(spaces())
def test_prices_and_carbon_of_either_sign(choices):
    check_against_enumeration(choices, "price")
    check_against_enumeration(choices, "carbon")
