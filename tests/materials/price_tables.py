"""Small price lists for the tests of their reader: rows as dictionaries, written as CSV or as a workbook."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from openpyxl import Workbook

BOARD = {
    "product": "b-12",
    "name": "OSB 12",
    "material": "osb",
    "supplier": "Made-up Boards",
    "thickness_mm": "12",
    "price": "5.20",
    "unit": "m2",
    "currency": "EUR",
}
TIMBER = BOARD | {"product": "t", "material": "softwood-c24", "thickness_mm": "145", "width_mm": "45", "unit": "m"}
FILL = BOARD | {"product": "f", "material": "blown-cellulose", "thickness_mm": "", "unit": "kg"}
MEMBRANE = BOARD | {"product": "m", "material": "pe-membrane", "thickness_mm": ""}
SCREW = BOARD | {"product": "s", "material": "steel-screws", "thickness_mm": "", "unit": "piece"}
BATT = BOARD | {"product": "w", "material": "wood-fibre-batt", "thickness_mm": "100"}


def grid(*rows: dict[str, str]) -> list[list[str]]:
    """Header and rows with the columns of all of them."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    return [columns, *([row.get(column, "") for column in columns] for row in rows)]


def csv_bytes(rows: list[list[str]], separator: str = ",", encoding: str = "utf-8") -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator="\n").writerows(rows)
    return text.getvalue().encode(encoding)


def workbook_bytes(**sheets: list[list[object]]) -> bytes:
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
        for cells in sheet.iter_rows():
            for cell in cells:
                if isinstance(cell.value, str):
                    cell.data_type = "s"  # a text that starts with = is a text here, not a formula
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def put(folder: Path, name: str, data: bytes, mapping: str | None = None) -> Path:
    """Write a list, and its mapping beside it."""
    path = folder / name
    path.write_bytes(data)
    if mapping is not None:
        path.with_suffix(".toml").write_text(mapping, encoding="utf-8")
    return path
