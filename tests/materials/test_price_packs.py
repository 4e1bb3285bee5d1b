"""What is sold by the pack, roll, bag, sheet or piece; how long, how far, how much at least; dates and decimals."""

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from price_tables import BATT, BOARD, FILL, MEMBRANE, SCREW, TIMBER, csv_bytes, grid, workbook_bytes

from materials.catalogue import load_catalogue
from materials.listed.prices import parse_prices
from materials.models import PACKS

CATALOGUE = load_catalogue()


def read(*rows, separator=","):
    return parse_prices("list.csv", csv_bytes(grid(*rows), separator), CATALOGUE)


def one(row, **how):
    found = read(row, **how)
    assert not found.faults, [str(each) for each in found.faults]
    return found.products[0]


def fault(row, **how):
    found = read(row, **how)
    assert len(found.faults) == 1 and not found.products, [str(each) for each in found.faults]
    return found.faults[0]


@pytest.mark.parametrize(
    ("row", "base", "price"),
    [
        (BOARD | {"unit": "sheet", "price": "16.25", "pack_contents": "3.125", "contents_unit": "m2"}, "m2", 5.2),
        (BOARD | {"unit": "piece", "price": "16.25", "pack_contents": "3.125", "contents_unit": "m2"}, "m2", 5.2),
        (BATT | {"unit": "pack", "price": "30", "pack_contents": "0.6", "contents_unit": "m3"}, "m3", 50.0),
        (MEMBRANE | {"unit": "roll", "price": "58.50", "pack_contents": "75", "contents_unit": "m2"}, "m2", 0.78),
        (FILL | {"unit": "bag", "price": "11.50", "pack_contents": "12.5", "contents_unit": "kg"}, "kg", 0.92),
        (SCREW | {"unit": "pack", "price": "9.80", "pack_contents": "200", "contents_unit": "piece"}, "piece", 0.049),
        (SCREW | {"unit": "roll", "price": "17.50", "pack_contents": "25", "contents_unit": "m"}, "m", 0.7),
        (TIMBER | {"unit": "bundle", "price": "97.20", "pack_contents": "48", "contents_unit": "m"}, "m", 2.025),
        (TIMBER | {"unit": "piece", "price": "14.256", "pack_contents": "4.8", "contents_unit": "m"}, "m", 2.97),
    ],
)
def test_a_price_per_pack_becomes_one_per_base_unit(row, base, price):
    product = one(row | {"minimum_order": "4"})
    contents = float(row["pack_contents"])
    assert (product.unit, product.price) == (base, price)
    assert (product.pack, product.pack_contents) == (row["unit"], contents)
    assert product.minimum_order == pytest.approx(4 * contents, rel=1e-12)


def test_a_price_per_base_unit_stays_and_the_pack_is_told_beside_it():
    product = one(MEMBRANE | {"pack": "roll", "pack_contents": "75", "minimum_order": "150"})
    assert (product.price, product.unit) == (5.2, "m2")
    assert (product.pack, product.pack_contents, product.minimum_order) == ("roll", 75, 150)
    assert one(MEMBRANE | {"pack_contents": "75"}).pack == "pack"
    assert one(SCREW).pack is None and one(SCREW).unit == "piece"


@given(cents=st.integers(1, 10_000_000), contents=st.sampled_from(["0.25", "1.44", "3", "3.125", "7.5", "12.5", "75"]))
def test_the_price_of_a_pack_gives_back_the_price_it_was_made_from(cents, contents):
    price = cents / 10_000
    pack = f"{price * float(contents):.10f}"
    row = MEMBRANE | {"unit": "roll", "price": pack, "pack_contents": contents, "contents_unit": "m2"}
    assert one(row).price == pytest.approx(price, rel=1e-11, abs=1e-9)


def test_whole_cents_per_unit_survive_the_pack_exactly():
    roll = MEMBRANE | {"unit": "roll", "pack_contents": "75", "contents_unit": "m2"}
    prices = {cents: one(roll | {"price": f"{cents * 75 / 100:.2f}"}).price for cents in range(1, 400, 7)}
    assert prices == {cents: cents / 100 for cents in prices}


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("m²", "m2"),
        ("M2", "m2"),
        ("sqm", "m2"),
        ("m^2", "m2"),
        ("m³", "m3"),
    ],
)
def test_usual_spellings_of_areas_and_volumes(said, meant):
    assert one(BOARD | {"unit": said, "price": "520" if meant == "m3" else "5.20"}).unit == meant


@pytest.mark.parametrize("said", ["m", "lm", "metre", "Meters", "lin m"])
def test_usual_spellings_of_a_running_metre(said):
    assert one(TIMBER | {"unit": said}).unit == "m"


@pytest.mark.parametrize("pack", PACKS)
def test_every_kind_of_pack_in_the_plural_too(pack):
    row = MEMBRANE | {"unit": f"{pack.capitalize()}s", "pack_contents": "50", "contents_unit": "m2"}
    assert one(row).pack == pack


ROLL = MEMBRANE | {"unit": "roll", "pack_contents": "75", "contents_unit": "m2"}


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        (ROLL | {"pack_contents": ""}, "pack_contents", "what one roll holds"),
        (ROLL | {"pack_contents": "0"}, "pack_contents", "from 0.05 to 2000"),
        (ROLL | {"pack_contents": "-75"}, "pack_contents", "from 0.05 to 2000"),
        (ROLL | {"pack_contents": "75 m2"}, "pack_contents", "without unit"),
        (ROLL | {"contents_unit": ""}, "contents_unit", "m2: the unit of what one roll holds"),
        (ROLL | {"contents_unit": "kg"}, "contents_unit", "m2: the unit of what one roll holds"),
        (ROLL | {"pack": "bag"}, "pack", "roll, as the price is given for one"),
        (ROLL | {"unit": "m2", "contents_unit": "m3"}, "contents_unit", "m2, the unit of the price"),
        (MEMBRANE | {"pack": "rol", "pack_contents": "75"}, "pack", 'nearest: "roll"'),
        (MEMBRANE | {"pack": "roll"}, "pack_contents", "what one roll holds"),
        (MEMBRANE | {"unit": "pallet"}, "unit", "or one of bag, roll, pack, sheet, bundle, piece with pack_contents"),
        (
            SCREW | {"unit": "pack", "pack_contents": "99.5", "contents_unit": "piece"},
            "pack_contents",
            "a whole number",
        ),
        (BOARD | {"minimum_order": "-1"}, "minimum_order", "from 0 to 1e+06"),
        (BOARD | {"waste_percent": "51"}, "waste_percent", "from 0 to 50"),
        (BOARD | {"waste_percent": "5 of 9"}, "waste_percent", "without unit"),
        (BOARD | {"mass_kg": "0.004"}, "mass_kg", "no value: board is weighed"),
        (SCREW | {"unit": "kg", "mass_kg": "0.004"}, "mass_kg", "sold by the kg"),
        (SCREW | {"mass_kg": "0"}, "mass_kg", "kg per piece from 1e-05 to 100"),
        (BOARD | {"valid_until": "31.12.2027"}, "valid_until", "written as YYYY-MM-DD"),
        (BOARD | {"valid_until": "2027-02-30"}, "valid_until", "a day from 2000 to 2100"),
        (BOARD | {"valid_until": "1999-12-31"}, "valid_until", "a day from 2000 to 2100"),
        (BOARD | {"lead_time_days": "2.5"}, "lead_time_days", "a whole number in days"),
        (BOARD | {"lead_time_days": "800"}, "lead_time_days", "from 0 to 730"),
        (BOARD | {"delivery_km": "40000"}, "delivery_km", "in km from 0 to 20000"),
        (BOARD | {"declaration": "x" * 201}, "declaration", "at most 200 characters"),
        (BOARD | {"price": "1e7"}, "price", "at most 1000000"),
    ],
)
def test_each_new_check_names_column_value_and_expectation(row, column, expected):
    found = fault(row)
    assert (found.row, found.column, found.value) == (2, column, row.get(column, ""))
    assert expected in found.expected


def test_all_the_new_columns_reach_the_product():
    product = one(
        SCREW
        | {
            "waste_percent": "7.5",
            "minimum_order": "100",
            "mass_kg": "0.004",
            "valid_until": "2027-12-31",
            "lead_time_days": "14",
            "delivery_km": "85.5",
            "declaration": "screws-declared",
        }
    )
    assert (product.waste_fraction, product.minimum_order, product.mass_kg) == (0.075, 100, 0.004)
    assert (product.valid_until, product.lead_time_days, product.delivery_km) == (date(2027, 12, 31), 14, 85.5)
    assert product.declaration_key == "screws-declared"
    assert product.lapsed(date(2028, 1, 1)) and not product.lapsed(date(2027, 12, 31))


@pytest.mark.parametrize("day", [date(2027, 12, 31), datetime(2027, 12, 31), "2027-12-31"])
def test_a_workbook_s_dates_are_days(day):
    rows = grid(BOARD | {"valid_until": day})
    found = parse_prices("list.xlsx", workbook_bytes(a=rows), CATALOGUE)
    assert not found.faults and found.products[0].valid_until == date(2027, 12, 31)


@pytest.mark.parametrize("day", [datetime(2027, 12, 31, 13, 30), 46752, "end of year"])
def test_what_is_no_day_in_a_workbook_is_a_fault(day):
    found = parse_prices("list.xlsx", workbook_bytes(a=grid(BOARD | {"valid_until": day})), CATALOGUE)
    assert [(each.row, each.column) for each in found.faults] == [(2, "valid_until")]


def test_a_price_that_a_spreadsheet_turned_into_a_date_is_a_fault():
    found = parse_prices("list.xlsx", workbook_bytes(a=grid(BOARD | {"price": date(2026, 10, 3)})), CATALOGUE)
    assert [(each.column, each.value) for each in found.faults] == [("price", "2026-10-03")]


@pytest.mark.parametrize(
    ("price", "value"),
    [
        ("1,234.50", 1234.5),
        ("1.234,50", 1234.5),
        ("1 234,50", 1234.5),
        ("1'234.50", 1234.5),
        ("12\u00a0345", 12345),
        ("123,456", None),
        ("1,234,567.8", None),  # above the most that a price may be
        ("1,23,456", None),
        ("1.234.50", None),
        ("0,123,456", None),
    ],
)
def test_thousands_separators_are_read_where_they_are_beyond_doubt(price, value):
    row = BOARD | {"price": price, "currency": "XTS"}
    if value is None:
        assert fault(row, separator=";").column == "price"
    else:
        assert one(row, separator=";").price == value


def test_a_comma_before_three_digits_is_refused_until_the_list_shows_its_decimals():
    doubtful = fault(BOARD | {"price": "1,234"}, separator=";")
    assert "thousands" in doubtful.expected and 'decimal = ","' in doubtful.expected
    sure = read(BOARD | {"price": "1,234"}, BOARD | {"product": "c", "price": "5,2"}, separator=";")
    assert not sure.faults and [p.price for p in sure.products] == [1.234, 5.2]


def test_a_point_before_three_digits_is_refused_where_the_list_writes_commas():
    found = read(BOARD | {"price": "1.234"}, BOARD | {"product": "c", "price": "5,2"}, separator=";")
    assert [(each.row, each.value) for each in found.faults] == [(2, "1.234")]
    assert one(BOARD | {"price": "1.234"}).price == 1.234  # our own way of writing


def test_numbers_that_a_workbook_holds_as_numbers_are_never_in_doubt():
    rows = grid(BOARD | {"price": 1.234}, BOARD | {"product": "c", "price": "5,2"})
    found = parse_prices("list.xlsx", workbook_bytes(a=rows), CATALOGUE)
    assert not found.faults and [p.price for p in found.products] == [1.234, 5.2]


def test_non_breaking_spaces_and_line_breaks_in_names_are_spaces():
    assert one(BOARD | {"name": "OSB\u00a012\nfine"}).name == "OSB 12 fine"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_titles_above_the_header_are_passed_over_and_rows_keep_their_numbers(separator):
    rows = csv_bytes(grid(BOARD, BOARD | {"product": "c", "price": "x"}), separator)
    found = parse_prices("list.csv", b"Made-up Boards, at the river\nprices of spring; net\n" + rows, CATALOGUE)
    assert [p.key for p in found.products] == ["b-12"]
    assert [(each.row, each.column) for each in found.faults] == [(5, "price")]
