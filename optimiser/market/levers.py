"""Levers: one figure of one product moved, all else as it is, and what the brief's choices are then.

price: per unit, as its list gives it. carbon: of making it (A1-A3, fossil and land use) per kg, as a declaration
gives it. conductivity: the design value. Batts of one kind and supplier lie on each other in stock layers: their price
is moved product by product, their carbon and conductivity only together, for a batt with others would be another fill.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from materials.catalogue import Catalogue
from materials.errors import InputError, nearest
from materials.models import Declaration, Material, Product, as_sold

from ..batch import Index
from ..space.choices import QUANTITIES, Choices
from ..space.options import offers, options_of
from ..template import AT, FILL_VARIABLES, FILLS, GAP, GAP_FILL, INNER_FILL, OUTER_FILL, SERVICE_FILL, SLOTS, ZONE
from ..wall.pricing import Pricing, batt_lines

LEVERS = ("price", "carbon", "conductivity")
FIGURES = {  # what a lever moves besides heat
    "price": ("cost_per_m2",),
    "carbon": ("carbon_kgco2e_m2", "whole_life_kgco2e_m2"),
    "conductivity": ("whole_life_kgco2e_m2",),
}
LOWEST_CONDUCTIVITY = 1 / 3  # of today's: no lower value is looked at
NEVER = {
    "price": "not even as a gift",
    "carbon": "not even without carbon of its making",
    "conductivity": "not even at a third of its conductivity",
}
PARTLESS = {
    "price": "the brief neither minimises nor limits cost",
    "carbon": "the brief neither minimises nor limits carbon",
    "conductivity": "it states no conductivity",
}


@dataclass(frozen=True)
class Lever:
    """A figure of a product that can be moved: its value today, the least that is looked at, and what moves with it."""

    kind: str
    product: Product
    line: tuple[Product, ...]  # the products that are moved together, the product among them
    today: float
    least: float
    stacked: bool  # whether moving it changes which batts are stacked to a depth

    @property
    def unit(self) -> str:
        return unit_of(self.kind, self.product)

    @property
    def affine(self) -> bool:
        """Whether the figures of any wall follow the lever along a straight line."""
        return self.kind != "conductivity" and not self.stacked

    def moved(self, choices: Choices, value: float) -> Choices:
        """The choices with the lever at a value; every option keeps its number."""
        pricing, catalogue = choices.pricing, choices.catalogue
        changed = {each.key: _moved(self.kind, each, catalogue.get(each.material), value) for each in self.line}
        pricing = replace(pricing, products={key: changed.get(key, each) for key, each in pricing.products.items()})
        places = let_in(choices, set(changed))
        if any(place in FILLS for place in places):
            return Choices(choices.brief, catalogue, pricing)
        return _with_options(choices, pricing, places)


def _with_options(choices: Choices, pricing: Pricing, places: tuple[str, ...]) -> Choices:
    """The choices with some slots read anew from other prices."""
    other = copy.copy(choices)
    other.pricing, other.options, other.column = pricing, dict(choices.options), dict(choices.column)
    for name in places:
        options = options_of(name, choices.brief, choices.catalogue, pricing)
        read = {key: np.array([getattr(each.amount, key) for each in options]) for key in QUANTITIES}
        other.options[name], other.column[name] = options, choices.column[name] | read
    return other


def lever_of(kind: str, choices: Choices, key: str) -> Lever | str:
    """The lever of a product, or in words why there is none."""
    product = choices.pricing.named(key, "product")[0]
    material = as_sold(choices.catalogue.get(product.material), product)
    brief, line = choices.brief, line_of(choices, product)
    followed = {*brief.objectives.minimise, *brief.limits.upper()}
    if kind != "conductivity" and not followed & set(FIGURES[kind]):
        return PARTLESS[kind]
    today = _today(kind, product, material)
    if today is None or np.isnan(today):
        return PARTLESS[kind] if kind == "conductivity" else "its carbon is not known"
    if today <= 0:
        return NEVER[kind]
    least = LOWEST_CONDUCTIVITY * today if kind == "conductivity" else 0.0
    alone = kind == "price"
    lever = Lever(kind, product, (product,) if alone else line, today, least, alone and len(line) > 1)
    if kind == "carbon" and not _same_carbon(choices, lever):
        return "it declares no carbon of its own, and what stands in for it cannot be moved for one product"
    return lever


def checked_lever(kind: str) -> str:
    """A lever's name; InputError for any other word."""
    if kind not in LEVERS:
        raise InputError(f'lever "{kind}": expected one of {", ".join(LEVERS)}{nearest(kind, LEVERS)}')
    return kind


def unit_of(kind: str, product: Product) -> str:
    return {"price": f"{product.currency}/{product.unit}", "carbon": "kgCO2e/kg", "conductivity": "W/mK"}[kind]


def line_of(choices: Choices, product: Product) -> tuple[Product, ...]:
    """The batts that a product is stacked with, itself among them; the product alone where it is no batt."""
    lines: list[list[Product]] = []
    if choices.catalogue.get(product.material).kind == "batt":
        lines = batt_lines(choices.pricing.by_material[product.material])
    return next((tuple(line) for line in lines if any(each.key == product.key for each in line)), (product,))


def _today(kind: str, product: Product, material: Material) -> float | None:
    if kind == "price":
        return product.price
    if kind == "carbon":
        return material.fossil_kgco2e_kg
    return None if material.resistance_m2k_w is not None else material.design_conductivity


def _moved(kind: str, product: Product, material: Material, value: float) -> Product:
    if kind == "price":
        return product.model_copy(update={"price": value})
    if kind == "conductivity":
        change = {"conductivity_w_mk": value, "conductivity_declared_w_mk": None, "conversion": None}
        return product.model_copy(update=change)
    declared = product.declaration or Declaration.of_product_stage(
        product.key, value, material.biogenic_kgco2e_kg or 0.0, "moved"
    )
    stage = declared.modules["A1-A3"]
    stage = stage.model_copy(update={"fossil": value - stage.land_use})
    declared = declared.model_copy(update={"modules": {**declared.modules, "A1-A3": stage}})
    return product.model_copy(update={"declaration": declared})


def _same_carbon(choices: Choices, lever: Lever) -> bool:
    """Whether stating today's carbon as declared leaves every option as it is."""
    if all(each.declaration is not None for each in lever.line):
        return True
    same = lever.moved(choices, lever.today)
    slots = all(
        np.allclose(same.column[name][what], choices.column[name][what], rtol=1e-12, equal_nan=True)
        for name in SLOTS
        for what in ("carbon", "biogenic")
    )
    kinds = ((same.kinds[name], choices.kinds[name]) for name in FILL_VARIABLES)
    return slots and all(np.allclose(a.carbon_per_kg, b.carbon_per_kg, rtol=1e-12, equal_nan=True) for a, b in kinds)


@dataclass(frozen=True)
class ProductPlaces:
    """Where some products stand: slot -> (options,), fill -> (fills, depths); true where an option is one of them."""

    slots: Mapping[str, np.ndarray]
    fills: Mapping[str, np.ndarray]

    @classmethod
    def of(cls, choices: Choices, keys: set[str]) -> ProductPlaces:
        """The options made of some products; of a stack of batts one is enough."""
        slots = {
            name: np.array(
                [
                    any(each.key in keys for each in option.stock.products) if option.stock else False
                    for option in choices.options[name]
                ]
            )
            for name in SLOTS
            if name != GAP
        }
        fills = {}
        for name in FILL_VARIABLES:
            depths = choices.column[ZONE[name]]["thickness"]
            stacks, held = choices.tables[name].stacks, np.zeros((len(choices.fills[name]), len(depths)), bool)
            for number, fill in enumerate(choices.fills[name]):
                for depth in np.flatnonzero(depths > 0):
                    stock = stacks.get((number, depth)) if fill.line else fill.stock
                    held[number, depth] = stock is not None and any(each.key in keys for each in stock.products)
            fills[name] = held
        return cls(slots, fills)

    def by_place(self, place: str) -> bool:
        """Whether a slot, or one of the zones that "fill" or "service fill" stand for, can hold one of the products."""
        if place in self.slots:
            return bool(self.slots[place].any())
        zones = (SERVICE_FILL,) if place == SERVICE_FILL else (OUTER_FILL, GAP_FILL, INNER_FILL)
        return any(bool(self.fills[name].any()) for name in zones)

    def by(self, x: Index) -> np.ndarray:
        """(n,) rows that hold one of the products."""
        holds = np.zeros(len(x), bool)
        for name, held in self.slots.items():
            holds |= held[x[:, AT[name]]]
        for name, held in self.fills.items():
            holds |= held[x[:, AT[name]], x[:, AT[ZONE[name]]]]
        return holds


def let_in(choices: Choices, keys: set[str]) -> tuple[str, ...]:
    """The slots and fills of the brief ("fill", "service fill") that may hold one of the products."""
    slots = [
        name
        for name in SLOTS
        if name != GAP and any(o.stock and any(p.key in keys for p in o.stock.products) for o in choices.options[name])
    ]
    for variable, name in ((GAP_FILL, "fill"), (SERVICE_FILL, SERVICE_FILL)):
        every = (each.line or each.stock.products for each in choices.fills[variable])
        if any(product.key in keys for line in every for product in line):
            slots.append(name)
    return tuple(slots)


def why_not(choices: Choices, catalogue: Catalogue, key: str) -> str:
    """Why the brief lets a product into no slot, in words."""
    brief, pricing = choices.brief, choices.pricing
    if brief.tie is not None and brief.tie.product == key:
        return "not a choice: it is the tie"
    if any(each.product == key for given in brief.fixings.values() for each in given):
        return "not a choice: it is a fixing"
    offered = [(each.slot, option) for each in offers(brief, catalogue, pricing) for option in each.options]
    mine = [(slot, option) for slot, option in offered if option.key == key]
    if not mine:
        return "made for none of the slots in its size"
    barred = next((option.barred for _, option in mine if option.barred), "")
    if barred:
        return f"left out: {barred}"
    if any(option.on for _, option in mine):
        least = brief.limits.min_load_bearing_depth_mm
        depth = pricing.products[key].thickness_mm
        if least and depth and depth < least:
            return f"{depth:g} mm deep; limits.min_load_bearing_depth_mm asks for {least:g}"
        return "it fits none of the depths"
    return f"the brief does not let it in ({', '.join(dict.fromkeys(slot for slot, _ in mine))})"
