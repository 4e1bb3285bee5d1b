"""What a comparison of suppliers says: sentences and rows of its tables; nothing of Dash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from optimiser.brief.brief import Brief
from optimiser.locales import many
from optimiser.market.break_even import NEVER
from optimiser.market.suppliers import SupplierFront, SupplierFronts
from optimiser.search.landmarks import missing
from optimiser.space.buildable import RULES

from ..numbers import spelt
from ..rows.choose import Row
from ..words import QUANTITIES, listed, money, same, signed, step_size, symbol

BEST = {
    "thickness_mm": "thinnest",
    "cost_per_m2": "cheapest",
    "carbon_kgco2e_m2": "lowest carbon",
    "weight_kg_m2": "lightest",
    "whole_life_kgco2e_m2": "lowest whole-life carbon",
}
MORE = {
    "thickness_mm": "thicker",
    "cost_per_m2": "dearer",
    "carbon_kgco2e_m2": "higher in carbon",
    "weight_kg_m2": "heavier",
    "whole_life_kgco2e_m2": "higher over its life",
}
LEVER_NOUNS = {"price": "price", "carbon": "carbon of its making", "conductivity": "conductivity"}
LEVER_DIGITS = {"price": 2, "carbon": 3, "conductivity": 4}
SURE = 0.9  # of the scenarios: a hold that is told


# -- fronts --------------------------------------------------------------------------------------------------------


def case_name(front: SupplierFront) -> str:
    """What a case is called, and known by: 'without Marl Insulation', 'boards by Corvane Sawmill alone'."""
    return front.case.words()


def case_of(fronts: SupplierFronts | None, name: str | None) -> SupplierFront | None:
    """The case of that name."""
    return next((each for each in fronts.fronts if case_name(each) == name), None) if fronts else None


def first_case(fronts: SupplierFronts) -> str | None:
    """The case to begin with: the supplier without whom the front loses most."""
    able = [each for each in fronts.without if each.losses is not None and each.losses.volume is not None]
    worst = min(able, key=lambda each: each.losses.volume, default=None)
    return case_name(worst or fronts.fronts[0]) if fronts.fronts else None


def compared_keys(fronts: SupplierFronts) -> list[str]:
    """The objectives that are compared like for like: all but the thickness, where there are others."""
    return [key for key in fronts.objectives if key != "thickness_mm"] or list(fronts.objectives)


def case_rows(fronts: SupplierFronts) -> list[dict[str, Any]]:
    """A row for every case: what its front is, and what it loses; `reason` where no wall is left."""
    rows = []
    for each in fronts.fronts:
        row: dict[str, Any] = {"id": case_name(each), "case": case_name(each), "walls": len(each)}
        lost = each.losses
        if lost is None or not len(each):
            rows.append(row | {"reason": reason_words(each)})
            continue
        row |= {"reason": None, "stay": lost.stay}
        row |= {f"best_{key}": lost.best.get(key) for key in fronts.objectives}
        like = {key: lost.like_for_like[key] for key in compared_keys(fronts)}
        row |= {f"like_{key}": more.median for key, more in like.items()}
        row["gone"] = max(more.unreached for more in like.values())
        rows.append(row)
    return rows


def reason_words(front: SupplierFront) -> str:
    """Why a case leaves no wall."""
    words = front.reason or "it was not settled"
    if any(text in words for text in RULES.values()):
        words = f"no wall can be built: {rule_words(words)}"
    return words[:1].upper() + words[1:]


def rule_words(reason: str) -> str:
    """The rules that a wall breaks, short: what it takes, without the reason why."""
    broken = [text for text in RULES.values() if text in reason]
    short = [text.partition(":")[0].partition(";")[0] for text in broken]
    return f"it takes {listed(short)}" if short else reason


def case_words(front: SupplierFront, fronts: SupplierFronts, currency: str) -> list[str]:
    """What a case means, in at most three lines."""
    name = case_name(front)
    name = name[:1].upper() + name[1:]
    lost = front.losses
    if lost is None or not len(front):
        return [f"{name}: no wall at all.", f"{reason_words(front)}."]
    now = "as today" if len(front) == fronts.walls else f"{spelt(fronts.walls, ',')} today"
    first = f"{name}: {many(len(front), 'wall')} on the front, {now}; {_staying(lost.stay, fronts.walls)}."
    return [line for line in (first, _best_words(front, fronts, currency), _like_words(front, currency)) if line]


def _staying(stay: int, walls: int) -> str:
    if stay == walls:
        return "all of today’s stay"
    return f"{spelt(stay, ',')} of today’s {'stays' if stay == 1 else 'stay'}" if stay else "none of today’s stays"


def _best_words(front: SupplierFront, fronts: SupplierFronts, currency: str) -> str:
    """What happens to the best of each figure: 'The thinnest is 12 mm thicker, the cheapest as today.'"""
    changes = {key: front.losses.best[key] for key in fronts.objectives if key in front.losses.best}
    if all(same(key, value) for key, value in changes.items()):
        return f"The {listed([BEST[key] for key in changes])} are as good as today." if len(changes) > 1 else ""
    said = [
        f"the {BEST[key]} {'as today' if same(key, value) else f'is {step_size(key, value, currency)} {MORE[key]}'}"
        for key, value in changes.items()
    ]
    words = listed(said)
    return f"{words[:1].upper()}{words[1:]}."


def _like_words(front: SupplierFront, currency: str) -> str:
    """What it takes to keep to the same thickness, or else to be no worse in the rest."""
    lost = front.losses
    figures, lead = (
        (lost.same_thickness, "At the same thickness")
        if lost.same_thickness
        else (lost.like_for_like, "No worse in everything else")
    )
    said = [_more_words(key, more, currency) for key, more in figures.items() if more.median is not None]
    gone = max((more.unreached for more in figures.values()), default=0)
    words = [f"{lead}: {'; '.join(said)}."] if said else []
    if gone and lost.same_thickness:
        words.append("Walls as thin as today’s thinnest are gone.")
    return " ".join(words)


def _more_words(key: str, more: Any, currency: str) -> str:
    """'cost +€2.10 in the median, +€7.57 at worst'."""
    noun = QUANTITIES[key].short
    if same(key, more.worst):
        return f"{noun} as today"
    worst = f"{signed(key, more.worst, currency)} at worst"
    if same(key, more.median):
        return f"{noun} as today in the median, {worst}"
    middle = signed(key, more.median, currency)
    return (
        f"{noun} {middle} throughout" if worst.startswith(f"{middle} ") else f"{noun} {middle} in the median, {worst}"
    )


def other_rows(front: SupplierFront, brief: Brief | None) -> list[dict[str, Any]]:
    """The walls of a case as rows like those of the front; `wall` is the id of today's wall with the same figures."""
    columns = {key: values for key, values in front.walls.items() if key != "row"}
    rows = [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]
    house = brief.house if brief else None
    lost = house.floor_area_lost([row["thickness_mm"] / 1000 for row in rows]).tolist() if house and rows else []
    named = [row | {"wall": row["id"], "id": row["id"] or case_name(front)} for row in rows]
    return [row | {"floor_area_lost_m2": area} for row, area in zip(named, lost, strict=True)] if lost else named


def same_place_words(fronts: SupplierFronts) -> str:
    """What stays in every comparison, in words."""
    lines = list(dict.fromkeys(line for each in fronts.fronts for line in each.exempt))
    return (
        f"Kept in every comparison, because the brief holds its place to one product: {'; '.join(lines)}."
        if lines
        else ""
    )


# -- break-even ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class BreakEvens:
    """Break-even values of one lever, sorted out. rows: those that can enter; never: that cannot at any value, with
    where they could stand; others: reason -> products that no value is asked of."""

    rows: list[dict[str, Any]]
    never: list[tuple[str, str]]
    others: dict[str, list[str]]


def prices_of(
    values: Sequence[Mapping[str, Any]], lever: str, supplier: str | None, currency: str, known: Any
) -> BreakEvens:
    """Break-even values sorted out, the least change first.

    supplier: of whom, None of all; known: lever -> what was found for the other levers, to say what would help instead.
    """
    rows, never, others = [], [], {}
    for each in values:
        if supplier is not None and each["supplier"] != supplier:
            continue
        if each["at"] is not None:
            rows.append(_price_row(each, lever, currency))
        elif each["reason"] == NEVER.get(lever):
            never.append((sold(each), _lacking(each, lever, known)))
        else:
            others.setdefault(each["reason"], []).append(sold(each))
    return BreakEvens(sorted(rows, key=lambda row: (row["fall"] is None, row["fall"])), never, others)


def sold(each: Mapping[str, Any]) -> str:
    """A product with who sells it."""
    return f"{plain_name(each['name'])}, {each['supplier']}"


def plain_name(name: str) -> str:
    """A product's name with a proper sign between its sizes."""
    return name.replace(" x ", "×")


def digits_apart(one: float, other: float, least: int) -> int | None:
    """How many digits show two figures as two, `least` or a few more; None where they are one within rounding."""
    return next((digits for digits in range(least, least + 4) if round(one, digits) != round(other, digits)), None)


def _price_row(each: Mapping[str, Any], lever: str, currency: str) -> dict[str, Any]:
    digits = digits_apart(each["today"], each["at"], LEVER_DIGITS[lever])
    money_unit, _, per = each["unit"].partition("/")
    return {
        "id": each["product"],
        "product": plain_name(each["name"]),
        "supplier": each["supplier"],
        "where": listed(list(each["slots"])),
        "today": each["today"],
        "at": each["at"],
        "digits": LEVER_DIGITS[lever] if digits is None else digits,
        "near": digits is None,
        "per": written_unit(per if lever == "price" and money_unit == currency else each["unit"], currency),
        "fall": None if each["change"] is None else -each["change"],
        "wall": each["in_short"],
    }


def written_unit(unit: str, currency: str) -> str:
    """A unit as people write it: m2 -> m², kgCO2e -> kgCO₂e."""
    pairs = {"m2": "m²", "m3": "m³", "CO2": "CO₂", f"{currency}/": f"{symbol(currency).strip()}/"}
    for plain, proper in pairs.items():
        unit = unit.replace(plain, proper)
    return unit


def _lacking(each: Mapping[str, Any], lever: str, known: Mapping[str, Sequence[Mapping[str, Any]]]) -> str:
    """Where a product could stand, and what else would let it in, as far as that was worked out."""
    words = [f"could stand as {listed(list(each['slots']))}"] if each["slots"] else []
    for other, values in known.items():
        same_one = next((row for row in values if row["product"] == each["product"]), None)
        if other == lever or same_one is None:
            continue
        noun = LEVER_NOUNS[other]
        if same_one["at"] is not None and same_one["change"] is not None:
            words.append(f"would enter with its {noun} {percent(-same_one['change'])} lower")
        elif same_one["reason"] == NEVER.get(other):
            words.append(same_one["reason"])
    return "; ".join(words)


def percent(share: float) -> str:
    """A share as a percentage: '12.4 %', never '0.0 %'."""
    return f"less than {spelt(0.1, '.1f')} %" if 0 < share < 0.001 else f"{spelt(100 * share, '.1f')} %"


def prices_words(prices: BreakEvens, lever: str, currency: str) -> str:
    """The line above the table: how many could enter, and which comes nearest."""
    if not prices.rows:
        return "No product that the brief lets in would enter."
    near = prices.rows[0]
    noun = LEVER_NOUNS[lever]
    value = (
        money(near["at"], currency, near["digits"]) + f" per {near['per']}"
        if lever == "price"
        else f"{spelt(near['at'], '.' + str(near['digits']) + 'f')} {near['per']}"
    )
    less = "within rounding of today’s" if near["near"] else f"{percent(near['fall'] or 0.0)} below today"
    return (
        f"{many(len(prices.rows), 'product')} on no wall of the front would enter at a lower {noun}. Nearest: "
        f"{near['product']} of {near['supplier']}, at {value}, {less}."
    )


# -- how sure a place on the front is ------------------------------------------------------------------------------


def hold_words(brief: Brief | None, rows: Sequence[Row]) -> list[str]:
    """What the hold of a wall on the front means, with the ranges of the brief; nothing where it was not worked out."""
    known = [row["stability"] for row in rows if not missing(row.get("stability"))]
    if brief is None or not known:
        return []
    ranges = brief.ranges
    each = [
        f"all prices of a supplier together by ±{_share(ranges.supplier_price)}",
        f"each product’s by ±{_share(ranges.product_price)}",
        f"labour by ±{_share(ranges.labour)}",
        f"carbon within its range, ±{_share(ranges.declared_carbon)} where a product declares its own",
    ]
    sure = sum(value >= SURE for value in known)
    return [
        f"“Stays on front” in the table is the share of {spelt(ranges.scenarios, ',')} scenarios in which a wall stays "
        f"on the front while prices and carbon move: {listed(each)}. It is tried against walls one product away, so it "
        "is an upper bound.",
        f"{many(sure, 'wall')} of {spelt(len(known), ',')} {'stays' if sure == 1 else 'stay'} in at least "
        f"{_share(SURE)} of them. Choose “{QUANTITIES['stability'].noun}” as the colour of the front to see which.",
    ]


def _share(share: float) -> str:
    return f"{spelt(100 * share, 'g')} %"
