"""One row of a supplier's list -> Product, or what is wrong with it.

Every check of a row adds to its faults, so that a supplier sees all of them at once.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from .catalogue import Catalogue
from .errors import nearest
from .models import Conversion, Declaration, Material, Product

REQUIRED = ("product", "name", "material", "supplier", "price", "unit", "currency")
OPTIONAL = (
    "thickness_mm",
    "width_mm",
    "conductivity_w_mk",
    "conductivity_declared_w_mk",
    "conversion_moisture",
    "conversion_temperature",
    "conversion_ageing",
    "density_kg_m3",
    "declared_fossil_kgco2e_kg",
    "declared_biogenic_kgco2e_kg",
    "source",
    "note",
)
COLUMNS = (*REQUIRED, *OPTIONAL)
CONVERSIONS = ("conversion_moisture", "conversion_temperature", "conversion_ageing")

UNITS_BY_KIND = {
    "timber": ("m", "m3"),
    "loose fill": ("kg", "m3"),
    "batt": ("m2", "m3"),
    "insulating board": ("m2", "m3"),
    "board": ("m2", "m3"),
    "membrane": ("m2",),
    "cladding": ("m2", "m3"),
    "fixing": ("piece", "kg"),
}
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
DEFAULT_SOURCE = "supplier's list"

_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d{1,2})?", re.ASCII)
_KEY = re.compile(r"\w[\w.+/ -]{0,79}")
_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)


def parse_number(text: str) -> float | None:
    """A plain number with a point or a comma for the decimals; None for anything else."""
    if not _NUMBER.fullmatch(text):
        return None
    value = float(text.replace(",", "."))
    return value if math.isfinite(value) else None


@dataclass
class Row:
    """A row under examination: cells by column, the catalogue, and the faults found so far."""

    cells: dict[str, str]
    catalogue: Catalogue
    faults: list[tuple[str, str, str]] = field(default_factory=list)  # column, value, expected

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def fault(self, column: str, expected: str) -> None:
        self.faults.append((column, self.text(column), expected))

    def number(self, column: str, low: float, high: float, unit: str) -> float | None:
        """The number in a cell, None when it is empty or faulty; limits are included."""
        text = self.text(column)
        if not text:
            return None
        value = parse_number(text)
        what = f"a number in {unit}" if unit else "a number"
        if value is None:
            self.fault(column, f"{what}, without unit or thousands separators")
        elif not low <= value <= high:
            self.fault(column, f"{what} from {low:g} to {high:g}")
        else:
            return value
        return None

    def words(self, column: str) -> str:
        text = self.text(column)
        if not text:
            self.fault(column, "a value")
        elif len(text) > 200 or not text.isprintable():
            self.fault(column, "plain text of at most 200 characters")
        return text


def product_from(cells: dict[str, str], catalogue: Catalogue) -> tuple[Product | None, list[tuple[str, str, str]]]:
    """A product, or None and the faults of its row as (column, value, expected)."""
    row = Row(cells, catalogue)
    material = _material(row)
    values = {
        "key": _product_key(row),
        "name": row.words("name"),
        "material": row.text("material"),
        "supplier": row.words("supplier"),
        **_size(row, material),
        **_price(row, material),
        **_conductivity(row, material),
        "density_kg_m3": _density(row, material),
        "declaration": _declaration(row),
        "source": row.words("source") if row.text("source") else DEFAULT_SOURCE,
    }
    return (None if row.faults else Product(**values)), row.faults


def _material(row: Row) -> Material | None:
    key = row.text("material")
    material = row.catalogue.materials.get(key)
    if material is None:
        row.fault("material", f"a material of the catalogue{nearest(key, row.catalogue.materials) if key else ''}")
    elif material.kind not in UNITS_BY_KIND:
        row.fault("material", "a material that is sold")
        return None
    return material


def _product_key(row: Row) -> str:
    key = row.text("product")
    if not _KEY.fullmatch(key):
        row.fault("product", "a key of letters, digits and . _ - + /, at most 80 characters")
    return key


def _size(row: Row, material: Material | None) -> dict[str, float | None]:
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
    return {
        "thickness_mm": row.number("thickness_mm", low, high, "mm"),
        "width_mm": row.number("width_mm", *WIDTH_RANGE_MM, "mm"),
    }


def _price(row: Row, material: Material | None) -> dict[str, object]:
    if not row.text("price"):
        row.fault("price", "a number above 0")
    price = row.number("price", -math.inf, math.inf, "")
    if price is not None and price <= 0:
        row.fault("price", "a number above 0")
    unit = row.text("unit").replace("²", "2").replace("³", "3").lower()
    fitting = UNITS_BY_KIND[material.kind] if material else ("m2", "m3", "m", "kg", "piece")
    if unit not in fitting:
        what = f" ({material.kind})" if material else ""
        row.fault("unit", f"{' or '.join(fitting)}{what}")
    currency = row.text("currency").upper()
    if not _CURRENCY.fullmatch(currency):
        row.fault("currency", "a currency code of three letters, such as EUR")
    return {"price": price, "unit": unit, "currency": currency}


def _conductivity(row: Row, material: Material | None) -> dict[str, object]:
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


def _conversion(row: Row) -> Conversion | None:
    factors = {name.removeprefix("conversion_"): row.number(name, *FACTOR_RANGE, "") for name in CONVERSIONS}
    given = {name: value for name, value in factors.items() if value is not None}
    return Conversion(**given) if given else None


def _check_conductivity(row: Row, column: str, design: float, material: Material) -> None:
    usual = material.design_conductivity
    if usual is None:
        row.fault(column, f"no value: {material.kind} carries no conductivity")
        return
    low, high = (ratio * usual for ratio in CONDUCTIVITY_RATIO)
    if not low <= design <= high:
        row.fault(column, f"a design value from {low:.3f} to {high:.3f} W/mK ({material.key}: {usual:g})")


def _density(row: Row, material: Material | None) -> float | None:
    value = row.number("density_kg_m3", 1, 10_000, "kg/m3")
    if value is None or material is None:
        return value
    usual = material.density_kg_m3
    if usual is None:
        row.fault("density_kg_m3", f"no value: {material.kind} is weighed per m2")
        return None
    low, high = (ratio * usual for ratio in DENSITY_RATIO)
    if not low <= value <= high:
        row.fault("density_kg_m3", f"a number in kg/m3 from {low:.0f} to {high:.0f} ({material.key}: {usual:g})")
    return value


def _declaration(row: Row) -> Declaration | None:
    columns = ("declared_fossil_kgco2e_kg", "declared_biogenic_kgco2e_kg")
    fossil = row.number(columns[0], *FOSSIL_RANGE, "kg CO2e per kg")
    biogenic = row.number(columns[1], *BIOGENIC_RANGE, "kg CO2e per kg")
    if not any(row.text(column) for column in columns):
        return None
    for column, other in (columns, columns[::-1]):
        if not row.text(column):
            row.fault(column, f"a number in kg CO2e per kg (0 where there is none), as {other} is given")
    if fossil is None or biogenic is None:
        return None
    source = row.text("source") or DEFAULT_SOURCE
    return Declaration.of_product_stage(f"{row.text('product')}-declaration", fossil, biogenic, source)
