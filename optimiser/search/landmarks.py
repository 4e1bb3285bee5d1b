"""The landmarks of a front: the walls that stand out of it, by what each is the best in, and the most balanced."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..wall.scores import OBJECTIVES, WHOLE_LIFE

Row = Mapping[str, object]
Span = tuple[float, float]

USUAL = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")  # narrowed and compared under every brief
STANDING_OUT = (
    ("thickness_mm", "thinnest"),
    ("cost_per_m2", "cheapest"),
    ("carbon_kgco2e_m2", "lowest carbon"),
    ("weight_kg_m2", "lightest"),
    (WHOLE_LIFE, "lowest whole-life carbon"),
)
KNEE = "most balanced"


def asked_of(brief: Any) -> tuple[str, ...]:
    """What walls are narrowed, ranked and compared by: the usual figures, and what else a brief minimises or limits."""
    asked = {*brief.objectives.minimise, *brief.limits.upper()} if brief else set()
    return tuple(key for key in OBJECTIVES if key in USUAL or key in asked)


def missing(value: object) -> bool:
    """Whether a figure is unknown."""
    return value is None or (isinstance(value, float) and not math.isfinite(value))


def span(rows: Sequence[Row], key: str) -> Span | None:
    """Smallest and largest of a figure; None where no row has it."""
    values = [row[key] for row in rows if not missing(row.get(key))]
    return (min(values), max(values)) if values else None


def ends(asked: Sequence[str] = USUAL) -> list[tuple[str, str]]:
    """The ends of a front: (figure, what the wall with the least of it is called). asked: of these figures."""
    return [(key, name) for key, name in STANDING_OUT if key in asked]


def standing_out(rows: Sequence[Row], asked: Sequence[str] = USUAL) -> dict[str, list[str]]:
    """Wall -> what it is called: thinnest, cheapest, lowest carbon, most balanced. asked: the figures that count."""
    names: dict[str, list[str]] = {}
    for key, name in ends(asked):
        if (best := best_in(rows, key)) is not None:
            names.setdefault(best["id"], []).append(name)
    if (knee := most_balanced(rows, asked)) is not None:
        names.setdefault(knee["id"], []).append(KNEE)
    return names


def best_in(rows: Sequence[Row], key: str) -> Row | None:
    """The wall with the least of a figure; of equals the one that is better in the others."""
    known = [row for row in rows if not missing(row.get(key))]
    others = [each for each in OBJECTIVES if each != key]
    return min(known, key=lambda row: (row[key], *(row.get(each) or 0.0 for each in others)), default=None)


def most_balanced(rows: Sequence[Row], asked: Sequence[str] = USUAL) -> Row | None:
    """The knee: the wall closest to the corner where all figures that count are at their best."""
    keys = [key for key in asked if span(rows, key)]
    if not rows or not keys:
        return None
    spans = {key: span(rows, key) for key in keys}

    def distance(row: Row) -> tuple[float, str]:
        total = 0.0
        for key, (low, high) in spans.items():
            value = high if missing(row.get(key)) else row[key]
            total += ((value - low) / (high - low)) ** 2 if high > low else 0.0
        return math.sqrt(total), str(row["id"])

    return min(rows, key=distance)


@dataclass(frozen=True)
class Landmark:
    """A wall of a front that stands out, and what it is called."""

    target: float
    names: tuple[str, ...]
    row: Row


def landmarks(rows: Sequence[Row], targets: Sequence[float], asked: Sequence[str] = USUAL) -> tuple[Landmark, ...]:
    """The landmarks of each target's front, thinnest first."""
    return tuple(
        Landmark(target, tuple(names), next(row for row in front if row["id"] == wall))
        for target in targets
        for front in [[row for row in rows if abs(row["target"] - target) < 1e-9]]
        for wall, names in standing_out(front, asked).items()
    )
