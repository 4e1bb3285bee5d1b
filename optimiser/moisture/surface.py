"""Mould at the inner surface: the temperature factor a wall has and the one the climate asks for (ISO 13788)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .humid_air import Array, temperature_at_humidity

R_SI_MOULD = 0.25  # m2K/W, behind furniture and in corners
LIMIT = 0.8  # relative humidity at the surface, monthly mean


def temperature_factor(u_value: ArrayLike, r_si_heat: ArrayLike = 0.13, r_si: ArrayLike = R_SI_MOULD) -> Array:
    """f_Rsi = (t_si - t_e) / (t_i - t_e) = 1 - R_si U', with U' = 1 / (1/U - R_si,heat + R_si).

    U was found with the surface resistance of heat loss; U' exchanges it for the higher one at which mould is judged.
    The value is that of one-dimensional flow: corners and other bridges are colder.

    u_value: U [W/m2K] of a wall, or 1/R_T of one path through it, (n,); r_si_heat: the inner surface resistance in U
    [m2K/W]; r_si: the one for mould. Source: ISO 13788, ISO 10211.
    """
    r_si = np.asarray(r_si, float)
    return 1.0 - r_si / (1.0 / np.asarray(u_value, float) - np.asarray(r_si_heat, float) + r_si)


def required_factor(
    outdoor_temperature: ArrayLike,
    indoor_temperature: ArrayLike,
    indoor_pressure: ArrayLike,
    limit: float = LIMIT,
) -> Array:
    """Least f_Rsi by month at which the surface stays at or below the limit of relative humidity.

    f_Rsi,min = (t_si,min - t_e) / (t_i - t_e), p_sat(t_si,min) = p_i / limit.

    Temperatures [degrees C] and p_i [Pa], (12,). Above 1 where the room air itself is too humid; minus infinity in
    months that are as warm outside as inside, which ask nothing of the wall. Source: ISO 13788.
    """
    t_e = np.asarray(outdoor_temperature, float)
    difference = np.asarray(indoor_temperature, float) - t_e
    wanted = temperature_at_humidity(indoor_pressure, limit) - t_e
    heated = difference > 0
    return np.where(heated, wanted / np.where(heated, difference, 1.0), -np.inf)


def governing(required: ArrayLike) -> tuple[float, int]:
    """The highest required factor of the year and its month (0 = January)."""
    required = np.asarray(required, float)
    month = int(required.argmax())
    return float(required[month]), month
