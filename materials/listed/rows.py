"""One row of a supplier's list -> Product, or what is wrong with it.

Every check of a row adds to its faults, so that a supplier sees all of them at once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..catalogue import Catalogue
from ..errors import nearest
from ..models import Conversion, Declaration, Material, Product
from .cells import plain
from .columns import COLUMNS, CONDUCTIVITIES, CONVERSIONS, NUMBERS, REQUIRED
from .list_row import ListRow, Manner
from .row_price import PACK_RANGE, UNITS_BY_KIND, price_of
from .row_vapour import vapour_of
from .slips import percent_slip, ratio_slip, size_slip

__all__ = ["COLUMNS", "NUMBERS", "PACK_RANGE", "REQUIRED", "Manner", "product_from"]

NEEDS_THICKNESS = ("timber", "batt", "insulating board", "board", "cladding")
UNSIZED = ("loose fill",)
SIZE_RANGE_MM = (3.0, 600.0)
WIDTH_RANGE_MM = (10.0, 1500.0)
FACTOR_RANGE = (0.8, 2.0)
FOSSIL_RANGE = (0.0, 20.0)
# Half the dry mass as carbon is the most that any wood stores: 44/12 x 0.5 = 1.83 kg CO2 per kg.
BIOGENIC_RANGE = (-1.84, 0.0)
CONDUCTIVITY_RATIO = (0.6, 1.6)
DENSITY_RATIO = (0.5, 1.8)
WASTE_RANGE = (0.0, 50.0)
LEAD_TIME_RANGE = (0.0, 730.0)
DELIVERY_RANGE_KM = (0.0, 20_000.0)
DEFAULT_SOURCE = "supplier's list"
# Of one that is off its range, what brings it back: the likely slip.
CONDUCTIVITY_SLIPS = {0.001: "mW/mK", 10.0: "", 0.1: "", 0.01: "", 100.0: ""}
DENSITY_SLIPS = {16.0185: "lb/ft3", 10.0: "", 0.1: "", 1000.0: "kg/dm3", 0.001: ""}

_KEY = re.compile(r"\w[\w.+/ -]{0,79}")


def product_from(
    cells: Mapping[str, str], catalogue: Catalogue, manner: Manner
) -> tuple[Product | None, list[tuple[str, str, str]]]:
    """A product, or None and the faults of its row as (column, value, expected)."""
    row = ListRow(cells, catalogue, manner)
    material = _material(row)
    source = row.words("source") if row.text("source") else DEFAULT_SOURCE
    waste = row.number("waste_percent", *WASTE_RANGE, "%")
    if slip := percent_slip(waste):
        row.fault("waste_percent", slip)
    size = _size(row, material)
    price, remark = price_of(row, material, size)
    values = {
        "key": _product_key(row),
        "name": row.words("name"),
        "material": material.key if material else "",
        "supplier": row.words("supplier"),
        **size,
        **price,
        **_conductivity(row, material),
        "density_kg_m3": _density(row, material),
        **vapour_of(row, material),
        "declaration": _declaration(row, source),
        "declaration_key": row.words("declaration") if row.text("declaration") else None,
        "waste_fraction": None if waste is None else plain(waste / 100),
        "valid_until": row.day("valid_until"),
        "lead_time_days": row.number("lead_time_days", *LEAD_TIME_RANGE, "days", whole=True),
        "delivery_km": row.number("delivery_km", *DELIVERY_RANGE_KM, "km"),
        "source": f"{source}; {remark}" if remark and remark not in source else source,
    }
    return (None if row.faults else Product(**values)), row.faults


def _material(row: ListRow) -> Material | None:
    word = row.text("material")
    key = row.manner.materials.get(" ".join(word.split()).casefold(), word)
    material = row.catalogue.materials.get(key)
    if material is None:
        hint = nearest(key, row.catalogue.materials) if key else ""
        row.fault("material", f"a material of the catalogue{hint}")
    elif material.kind not in UNITS_BY_KIND:
        row.fault("material", "a material that is sold")
        return None
    return material


def _product_key(row: ListRow) -> str:
    key = row.text("product")
    if not _KEY.fullmatch(key):
        row.fault("product", "a key of letters, digits and . _ - + /, at most 80 characters")
    return key


def _size(row: ListRow, material: Material | None) -> dict[str, float | None]:
    kind = material.kind if material else None
    low, high = (0.0, 10.0) if kind == "membrane" else SIZE_RANGE_MM
    if kind in NEEDS_THICKNESS and not row.text("thickness_mm"):
        row.fault("thickness_mm", f"a number in mm: {kind} is sold by thickness")
    if kind == "timber" and not row.text("width_mm"):
        row.fault("width_mm", "a number in mm: timber is sold by thickness (through the wall) and width (its face)")
    if kind in UNSIZED:
        for column in ("thickness_mm", "width_mm"):
            if row.text(column):
                row.fault(column, f"no value: {kind} has no size")
        return {}
    size = {
        "thickness_mm": row.number("thickness_mm", low, high, "mm"),
        "width_mm": row.number("width_mm", *WIDTH_RANGE_MM, "mm"),
    }
    if material is not None and (slip := size_slip(material, **size)):
        row.fault("thickness_mm", slip)
    return size


def _conductivity(row: ListRow, material: Material | None) -> dict[str, object]:
    if not any(name in row.cells for name in CONDUCTIVITIES):
        return {}
    design = row.number("conductivity_w_mk", 1e-4, 500, "W/mK")
    declared = row.number("conductivity_declared_w_mk", 1e-4, 500, "W/mK")
    conversion = _conversion(row)
    if design is not None and declared is not None:
        row.fault("conductivity_w_mk", "either the design value or the declared one with its conversion, not both")
    if declared is not None and conversion is None and not any(row.text(name) for name in CONVERSIONS):
        row.fault("conversion_moisture", "the conversion to the design value (ISO 10456); 1 where there is none")
    column = "conductivity_w_mk" if design is not None else "conductivity_declared_w_mk"
    value = design if design is not None else declared
    if value is not None and material is not None:
        factor = conversion.factor if conversion and design is None else 1.0
        _check_conductivity(row, column, value * factor, material)
    if declared is None and not row.text("conductivity_declared_w_mk"):
        for name in CONVERSIONS:
            if row.text(name):
                row.fault(name, "no value: a conversion belongs to conductivity_declared_w_mk")
    return {
        "conductivity_w_mk": design,
        "conductivity_declared_w_mk": declared,
        "conversion": conversion if declared is not None else None,
    }


def _conversion(row: ListRow) -> Conversion | None:
    factors = {name.removeprefix("conversion_"): row.number(name, *FACTOR_RANGE, "") for name in CONVERSIONS}
    given = {name: value for name, value in factors.items() if value is not None}
    return Conversion(**given) if given else None


def _check_conductivity(row: ListRow, column: str, design: float, material: Material) -> None:
    usual = material.design_conductivity
    if usual is None:
        row.fault(column, f"no value: {material.kind} carries no conductivity")
        return
    low, high = (ratio * usual for ratio in CONDUCTIVITY_RATIO)
    if not low <= design <= high:
        slip = ratio_slip(design, low, high, CONDUCTIVITY_SLIPS)
        row.fault(column, f"a design value from {low:.3f} to {high:.3f} W/mK ({material.key}: {usual:g}){slip}")


def _density(row: ListRow, material: Material | None) -> float | None:
    value = row.number("density_kg_m3", 1, 10_000, "kg/m3")
    if value is None or material is None:
        return value
    usual = material.density_kg_m3
    if usual is None:
        row.fault("density_kg_m3", f"no value: {material.kind} is weighed per m2")
        return None
    low, high = (ratio * usual for ratio in DENSITY_RATIO)
    if not low <= value <= high:
        slip = ratio_slip(value, low, high, DENSITY_SLIPS)
        row.fault("density_kg_m3", f"a number in kg/m3 from {low:.0f} to {high:.0f} ({material.key}: {usual:g}){slip}")
    return value


def _declaration(row: ListRow, source: str) -> Declaration | None:
    columns = ("declared_fossil_kgco2e_kg", "declared_biogenic_kgco2e_kg")
    if not any(column in row.cells for column in columns):
        return None
    fossil = row.number(columns[0], *FOSSIL_RANGE, "kg CO2e per kg")
    biogenic = row.number(columns[1], *BIOGENIC_RANGE, "kg CO2e per kg")
    for column, other in (columns, columns[::-1]):
        if not row.text(column):
            row.fault(column, f"a number in kg CO2e per kg (0 where there is none), as {other} is given")
    if fossil is None or biogenic is None:
        return None
    return Declaration.of_product_stage(f"{row.text('product')}-declaration", fossil, biogenic, source)
