"""Mappings: a supplier's own columns and words, in a small TOML beside the list."""

from datetime import date

import pytest
from price_tables import BOARD, MEMBRANE, TIMBER, csv_bytes, grid, put, workbook_bytes

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.prices import load_price_lists, mapping_beside, parse_prices, read_prices

CATALOGUE = load_catalogue()
OWN = [
    ["Preis", "Menge", "Artikel", "Text", "Stoff", "Je", "Dicke", "EAN", "Bis"],
    ["58,50", "75", "m-1", "Folie", "PE 0,2", "Rolle", "", "4000", "31.12.2027"],
    ["5,20", "", "b-1", "Platte", "Spanplatte", "qm", "12", "4001", "31.12.2027"],
]
MAPPING = """
separator = ";"
decimal = ","
date_format = "DD.MM.YYYY"
ignore = ["EAN"]

[columns]
Preis = "price"
Menge = "pack_contents"
artikel = "product"
"Text " = "name"
Stoff = "material"
Je = "unit"
Dicke = "thickness_mm"
Bis = "valid_until"

[defaults]
supplier = "Made-up Trade"
currency = "CHF"
contents_unit = "m2"
delivery_km = 12.5
lead_time_days = 9

[units]
Rolle = "roll"
QM = "m2"

[materials]
"PE 0,2" = "pe-membrane"
Spanplatte = "osb"
"""


def own(rows=OWN, mapping=MAPPING, name="list.csv"):
    return parse_prices(name, csv_bytes(rows, ";"), CATALOGUE, mapping.encode())


def refused(mapping, rows=OWN) -> str:
    with pytest.raises(InputError) as caught:
        own(rows, mapping)
    return str(caught.value)


def test_a_list_of_another_shape_is_read_by_its_mapping():
    found = own()
    assert not found.faults and found.mapping == "list.toml"
    roll, board = found.products
    assert (roll.material, roll.price, roll.unit, roll.pack, roll.pack_contents) == (
        "pe-membrane",
        0.78,
        "m2",
        "roll",
        75,
    )
    assert (board.material, board.price, board.thickness_mm) == ("osb", 5.2, 12)
    for each in found.products:
        assert (each.supplier, each.currency, each.valid_until) == ("Made-up Trade", "CHF", date(2027, 12, 31))
        assert (each.delivery_km, each.lead_time_days) == (12.5, 9)


def test_faults_name_the_supplier_s_column_and_ours_in_brackets():
    bad = [OWN[0], ["5.20", "", "b-1", "Platte", "Stein", "Elle", "12", "", "2027"]]
    found = own(bad)
    assert [(each.row, each.column, each.value) for each in found.faults] == [
        (2, "Stoff (material)", "Stein"),
        (2, "Preis (price)", "5.20"),
        (2, "Je (unit)", "Elle"),
        (2, "Bis (valid_until)", "2027"),
    ]
    assert 'with "," for the decimals' in found.faults[1].expected
    assert "written as DD.MM.YYYY" in found.faults[3].expected
    assert str(found.faults[1]).startswith("list.csv: row 2, column Preis (price): '5.20'; expected a number")


def test_a_default_that_is_wrong_is_told_once():
    found = own(mapping=MAPPING.replace('"CHF"', '"Franken"'))
    assert [(each.column, each.value) for each in found.faults] == [("currency (defaults of list.toml)", "Franken")]
    assert not found.products


def test_a_day_as_a_default():
    text = MAPPING.replace('Bis = "valid_until"\n', "").replace('ignore = ["EAN"]', 'ignore = ["*"]')
    found = own(mapping=text.replace("[defaults]", "[defaults]\nvalid_until = 2028-01-31"))
    assert not found.faults and {each.valid_until for each in found.products} == {date(2028, 1, 31)}


def test_sheets_rows_to_skip_and_notes_beside_the_table():
    header = ["product", "price", "name", "material", "thickness_mm"]
    table = [["price", "of", "product"], header, ["b", 5.2, "OSB", "osb", 12, None, "our best"]]
    data = workbook_bytes(cover=[["hello"]], old=[header, ["x", "?", "", "", ""]], new=table)
    mapping = (
        'sheets = ["new"]\nskip_rows = 1\nignore = ["*"]\n[defaults]\nsupplier = "S"\ncurrency = "EUR"\nunit = "m2"\n'
    )
    found = parse_prices("list.xlsx", data, CATALOGUE, mapping.encode())
    assert [each.key for each in found.products] == ["b"] and not found.faults and found.passed_over == ()


def test_sheets_without_prices_are_named_as_passed_over():
    data = workbook_bytes(cover=[["hello"]], prices=grid(BOARD))
    assert parse_prices("list.xlsx", data, CATALOGUE).passed_over == ("cover",)


@pytest.mark.parametrize("encoding", ["cp1252", "iso-8859-15", "utf-16", "mac-roman"])
def test_other_encodings_when_the_mapping_states_them(encoding):
    data = csv_bytes(grid(BOARD | {"name": "Holzfaserdämmplatte"}), encoding=encoding)
    found = parse_prices("list.csv", data, CATALOGUE, f'encoding = "{encoding}"'.encode())
    assert found.products[0].name == "Holzfaserdämmplatte"
    if encoding != "utf-16":  # its byte order mark says what it is
        with pytest.raises(InputError, match=r'row 2: not UTF-8 text; .* encoding = "cp1252"'):
            parse_prices("list.csv", data, CATALOGUE)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("decimal =", "decmal ="), 'decmal: unknown key (nearest: "decimal")'),
        (('decimal = ","', "decimal = 5"), "decimal = 5"),
        (('"DD.MM.YYYY"', '"DD.MM."'), "date_format = 'DD.MM.': expected YYYY, MM and DD once each"),
        (
            ('Preis = "price"', 'Preis = "prise"'),
            'columns."Preis" = \'prise\': expected a column of ours (nearest: "price")',
        ),
        (('Preis = "price"', 'Prise = "price"'), 'columns."Prise": list.csv has no such column (nearest: "preis")'),
        (("delivery_km", "delivry_km"), 'defaults.delivry_km: expected a column of ours (nearest: "delivery_km")'),
        (("= 12.5", "= [1]"), "defaults.delivery_km: expected a text, a number or a day"),
        (("= 12.5", "= true"), "defaults.delivery_km: expected a text, a number or a day"),
        (("= 12.5", "= 2027-01-01T00:00:00"), "defaults.delivery_km: expected a text, a number or a day"),
        (("= 12.5", '= " "'), "defaults.delivery_km: expected a text, a number or a day"),
        (("= 12.5", "= 12.5\nprice = 1"), "columns.\"Preis\" = 'price': stands under defaults too"),
        (
            ('= "roll"', '= "rol"'),
            "units.\"Rolle\" = 'rol': expected one of m2, m3, m, kg, piece, bag, roll, pack, sheet, bundle",
        ),
        (('= "osb"', '= "obs"'), 'materials."Spanplatte" = \'obs\': is not in the catalogue (nearest: "osb")'),
        (('QM = "m2"', 'QM = "m2"\nqm = "m3"'), "units.\"qm\": the same word as 'QM'"),
        (('separator = ";"', 'separator = "|"'), "separator = '|'"),
        (('separator = ";"', "skip_rows = -1"), "skip_rows = -1"),
        (('separator = ";"', 'encoding = "latin-9"'), "encoding = 'latin-9': expected one of utf-8"),
        (('separator = ";"', 'sheets = ["x"]'), "sheets: 'x' is not a sheet of list.csv"),
        (("[units]", "[units"), "list.toml (mapping of list.csv): "),
        (("12.5", "12,5"), '"12,5": write decimals with a point'),
        (("[units]", "[units]\nx = 1"), "units, x = 1"),
    ],
)
def test_what_a_mapping_cannot_say_is_refused_with_place_and_nearest(change, words):
    assert MAPPING.count(change[0]) >= 1
    message = refused(MAPPING.replace(*change, 1))
    assert words in message and "list.toml (mapping of list.csv)" in message


def test_all_faults_of_a_mapping_at_once():
    bad = MAPPING.replace('"osb"', '"obs"').replace('"roll"', '"rol"').replace('"price"', '"prise"')
    assert len(refused(bad).splitlines()) == 3


def test_a_default_for_a_column_that_is_there_is_refused():
    text = MAPPING.replace('Bis = "valid_until"', '"Bis" = "note"').replace("[defaults]", "[defaults]\nname = 'x'")
    assert "stands under defaults too" in refused(text)
    rows = [[*OWN[0], "supplier"], *([*row, "S"] for row in OWN[1:])]
    assert "defaults.supplier: list.csv has this column" in refused(MAPPING, rows)


def test_two_columns_for_one_of_ours_are_refused():
    twice = refused(MAPPING.replace('ignore = ["EAN"]', "").replace("[columns]", '[columns]\nEAN = "name"'))
    assert "column name stands there twice (Text and EAN)" in twice


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xfe\x00", "not UTF-8 text"),
        (b"a = " + b"[" * 100_000, "list.toml"),
        (b"a = " + b"9" * 10_000, "list.toml"),
        (b"#" * 200_001, "at most 200 kB"),
        (b"columns = 5", "columns"),
        (b"[columns]\na = {b = 1}", "columns"),
        (b"\0", "list.toml"),
        (b'name = "x"\n[prices]\n[slots]\n', "this is a brief; give it or the list another name"),
    ],
)
def test_hostile_mappings_are_refused(data, words):
    with pytest.raises(InputError) as caught:
        parse_prices("list.csv", csv_bytes(grid(BOARD)), CATALOGUE, data)
    assert words in str(caught.value)


def test_a_mapping_beside_a_list_is_found_and_counts_in_its_digest(tmp_path):
    path = put(tmp_path, "list.csv", csv_bytes(OWN, ";"), MAPPING)
    first = read_prices(path, CATALOGUE)
    assert len(first.products) == 2 and mapping_beside(path) == tmp_path / "list.toml"
    assert load_price_lists(["list.csv"], tmp_path, CATALOGUE)[1] == {"list.csv": first.digest}
    mapping_beside(path).write_text(MAPPING.replace("12.5", "13.5"))
    assert read_prices(path, CATALOGUE).digest != first.digest
    plain = put(tmp_path, "plain.csv", csv_bytes(grid(BOARD)))
    alone = read_prices(plain, CATALOGUE)
    mapping_beside(plain).write_text("")
    assert alone.mapping is None and read_prices(plain, CATALOGUE).digest != alone.digest


def test_a_mapping_changes_nothing_of_a_list_in_our_own_columns():
    data = csv_bytes(grid(BOARD, TIMBER, MEMBRANE))
    assert parse_prices("list.csv", data, CATALOGUE, b"").products == parse_prices("list.csv", data, CATALOGUE).products


def test_an_unknown_column_may_be_named_under_ignore():
    data = csv_bytes(grid(BOARD | {"EAN": "400"}))
    told = parse_prices("list.csv", data, CATALOGUE).faults
    assert [(each.row, each.column) for each in told] == [(1, "EAN")] and "ignore" in told[0].expected
    assert not parse_prices("list.csv", data, CATALOGUE, b'ignore = ["ean"]').faults
