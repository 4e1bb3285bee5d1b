"""Price lists written in our own columns: products for a spreadsheet, and the empty list with its explanations."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from ..errors import InputError
from ..models import PACKS, Declaration, Product
from .cells import guarded, plain
from .columns import COLUMNS, REQUIRED

VAPOUR = ("vapour_mu", "sd_m", "sd_m_dry", "sd_m_humid", "mass_kg_m2")
TEMPLATE_HELP = {
    "product": "# the supplier's article key, unique",
    "name": "as on the invoice",
    "material": "a key of the catalogue",
    "supplier": "who sells it",
    "price": "per unit, net, above 0",
    "unit": "m2, m3, m, kg or piece; or a price per roll, pack, bag, sheet, bundle or piece with pack_contents",
    "currency": "three letters",
    "thickness_mm": "size through the wall; empty for loose fill and membranes",
    "width_mm": "timber: the face across the wall",
    "conductivity_w_mk": "design value, when it differs from the catalogue",
    "conductivity_declared_w_mk": "or the declared value",
    "conversion_moisture": "with its conversion (ISO 10456), 1 where there is none",
    "density_kg_m3": "when it differs from the catalogue",
    "vapour_mu": "the same; or sd_m of a membrane or faced board",
    "sd_m": "membranes and boards: instead of vapour_mu",
    "sd_m_dry": "of one that follows the humidity, in dry air",
    "sd_m_humid": "and in humid air",
    "mass_kg_m2": "membranes, when it differs from the catalogue",
    "declared_fossil_kgco2e_kg": "declaration, A1-A3, per kg",
    "declared_biogenic_kgco2e_kg": "negative or 0",
    "pack": f"how it is packed, where the price is not per pack: {', '.join(PACKS)}",
    "pack_contents": "how much one of them holds",
    "contents_unit": "of what it holds: m2, m3, m, kg or piece",
    "minimum_order": "counted in the unit of the price",
    "price_steps": "lower prices of larger quantities, in the unit of the price: 50: 4.20; 200: 3.95",
    "discount_percent": "off the price",
    "vat_percent": "with prices_include_vat = true or false in a mapping; empty where prices are net",
    "freight": "what one delivery of the supplier costs, the same in all rows",
    "freight_free_from": "the sum of goods from which there is none",
    "waste_percent": "cut away and lost, when it differs from the catalogue",
    "mass_kg": "fixings and tapes: of one piece or metre",
    "valid_until": "last day of the price, YYYY-MM-DD",
    "lead_time_days": "from order to delivery",
    "delivery_km": "from the supplier to the site",
    "declaration": "key of a declaration in a file of its own",
    "source": "where the row comes from",
    "note": "read by nobody",
}
TEMPLATE_EXAMPLE = {
    "product": "# example-board-60",
    "name": "wood-fibre board 60",
    "material": "wood-fibre-board",
    "supplier": "Example Supplier",
    "price": "61.88",
    "unit": "pack",
    "currency": "EUR",
    "thickness_mm": "60",
    "conductivity_declared_w_mk": "0.046",
    "conversion_moisture": "1.03",
    "declared_fossil_kgco2e_kg": "0.65",
    "declared_biogenic_kgco2e_kg": "-1.6",
    "pack_contents": "3.125",
    "contents_unit": "m2",
    "minimum_order": "4",
    "waste_percent": "6",
    "valid_until": "2099-12-31",
    "lead_time_days": "10",
    "delivery_km": "120",
    "source": "supplier's list",
}


def to_rows(products: Iterable[Product]) -> list[list[str | float]]:
    """Header and a row per product, in those of our columns that hold something."""
    records = [_record(each) for each in products]
    used = [name for name in COLUMNS if name in REQUIRED or any(name in record for record in records)]
    return [list(used), *([record.get(name, "") for name in used] for record in records)]


def _record(product: Product) -> dict[str, str | float]:
    """The cells of a product. Prices stay per base unit, so that nothing is rounded; texts are guarded."""
    values = {
        "product": product.key,
        "name": product.name,
        "material": product.material,
        "supplier": product.supplier,
        "price": product.price,
        "unit": product.unit,
        "currency": product.currency,
        "thickness_mm": product.thickness_mm,
        "width_mm": product.width_mm,
        "conductivity_w_mk": product.conductivity_w_mk,
        "conductivity_declared_w_mk": product.conductivity_declared_w_mk,
        **{name: getattr(product, name) for name in ("density_kg_m3", *VAPOUR, "freight", "freight_free_from")},
        "price_steps": "; ".join(f"{each.quantity!r}: {each.price!r}" for each in product.steps) or None,
        "pack": product.pack,
        "pack_contents": product.pack_contents,
        "contents_unit": product.unit if product.pack else None,
        "minimum_order": product.minimum_order,
        "waste_percent": None if product.waste_fraction is None else plain(product.waste_fraction * 100),
        "mass_kg": product.mass_kg,
        "valid_until": product.valid_until and product.valid_until.isoformat(),
        "lead_time_days": product.lead_time_days,
        "delivery_km": product.delivery_km,
        "declaration": product.declaration_key,
        "source": product.source,
    }
    if product.conversion is not None:
        values |= {f"conversion_{name}": value for name, value in product.conversion.model_dump().items()}
    if product.declaration is not None and _stands_in_columns(product):
        values |= {
            "declared_fossil_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "declared_biogenic_kgco2e_kg": product.declaration.biogenic_kgco2e_kg,
        }
    return {name: _cell(value) for name, value in values.items() if value is not None}


def _stands_in_columns(product: Product) -> bool:
    """Whether a declaration is the A1-A3 of a price list; a fuller one stands in its own file, named by key."""
    stated = product.declaration
    if stated is None:
        return False
    product_stage = Declaration.of_product_stage(
        f"{product.key}-declaration", stated.fossil_kgco2e_kg, stated.biogenic_kgco2e_kg, product.source
    )
    return stated == product_stage


def _cell(value: str | float) -> str | float:
    if isinstance(value, str):
        return guarded(value)
    return int(value) if float(value).is_integer() and abs(value) < 1e15 else value


def to_csv_text(products: Iterable[Product]) -> str:
    """A price list in our own columns, as CSV; read back it gives equal products.

    Text that a spreadsheet would take for a formula has an apostrophe before it, which the reader takes away.
    """
    return _csv_text(to_rows(products))


def write_list(path: Path | str, products: Iterable[Product]) -> None:
    """Write products as a price list (.csv or .xlsx) in our own columns; whole or not at all.

    A workbook keeps sixteen digits of a number, CSV all.
    """
    _write(Path(path), to_rows(products))


def write_template(path: Path | str) -> None:
    """Write an empty price list (.csv or .xlsx): header, a row of explanations and an example, both commented out."""
    _write(
        Path(path),
        [list(COLUMNS), *([row.get(name, "") for name in COLUMNS] for row in (TEMPLATE_HELP, TEMPLATE_EXAMPLE))],
    )


def _csv_text(rows: Sequence[Sequence[str | float]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _write(path: Path, rows: Sequence[Sequence[str | float]]) -> None:
    kind = path.suffix.lower()
    if kind not in (".csv", ".xlsx"):
        raise InputError(f"{path}: expected a name ending in .csv or .xlsx")
    # The byte order mark makes spreadsheets read UTF-8.
    data = _csv_text(rows).encode("utf-8-sig") if kind == ".csv" else _workbook(rows)
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(data)
        os.replace(part, path)
    except (OSError, ValueError) as error:
        part.unlink(missing_ok=True)
        raise InputError(f"{path}: cannot be written ({getattr(error, 'strerror', None) or error})") from None


def _workbook(rows: Sequence[Sequence[str | float]]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "prices"
    for row in rows:
        book.active.append([None if cell == "" else cell for cell in row])
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()
