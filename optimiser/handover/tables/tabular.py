"""Tables that leave the desk: as sheets of a workbook, as CSV, and as rows for print. One record, one look."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from textwrap import wrap
from typing import Any

from materials.listed.cells import FORMULA_SIGNS

Cell = str | float | int | None

TEXT, WHOLE, ONE, TWO, THREE, MONEY, SHARE = "@", "0", "0.0", "0.00", "0.000", "#,##0.00", "0.0%"
PRICE = "#,##0.00##"  # of things that cost less than a cent apart
MADE = datetime(2000, 1, 1)  # stands in every file, so that equal input gives equal bytes
PACKED = (1980, 1, 1, 0, 0, 0)  # the first day that an archive can name
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_NOT_A_SHEET = re.compile(r"[\[\]:*?/\\]")
_CHANGED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")
LONGEST_NAME = 31  # of a sheet
FACE, POINTS = "Calibri", 11  # the usual face of a workbook; a bold one has to name it
LINE_POINTS = 15.0  # height of a line
MARK_LABEL = "Mark of the build-up"
MARK_WORDS = "(stands in every document of this wall)"  # said once in each document
LONG = 60  # characters from which words above a table are laid across it
MARGIN_INCHES = 0.4


@dataclass(frozen=True)
class Column:
    """A column: its heading, how its numbers are shown, its width in characters; entered: filled in on site."""

    title: str
    shown: str = TEXT
    width: float = 12.0
    entered: bool = False


@dataclass(frozen=True)
class Table:
    """A table: what stands above it (label, value, and words to it), columns, rows, rows of totals, notes.

    subtotals: of parts of the rows, before the row of totals.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    above: tuple[tuple[Cell, ...], ...] = ()
    total: tuple[Cell, ...] | None = None
    below: tuple[str, ...] = field(default=())
    subtotals: tuple[tuple[Cell, ...], ...] = ()

    @property
    def sums(self) -> tuple[tuple[Cell, ...], ...]:
        """Every row of totals."""
        return (*self.subtotals, *(() if self.total is None else (self.total,)))

    @property
    def lines(self) -> list[tuple[Cell, ...]]:
        """All of it, row by row: what stands above, headings, rows, totals, notes."""
        heading = tuple(each.title for each in self.columns)
        return [*self.above, heading, *self.rows, *self.sums, *((each,) for each in self.below)]


def harmless(text: str) -> str:
    """A text that a spreadsheet would run as a formula gets an apostrophe in front; control characters go."""
    clean = _CONTROL.sub("", text)
    return f"'{clean}" if clean.lstrip(" \u00a0").startswith(FORMULA_SIGNS) else clean


def csv_text(table: Table) -> str:
    """The table as CSV, numbers with a point and to twelve digits."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([_csv_cell(each) for each in row] for row in table.lines)
    return out.getvalue()


def _csv_cell(value: Cell) -> str:
    if value is None:
        return ""
    return harmless(value) if isinstance(value, str) else format(value, ".12g")


def spelt_cell(value: Cell, shown: str) -> str:
    """A cell in words; numbers in the locale in force (`locales.writing`)."""
    from ...locales import spelt

    if value is None or isinstance(value, str):
        return value or ""
    if shown == SHARE:
        return f"{spelt(100 * value, '.1f')} %"
    shown = _counted(value, shown)
    return spelt(value, {WHOLE: ".0f", ONE: ".1f", TWO: ".2f", THREE: ".3f", MONEY: ",.2f"}.get(shown, "g"))


def _counted(value: float, shown: str) -> str:
    """How a number is shown: a count among measures has no decimals."""
    return WHOLE if isinstance(value, int) and shown in (ONE, TWO, THREE) else shown


def sheet_names(tables: Sequence[Table]) -> list[str]:
    """A name for each sheet: no sign that a workbook refuses, short enough, none twice."""
    names: list[str] = []
    for table in tables:
        plain = _NOT_A_SHEET.sub(" ", _CONTROL.sub("", table.name)).strip(" '") or "Sheet"
        name, number = plain[:LONGEST_NAME].rstrip(" '"), 2
        while name.lower() in (each.lower() for each in names):
            more = f" {number}"
            name, number = plain[: LONGEST_NAME - len(more)] + more, number + 1
        names.append(name)
    return names


def workbook(tables: Sequence[Table], title: str) -> bytes:
    """The tables as a workbook, one sheet each: real numbers, no formulas; equal bytes for equal input."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    book.properties.title, book.properties.creator = _CONTROL.sub("", title), ""
    book.properties.created = book.properties.modified = MADE
    for name, table in zip(sheet_names(tables), tables, strict=True):
        _sheet(book.create_sheet(name), table)
    out = io.BytesIO()
    book.save(out)
    return _steady(out.getvalue())


def _sheet(sheet: Any, table: Table) -> None:
    from openpyxl.utils import get_column_letter

    heading = len(table.above) + 1
    last = heading + len(table.rows)
    for row, values in enumerate(table.lines, 1):
        within = heading <= row <= last + len(table.sums)
        for column, value in enumerate(values, 1):
            shown = table.columns[column - 1].shown if within and row > heading else ""
            _put(sheet.cell(row, column), value, shown)
            if within:
                _dress(sheet.cell(row, column), table.columns[column - 1], row == heading, row > last)
            elif row < heading:
                _stand_left(sheet.cell(row, column))
        if within:
            sheet.row_dimensions[row].height = LINE_POINTS * _lines(values, table.columns)
        elif row < heading and isinstance(values[1], str) and len(values[1]) > LONG:
            _across(sheet, row, 2, table, len(values[1]))
    for column, each in enumerate(table.columns, 1):
        sheet.column_dimensions[get_column_letter(column)].width = each.width
    labels = max((len(str(label)) for label, *_ in table.above), default=0)
    sheet.column_dimensions["A"].width = max(table.columns[0].width, labels + 2 if labels else 0)
    _notes(sheet, table)
    _on_paper(sheet, heading)


def _dress(cell: Any, column: Column, heading: bool, total: bool) -> None:
    """How a cell of the table looks: numbers and their heading to the right, words to the left and wrapped."""
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    cell.border = Border(bottom=Side(style="thin", color="B0B0B0"))
    if heading or total:
        cell.font = Font(name=FACE, size=POINTS, bold=True)
    elif column.entered:
        cell.fill = PatternFill("solid", fgColor="FFF8DC")
    right = column.shown != TEXT and (heading or not isinstance(cell.value, str))
    aside = {"horizontal": "right"} if right else {"horizontal": "left", "indent": 1 if cell.column > 1 else 0}
    cell.alignment = Alignment(wrap_text=heading or isinstance(cell.value, str), vertical="top", **aside)


def _stand_left(cell: Any) -> None:
    from openpyxl.styles import Alignment

    cell.alignment = Alignment(horizontal="left", vertical="top", indent=1 if cell.column > 1 else 0)


def _lines(values: Sequence[Cell], columns: Sequence[Column]) -> int:
    """Lines that a row takes: no program measures wrapped words when it opens a file, so the row has to say."""
    words = [(value, each.width) for value, each in zip(values, columns, strict=True) if isinstance(value, str)]
    return max((len(wrap(value, max(int(width) - 1, 4))) or 1 for value, width in words), default=1)


def _notes(sheet: Any, table: Table) -> None:
    """The notes below the table, each across all of it."""
    for row, note in enumerate(table.below, len(table.lines) - len(table.below) + 1):
        _across(sheet, row, 1, table, len(note))


def _across(sheet: Any, row: int, first: int, table: Table, length: int) -> None:
    """Words of that length from a column to the last one, in as many lines as they take."""
    from openpyxl.styles import Alignment

    wide = sum(each.width for each in table.columns[first - 1 :])
    if first < len(table.columns):
        sheet.merge_cells(start_row=row, start_column=first, end_row=row, end_column=len(table.columns))
    sheet.cell(row, first).alignment = Alignment(wrap_text=True, vertical="top", indent=first - 1)
    sheet.row_dimensions[row].height = LINE_POINTS * -(-length // max(int(wide * 0.9), 1))


def _on_paper(sheet: Any, heading: int) -> None:
    """Headings that stay in sight, and a page that holds every column."""
    sheet.freeze_panes = sheet.cell(heading + 1, 1).coordinate
    sheet.print_title_rows = f"{heading}:{heading}"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    for side in ("left", "right", "top"):
        setattr(sheet.page_margins, side, MARGIN_INCHES)
    sheet.oddFooter.center.text = "&A, page &P of &N"


def _put(cell: Any, value: Cell, shown: str) -> None:
    """A number as a number; a text as a text, whatever it looks like."""
    if value is None or value == "":
        return
    if not isinstance(value, str):
        cell.value = value
        if shown and shown != TEXT:
            cell.number_format = _counted(value, shown)
        return
    clean = _CONTROL.sub("", value)[:32767]
    cell.value = clean
    cell.data_type = "s"
    if harmless(clean) != clean:
        cell.quotePrefix = True


def _steady(data: bytes) -> bytes:
    """The same archive without the time of its making."""
    out = io.BytesIO()
    made = MADE.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            part = old.read(entry)
            if entry.filename == "docProps/core.xml":
                part = _CHANGED.sub(rb"\g<1>" + made + rb"\g<2>", part)
            info = zipfile.ZipInfo(entry.filename, PACKED)
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 0o644 << 16
            new.writestr(info, part)
    return out.getvalue()


def files_of(tables: Sequence[Table], stem: str, title: str) -> Mapping[str, bytes]:
    """File name -> bytes: the workbook, and a CSV for each sheet."""
    files = {f"{stem}.xlsx": workbook(tables, title)}
    for name, table in zip(sheet_names(tables), tables, strict=True):
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "sheet"
        rest = plain.removeprefix(f"{stem}-")  # "Order Some Supplier" of the order is order-some-supplier
        file = f"{stem}.csv" if len(tables) == 1 else f"{stem}-{rest}.csv"
        while file in files:
            file = file.replace(".csv", "-2.csv")
        files[file] = csv_text(table).encode("utf-8")
    return files
