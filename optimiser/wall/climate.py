"""Months that a wall is judged under: what its file or brief says, or what stands in where they are silent."""

from __future__ import annotations

import calendar
from functools import cache

import numpy as np

from materials.errors import InputError

from ..moisture import diffusion, humid_air, monthly
from .buildup import Conditions

MONTHS = tuple(calendar.month_name)[1:]

# A mild, damp coast; invented for the demo. Used where neither the wall nor the brief names a climate.
SHIPPED = Conditions(
    indoor_temperature_c=20.0,
    indoor_humidity_class=2,
    outdoor_temperature_c=(2.1, 2.4, 4.6, 7.7, 11.9, 15.2, 17.1, 17.0, 14.3, 10.4, 6.2, 3.3),
    outdoor_rh_percent=(88.0, 86.0, 82.0, 78.0, 75.0, 76.0, 78.0, 79.0, 82.0, 85.0, 88.0, 89.0),
)


@cache
def climate_of(conditions: Conditions) -> monthly.Climate:
    """The twelve months of some conditions; what they leave open comes from the shipped climate."""
    outdoor = conditions.outdoor_temperature_c or SHIPPED.outdoor_temperature_c
    humidity = conditions.outdoor_rh_percent or SHIPPED.outdoor_rh_percent
    inside = np.broadcast_to(np.asarray(conditions.indoor_temperature_c, float), 12)
    t_out, rh_out = np.asarray(outdoor, float), np.asarray(humidity, float) / 100
    if conditions.indoor_rh_percent is not None:
        p_in = humid_air.pressure_at_humidity(inside, np.asarray(conditions.indoor_rh_percent, float) / 100)
    else:
        humidity_class = conditions.indoor_humidity_class or SHIPPED.indoor_humidity_class
        p_out = humid_air.pressure_at_humidity(t_out, rh_out)
        p_in = humid_air.indoor_pressure(t_out, p_out, humidity_class, conditions.humidity_margin)
    if (p_in > humid_air.saturation_pressure(inside) * (1 + 1e-9)).any():
        raise InputError(
            "conditions: the room air would be wetter than saturated; check indoor_rh_percent or the class"
        )
    return monthly.climate(t_out, rh_out, inside, p_in)


def surface_r(conditions: Conditions) -> float:
    """Inner surface resistance for moisture [m2K/W]: 0.25 where nothing else is given (ISO 13788)."""
    given = conditions.surface_r_inside_moisture
    return diffusion.R_SI if given is None else given
