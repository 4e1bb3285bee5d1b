"""Plain questions to the rows of a front: which stay, which beat a wall of one's own."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from optimiser.search.landmarks import Row, Span, missing, span


def of_target(rows: Iterable[Row], target: float | None) -> list[Row]:
    """The rows of one target [W/m2K]; all where none is asked for."""
    if target is None:
        return list(rows)
    return [row for row in rows if row.get("target") is None or abs(row["target"] - target) < 1e-9]


def targets(rows: Iterable[Row]) -> list[float]:
    """The targets [W/m2K] that fronts were found for, best insulated first."""
    return sorted({float(row["target"]) for row in rows if row.get("target") is not None})


def narrowed(rows: Iterable[Row], spans: Mapping[str, Span | None]) -> list[Row]:
    """The rows whose figures lie within the spans (ends included)."""

    def inside(row: Row) -> bool:
        return all(
            span is None or missing(row.get(key)) or span[0] - 1e-9 <= row[key] <= span[1] + 1e-9
            for key, span in spans.items()
        )

    return [row for row in rows if inside(row)]


def with_percent(rows: Sequence[Row], floor_m2: float | None) -> list[Row]:
    """The rows with the floor area they take as a share of the floor within the reference walls [%]."""
    if not floor_m2:
        return list(rows)
    return [
        row
        if missing(row.get("floor_area_lost_m2"))
        else {**row, "floor_lost_percent": 100 * row["floor_area_lost_m2"] / floor_m2}
        for row in rows
    ]


def known_figures(rows: Sequence[Row], keys: Iterable[str]) -> list[str]:
    """Those of the figures that some row has."""
    return [key for key in keys if any(not missing(row.get(key)) for row in rows)]


def by_id(rows: Iterable[Row], wall: str | None) -> Row | None:
    """The row of a wall."""
    return next((row for row in rows if row["id"] == wall), None)


def slider_span(rows: Sequence[Row], key: str) -> tuple[float, float, float]:
    """Ends and step of a slider that leaves no wall out: whole steps around the figures."""
    low, high = span(rows, key) or (0.0, 1.0)
    step = 1.0 if high - low > 20 else 0.1
    low, high = math.floor(round(low / step, 6)) * step, math.ceil(round(high / step, 6)) * step
    return round(low, 1), round(max(high, low + step), 1), step


def moved_span(value: Sequence[float] | None, before: Span | None, now: Span) -> list[float]:
    """Where a slider stands after its ends moved: an end that was open stays open, a narrowed one is kept."""
    if not value or before is None:
        return list(now)
    low = now[0] if value[0] <= before[0] else min(max(value[0], now[0]), now[1])
    high = now[1] if value[1] >= before[1] else max(min(value[1], now[1]), now[0])
    return [low, high] if low <= high else list(now)


def histogram(values: Sequence[float], ends: Span, bins: int = 28) -> list[int]:
    """How many values fall into each of `bins` equal parts between the ends."""
    counts = [0] * bins
    width = (ends[1] - ends[0]) / bins or 1.0
    for value in values:
        counts[min(max(int((value - ends[0]) / width), 0), bins - 1)] += 1
    return counts


@dataclass(frozen=True)
class Better:
    """A wall that beats one's own, and by how much of each figure."""

    id: str
    u_value: float
    less: dict[str, float]


def beating(rows: Iterable[Row], mine: Row, keys: Sequence[str]) -> list[Better]:
    """Walls no worse than `mine` in any of the keys and better in one, strongest first.

    Only walls that meet their target or insulate at least as well as `mine` count; unknown figures of `mine` are
    left out of the comparison.
    """
    known = [key for key in keys if not missing(mine.get(key))]
    better = []
    for row in rows:
        if any(missing(row.get(key)) for key in known) or not _insulates(row, mine):
            continue
        less = {key: mine[key] - row[key] for key in known}
        if less and all(value >= -1e-9 for value in less.values()) and max(less.values()) > 1e-9:
            better.append(Better(row["id"], row["u_value"], less))
    scale = {key: abs(mine[key]) or 1.0 for key in known}
    return sorted(better, key=lambda each: (-sum(each.less[key] / scale[key] for key in known), each.id))


def telling(better: Sequence[Better], mine: Row, most: int) -> list[Better]:
    """A few different walls of those that beat one's own: the strongest, the most even, the best in each figure."""
    if len(better) <= most:
        return list(better)

    def least(each: Better) -> float:
        return min(less / (abs(mine[key]) or 1.0) for key, less in each.less.items())

    picks = [
        better[0],
        max(better, key=least),
        *(max(better, key=lambda each: each.less[key]) for key in better[0].less),
    ]
    return list({each.id: each for each in picks}.values())[:most]


def _insulates(row: Row, mine: Row) -> bool:
    target = row.get("target")
    meets = target is not None and row["u_value"] <= target + 1e-9
    return meets or missing(mine.get("u_value")) or row["u_value"] <= mine["u_value"] + 1e-9
