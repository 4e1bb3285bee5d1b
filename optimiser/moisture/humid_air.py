"""Humid air: saturation, dew point, the vapour pressure indoors (ISO 13788), the humidity at which mould begins."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

DELTA_0 = 2e-10  # kg/(m s Pa), vapour permeability of still air (ISO 13788)
SATURATION_AT_ZERO = 610.5  # Pa
OVER_WATER = (17.269, 237.3)  # factor, degrees C
OVER_ICE = (21.875, 265.5)
EXCESS_LIMIT = {1: 270.0, 2: 540.0, 3: 810.0, 4: 1080.0}  # Pa, upper limits of the humidity classes at 0 C and below
SAFETY = 1.10  # on the excess of a humidity class (ISO 13788)


def saturation_pressure(temperature: ArrayLike) -> Array:
    """Saturation pressure of water vapour [Pa], over ice below 0 C.

    p_sat = 610.5 exp(17.269 t / (237.3 + t)) for t >= 0, 610.5 exp(21.875 t / (265.5 + t)) below.

    temperature: t [degrees C], any shape. Valid for building temperatures, some -30 to 60 C. Source: ISO 13788, annex
    on humid air.
    """
    t = np.asarray(temperature, float)
    water = t >= 0
    factor = np.where(water, OVER_WATER[0], OVER_ICE[0])
    offset = np.where(water, OVER_WATER[1], OVER_ICE[1])
    return SATURATION_AT_ZERO * np.exp(factor * t / (offset + t))


def dew_point(pressure: ArrayLike) -> Array:
    """Temperature [degrees C] at which a vapour pressure is the saturation pressure: the inverse of the above.

    t = 237.3 x / (17.269 - x), x = ln(p / 610.5); with 265.5 and 21.875 where p < 610.5 Pa.

    pressure: p [Pa], above 0, any shape. Source: ISO 13788, annex on humid air.
    """
    x = np.log(np.asarray(pressure, float) / SATURATION_AT_ZERO)
    water = x >= 0
    factor = np.where(water, OVER_WATER[0], OVER_ICE[0])
    offset = np.where(water, OVER_WATER[1], OVER_ICE[1])
    return offset * x / (factor - x)


def temperature_at_humidity(pressure: ArrayLike, humidity: ArrayLike) -> Array:
    """Temperature [degrees C] to which air of a vapour pressure must be held to have this relative humidity.

    pressure: p [Pa]; humidity: share, 0.8 for the mould criterion at surfaces, 1.0 gives the dew point. Source: ISO
    13788, least acceptable surface temperature: p_sat(t) = p / humidity.
    """
    return dew_point(np.asarray(pressure, float) / np.asarray(humidity, float))


def pressure_at_humidity(temperature: ArrayLike, humidity: ArrayLike) -> Array:
    """Vapour pressure [Pa] of air at a temperature [degrees C] and a relative humidity (share)."""
    return np.asarray(humidity, float) * saturation_pressure(temperature)


def indoor_pressure(
    outdoor_temperature: ArrayLike, outdoor_pressure: ArrayLike, humidity_class: int, margin: float = SAFETY
) -> Array:
    """Vapour pressure indoors [Pa] from the humidity class of the building: p_i = p_e + margin dp.

    dp is the upper limit of the class (270, 540, 810, 1080 Pa for classes 1 to 4) at t_e <= 0 C, falls in a straight
    line to 0 at 20 C and stays 0 above.

    outdoor_temperature: t_e [degrees C]; outdoor_pressure: p_e [Pa], of one shape, as a rule (12,). Source: ISO 13788,
    internal humidity classes; figures from memory.
    """
    if humidity_class not in EXCESS_LIMIT:
        raise ValueError(f"humidity class {humidity_class!r}: expected 1, 2, 3 or 4")
    falling = np.clip(1.0 - np.asarray(outdoor_temperature, float) / 20.0, 0.0, 1.0)
    return np.asarray(outdoor_pressure, float) + margin * EXCESS_LIMIT[humidity_class] * falling


def critical_humidity(temperature: ArrayLike) -> Array:
    """Relative humidity (share) from which mould can grow on wood.

    RH_crit = -0.00267 t^3 + 0.160 t^2 - 3.13 t + 100 % for 0 < t <= 20 C, 80 % above; infinite at 0 C and below, where
    nothing grows.

    temperature: t [degrees C], any shape. Source: Hukka and Viitanen 1999, mould growth on wooden material.
    """
    t = np.asarray(temperature, float)
    percent = np.where(t > 20.0, 80.0, ((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0)
    return np.where(t > 0.0, percent / 100.0, np.inf)
