"""Operational carbon of the heat that a wall itself loses, over the study period: EN 15978, module B6, its share.

Heat lost by a m2 of wall in a year is U times the degree hours of the climate. Degree hours here are those of the
months in which the house is heated: the months whose mean outdoor temperature lies below the base temperature, each
with (indoor less outdoor mean) times its hours. Degree days of a heating limit are common practice; ISO 15927-6 counts
them from hourly or daily temperatures, which differs somewhat in spring and autumn. Sun, people and appliances count
in the base temperature alone.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np

from materials.errors import InputError
from materials.factors import load_factors

from ..moisture.monthly import MONTH_DAYS
from .settings import Operation

HOURS = 24 * np.array(MONTH_DAYS, float)
PER_KILO = 1e-3


class AirTemperatures(Protocol):
    """The air on both sides of a wall [degrees C]: twelve values outside, inside one or twelve."""

    outdoor_temperature_c: tuple[float, ...] | None
    indoor_temperature_c: float | tuple[float, ...]


def operational_per_u(conditions: AirTemperatures, operation: Operation | None, years: float) -> float:
    """Carbon of heat lost over the study period by U [kgCO2e/m2 per W/m2K]; 0 without an operation.

    Degree hours a year [K kh] times carbon per kWh of heat, summed over years in which that changes. A year's heat for
    U = 1 W/m2K is as many kWh/m2 as there are K kh. InputError where neither degree hours nor a climate is given.
    """
    if operation is None:
        return 0.0
    return degree_hours(conditions, operation) * per_kwh_heat(operation) * weighted_years(operation, years)


def degree_hours(conditions: AirTemperatures, operation: Operation) -> float:
    """Heating degree hours of a year [K kh]: given, or from the climate's twelve means."""
    if operation.degree_hours_kkh is not None:
        return operation.degree_hours_kkh
    if conditions.outdoor_temperature_c is None:
        raise InputError(
            "operation: the heat lost needs a climate; give outdoor_temperature_c (twelve values) or epw, "
            "or operation.degree_hours_kkh"
        )
    outdoor = np.array(conditions.outdoor_temperature_c, float)
    difference = np.maximum(np.asarray(conditions.indoor_temperature_c, float) - outdoor, 0.0)
    heated = outdoor < operation.base_temperature_c
    return float((difference * HOURS * heated).sum()) * PER_KILO


def per_kwh_heat(operation: Operation) -> float:
    """Carbon per kWh of heat in the first year [kgCO2e/kWh]: of the energy delivered, over the heat made of it."""
    usual = load_factors().heat_sources[operation.heat_source]
    delivered = usual.kgco2e_kwh if operation.kgco2e_kwh is None else operation.kgco2e_kwh
    return delivered / (operation.efficiency or usual.efficiency)


def weighted_years(operation: Operation, years: float) -> float:
    """The years of the study period, each by its carbon per kWh against the first year's [-].

    Year k (the first is 0) weighs (1 + yearly_change)^k; a last part of a year counts by its length.
    """
    whole, factor = math.floor(years), 1.0 + operation.yearly_change
    return sum(factor**year for year in range(whole)) + (years - whole) * factor**whole
