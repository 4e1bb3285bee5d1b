"""The numerical U as what must meet the target: settled for a search by bounds where they do, by solving where not.

1/R'' and corrections is above a wall's U, 1/R' and corrections below it (ISO 6946); between them the conduction is
solved, ever finer, until its upper limit meets the target or no finer grid could make it. A wall that timber without a
place leaves open, that the finest solution does not settle, or that has no repeating cell, does not pass.

Walls of one drawn geometry settle each other: the exact U falls when any conductivity falls. Of two plain layers in one
place the one that resists no less across and conducts no more along itself (thickness times conductivity) is no worse,
whatever their thicknesses: squeezed to the other's thickness it conducts no better in either direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from materials.errors import InputError

from ..batch import Array, Index, WallBatch
from ..checks.common.search_judgement import Judgement, Reading
from ..conduction.u_value import enclosed_u
from ..heat import steady
from ..stopping import ask
from ..template import FILL_OF, PLAIN, SERVICE_ZONE, slot_index
from ..wall.scores import correction
from . import walls
from .choices import Choices

NAME = "numeric"
TOLERANCES = (0.02, 0.005, 0.001, 2e-4, 5e-5)  # relative, of U: each only where the one before leaves it open
USUAL = 1 / 3  # where between its bounds the U of framed walls tends to lie; only tells which to solve first


def numeric(choices: Choices) -> Judgement:
    """The judgement of a brief whose [numeric] constraint is set, for its one target."""
    settle = Settle(choices.brief.target.u_value)
    reads = {name: Reading(lambda of, slot=name: _across_and_along(of, slot)) for name in PLAIN}
    reads |= {SERVICE_ZONE: None, FILL_OF[SERVICE_ZONE]: None}
    return Judgement(NAME, reads, settle.passes, lacks=settle.lacks, of_target=True)


def _across_and_along(choices: Choices, slot: str) -> Array:
    """(options, 2) resistance across a layer, and what it conducts along itself, negative; never worse when larger."""
    column = choices.column[slot]
    return np.stack(properties(column["resistance"], column["thickness"]), axis=1)


def properties(resistance: Array, thickness: Array) -> tuple[Array, Array]:
    """The two of plain layers: R [m2K/W] and -d lambda = -d2/R [W/K]; both 0 where a layer resists nothing."""
    along = np.divide(thickness**2, resistance, out=np.zeros_like(resistance), where=resistance > 0)
    return resistance, -along


@dataclass
class SettledWalls:
    """What is known of walls of one drawn geometry: the warmth (m, k) of those that pass and of those that fail."""

    passing: Array
    failing: Array

    def add(self, warmth: Array, passes: bool) -> None:
        if passes:
            self.passing = np.concatenate([self.passing, warmth[None]])
        else:
            self.failing = np.concatenate([self.failing, warmth[None]])

    def settled(self, warmth: Array) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Of walls (n, k): which pass, because a colder one does, and which fail, because a warmer one does."""
        passes, fails = np.zeros(len(warmth), bool), np.zeros(len(warmth), bool)
        for each in self.passing:
            passes |= (each <= warmth).all(axis=1)
        for each in self.failing:
            fails |= (each >= warmth).all(axis=1)
        return passes, fails & ~passes


class Settle:
    """Tells which walls' exact U is proven to meet a target [W/m2K]; keeps what it solved."""

    def __init__(self, target: float) -> None:
        self.target, self.solved, self.open = target, 0, 0  # walls solved, and those that no solution settled
        self._known: dict[bytes, SettledWalls] = {}

    def passes(self, choices: Choices, x: Index) -> NDArray[np.bool_]:
        """(n,) rows of choices whose numerical U is at most the target."""
        holds = np.zeros(len(x), bool)
        for rows, batch in choices.batches(x):
            low, high = bounds(choices, batch)
            holds[rows] = high <= self.target
            between = np.flatnonzero((low <= self.target) & (high > self.target))
            if len(between):
                likely = (low + USUAL * (high - low))[between] - self.target
                holds[rows[between]] = self._between(choices, x[rows[between]], batch.rows(between), likely)
        return holds

    def lacks(self, choices: Choices, x: Index) -> Array:
        """(n,) by how much rows miss the target, as a share of it, by the mean of the bounds."""
        lacking = np.ones(len(x))
        for rows, batch in choices.batches(x):
            lacking[rows] = np.mean(bounds(choices, batch), axis=0) / self.target - 1.0
        return lacking

    def _between(self, choices: Choices, x: Index, batch: WallBatch, likely: Array) -> NDArray[np.bool_]:
        """(n,) walls of one topology between their bounds; likely: by how much each may miss the target."""
        given = choices.brief.corrections
        if given.air_gap_level or given.fastener:  # they may grow where a conductivity falls
            return np.array([self._solve(choices, row) for row in x], bool)
        holds = np.zeros(len(x), bool)
        warmth, geometry = warmth_of(batch), drawn(batch)
        kinds, of = np.unique(geometry, axis=0, return_inverse=True)
        lines = repr(batch.lines).encode()
        for number, kind in enumerate(kinds):
            rows = np.flatnonzero(of.ravel() == number)
            nothing = np.empty((0, warmth.shape[1]))
            known = self._known.setdefault(lines + kind.tobytes(), SettledWalls(nothing, nothing))
            passes, fails = known.settled(warmth[rows])
            while True:
                holds[rows[passes]] = True
                rows = rows[~(passes | fails)]
                if not len(rows):
                    break
                nearest = rows[np.abs(likely[rows]).argmin()]  # settles most of the others
                meets = self._solve(choices, x[nearest])
                known.add(warmth[nearest], meets)
                alike = (warmth[rows] >= warmth[nearest]) if meets else (warmth[rows] <= warmth[nearest])
                passes = alike.all(axis=1) & meets
                fails = alike.all(axis=1) & (not meets)
        return holds

    def _solve(self, choices: Choices, row: Index) -> bool:
        wall = walls.buildup(choices, row, "one of the search")
        self.solved += 1
        for tolerance in TOLERANCES:
            ask()
            try:
                enclosed = enclosed_u(wall, tolerance)
            except InputError:
                break
            if enclosed.high <= self.target:
                return True
            if enclosed.least_high > self.target:
                return False
        self.open += 1
        return False


def bounds(choices: Choices, batch: WallBatch) -> tuple[Array, Array]:
    """(n,) between which the exact U of every wall lies, corrections included [W/m2K]."""
    transmittance = steady.transmittance(batch)
    added = correction(choices.brief.corrections, batch, slot_index)
    return 1.0 / transmittance.r_upper + added, 1.0 / transmittance.r_lower + added


def _crossed(batch: WallBatch) -> list[int]:
    return sorted({batch.members[number].layer for line in batch.lines for number in line})


def drawn(batch: WallBatch) -> Array:
    """(n, g) the geometry of the members: walls alike in it differ in conductivities and in plain layers alone."""
    framed = _crossed(batch)
    figures = [batch.r_si, batch.r_se, *batch.thickness[:, framed].T]
    for line in batch.lines:
        for number in line:
            each = batch.members[number]
            figures += [each.width, each.spacing, each.centre, each.share, each.extra]
    return np.round(np.stack(figures, axis=1), 9)


def warmth_of(batch: WallBatch) -> Array:
    """(n, k) what makes walls of one drawn geometry warmer when larger: resistances, `properties` of plain layers."""
    framed = _crossed(batch)
    plain = [number for number in range(batch.thickness.shape[1]) if number not in framed]
    members = np.stack([batch.member_of(number).resistance for number in framed], axis=1)
    across, along = properties(batch.resistance[:, plain], batch.thickness[:, plain])
    return np.concatenate([across, along, batch.resistance[:, framed], members], axis=1)
