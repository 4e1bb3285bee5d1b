"""One row of a supplier's list -> Product, or what is wrong with it.

Every check of a row adds to its faults, so that a supplier sees all of them at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from ..catalogue import Catalogue
from ..errors import nearest
from ..models import PACKS, UNITS, Conversion, Declaration, Material, Product
from .cells import ISO_DATE, Typed, parse_date, parse_number, plain, unguarded

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
    "pack",
    "pack_contents",
    "contents_unit",
    "minimum_order",
    "waste_percent",
    "mass_kg",
    "valid_until",
    "lead_time_days",
    "delivery_km",
    "declaration",
    "source",
    "note",
)
COLUMNS = (*REQUIRED, *OPTIONAL)
WORDS = ("product", "name", "material", "supplier", "unit", "currency", "pack", "contents_unit", "declaration")
NUMBERS = tuple(name for name in COLUMNS if name not in (*WORDS, "valid_until", "source", "note"))
CONVERSIONS = ("conversion_moisture", "conversion_temperature", "conversion_ageing")
CONDUCTIVITIES = ("conductivity_w_mk", "conductivity_declared_w_mk", *CONVERSIONS)

UNITS_BY_KIND = {
    "timber": ("m", "m3"),
    "loose fill": ("kg", "m3"),
    "batt": ("m2", "m3"),
    "insulating board": ("m2", "m3"),
    "board": ("m2", "m3"),
    "membrane": ("m2",),
    "cladding": ("m2", "m3"),
    "fixing": ("piece", "kg", "m"),
}
SOLD_BY = tuple(dict.fromkeys((*UNITS, *PACKS)))
SPELLINGS = {
    **{each: each for each in SOLD_BY},
    **dict.fromkeys(("m²", "m^2", "sqm", "sq m", "square metre"), "m2"),
    **dict.fromkeys(("m³", "m^3", "cbm", "cubic metre"), "m3"),
    **dict.fromkeys(("lm", "lin m", "metre", "metres", "meter", "meters", "running metre"), "m"),
    **dict.fromkeys(("kgs", "kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("pc", "pcs", "pieces", "each", "ea"), "piece"),
    **{f"{each}s": each for each in PACKS},
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
MOST_PRICE = 1e6
PACK_RANGE = {"m2": (0.05, 2000), "m3": (0.001, 200), "m": (0.1, 20_000), "kg": (0.05, 5000), "piece": (1, 100_000)}
MOST_ORDER = 1e6
WASTE_RANGE = (0.0, 50.0)
MASS_RANGE_KG = (1e-5, 100.0)
LEAD_TIME_RANGE = (0.0, 730.0)
DELIVERY_RANGE_KM = (0.0, 20_000.0)
DAYS = (date(2000, 1, 1), date(2100, 12, 31))
DEFAULT_SOURCE = "supplier's list"

_KEY = re.compile(r"\w[\w.+/ -]{0,79}")
_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)


@dataclass(frozen=True)
class Manner:
    """How a list writes things: decimals and dates (see `cells`), its own words for units and materials.

    Words of units and materials are folded to lower case.
    """

    decimal: str | None = None
    doubtful: str = ","
    date_format: str = ISO_DATE
    units: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)


@dataclass
class ListRow:
    """A row under examination: cells by column (those that hold something), the catalogue, and its faults so far."""

    cells: Mapping[str, str]
    catalogue: Catalogue
    manner: Manner
    faults: list[tuple[str, str, str]] = field(default_factory=list)  # column, value, expected

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def fault(self, column: str, expected: str) -> None:
        self.faults.append((column, self.text(column), expected))

    def number(self, column: str, low: float, high: float, unit: str, whole: bool = False) -> float | None:
        """The number in a cell, None when it is empty or faulty; limits are included."""
        text = self.cells.get(column, "")
        if not text:
            return None
        value, against = parse_number(text, self.manner.decimal, self.manner.doubtful)
        what = f"a {'whole ' if whole else ''}number" + (f" in {unit}" if unit else "")
        if value is None:
            self.fault(column, f"{what}, {against}")
        elif not low <= value <= high or (whole and value != int(value)):
            self.fault(column, f"{what} from {low:g} to {high:g}")
        else:
            return value
        return None

    def words(self, column: str) -> str:
        text = unguarded(" ".join(self.text(column).split()))
        if not text:
            self.fault(column, "a value")
        elif len(text) > 200 or not text.isprintable():
            self.fault(column, "plain text of at most 200 characters")
        return text

    def unit(self, column: str) -> str:
        """A unit or kind of pack as we spell it; '' where the cell is empty, its own word where we know none."""
        word = self.text(column).casefold()
        return self.manner.units.get(word) or SPELLINGS.get(word, word)

    def day(self, column: str) -> date | None:
        text = self.text(column)
        if not text:
            return None
        form = ISO_DATE if isinstance(text, Typed) else self.manner.date_format
        stated_day = parse_date(text, form)
        if stated_day is None or not DAYS[0] <= stated_day <= DAYS[1]:
            self.fault(column, f"a day from {DAYS[0]:%Y} to {DAYS[1]:%Y} written as {form}")
            return None
        return stated_day


def product_from(
    cells: Mapping[str, str], catalogue: Catalogue, manner: Manner
) -> tuple[Product | None, list[tuple[str, str, str]]]:
    """A product, or None and the faults of its row as (column, value, expected)."""
    row = ListRow(cells, catalogue, manner)
    material = _material(row)
    source = row.words("source") if row.text("source") else DEFAULT_SOURCE
    waste = row.number("waste_percent", *WASTE_RANGE, "%")
    values = {
        "key": _product_key(row),
        "name": row.words("name"),
        "material": material.key if material else "",
        "supplier": row.words("supplier"),
        **_size(row, material),
        **_price(row, material),
        **_conductivity(row, material),
        "density_kg_m3": _density(row, material),
        "declaration": _declaration(row, source),
        "declaration_key": row.words("declaration") if row.text("declaration") else None,
        "waste_fraction": None if waste is None else plain(waste / 100),
        "valid_until": row.day("valid_until"),
        "lead_time_days": row.number("lead_time_days", *LEAD_TIME_RANGE, "days", whole=True),
        "delivery_km": row.number("delivery_km", *DELIVERY_RANGE_KM, "km"),
        "source": source,
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
    return {
        "thickness_mm": row.number("thickness_mm", low, high, "mm"),
        "width_mm": row.number("width_mm", *WIDTH_RANGE_MM, "mm"),
    }


def _price(row: ListRow, material: Material | None) -> dict[str, object]:
    """Price per base unit, how it is sold, least order [base unit]; a price per pack is divided by its contents."""
    if not row.text("price"):
        row.fault("price", "a number above 0")
    price = row.number("price", -math.inf, math.inf, "")
    if price is not None and not 0 < price <= MOST_PRICE:
        row.fault("price", f"a number above 0, at most {MOST_PRICE:.0f}")
    currency = row.text("currency").upper()
    if not _CURRENCY.fullmatch(currency):
        row.fault("currency", "a currency code of three letters, such as EUR")
    unit, pack, contents, by_pack = _sold(row, material)
    order = row.number("minimum_order", 0, MOST_ORDER, "the unit of the price")
    each = contents if by_pack and contents else 1.0
    return {
        "price": price if price is None or each == 1 else plain(price / each),
        "unit": unit,
        "currency": currency,
        "pack": pack,
        "pack_contents": contents,
        "minimum_order": order if order is None or each == 1 else plain(order * each),
        "mass_kg": _mass(row, material, unit),
    }


def _sold(row: ListRow, material: Material | None) -> tuple[str, str | None, float | None, bool]:
    """(base unit, pack, its contents in that unit, whether the price is that of a pack)."""
    fitting = UNITS_BY_KIND[material.kind] if material else UNITS
    sold, inner = row.unit("unit"), row.unit("contents_unit")
    # A piece is a unit of its own for fixings, and a pack of so many m2 or m for what is sold by those.
    by_pack = sold in PACKS and not (sold == "piece" and sold in fitting and inner in ("", "piece"))
    if not by_pack and sold not in fitting:
        what = f" ({material.kind})" if material else ""
        packs = ", ".join(each for each in PACKS if each not in fitting)
        row.fault("unit", f"{' or '.join(fitting)}{what}, or one of {packs} with pack_contents and contents_unit")
        return sold, None, None, False
    if by_pack and inner not in fitting:
        row.fault("contents_unit", f"{' or '.join(fitting)}: the unit of what one {sold} holds")
        return inner, None, None, True
    unit = inner if by_pack else sold
    if inner and inner != unit and row.text("pack_contents"):
        row.fault("contents_unit", f"{unit}, the unit of the price")
    contents = row.number("pack_contents", *PACK_RANGE[unit], unit, whole=unit == "piece")
    pack = _pack(row, sold if by_pack else None)
    if (pack or by_pack) and not row.text("pack_contents"):
        row.fault("pack_contents", f"a number in {unit}: what one {pack or sold} holds")
    if contents is None:
        return unit, None, None, by_pack
    return unit, pack or "pack", contents, by_pack


def _pack(row: ListRow, priced: str | None) -> str | None:
    """How it is packed: as the price says, or as the column `pack` does beside a price per m2, m or kg."""
    stated = row.unit("pack")
    if stated and stated not in PACKS:
        row.fault("pack", f"one of {', '.join(PACKS)}{nearest(stated, PACKS)}")
    elif stated and priced and stated != priced:
        row.fault("pack", f"{priced}, as the price is given for one, or nothing")
    return priced or stated or None


def _mass(row: ListRow, material: Material | None, unit: str) -> float | None:
    """Mass of one unit [kg] of a fixing or tape."""
    if row.text("mass_kg") and material is not None:
        if material.kind != "fixing":
            row.fault("mass_kg", f"no value: {material.kind} is weighed by its density or per m2")
            return None
        if unit == "kg":
            row.fault("mass_kg", "no value: it is sold by the kg")
            return None
    return row.number("mass_kg", *MASS_RANGE_KG, f"kg per {unit}" if unit in UNITS else "kg")


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
        row.fault(column, f"a design value from {low:.3f} to {high:.3f} W/mK ({material.key}: {usual:g})")


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
        row.fault("density_kg_m3", f"a number in kg/m3 from {low:.0f} to {high:.0f} ({material.key}: {usual:g})")
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
