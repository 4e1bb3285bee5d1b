"""Condensation and drying inside the wall, month by month: ISO 13788, over batches of walls.

Layers lie OUTSIDE TO INSIDE. Where vapour condenses is found with the tangent construction (`diffusion.tangents`).
What condensed stays where it is and holds its plane at saturation until it has dried.

Walls in which nothing condenses are most. They are found first, without the construction: nothing condenses exactly
where the straight line of vapour pressures stays below saturation on every plane, in every month.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .diffusion import Construction, Period, Planes, grid
from .humid_air import DELTA_0, Array, pressure_at_humidity, saturation_pressure

DAY = 86400.0  # s
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
GRAMS = 1000.0
CHUNK = 1024  # walls at a time: their planes stay in the processor's cache
LEAST = 1e-9  # kg/m2; less is rounding, not water


@dataclass(frozen=True)
class Climate:
    """Twelve monthly means, January first (or any other run of periods); make it with `climate`. All (12,)."""

    outdoor_temperature: Array  # degrees C
    outdoor_pressure: Array  # Pa
    indoor_temperature: Array
    indoor_pressure: Array
    seconds: Array

    def __len__(self) -> int:
        return len(self.seconds)

    def period(self, walls: Construction, planes: Planes, month: int | np.ndarray) -> Period:
        """These walls in a month, one for all or each (n,) in its own."""
        outdoors = self.outdoor_temperature[month], self.outdoor_pressure[month]
        return Period.between(walls, planes, outdoors, (self.indoor_temperature[month], self.indoor_pressure[month]))


def climate(
    outdoor_temperature: ArrayLike,
    outdoor_humidity: ArrayLike,
    indoor_temperature: ArrayLike,
    indoor_pressure: ArrayLike,
    days: ArrayLike = MONTH_DAYS,
) -> Climate:
    """Boundary conditions by month.

    outdoor_temperature [degrees C] and outdoor_humidity (share), (12,); indoor_temperature [degrees C] and
    indoor_pressure [Pa], (12,) or one value (`air.indoor_pressure`, `air.pressure_at_humidity`); days (12,): 28 in
    February.
    """
    seconds = np.asarray(days, float) * DAY
    outside = pressure_at_humidity(outdoor_temperature, outdoor_humidity)
    every = (outdoor_temperature, outside, indoor_temperature, indoor_pressure)
    return Climate(*(np.broadcast_to(np.asarray(each, float), seconds.shape) for each in every), seconds)


@dataclass(frozen=True)
class Monthly:
    """What the monthly method finds for n walls of L layers.

    Places (P = 2 L - 1) run outside to inside: within layer 0, between layers 0 and 1, within layer 1, ... (`places`).
    Several planes within one layer count together. Months (M) are in the order of the climate, January first.
    """

    start: np.ndarray  # (n,) month with which the account begins, -1 where nothing ever condenses
    monthly: Array  # (n, P, M) g/m2 condensed in the month, negative where it dries
    accumulated: Array  # (n, P, M) g/m2 at the month's end
    left: Array  # (n, P) g/m2 after the year that began with `start`
    temperature: Array  # (n, L + 1, M) degrees C at the outer surface, between the layers, at the inner surface
    pressure: Array  # (n, L + 1, M) Pa, vapour pressure there; in months that begin wet, with the wet planes saturated

    @property
    def wet(self) -> np.ndarray:
        """(n,) whether vapour condenses in any month."""
        return self.start >= 0

    @property
    def peak(self) -> Array:
        """(n, P) largest amount of the year in each place [g/m2]."""
        return self.accumulated.max(axis=2)

    @property
    def peak_total(self) -> Array:
        """(n,) largest amount of the year in the wall [g/m2]."""
        return self.accumulated.sum(axis=1).max(axis=1)

    @property
    def left_total(self) -> Array:
        """(n,) what the wall has not dried within the year [g/m2]; 0 in a wall that stays sound."""
        return self.left.sum(axis=1)

    @property
    def humidity(self) -> Array:
        """(n, L + 1, M) relative humidity (share) at the boundaries of the layers."""
        return self.pressure / saturation_pressure(self.temperature)


def places(layers: int) -> list[tuple[int, int]]:
    """The layers on the two sides of each place, outside first; twice the same number: within that layer."""
    return [(place // 2, (place + 1) // 2) for place in range(2 * layers - 1)]


def condensation(walls: Construction, climate: Climate) -> Monthly:
    """The monthly method over n walls.

    g = delta_0 ((p_in - p) / sd_in - (p - p_out) / sd_out) on every plane at p = p_sat; accumulated from the first
    month with condensation, after the longest spell without. Water on a plane holds it at saturation; an amount stops
    at zero. A month in which a plane dries is divided there, so that no plane gives away more than it has.

    sd that follows the humidity is settled once a month, with the planes that are wet when it begins.
    Source: ISO 13788, condensation and evaporation at interfaces, several of them included.
    """
    size, layers = walls.resistance.shape
    shape = (size, 2 * layers - 1, len(climate))
    at_boundaries = (size, layers + 1, len(climate))
    account = Monthly(
        np.full(size, -1), np.zeros(shape), np.zeros(shape), np.zeros(shape[:2]), *np.empty((2, *at_boundaries))
    )
    for first in range(0, size, CHUNK):
        rows = slice(first, first + CHUNK)
        _chunk(walls.rows(rows), climate, Monthly(**{name: value[rows] for name, value in vars(account).items()}))
    return account


def _chunk(walls: Construction, climate: Climate, account: Monthly) -> None:
    """Fill in the results (views) of some walls."""
    planes = grid(walls)
    wet_months = _straight(walls, planes, climate, account)
    wet = np.flatnonzero(wet_months.any(axis=1))
    if wet.size:
        account.start[wet] = _starts(wet_months[wet])
        _account(walls.rows(wet), planes.rows(wet), climate, account, wet)


def _straight(walls: Construction, planes: Planes, climate: Climate, account: Monthly) -> np.ndarray:
    """(n, M) whether vapour condenses in a dry wall; fills in temperatures and the straight vapour pressures."""
    wet = np.zeros((len(walls), len(climate)), bool)
    for month in range(len(climate)):
        period = climate.period(walls, planes, month)
        straight = period.straight()
        wet[:, month] = period.condenses(straight)
        account.temperature[:, :, month] = period.temperature[:, planes.boundary]
        account.pressure[:, :, month] = straight[:, planes.boundary]
    return wet


def _starts(wet_months: np.ndarray) -> np.ndarray:
    """(n,) first month with condensation after the longest spell without; January where there is none without."""
    size, months = wet_months.shape
    spell = np.zeros(size, int)
    before = np.zeros((size, months), int)
    for turn in range(2 * months):  # the second round knows of the spells across the turn of the year
        month = turn % months
        before[:, month] = np.where(wet_months[:, month], spell, 0)
        spell = np.where(wet_months[:, month], 0, spell + 1)
    return before.argmax(axis=1)


def _account(walls: Construction, planes: Planes, climate: Climate, account: Monthly, rows: np.ndarray) -> None:
    """The water in k walls from month to month, each beginning with its own; fills in these rows of the results."""
    water = np.zeros(planes.warmth.shape)  # kg/m2
    for turn in range(len(climate)):
        month = (account.start[rows] + turn) % len(climate)
        period = climate.period(walls, planes, month)
        after, account.pressure[rows, :, month] = _pass(period, water, climate.seconds[month])
        account.monthly[rows, :, month] = planes.by_place(after - water) * GRAMS
        account.accumulated[rows, :, month] = planes.by_place(after) * GRAMS
        water = after
    account.left[rows] = planes.by_place(water) * GRAMS


def _pass(period: Period, water: Array, seconds: Array) -> tuple[Array, Array]:
    """One month of k walls: the water (k, N) when it ends, and the pressures (k, L + 1) with which it begins."""
    at = period.coordinates(water > 0)
    water, left = water.copy(), seconds.copy()
    pressure = None
    going = np.arange(len(left))
    while going.size:
        have = water[going]
        flow = period.flow(at[going], have > 0, going)
        pressure = flow.pressure if pressure is None else pressure
        spent, water[going] = _until_one_dries(have, DELTA_0 * flow.gain, left[going])
        left[going] -= spent
        going = going[left[going] > 0]
    return water, pressure


def _until_one_dries(water: Array, rate: Array, seconds: Array) -> tuple[Array, Array]:
    """Time spent (k,) [s], to the end of the month or until the first plane is dry, and the water (k, N) then."""
    drying = (rate < 0) & (water > 0)
    lasts = np.full(water.shape, np.inf)
    np.divide(water, -rate, out=lasts, where=drying)
    spent = np.minimum(lasts.min(axis=1), seconds)
    after = water + rate * spent[:, None]
    dry = (lasts <= spent[:, None]) | (after < LEAST)
    return spent, np.where(dry, 0.0, after)
