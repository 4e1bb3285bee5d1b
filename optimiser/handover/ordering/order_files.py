"""The order as files: a workbook with a sheet per supplier, take-off, cutting plan and score; CSV of each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ...score.cost_parts import PARTS
from .order import Order, SupplierOrder, reconciled, why
from .tables import MONEY, ONE, TWO, WHOLE, Cell, Column, Table, files_of
from .take_off import TakeOff

UNKNOWN = "not on the lists"


def order_tables(order: Order) -> tuple[Table, ...]:
    """Every sheet: the summary, one order per supplier, take-off, cutting plan, the score, how they tie, rules."""
    return (
        summary_table(order),
        *(supplier_table(order, each) for each in order.suppliers),
        take_off_table(order.of),
        cutting_table(order.of),
        score_table(order.of),
        steps_table(order),
        tie_table(order),
        rules_table(order.of),
    )


def order_files(order: Order) -> Mapping[str, bytes]:
    """File name -> bytes: order.xlsx and a CSV of each of its sheets. Equal for equal input."""
    return files_of(order_tables(order), "order", f"Order for {order.of.wall}")


def _above(taken: TakeOff) -> tuple[tuple[str, Cell], ...]:
    return (("Wall", taken.wall), ("Build-up", taken.digest), ("Money in", taken.currency))


def _sum(values: Sequence[float | None]) -> float | None:
    return None if None in values else math.fsum(values)


def summary_table(order: Order) -> Table:
    """What each supplier brings, and when."""
    columns = (
        Column("Supplier", width=28),
        Column("Lines", WHOLE, 8),
        Column("Goods", MONEY, 14),
        Column("Delivery", MONEY, 12),
        Column("Together", MONEY, 14),
        Column("Longest lead time, days", WHOLE, 14),
    )
    rows = []
    for each in order.suppliers:
        together = _sum((each.goods, each.delivery))
        rows.append((each.supplier, len(each.lines), each.goods, each.delivery, together, each.lead_time_days))
    together = _sum((order.goods, order.delivery))
    lead = max((each.lead_time_days for each in order.suppliers if each.lead_time_days), default=None)
    total = ("In all", sum(len(each.lines) for each in order.suppliers), order.goods, order.delivery, together, lead)
    missing = tuple(f"{UNKNOWN}: layer {each.layer} ({each.role}), {each.what}" for each in order.unsupplied)
    return Table("Suppliers", columns, tuple(rows), _above(order.of), total, missing)


def supplier_table(order: Order, of: SupplierOrder) -> Table:
    """The order to one supplier."""
    columns = (
        Column("Product", width=22),
        Column("Name", width=34),
        Column("Needed", TWO, 11),
        Column("Unit", width=7),
        Column("Pack", width=20),
        Column("Packs", WHOLE, 8),
        Column("Ordered", TWO, 11),
        Column("Lengths", width=24),
        Column("Price per unit", MONEY, 11),
        Column("Goods", MONEY, 12),
        Column("Delivery", MONEY, 11),
        Column("Least order", TWO, 10),
        Column("Lead time, days", WHOLE, 10),
        Column("Remark", width=26),
    )
    rows = tuple(
        (
            each.product.key,
            each.product.name,
            each.needed,
            each.product.unit,
            each.pack_words,
            each.packs,
            each.quantity,
            each.lengths,
            each.product.price,
            each.goods,
            each.delivery,
            each.product.minimum_order,
            each.product.lead_time_days,
            "raised to the least order" if each.raised else "",
        )
        for each in of.lines
    )
    total = ("In all", *[""] * 8, of.goods, of.delivery, None, of.lead_time_days, "")
    return Table(f"Order {of.supplier}", columns, rows, (*_above(order.of), ("Supplier", of.supplier)), total)


def take_off_table(taken: TakeOff) -> Table:
    """Every item as counted."""
    columns = (
        Column("Layer", WHOLE, 7),
        Column("Role", width=18),
        Column("Item", width=18),
        Column("Product", width=24),
        Column("Supplier", width=22),
        Column("Pieces", WHOLE, 8),
        Column("Length, mm", ONE, 10),
        Column("Net", TWO, 11),
        Column("Waste", TWO, 11),
        Column("Gross", TWO, 11),
        Column("Unit", width=7),
        Column("Price per unit", MONEY, 11),
        Column("Gross money", MONEY, 12),
        Column("How", width=52),
    )
    rows = tuple(
        (
            each.layer,
            each.role,
            each.what,
            each.key,
            each.product.supplier if each.product else UNKNOWN,
            each.count,
            each.length_mm,
            each.net,
            each.waste,
            each.gross,
            each.unit,
            each.price,
            None if each.price is None else each.gross * each.price,
            each.rule,
        )
        for each in taken.items
    )
    money = math.fsum(row[12] for row in rows if row[12] is not None)
    total = ("", "In all", *[""] * 3, *[None] * 5, "", None, money, "")
    return Table("Take-off", columns, rows, _above(taken), total)


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
    money = [Column(f"{each.capitalize()} per m2", MONEY, 12) for each in (*PARTS, "all")]
    house = [Column(f"{each.capitalize()}, house", MONEY, 13) for each in (*PARTS, "all")]
    columns = (Column("Layer", WHOLE, 7), Column("Role", width=18), *money, *house)
    rows = []
    for number, (role, part) in enumerate(zip(taken.roles, taken.figures.by_layer, strict=True), 1):
        values = [*(getattr(part, each) for each in PARTS), part.total]
        rows.append((number, role, *values, *(None if each is None else each * taken.area_m2 for each in values)))
    sums = [_sum([row[at] for row in rows]) for at in range(2, len(columns))]
    above = (*_above(taken), ("Outer faces less openings, m2", taken.area_m2))
    return Table("By the score", columns, tuple(rows), above, ("", "In all", *sums))


def tie_table(order: Order) -> Table:
    """The score beside the take-off, item by item."""
    columns = (
        Column("Layer", WHOLE, 7),
        Column("Item", width=18),
        Column("Product", width=24),
        Column("Unit", width=7),
        Column("By the score, net", TWO, 12),
        Column("Counted, net", TWO, 12),
        Column("Difference", TWO, 11),
        Column("By the score, money", MONEY, 13),
        Column("Counted, money", MONEY, 13),
        Column("Difference, money", MONEY, 13),
        Column("Why", width=60),
    )
    rows = []
    for each in order.of.items:
        quantities = (each.score, each.net, each.net - each.score)
        money = (None,) * 3 if each.price is None else tuple(each.price * value for value in quantities)
        rows.append((each.layer, each.what, each.key, each.unit, *quantities, *money, why(each)))
    sums = [math.fsum(row[at] for row in rows if row[at] is not None) for at in (7, 8, 9)]
    total = ("", "In all", "", "", None, None, None, *sums, "")
    return Table("Score and take-off", columns, tuple(rows), _above(order.of), total)


def steps_table(order: Order) -> Table:
    """From what the score spends to what the order does, step by step; the last row is all of it."""
    columns = (Column("Step", width=76), Column("By the score", MONEY, 16), Column("Order", MONEY, 16))
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
