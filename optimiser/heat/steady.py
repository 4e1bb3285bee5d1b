"""Thermal transmittance by the combined method of ISO 6946, over batches of walls.

    R_T = (R' + R'') / 2,   U = 1 / R_T + dU

R' (upper limit) adds conductances over the paths through the wall, R'' (lower limit) layer by layer. The exact
resistance of the drawn geometry lies between R'' and R'.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..batch import Array, Members, WallBatch
from .air_layers import ventilated_share
from .overlap import overlaps

LARGEST_RATIO = 1.5  # R'/R'' above which the combined method is refused
METAL_CONDUCTIVITY = 5.0  # W/mK; members that conduct better bridge as metal does
CHUNK = 8192  # walls at a time: the columns of a chunk stay in the processor's cache


@dataclass(frozen=True)
class Steady:
    """Results of the combined method for n walls, all (n,)."""

    r_upper: Array  # m2K/W
    r_lower: Array
    r_total: Array
    u_bare: Array  # W/m2K, before corrections

    @property
    def ratio(self) -> Array:
        """R'/R''."""
        return self.r_upper / self.r_lower

    @property
    def relative_error(self) -> Array:
        """e = (R' - R'') / (2 R_T): the largest relative error of the method (ISO 6946)."""
        return (self.r_upper - self.r_lower) / (2 * self.r_total)

    @property
    def refused(self) -> np.ndarray:
        """Where the method does not apply: R'/R'' above 1.5."""
        return self.ratio > LARGEST_RATIO


def transmittance(batch: WallBatch) -> Steady:
    """Upper limit, lower limit and total resistance [m2K/W] and U [W/m2K] of every wall.

    Source: ISO 6946, combined method; slightly ventilated layers by its interpolation
    R_T = (1500 - Av)/1000 R_T,unventilated + (Av - 500)/1000 R_T,well.
    """
    size = len(batch)
    upper, lower = np.empty(size), np.empty(size)
    for start in range(0, size, CHUNK):
        rows = slice(start, start + CHUNK)
        upper[rows], lower[rows] = _limits(batch.rows(rows) if size > CHUNK else batch)
    if batch.slight is not None:
        share = ventilated_share(batch.slight.opening)
        well = transmittance(as_well_ventilated(batch))
        upper = (1 - share) * upper + share * well.r_upper
        lower = (1 - share) * lower + share * well.r_lower
    total = (upper + lower) / 2
    return Steady(upper, lower, total, 1.0 / total)


def _limits(batch: WallBatch) -> tuple[Array, Array]:
    """R' and R'' of a chunk."""
    plain = batch.r_si + batch.r_se + uncrossed(batch)
    conductance = np.zeros_like(plain)
    for fraction, resistance, _ in paths(batch):
        conductance += fraction / (plain + resistance)
    return 1.0 / conductance, plain + side_by_side(batch)


def uncrossed(batch: WallBatch) -> Array:
    """Resistance (n,) of the layers that no member crosses [m2K/W]."""
    crossed = {batch.members[number].layer for line in batch.lines for number in line}
    total = np.zeros(len(batch))
    for layer in range(batch.thickness.shape[1]):
        if layer not in crossed:
            total += batch.resistance[:, layer]
    return total


def side_by_side(batch: WallBatch) -> Array:
    """Resistance (n,) in the lower limit of the layers that members cross [m2K/W]."""
    total = np.zeros(len(batch))
    for line in batch.lines:
        for number in line:
            member = batch.members[number]
            total += parallel(batch.resistance[:, member.layer], member)
    return total


def averaged(batch: WallBatch) -> Array:
    """Resistance (n,) of the layers that members cross, averaged by area: no less than in the upper limit [m2K/W]."""
    total = np.zeros(len(batch))
    for line in batch.lines:
        for number in line:
            member = batch.members[number]
            share = member.fraction
            total += (1 - share) * batch.resistance[:, member.layer] + share * member.resistance
    return total


def parallel(fill: Array, members: Members) -> Array:
    """Resistance (n,) of a layer whose fill and members conduct side by side: 1 / sum(f / R); 0 where it is empty."""
    share = members.fraction
    below = share * fill + (1 - share) * members.resistance
    return np.divide(fill * members.resistance, below, out=np.zeros_like(fill), where=below > 0)


def paths(batch: WallBatch):
    """The paths through the wall: (fraction (n,), resistance of the crossed layers (n,), {layer: (n,) bool}).

    Lines are independent of each other, so their fractions multiply. The last item tells for every crossed layer
    where the path runs through its member. Layers without members are left to the caller.
    """
    branches = [(np.ones(len(batch)), np.zeros(len(batch)), {})]
    for line in batch.lines:
        members = [batch.members[number] for number in line]
        fraction, inside = overlaps(members)
        resistance = np.zeros_like(fraction)
        for number, each in enumerate(members):
            resistance += np.where(inside[:, number], each.resistance, batch.resistance[:, each.layer])
        branches = [
            (share * fraction[path], r + resistance[path], through | _through(members, inside[path]))
            for share, r, through in branches
            for path in range(len(fraction))
        ]
    return branches


def _through(members: list[Members], inside: np.ndarray) -> dict[int, np.ndarray]:
    return {each.layer: inside[number] for number, each in enumerate(members)}


def as_well_ventilated(batch: WallBatch) -> WallBatch:
    """The batch with its slightly ventilated layer counted as well ventilated: it and all outside it carry nothing."""
    layer = batch.slight.layer
    resistance = batch.resistance.copy(order="F")
    resistance[:, : layer + 1] = 0.0
    inner_members = {number for number, each in enumerate(batch.members) if each.layer > layer}
    lines = tuple(tuple(number for number in line if number in inner_members) for line in batch.lines)
    return replace(
        batch,
        resistance=resistance,
        lines=tuple(line for line in lines if line),
        r_se=batch.r_si,
        slight=None,
    )


def unbridged_resistance(batch: WallBatch) -> Array:
    """R_T,h: total resistance (n,) leaving the bridges out of account [m2K/W]."""
    return batch.r_si + batch.r_se + batch.resistance.sum(axis=1)
