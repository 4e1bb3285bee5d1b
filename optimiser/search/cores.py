"""Cores of walls (frames, gap and what fills them) in bulk: their figures, and what heat must know of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..heat import steady
from ..space.choices import Choices
from ..template import AT, BEFORE_GAP, BEHIND_GAP, GAP, GAP_FILL
from . import bounds, parts

NO_GAP = -1


@dataclass(frozen=True)
class Cores:
    """n cores behind skins of one class."""

    x: Index  # (n, variables), all others 0
    figures: Array  # (n, k) steps
    mean: Array  # (n,) resistance averaged by area
    lower: Array  # (n,) resistance in the lower limit
    narrower: NDArray[np.int32]  # (n,) option of the next narrower gap where that one wins wherever both do, or NO_GAP

    def __len__(self) -> int:
        return len(self.x)

    def rows(self, chosen) -> Cores:
        return Cores(*(getattr(self, key)[chosen] for key in self.__dataclass_fields__))

    @staticmethod
    def joined(many: list[Cores]) -> Cores:
        return Cores(*(np.concatenate([getattr(each, key) for each in many]) for key in Cores.__dataclass_fields__))


def looked_at(
    choices: Choices, follow: parts.Figures, x: Index, boards: tuple[bool, bool], slots: tuple[str, ...], by_gap: bool
) -> Cores:
    """The cores of some rows, without their paths. by_gap: whether a narrower gap may win at all."""
    figures, mean, lower = _sums(choices, follow, x, boards, slots)
    narrower = np.full(len(x), NO_GAP, np.int32)
    rows = np.flatnonzero(x[:, AT[GAP]] > 0)
    if by_gap and len(rows):
        before = _next_narrower(choices)[x[rows, AT[GAP_FILL]], x[rows, AT[GAP]]]
        rows, before = rows[before != NO_GAP], before[before != NO_GAP]
        y = x[rows].copy()
        y[:, AT[GAP]] = before
        step = figures[rows] - _sums(choices, follow, y, boards, slots)[0]
        sure = (step[:, : len(follow.objectives)] >= bounds.MARGIN).any(axis=1)
        wins = (step >= -bounds.NOISE).all(axis=1) & sure
        narrower[rows[wins]] = before[wins]
    return Cores(x, figures, mean, lower, narrower)


def _sums(choices: Choices, follow: parts.Figures, x: Index, boards: tuple[bool, bool], slots: tuple[str, ...]):
    """Figures (n, k) in steps, averaged and lower-limit resistance (n,) of cores."""
    figures, mean, lower = np.empty((len(x), len(follow.keys))), np.empty(len(x)), np.empty(len(x))
    layers = tuple(AT[name] for name in slots)
    for rows, batch in choices.batches(with_boards(choices, x, *boards), slots):
        figures[rows] = parts.figures_of(batch, follow, layers)
        plain = steady.uncrossed(batch)
        mean[rows] = plain + steady.averaged(batch)
        lower[rows] = plain + steady.side_by_side(batch)
    return figures, mean, lower


def _next_narrower(choices: Choices) -> NDArray[np.int32]:
    """(fills, gap options) the next narrower gap that a fill fits, or NO_GAP."""
    fits = choices.tables[GAP_FILL].fits & (choices.column[GAP]["thickness"] > 0)
    narrower = np.full(fits.shape, NO_GAP, np.int32)
    for fill, row in enumerate(fits):
        options = np.flatnonzero(row)
        narrower[fill, options[1:]] = options[:-1]
    return narrower


def paths(
    choices: Choices, x: Index, boards: tuple[bool, bool], slots: tuple[str, ...]
) -> Iterator[tuple[NDArray, list[tuple[Array, Array]], Array]]:
    """(row numbers, [(fraction, resistance) of each path], resistance in the lower limit), by topology."""
    for rows, batch in choices.batches(with_boards(choices, x, *boards), slots):
        plain = steady.uncrossed(batch)
        crossing = [(share, plain + r) for share, r, _ in steady.paths(batch) if share.max(initial=0) > 0]
        yield rows, crossing, plain + steady.side_by_side(batch)


def with_boards(choices: Choices, x: Index, first: bool, second: bool) -> Index:
    """Cores with some board on the gap's sides where their skins have one: the voids' depths depend on it."""
    y = x.copy()
    for names, wanted in ((BEFORE_GAP, first), (BEHIND_GAP, second)):
        for name in names:
            present = choices.column[name]["present"]
            options = np.flatnonzero(present == wanted)
            y[:, AT[name]] = options[0] if len(options) else 0
    return y


def next_wider(choices: Choices, x: Index) -> Index:
    """Walls with the next wider gap that their fill fits; walls without a gap, or at the widest, are left out."""
    narrower = _next_narrower(choices)
    wider = np.full(narrower.shape, NO_GAP, np.int32)
    fill, gap = np.nonzero(narrower != NO_GAP)
    wider[fill, narrower[fill, gap]] = gap
    next_gaps = wider[x[:, AT[GAP_FILL]], x[:, AT[GAP]]]
    y = x[next_gaps != NO_GAP].copy()
    y[:, AT[GAP]] = next_gaps[next_gaps != NO_GAP]
    return y
