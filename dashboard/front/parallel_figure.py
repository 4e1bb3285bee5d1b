"""The front as lines across parallel axes: what the page draws, as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from ..words import NARROWED, QUANTITIES, figure, missing, unit
from .choose import Row, known_figures, span
from .figures import hover
from .plot_axes import Look, named, valued


def parallel_lines(rows: Sequence[Row], look: Look) -> dict[str, Any]:
    """Axes from left to right, and a line for every wall that has all their figures.

    Axes: the figures of the question, then what the sliders narrow; each with its name, its unit, its ends in words
    and whether a slider narrows it. Lines: id, text for the pointer, and a share of each axis (0 at the least figure).
    """
    keys = known_figures(rows, dict.fromkeys((look.x, look.y, look.colour, *NARROWED)))
    known = [row for row in rows if not any(missing(row.get(key)) for key in keys)]
    ends = {key: span(known, key) or (0.0, 1.0) for key in keys}
    return {
        "axes": [_axis(key, ends[key], look) for key in keys],
        "ids": [row["id"] for row in known],
        "texts": [hover(row, look) for row in known],
        "shares": [[round(_share(row[key], ends[key]), 4) for key in keys] for row in known],
    }


def _axis(key: str, ends: tuple[float, float], look: Look) -> dict[str, Any]:
    low, high = ends
    return {
        "key": key,
        "name": named(key, look.modules),
        "unit": unit(key, look.currency),
        "low": low,
        "high": high,
        "words": [valued(key, each, look.currency) for each in ends],
        "ticks": [{"at": _share(each, ends), "words": figure(key, each, _digits(high - low))} for each in _ticks(ends)],
        "slider": key in NARROWED,
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
    found = [round((first + number) * step, 6) for number in range(12)]
    room = 0.08 * (high - low)
    return [each for each in found if low + room < each < high - room]


def _digits(wide: float) -> int:
    step = _step(wide)
    return next((digits for digits in range(5) if abs(step * 10**digits - round(step * 10**digits)) < 1e-9), 4)
