"""Walls as water vapour meets them, and steady diffusion through them with condensation (tangent construction).

Layers lie OUTSIDE TO INSIDE, as everywhere in the project. Temperatures are straight over resistance, vapour pressures
over sd; nothing is stored in the layers and no air moves (ISO 13788).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .humid_air import Array, saturation_pressure

R_SI = 0.25  # m2K/W, inner surface in moisture calculations (ISO 13788)
R_SE = 0.04
THICKEST_PART = 0.25  # m2K/W; layers of more are subdivided (ISO 13788)
DRY_CUP, HUMID_CUP = 0.25, 0.715  # mean humidity on the two sides in the cup tests: 0/50 %, 50/93 % (ISO 12572)
ROUNDS = 40  # at most, of the iteration on sd that follows the humidity
CLOSE = 1e-9  # of the saturation pressure; a line that exceeds it by less is rounding
SETTLED = 1e-4  # relative change of sd that ends it


@dataclass(frozen=True)
class Construction:
    """n walls of L layers, OUTSIDE TO INSIDE; make it with `construction`."""

    resistance: Array  # (n, L) m2K/W
    sd_dry: Array  # (n, L) m, vapour diffusion-equivalent thickness between dry air
    sd_humid: Array  # (n, L) m, between humid air; equal to sd_dry where it does not follow the humidity
    r_si: Array  # (n,) m2K/W
    r_se: Array  # (n,)

    def __len__(self) -> int:
        return self.resistance.shape[0]

    @property
    def variable(self) -> np.ndarray:
        """(n,) whether any layer's sd follows the humidity."""
        return (self.sd_dry != self.sd_humid).any(axis=1)

    def rows(self, chosen: slice | np.ndarray) -> Construction:
        """The chosen walls alone."""
        return Construction(**{name: value[chosen] for name, value in vars(self).items()})

    def split(self, parts: int) -> Construction:
        """The same walls with every layer cut into equal parts: finer lines for a drawing."""
        cut = {name: np.repeat(getattr(self, name) / parts, parts, axis=1) for name in ("sd_dry", "sd_humid")}
        return Construction(np.repeat(self.resistance / parts, parts, axis=1), **cut, r_si=self.r_si, r_se=self.r_se)


def construction(
    resistance: ArrayLike,
    sd: ArrayLike,
    sd_humid: ArrayLike | None = None,
    r_si: ArrayLike = R_SI,
    r_se: ArrayLike = R_SE,
) -> Construction:
    """Walls from arrays, layers OUTSIDE TO INSIDE.

    resistance: R (n, L) [m2K/W], 0 for membranes; sd: (n, L) [m], mu times thickness, or a membrane's own (the dry
    value where it follows the humidity); sd_humid: (n, L) or None where nothing does; r_si, r_se: (n,) or one value.
    Empty layers have 0 in both. A layer with resistance needs an sd (0.01 m for air layers): without it vapour would
    pass unhindered and nothing could be calculated. ValueError says so, and where figures are negative or missing.
    """
    resistance, sd = np.atleast_2d(np.asarray(resistance, float)), np.atleast_2d(np.asarray(sd, float))
    humid = sd if sd_humid is None else np.atleast_2d(np.asarray(sd_humid, float))
    if not resistance.shape == sd.shape == humid.shape:
        raise ValueError(f"resistance and sd differ in shape: {resistance.shape}, {sd.shape}, {humid.shape}")
    for name, value in {"resistance": resistance, "sd": sd, "sd_humid": humid}.items():
        if not (np.isfinite(value) & (value >= 0)).all():
            raise ValueError(f"{name} must be 0 or more in every layer")
    if ((np.minimum(sd, humid) == 0) & ((resistance > 0) | (sd != humid))).any():
        raise ValueError("a layer with a thermal resistance, or with two values of sd, needs sd above 0")
    if (sd.sum(axis=1) == 0).any():
        raise ValueError("a wall needs at least one layer that hinders vapour")
    size = len(resistance)
    surfaces = (np.broadcast_to(np.asarray(each, float), size).copy() for each in (r_si, r_se))
    return Construction(resistance, sd, humid, *surfaces)


@dataclass(frozen=True)
class Planes:
    """The planes of n walls from the outer to the inner surface: between layers, and within thick ones.

    Every wall of the batch has its own number of parts in a layer. Planes it does not need lie on the next boundary
    and are not `usable`; the same goes for those of empty layers. The two surfaces are never usable: what condenses
    there runs off and is judged by the temperature factor.
    """

    warmth: Array  # (n, N) (t - t_e) / (t_i - t_e)
    usable: np.ndarray  # (n, N) planes on which vapour may condense
    layer: np.ndarray  # (N - 1,) the layer of each step from plane to plane
    part: Array  # (n, N - 1) the share of that layer's sd in the step
    boundary: np.ndarray  # (L + 1,) planes that bound the layers: outer surface, between layers, inner surface

    def rows(self, chosen: slice | np.ndarray) -> Planes:
        """Those of the chosen walls alone."""
        return Planes(self.warmth[chosen], self.usable[chosen], self.layer, self.part[chosen], self.boundary)

    def coordinates(self, sd: Array) -> Array:
        """Planes (n, N) over sd [m] from the outer surface, for layers of sd (n, L)."""
        at = np.zeros(self.warmth.shape)
        np.cumsum(sd[:, self.layer] * self.part, axis=1, out=at[:, 1:])
        return at

    def by_place(self, amount: Array) -> Array:
        """Amounts (n, N) added up by place (n, 2 L - 1): within layer 0, between 0 and 1, within layer 1, ..."""
        starts = np.ravel(np.column_stack([self.boundary[:-1] + 1, self.boundary[1:]]))[:-1]
        keep = np.ones(len(starts), bool)
        keep[::2] = np.diff(self.boundary) > 1  # a layer in one part has no planes within
        sums = np.zeros((len(amount), len(starts)))
        sums[:, keep] = np.add.reduceat(amount[:, :-1], starts[keep], axis=1)
        return sums


def grid(walls: Construction) -> Planes:
    """The planes of these walls: layers with R above 0.25 m2K/W in equal parts of no more (ISO 13788)."""
    wanted = np.maximum(np.ceil(walls.resistance / THICKEST_PART - 1e-9), 1.0)  # (n, L)
    most = wanted.max(axis=0).astype(int)
    layer = np.repeat(np.arange(len(most)), most)
    first = np.concatenate([[0], np.cumsum(most)])
    number = np.arange(len(layer)) - first[layer]  # of the step within its layer
    parts = wanted[:, layer]
    part = np.where(number < parts, 1.0 / parts, 0.0)
    size = len(walls)
    r = np.zeros((size, len(layer) + 1))
    r[:, 0] = walls.r_se
    r[:, 1:] = walls.resistance[:, layer] * part
    warmth = np.cumsum(r, axis=1)
    warmth /= warmth[:, -1:] + walls.r_si[:, None]

    last = number == most[layer] - 1  # the step ends on the layer's inner boundary
    there = walls.sd_dry > 0
    further = np.cumsum(there[:, ::-1], axis=1)[:, ::-1] - there > 0  # other layers follow on the inside
    usable = np.zeros(r.shape, bool)
    usable[:, 1:] = there[:, layer] & np.where(last, further[:, layer], number + 1 < parts)
    return Planes(warmth, usable, layer, part, first)


def sd_at_humidity(dry: Array, humid: Array, humidity: Array) -> Array:
    """sd [m] of a layer that follows the humidity, between its two measured values.

    The logarithm of sd runs in a straight line over the mean relative humidity of the two sides, from the dry value
    at 25 % (cup test 0/50) to the humid one at 71.5 % (cup test 50/93), and stays there beyond.

    dry, humid: [m], any shape; humidity: share. Source: ISO 12572 for the tests; the interpolation is common practice.
    """
    share = np.clip((humidity - DRY_CUP) / (HUMID_CUP - DRY_CUP), 0.0, 1.0)
    safe = np.where(dry > 0, dry, 1.0)
    return np.where(dry > 0, safe * (np.where(humid > 0, humid, 1.0) / safe) ** share, 0.0)


@dataclass(frozen=True)
class Diffusion:
    """Vapour on its way through n walls."""

    gain: Array  # (n, N) Pa/m on every plane: flow from inside less flow to outside, over delta0
    pressure: Array  # (n, L + 1) Pa at the boundaries of the layers


def tangents(
    at: Array, ceiling: Array, wet: np.ndarray, outside: Array, inside: Array, boundary: np.ndarray
) -> Diffusion:
    """Tangent construction: the vapour pressures that nowhere exceed saturation, and what each plane gains or loses.

    Between neighbouring wet planes, which are held at saturation, the pressure follows the lower convex hull of the
    saturation pressures: a taut string below them. It turns where vapour condenses (or, at a wet plane, evaporates).
    The hull is walked from outside: from each of its points the next is the one seen under the least slope.

    at: planes over sd (n, N) [m]; ceiling: saturation pressure (n, N) [Pa], infinite on planes that cannot condense;
    wet: (n, N) planes that hold water; outside, inside: vapour pressures (n,) [Pa]; boundary: (L + 1,) planes whose
    pressure is wanted. Source: ISO 13788, condensation and evaporation at interfaces.
    """
    size, planes = at.shape
    point = ceiling.copy()
    point[:, 0], point[:, -1] = outside, inside
    held = np.where(wet, np.arange(planes), planes - 1)
    held = np.minimum.accumulate(held[:, ::-1], axis=1)[:, ::-1]  # the first wet plane from here on, else the surface
    gain = np.zeros(at.shape)
    pressure = np.repeat(np.asarray(outside, float)[:, None], len(boundary), axis=1)
    here = np.zeros(size, int)
    walking = np.arange(size)
    columns = np.arange(planes)
    while walking.size:
        before = here[walking]
        s, p = at[walking, before], point[walking, before]
        ahead = at[walking] - s[:, None]
        hidden = (ahead <= 0) | (columns > held[walking, before + 1][:, None])
        slopes = point[walking] - p[:, None]
        slopes /= np.where(ahead > 0, ahead, 1.0)
        np.copyto(slopes, np.inf, where=hidden)
        after = slopes.argmin(axis=1)
        slope = slopes[np.arange(walking.size), after]
        gain[walking, before] += slope
        gain[walking, after] -= slope
        beyond = at[walking][:, boundary] - s[:, None]
        pressure[walking] = np.where(beyond > 0, p[:, None] + slope[:, None] * beyond, pressure[walking])
        here[walking] = after
        walking = walking[after < planes - 1]
    gain[:, [0, -1]] = 0.0
    return Diffusion(np.where(wet, gain, np.maximum(gain, 0.0)), pressure)


def settled(walls: Construction, humidity: Callable[[np.ndarray, Array], Array]) -> Array:
    """sd (n, L) [m] in equilibrium with the humidities that it brings about.

    humidity: gives, for chosen walls (k,) and their sd (k, L), the relative humidities at the boundaries of their
    layers (k, L + 1). Begun at 50 %; every wall takes its own number of rounds, usual membranes some six, until a
    round changes sd by less than 0.01 %.
    """
    sd = sd_at_humidity(walls.sd_dry, walls.sd_humid, np.full(walls.sd_dry.shape, 0.5))
    moving = np.flatnonzero(walls.variable)
    weight, last = np.ones((2, moving.size, sd.shape[1]))
    for _ in range(ROUNDS):
        if not moving.size:
            break
        bounds, dry, humid = humidity(moving, sd[moving]), walls.sd_dry[moving], walls.sd_humid[moving]
        asked = sd_at_humidity(dry, humid, (bounds[:, :-1] + bounds[:, 1:]) / 2)
        change = np.divide(asked, sd[moving], out=np.ones_like(asked), where=dry > 0)
        weight = np.where((change - 1) * (last - 1) < 0, weight / 2, weight)  # it swings: go half the way
        sd[moving] *= change**weight
        still = (np.abs(change - 1) > SETTLED).any(axis=1)
        moving, weight, last = moving[still], weight[still], change[still]
    return sd


@dataclass(frozen=True)
class Period:
    """n walls between two climates that stand still: a month, or a block of winter."""

    walls: Construction
    planes: Planes
    temperature: Array  # (n, N) degrees C on every plane
    saturated: Array  # (n, N) Pa
    outside: Array  # (n,) Pa, vapour pressure at the outer surface
    inside: Array  # (n,) at the inner one

    @classmethod
    def between(
        cls,
        walls: Construction,
        planes: Planes,
        outdoors: tuple[ArrayLike, ArrayLike],
        indoors: tuple[ArrayLike, ArrayLike],
    ) -> Period:
        """outdoors, indoors: temperature [degrees C] and vapour pressure [Pa], each (n,) or one value.

        A surface colder than the dew point is at saturation, and so no more than that enters the wall there.
        """
        (t_e, p_e), (t_i, p_i) = ([np.broadcast_to(each, len(walls)) for each in side] for side in (outdoors, indoors))
        temperature = t_e[:, None] + (t_i - t_e)[:, None] * planes.warmth
        saturated = saturation_pressure(temperature)
        return cls(
            walls, planes, temperature, saturated, np.minimum(p_e, saturated[:, 0]), np.minimum(p_i, saturated[:, -1])
        )

    def rows(self, chosen: np.ndarray) -> Period:
        """The chosen walls alone."""
        walls, planes = self.walls.rows(chosen), self.planes.rows(chosen)
        each = (self.temperature, self.saturated, self.outside, self.inside)
        return Period(walls, planes, *(value[chosen] for value in each))

    def straight(self) -> Array:
        """Vapour pressures on every plane (n, N) as they are where nothing condenses."""
        limits = self.saturated[:, self.planes.boundary]

        def humidity(rows: np.ndarray, sd: Array) -> Array:
            return self._line(_from_outside(sd), rows) / limits[rows]

        return self._line(self.planes.coordinates(settled(self.walls, humidity)))

    def _line(self, at: Array, rows: np.ndarray | slice = slice(None)) -> Array:
        outside = self.outside[rows][:, None]
        return outside + (self.inside[rows][:, None] - outside) * (at / at[:, -1:])

    def condenses(self, straight: Array) -> np.ndarray:
        """(n,) whether the straight line exceeds saturation on a plane: only then does a dry wall get wet."""
        return (self.planes.usable & (straight > self.saturated * (1 + CLOSE))).any(axis=1)

    def coordinates(self, wet: np.ndarray) -> Array:
        """Planes over sd (n, N) [m] with the sd that settles while these planes (n, N) hold water."""
        limits = self.saturated[:, self.planes.boundary]

        def humidity(rows: np.ndarray, sd: Array) -> Array:
            at = self.planes.rows(rows).coordinates(sd)
            return self.flow(at, wet[rows], rows).pressure / limits[rows]

        return self.planes.coordinates(settled(self.walls, humidity))

    def flow(self, at: Array, wet: np.ndarray, rows: np.ndarray) -> Diffusion:
        """Tangent construction for chosen walls (k,), with planes at (k, N) of which some are wet (k, N)."""
        ceiling = np.where(self.planes.usable[rows], self.saturated[rows], np.inf)
        return tangents(at, ceiling, wet, self.outside[rows], self.inside[rows], self.planes.boundary)


def _from_outside(sd: Array) -> Array:
    """(n, L + 1) sd [m] outside each boundary of layers."""
    return np.concatenate([np.zeros((len(sd), 1)), np.cumsum(sd, axis=1)], axis=1)
