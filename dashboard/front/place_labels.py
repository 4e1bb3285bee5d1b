"""Where the direct labels of a plot go, so that none lies over a point or another label."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

CHARACTER = 6.4  # px, an upper estimate at 11.5 px type
LINE = 15.0  # px
GRAIN = 3.0  # px; points as close as this count once
POINT = 6.0  # px kept free around a point
HIDDEN, OUTSIDE, CROSSED = 10_000.0, 500.0, 150.0  # what a hidden point, a px off the plot and a crossed point weigh
LEADER = 7.0  # px kept free on both sides of a leader


@dataclass(frozen=True)
class PlacedLabel:
    """A label's centre relative to its point [px], y downwards."""

    words: str
    dx: float
    dy: float


def place(
    points: Sequence[tuple[float, float]],
    wanted: Sequence[tuple[float, float, str]],
    size: tuple[float, float],
) -> list[PlacedLabel]:
    """Place a label for each (x, y, words) [px] within a plot of that size, clear of all points."""
    steps = _around()
    spots = np.unique(np.round(np.array(points, float).reshape(-1, 2) / GRAIN) * GRAIN, axis=0)
    taken: list[np.ndarray] = []
    placed = []
    for x, y, words in wanted:
        half = np.array([CHARACTER * len(words) / 2 + 3, LINE / 2])
        centres = np.add(steps, (x, y))
        cost = np.hypot(*steps.T)
        cost += HIDDEN * _covered(centres, half, spots)
        cost += HIDDEN * sum((_clash(centres, half, each) for each in taken), np.zeros(len(steps)))
        cost += OUTSIDE * _off_the_plot(centres, half, size)
        cost += CROSSED * _crossed(steps, spots - (x, y))
        best = int(np.argmin(cost))
        taken.append(np.concatenate([centres[best], half]))
        placed.append(PlacedLabel(words, float(steps[best, 0]), float(steps[best, 1])))
    return placed


def _around() -> np.ndarray:
    """Candidate steps (n, 2) from a point [px], nearest first."""
    radius, turn = np.meshgrid(np.arange(24, 190, 11), np.arange(24) * np.pi / 12, indexing="ij")
    return np.round(np.column_stack([1.25 * (radius * np.cos(turn)).ravel(), (radius * np.sin(turn)).ravel()]), 1)


def _covered(centres: np.ndarray, half: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """How many points each candidate would lie over (n,)."""
    away = np.abs(spots[None] - centres[:, None])
    return (away <= half + POINT).all(axis=2).sum(axis=1)


def _clash(centres: np.ndarray, half: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Whether each candidate would lie over a label that is placed (n,)."""
    return (np.abs(centres - other[:2]) < half + other[2:] + (4, 2)).all(axis=1)


def _off_the_plot(centres: np.ndarray, half: np.ndarray, size: tuple[float, float]) -> np.ndarray:
    """How far each candidate would reach off the plot [px] (n,)."""
    over = np.maximum(half - centres, centres + half - size)
    return np.maximum(over, 0).sum(axis=1)


def _crossed(steps: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """How many points lie on the leader from (0, 0) to each candidate (n,)."""
    length = np.hypot(*steps.T)[:, None]
    along = steps @ spots.T / length
    across = np.abs(steps[:, :1] * spots[:, 1] - steps[:, 1:] * spots[:, 0]) / length
    others = np.hypot(*spots.T) > GRAIN  # the point itself and what lies under it are not crossed
    return ((along > GRAIN) & (along < length) & (across < LEADER) & others).sum(axis=1)
