"""What fills bring to a search, as arrays: by kg and m3, and by the depths of the zone that they fill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..heat import air_layers
from ..template import ZONE
from ..wall import layers
from ..wall.layers import Stock, Terms
from ..wall.pricing import stacks
from .options import FillOption


@dataclass(frozen=True)
class FillTable:
    """Fills of one zone by (fill, depth option): whether they fit, and batts' stock price and labour per m2."""

    fits: NDArray[np.bool_]
    price: Array
    labour: Array
    resistance: Array
    sd: Array  # m, in dry air
    sd_humid: Array  # m, in humid air
    stacks: dict[tuple[int, int], Stock]


@dataclass(frozen=True)
class FillKinds:
    """Fills of one list by fill: flags, and what a kg or m3 of each brings."""

    loose: NDArray[np.bool_]
    air: NDArray[np.bool_]
    price_per_kg: Array  # loose fills: delivery, and with waste those sold by mass
    price_per_m3: Array  # loose fills sold by volume, with waste
    labour_per_m3: Array
    carbon_per_kg: Array
    biogenic_per_kg: Array
    density: Array  # (fills, whole mm of void depth) kg/m3


def fill_kinds(fills: tuple[FillOption, ...], terms: Terms, deepest_mm: int) -> FillKinds:
    """What each fill brings by kg and m3, from its amounts for one metre of depth."""
    meter = [layers.blown(each.stock, 1.0, 1.0, terms) if each.loose else None for each in fills]
    prices = [layers.blown_prices(each.stock, terms) if each.loose else (0.0, 0.0) for each in fills]
    density = np.zeros((len(fills), deepest_mm + 1))
    for number, each in enumerate(fills):
        if not each.air:
            density[number] = _density(each.stock, deepest_mm)
    carbon = [layers.carbon_per_kg(each.stock, terms) if not each.air else (0.0, 0.0) for each in fills]
    return FillKinds(
        loose=np.array([each.loose for each in fills]),
        air=np.array([each.air for each in fills]),
        price_per_kg=np.array([each[0] for each in prices]),
        price_per_m3=np.array([each[1] for each in prices]),
        labour_per_m3=np.array([each.labour if each else 0.0 for each in meter]),
        carbon_per_kg=np.array([each[0] for each in carbon]),
        biogenic_per_kg=np.array([each[1] for each in carbon]),
        density=density,
    )


def _density(stock: Stock, deepest_mm: int) -> Array | float | None:
    """Installed density of a fill [kg/m3] by whole mm of void depth; one number where the depth does not count."""
    if not stock.material.density_by_depth:
        return stock.material.installed_density(0)
    return np.array([stock.material.installed_density(depth) for depth in range(deepest_mm + 1)])


def fill_tables(
    fills: Mapping[str, tuple[FillOption, ...]], column: Mapping[str, Mapping[str, NDArray]], terms: Terms
) -> dict[str, FillTable]:
    """The table of every variable of a fill. column: the options of each slot.

    Many options of a zone have one depth, and one fill stands in several zones: each is looked at once.
    """
    depths = {name: np.unique(column[ZONE[name]]["thickness"], return_inverse=True) for name in fills}
    asked: dict[int, set[float]] = {}
    for name, options in fills.items():
        for each in options:
            asked.setdefault(id(each), set()).update(depths[name][0].tolist())
    laid: dict[int, dict[float, FillAtDepth]] = {}
    for options in fills.values():
        for each in options:
            if id(each) not in laid:
                laid[id(each)] = _laid(each, sorted(asked[id(each)]), terms)
    return {name: _table([laid[id(each)] for each in options], *depths[name]) for name, options in fills.items()}


@dataclass(frozen=True)
class FillAtDepth:
    """A fill laid to one depth, per m2 without members; `stock`: the stack that batts make up, where they fit."""

    fits: bool
    price: float
    labour: float
    resistance: float
    sd: float
    sd_humid: float
    stock: Stock | None = None


def _laid(fill: FillOption, depths: list[float], terms: Terms) -> dict[float, FillAtDepth]:
    """A fill at each of some depths [m]."""
    material = fill.stock.material
    if fill.air:
        return {depth: _air(fill, depth) for depth in depths}
    stacked: list[tuple] = [()] * len(depths)
    if not fill.loose:
        stacked = stacks(list(fill.line), (depth * 1000 for depth in depths), terms.laying(material.waste_fraction))
    laid = {}
    for depth, stack in zip(depths, stacked, strict=True):
        price = labour = 0.0
        stock = replace(fill.stock, products=stack) if stack else None
        if stock:
            amount = layers.sheet(stock, "fill", depth, terms)
            price, labour = amount.price, amount.labour
        fits = fill.loose or depth == 0 or stock is not None
        laid[depth] = FillAtDepth(
            fits, price, labour, layers.resistance_of(material, depth), *_vapour(fill, depth), stock
        )
    return laid


def _air(fill: FillOption, depth: float) -> FillAtDepth:
    fits = depth <= air_layers.DEEPEST_AIR_LAYER
    return FillAtDepth(fits, 0.0, 0.0, air_layers.unventilated(depth), *_vapour(fill, depth))


def _vapour(fill: FillOption, depth: float) -> tuple[float, float]:
    return layers.vapour(fill.stock.material, depth) if depth > 0 else (0.0, 0.0)


def _table(laid: list[dict[float, FillAtDepth]], depths: Array, of: NDArray[np.integer]) -> FillTable:
    """depths: the distinct ones of a zone; of (options,): which of them each option has."""
    rows = [[each[depth] for depth in depths.tolist()] for each in laid]
    values = {
        key: np.array([[getattr(each, key) for each in row] for row in rows])[:, of]
        for key in ("fits", "price", "labour", "resistance", "sd", "sd_humid")
    }
    options = [np.flatnonzero(of == number).tolist() for number in range(len(depths))]
    stocks = {
        (fill, option): each.stock
        for fill, row in enumerate(rows)
        for each, with_depth in zip(row, options, strict=True)
        if each.stock is not None
        for option in with_depth
    }
    return FillTable(stacks=stocks, **values)
