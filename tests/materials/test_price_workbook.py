"""The reader of workbooks against openpyxl, which reads them in its own way."""

import io
import zipfile
from datetime import date, datetime, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook as Written
from openpyxl import load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from price_tables import workbook_bytes

from materials.listed.cells import Typed, cell_text
from materials.listed.workbook import Workbook

CELLS = st.one_of(
    st.none(),
    st.text(st.characters(min_codepoint=32, max_codepoint=0x2FFF), max_size=12),
    st.booleans(),
    st.integers(-(10**12), 10**12),
    st.floats(-1e12, 1e12).map(lambda each: float(f"{each:.12g}")),
    st.dates(date(1901, 1, 1), date(2099, 12, 31)),
    st.datetimes(datetime(1901, 1, 1), datetime(2099, 12, 31)).map(lambda each: each.replace(microsecond=0)),
    st.sampled_from(["#N/A", "#REF!", "=", "=x", " padded ", "two\nlines"]),
)


def read(data: bytes, columns: int = 60) -> dict[str, dict[int, tuple[str, ...]]]:
    book = Workbook(data)
    return {name: dict(book.rows(part, columns)) for name, part in book.sheets}


def by_openpyxl(data: bytes) -> dict[str, dict[int, tuple[str, ...]]]:
    book = load_workbook(io.BytesIO(data), data_only=True)
    return {
        sheet.title: {number: tuple(map(cell_text, row)) for number, row in enumerate(sheet.values, 1)}
        for sheet in book.worksheets
    }


def trimmed(sheets):
    """Cells without the empty ones at the end of a row, and rows without the empty ones."""
    out = {}
    for name, rows in sheets.items():
        kept = {number: [*cells] for number, cells in rows.items()}
        for cells in kept.values():
            while cells and not cells[-1]:
                cells.pop()
        out[name] = {number: cells for number, cells in kept.items() if cells}
    return out


@settings(max_examples=200)
@given(one=st.lists(st.lists(CELLS, max_size=6), max_size=6), two=st.lists(st.lists(CELLS, max_size=6), max_size=3))
def test_what_openpyxl_reads_we_read(one, two):
    data = workbook_bytes(one=one, two=two)
    assert trimmed(read(data)) == trimmed(by_openpyxl(data))


def saved(book: Written) -> bytes:
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize("iso", [False, True])
@pytest.mark.parametrize("mac", [False, True])
def test_days_in_both_calendars_and_as_text(iso, mac):
    book = Written()
    book.iso_dates = iso
    if mac:
        book.epoch = CALENDAR_MAC_1904
    book.active.append([date(2027, 12, 31), datetime(2027, 12, 31, 8, 30), time(8, 30)])
    cells = read(saved(book))["Sheet"][1]
    assert cells[0] == "2027-12-31" and isinstance(cells[0], Typed)
    assert cells[1].replace("T", " ").startswith("2027-12-31 08:30:00") and cells[2].startswith("08:30:00")


@pytest.mark.parametrize(
    ("code", "shown"),
    [
        ("dd.mm.yyyy", "2027-12-31"),
        ('"until" d mmm yy', "2027-12-31"),
        ("[$-409]d-mmm", "2027-12-31"),
        ("0.00", "46752"),
        ('0.00 "dm"', "46752"),
        ("General", "46752"),
        ("[Red]#,##0", "46752"),
        ("\\d0", "46752"),
    ],
)
def test_a_format_says_whether_a_number_is_a_day(code, shown):
    book = Written()
    book.active.append([46752])
    book.active["A1"].number_format = code
    assert read(saved(book))["Sheet"][1] == (shown,)


def test_formatted_text_gaps_and_cells_beyond_the_last_column():
    book = Written()
    sheet = book.active
    sheet["A1"] = CellRichText("wood ", TextBlock(InlineFont(b=True), "fibre"), " board")
    sheet["C4"] = 5.25
    sheet["BZ4"] = "far"
    rows = read(saved(book), columns=10)["Sheet"]
    assert rows == {1: ("wood fibre board",), 4: ("", "", "5.25")}


def changed(data: bytes, part: str, *pairs: tuple[bytes, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as book, zipfile.ZipFile(out, "w") as fresh:
        for name in book.namelist():
            text = book.read(name)
            for old, new in pairs if name == part else ():
                assert old in text
                text = text.replace(old, new)
            fresh.writestr(name, text)
    return out.getvalue()


def test_cells_and_rows_without_an_address_stand_one_after_the_other():
    data = workbook_bytes(a=[["x", 1], ["y", 2]])
    bare = changed(
        data, "xl/worksheets/sheet1.xml", *((f' r="{at}"'.encode(), b"") for at in ("A1", "B1", "A2", "B2", "1", "2"))
    )
    assert read(bare) == read(data) == {"a": {1: ("x", "1"), 2: ("y", "2")}}


def test_the_strict_kind_with_other_namespaces():
    data = workbook_bytes(a=[["x", 5.25, date(2027, 12, 31)]])
    strict = (
        b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
        b"http://purl.oclc.org/ooxml/spreadsheetml/main",
    )
    for part in ("xl/workbook.xml", "xl/styles.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"):
        data = changed(data, part, strict)
    assert read(data) == {"a": {1: ("x", "5.25", "2027-12-31")}}


def test_a_computed_value_stands_for_its_formula():
    data = workbook_bytes(a=[[1.5]])
    data = changed(data, "xl/worksheets/sheet1.xml", (b"<v>1.5</v>", b"<f>3/2</f><v>1.5</v>"))
    assert read(data) == {"a": {1: ("1.5",)}}
