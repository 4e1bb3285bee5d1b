"""What a brief asks of a wall besides heat, and under which climate: records read from files."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from materials.errors import Checked, InputError

from ..buildup import Conditions
from ..moisture import air, diffusion, monthly

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]

# A mild, damp coast; invented for the demo. Used where neither the wall nor the brief names a climate.
SHIPPED = Conditions(
    indoor_temperature_c=20.0,
    indoor_humidity_class=2,
    outdoor_temperature_c=(2.1, 2.4, 4.6, 7.7, 11.9, 15.2, 17.1, 17.0, 14.3, 10.4, 6.2, 3.3),
    outdoor_rh_percent=(88.0, 86.0, 82.0, 78.0, 75.0, 76.0, 78.0, 79.0, 82.0, 85.0, 88.0, 89.0),
)


class MoistureDemand(Checked):
    """Limits of the moisture checks. DIN 4108-3 and DIN 68800-2, from memory, unless the brief sets others."""

    max_condensate_g_m2: NotNegative = 500.0  # 1000 where every layer beside the wet plane takes up water
    min_drying_reserve_g_m2: float | None = None  # 100 for walls, 250 for roofs where nothing is given
    mould_inside: Literal["shown", "limit"] = "shown"
    least_sd_ratio: NotNegative = 5.0  # common practice; a flag, not a limit


class StrengthDemand(Checked):
    """Which frame bears the load, and what a national annex may choose (EN 1990, EN 1995-1-1)."""

    load_bearing: Literal["outer frame", "inner frame"] = "outer frame"
    gamma_g: Positive = 1.35
    gamma_q: Positive = 1.5
    gamma_m: Positive = 1.3
    psi0_imposed: NotNegative = 0.7
    psi0_snow: NotNegative = 0.5
    psi0_wind: NotNegative = 0.6
    k_sys: Positive = 1.0
    k_c90: Positive = 1.25
    deflection_limit: Positive = 300.0


class FillDemand(Checked):
    """How blown fills are installed (common practice); a supplier's own values go before."""

    chamber_height_mm: Positive = 3000.0
    narrowest_mm: Positive = 50.0
    deepest_mm: Positive = 500.0
    widest_mm: Positive = 1000.0
    bag_kg: Positive = 12.5


class Checks(Checked):
    """Which checks rule walls out in a search. What is off is not checked, and said to be so."""

    moisture: bool = False
    strength: bool = False
    fill: bool = False


@cache
def climate_of(conditions: Conditions) -> monthly.Climate:
    """The twelve months of some conditions; what they leave open comes from the shipped climate."""
    outdoor = conditions.outdoor_temperature_c or SHIPPED.outdoor_temperature_c
    humidity = conditions.outdoor_rh_percent or SHIPPED.outdoor_rh_percent
    inside = np.broadcast_to(np.asarray(conditions.indoor_temperature_c, float), 12)
    t_out, rh_out = np.asarray(outdoor, float), np.asarray(humidity, float) / 100
    if conditions.indoor_rh_percent is not None:
        p_in = air.pressure_at_humidity(inside, np.asarray(conditions.indoor_rh_percent, float) / 100)
    else:
        humidity_class = conditions.indoor_humidity_class or SHIPPED.indoor_humidity_class
        p_out = air.pressure_at_humidity(t_out, rh_out)
        p_in = air.indoor_pressure(t_out, p_out, humidity_class, conditions.humidity_margin)
    if (p_in > air.saturation_pressure(inside) * (1 + 1e-9)).any():
        raise InputError(
            "conditions: the room air would be wetter than saturated; check indoor_rh_percent or the class"
        )
    return monthly.climate(t_out, rh_out, inside, p_in)


def surface_r(conditions: Conditions) -> float:
    """Inner surface resistance for moisture [m2K/W]: 0.25 where nothing else is given (ISO 13788)."""
    given = conditions.surface_r_inside_moisture
    return diffusion.R_SI if given is None else given
