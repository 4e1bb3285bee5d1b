"""Malformed lists: planted faults are all told with their cells, and nothing but a located error ever comes out."""

import io
import random
import zipfile

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from price_tables import BATT, BOARD, FILL, MEMBRANE, SCREW, TIMBER, csv_bytes, grid, workbook_bytes

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.prices import load_price_lists, parse_prices
from materials.listed.rows import COLUMNS
from materials.listed.supplier_files import ENCODINGS

CATALOGUE = load_catalogue()
KINDS = (BOARD, TIMBER, FILL, MEMBRANE, SCREW, BATT)

# (what the row was, the cell that is spoilt, what stands there, what is expected there)
PLANTED = [
    (BOARD, "material", "obs", 'nearest: "osb"'),
    (BOARD, "thickness_mm", "twelve", "a number in mm"),
    (BOARD, "thickness_mm", "1200", "from 3 to 600"),
    (BOARD, "price", "-5", "above 0"),
    (BOARD, "price", "1,234", "thousands"),
    (BOARD, "unit", "gallon", "m2 or m3"),
    (BOARD, "currency", "euros", "three letters"),
    (BOARD, "name", "", "a value"),
    (BOARD, "supplier", "", "a value"),
    (BOARD, "product", "=1+1", "a key of letters"),
    (BOARD, "density_kg_m3", "6", "from 325 to 1170"),
    (BOARD, "waste_percent", "80", "from 0 to 50"),
    (BOARD, "valid_until", "next year", "YYYY-MM-DD"),
    (BOARD, "lead_time_days", "soon", "a whole number in days"),
    (BOARD, "delivery_km", "-3", "from 0 to 20000"),
    (TIMBER, "width_mm", "", "width"),
    (FILL, "thickness_mm", "100", "no size"),
    (FILL, "conductivity_w_mk", "39", "0.023 to 0.062"),
    (MEMBRANE, "minimum_order", "many", "a number in the unit of the price"),
    (SCREW, "mass_kg", "4 g", "kg per piece"),
]


def planted() -> tuple[list[list[str]], list[tuple[int, str, str, str]]]:
    """A list of 120 rows, 20 of them with a fault each, and where those are: (row, column, value, expected)."""
    rng = random.Random(7)
    rows = [rng.choice(KINDS) | {"product": f"p-{number}"} for number in range(120)]
    where = sorted(rng.sample(range(120), len(PLANTED)))
    faults = []
    for at, (kind, column, value, expected) in zip(where, PLANTED, strict=True):
        rows[at] = kind | {"product": f"p-{at}"} | {column: value}
        faults.append((at + 2, column, value, expected))
    columns = rng.sample(COLUMNS, len(COLUMNS))
    return [columns, *([row.get(column, "") for column in columns] for row in rows)], faults


def check_planted(found, sheets) -> None:
    _, expected = planted()
    assert [(each.sheet, each.row, each.column, each.value) for each in found.faults] == [
        (sheet, row, column, value) for sheet in sheets for row, column, value, _ in expected
    ]
    for fault, (*_, words) in zip(found.faults, expected * len(sheets), strict=True):
        assert words in fault.expected
        assert f"row {fault.row}, column {fault.column}" in str(fault)
    assert len(found.products) == 100 * len(sheets)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_twenty_planted_faults_in_a_csv_are_told_with_their_cells(separator):
    rows, _ = planted()
    found = parse_prices("list.csv", csv_bytes(rows, separator), CATALOGUE)
    check_planted(found, [None])
    assert all(fault.file == "list.csv" for fault in found.faults)


def test_twenty_planted_faults_on_each_of_two_sheets_of_a_workbook():
    rows, _ = planted()
    at = rows[0].index("product")
    other = [rows[0], *([*row[:at], row[at].replace("p-", "q-"), *row[at + 1 :]] for row in rows[1:])]
    data = workbook_bytes(cover=[["Made-up Trade"]], spring=[[None, *row] for row in [rows[0], *rows[1:]]], more=other)
    found = parse_prices("list.xlsx", data, CATALOGUE)
    check_planted(found, ["spring", "more"])
    assert "list.xlsx: sheet 'spring', row" in str(found.faults[0])


def test_a_list_with_faults_is_not_half_loaded(tmp_path):
    rows, expected = planted()
    (tmp_path / "list.csv").write_bytes(csv_bytes(rows))
    with pytest.raises(InputError) as caught:
        load_price_lists(["list.csv"], tmp_path, CATALOGUE)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(expected)
    assert all(f"row {row}, column {column}" in line for line, (row, column, *_) in zip(lines, expected, strict=True))


def located(read) -> None:
    """Products and faults that name their place, or an InputError that names the file; nothing else."""
    try:
        found = read()
    except InputError as error:
        assert "list." in str(error)
        return
    for fault in found.faults:
        assert fault.file == found.path.name and fault.row >= 1 and fault.expected
        assert fault.column or "cells, as in the header" in fault.expected
        assert str(fault)
    assert len({each.key for each in found.products}) == len(found.products)


NASTY = st.sampled_from(
    ["=1+1", "@x", "#N/A", "1e999", "-0", "٣", "½", "1_000", "0x1", "∞", "nan", "'", '"', "12 mm", "\u202e", "9" * 400]
)
CELLS = st.one_of(
    st.text(max_size=20),
    NASTY,
    st.floats().map(str),
    st.integers().map(str),
    st.sampled_from(
        ["", "m2", "roll", "EUR", "osb", "2027-12-31", "31.12.2027", "1,234", "5,2", "piece", "0.004", "€ 5,20"]
    ),
    st.sampled_from(["1.234,50 kr", "$1/SF", "SF", "lb", "50: 4; 90: 3", "7/16", '5-1/2"', "1/0", "100 pcs", "12 %"]),
)


@settings(max_examples=400)
@given(
    base=st.sampled_from(KINDS),
    spoilt=st.dictionaries(st.sampled_from(COLUMNS), CELLS, min_size=1, max_size=5),
    separator=st.sampled_from(",;\t"),
)
def test_spoilt_cells_in_a_csv(base, spoilt, separator):
    data = csv_bytes(
        grid(base | spoilt, BOARD | {"product": "other"}), separator, "utf-16" if separator == "\t" else "utf-8"
    )
    located(lambda: parse_prices("list.csv", data, CATALOGUE))


PRINTABLE = st.text(st.characters(min_codepoint=32, blacklist_categories=("Cs",)), max_size=20)
TYPED = st.one_of(
    PRINTABLE,
    st.none(),
    st.booleans(),
    st.integers(-(10**14), 10**14),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(),
    st.datetimes(),
    st.times(),
)


@settings(max_examples=150)
@given(
    base=st.sampled_from(KINDS),
    spoilt=st.dictionaries(st.sampled_from(COLUMNS), TYPED, max_size=5),
    notes=st.lists(st.lists(TYPED, max_size=4), max_size=3),
    title=st.text(st.characters(categories=("L", "N")), min_size=1, max_size=20),
)
def test_spoilt_cells_and_sheets_in_a_workbook(base, spoilt, notes, title):
    data = workbook_bytes(**{title: grid(base | spoilt), "notes": notes} if title != "notes" else {title: notes})
    located(lambda: parse_prices("list.xlsx", data, CATALOGUE))


@settings(max_examples=300)
@given(data=st.binary(max_size=300), suffix=st.sampled_from([".csv", ".xlsx", ".tsv", ".txt"]))
@example(b"\xff\xfe", ".csv")
@example(b"\xfe\xff\xd8\x00", ".csv")
@example(b"\xef\xbb\xbf", ".csv")
@example(b"PK\x05\x06" + bytes(18), ".xlsx")
def test_any_bytes_at_all(data, suffix):
    located(lambda: parse_prices("list" + suffix, data, CATALOGUE))


@settings(max_examples=200)
@given(
    text=st.text(max_size=60),
    encoding=st.sampled_from([*ENCODINGS, "utf-16-le", "utf-32", "latin-1"]),
    stated=st.one_of(st.none(), st.sampled_from(ENCODINGS)),
)
def test_any_encoding_read_as_any_other(text, encoding, stated):
    rows = csv_bytes(grid(BOARD, BOARD | {"product": "c", "name": text}))
    data = rows.decode().encode(encoding, errors="replace")
    mapping = None if stated is None else f'encoding = "{stated}"'.encode()
    located(lambda: parse_prices("list.csv", data, CATALOGUE, mapping))


@settings(max_examples=150)
@given(data=st.data())
def test_a_workbook_with_bytes_changed(data):
    good = bytearray(WORKBOOK)
    for _ in range(data.draw(st.integers(1, 8))):
        good[data.draw(st.integers(0, len(good) - 1))] = data.draw(st.integers(0, 255))
    located(lambda: parse_prices("list.xlsx", bytes(good), CATALOGUE))


WORKBOOK = workbook_bytes(prices=grid(BOARD, TIMBER))


@settings(max_examples=150)
@given(part=st.sampled_from(sorted(zipfile.ZipFile(io.BytesIO(WORKBOOK)).namelist())), data=st.data())
def test_a_workbook_with_one_part_changed(part, data):
    def change(text: bytes) -> bytes:
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 40)))
        return text[:start] + data.draw(st.binary(max_size=30)) + text[end:]

    located(lambda: parse_prices("list.xlsx", repacked({part: change}), CATALOGUE))


def repacked(changes) -> bytes:
    """The small workbook with some of its parts changed, by a function each."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(WORKBOOK)) as book, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as fresh:
        for name in book.namelist():
            fresh.writestr(name, changes.get(name, bytes)(book.read(name)))
    return out.getvalue()


MAPPINGS = st.recursive(
    st.one_of(
        st.text(max_size=10), st.integers(), st.floats(allow_nan=False), st.booleans(), st.dates(), st.datetimes()
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=10), inner, max_size=3)),
    max_leaves=8,
)
KEYS = ("sheets", "skip_rows", "encoding", "separator", "decimal", "date_format", "ignore", "heading_rows", "fill_down")
TABLES = {
    "factors": COLUMNS,
    "steps": ("price", "ab 50"),
    "columns": COLUMNS,
    "defaults": COLUMNS,
    "units": ("Rolle", "m2"),
    "materials": ("osb", "x"),
}


@settings(max_examples=300)
@given(data=st.data())
def test_any_mapping_of_the_right_grammar(data):
    import tomli_w

    given_keys = st.dictionaries(st.one_of(st.sampled_from(KEYS), st.text(max_size=8)), MAPPINGS, max_size=3)
    mapping = data.draw(given_keys)
    for name, words in TABLES.items():
        if data.draw(st.booleans()):
            keys = st.one_of(st.sampled_from(words), st.text(max_size=8))
            mapping[name] = data.draw(st.dictionaries(keys, st.one_of(st.sampled_from(words), MAPPINGS), max_size=3))
    text = tomli_w.dumps(mapping).encode()
    located(lambda: parse_prices("list.csv", csv_bytes(grid(BOARD, TIMBER)), CATALOGUE, text))


@settings(max_examples=200)
@given(data=st.binary(max_size=200))
def test_any_bytes_as_a_mapping(data):
    located(lambda: parse_prices("list.csv", csv_bytes(grid(BOARD)), CATALOGUE, data))


BOMB = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>"""
SHEET = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "[Content_Types].xml", "xl/_rels/workbook.xml.rels"])
@pytest.mark.parametrize("before", [b"", b"\xef\xbb\xbf", b" " * 1_100_000, b"<!-- " + b"x" * 1_048_560 + b" -->"])
def test_xml_that_declares_entities_is_refused_before_it_is_parsed(part, before):
    data = repacked({part: lambda text: before + BOMB + text[text.find(b"<", 2) :]})
    with pytest.raises(InputError, match=r"list\.xlsx: its part .* declares a document type or entities"):
        parse_prices("list.xlsx", data, CATALOGUE)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_xml_that_hides_in_utf_16_is_refused(encoding):
    data = repacked({SHEET: lambda text: (BOMB + text).decode().encode(encoding)})
    with pytest.raises(InputError, match=r"list\.xlsx: its part 'xl/worksheets/sheet1\.xml' is not UTF-8"):
        parse_prices("list.xlsx", data, CATALOGUE)


def test_a_locked_workbook_is_told():
    data = bytearray(WORKBOOK)
    at = data.find(b"PK\x01\x02")
    data[at + 8] |= 1  # the mark of an encrypted entry
    with pytest.raises(InputError, match=r"list\.xlsx: not a workbook that can be read"):
        parse_prices("list.xlsx", bytes(data), CATALOGUE)


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_more_columns_than_any_list_has_are_refused(suffix):
    rows = [[*BOARD, *(f"extra {i}" for i in range(60))], [*BOARD.values(), *(["x"] * 60)]]
    data = csv_bytes(rows) if suffix == "csv" else workbook_bytes(a=rows)
    with pytest.raises(InputError, match=r"row 1: expected at most 60 columns"):
        parse_prices(f"list.{suffix}", data, CATALOGUE)
