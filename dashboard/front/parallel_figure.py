"""The front as lines across parallel axes: what the page draws, as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from optimiser.search.landmarks import missing, span

from ..rows.choose import Row, known_figures
from ..words import QUANTITIES, figure, unit
from .plot_axes import Look, named, valued
from .plot_figure import hover

ROOMY = 4  # axes; of more the full names would run into each other
FLOOR = ("floor_area_lost_m2", "floor_lost_percent")


def parallel_lines(rows: Sequence[Row], look: Look) -> dict[str, Any]:
    """Axes from left to right, and a line for every wall that has all their figures.

    Axes: the figures of the question, then what the sliders narrow; each with its name, its unit, its ends in words
    and whether a slider narrows it. Lines: id, text for the pointer, and a share of each axis (0 at the least figure).
    """
    wanted = list(dict.fromkeys((look.x, look.y, look.colour, *look.asked)))
    floor = [key for key in wanted if key in FLOOR and follows(rows, key)]
    # An axis of its own would say the same as the thickness: the two share one, where the floor was asked for.
    wanted = list(dict.fromkeys("thickness_mm" if key in floor else key for key in wanted))
    keys = known_figures(rows, wanted)
    with_floor = {"thickness_mm": floor}
    known = [row for row in rows if not any(missing(row.get(key)) for key in keys)]
    ends = {key: span(known, key) or (0.0, 1.0) for key in keys}
    return {
        "axes": [_axis(key, ends[key], look, with_floor.get(key, []), known, len(keys) > ROOMY) for key in keys],
        "ids": [row["id"] for row in known],
        "texts": [hover(row, look) for row in known],
        "shares": [[round(_share(row[key], ends[key]), 4) for key in keys] for row in known],
    }


def follows(rows: Sequence[Row], key: str) -> bool:
    """Whether a figure follows from the thickness: one value for each thickness, and more for a thicker wall."""
    pairs = sorted({(row["thickness_mm"], round(row[key], 6)) for row in rows if not missing(row.get(key))})
    return len(pairs) > 1 and all(one[0] < other[0] and one[1] < other[1] for one, other in pairwise(pairs))


def _axis(
    key: str, ends: tuple[float, float], look: Look, floor: Sequence[str], rows: Sequence[Row], narrow: bool
) -> dict[str, Any]:
    """floor: figures of the same rows that this axis shows besides its own, at its ends; narrow: named in short."""
    low, high = ends
    beside = [(each, span(rows, each)) for each in floor]
    words = [
        " · ".join(valued(each, pair[end], look.currency) for each, pair in ((key, ends), *beside)) for end in (0, 1)
    ]
    return {
        "key": key,
        "name": " · ".join(named(each, look.modules, narrow) for each in (key, *floor)),
        "unit": unit(key, look.currency),
        "low": low,
        "high": high,
        "words": words,
        "ticks": [{"at": _share(each, ends), "words": figure(key, each, _digits(high - low))} for each in _ticks(ends)],
        "slider": key in look.asked,
        "short": QUANTITIES[key].short,
    }


def _share(value: float, ends: tuple[float, float]) -> float:
    return (value - ends[0]) / (ends[1] - ends[0]) if ends[1] > ends[0] else 0.5


def _step(wide: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten that parts a width into three or more."""
    if wide <= 0:
        return 1.0
    size = 10.0 ** math.floor(math.log10(wide / 3))
    return max(each * size for each in (1, 2, 5) if each * size <= wide / 3 * (1 + 1e-9))


def _ticks(ends: tuple[float, float]) -> list[float]:
    """Round figures between the ends, clear of both."""
    low, high = ends
    step = _step(high - low)
    first = int(low // step)
    ticks = [round((first + number) * step, 6) for number in range(12)]
    room = 0.08 * (high - low)
    return [each for each in ticks if low + room < each < high - room]


def _digits(wide: float) -> int:
    step = _step(wide)
    return next((digits for digits in range(5) if abs(step * 10**digits - round(step * 10**digits)) < 1e-9), 4)
