"""Which product stands behind a layer, and how batts stack up to a depth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from materials.declared.not_used import NotUsed
from materials.errors import InputError, nearest
from materials.models import Product

from .layers import Terms

STEP = 10  # stock thicknesses are compared in tenths of a millimetre
MOST_BATTS = 4  # stock layers in one depth; more is not laid in practice (common practice)


@dataclass(frozen=True)
class Pricing:
    """Products on offer, what a brief says of quantities, and the currency.

    lapsed: keys of those whose price is no longer valid and that the brief allows all the same; their names say so.
    left_out: those that it does not allow, by key; on: the day that prices were held to.
    """

    products: Mapping[str, Product]
    terms: Terms
    currency: str
    lapsed: frozenset[str] = frozenset()
    left_out: Mapping[str, Product] = field(default_factory=dict)
    on: date | None = None
    notes: tuple[str, ...] = ()  # what is to be said of the declarations: not found, lapsed, left out
    unasked: Mapping[str, Product] = field(default_factory=dict)  # of suppliers that the brief does not buy from
    undeclared: tuple[NotUsed, ...] = ()  # declarations that carry no product's carbon

    @cached_property
    def by_material(self) -> dict[str, list[Product]]:
        products: dict[str, list[Product]] = {}
        for product in self.products.values():
            products.setdefault(product.material, []).append(product)
        return products

    def named(self, keys: str | tuple[str, ...], place: str) -> tuple[Product, ...]:
        """Products by key; InputError when one is on no list."""
        keys = (keys,) if isinstance(keys, str) else keys
        for key in keys:
            if key not in self.products:
                raise InputError(f'{place}: product "{key}" {why_absent(key, self.products, self.left_out)}')
        return tuple(self.products[key] for key in keys)

    def cheapest(self, material: str, thickness_mm: float, width_mm: float | None = None) -> tuple[Product, ...]:
        """The cheapest products that make this layer: one of that size, or batts that add up; () when none does.

        By their prices on the lists: waste and delivery are not looked at.
        """
        offered = self.by_material.get(material, [])
        fits = [each for each in offered if _fits(each, thickness_mm, width_mm)]
        if fits:
            return (min(fits, key=lambda each: (each.price, each.key)),)
        stacks = [
            stacked(line, thickness_mm, self.terms.laying(line[0].waste_fraction or 0.0))
            for line in batt_lines(offered)
        ]
        full_stacks = [stack for stack in stacks if stack]
        return min(full_stacks, key=_price, default=())


def why_absent(key: str, offered: Iterable[str], left_out: Mapping[str, Product]) -> str:
    """Why a product is not on offer: its price lapsed, or it is on no list (with the nearest key that is)."""
    if key in left_out:
        return f"is left out: its {lapsed_words(left_out[key])} (prices.allow_lapsed uses it all the same)"
    return f"is on no price list{nearest(key, offered)}"


def lapsed_words(product: Product) -> str:
    """'price lapsed 2026-06-30', the day being the last on which it was valid."""
    return f"price lapsed {product.valid_until}"


def _price(stack: tuple[Product, ...]) -> float:
    return sum(each.price for each in stack)


def _fits(product: Product, thickness_mm: float, width_mm: float | None) -> bool:
    same_depth = product.thickness_mm in (None, 0) or abs(product.thickness_mm - thickness_mm) < 0.05
    return same_depth and (width_mm is None or product.width_mm is None or abs(product.width_mm - width_mm) < 0.05)


def batt_lines(products: Iterable[Product]) -> list[list[Product]]:
    """Batts grouped into lines that differ in thickness and price only: they can lie on each other as one fill."""
    lines: dict[tuple, list[Product]] = {}
    for each in products:
        if each.unit != "m2" or not each.thickness_mm:
            continue
        declared = each.declaration and tuple(
            sorted((name, *dict(module).values()) for name, module in each.declaration.modules.items())
        )
        conversion = each.conversion and each.conversion.factor
        like = (
            each.material,
            each.supplier,
            each.conductivity_w_mk,
            each.conductivity_declared_w_mk,
            conversion,
            each.vapour_mu,
        )
        carried = (each.waste_fraction, each.delivery_km)
        lines.setdefault((*like, each.density_kg_m3, declared, *carried), []).append(each)
    return [sorted(line, key=lambda each: (each.thickness_mm, each.key)) for line in lines.values()]


def stacked(line: list[Product], depth_mm: float, laying: float = 0.0) -> tuple[Product, ...]:
    """The cheapest stack of stock thicknesses that is exactly a depth, thickest first; () when none is.

    laying: what it costs to lay one layer, in the money of the prices before waste. Fewer layers win a tie.
    """
    return stacks(line, (depth_mm,), laying)[0]


def stacks(line: list[Product], depths_mm: Iterable[float], laying: float = 0.0) -> list[tuple[Product, ...]]:
    """The same for several depths at once, by dynamic programming over tenths of a millimetre."""
    goals = [round(each * STEP) for each in depths_mm]
    sizes = _cheapest_by_size(line)
    deepest = max(goals, default=0)
    best: dict[int, tuple[float, int, tuple[Product, ...]]] = {0: (0.0, 0, ())}
    for _ in range(MOST_BATTS):
        grown = dict(best)
        for depth, (price, count, stack) in best.items():
            for size, each in sizes:
                if size <= deepest - depth:
                    candidate = (price + each.price + laying, count + 1, (*stack, each))
                    if depth + size not in grown or candidate[:2] < grown[depth + size][:2]:
                        grown[depth + size] = candidate
        best = grown
    none = (0.0, 0, ())
    return [tuple(sorted(best.get(goal, none)[2], key=lambda each: -(each.thickness_mm or 0))) for goal in goals]


def _cheapest_by_size(line: list[Product]) -> list[tuple[int, Product]]:
    """The sizes of a line [tenths of a mm], each with its cheapest product: no stack is cheaper with another."""
    cheapest: dict[int, Product] = {}
    for each in line:
        size = round((each.thickness_mm or 0) * STEP)
        if size > 0 and (size not in cheapest or each.price < cheapest[size].price):
            cheapest[size] = each
    return list(cheapest.items())
