"""Supplier files as rows of text: CSV and XLSX, read with limits, since a file is hostile until parsed."""

from __future__ import annotations

import codecs
import csv
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from ..errors import InputError
from ..untrusted import check_size, read_within, reason
from .workbook import MOST_CELLS, Workbook

MAX_BYTES = 20_000_000
MAX_UNPACKED_BYTES = 300_000_000
MAX_ROWS = 200_000
MAX_COLUMNS = 60
MOST_CELLS_OF_A_ROW = 16_384  # of which a spreadsheet may have left all but the first empty
SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx", ".xlsm")
SEPARATORS = (";", "\t", ",")
# What a spreadsheet shows for a broken formula; not a comment, though it begins with the sign of one.
SHEET_ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!")
ENCODINGS = ("utf-8", "utf-16", "cp1252", "iso-8859-15", "cp1250", "mac-roman")
_CHUNK = 1 << 20
_DECLARES = re.compile(rb"<!(?:DOCTYPE|ENTITY)")
_WIDE = re.compile(rb"[<\s]\0|\0[<\s]")


@dataclass(frozen=True)
class RawRow:
    """One row: its number as a spreadsheet shows it (the first is 1), and its cells as stripped text."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class RawSheet:
    """The rows of a sheet, comments and empty ones left out; `name` is None in a CSV file."""

    name: str | None
    rows: tuple[RawRow, ...]


def read_bytes(path: Path, most: int = MAX_BYTES, expected: str = "a price list (.csv or .xlsx)") -> bytes:
    """The file's bytes; InputError when it is missing, unreadable or above the size limit."""
    return read_within(path, most, expected)


def read_sheets(
    path: Path, data: bytes, encoding: str | None = None, separator: str | None = None, skip: int = 0
) -> list[RawSheet]:
    """All sheets that hold something; InputError when the file can't be used.

    encoding, separator: of a CSV file, where its mapping states them; skip: rows at the top that are passed over.
    """
    suffix = path.suffix.lower()
    check_size(path, len(data), MAX_BYTES)
    if suffix in (".csv", ".txt", ".tsv"):
        return _sheets(path, [(None, _csv_rows(path, data, encoding, separator, skip))], skip)
    if suffix in (".xlsx", ".xlsm"):
        return _sheets(path, _xlsx_rows(path, data), skip)
    raise InputError(f"{path}: expected a price list ending in .csv or .xlsx")


def _sheets(path: Path, sheet_rows: list[tuple[str | None, Iterator[RawRow]]], skip: int) -> list[RawSheet]:
    sheets = []
    left, cells_left = MAX_ROWS, MOST_CELLS
    for name, rows in sheet_rows:
        content_rows = []
        for row in rows:
            left -= 1
            if left < 0:
                raise InputError(f"{path}: expected at most {MAX_ROWS} rows")
            cells_left -= len(row.cells)
            if cells_left < 0:
                raise InputError(f"{path}: expected at most {MOST_CELLS} cells")
            if row.number > skip and not _is_blank_or_comment(row.cells):
                if any(row.cells[MAX_COLUMNS:]):
                    place = f"{path}:" + (f" sheet {name!r}," if name else "") + f" row {row.number}"
                    raise InputError(f"{place}: expected at most {MAX_COLUMNS} columns")
                content_rows.append(row)
        if content_rows:
            sheets.append(RawSheet(name, tuple(content_rows)))
    return sheets


def _is_blank_or_comment(cells: tuple[str, ...]) -> bool:
    first = next((cell for cell in cells if cell), "")
    return not first or (first.startswith("#") and first not in SHEET_ERRORS)


def _csv_rows(path: Path, data: bytes, encoding: str | None, separator: str | None, skip: int) -> Iterator[RawRow]:
    text = _decoded(path, data, encoding)
    if "\0" in text:
        raise InputError(f"{path}: row {text.count(chr(10), 0, text.index(chr(0))) + 1}: not text")
    # The strict reader refuses an unclosed quote, which would otherwise swallow the rest of the list.
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator or _separator(text, skip), strict=True)
    start = 1
    try:
        for cells in reader:
            if len(cells) > MOST_CELLS_OF_A_ROW:
                raise InputError(f"{path}: row {start}: {len(cells)} cells; expected at most {MAX_COLUMNS} columns")
            yield RawRow(start, tuple(cell.strip() for cell in cells))
            start = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"{path}: row {start}: not a row of a CSV file ({error})") from None


def _decoded(path: Path, data: bytes, encoding: str | None) -> str:
    """The text of a CSV file: UTF-8, UTF-16 with its byte order mark, or as its mapping states."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif encoding in (None, "utf-8"):
        encoding = "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
    if encoding != "utf-8-sig":
        raise InputError(f"{path}: row {line}: not {encoding} text")
    hint = f'encoding = "cp1252" (or its own) in {path.stem}.toml beside it'
    raise InputError(f"{path}: row {line}: not UTF-8 text; save the list as CSV UTF-8, or state {hint}")


def _separator(text: str, skip: int) -> str:
    """The separator of the header: of the first line that has at least three of one, comments left out.

    A title above it may hold a comma or two.
    """
    lines = [line.lstrip(' "') for line in text[:50_000].splitlines()[skip:]]
    lines = [line for line in lines if line.strip() and not line.startswith("#")]
    for least in (3, 1):
        for line in lines:
            best = max(SEPARATORS, key=line.count)
            if line.count(best) >= least:
                return best
    return ","


def _xlsx_rows(path: Path, data: bytes) -> list[tuple[str | None, Iterator[RawRow]]]:
    _refuse_hostile_archive(path, data)
    try:
        book = Workbook(data)
    except Exception as error:  # a damaged workbook fails in many ways, all of them "unreadable" to the user
        raise InputError(f"{path}: not a workbook that can be read ({reason(error)})") from None
    return [(name, _sheet_rows(path, book, name, part)) for name, part in book.sheets]


def _refuse_hostile_archive(path: Path, data: bytes) -> None:
    """InputError for what unpacks to too much, and for XML that declares entities (they multiply, or fetch files)."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            total = sum(entry.file_size for entry in archive.infolist())
            if total > MAX_UNPACKED_BYTES:
                most = MAX_UNPACKED_BYTES / 1e6
                raise InputError(f"{path}: unpacks to {total / 1e6:.0f} MB; expected at most {most:.0f} MB")
            for entry in archive.infolist():
                with archive.open(entry) as part:
                    _refuse_entities(path, entry.filename, part)
    except InputError:
        raise
    except zipfile.BadZipFile:
        raise InputError(f"{path}: not an .xlsx workbook (older .xls? save it as .xlsx or CSV)") from None
    except Exception as error:  # encrypted, packed in an unknown way, cut short
        raise InputError(f"{path}: not a workbook that can be read ({reason(error)})") from None


def _refuse_entities(path: Path, name: str, part: IO[bytes]) -> None:
    chunk = part.read(_CHUNK)
    place = f"{path}: its part {name[:80]!r}"
    # Workbooks are written in UTF-8; UTF-16 would hide a declaration from the search below.
    if chunk.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or _WIDE.match(chunk):
        raise InputError(f"{place} is not UTF-8, as the parts of a workbook are")
    last = b""
    while chunk:
        if _DECLARES.search(last + chunk):
            raise InputError(f"{place} declares a document type or entities; no workbook needs that")
        last, chunk = chunk[-16:], part.read(_CHUNK)


def _sheet_rows(path: Path, book: Workbook, name: str, part: str) -> Iterator[RawRow]:
    try:
        for number, cells in book.rows(part, MAX_COLUMNS + 1):
            if not 1 <= number <= MAX_ROWS:
                raise InputError(f"{path}: sheet {name!r}: row {number}; expected at most {MAX_ROWS} rows")
            yield RawRow(number, cells)
    except InputError:
        raise
    except Exception as error:
        raise InputError(f"{path}: sheet {name!r} cannot be read ({reason(error)})") from None
