"""The cost of one wall by part, supplier and operation: words and tables; nothing of Dash."""

from __future__ import annotations

from optimiser.checks.judge import Judged
from optimiser.score.cost_parts import PARTS, CostParts
from optimiser.search.landmarks import missing

from ..numbers import spelt
from ..words import money, symbol
from .facts import FactRow, FactTable


def cost_head(judged: Judged, currency: str) -> str:
    """The part in a line: the sum and its largest shares."""
    if judged.cost is None:
        return ""
    parts = judged.cost.by_part
    if parts.total is None:
        return f"not known: no price for {', '.join(judged.unpriced)}"
    shares = sorted(((getattr(parts, each), each) for each in PARTS), reverse=True)
    words = ", ".join(f"{name} {money(value, currency, 1)}" for value, name in shares[:2] if value)
    return f"{money(parts.total, currency, 1)} per m²: {words}"


def cost_table(judged: Judged, currency: str) -> FactTable:
    """Layers by part, and the wall. Two decimals, the unit in the heading."""
    heads = (f"{symbol(currency).strip()} per m²", *PARTS, "all")
    if judged.cost is None:
        return FactTable(heads, ())
    rows = [
        FactRow((f"{each.number} {each.role}", *_cells(parts)), "", each.number)
        for each, parts in zip(judged.layers, judged.cost.by_layer, strict=True)
    ]
    return FactTable(heads, (*rows, FactRow(("the wall", *_cells(judged.cost.by_part)), "sum")))


def _cells(parts: CostParts) -> list[str]:
    return [_amount(value) for value in (*(getattr(parts, each) for each in PARTS), parts.total)]


def _amount(value: float | None) -> str:
    """An amount; a dash where none is due, 'not known' where it can't be told."""
    if missing(value):
        return "not known"
    return spelt(value, ",.2f") if abs(value) >= 0.005 else "–"


def supplier_words(judged: Judged, currency: str) -> str:
    """Whose money it is, the largest first; '' where nothing is bought."""
    if judged.cost is None or not judged.cost.by_supplier:
        return ""
    paid = sorted(judged.cost.by_supplier.items(), key=lambda each: (-each[1], each[0]))
    words = ", ".join(f"{name} {money(value, currency, 2)}" for name, value in paid)
    return f"To suppliers, per m²: {words}."


def hours_words(judged: Judged) -> str:
    """Hours by operation, the longest first; '' where the brief states none."""
    if judged.cost is None or not judged.cost.labour_hours:
        return ""
    spent = sorted(judged.cost.labour_hours.items(), key=lambda each: (-each[1], each[0]))
    words = ", ".join(f"{name} {spelt(value, '.2f')}" for name, value in spent)
    return f"Labour, {spelt(judged.cost.labour_h_per_m2, '.2f')} hours per m²: {words}."
