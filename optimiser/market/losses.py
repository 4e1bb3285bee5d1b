"""What a front loses against another: how much dearer like for like, the best of each figure, the volume."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..search.front import hypervolume

THICKNESS = "thickness_mm"
BEYOND = 0.1  # of the range of each figure: how far behind the worst of the full front the volume reaches


@dataclass(frozen=True)
class More:
    """How much more of a figure it takes.

    median, worst: of the differences wherever a wall is left that compares, None where none is; unreached: in how many
    of the `asked` places none is.
    """

    median: float | None
    worst: float | None
    unreached: int
    asked: int

    @classmethod
    def of(cls, more: Array) -> More:
        """more: the differences, infinite where no wall compares."""
        finite = more[np.isfinite(more)]
        median, worst = (float(np.median(finite)), float(finite.max())) if len(finite) else (None, None)
        return cls(median, worst, len(more) - len(finite), len(more))


@dataclass(frozen=True)
class Losses:
    """What a front loses against the full one, by figure.

    same_thickness: the least of a figure among walls no thicker, at every thickness where the full front's falls.
    like_for_like: of every wall of the full front, against the least among walls no worse in all other objectives.
    best: how much the least of all goes up. volume: dominated volume as a share of the full front's.
    """

    walls: int  # on this front
    stay: int  # of the full front with the very same figures
    same_thickness: dict[str, More] = field(default_factory=dict)
    like_for_like: dict[str, More] = field(default_factory=dict)
    best: dict[str, float] = field(default_factory=dict)
    volume: float | None = None

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, value: dict[str, Any]) -> Losses:
        differences = {
            name: {key: More(**each) for key, each in value[name].items()}
            for name in ("same_thickness", "like_for_like")
        }
        return cls(**(value | differences))


def losses(keys: tuple[str, ...], full: NDArray[np.int64], other: NDArray[np.int64], scale: Array) -> Losses:
    """Compare two fronts of distinct score vectors (n, objectives) in whole steps; scale: steps by unit of each."""
    known = {tuple(row) for row in other.tolist()}
    stay = sum(tuple(row) in known for row in full.tolist())
    if not len(full) or not len(other):
        return Losses(len(other), stay, volume=0.0 if len(full) else None)
    best = (other.min(axis=0) - full.min(axis=0)) / scale
    same = {}
    if THICKNESS in keys:
        thin = keys.index(THICKNESS)
        for at, key in enumerate(keys):
            if at != thin:
                same[key] = More.of(at_same_thickness(full[:, [thin, at]], other[:, [thin, at]]) / scale[at])
    like = {key: More.of(like_for_like(full, other, at) / scale[at]) for at, key in enumerate(keys)}
    volume = volume_share(full, other)
    return Losses(len(other), stay, same, like, dict(zip(keys, best.tolist(), strict=True)), volume)


def at_same_thickness(full: NDArray, other: NDArray) -> Array:
    """How much more (n,) at each thickness where the full front's least figure falls; infinite where none is so thin.

    full, other: (walls, 2) thickness and the figure.
    """
    thickness, least = _stairs(full)
    theirs_thickness, theirs = _stairs(other)
    at = np.searchsorted(theirs_thickness, thickness, "right") - 1
    return np.where(at >= 0, theirs[np.maximum(at, 0)] - least, np.inf)


def _stairs(pairs: NDArray) -> tuple[NDArray, NDArray]:
    """Thicknesses at which the least figure of all walls no thicker falls, and that figure."""
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    thickness, figure = pairs[order].T
    least = np.minimum.accumulate(figure)
    falls = np.r_[True, least[1:] < least[:-1]]
    return thickness[falls], least[falls]


def like_for_like(full: NDArray, other: NDArray, at: int) -> Array:
    """How much more of figure `at` each wall of the full front takes (n,); infinite where none is no worse in the rest.

    full, other: (walls, objectives).
    """
    rest = np.arange(full.shape[1]) != at
    compares = (other[None, :, rest] <= full[:, None, rest]).all(axis=2)
    return np.where(compares, other[None, :, at], np.inf).min(axis=1) - full[:, at]


def volume_share(full: NDArray, other: NDArray) -> float:
    """Volume that `other` dominates as a share of the full front's, up to a tenth of its range behind its worst."""
    low, high = full.min(axis=0), full.max(axis=0)
    low = np.minimum(low, other.min(axis=0))
    reach = high - low + np.maximum(BEYOND * (high - low), 1.0)
    return hypervolume(other - low, reach) / hypervolume(full - low, reach)
