"""What an environmental declaration in the ILCD+EPD format states, and the identifiers of that format.

Nothing is converted or judged here: values are per declared unit, and what a file does not state is None.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import Field

from ..errors import Checked
from ..models import Module, Positive

DeclaredIn = Literal["kg", "m3", "m2", "m", "piece"]
UUID = r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"
Standard = Literal["EN 15804+A1", "EN 15804+A2"]

# Flow properties of the reference product, by UUID; the unit is that of the property's unit group.
FLOW_PROPERTIES: dict[str, DeclaredIn] = {
    "93a60a56-a3c8-11da-a746-0800200b9a66": "kg",
    "93a60a56-a3c8-22da-a746-0800200c9a66": "m3",
    "93a60a56-a3c8-19da-a746-0800200c9a66": "m2",
    "838aaa23-0117-11db-92e3-0800200c9a66": "m",
    "01846770-4cfe-4a25-8ad9-919d8d378345": "piece",
}
QUANTITIES: dict[DeclaredIn, str] = {
    "kg": "Mass",
    "m3": "Volume",
    "m2": "Area",
    "m": "Length",
    "piece": "Number of items",
}
BIOGENIC_CARBON = "62e503ce-544a-4599-b2ad-bcea15a7bf20"
PACKAGING_CARBON = "262a541b-209e-44cc-a426-33bce30de7b1"
UNIT_GROUP_CO2E = "1ebf3012-d0db-4de2-aefd-ef30cedb0be1"

Indicator = Literal["fossil", "biogenic", "land_use", "total"]
INDICATORS: tuple[Indicator, ...] = get_args(Indicator)

# Indicators of climate change by the UUID of their method: a set per standard and edition of the method.
A2_EF31 = "EN 15804+A2, EF 3.1"
A2_EF30 = "EN 15804+A2, EF 3.0"
A2_NAMED = "EN 15804+A2, by name"
A1 = "EN 15804+A1"
A1_NAMED = "EN 15804+A1, by name"
# Where a file carries several sets, the first of these is read.
SETS = (A2_EF31, A2_EF30, A2_NAMED, A1, A1_NAMED)
METHODS: dict[str, tuple[str, Indicator]] = {
    "a7ea142a-9749-11ed-a8fc-0242ac120002": (A2_EF31, "total"),
    "a7ea19c0-9749-11ed-a8fc-0242ac120002": (A2_EF31, "fossil"),
    "a7ea186c-9749-11ed-a8fc-0242ac120002": (A2_EF31, "biogenic"),
    "a7ea1ae2-9749-11ed-a8fc-0242ac120002": (A2_EF31, "land_use"),
    "6a37f984-a4b3-458a-a20a-64418c145fa2": (A2_EF30, "total"),
    "5f635281-343e-44fb-83df-1971b155e6b6": (A2_EF30, "fossil"),
    "2356e1ab-0185-4db5-86e5-16de51c7485c": (A2_EF30, "biogenic"),
    "4331bbdb-978a-490d-8707-eeb047f01a55": (A2_EF30, "land_use"),
    "77e416eb-a363-4258-a04e-171d843a6460": (A1, "total"),
}
INDICATOR_NAMES: dict[Indicator, str] = {
    "fossil": "GWP-fossil",
    "biogenic": "GWP-biogenic",
    "land_use": "GWP-luluc",
    "total": "GWP-total",
}


class ModuleValues(Checked):
    """Climate change of one module per declared unit [kgCO2e]; None where nothing is stated, which is not zero."""

    fossil: float | None = None
    biogenic: float | None = None
    land_use: float | None = None
    total: float | None = None


class DeclaredUnit(Checked):
    """What the values stand for: `amount` of `unit`, and all that the file says of its mass and carbon.

    `mass_kg`, `biogenic_carbon_kg` (as carbon, not CO2) and `packaging_carbon_kg` are those of the whole amount; the
    rest are properties of the product. `units_per_kg` is the format's "conversion factor to 1 kg" f: mass = amount / f.
    """

    amount: Positive
    unit: DeclaredIn
    mass_kg: Positive | None = None
    gross_density_kg_m3: Positive | None = None
    bulk_density_kg_m3: Positive | None = None
    grammage_kg_m2: Positive | None = None
    thickness_m: Positive | None = None
    linear_density_kg_m: Positive | None = None
    piece_kg: Positive | None = None
    units_per_kg: Positive | None = None
    biogenic_carbon_kg: Annotated[float, Field(ge=0)] | None = None
    packaging_carbon_kg: Annotated[float, Field(ge=0)] | None = None

    @property
    def words(self) -> str:
        return f"{self.amount:g} {self.unit}"

    @property
    def density_kg_m3(self) -> float | None:
        return self.gross_density_kg_m3 or self.bulk_density_kg_m3


# How the format calls the properties of the material, and how their units may be written.
MATERIAL_PROPERTIES: dict[str, tuple[str, tuple[str, ...]]] = {
    "gross density": ("gross_density_kg_m3", ("kg/m3",)),
    "bulk density": ("bulk_density_kg_m3", ("kg/m3",)),
    "grammage": ("grammage_kg_m2", ("kg/m2",)),
    "layer thickness": ("thickness_m", ("m",)),
    "linear density": ("linear_density_kg_m", ("kg/m",)),
    "weight per piece": ("piece_kg", ("kg",)),
    "conversion factor to 1 kg": ("units_per_kg", ()),
}


class DeclaredProduct(Checked):
    """One declaration as its file states it; values by module per declared unit.

    `key` is the UUID of its process data set, `valid_until` the last day of the year that it gives, `region` its code
    of location. `scenarios`: of which scenario a module's values are, where the file has scenarios. `unit` is None
    where the file is a process data set alone, without the flow data set that says what the values stand for.
    """

    key: Annotated[str, Field(pattern=UUID)]
    name: str
    comment: str = ""
    standard: Standard
    modules: dict[Module, ModuleValues]
    scenarios: dict[Module, str] = Field(default_factory=dict)
    valid_until: date | None = None
    reference_year: int | None = None
    region: str | None = None
    unit: DeclaredUnit | None = None

    def lapsed(self, on: date) -> bool:
        """Whether the declaration is no longer valid on a day."""
        return self.valid_until is not None and self.valid_until < on
