"""On what a material's carbon rests: a declaration, a generic value with its range, or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from ..catalogue import Source, load_catalogue
from ..models import Material

IN_BUILDUP_FILE = "stated in the build-up file"


@dataclass(frozen=True)
class CarbonBasis:
    """Fossil carbon (and land use) of A1-A3 [kgCO2e/kg] with its range, and where it is from.

    A declared value has no range: low, typical and high are the same. All are None where the kind is "unknown".
    """

    kind: Literal["declared", "generic", "unknown"]
    low: float | None
    typical: float | None
    high: float | None
    biogenic: float | None
    source: str
    valid_until: date | None = None
    region: str | None = None

    @property
    def words(self) -> str:
        """In one line, for prints and tables: a generic value shows its range."""
        if self.typical is None:
            return "unknown: no declaration and no generic value"
        if self.kind == "declared":
            until = f", valid until {self.valid_until.isoformat()}" if self.valid_until else ""
            region = f", {self.region}" if self.region else ""
            return f"declared {self.typical:.3g} kg CO2e/kg ({self.source}{region}{until})"
        return f"generic {self.typical:.3g} kg CO2e/kg, {self.low:.3g} to {self.high:.3g} ({self.source})"


def carbon_basis(material: Material, sources: Mapping[str, Source] | None = None) -> CarbonBasis:
    """What the carbon of a material (as sold: `models.as_sold`) rests on; `sources` are the catalogue's by default."""
    typical, biogenic = material.fossil_kgco2e_kg, material.biogenic_kgco2e_kg
    declaration = material.declaration
    if declaration is not None:
        fossil = declaration.fossil_kgco2e_kg
        source = f"{declaration.name}: {declaration.source}" if declaration.name else declaration.source
        return CarbonBasis(
            "declared",
            fossil,
            fossil,
            fossil,
            declaration.biogenic_kgco2e_kg,
            source,
            declaration.valid_until,
            declaration.region,
        )
    if typical is None:
        return CarbonBasis("unknown", None, None, None, biogenic, "")
    low, high = material.fossil_low_kgco2e_kg, material.fossil_high_kgco2e_kg
    known = load_catalogue().sources if sources is None else sources
    key = material.sources.get("fossil_kgco2e_kg", "")
    source = known[key].title if key in known else key or IN_BUILDUP_FILE
    return CarbonBasis(
        "generic", typical if low is None else low, typical, typical if high is None else high, biogenic, source
    )
