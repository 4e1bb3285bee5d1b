"""Supplier lists: what is accepted, and how each fault is told."""

import time
import zipfile

import pytest
from price_tables import BOARD, FILL, MEMBRANE, TIMBER, workbook_bytes

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.export import write_template
from materials.listed.prices import Fault, load_price_lists, read_prices

CATALOGUE = load_catalogue()
HEADER = "product,name,material,supplier,thickness_mm,width_mm,price,unit,currency"


def write(tmp_path, *rows, separator=",", name="list.csv", encoding="utf-8"):
    columns = list(dict.fromkeys(column for row in rows for column in row))
    lines = [separator.join(columns)] + [separator.join(row.get(c, "") for c in columns) for row in rows]
    path = tmp_path / name
    path.write_bytes(("\n".join(lines) + "\n").encode(encoding))
    return path


def only_fault(tmp_path, *rows, **how) -> Fault:
    found = read_prices(write(tmp_path, *rows, **how), CATALOGUE)
    assert len(found.faults) == 1, [str(f) for f in found.faults]
    return found.faults[0]


def test_good_rows_become_products(tmp_path):
    found = read_prices(write(tmp_path, BOARD, TIMBER, FILL, MEMBRANE), CATALOGUE)
    assert not found.faults
    board, timber, fill, membrane = found.products
    assert (board.thickness_mm, board.price, board.unit, board.currency) == (12.0, 5.2, "m2", "EUR")
    assert (timber.thickness_mm, timber.width_mm) == (145.0, 45.0)
    assert fill.thickness_mm is None and membrane.thickness_mm is None
    assert board.source == "supplier's list" and board.declaration is None
    assert len(found.digest) == 64


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("separator", [";", "\t"])
def test_decimal_commas_and_byte_order_mark(tmp_path, encoding, separator):
    path = write(tmp_path, BOARD | {"price": "5,25"}, separator=separator, encoding=encoding)
    found = read_prices(path, CATALOGUE)
    assert not found.faults and found.products[0].price == 5.25


def test_quoted_decimal_comma_in_a_comma_list(tmp_path):
    found = read_prices(write(tmp_path, BOARD | {"price": '"5,25"'}), CATALOGUE)
    assert found.products[0].price == 5.25


def test_unquoted_decimal_comma_is_told_not_misread(tmp_path):
    fault = only_fault(tmp_path, BOARD | {"price": "5,25"})
    assert fault.row == 2 and "decimal commas" in fault.expected


def test_columns_in_any_order_and_case(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("CURRENCY,Unit,PRICE,Material,supplier,Name,Product,Thickness_MM\nEUR,m2,5,osb,S,n,p,12\n")
    assert read_prices(path, CATALOGUE).products[0].key == "p"


def test_a_fault_reads_as_a_sentence(tmp_path):
    fault = only_fault(tmp_path, BOARD, TIMBER | {"thickness_mm": "abc"})
    assert str(fault).startswith("list.csv: row 3, column thickness_mm: 'abc'; expected a number in mm")


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        (BOARD | {"material": "obs"}, "material", 'nearest: "osb"'),
        (BOARD | {"material": ""}, "material", "a material of the catalogue"),
        (MEMBRANE | {"material": "air"}, "material", "a material that is sold"),
        (BOARD | {"thickness_mm": ""}, "thickness_mm", "sold by thickness"),
        (BOARD | {"thickness_mm": "0"}, "thickness_mm", "from 3 to 600"),
        (BOARD | {"thickness_mm": "0.012"}, "thickness_mm", "from 3 to 600"),
        (BOARD | {"thickness_mm": "12 mm"}, "thickness_mm", "without unit"),
        (TIMBER | {"width_mm": ""}, "width_mm", "width"),
        (FILL | {"thickness_mm": "100"}, "thickness_mm", "no size"),
        (BOARD | {"price": "0"}, "price", "above 0"),
        (BOARD | {"price": "-3"}, "price", "above 0"),
        (BOARD | {"price": ""}, "price", "above 0"),
        (BOARD | {"price": "nan"}, "price", "a number"),
        (BOARD | {"price": "1e999"}, "price", "a number"),
        (BOARD | {"price": "1.234.5"}, "price", "thousands"),
        (BOARD | {"unit": "kg"}, "unit", "m2 or m3"),
        (FILL | {"unit": "m2"}, "unit", "kg or m3"),
        (TIMBER | {"unit": "m2"}, "unit", "m or m3"),
        (MEMBRANE | {"unit": "m3"}, "unit", "m2"),
        (BOARD | {"currency": "kr"}, "currency", "three letters, such as EUR; kr may be SEK, NOK, DKK"),
        (BOARD | {"name": ""}, "name", "a value"),
        (BOARD | {"product": "=1+1"}, "product", "a key of letters"),
        (FILL | {"conductivity_w_mk": "0.39"}, "conductivity_w_mk", "0.023 to 0.062"),
        (FILL | {"conductivity_w_mk": "39"}, "conductivity_w_mk", "0.023 to 0.062"),
        (MEMBRANE | {"conductivity_w_mk": "0.2"}, "conductivity_w_mk", "no value"),
        (FILL | {"conductivity_declared_w_mk": "0.037"}, "conversion_moisture", "ISO 10456"),
        (FILL | {"conversion_ageing": "1.1"}, "conversion_ageing", "belongs to"),
        (
            FILL | {"conductivity_declared_w_mk": "0.037", "conversion_moisture": "11"},
            "conversion_moisture",
            "0.8 to 2",
        ),
        (
            FILL
            | {
                "conductivity_w_mk": "0.039",
                "conductivity_declared_w_mk": "0.037",
                "conversion_moisture": "1",
            },
            "conductivity_w_mk",
            "not both",
        ),
        (BOARD | {"density_kg_m3": "6.5"}, "density_kg_m3", "from 325 to 1170"),
        (MEMBRANE | {"density_kg_m3": "900"}, "density_kg_m3", "per m2"),
        (BOARD | {"declared_fossil_kgco2e_kg": "0.4"}, "declared_biogenic_kgco2e_kg", "is given"),
        (
            BOARD | {"declared_fossil_kgco2e_kg": "0.4", "declared_biogenic_kgco2e_kg": "1.6"},
            "declared_biogenic_kgco2e_kg",
            "-1.84 to 0",
        ),
    ],
)
def test_each_check_names_column_value_and_expectation(tmp_path, row, column, expected):
    fault = only_fault(tmp_path, row)
    assert (fault.row, fault.column, fault.value) == (2, column, row.get(column, ""))
    assert expected in str(fault)
    assert not read_prices(tmp_path / "list.csv", CATALOGUE).products


def test_all_faults_at_once(tmp_path):
    bad = BOARD | {"product": "b", "price": "x", "unit": "l", "material": "stone"}
    found = read_prices(write(tmp_path, bad, BOARD, bad | {"product": "c"}), CATALOGUE)
    assert [f.row for f in found.faults] == [2, 2, 2, 4, 4, 4]
    assert [p.key for p in found.products] == ["b-12"]


def test_duplicate_product_key_names_the_first(tmp_path):
    fault = only_fault(tmp_path, BOARD, BOARD)
    assert fault.row == 3 and "row 2" in fault.expected


def test_the_odd_currency_is_told_wherever_it_stands(tmp_path):
    """Whoever stands first: the fault lies with the rows that differ from most, whatever else is wrong in them."""
    odd = TIMBER | {"currency": "SEK", "price": "dear"}
    others = [BOARD | {"product": f"board-{number}"} for number in range(3)]
    found = read_prices(write(tmp_path, odd, *others), CATALOGUE)
    assert [(fault.row, fault.column, fault.value) for fault in found.faults] == [
        (2, "price", "dear"),
        (2, "currency", "SEK"),
    ]


def test_one_currency_in_a_list(tmp_path):
    fault = only_fault(tmp_path, BOARD, TIMBER | {"currency": "SEK"})
    assert (fault.row, fault.column, fault.value) == (3, "currency", "SEK")


def test_misspelt_optional_column_is_not_lost(tmp_path):
    fault = only_fault(tmp_path, BOARD | {"densty_kg_m3": "600"})
    assert fault.row == 1 and 'nearest: "density_kg_m3"' in fault.expected


def test_declared_conductivity_and_carbon_reach_the_product(tmp_path):
    row = FILL | {
        "conductivity_declared_w_mk": "0.037",
        "conversion_moisture": "1.05",
        "declared_fossil_kgco2e_kg": "0.18",
        "declared_biogenic_kgco2e_kg": "-1.45",
        "source": "invented for the demo",
    }
    product = read_prices(write(tmp_path, row), CATALOGUE).products[0]
    assert product.conductivity_declared_w_mk * product.conversion.factor == pytest.approx(0.03885)
    assert (product.declaration.fossil_kgco2e_kg, product.declaration.biogenic_kgco2e_kg) == (0.18, -1.45)
    assert product.declaration.key == "f-declaration" and product.source == "invented for the demo"


def test_comments_and_empty_rows_keep_the_row_numbers(tmp_path):
    path = tmp_path / "list.csv"
    good = "p,n,osb,S,12,,5,m2,EUR"
    path.write_text(f"# a remark, in two cells\n\n{HEADER}\n,,,,,,,,\n# more\n{good}\n{good.replace('p', 'q')},\nr,x\n")
    found = read_prices(path, CATALOGUE)
    assert [p.key for p in found.products] == ["p", "q"]
    assert {f.row for f in found.faults} == {8}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no header row"),
        (b"hello\nworld\n", "no header row"),
        (HEADER.replace(",price", ",prise").encode(), 'missing column price (nearest: "prise")'),
        (HEADER.replace("width_mm", "price").encode(), "column price stands there twice"),
        (HEADER.encode() + b"\np,M\xfcller,osb\n", "row 2: not UTF-8"),
        (HEADER.encode("utf-16") + b"x", "row 1: not utf-16 text"),
        (HEADER.encode("utf-16-le"), "row 1: not text"),
        (HEADER.encode() + b'\np,"n,osb\n', "row 2: not a row of a CSV"),
        (HEADER.encode() + b"\np,\0\n", "row 2: not text"),
        (HEADER.encode() + b"\n" + b"x" * 20_000_001, "at most 20 MB"),
        (HEADER.encode() + b"\n," * 200_001, "at most 200000 rows"),
    ],
)
def test_unusable_files_are_refused_in_one_message(tmp_path, content, words):
    path = tmp_path / "list.csv"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_prices(path, CATALOGUE)
    assert words in str(caught.value) and "list.csv" in str(caught.value)


def test_missing_file_folder_and_other_suffix(tmp_path):
    for path, words in (
        (tmp_path / "none.csv", "no such file"),
        (tmp_path, "is a folder"),
        (write(tmp_path, BOARD, name="list.pdf"), ".csv or .xlsx"),
    ):
        with pytest.raises(InputError, match=words):
            read_prices(path, CATALOGUE)


def workbook(path, **sheets):
    path.write_bytes(workbook_bytes(**sheets))
    return path


def test_workbook_with_several_sheets(tmp_path):
    header = HEADER.split(",")
    path = workbook(
        tmp_path / "list.xlsx",
        cover=[["Our prices"], ["valid until further notice"]],
        boards=[header, ["b", "OSB", "osb", "S", 12, None, 5.2, "m2", "EUR"]],
        timber=[
            header,
            ["t", "stud", "softwood-c24", "S", 145, 45, "3,10", "m", "EUR"],
            ["u", "stud", "softwood-c24", "S", "thick", 45, 3.1, "m", "EUR"],
            ["b", "stud", "softwood-c24", "S", 95, 45, 3.1, "m", "EUR"],
        ],
    )
    found = read_prices(path, CATALOGUE)
    assert [(p.key, p.thickness_mm, p.price) for p in found.products] == [("b", 12, 5.2), ("t", 145, 3.1)]
    assert [(f.sheet, f.row, f.column) for f in found.faults] == [
        ("timber", 3, "thickness_mm"),
        ("timber", 4, "product"),
    ]
    assert str(found.faults[0]).startswith("list.xlsx: sheet 'timber', row 3, column thickness_mm: 'thick'; expected")
    assert "sheet 'boards', row 2" in found.faults[1].expected


def test_workbook_error_values_are_faults_not_comments(tmp_path):
    row = ["#N/A", "OSB", "osb", "S", 12, None, True, "m2", "EUR"]
    found = read_prices(workbook(tmp_path / "list.xlsx", a=[HEADER.split(","), row]), CATALOGUE)
    assert {f.column for f in found.faults} == {"product", "price"}


def test_damaged_and_disguised_workbooks(tmp_path):
    path = tmp_path / "list.xlsx"
    path.write_bytes(b"PK\x03\x04 nothing")
    with pytest.raises(InputError, match=r"list\.xlsx: not an \.xlsx workbook"):
        read_prices(path, CATALOGUE)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("hello.txt", "hello")
    with pytest.raises(InputError, match=r"not a workbook"):
        read_prices(path, CATALOGUE)


def test_a_zip_bomb_is_refused_before_it_is_opened(tmp_path):
    path = tmp_path / "list.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for i in range(4):
            archive.writestr(f"xl/{i}.xml", bytes(80_000_000))
    with pytest.raises(InputError, match="unpacks to"):
        read_prices(path, CATALOGUE)


def test_a_row_far_below_does_not_keep_us_busy(tmp_path):
    path = workbook(tmp_path / "list.xlsx", a=[HEADER.split(","), ["b"]])
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = next(name for name in parts if name.endswith("sheet1.xml"))
    parts[name] = parts[name].replace(b'<row r="2"', b'<row r="900000000"').replace(b'r="A2"', b'r="A900000000"')
    with zipfile.ZipFile(path, "w") as archive:
        for part, data in parts.items():
            archive.writestr(part, data)
    with pytest.raises(InputError, match="at most 200000 rows"):
        read_prices(path, CATALOGUE)


@pytest.mark.parametrize("name", ["new.csv", "new.xlsx"])
def test_template_reads_back_clean(tmp_path, name):
    write_template(tmp_path / name)
    found = read_prices(tmp_path / name, CATALOGUE)
    assert found.products == () and found.faults == ()


@pytest.mark.parametrize("name", ["new.csv", "new.xlsx"])
def test_the_template_s_example_is_a_good_row(tmp_path, name, monkeypatch):
    import materials.listed.export as prices

    example = prices.TEMPLATE_EXAMPLE
    monkeypatch.setattr(prices, "TEMPLATE_EXAMPLE", example | {"product": example["product"].lstrip("# ")})
    write_template(tmp_path / name)
    found = read_prices(tmp_path / name, CATALOGUE)
    assert [p.key for p in found.products] == ["example-board-60"] and not found.faults


def test_template_of_another_kind_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"\.csv or \.xlsx"):
        write_template(tmp_path / "new.pdf")


def test_lists_are_joined_with_their_digests(tmp_path):
    write(tmp_path, BOARD, name="a.csv")
    write(tmp_path, TIMBER, name="b.csv")
    products, digests = load_price_lists(["a.csv", "b.csv", "demo:loomfield-fill.csv"], tmp_path, CATALOGUE)
    assert [p.key for p in products[:2]] == ["b-12", "t"] and len(products) > 10
    assert list(digests) == ["a.csv", "b.csv", "demo:loomfield-fill.csv"]
    assert digests["a.csv"] != digests["b.csv"]


def test_faults_between_lists(tmp_path):
    write(tmp_path, BOARD | {"price": "x"}, TIMBER, name="a.csv")
    write(tmp_path, TIMBER | {"currency": "CHF"}, name="b.csv")
    with pytest.raises(InputError) as caught:
        load_price_lists(["a.csv", "b.csv"], tmp_path, CATALOGUE)
    message = str(caught.value)
    assert "a.csv: row 2, column price" in message
    assert "'t' stands in a.csv too" in message
    assert "prices in CHF; expected EUR" in message


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["none.csv"], r"none\.csv: no such file"),
        (["demo:lomfield-fill.csv"], "nearest: .demo:loomfield-fill.csv"),
        (["demo:../../timber.toml"], "not among those of the demo"),
        (["demo:loomfield-fill.csv"] * 2, "named twice"),
    ],
)
def test_lists_that_cannot_be_found(tmp_path, names, words):
    with pytest.raises(InputError, match=words):
        load_price_lists(names, tmp_path, CATALOGUE)


def test_a_hundred_thousand_rows_take_seconds(tmp_path):
    path = write(tmp_path, *(BOARD | {"product": f"b-{i}"} for i in range(100_000)))
    start = time.perf_counter()
    assert len(read_prices(path, CATALOGUE).products) == 100_000
    assert time.perf_counter() - start < 30  # measured: about 4 s; the margin is for slow machines
