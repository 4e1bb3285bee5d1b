"""Supplier files as rows of text: CSV and XLSX, read with limits, since a file is hostile until parsed."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from .errors import InputError

MAX_BYTES = 20_000_000
MAX_UNPACKED_BYTES = 300_000_000
MAX_ROWS = 200_000
MAX_COLUMNS = 60
SEPARATORS = (";", "\t", ",")
# What a spreadsheet shows for a broken formula; not a comment, though it begins with the sign of one.
SHEET_ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!")


@dataclass(frozen=True)
class RawRow:
    """One row: its number as a spreadsheet shows it (the first is 1), and its cells as stripped text."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class RawSheet:
    """A header and the rows below it; `name` is None in a CSV file."""

    name: str | None
    header: RawRow
    rows: tuple[RawRow, ...]


def read_bytes(path: Path) -> bytes:
    """The file's bytes; InputError when it is missing, unreadable or above the size limit."""
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise InputError(f"{path}: is a folder; expected a price list (.csv or .xlsx)")
        if size > MAX_BYTES:
            raise InputError(f"{path}: {size / 1e6:.0f} MB; expected at most {MAX_BYTES / 1e6:.0f} MB")
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"{path}: no such file") from None
    except (OSError, ValueError) as error:
        raise InputError(f"{path}: cannot be read ({error})") from None


def read_sheets(path: Path, data: bytes) -> list[RawSheet]:
    """All sheets with a header, comments and empty rows left out; InputError when the file can't be used."""
    suffix = path.suffix.lower()
    if suffix in (".csv", ".txt", ".tsv"):
        rows = _csv_rows(path, data)
        return _sheets(path, [(None, rows)])
    if suffix in (".xlsx", ".xlsm"):
        return _sheets(path, _xlsx_rows(path, data))
    raise InputError(f"{path}: expected a price list ending in .csv or .xlsx")


def _sheets(path: Path, found: list[tuple[str | None, Iterator[RawRow]]]) -> list[RawSheet]:
    sheets = []
    left = MAX_ROWS
    for name, rows in found:
        kept = []
        for row in rows:
            left -= 1
            if left < 0:
                raise InputError(f"{path}: expected at most {MAX_ROWS} rows")
            if not _is_blank_or_comment(row.cells):
                kept.append(row)
        if kept:
            sheets.append(RawSheet(name, kept[0], tuple(kept[1:])))
    return sheets


def _is_blank_or_comment(cells: tuple[str, ...]) -> bool:
    first = next((cell for cell in cells if cell), "")
    return not first or (first.startswith("#") and first not in SHEET_ERRORS)


def _csv_rows(path: Path, data: bytes) -> Iterator[RawRow]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(f"{path}: row {line}: not UTF-8 text; save the list as CSV UTF-8") from None
    if "\0" in text:
        raise InputError(f"{path}: row {text.count(chr(10), 0, text.index(chr(0))) + 1}: not text")
    # The strict reader refuses an unclosed quote, which would otherwise swallow the rest of the list.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    start = 1
    try:
        for cells in reader:
            yield RawRow(start, tuple(cell.strip() for cell in cells))
            start = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"{path}: row {start}: not a row of a CSV file ({error})") from None


def _separator(text: str) -> str:
    """The separator of the header, the first line that is neither empty nor a comment."""
    lines = (line.lstrip(' "') for line in text.splitlines())
    header = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    return max(SEPARATORS, key=header.count)


def _xlsx_rows(path: Path, data: bytes) -> list[tuple[str | None, Iterator[RawRow]]]:
    _refuse_oversized_archive(path, data)
    from openpyxl import load_workbook  # slow to import, and needed for this kind of file only

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = list(book.worksheets)
    except Exception as error:  # a damaged workbook fails in many ways, all of them "unreadable" to the user
        raise InputError(f"{path}: not a workbook that can be read ({_first_line(error)})") from None
    return [(sheet.title, _sheet_rows(path, sheet)) for sheet in sheets]


def _refuse_oversized_archive(path: Path, data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            total = sum(entry.file_size for entry in archive.infolist())
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        raise InputError(f"{path}: not an .xlsx workbook (older .xls? save it as .xlsx or CSV)") from None
    if total > MAX_UNPACKED_BYTES:
        raise InputError(f"{path}: unpacks to {total / 1e6:.0f} MB; expected at most {MAX_UNPACKED_BYTES / 1e6:.0f} MB")


def _sheet_rows(path: Path, sheet: object) -> Iterator[RawRow]:
    sheet.reset_dimensions()  # the size written in the file may be wrong, by mistake or by intent
    try:
        for number, cells in enumerate(sheet.iter_rows(max_col=MAX_COLUMNS, values_only=True), 1):
            yield RawRow(number, tuple(_cell_text(cell) for cell in cells))
    except InputError:
        raise
    except Exception as error:
        raise InputError(f"{path}: sheet {sheet.title!r} cannot be read ({_first_line(error)})") from None


def _cell_text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return str(cell).strip()


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:120]
