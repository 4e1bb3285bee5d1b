"""What walls are bought as, and how much of each: cost and mass of rows of choices by article."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..score import area
from ..space.choices import Choices
from ..space.rivals import options
from ..stopping import ask
from ..template import AT, FILL_OF, GAP, SLOTS, VARIABLES
from ..wall.layers import Stock, Terms

TIE = "tie"
NOTHING = -1
HELD = ("price", "mass", "carbon")  # quantities of a wall that articles make up


@dataclass(frozen=True)
class Article:
    """What is bought under one price: a product, or a line of batts as a whole."""

    key: str
    supplier: str
    stock: Stock

    @property
    def declares(self) -> bool:
        """Whether its carbon is declared for itself, not that of its generic material."""
        return self.stock.products[0].declaration is not None

    @property
    def carbon_of(self) -> str:
        """Whose carbon it has: its own, or its material's."""
        return f"product {self.key}" if self.declares else f"material {self.stock.material.key}"


@dataclass(frozen=True)
class Shares:
    """Rows of choices by article.

    Each (n, articles) per m2 of wall: price [currency], with waste and delivery; mass [kg]; carbon [kgCO2e] over the
    modules that count. labour (n,) [currency/m2]. Fixings are articles of their own.
    """

    articles: tuple[Article, ...]
    price: Array
    mass: Array
    carbon: Array
    labour: Array


@dataclass(frozen=True)
class Apart:
    """The same choices without fixings, and with those of one product alone, by its key: a wall taken apart."""

    plain: Choices
    fixed: dict[str, Choices]

    @classmethod
    def of(cls, choices: Choices) -> Apart:
        fixed = {}
        for key in _fixings(choices):
            ask()
            fixed[key] = _with_fixings(choices, {key})
        return cls(_with_fixings(choices, set()), fixed)


def shares(choices: Choices, x: Index, apart: Apart | None = None) -> Shares:
    """What rows of choices, which must be buildable, are bought as. apart: `Apart.of(choices)`, where it is known."""
    apart = apart or Apart.of(choices)
    plain = apart.plain
    articles, numbers = _articles(plain)
    held = np.zeros((len(HELD), len(x), len(articles)))
    labour = np.zeros(len(x))
    for rows, batch in plain.batches(x):
        labour[rows] = area.per_layer(batch, "labour").sum(axis=1)
        share = batch.plain_share()
        for at, slot in enumerate(SLOTS):
            name = FILL_OF.get(slot, slot)
            of = numbers[name][x[rows, AT[name]]]
            _add(held, rows, of, [share[:, at] * getattr(batch, key)[:, at] for key in HELD])
        for each in batch.members:
            slot = SLOTS[each.layer]
            of = np.full(len(rows), numbers[TIE]) if slot == GAP else numbers[slot][x[rows, AT[slot]]]
            _add(held, rows, of, [each.fraction * getattr(each, key) for key in HELD])
    without = _totals(plain, x) if apart.fixed else None
    for key, fixed in apart.fixed.items():  # what comes with it alone is its own
        added = _totals(fixed, x) - without
        known = [number for number, each in enumerate(articles) if each.key == key]
        if known:
            held[:, :, known[0]] += added
        else:
            stock = next(iter(_fixings(fixed).values()))
            articles = (*articles, Article(key, stock.products[0].supplier, stock))
            held = np.concatenate([held, added[:, :, None]], axis=2)
    return Shares(articles, *held, labour)


def _add(held: Array, rows: NDArray, of: NDArray, amounts: list[Array]) -> None:
    """Add what a part of each row holds to the article that it is of."""
    some = of != NOTHING
    for number, amount in enumerate(amounts):
        held[number, rows[some], of[some]] += amount[some]


def _fixings(choices: Choices) -> dict[str, Stock]:
    """The products that are fixings in some place, by key."""
    return {stock.products[0].key: stock for each in choices.pricing.terms.fixings.values() for _, stock in each}


def _with_fixings(choices: Choices, keys: set[str]) -> Choices:
    """The same choices with no other fixings than these products."""
    terms: Terms = choices.pricing.terms
    if not terms.fixings:
        return choices
    fixings = {
        place: tuple(pair for pair in given if pair[1].products[0].key in keys)
        for place, given in terms.fixings.items()
    }
    pricing = replace(choices.pricing, terms=replace(terms, fixings=fixings))
    return Choices(choices.brief, choices.catalogue, pricing)


def _totals(choices: Choices, x: Index) -> Array:
    """(HELD, n) what rows hold per m2 of wall."""
    totals = np.zeros((len(HELD), len(x)))
    for rows, batch in choices.batches(x):
        totals[:, rows] = [area.per_layer(batch, key).sum(axis=1) for key in HELD]
    return totals


def _articles(choices: Choices) -> tuple[tuple[Article, ...], dict[str, NDArray[np.int64]]]:
    """Every article that the choices hold, and by variable (and "tie") the number of the one behind each option."""
    articles: dict[str, Article] = {}
    numbers = {}

    def number(key: str, stock: Stock | None) -> int:
        if stock is None or not stock.products:
            return NOTHING
        articles.setdefault(key, Article(key, stock.products[0].supplier, stock))
        return list(articles).index(key)

    for name in VARIABLES:
        keys = [
            (each.stock.products[0].key if name in choices.options and each.stock else each.key, each.stock)
            for each in options(choices, name)
        ]
        numbers[name] = np.array([number(*each) for each in keys])
    tie = choices.tie
    numbers[TIE] = np.array(number(tie.products[0].key, tie) if tie else NOTHING)
    return tuple(articles.values()), numbers
