"""What a brief says of cost and carbon: labour, delivery, fixings, life-cycle modules, heat source, ranges."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from materials.errors import Checked
from materials.factors import EndOfLife
from materials.models import MODULES, Module, NotNegative, Origin, Positive
from materials.slips import GRAMS, METRES_FOR_KM, MINUTES, PERCENT, within

Vehicle = Literal["lorry", "light lorry", "train", "ship"]
HeatSource = Literal["heat pump", "district heat", "wood pellets", "gas", "electric"]
Years = Annotated[float, Field(ge=1, le=200)]
PerKilowattHour = Annotated[float, within(0, 5, "kgCO2e/kWh", GRAMS)]
Efficiency = Annotated[float, within(0.1, 20, "heat out per energy in", PERCENT)]
DegreeHours = Annotated[float, within(1, 400, "K kh a year", GRAMS)]
Hours = Annotated[float, within(0, 24, "h", MINUTES)]  # by one pair of hands, for one m2, m3, m or piece
Rate = Annotated[float, within(0, 1e7, "of the currency")]  # an hour is 1e5 to 1e6 in the smallest currencies
Kilometres = Annotated[NotNegative, within(0, 40_000, "km", METRES_FOR_KM)]  # once round the earth
FIXED = ("tie",)  # places besides the slots that fixings may name


class Labour(Checked):
    """Hours by operation and what an hour costs."""

    rate_per_h: Rate = 0.0
    cladding_h_per_m2: Hours = 0.0
    membrane_h_per_m2: Hours = 0.0
    taping_h_per_m2: Hours = 0.0
    board_h_per_m2: Hours = 0.0
    lining_h_per_m2: Hours = 0.0
    batt_h_per_m2: Hours = 0.0
    blown_h_per_m3: Hours = 0.0
    stud_h_per_m: Hours = 0.0
    batten_h_per_m: Hours = 0.0
    tie_h_per_piece: Hours = 0.0


class Transport(Checked):
    """How goods come to the site: distance where a product states none, by what, and what it costs."""

    distance_km: Kilometres = 50.0
    vehicle: Vehicle = "lorry"
    rate_per_t_km: Rate = 0.0


class Fixing(Checked):
    """Screws, nails or tape of one product that a slot's layer needs: by area, by metre of member, or by tie."""

    product: str
    per_m2: Positive | None = None
    per_m: Positive | None = None
    per_tie: Positive | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Fixing:
        if sum(each is not None for each in (self.per_m2, self.per_m, self.per_tie)) != 1:
            raise ValueError("give one of per_m2 (a layer), per_m (studs and battens) and per_tie (the tie)")
        return self


class CarbonDemand(Checked):
    """Which modules of EN 15978 count, over how long, and what becomes of materials at the end.

    A1-A3 counted together with C3 and C4 makes the score total carbon with biogenic carbon balanced; any other choice
    makes it fossil carbon and land use.
    """

    modules: Annotated[tuple[Module, ...], Field(min_length=1)] = ("A1-A3",)
    study_years: Years = 50.0
    end_of_life: dict[Origin, EndOfLife] = Field(default_factory=dict)  # by origin; the usual one where it says nothing
    disposal_km: Kilometres = 50.0  # by lorry
    installation_kgco2e_kg: NotNegative = 0.0  # energy on site in A5, per kg built in
    demolition_kgco2e_kg: NotNegative = 0.004  # C1, per kg (from memory)

    @field_validator("modules")
    @classmethod
    def _in_order(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        if len(set(value)) != len(value):
            raise ValueError("name each module once")
        if "D" in value:
            raise ValueError("module D lies beyond the building's life and is shown apart; it cannot be counted")
        return tuple(each for each in MODULES if each in value)


class Operation(Checked):
    """The heat that the wall itself loses: from where it comes and how much carbon that is."""

    heat_source: HeatSource = "heat pump"
    kgco2e_kwh: PerKilowattHour | None = None  # of delivered energy; the source's usual value where it says nothing
    efficiency: Efficiency | None = None  # heat out per energy in; the source's usual one
    yearly_change: Annotated[float, Field(gt=-1, le=1)] = 0.0  # of the carbon per kWh, -0.03 = 3 % less every year
    degree_hours_kkh: DegreeHours | None = None  # K kh a year; from the climate's months where it says nothing
    base_temperature_c: Annotated[float, Field(ge=-20, le=40)] = 15.0  # of the outdoor month below which one heats


class Ranges(Checked):
    """How far prices and carbon may turn out otherwise, as shares (0.1 = 10 % either way)."""

    supplier_price: Annotated[float, Field(ge=0, lt=1)] = 0.08  # all prices of a supplier together
    product_price: Annotated[float, Field(ge=0, lt=1)] = 0.05  # each product's by itself
    labour: Annotated[float, Field(ge=0, lt=1)] = 0.10
    declared_carbon: Annotated[float, Field(ge=0, lt=1)] = 0.15  # where a product declares its own
    scenarios: Annotated[int, Field(ge=16, le=65536)] = 512
