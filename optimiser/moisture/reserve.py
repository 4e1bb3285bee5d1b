"""How well a wall dries: the drying reserve in a block climate (DIN 68800-2, DIN 4108-3), and inside against outside.

What condenses by diffusion is little beside what a leak can bring. A wall must therefore be able to dry more than the
calculation wets it. Layers lie OUTSIDE TO INSIDE.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .diffusion import Construction, Period, Planes, grid, settled
from .humid_air import DELTA_0, Array, pressure_at_humidity
from .monthly import DAY, GRAMS, LEAST

SECONDS = 90 * DAY  # of wetting, and of drying
OUTDOOR = (-5.0, 0.8)  # degrees C, relative humidity while it wets
INDOOR = (20.0, 0.5)
DRYING_PRESSURE = 1200.0  # Pa on both sides while it dries
WET_PLANE = {"wall": 1700.0, "roof": 2000.0}  # Pa where the water lies
LEAST_RESERVE = {"wall": 100.0, "roof": 250.0}  # g/m2
CHUNK = 1024


@dataclass(frozen=True)
class Reserve:
    """Wetting and drying of n walls in the block climate."""

    condensed: Array  # (n,) g/m2 in 90 winter days
    evaporable: Array  # (n,) g/m2 that 90 summer days can dry
    outer: Array  # (n,) m, sd from the outer surface to the plane that dries outward
    inner: Array  # (n,) m, sd from the inner surface to the plane that dries inward; the same plane if there is one

    @property
    def reserve(self) -> Array:
        """(n,) evaporable less condensed [g/m2]."""
        return self.evaporable - self.condensed


def drying_reserve(walls: Construction, element: str = "wall") -> Reserve:
    """Drying reserve of n walls: what can evaporate in 90 days less what condenses in 90 days.

    Condensation at -5 C / 80 % outside and 20 C / 50 % inside, by the tangent construction. Evaporation from the wet
    plane at 1700 Pa (walls; 2000 Pa roofs) to 1200 Pa on both sides:

        m = delta_0 t (p_wet - 1200) (1 / sd_outside + 1 / sd_inside)

    Two wet planes dry outward from the outer and inward from the inner one; a wet zone within a layer dries from its
    middle. Where nothing condenses, leaks are taken to wet the boundary between layers that comes nearest to
    saturation in the wetting period.

    walls: as from `diffusion.construction` (r_si 0.25, r_se 0.04); element: "wall" or "roof". sd that follows the
    humidity is settled apart for wetting and drying, which the standard does not foresee. At least 100 g/m2 is asked
    of walls, 250 of roofs. Source: DIN 68800-2, with the block climate of DIN 4108-3:2018 (from memory).
    """
    parts = [
        _chunk(walls.rows(slice(first, first + CHUNK)), WET_PLANE[element]) for first in range(0, len(walls), CHUNK)
    ]
    return Reserve(*(np.concatenate(each) for each in zip(*parts, strict=True)))


def _chunk(walls: Construction, wet_pressure: float) -> tuple[Array, Array, Array, Array]:
    """Condensed, evaporable [g/m2], outer and inner sd [m] of some walls, (n,) each."""
    planes = grid(walls)
    outdoors, indoors = ((side[0], pressure_at_humidity(*side)) for side in (OUTDOOR, INDOOR))
    period = Period.between(walls, planes, outdoors, indoors)
    straight = period.straight()
    condensed = _condensed(period, np.flatnonzero(period.condenses(straight)))
    drying = _Drying(planes, *_wet_planes(condensed > 0, straight / period.saturated, planes), wet_pressure)
    outer, inner = drying.ways(settled(walls, drying.humidity))
    evaporable = DELTA_0 * SECONDS * (wet_pressure - DRYING_PRESSURE) * (1.0 / outer + 1.0 / inner)
    return condensed.sum(axis=1) * GRAMS, evaporable * GRAMS, outer, inner


def _condensed(period: Period, rows: np.ndarray) -> Array:
    """What condenses on every plane (n, N) [kg/m2]; rows: the walls in which anything does."""
    condensate = np.zeros(period.saturated.shape)
    if rows.size:
        some = period.rows(rows)
        dry = np.zeros(some.saturated.shape, bool)
        gained = DELTA_0 * SECONDS * some.flow(some.coordinates(dry), dry, np.arange(rows.size)).gain
        condensate[rows] = np.where(gained > LEAST, gained, 0.0)
    return condensate


def _wet_planes(wet: np.ndarray, humidity: Array, planes: Planes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Outermost and innermost wet plane (n,), and whether what lies between is to dry from its middle (n,)."""
    count = wet.shape[1]
    first, last = wet.argmax(axis=1), count - 1 - wet[:, ::-1].argmax(axis=1)
    within = np.ones(count, bool)
    within[planes.boundary] = False
    between = planes.usable & ~within
    risky = np.where(between, humidity, -np.inf).argmax(axis=1)
    nothing = ~wet.any(axis=1)
    alone = nothing & ~between.any(axis=1)  # a wall of one layer: its middle
    first = np.where(alone, 0, np.where(nothing, risky, first))
    last = np.where(alone, count - 1, np.where(nothing, risky, last))
    return first, last, alone | (wet & within).any(axis=1)


@dataclass(frozen=True)
class _Drying:
    """The wet planes of n walls while they dry."""

    planes: Planes
    first: np.ndarray  # (n,) outermost
    last: np.ndarray  # (n,) innermost
    zone: np.ndarray  # (n,) whether they dry from the middle between them
    wet_pressure: float

    def ways(self, sd: Array) -> tuple[Array, Array]:
        """sd [m] from the outer surface to the plane that dries outward, and from the inner one likewise, (n,)."""
        at = self.planes.coordinates(sd)
        every = np.arange(len(at))
        outer, inner = at[every, self.first], at[every, self.last]
        middle = (outer + inner) / 2
        return np.where(self.zone, middle, outer), at[:, -1] - np.where(self.zone, middle, inner)

    def humidity(self, rows: np.ndarray, sd: Array) -> Array:
        """Relative humidities (k, L + 1) at the boundaries of the layers of some walls."""
        some = _Drying(self.planes.rows(rows), self.first[rows], self.last[rows], self.zone[rows], self.wet_pressure)
        outer, inner = (each[:, None] for each in some.ways(sd))
        at = some.planes.coordinates(sd)[:, self.planes.boundary]
        rise = np.minimum(np.minimum(at / outer, (at[:, -1:] - at) / inner), 1.0)
        return (DRYING_PRESSURE + (self.wet_pressure - DRYING_PRESSURE) * rise) / self.wet_pressure


def sd_ratio(sd: ArrayLike, outermost: ArrayLike, innermost: ArrayLike) -> Array:
    """Vapour resistance inside the insulation over that outside it (n,).

    sd: (n, L) [m], layers OUTSIDE TO INSIDE; outermost, innermost: positions of the insulation's first and last layer,
    (n,) or one value. Infinite where nothing lies outside. At least 5 is common practice for walls that dry outward.
    """
    sd = np.asarray(sd, float)
    position = np.arange(sd.shape[1])
    inside = np.where(position > np.reshape(innermost, (-1, 1)), sd, 0.0).sum(axis=1)
    outside = np.where(position < np.reshape(outermost, (-1, 1)), sd, 0.0).sum(axis=1)
    return np.divide(inside, outside, out=np.full(len(sd), np.inf), where=outside > 0)
