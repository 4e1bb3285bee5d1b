"""Walls side by side as facts: figures with their differences to the first, and the contents of every slot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from optimiser.checks.common.lines import Line
from optimiser.house.house import HouseTotals
from optimiser.locales import many
from optimiser.search.landmarks import asked_of, missing
from optimiser.search.rates import COLUMNS
from optimiser.template import FILL, INNER_FRAME, MAIN_FILLS, ZONE
from optimiser.wall.scores import WHOLE_LIFE

from ..numbers import spelt
from ..wall.judgements import lines
from ..wall.my_wall import OTHERS
from ..wall.steps import Names
from ..words import listed, millimetres, money, symbol
from .columns import WallColumn

MINUS = "\u2212"
CARBON = "kgCO₂e"


@dataclass(frozen=True)
class Figure:
    """A line of figures: its name with the unit, each value, and each difference to the first ('' for the first)."""

    name: str
    unit: str
    values: tuple[str, ...]
    differences: tuple[str, ...]


@dataclass(frozen=True)
class Cell:
    """What a wall has in one place. state: first, same or differs; said: how it differs, in words."""

    words: str
    beside: str
    state: str
    said: str = ""


@dataclass(frozen=True)
class ComparedContents:
    """One slot, or one judgement, wall by wall."""

    name: str
    cells: tuple[Cell, ...]


# Figures


def shown(value: float | None, digits: int) -> str:
    """A figure to so many digits, a dash where it is unknown."""
    if missing(value):
        return "–"
    return spelt(_rounded(value, digits), f",.{digits}f").replace("-", MINUS)


def difference(value: float | None, first: float | None, digits: int) -> str:
    """A signed difference of the figures as they are shown; 'same' where there is none, a dash where one is unknown."""
    more = apart(value, first, digits)
    if more is None:
        return "–"
    return f"{'+' if more > 0 else MINUS}{spelt(abs(more), f',.{digits}f')}" if more else "same"


def apart(value: float | None, first: float | None, digits: int) -> float | None:
    """How much more than the first, from the rounded figures that a reader sees; None where one is unknown."""
    if missing(value) or missing(first):
        return None
    return _rounded(_rounded(value, digits) - _rounded(first, digits), digits)


def _rounded(value: float, digits: int) -> float:
    return round(value, digits) + 0.0  # no minus before a nought


def _figure(name: str, unit: str, digits: int, values: Sequence[float | None]) -> Figure | None:
    """One line; None where no wall has the figure."""
    if all(missing(each) for each in values):
        return None
    first, *others = values
    differences = ("", *(difference(each, first, digits) for each in others))
    return Figure(name, unit, tuple(shown(each, digits) for each in values), differences)


def per_m2(walls: Sequence[WallColumn], currency: str) -> list[Figure]:
    """The figures of the walls themselves."""
    money = symbol(currency).strip()
    stored = [None if missing(_of(each, "biogenic_kgco2e_m2")) else -_of(each, "biogenic_kgco2e_m2") for each in walls]
    halves = 0 if all(float(each.row["thickness_mm"]).is_integer() for each in walls) else 1
    made = [
        _figure("thickness", "mm", halves, _row(walls, "thickness_mm")),
        _figure("U", "W/m²K", 4, _row(walls, "u_value")),
        _figure("cost", f"{money}/m²", 1, _row(walls, "cost_per_m2")),
        _figure("carbon", f"{CARBON}/m²", 1, _row(walls, "carbon_kgco2e_m2")),
        _figure("carbon stored", "kgCO₂/m²", 1, stored),
        _figure("whole-life carbon", f"{CARBON}/m²", 1, _row(walls, WHOLE_LIFE)),
        _figure("weight", "kg/m²", 1, _row(walls, "weight_kg_m2")),
    ]
    return [each for each in made if each is not None]


def for_the_house(walls: Sequence[WallColumn], currency: str) -> list[Figure]:
    """What the walls come to for the house of the brief; nothing without a house."""
    money = symbol(currency).strip()

    def total(read: Callable[[HouseTotals], float | None]) -> list[float | None]:
        return [None if each.totals is None else read(each.totals) for each in walls]

    made = [
        _figure("floor area lost", "m²", 2, total(lambda each: each.floor_area_lost_m2)),
        _figure("floor area lost", "%", 2, total(lambda each: each.floor_area_lost_percent)),
        _figure("worth of that floor", money, 0, total(lambda each: each.floor_value_lost)),
        _figure("floor area left", "m²", 2, total(lambda each: each.floor_area_m2)),
        _figure("ground taken", "m²", 2, total(lambda each: each.ground_taken_m2 or None)),
        _figure("cost of the walls", money, 0, total(lambda each: each.cost)),
        _figure("carbon of the walls", CARBON, 0, total(lambda each: each.carbon_kgco2e)),
        _figure("whole-life carbon of the walls", CARBON, 0, total(lambda each: each.whole_life_kgco2e)),
        _figure("heat loss of the walls", "W/K", 2, total(lambda each: each.heat_loss_w_k)),
    ]
    return [each for each in made if each is not None]


def _of(wall: WallColumn, key: str) -> float | None:
    return wall.row.get(key)


def _row(walls: Sequence[WallColumn], key: str) -> list[float | None]:
    return [_of(each, key) for each in walls]


def house_words(brief: Any) -> str:
    """What the totals are of: the house, its fixed side and its reference wall."""
    house = getattr(brief, "house", None)
    if house is None:
        return "The brief describes no house, so floor area and totals are not known. A [house] in it would give them."
    against = f"{millimetres(house.reference_thickness_mm)} mm" if house.reference_m else "no thickness"
    area = f"{many(house.storeys, 'storey')} with {spelt(house.wall_area_m2, ',.1f')} m² of external wall less openings"
    return f"{area}. Its {house.fixed} is fixed; floor area lost is counted against walls of {against}."


def at_a_glance(wall: WallColumn, first: WallColumn, currency: str) -> str:
    """How a wall differs from the first in one sentence: '40 mm thinner, 2.36 m² more floor, …'."""
    parts = []
    thicker = apart(wall.row["thickness_mm"], first.row["thickness_mm"], 1)
    if thicker:
        parts.append(f"{millimetres(abs(thicker))} mm {'thicker' if thicker > 0 else 'thinner'}")
    if wall.totals is not None and first.totals is not None:
        lost = apart(wall.totals.floor_area_lost_m2, first.totals.floor_area_lost_m2, 2)
        if lost:
            parts.append(f"{spelt(abs(lost), '.2f')} m² {'less' if lost > 0 else 'more'} floor")
    dearer = apart(wall.row.get("cost_per_m2"), first.row.get("cost_per_m2"), 1)
    if dearer:
        parts.append(f"{money(abs(dearer), currency, 1)}/m² {'dearer' if dearer > 0 else 'cheaper'}")
    more = apart(wall.row.get("carbon_kgco2e_m2"), first.row.get("carbon_kgco2e_m2"), 1)
    if more:
        parts.append(f"{spelt(abs(more), ',.1f')} {CARBON}/m² {'more' if more > 0 else 'less'} carbon")
    parts += _besides(wall, first)
    return listed(parts) if parts else "the same in thickness, floor, cost and carbon"


def _besides(wall: WallColumn, first: WallColumn) -> list[str]:
    """What differs in figures that the brief of the first wall minimises or limits besides the usual ones."""
    asked, parts = asked_of(first.brief), []
    life = apart(wall.row.get(WHOLE_LIFE), first.row.get(WHOLE_LIFE), 1)
    if life and WHOLE_LIFE in asked:
        parts.append(f"{spelt(abs(life), ',.1f')} {CARBON}/m² {'more' if life > 0 else 'less'} over its life")
    heavier = apart(wall.row.get("weight_kg_m2"), first.row.get("weight_kg_m2"), 1)
    if heavier and "weight_kg_m2" in asked:
        parts.append(f"{spelt(abs(heavier), ',.1f')} kg/m² {'heavier' if heavier > 0 else 'lighter'}")
    return parts


# Judgements and contents


def judgement_rows(walls: Sequence[WallColumn]) -> list[ComparedContents]:
    """The verdict of every check in words, a line for each group."""
    verdicts = [_verdicts(each) for each in walls]
    groups = list(dict.fromkeys(group for each in verdicts for group in each))
    rows = []
    for group in groups:
        each = [one.get(group, ("not checked", "")) for one in verdicts]
        first = each[0][0]
        cells = [
            Cell(verdict, words, "first" if not number else "same" if verdict == first else "differs")
            for number, (verdict, words) in enumerate(each)
        ]
        rows.append(ComparedContents(group, tuple(cells)))
    return rows


def _verdicts(wall: WallColumn) -> dict[str, tuple[str, str]]:
    """Group -> (verdict, why): the worst of its checks."""
    by_group: dict[str, list[Line]] = {}
    for each in lines(wall.judged, wall.row.get("target"), wall.brief):
        by_group.setdefault(each.group, []).append(each)
    by_group.pop("the rest", None)
    return {group: _worst(group, checks) for group, checks in by_group.items()}


def _worst(group: str, checks: Sequence[Line]) -> tuple[str, str]:
    for state in ("fails", "open", "note"):
        worst = [each for each in checks if each.state == state]
        if worst:
            verdict = f"passes, {len(worst)} to note" if state == "note" else worst[0].verdict
            return verdict, "; ".join(each.words for each in worst)
    passed = [each for each in checks if each.state == "passes"]
    if group == "rules":
        return "passes", many(len(passed), "rule") + " kept"
    return ("passes", passed[0].words) if passed else ("shown", checks[0].words)


def contents(walls: Sequence[WallColumn]) -> list[ComparedContents]:
    """Every slot that any of the walls fills, outside to inside; fills that are one throughout are one line."""
    first = walls[0]
    one_fill = all(len(_fills(each)) <= 1 for each in walls)
    rows = []
    for slot in _in_order(one_fill):
        if slot == "fill":
            keys = [next(iter(_fills(each)), "none") for each in walls]
        else:
            keys = [str(each.row.get(slot) or "none") for each in walls]
        if set(keys) <= {"none"}:
            continue
        cells = [
            Cell(each.names.of(key), each.names.supplier(key), *_state(number, key, keys[0], each.names, first.names))
            for number, (each, key) in enumerate(zip(walls, keys, strict=True))
        ]
        rows.append(ComparedContents(slot, tuple(cells)))
    return rows


def _in_order(one_fill: bool) -> list[str]:
    """The slots, each fill after what it fills; one line for the fill of frames and gap where it is one throughout."""
    slots = [slot for slot in COLUMNS if slot not in ZONE]
    for fill, slot in ZONE.items():
        if not (one_fill and fill in MAIN_FILLS):
            slots.insert(slots.index(slot) + 1, fill)
    if one_fill:
        slots.insert(slots.index(INNER_FRAME) + 1, FILL)
    return [*slots, OTHERS]


def _fills(wall: WallColumn) -> list[str]:
    """What frames and gap are filled with, each once."""
    return list(dict.fromkeys(key for slot in MAIN_FILLS if (key := wall.row.get(slot) or "none") != "none"))


def _state(number: int, key: str, first: str, names: Names, first_names: Names) -> tuple[str, str]:
    if not number:
        return "first", ""
    if key == first:
        return "same", ""
    return "differs", differs_words(first, key, first_names, names)


def differs_words(one: str, other: str, before: Names, after: Names) -> str:
    """In what way the content of a slot differs from the first wall's."""
    if one == "none":
        return "added"
    if other == "none":
        return "left out"
    try:
        return f"{difference(float(other), float(one), 0)} mm"
    except ValueError:
        pass
    if before.of(one) == after.of(other):
        return "other supplier"
    kind, other_kind = (name.rpartition(" ")[0] for name in (before.of(one), after.of(other)))
    return "other size" if kind and kind == other_kind else "other product"
