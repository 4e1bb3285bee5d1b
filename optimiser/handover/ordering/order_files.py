"""The order as files: a workbook with a sheet per supplier, take-off, cutting plan and score; CSV of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from ...score.cost_parts import PARTS
from ..tables.tabular import MARK_LABEL, MARK_WORDS, MONEY, ONE, PRICE, THREE, TWO, WHOLE, Cell, Column, Table, files_of
from .as_taken_off import AsTakenOff
from .items import Item
from .order import Order, SupplierOrder, reconciled, why
from .take_off import TakeOff
from .taken_off_report import taken_off_table

UNKNOWN = "not on the lists"

# Columns that stand in several of the tables.
LAYER, ROLE, ITEM = Column("Layer", WHOLE, 7), Column("Role", width=18), Column("Item", width=18)
PRODUCT, UNIT = Column("Product", width=24), Column("Unit", width=7)

Columns = Sequence[tuple[Column, Callable[[Any], Cell]]]  # each with what it shows of one thing listed


def order_tables(order: Order, as_taken: AsTakenOff | None = None) -> tuple[Table, ...]:
    """Every sheet: the summary, one order per supplier, take-off, cutting plan, the score, how they tie, rules.

    as_taken: the wall as taken off, for a sheet of its own.
    """
    return (
        summary_table(order),
        *(supplier_table(order, each) for each in order.suppliers),
        take_off_table(order.of),
        cutting_table(order.of),
        score_table(order.of),
        steps_table(order),
        tie_table(order),
        *([] if as_taken is None else [taken_off_table(as_taken)]),
        rules_table(order.of),
    )


def order_files(order: Order, as_taken: AsTakenOff | None = None) -> Mapping[str, bytes]:
    """File name -> bytes: order.xlsx and a CSV of each of its sheets. Equal for equal input."""
    return files_of(order_tables(order, as_taken), "order", f"Order for {order.of.wall}")


def _above(taken: TakeOff) -> tuple[tuple[Cell, ...], ...]:
    return (("Wall", taken.wall), (MARK_LABEL, taken.digest), ("Money in", taken.currency))


def _in(what: str, taken: TakeOff) -> str:
    """A heading of money with its currency."""
    return f"{what}, {taken.currency}" if taken.currency else what


def _cents(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _needed(value: float | None, unit: str) -> float | int | None:
    """A quantity as it is ordered by: whole pieces, upwards; m3, m2, m and kg to three decimals."""
    if value is None:
        return None
    shown = math.ceil(value - 1e-9) if unit == "piece" else round(value, 3)
    return int(shown) if shown == int(shown) else shown


def _sum(values: Sequence[float | None]) -> float | None:
    return None if None in values else math.fsum(values)


def _known_sum(values: Iterable[float | None]) -> float:
    return math.fsum(each for each in values if each is not None)


def _rows(columns: Columns, of: Iterable[Any]) -> tuple[tuple[Cell, ...], ...]:
    return tuple(tuple(cell(each) for _, cell in columns) for each in of)


def _headings(columns: Columns) -> tuple[Column, ...]:
    return tuple(column for column, _ in columns)


def _total(columns: Columns, sums: Mapping[Column, Cell], words_in: int = 0) -> tuple[Cell, ...]:
    """The row of totals: "In all" in one column, the sums in theirs, the others empty."""
    return tuple("In all" if at == words_in else sums.get(each) for at, each in enumerate(_headings(columns)))


def summary_table(order: Order) -> Table:
    """What each supplier brings, and when."""
    freight = Column(_in("Freight", order.of), MONEY, 12)
    charged = () if order.freight is None else ((freight, lambda each: _cents(each.freight)),)
    columns = (
        (Column("Supplier", width=28), lambda each: each.supplier),
        (lines := Column("Lines", WHOLE, 16), lambda each: len(each.lines)),
        (goods_cost := Column(_in("Goods", order.of), MONEY, 14), _goods_cost),
        (delivery := Column(_in("Delivery", order.of), MONEY, 12), _delivery),
        *charged,
        (together := Column(_in("Together", order.of), MONEY, 14), _together),
        (lead := Column("Longest lead time, days", WHOLE, 14), lambda each: each.lead_time_days),
    )
    sums = {
        lines: sum(len(each.lines) for each in order.suppliers),
        goods_cost: _sum([_goods_cost(each) for each in order.suppliers]),
        delivery: _sum([_delivery(each) for each in order.suppliers]),
        freight: _known_sum(_cents(each.freight) for each in order.suppliers),
        together: _sum([_together(each) for each in order.suppliers]),
        lead: max((each.lead_time_days for each in order.suppliers if each.lead_time_days), default=None),
    }
    missing = tuple(f"{UNKNOWN}: layer {each.layer} ({each.role}), {each.what}" for each in order.unsupplied)
    rows, total = _rows(columns, order.suppliers), _total(columns, sums)
    wall, mark, *rest = _above(order.of)
    return Table("Suppliers", _headings(columns), rows, (wall, (*mark, MARK_WORDS), *rest), total, missing)


def _goods_cost(of: SupplierOrder) -> float | None:
    """As the lines of its order add up, each to the cent."""
    return _sum([_cents(each.goods_cost) for each in of.lines])


def _delivery(of: SupplierOrder) -> float | None:
    return _sum([_cents(each.delivery) for each in of.lines])


def _together(of: SupplierOrder) -> float | None:
    return _sum((_goods_cost(of), _delivery(of), _cents(of.freight) or 0.0))


def supplier_table(order: Order, of: SupplierOrder) -> Table:
    """The order to one supplier."""
    columns = (
        (Column("Product", width=22), lambda each: each.product.key),
        (Column("Name", width=34), lambda each: each.product.name),
        (Column("Needed", THREE, 11), lambda each: _needed(each.needed, each.product.unit)),
        (UNIT, lambda each: each.product.unit),
        (Column("Pack", width=20), lambda each: each.pack_words),
        (Column("Packs", WHOLE, 8), lambda each: each.packs),
        (Column("Ordered", THREE, 11), lambda each: _needed(each.quantity, each.product.unit)),
        (Column("Lengths", width=24), lambda each: each.lengths),
        (Column(_in("Price per unit", order.of), PRICE, 11), lambda each: each.price),
        (goods_cost := Column(_in("Goods", order.of), MONEY, 12), lambda each: _cents(each.goods_cost)),
        (delivery := Column(_in("Delivery", order.of), MONEY, 11), lambda each: _cents(each.delivery)),
        (Column("Least order", TWO, 10), lambda each: each.product.minimum_order),
        (lead := Column("Lead time, days", WHOLE, 10), lambda each: each.product.lead_time_days),
        (Column("Remark", width=26), lambda each: each.remark),
    )
    rows = _rows(columns, of.lines)
    total = _total(columns, {goods_cost: _goods_cost(of), delivery: _delivery(of), lead: of.lead_time_days})
    freight = [] if of.freight is None else [(_in("Freight", order.of), _cents(of.freight), of.freight_words)]
    above = (*_above(order.of), ("Supplier", of.supplier), *freight)
    return Table(f"Order {of.supplier}", _headings(columns), rows, above, total)


def take_off_table(taken: TakeOff) -> Table:
    """Every item as counted."""

    def spent(each: Item) -> float | None:
        return None if each.price is None else round(each.gross * each.price, 2)

    def waste(each: Item) -> float | int | None:
        return _needed(_needed(each.gross, each.unit) - _needed(each.net, each.unit), each.unit)

    columns = (
        (LAYER, lambda each: each.layer),
        (ROLE, lambda each: each.role),
        (ITEM, lambda each: each.what),
        (PRODUCT, lambda each: each.key),
        (Column("Supplier", width=22), lambda each: each.product.supplier if each.product else UNKNOWN),
        (Column("Pieces", WHOLE, 8), lambda each: each.count),
        (Column("Length, mm", ONE, 10), lambda each: each.length_mm),
        (Column("Net", THREE, 11), lambda each: _needed(each.net, each.unit)),
        (Column("Waste", THREE, 11), waste),
        (Column("Gross", THREE, 11), lambda each: _needed(each.gross, each.unit)),
        (UNIT, lambda each: each.unit),
        (Column(_in("Price per unit", taken), PRICE, 11), lambda each: each.price),
        (money := Column(_in("Gross", taken), MONEY, 12), spent),
        (Column("How", width=52), lambda each: each.rule),
    )
    total = _total(columns, {money: _known_sum(map(spent, taken.items))}, words_in=1)
    return Table("Take-off", _headings(columns), _rows(columns, taken.items), _above(taken), total)


def cutting_table(taken: TakeOff) -> Table:
    """Every section's bars: what is sawn from what."""
    columns = (
        Column("Section", width=24),
        Column("Bars", WHOLE, 8),
        Column("Stock, mm", ONE, 11),
        Column("Pieces out of each, mm", width=70),
        Column("Left of each, mm", ONE, 12),
    )
    rows: list[tuple[Cell, ...]] = []
    for section in taken.sections:
        for bar in section.plan.bars:
            counts: dict[float, int] = {}
            for each in bar.pieces_mm:
                counts[each] = counts.get(each, 0) + 1
            words = " + ".join(f"{count} x {length:g}" for length, count in counts.items())
            rows.append((section.name, bar.count, bar.stock_mm, words, bar.offcut_mm))
        if section.loose_count:
            rows.append((section.name, section.loose_count, section.loose_mm, "to measure, round openings", None))
    notes = tuple(
        f"{each.name}: {each.plan.count} bars, {each.plan.stock_mm / 1000:.2f} m bought for "
        f"{each.plan.pieces_mm / 1000:.2f} m of pieces, waste {each.plan.waste_share:.1%}"
        + ("; no plan buys less" if each.plan.proven else "")
        for each in taken.sections
        if each.plan.bars
    )
    return Table("Cutting plan", columns, tuple(rows), _above(taken), None, notes)


def score_table(taken: TakeOff) -> Table:
    """The score's own cost, per m2 and for the house: its totals are the wall's cost, exactly."""
    money = [Column(_in(f"{each.capitalize()} per m2", taken), MONEY, 12) for each in (*PARTS, "all")]
    house = [Column(_in(f"{each.capitalize()}, house", taken), MONEY, 13) for each in (*PARTS, "all")]
    columns = (LAYER, ROLE, *money, *house)
    rows = []
    for number, (role, part) in enumerate(zip(taken.roles, taken.figures.by_layer, strict=True), 1):
        values = [*(getattr(part, each) for each in PARTS), part.total]
        rows.append((number, role, *values, *(None if each is None else each * taken.area_m2 for each in values)))
    sums = [_sum([row[at] for row in rows]) for at in range(2, len(columns))]
    above = (*_above(taken), ("Outer faces less openings, m2", taken.area_m2))
    return Table("By the score", columns, tuple(rows), above, ("", "In all", *sums))


def tie_table(order: Order) -> Table:
    """The score beside the take-off, item by item."""

    def at_price(each: Item, quantity: float) -> float | None:
        return None if each.price is None else each.price * quantity

    compared = (
        (Column(_in("By the score", order.of), MONEY, 13), lambda each: at_price(each, each.score)),
        (Column(_in("Counted", order.of), MONEY, 13), lambda each: at_price(each, each.net)),
        (Column(_in("Difference", order.of), MONEY, 13), lambda each: at_price(each, each.net - each.score)),
    )
    columns = (
        (LAYER, lambda each: each.layer),
        (ITEM, lambda each: each.what),
        (PRODUCT, lambda each: each.key),
        (UNIT, lambda each: each.unit),
        (Column("By the score, net", TWO, 12), lambda each: each.score),
        (Column("Counted, net", TWO, 12), lambda each: each.net),
        (Column("Difference", TWO, 11), lambda each: each.net - each.score),
        *compared,
        (Column("Why", width=60), why),
    )
    items = order.of.items
    total = _total(columns, {column: _known_sum(map(cell, items)) for column, cell in compared}, words_in=1)
    return Table("Score and take-off", _headings(columns), _rows(columns, items), _above(order.of), total)


def steps_table(order: Order) -> Table:
    """From what the score spends to what the order does, step by step; the last row is all of it."""
    titles = (_in(each, order.of) for each in ("By the score", "Order"))
    columns = (Column("Step", width=76), *(Column(each, MONEY, 16) for each in titles))
    *steps, whole = ((each.words, each.of_the_score, each.money) for each in reconciled(order))
    return Table("Score and order", columns, tuple(steps), _above(order.of), whole)


def rules_table(taken: TakeOff) -> Table:
    """How it was counted."""
    rows = tuple((number, rule) for number, rule in enumerate(taken.rules, 1))
    sizes = (
        ("Thickness of the wall, mm", taken.thickness_mm),
        ("Outer faces less openings, m2", taken.area_m2),
        ("Openings, m2", taken.openings_m2),
    )
    return Table("Rules", (Column("No.", WHOLE, 30), Column("Rule", width=120)), rows, (*_above(taken), *sizes))
