"""Carbon of what is done with materials: carriage, end of life, heat sources. Read from `data/carbon.toml`.

Each number has its source beside it, as in the catalogue; a fault names file, key and what was expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

from pydantic import Field, ValidationError, model_validator

from .catalogue import FACTORS_FILE, SOURCES_FILE, Source, read_sources, source_faults
from .errors import Checked, InputError, explain, nearest, parse_toml
from .models import NotNegative, Positive

EndOfLife = Literal["incineration", "land filling", "reuse"]


class Factor(Checked):
    """What every entry has: its name and, for each number, its source."""

    key: str
    name: str
    kind: str
    sources: dict[str, str] = Field(default_factory=dict)


class Vehicle(Factor):
    """Carbon of carriage [kgCO2e per tonne and km], empty runs and the making of the fuel included."""

    kgco2e_t_km: NotNegative
    kgco2e_t_km_low: NotNegative
    kgco2e_t_km_high: NotNegative

    @model_validator(mode="after")
    def _ordered(self) -> Vehicle:
        return _check_order(self, "kgco2e_t_km")


class HeatSource(Factor):
    """Carbon per kWh of the energy delivered to it, and the heat it makes of that (a heat pump: above 1)."""

    kgco2e_kwh: NotNegative
    kgco2e_kwh_low: NotNegative
    kgco2e_kwh_high: NotNegative
    efficiency: Positive
    efficiency_low: Positive
    efficiency_high: Positive

    @model_validator(mode="after")
    def _ordered(self) -> HeatSource:
        return _check_order(_check_order(self, "kgco2e_kwh"), "efficiency")


class Ending(Factor):
    """Carbon of the work at the end of life [kgCO2e/kg], without what the material itself gives off."""

    kgco2e_kg: NotNegative
    kgco2e_kg_low: NotNegative
    kgco2e_kg_high: NotNegative

    @model_validator(mode="after")
    def _ordered(self) -> Ending:
        return _check_order(self, "kgco2e_kg")


class Usual(Factor):
    """What is usual for materials of one origin: how they end, and the fossil carbon they give off when burnt."""

    end_of_life: EndOfLife
    burnt_fossil_kgco2e_kg: NotNegative


def _check_order(factor, name: str):
    low, typical, high = (getattr(factor, f"{name}{end}") for end in ("_low", "", "_high"))
    if not low <= typical <= high:
        raise ValueError(f"{name} = {typical:g} must lie between its low {low:g} and high {high:g}")
    return factor


KINDS: dict[str, type[Factor]] = {
    "vehicle": Vehicle,
    "heat source": HeatSource,
    "end of life": Ending,
    "origin": Usual,
}


@dataclass(frozen=True, eq=False)
class CarbonFactors:
    """All entries by kind and key."""

    vehicles: Mapping[str, Vehicle]
    heat_sources: Mapping[str, HeatSource]
    endings: Mapping[str, Ending]
    usual: Mapping[str, Usual]


@cache
def load_factors() -> CarbonFactors:
    """The factors shipped with the package; read once."""
    folder = resources.files(__package__) / "data"
    texts = {name: (folder / name).read_text(encoding="utf-8") for name in (FACTORS_FILE, SOURCES_FILE)}
    return read_factors(texts[FACTORS_FILE], read_sources(texts[SOURCES_FILE]))


def read_factors(text: str, sources: Mapping[str, Source]) -> CarbonFactors:
    """Factors from TOML text. InputError carries a line per fault: file, key, expected."""
    factors: dict[str, dict[str, Factor]] = {kind: {} for kind in KINDS}
    faults: list[str] = []
    for key, table in parse_toml(text, FACTORS_FILE).items():
        try:
            factor = _read_factor(key, table, sources)
            factors[factor.kind][key] = factor
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise InputError("\n".join(faults))
    return CarbonFactors(*(MappingProxyType(factors[kind]) for kind in KINDS))


def _read_factor(key: str, table: object, sources: Mapping[str, Source]) -> Factor:
    place = f"{FACTORS_FILE}: {key}"
    if not isinstance(table, dict):
        raise InputError(f"{place}: expected a table, [{key}]")
    kind = table.get("kind")
    if kind not in KINDS:
        raise InputError(f"{place}: kind = {kind!r}{nearest(str(kind), KINDS)}; expected one of {', '.join(KINDS)}")
    try:
        factor = KINDS[kind].model_validate({**table, "key": key})
    except ValidationError as error:
        raise explain(error, place) from None
    faults = source_faults(place, table, sources, KINDS[kind])
    if faults:
        raise InputError("\n".join(faults))
    return factor
