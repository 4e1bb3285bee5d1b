"""How sure a wall's U is: what is not known exactly, varied together; the chance of a target, and what drives it.

Every cause lies anywhere in its range alike. Quasi-random samples (scrambled Sobol sequences) go through the combined
method of ISO 6946 as one batch; where the wall's conduction has been solved, each sample's U before corrections is
multiplied by that wall's own ratio of the numerical to the combined value.

Causes: the conductivity of every material (one factor wherever it stands); the density of every loose fill, which acts
through `conductivity_by_density` (0 unless given: conductivity is flat over the densities of installed fill); the width
of the gap; the share of studs, plates and openings in the frames; and gaps left in the insulation, dU'' (R1/R_T,h)^2 of
ISO 6946 in the layer that resists most, from nothing to level 1. The last is left out where the wall states a level.

First-order share of a cause: part of the variance that would go were it known, by Jansen's estimator from the same
kind of samples, V_i = V - mean (f(B) - f(A with column i of B))^2 / 2 (Saltelli and others 2010).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np

from ..batch import Array, Members, WallBatch
from ..heat import corrections, steady
from ..template import GAP
from ..wall import scores
from ..wall.assemble import batch_of, parts_of
from ..wall.buildup import AIR, BuildUp
from .numeric_demand import Uncertainty

PERCENTILES = (5, 50, 95)


@dataclass(frozen=True)
class Cause:
    """Something not known exactly: its name in words and its range, as it acts (a factor, mm, or part of a level)."""

    name: str
    low: float
    high: float
    act: Callable[[BuildUp, WallBatch, Array], WallBatch] | None  # None: gaps in the insulation, which correct U


@dataclass(frozen=True)
class Spread:
    """U of one wall under its ranges [W/m2K]."""

    mean: float
    p5: float
    p50: float
    p95: float
    target: float | None
    chance: float | None  # of meeting the target
    drivers: tuple[tuple[str, float], ...]  # (cause, first-order share of the variance), the largest first

    def as_json(self) -> dict:
        """The object `uncertainty` of `check --json`."""
        return asdict(self) | {"drivers": dict(self.drivers)}


def spread_of(
    wall: BuildUp,
    ranges: Uncertainty | None = None,
    target: float | None = None,
    u_numeric: float | None = None,
    seed: int = 1,
) -> Spread:
    """Mean, 5, 50 and 95 % of U, the chance of meeting a target and what drives it.

    u_numeric: of the wall by conduction, corrections included. The same seed gives the same figures.
    """
    model = _Model(wall, ranges or Uncertainty(), u_numeric)
    count, causes = model.ranges.samples, len(model.causes)
    if not causes:
        only = float(model.u_values(np.zeros((1, 0)))[0])
        return Spread(only, only, only, only, target, None if target is None else float(only <= target), ())
    draws = _draws(2 * causes, count, seed)
    one, other = draws[:, :causes], draws[:, causes:]
    mixed = np.repeat(one[None], causes, axis=0)
    for number in range(causes):
        mixed[number, :, number] = other[:, number]
    u_values = model.u_values(np.concatenate([one, other, *mixed]))
    a, b, swapped = u_values[:count], u_values[count : 2 * count], u_values[2 * count :].reshape(causes, count)
    both = np.concatenate([a, b])
    variance = both.var()
    left = ((b - swapped) ** 2).mean(axis=1) / 2
    shares = np.clip(1 - left / variance, 0.0, 1.0) if variance > 0 else np.zeros(causes)
    names = [each.name for each in model.causes]
    drivers = sorted(zip(names, shares.tolist(), strict=True), key=lambda pair: -pair[1])
    low, middle, high = np.percentile(both, PERCENTILES)
    return Spread(
        mean=float(both.mean()),
        p5=float(low),
        p50=float(middle),
        p95=float(high),
        target=target,
        chance=None if target is None else float((both <= target).mean()),
        drivers=tuple(drivers),
    )


def chances(
    walls: Sequence[BuildUp],
    targets: Sequence[float],
    u_numeric: Sequence[float | None] | None = None,
    ranges: Uncertainty | None = None,
    seed: int = 1,
) -> Array:
    """Chance (n,) that each wall meets its own target; no shares, and fewer samples: `Uncertainty.front_samples`."""
    ranges = ranges or Uncertainty()
    known = [None] * len(walls) if u_numeric is None else u_numeric
    by_wall = np.empty(len(walls))
    drawn: dict[int, Array] = {}
    for number, (wall, target, value) in enumerate(zip(walls, targets, known, strict=True)):
        model = _Model(wall, ranges, value)
        causes = len(model.causes)
        if causes not in drawn:  # walls of as many causes share their samples, so that they differ by themselves alone
            drawn[causes] = _draws(causes, ranges.front_samples, seed) if causes else np.zeros((1, 0))
        by_wall[number] = (model.u_values(drawn[causes]) <= target).mean()
    return by_wall


def _draws(columns: int, count: int, seed: int) -> Array:
    """(count, columns) in [0, 1)."""
    from scipy.stats import qmc

    return qmc.Sobol(columns, scramble=True, seed=seed).random_base2(count.bit_length() - 1)


class _Model:
    """U of one wall as a function of its causes."""

    def __init__(self, wall: BuildUp, ranges: Uncertainty, u_numeric: float | None) -> None:
        self.wall, self.ranges = wall, ranges
        self.batch = batch_of(wall, parts_of(wall))
        self.causes = [each for each in causes_of(wall, self.batch, ranges) if each.high > each.low]
        bare = steady.transmittance(self.batch).u_bare[0]
        given = scores.correction(wall.corrections, self.batch, wall.index_of)[0]
        self.ratio = 1.0 if u_numeric is None else (u_numeric - given) / bare

    def u_values(self, draws: Array) -> Array:
        """U (n,) of samples (n, causes) in [0, 1)."""
        batch = self.batch.rows(np.zeros(len(draws), int))
        level = np.full(len(draws), self.ranges.air_gaps[0] if self._with_gaps() else 0.0)
        for cause, drawn in zip(self.causes, draws.T, strict=True):
            value = cause.low + (cause.high - cause.low) * drawn
            if cause.act is None:
                level = value
            else:
                batch = cause.act(self.wall, batch, value)
        u_bare = steady.transmittance(batch).u_bare
        given = scores.correction(self.wall.corrections, batch, self.wall.index_of)
        return self.ratio * u_bare + given + _air_gaps(level, batch)

    def _with_gaps(self) -> bool:
        return self.wall.corrections.air_gap_level == 0


def _air_gaps(level: Array, batch: WallBatch) -> Array:
    """dU (n,) of gaps in the layer that resists most; level: 0 none, 1 level 1 of ISO 6946."""
    unbridged = steady.unbridged_resistance(batch)
    return level * corrections.air_gap(1, batch.resistance.max(axis=1), unbridged)


def causes_of(wall: BuildUp, batch: WallBatch, ranges: Uncertainty) -> list[Cause]:
    """What is not known exactly of a wall, outside first; layers that carry no heat have no part in it."""
    causes: list[Cause] = []
    for name, keys in _by_name(wall, batch).items():
        material = wall.of(keys[0])
        spread = ranges.spread_of(material.kind)
        causes.append(Cause(name, 1 - spread, 1 + spread, _Conductivity(keys)))
        if material.kind == "loose fill" and ranges.conductivity_by_density:
            by = ranges.fill_density * abs(ranges.conductivity_by_density)
            causes.append(Cause(f"density of {material.name}", 1 - by, 1 + by, _Conductivity(keys)))
    if any(layer.role == GAP for layer in wall.layers):
        causes.append(Cause("width of the gap", -ranges.gap_mm / 1000, ranges.gap_mm / 1000, _wider_gap))
    if _frames(wall, batch):
        share = ranges.frame_fraction
        causes.append(Cause("share of timber in the frames", 1 - share, 1 + share, _more_frame))
    if wall.corrections.air_gap_level == 0:
        causes.append(Cause("gaps left in the insulation", *ranges.air_gaps, None))
    return causes


def _by_name(wall: BuildUp, batch: WallBatch) -> dict[str, tuple[str, ...]]:
    """What is not known of the materials that resist heat -> those that it is one cause for.

    A timber sold in two sizes, each with a declaration of its own, is one timber.
    """
    groups: dict[str, list[str]] = {}
    for key in _materials(wall, batch):
        material = wall.of(key)
        what = "resistance" if key == AIR or material.resistance_m2k_w is not None else "conductivity"
        groups.setdefault(f"{what} of {material.name}", []).append(key)
    return {name: tuple(keys) for name, keys in groups.items()}


def _materials(wall: BuildUp, batch: WallBatch) -> list[str]:
    """Materials that resist heat, each once."""
    keys: dict[str, None] = {}
    for number, layer in enumerate(wall.layers):
        if batch.resistance[0, number] > 0:
            keys[layer.material] = None
        if number in _lined(batch):
            keys[(layer.frame or layer.tie).material] = None
    return list(keys)


def _lined(batch: WallBatch) -> set[int]:
    """Layers whose members take part in heat flow."""
    return {batch.members[number].layer for line in batch.lines for number in line}


def _frames(wall: BuildUp, batch: WallBatch) -> set[int]:
    return {number for number in _lined(batch) if wall.layers[number].frame is not None}


@dataclass(frozen=True)
class _Conductivity:
    """Some materials conduct so many times as well, wherever they stand."""

    keys: tuple[str, ...]

    def __call__(self, wall: BuildUp, batch: WallBatch, factor: Array) -> WallBatch:
        plain = [number for number, layer in enumerate(wall.layers) if layer.material in self.keys]
        crossing = {
            number
            for number, layer in enumerate(wall.layers)
            if (member := layer.frame or layer.tie) is not None and member.material in self.keys
        }
        resistance = batch.resistance.copy(order="F")
        resistance[:, plain] /= factor[:, None]
        return replace(
            batch,
            resistance=resistance,
            members=_changed(batch, crossing, lambda each: replace(each, resistance=each.resistance / factor)),
        )


def _wider_gap(wall: BuildUp, batch: WallBatch, wider: Array) -> WallBatch:
    """Gaps of the wall wider by so many metres; an air layer resists as before, whatever its width."""
    layers = {number for number, layer in enumerate(wall.layers) if layer.role == GAP and layer.thickness_mm > 0}
    resistance = batch.resistance.copy(order="F")
    for number in layers:
        factor = np.maximum(1 + wider / batch.thickness[:, number], 0.0)
        if wall.layers[number].material != AIR:
            resistance[:, number] *= factor
        batch = replace(
            batch,
            members=_changed(batch, {number}, lambda each, by=factor: replace(each, resistance=each.resistance * by)),
        )
    return replace(batch, resistance=resistance)


def _more_frame(wall: BuildUp, batch: WallBatch, factor: Array) -> WallBatch:
    """Studs, battens, plates and openings take so many times as much of their layers; ties stay as they are."""
    return replace(
        batch,
        members=_changed(
            batch,
            _frames(wall, batch),
            lambda each: _times(each, np.minimum(factor, 1.0 / each.fraction)),
        ),
    )


def _times(each: Members, factor: Array) -> Members:
    return replace(each, width=each.width * factor, extra=each.extra * factor)


def _changed(batch: WallBatch, layers: set[int], change: Callable[[Members], Members]) -> tuple[Members, ...]:
    return tuple(change(each) if each.layer in layers else each for each in batch.members)
