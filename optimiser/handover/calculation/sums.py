"""Carbon by module and cost by part of one wall, as records for the calculation sheet."""

from __future__ import annotations

from materials.models import MODULES

from ...brief.brief import Brief
from ...checks.judge import Judged
from ...document import NONE, UNKNOWN, DocumentPart, DocumentTable, Items, Section, Text, exact, in_print, number
from ...score.cost_parts import PARTS, CostParts

WORDS = {
    "A1-A3": "making",
    "A4": "carrying to the site",
    "A5": "building in, with waste",
    "B4": "replacing",
    "C1": "taking down",
    "C2": "carrying away",
    "C3": "burning or preparing for use",
    "C4": "land fill",
    "D": "beyond the building, never counted",
}
PER_M2 = "kgCO₂e/m²"
MODULES_WIDE = (1.4, 3.4, 1.2, 1.2, 1.2, 1.4)


def carbon_section(judged: Judged) -> Section:
    """By module and by layer; what is stored stands apart."""
    carbon = judged.carbon
    rows = [_module(name, judged) for name in MODULES]
    rows.append(("all", "what counts", "", "", "", number(carbon.score, 3)))
    heads = ("module", "what happens", "fossil", "biogenic", "land use", "counted")
    modules = DocumentTable(
        f"Carbon by module of EN 15978, {PER_M2}", heads, tuple(rows), words=2, totals=1, widths=MODULES_WIDE
    )
    layers = tuple(
        (str(each.number), each.role, number(each.score, 3), number(_positive(each.stored), 3))
        for each in carbon.layers
    )
    total = ("", "the wall", number(carbon.score, 3), number(_positive(carbon.stored), 3))
    by_layer = DocumentTable(
        f"Carbon by layer: what counts in {PER_M2}, what is stored in kgCO₂/m²",
        ("no.", "layer", "counted", "stored, apart"),
        (*layers, total),
        words=2,
        totals=1,
        widths=(0.5, 4, 1.2, 1.2),
    )
    parts: list[DocumentPart] = [
        Text(f"Counted over {exact(carbon.study_years)} years: {carbon.scope} ({_rule(carbon.balanced)})."),
        modules,
    ]
    parts.append(by_layer)
    if carbon.stored:
        parts.append(Text(f"Stored while the wall stands, never netted off: {number(-carbon.stored, 2)} kgCO₂/m²."))
        parts.append(Items(tuple(dict.fromkeys(_sentence(each) for each in carbon.stored_words))))
    elif carbon.stored is None:
        parts.append(Text(f"Stored carbon: {UNKNOWN}."))
    if carbon.operational is not None:
        words = f"Heat lost over {exact(carbon.study_years)} years: {number(carbon.operational, 2)} {PER_M2}."
        if carbon.whole_life is not None:
            words += f" Whole life, with what counts above: {number(carbon.whole_life, 2)} {PER_M2}."
        parts.append(Text(words))
    return Section("Carbon (EN 15978)", tuple(parts))


def _rule(balanced: bool) -> str:
    return "biogenic carbon −1 in, +1 out" if balanced else "biogenic carbon shown, not counted"


def _positive(stored: float | None) -> float | None:
    return None if stored is None else abs(stored)


def _sentence(words: str) -> str:
    words = in_print(words)
    return f"{words[0].upper()}{words[1:]}."


def _module(name: str, judged: Judged) -> tuple[str, ...]:
    carbon = judged.carbon
    value = carbon.modules.get(name)
    counts = name in carbon.counted
    if value is None:
        said = "not stated" if name == "D" else UNKNOWN
        return (name, WORDS[name], said, said, said, said if counts else "not counted")
    score = value.total if carbon.balanced else value.fossil + value.land_use
    flows = (number(each, 3) for each in (value.fossil, value.biogenic, value.land_use))
    return (name, WORDS[name], *flows, number(score, 3) if counts else "not counted")


def cost_section(judged: Judged, brief: Brief | None, currency: str) -> Section:
    """By layer and part, by supplier, hours by operation."""
    cost = judged.cost
    if cost is None:
        return Section("Cost", (Text(f"Cost: {UNKNOWN}, no price lists were given."),))
    rows = [
        (str(each.number), each.role, _bought(each.product, each.supplier), *_money(parts))
        for each, parts in zip(judged.layers, cost.by_layer, strict=True)
    ]
    rows.append(("", "the wall", "", *_money(cost.by_part)))
    heads = ("no.", "layer", "product, supplier", *PARTS, "all")
    grid = DocumentTable(
        f"Cost by layer and part, {currency} per m² of wall",
        heads,
        tuple(rows),
        words=3,
        totals=1,
        widths=(0.6, 2.4, 3.8, *([1.25] * (len(PARTS) + 1))),
    )
    parts: list[DocumentPart] = [grid]
    if judged.unpriced:
        parts.append(Text(f"No price is known for {', '.join(judged.unpriced)}."))
    paid = sorted(cost.by_supplier.items(), key=lambda each: (-each[1], each[0]))
    if paid:
        said = "; ".join(f"{name} {number(value, 2)}" for name, value in paid)
        parts.append(Text(f"To suppliers, {currency} per m²: {said}."))
    hours = sorted(cost.labour_hours.items(), key=lambda each: (-each[1], each[0]))
    if hours:
        said = ", ".join(f"{name} {number(value, 3)}" for name, value in hours)
        rate = "" if brief is None else f", at {exact(brief.labour.rate_per_h)} {currency} per hour"
        parts.append(Text(f"Labour, {number(cost.labour_h_per_m2, 3)} hours per m²{rate}: {said}."))
    return Section("Cost", tuple(parts))


def _bought(product: str, supplier: str) -> str:
    return ", ".join(filter(None, (product, supplier))) or "on no list"


def _money(parts: CostParts) -> list[str]:
    values = [*(getattr(parts, each) for each in PARTS), parts.total]
    return [UNKNOWN if value is None else number(value, 2) if abs(value) >= 0.005 else NONE for value in values]
