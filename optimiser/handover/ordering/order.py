"""The order: the take-off by supplier in whole packs, and how its money ties to the score's."""

from __future__ import annotations

import math
from dataclasses import dataclass

from materials.models import Product

from ...score import cost
from ...score.settings import Transport
from .items import Item, TimberSection
from .take_off import TakeOff

WHY = {
    "studs": "counted run by run and storey by storey; the score spreads them over the area",
    "corner studs": "at the corners; the score has the brief's further share",
    "plates": "run by run; the score has them at the brief's framing height, on the outer faces",
    "noggings": "bay by bay",
    "round openings": "by the same share, of the layer's own face",
    "battens": "counted run by run and storey by storey; the score spreads them over the area",
    "ties": "whole rows in each storey, from its foot to its head",
    "blown fill": "chambers as built, corners taken off once",
    "members": "the layer's own face; by share of the area, not counted",
    "tape": "joints and edges as laid, or the brief's rate on the layer's own face",
    "fixings": "on what is counted",
}
LAYER_FACE = "the layer's own face, which is not the outer one"


@dataclass(frozen=True)
class OrderLine:
    """One product: what is ordered of it. Quantities and price in its unit."""

    product: Product
    needed: float
    quantity: float
    packs: int | None
    raised: bool  # to the supplier's least order
    lengths: str  # stock lengths of timber, in words
    delivery: float | None

    @property
    def price(self) -> float:
        """Per unit, of the step that is reached by what is ordered."""
        return self.product.price_for(self.quantity)

    @property
    def goods_cost(self) -> float:
        return self.quantity * self.price

    @property
    def remark(self) -> str:
        """What is to be said of it: raised to the least order, the price of a step reached."""
        reached = [each.quantity for each in self.product.steps if each.price == self.price]
        step = f"price from {reached[-1]:g} {self.product.unit}" if reached and self.price != self.product.price else ""
        return ", ".join(each for each in ("raised to the least order" if self.raised else "", step) if each)

    @property
    def pack_words(self) -> str:
        """'sheet of 3.125 m2'; '' where it is sold by the unit."""
        if self.packs is None:
            return ""
        return f"{self.product.pack or 'pack'} of {self.product.pack_contents:g} {self.product.unit}"


@dataclass(frozen=True)
class SupplierOrder:
    """What one supplier brings."""

    supplier: str
    lines: tuple[OrderLine, ...]

    @property
    def goods_cost(self) -> float:
        return math.fsum(each.goods_cost for each in self.lines)

    @property
    def delivery(self) -> float | None:
        values = [each.delivery for each in self.lines]
        return None if None in values else math.fsum(values)

    @property
    def freight(self) -> float | None:
        """What the supplier charges for its delivery: nothing from its sum of goods on; None where it states none."""
        stated = next((each.product for each in self.lines if each.product.freight is not None), None)
        if stated is None:
            return None
        free = stated.freight_free_from is not None and self.goods_cost >= stated.freight_free_from - 1e-9
        return 0.0 if free else stated.freight

    @property
    def freight_words(self) -> str:
        """'45, none from goods for 1200'; '' where the supplier states none."""
        stated = next((each.product for each in self.lines if each.product.freight is not None), None)
        if stated is None:
            return ""
        free = stated.freight_free_from
        return f"{stated.freight:g} a delivery" + ("" if free is None else f", none from goods for {free:g}")

    @property
    def lead_time_days(self) -> int | None:
        """The longest of its lines."""
        return max((each.product.lead_time_days for each in self.lines if each.product.lead_time_days), default=None)


@dataclass(frozen=True)
class OrderStep:
    """One step from the score's money to the order's, for the whole house."""

    words: str
    money: float
    of_the_score: float | None = None  # the same of the score, where it has it


@dataclass(frozen=True)
class Order:
    """The whole order. unsupplied: items on no list."""

    of: TakeOff
    suppliers: tuple[SupplierOrder, ...]
    unsupplied: tuple[Item, ...]

    @property
    def goods_cost(self) -> float:
        return math.fsum(each.goods_cost for each in self.suppliers)

    @property
    def delivery(self) -> float | None:
        values = [each.delivery for each in self.suppliers]
        return None if None in values else math.fsum(values)

    @property
    def freight(self) -> float | None:
        """One delivery of each supplier that charges for it; None where none states what it costs."""
        values = [each.freight for each in self.suppliers if each.freight is not None]
        return math.fsum(values) if values else None


def order_of(taken: TakeOff, transport: Transport) -> Order:
    """The take-off as an order: by supplier and product, in whole packs and stock lengths, least orders kept."""
    sections = {each.key: each for each in taken.sections}
    groups: dict[str, list[Item]] = {}
    for each in taken.items:
        if each.product is not None:
            groups.setdefault(each.product.key, []).append(each)
    lines = [_line(items, sections.get(key), transport) for key, items in groups.items()]
    names = sorted({each.product.supplier for each in lines})
    suppliers = tuple(
        SupplierOrder(
            name,
            tuple(sorted((each for each in lines if each.product.supplier == name), key=lambda it: it.product.key)),
        )
        for name in names
    )
    return Order(taken, suppliers, tuple(each for each in taken.items if each.product is None))


def _line(items: list[Item], section: TimberSection | None, transport: Transport) -> OrderLine:
    product = items[0].product
    needed = math.fsum(each.gross for each in items)
    packs, quantity = _bought(product, needed, section)
    least = product.minimum_order or 0.0
    raised = 0 < quantity < least - 1e-9
    if raised:
        packs, quantity = _bought(product, least, None)
    kg = items[0].kg_per_unit
    if kg is None and not (transport.rate_per_t_km and product.delivery_km != 0):
        kg = 0.0  # brought for nothing, whatever it weighs
    carried = None if kg is None else cost.delivery(product, quantity * kg, transport)
    return OrderLine(product, needed, quantity, packs, raised, _lengths(section) if section else "", carried)


def _bought(product: Product, needed: float, section: TimberSection | None) -> tuple[int | None, float]:
    """Packs (None where it is sold by the unit) and the quantity in them; whole units where there are no packs."""
    if section is not None and product.pack != "piece":
        return None, section.bought_m
    if product.pack_contents:
        packs = math.ceil(needed / product.pack_contents - 1e-9)
        return packs, packs * product.pack_contents
    step = 0.1 if product.unit == "m3" else 1.0
    return None, round(math.ceil(needed / step - 1e-9) * step, 6)


def _lengths(section: TimberSection) -> str:
    """'12 x 4.8 m, 3 x 6 m'."""
    counts = dict(section.plan.stock)
    if section.loose_count:
        counts[section.loose_mm] = counts.get(section.loose_mm, 0) + section.loose_count
    return ", ".join(f"{count} x {length / 1000:g} m" for length, count in sorted(counts.items()))


def why(item: Item) -> str:
    """Why the counted quantity is not the score's."""
    return WHY.get(item.what, LAYER_FACE)


def reconciled(order: Order) -> tuple[OrderStep, ...]:
    """The steps from what the score spends on goods to what the order does; sums of priced items alone.

    The first is the score's material and fixings without waste, to the cent.
    """
    items = [each for each in order.of.items if each.price is not None]
    score = math.fsum(each.score * each.price for each in items)
    net = math.fsum(each.net * each.price for each in items)
    gross = math.fsum(each.gross * each.price for each in items)
    part, area = order.of.figures.by_part, order.of.area_m2
    bought = None if None in (part.material, part.waste) else area * (part.material + part.waste + part.fixings)
    labour = None if part.labour is None else area * part.labour
    whole = None if part.total is None else area * part.total
    carried = None if part.delivery is None else area * part.delivery
    lines = [line for each in order.suppliers for line in each.lines]
    listed = (
        math.fsum(each.quantity * each.product.price for each in lines)
        if any(each.product.steps for each in lines)
        else order.goods_cost
    )
    freight = order.freight
    return (
        OrderStep("Goods by the score: per m2 times the outer faces less openings, without waste", score, score),
        OrderStep("Counted instead: own faces, corners, ends of runs, whole rows", net - score),
        OrderStep("Goods of the take-off, net", net),
        OrderStep("Waste: cutting plan, laps, sheets as laid", gross - net, None if bought is None else bought - score),
        OrderStep("Goods of the take-off, gross", gross, bought),
        OrderStep("Whole packs and units, least orders", listed - gross),
        *([] if listed == order.goods_cost else [OrderStep("Price steps reached", order.goods_cost - listed)]),
        OrderStep("Goods of the order", order.goods_cost, bought),
        OrderStep("Delivery", order.delivery or 0.0, carried),
        *([] if freight is None else [OrderStep("Freight, one delivery of each supplier", freight, 0.0)]),
        OrderStep("Labour, as the score has it", labour or 0.0, labour),
        OrderStep("In all", order.goods_cost + (order.delivery or 0.0) + (freight or 0.0) + (labour or 0.0), whole),
    )
