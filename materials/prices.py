"""Supplier price lists (CSV, XLSX) -> products.

A list is read as a whole: every faulty cell is reported with file, sheet, row, column, value and what was expected.
"""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from .catalogue import Catalogue
from .errors import InputError, nearest
from .models import Product
from .price_files import RawRow, RawSheet, read_bytes, read_sheets
from .price_rows import COLUMNS, REQUIRED, product_from

DEMO = "demo:"
TEMPLATE_HELP = {
    "product": "# the supplier's article key, unique",
    "name": "as on the invoice",
    "material": "a key of the catalogue",
    "supplier": "who sells it",
    "price": "per unit, net, above 0",
    "unit": "m2, m3, m, kg or piece",
    "currency": "three letters",
    "thickness_mm": "size through the wall; empty for loose fill and membranes",
    "width_mm": "timber: the face across the wall",
    "conductivity_w_mk": "design value, when it differs from the catalogue",
    "conductivity_declared_w_mk": "or the declared value",
    "conversion_moisture": "with its conversion (ISO 10456), 1 where there is none",
    "density_kg_m3": "when it differs from the catalogue",
    "declared_fossil_kgco2e_kg": "declaration, A1-A3, per kg",
    "declared_biogenic_kgco2e_kg": "negative or 0",
    "source": "where the row comes from",
    "note": "read by nobody",
}
TEMPLATE_EXAMPLE = {
    "product": "# example-board-60",
    "name": "wood-fibre board 60",
    "material": "wood-fibre-board",
    "supplier": "Example Supplier",
    "price": "19.80",
    "unit": "m2",
    "currency": "EUR",
    "thickness_mm": "60",
    "conductivity_declared_w_mk": "0.046",
    "conversion_moisture": "1.03",
    "declared_fossil_kgco2e_kg": "0.65",
    "declared_biogenic_kgco2e_kg": "-1.6",
    "source": "supplier's list",
}


@dataclass(frozen=True)
class Fault:
    """One faulty cell: where it is, what stands there and what was expected."""

    file: str
    sheet: str | None
    row: int
    column: str
    value: str
    expected: str

    def __str__(self) -> str:
        sheet = f" sheet {self.sheet!r}," if self.sheet else ""
        column = f", column {self.column}" if self.column else ""
        value = f" {_shortened(self.value)};" if self.value else ""
        return f"{self.file}:{sheet} row {self.row}{column}:{value} expected {self.expected}"


@dataclass(frozen=True)
class PriceList:
    """What was read from one file: products of the good rows, faults of the others; `digest` is the file's sha256."""

    path: Path
    products: tuple[Product, ...]
    faults: tuple[Fault, ...]
    digest: str


def read_prices(path: Path | str, catalogue: Catalogue) -> PriceList:
    """Read a supplier's list. InputError when the file can't be read or lacks columns; else products and faults."""
    path = Path(path)
    data = read_bytes(path)
    sheets = _price_sheets(path, read_sheets(path, data))
    products: list[Product] = []
    faults: list[Fault] = []
    places: dict[str, str] = {}
    for sheet in sheets:
        _read_sheet(path.name, sheet, catalogue, products, faults, places)
    return PriceList(path, tuple(products), tuple(faults), hashlib.sha256(data).hexdigest())


def load_price_lists(
    names: Iterable[str], folder: Path | str, catalogue: Catalogue
) -> tuple[list[Product], dict[str, str]]:
    """Products of several lists, and each list's digest by name.

    A name is a path relative to `folder`, or "demo:NAME.csv" for a list of the demo. InputError with every fault of
    every list, product keys that stand in two lists, or more than one currency.
    """
    products: list[Product] = []
    digests: dict[str, str] = {}
    faults: list[str] = []
    owners: dict[str, str] = {}
    for name in names:
        if name in digests:
            raise InputError(f"price list {name!r} is named twice")
        found = _read_named(name, Path(folder), catalogue)
        digests[name] = found.digest
        faults += [str(fault) for fault in found.faults]
        faults += _between_lists(name, found, products, owners)
        products += found.products
    if faults:
        raise InputError("\n".join(faults))
    return products, digests


def demo_lists() -> list[str]:
    """Names of the price lists shipped for the demo, as `load_price_lists` takes them."""
    return sorted(DEMO + entry.name for entry in _demo_folder().iterdir() if entry.name.endswith(".csv"))


def write_template(path: Path | str) -> None:
    """Write an empty price list (.csv or .xlsx): header, a row of explanations and an example, both commented out."""
    path = Path(path)
    rows = [list(COLUMNS), *([row.get(name, "") for name in COLUMNS] for row in (TEMPLATE_HELP, TEMPLATE_EXAMPLE))]
    if path.suffix.lower() not in (".csv", ".xlsx"):
        raise InputError(f"{path}: expected a name ending in .csv or .xlsx")
    try:
        if path.suffix.lower() == ".csv":
            with path.open("w", encoding="utf-8-sig", newline="") as file:
                csv.writer(file, lineterminator="\n").writerows(rows)
        else:
            _write_workbook(path, rows)
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror or error})") from None


def _write_workbook(path: Path, rows: list[list[str]]) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "prices"
    for row in rows:
        book.active.append(row)
    book.save(path)


def _demo_folder() -> Traversable:
    return resources.files(__package__) / "data" / "demo"


def _read_named(name: str, folder: Path, catalogue: Catalogue) -> PriceList:
    if not name.startswith(DEMO):
        return read_prices(folder / name, catalogue)
    if name not in demo_lists():
        raise InputError(f"price list {name!r} is not among those of the demo{nearest(name, demo_lists())}")
    with resources.as_file(_demo_folder() / name.removeprefix(DEMO)) as path:
        return read_prices(path, catalogue)


def _between_lists(name: str, found: PriceList, products: list[Product], owners: dict[str, str]) -> list[str]:
    """Faults that only show between lists; `owners` (product key -> list) is brought up to date."""
    faults = []
    for product in found.products:
        if product.key in owners:
            faults.append(f"{name}: product {product.key!r} stands in {owners[product.key]} too; expected one row each")
        owners.setdefault(product.key, name)
    if products and found.products and products[0].currency != found.products[0].currency:
        first, here = products[0].currency, found.products[0].currency
        faults.append(f"{name}: prices in {here}; expected {first}, the currency of the lists before it")
    return faults


def _price_sheets(path: Path, sheets: list[RawSheet]) -> list[RawSheet]:
    """The sheets that hold prices. A cover sheet or notes (not two known columns) are passed over."""
    found = [sheet for sheet in sheets if len(set(_column_names(sheet)) & set(COLUMNS)) >= 2]
    if not found:
        raise InputError(f"{path}: no header row; expected the columns {', '.join(REQUIRED)}")
    for sheet in found:
        _check_header(path, sheet)
    return found


def _column_names(sheet: RawSheet) -> list[str]:
    return [cell.lower() for cell in sheet.header.cells]


def _check_header(path: Path, sheet: RawSheet) -> None:
    names = [name for name in _column_names(sheet) if name]
    place = f"{path}:" + (f" sheet {sheet.name!r}," if sheet.name else "") + f" row {sheet.header.number}:"
    missing = [name for name in REQUIRED if name not in names]
    if missing:
        hints = [name + nearest(name, set(names) - set(COLUMNS)) for name in missing]
        raise InputError(f"{place} missing column{'s' * (len(missing) > 1)} {', '.join(hints)}")
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError(f"{place} column {twice[0]} stands there twice")


def _read_sheet(
    file: str,
    sheet: RawSheet,
    catalogue: Catalogue,
    products: list[Product],
    faults: list[Fault],
    places: dict[str, str],
) -> None:
    """Add a sheet's products and faults; `places` (product key -> where) finds keys that stand twice."""
    names = _column_names(sheet)
    # A misspelt optional column would be lost without a word.
    for name, shown in zip(names, sheet.header.cells, strict=True):
        if name and name not in COLUMNS:
            hint = nearest(name, COLUMNS)
            faults.append(Fault(file, sheet.name, sheet.header.number, shown, "", f"a known column{hint}"))
    currency = products[0].currency if products else None
    for row in sheet.rows:
        extra = _extra_cells(row, names)
        if extra:
            faults.append(Fault(file, sheet.name, row.number, "", "", extra))
            continue
        cells = dict(zip(names, row.cells, strict=False))
        product, wrong = product_from(cells, catalogue)
        key = cells.get("product", "")
        if key and key in places:
            wrong.append(("product", key, f"a key of its own; it stands in {places[key]} too"))
        places.setdefault(key, f"sheet {sheet.name!r}, row {row.number}" if sheet.name else f"row {row.number}")
        if product and currency and product.currency != currency:
            wrong.append(("currency", product.currency, f"one currency in a list ({currency})"))
        faults += [Fault(file, sheet.name, row.number, *one) for one in wrong]
        if product and not wrong:
            currency = currency or product.currency
            products.append(product)


def _extra_cells(row: RawRow, names: list[str]) -> str:
    """What to expect instead when a row holds more than the header has columns for; '' when all is well."""
    nameless = [i for i, cell in enumerate(row.cells) if cell and (i >= len(names) or not names[i])]
    if not nameless:
        return ""
    return (
        f"{len(names)} cells, as in the header, found one in place {nameless[-1] + 1}; "
        "decimal commas need ; as the separator, or quotes"
    )


def _shortened(value: str) -> str:
    return repr(value if len(value) <= 60 else value[:57] + "...")
