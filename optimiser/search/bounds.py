"""Dominance with room for ties: dropping options, and cutting branches against the front found so far.

Scores are compared in whole steps (`scores.STEPS`), so an option may be dropped for another only where the totals
that it makes are sure to differ by a step: by MARGIN steps in one objective, and by nothing in the rest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..stopping import ask
from . import front

MARGIN = 2.0  # steps; rounding to whole steps can hide one
NOISE = 1e-6  # steps; sums of the same numbers in another order
BLOCK, MANY = 256, 1024  # rows looked at together, and how many at least they are compared with in one go
FEW = 24  # rows of a small group
FINEST = {1: 0, 2: 4096, 3: 1024, 4: 160}  # grid lines per axis of the dominance table, by number of objectives


def worth_combining(
    figures: NDArray, better: NDArray, objectives: int, groups: NDArray | None = None
) -> NDArray[np.bool_]:
    """(m,) options that no other option of their group makes superfluous.

    figures (m, k) in steps, to be small, the first `objectives` of them the objectives and the rest limited figures;
    better (m, p) properties to be large (resistances, flags); groups (m,) numbers, one group where not given. An option
    is dropped where another is no worse in every figure and property and better by MARGIN steps in an objective.
    """
    alive = np.ones(len(figures), bool)
    if len(figures) < 2:
        return alive
    everything = np.concatenate([figures, -better], axis=1)
    of = np.zeros(len(figures), int) if groups is None else groups
    order = np.lexsort((_weighed(everything), of))  # whatever makes another superfluous stands before it
    everything, of = everything[order], of[order]
    first = np.flatnonzero(np.r_[True, of[1:] != of[:-1]])
    size = np.diff(np.r_[first, len(of)])
    place = np.arange(len(of)) - np.repeat(first, size)  # in the group
    rows = np.flatnonzero((place > 0) & np.repeat(size <= FEW, size))
    for back in range(1, FEW):  # all small groups at once, each row against the one so many before it
        ask()
        rows = rows[(place[rows] >= back) & alive[rows]]
        alive[rows] = ~_makes_superfluous(everything[rows - back].T, everything[rows].T, objectives)
    for start in np.flatnonzero(size > FEW):
        ask()
        rows = slice(first[start], first[start] + size[start])
        alive[rows] = _worth_combining(everything[rows], objectives)
    return alive[np.argsort(order)]


def _weighed(everything: NDArray) -> NDArray:
    """(m,) figures and properties, all to be small, added up by their spread; what is without end is left out."""
    finite = everything[:, np.isfinite(everything).all(axis=0)]
    spread = finite.std(axis=0)
    return ((finite - finite.min(axis=0)) / np.where(spread > 0, spread, 1.0)).sum(axis=1)


def _worth_combining(everything: NDArray, objectives: int) -> NDArray[np.bool_]:
    """The same of one large group, in an order in which no row makes one before it superfluous."""
    alive = np.zeros(len(everything), bool)
    standing: list[NDArray] = []  # (columns, rows) each
    for start in range(0, len(everything), BLOCK):
        ask()
        rows = np.arange(start, min(start + BLOCK, len(everything)))
        for by in standing:  # most rows fall to the first few
            ask()
            rows = rows[~_beaten(everything[rows], by, objectives)]
        rows = rows[~_beaten(everything[rows], everything[rows].T, objectives)]
        alive[rows] = True
        if standing and standing[-1].shape[1] < MANY:
            standing[-1] = np.concatenate([standing[-1], everything[rows].T], axis=1)
        else:
            standing.append(np.ascontiguousarray(everything[rows].T))
    return alive


def _beaten(block: NDArray, by: NDArray, objectives: int) -> NDArray[np.bool_]:
    """(block,) rows that some column of `by` makes superfluous."""
    if not len(block):
        return np.zeros(0, bool)
    return _makes_superfluous(by[:, :, None], block.T[:, None, :], objectives).any(axis=0)


def _makes_superfluous(one: NDArray, other: NDArray, objectives: int) -> NDArray[np.bool_]:
    """Whether `one` is no worse in all and better by MARGIN in an objective; both by column, all to be small."""
    no_worse, clearly = one[0] <= other[0], one[0] <= other[0] - MARGIN
    for column in range(1, len(one)):
        no_worse &= one[column] <= other[column]
        if column < objectives:
            clearly |= one[column] <= other[column] - MARGIN
    return no_worse & clearly


class Cut:
    """Tells which score vectors the front so far strictly beats, a vector at a time in constant time.

    A table holds, for a grid over all objectives but the last, the least last objective of any front vector not above
    the grid point.
    """

    def __init__(self, steps: NDArray[np.int64]) -> None:
        self.size, self.objectives = steps.shape
        self._known = np.unique(steps, axis=0) if self.size else steps
        self._grid = [self._lines(steps[:, axis]) for axis in range(self.objectives - 1)]
        shape = tuple(len(lines) + 1 for lines in self._grid)
        self._least = np.full(shape, np.iinfo(np.int64).max)
        if self.size and self.objectives == 1:
            self._least = np.array(steps.min())
        elif self.size:
            at = tuple(np.searchsorted(lines, steps[:, axis]) + 1 for axis, lines in enumerate(self._grid))
            np.minimum.at(self._least, at, steps[:, -1])
        for axis in range(self.objectives - 1):
            np.minimum.accumulate(self._least, axis=axis, out=self._least)

    def _lines(self, values: NDArray) -> NDArray:
        """Grid lines at the front's own values, thinned where there are too many; the last value always stays."""
        lines = np.unique(values)
        most = FINEST.get(self.objectives, 40)
        return lines if len(lines) <= most else lines[np.linspace(0, len(lines) - 1, most).round().astype(int)]

    def beats(self, lower: NDArray) -> NDArray[np.bool_]:
        """(n,) whether a front vector strictly beats every score from `lower` (n, objectives) [steps, float] up."""
        if not self.size:
            return np.zeros(len(lower), bool)
        least = np.floor(lower + 0.5 - NOISE).astype(np.int64)
        at = tuple(np.searchsorted(lines, least[:, axis], "right") for axis, lines in enumerate(self._grid))
        lowest = self._least[at]
        beaten = lowest < least[:, -1]
        level = np.flatnonzero(lowest == least[:, -1])  # a tie in the last objective: strictly beaten unless equal
        if len(level):
            beaten[level] = ~_among(least[level], self._known)
        return beaten


def _among(rows: NDArray, known: NDArray) -> NDArray[np.bool_]:
    """(n,) whether each row is one of the known rows."""
    kind = np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))
    return np.isin(np.ascontiguousarray(rows).view(kind).ravel(), np.ascontiguousarray(known).view(kind).ravel())


class RangeMin:
    """Least figure over any run of rows, in constant time (sparse table)."""

    def __init__(self, figures: NDArray) -> None:
        self._levels = [figures]
        width = 1
        while 2 * width <= len(figures):
            last = self._levels[-1]
            self._levels.append(np.minimum(last[:-width], last[width:]))
            width *= 2
        self._table = np.full((len(self._levels), *figures.shape), np.inf)
        for number, level in enumerate(self._levels):
            self._table[number, : len(level)] = level

    def over(self, start: NDArray, stop: NDArray) -> NDArray:
        """(n, k) least of rows start..stop-1; infinite where the run is empty."""
        length = stop - start
        full = length > 0
        level = np.where(full, np.log2(np.maximum(length, 1)).astype(int), 0)
        first = np.where(full, start, 0)
        last = np.where(full, stop - (1 << level), 0)
        least = np.minimum(self._table[level, first], self._table[level, last])
        return np.where(full[:, None], least, np.inf)


def undominated(steps: NDArray[np.int64]) -> NDArray[np.bool_]:
    """(n,) rows that no other row strictly beats; equal rows all stay."""
    if not len(steps):
        return np.zeros(0, bool)
    unique, inverse = np.unique(steps, axis=0, return_inverse=True)
    return front.nondominated(unique)[inverse.ravel()]
