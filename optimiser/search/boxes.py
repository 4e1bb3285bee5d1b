"""Cores by the box: frames and fills zone by zone, so that many cores are bounded without being built.

Figures, averaged resistance and lower-limit resistance of a core are sums over its three zones. Only the density of
blown fills depends on the whole void; a zone's figures here take the least that any deeper void could give.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..heat import steady
from ..space.choices import Choices
from ..stopping import ask
from ..template import AT, FILL_OF, GAP, GAP_FILL, INNER_FILL, INNER_FRAME, OUTER_FILL, OUTER_FRAME, VARIABLES
from . import core_options, parts

PAIRS = 200_000  # outer and inner frames with their fills that are laid together


@dataclass(frozen=True)
class Zone:
    """Ways to lay one zone: option and fill (n,), the least figures (n, k) in steps, resistances (n,)."""

    option: NDArray[np.integer]
    fill: NDArray[np.integer]
    figures: Array
    mean: Array
    lower: Array

    def __len__(self) -> int:
        return len(self.option)


@dataclass(frozen=True)
class Runs:
    """Neighbouring gap widths of one fill taken together: the options of each, and the best that any offers."""

    options: list[NDArray[np.integer]]
    size: NDArray[np.integer]  # (r,)
    figures: Array  # (r, k) least
    mean: Array  # (r,) largest
    lower: Array  # (r,) largest


@dataclass(frozen=True)
class Series:
    """Cores alike in all but the gap: rows (s, variables) with gap 0, their frames' sums, and the runs of their gap."""

    x: Index
    figures: Array
    mean: Array
    lower: Array
    runs: Runs


class Boxes:
    """All series of cores behind skins with or without boards on the gap's sides."""

    def __init__(self, choices: Choices, follow: parts.Figures, frames: dict[str, NDArray], fills: NDArray) -> None:
        self.choices, self.follow, self.fills = choices, follow, fills
        self.solid = fills[fills < len(choices.fills[OUTER_FILL])]
        present = choices.column[INNER_FRAME]["present"][frames[INNER_FRAME]]
        self.inner_options, self.alone = frames[INNER_FRAME][present], frames[INNER_FRAME][~present]
        self.outer = self._zone(OUTER_FRAME, frames[OUTER_FRAME], self.solid)
        self.inner = self._zone(INNER_FRAME, self.inner_options, self.solid)
        self.widths = np.flatnonzero(choices.column[GAP]["thickness"] > 0)

    def _zone(self, slot: str, options: NDArray, fills: NDArray, base: Index | None = None) -> Zone:
        """A zone by itself. base: what stands in the other slots (a tie needs both frames)."""
        choices = self.choices
        fits = choices.tables[FILL_OF[slot]].fits
        pairs = [(o, f) for o in options for f in fills if fits[f, o]]
        option, fill = np.array(pairs, int).reshape(-1, 2).T
        x = np.zeros((len(pairs), len(VARIABLES)), np.int32) if base is None else np.repeat(base[None], len(pairs), 0)
        x[:, AT[slot]], x[:, AT[FILL_OF[slot]]] = option, fill
        figures, mean, lower = np.zeros((len(x), len(self.follow.keys))), np.zeros(len(x)), np.zeros(len(x))
        for rows, batch in choices.batches(x, (slot,)):
            figures[rows] = parts.figures_of(batch, self.follow, (AT[slot],))
            plain = steady.uncrossed(batch)
            mean[rows] = plain + steady.averaged(batch)
            lower[rows] = plain + steady.side_by_side(batch)
            member = batch.member_of(AT[slot])
            share = 1.0 if member is None else 1.0 - member.fraction
            figures[rows] -= (share * batch.thickness[:, AT[slot]])[:, None] * self._excess(slot, x[rows])
        return Zone(option, fill, figures, mean, lower)

    def _excess(self, slot: str, x: Index) -> Array:
        """What a m3 of loose fill (n, k) was counted above the least that any void of this depth or more gives."""
        choices, name = self.choices, FILL_OF[slot]
        fill = x[:, AT[name]]
        curves = np.stack([core_options.per_m3(choices, each, self.follow) for each in range(len(choices.fills[name]))])
        least = np.minimum.accumulate(curves[:, ::-1], axis=1)[:, ::-1]
        counted = choices.whole_depth(name, choices.void_depths(x)[name])
        zone_depth = choices.whole_depth(name, choices.take(slot, "thickness", x))
        loose = choices.kinds[name].loose[fill]
        return np.where(loose[:, None], curves[fill, counted] - least[fill, zone_depth], 0.0)

    def series(self, first: bool, second: bool) -> Iterator[Series]:
        """Series with the same fill in the gap and the same ties, together."""
        none = self._runs(np.zeros(1, int), 0, None)
        if not second:
            for row in self.alone:
                ask()
                yield self._of(np.arange(len(self.outer)), np.full(len(self.outer), -1), int(row), 0, none)
        if not second and self.choices.brief.gap.min_mm == 0:
            yield from self._twins(first, second, None, none)
        if len(self.widths):
            for fill in self.fills:
                ask()
                yield from self._twins(first, second, int(fill), None)

    def _twins(self, first: bool, second: bool, fill: int | None, runs: Runs | None) -> Iterator[Series]:
        """Twin frames around a gap filled with `fill`, or touching (None); at most PAIRS of frames at once."""
        by_kind: dict[int, Runs] = {}
        size = max(1, PAIRS // max(len(self.inner), 1))
        for start in range(0, len(self.outer), size):
            part = np.arange(start, min(start + size, len(self.outer)))
            a, b = (each.ravel() for each in np.meshgrid(part, np.arange(len(self.inner)), indexing="ij"))
            one, three = self.outer.fill[a], self.inner.fill[b]
            if fill is None:
                sound = first | self._together(one, three)
            else:
                sound = (first | self._together(one, fill)) & (second | self._together(fill, three))
            a, b = a[sound], b[sound]
            kind = self._tie_kind(self.outer.option[a], self.inner.option[b])
            for each in np.unique(kind).tolist() if fill is not None else [None] * bool(len(a)):
                ask()
                rows = np.arange(len(a)) if each is None else np.flatnonzero(kind == each)
                known = by_kind.get(each, runs)
                if known is None:
                    base = self._framed(self.outer.option[a[rows[0]]], self.inner.option[b[rows[0]]])
                    known = by_kind[each] = self._runs(self.widths, fill, base)
                if len(known.size):
                    yield self._of(a[rows], b[rows], None, 0 if fill is None else fill, known)

    def least(self) -> Array:
        """(k,) figures [steps] that no core's are below, whatever boards lie at its gap."""
        nothing = np.zeros((1, len(self.follow.keys)))
        inner = [self.inner.figures, *([nothing] if len(self.alone) else [])]
        gaps = [nothing]
        a, b = (each.ravel() for each in np.meshgrid(np.unique(self.outer.option), np.unique(self.inner.option)))
        _, first = np.unique(self._tie_kind(a, b), return_index=True)
        for at in first if len(self.widths) else ():
            for fill in self.fills:
                gaps.append(self._runs(self.widths, int(fill), self._framed(a[at], b[at])).figures)
        return sum(np.concatenate(each).min(axis=0) for each in ([self.outer.figures], inner, gaps))

    @staticmethod
    def _framed(outer: int, inner: int) -> Index:
        """A row of these two frames alone: what ties between them are told by."""
        row = np.zeros(len(VARIABLES), np.int32)
        row[AT[OUTER_FRAME]], row[AT[INNER_FRAME]] = outer, inner
        return row

    def _together(self, one, other) -> NDArray[np.bool_]:
        """Whether two fills may lie side by side: one fill, or neither of them loose."""
        loose = self.choices.kinds[GAP_FILL].loose
        return (one == other) | ~(loose[one] | loose[other])

    def _tie_kind(self, outer: NDArray, inner: NDArray) -> NDArray[np.integer]:
        """A number for what ties depend on: the outer frame's spacing, and if they reach the inner one straight."""
        column = self.choices.column
        spacing = np.unique(column[OUTER_FRAME]["spacing"], return_inverse=True)[1].ravel()[outer]
        aligned = column[OUTER_FRAME]["spacing"][outer] == column[INNER_FRAME]["spacing"][inner]
        straight = aligned & (column[INNER_FRAME]["offset"][inner] == 0)
        return 2 * spacing + straight

    def _runs(self, widths: NDArray, fill: int, base: Index | None) -> Runs:
        zone = self._zone(GAP, widths, np.array([fill]), base)
        size = max(1, round(len(zone) ** 0.5))
        cuts = np.arange(0, len(zone), size)
        if not len(cuts):
            return Runs([], np.zeros(0, int), np.zeros((0, len(self.follow.keys))), np.zeros(0), np.zeros(0))
        rows = np.split(np.arange(len(zone)), cuts[1:])
        return Runs(
            [zone.option[each] for each in rows],
            np.array([len(each) for each in rows]),
            np.minimum.reduceat(zone.figures, cuts),
            np.maximum.reduceat(zone.mean, cuts),
            np.maximum.reduceat(zone.lower, cuts),
        )

    def _of(self, a: NDArray, b: NDArray, alone: int | None, gap_fill: int, runs: Runs) -> Series:
        x = np.zeros((len(a), len(VARIABLES)), np.int32)
        x[:, AT[OUTER_FRAME]], x[:, AT[OUTER_FILL]] = self.outer.option[a], self.outer.fill[a]
        figures, mean, lower = self.outer.figures[a], self.outer.mean[a], self.outer.lower[a]
        if alone is None:
            x[:, AT[INNER_FRAME]], x[:, AT[INNER_FILL]] = self.inner.option[b], self.inner.fill[b]
            figures, mean, lower = (
                figures + self.inner.figures[b],
                mean + self.inner.mean[b],
                lower + self.inner.lower[b],
            )
        else:
            x[:, AT[INNER_FRAME]] = alone
        x[:, AT[GAP_FILL]] = gap_fill
        return Series(x, figures, mean, lower, runs)
