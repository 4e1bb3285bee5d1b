"""Where the direct labels of a plot go, so that none lies over a point or another label."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

CHARACTER = 6.4  # px, an upper estimate at 11.5 px type
LINE = 15.0  # px
POINT = 6.0  # px kept free around a point


@dataclass(frozen=True)
class Placed:
    """A label's centre relative to its point [px], y downwards."""

    words: str
    dx: float
    dy: float


Box = tuple[float, float, float, float]


def place(
    points: Sequence[tuple[float, float]],
    wanted: Sequence[tuple[float, float, str]],
    size: tuple[float, float],
) -> list[Placed]:
    """Place a label for each (x, y, words) [px] within a plot of that size, clear of all points."""
    taken: list[Box] = []
    placed = []
    for x, y, words in wanted:
        half = CHARACTER * len(words) / 2 + 3
        best = min(_around(), key=lambda step: _cost(x, y, step, half, points, taken, size))
        box = _box(x + best[0], y + best[1], half)
        taken.append(box)
        placed.append(Placed(words, *best))
    return placed


def _around() -> list[tuple[float, float]]:
    """Candidate steps from a point, nearest first."""
    steps = []
    for radius in range(24, 190, 11):
        for turn in range(24):
            angle = math.tau * turn / 24
            steps.append((round(radius * 1.25 * math.cos(angle), 1), round(radius * math.sin(angle), 1)))
    return steps


def _box(x: float, y: float, half: float) -> Box:
    return x - half, y - LINE / 2, x + half, y + LINE / 2


def _cost(
    x: float,
    y: float,
    step: tuple[float, float],
    half: float,
    points: Sequence[tuple[float, float]],
    taken: Sequence[Box],
    size: tuple[float, float],
) -> float:
    """How bad a place is: far outweighs nothing, a hidden point outweighs any distance."""
    box = _box(x + step[0], y + step[1], half)
    hidden = sum(_inside(px, py, box, POINT) for px, py in points)
    clashes = sum(_overlap(box, each) for each in taken)
    outside = max(0.0, -box[0], box[2] - size[0]) + max(0.0, -box[1], box[3] - size[1])
    crossed = sum(_near_line(px - x, py - y, step) for px, py in points)
    return 10_000 * (hidden + clashes) + 500 * outside + 12 * crossed + math.hypot(*step)


def _inside(x: float, y: float, box: Box, margin: float) -> bool:
    return box[0] - margin <= x <= box[2] + margin and box[1] - margin <= y <= box[3] + margin


def _overlap(one: Box, two: Box) -> bool:
    return one[0] < two[2] + 4 and two[0] < one[2] + 4 and one[1] < two[3] + 2 and two[1] < one[3] + 2


def _near_line(px: float, py: float, step: tuple[float, float]) -> bool:
    """Whether a point lies on the leader from (0, 0) to the label."""
    length = math.hypot(*step)
    along = (px * step[0] + py * step[1]) / length
    across = abs(px * step[1] - py * step[0]) / length
    return 7 < along < length and across < 5
