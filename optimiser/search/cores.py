"""Cores of walls (frames, gap and what fills them) in bulk: their figures, and what heat must know of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..choices import AT, FILL_VARIABLES, VARIABLES, Choices, Index
from ..heat import steady
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
    """The cores of some rows (whole series of gaps, the gap running fastest) without their paths.

    by_gap: whether a narrower gap may win at all.
    """
    figures, mean, lower = np.empty((len(x), len(follow.keys))), np.empty(len(x)), np.empty(len(x))
    layers = tuple(AT[name] for name in slots)
    for rows, batch in choices.batches(with_boards(choices, x, *boards), slots):
        figures[rows] = parts.figures_of(batch, follow, layers)
        plain = steady.uncrossed(batch)
        mean[rows] = plain + steady.averaged(batch)
        lower[rows] = plain + steady.side_by_side(batch)
    narrower = np.full(len(x), NO_GAP, np.int32)
    if by_gap:
        goals = len(follow.objectives)
        step = np.diff(figures, axis=0, prepend=figures[:1])
        wins = (step >= -bounds.NOISE).all(axis=1) & (step[:, :goals] >= bounds.MARGIN).any(axis=1)
        rows = np.flatnonzero(wins & same_but_gap(x))
        narrower[rows] = x[rows - 1, AT["gap"]]
    return Cores(x, figures, mean, lower, narrower)


def paths(
    choices: Choices, x: Index, boards: tuple[bool, bool], slots: tuple[str, ...]
) -> Iterator[tuple[NDArray, list[tuple[Array, Array]], Array]]:
    """(row numbers, [(fraction, resistance) of each path], resistance in the lower limit), by topology."""
    for rows, batch in choices.batches(with_boards(choices, x, *boards), slots):
        plain = steady.uncrossed(batch)
        crossing = [(share, plain + r) for share, r, _ in steady.paths(batch) if share.max(initial=0) > 0]
        yield rows, crossing, plain + steady.side_by_side(batch)


def series(x: Index, size: int) -> list[slice]:
    """Runs of whole series of gaps, of `size` rows or a little more."""
    cuts = [0]
    for start in np.flatnonzero(~same_but_gap(x)):
        if start - cuts[-1] >= size:
            cuts.append(int(start))
    return [slice(a, b) for a, b in zip(cuts, [*cuts[1:], len(x)], strict=True) if b > a]


def core_rows(choices: Choices, first: bool, second: bool, frames: dict[str, NDArray], fills: NDArray) -> Index:
    """All cores (as rows, every other variable 0) behind skins with or without boards on the gap's sides.

    frames: numbers of the options of "outer frame" and "inner frame"; fills: numbers of the main fills. Rows that
    differ in the gap alone follow each other, narrowest first.
    """
    solid = fills[fills < len(choices.fills["outer fill"])]
    present = choices.column["inner frame"]["present"][frames["inner frame"]]
    inner, alone = frames["inner frame"][present], frames["inner frame"][~present]
    widths = np.flatnonzero(choices.column["gap"]["thickness"] > 0)
    none = np.zeros(1, int)
    blocks = []
    if not second:
        blocks += [_grid(choices, frames["outer frame"], none, alone, (f, 0, 0)) for f in solid]
    if not second and choices.brief.gap.min_mm == 0:
        pairs = [(f, 0, k) for f in solid for k in solid if first or _together(choices, f, k)]
        blocks += [_grid(choices, frames["outer frame"], none, inner, each) for each in pairs]
    for f in solid:
        for h in fills:
            if first or _together(choices, f, h):
                beyond = [k for k in solid if second or _together(choices, h, k)]
                blocks += [_grid(choices, frames["outer frame"], widths, inner, (f, h, k)) for k in beyond]
    return np.concatenate([np.empty((0, len(VARIABLES)), np.int32), *blocks])


def _together(choices: Choices, one: int, other: int) -> bool:
    """Whether two fills may lie side by side: one fill, or neither of them loose."""
    loose = choices.kinds["gap fill"].loose
    return one == other or not (loose[one] or loose[other])


def _grid(choices: Choices, outer: NDArray, gap: NDArray, inner: NDArray, fill: tuple[int, int, int]) -> Index:
    """Rows of every outer frame, inner frame and gap width that a triple of fills fits, the gap running fastest."""
    fits = [choices.tables[name].fits[each] for name, each in zip(FILL_VARIABLES, fill, strict=False)]
    inner_fits = fits[2] | ~choices.column["inner frame"]["present"]
    o, i, g = (
        each.ravel()
        for each in np.meshgrid(outer[fits[0][outer]], inner[inner_fits[inner]], gap[fits[1][gap]], indexing="ij")
    )
    x = np.zeros((len(o), len(VARIABLES)), np.int32)
    x[:, AT["outer frame"]], x[:, AT["gap"]], x[:, AT["inner frame"]] = o, g, i
    for name, each in zip(FILL_VARIABLES, fill, strict=False):
        x[:, AT[name]] = each
    return x


def _any_option(choices: Choices, name: str, present: bool) -> int:
    return int(np.flatnonzero(choices.column[name]["present"] == present)[0])


def with_boards(choices: Choices, x: Index, first: bool, second: bool) -> Index:
    """Cores with some board on the gap's sides where their skins have one: the voids' depths depend on it."""
    y = x.copy()
    y[:, AT["outer gap board"]] = _any_option(choices, "outer gap board", first)
    y[:, AT["inner gap board"]] = _any_option(choices, "inner gap board", second)
    return y


def same_but_gap(x: Index) -> NDArray[np.bool_]:
    """(n,) rows that differ from the row before in the gap's width alone, and have a gap."""
    follows = np.zeros(len(x), bool)
    if len(x) > 1:
        others = [number for number in range(x.shape[1]) if number != AT["gap"]]
        follows[1:] = (x[1:][:, others] == x[:-1][:, others]).all(axis=1) & (x[:-1, AT["gap"]] > 0)
    return follows


def with_services(x: Index, zones: parts.Services) -> Index:
    """Every core with every service zone, the gap still running fastest."""
    return np.concatenate([x + row for row in zones.part.x])
