"""A list written in our own columns gives equal products when it is read again, and no spreadsheet runs it."""

import csv
import io
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.cells import FORMULA_SIGNS
from materials.listed.export import to_csv_text, write_list
from materials.listed.prices import demo_lists, load_price_lists, parse_prices, read_prices
from materials.listed.rows import COLUMNS, PACK_RANGE
from materials.models import PACKS, Conversion, Declaration, ModuleCarbon, PriceStep, Product

CATALOGUE = load_catalogue()
DEMO, _ = load_price_lists(demo_lists(), ".", CATALOGUE)
WORDS = st.text(st.characters(min_codepoint=33, max_codepoint=0x2FFF), min_size=1, max_size=30).filter(
    lambda text: text.isprintable() and text == " ".join(text.split())
)
FORMULAS = st.builds(str.__add__, st.sampled_from(["=", "+", "-", "@", "'", "'=", "''"]), WORDS)
TEXTS = st.one_of(WORDS, FORMULAS)


def numbers(low, high, places=6):
    return st.integers(int(low * 10**places), int(high * 10**places)).map(lambda each: each / 10**places)


@st.composite
def products(draw):
    """A product as a list can hold it."""
    kind, unit = draw(
        st.sampled_from([("osb", "m2"), ("softwood-c24", "m"), ("blown-cellulose", "kg"), ("steel-screws", "piece")])
    )
    source = draw(TEXTS)
    key = draw(st.from_regex(r"[a-z0-9][a-z0-9._/+-]{0,10}", fullmatch=True))
    packed = draw(st.booleans())
    low, high = PACK_RANGE[unit]
    contents = draw(st.integers(1, 500).map(float) if unit == "piece" else numbers(low, high, 3))
    declared = draw(st.booleans())
    return Product(
        key=key,
        name=draw(TEXTS),
        material=kind,
        supplier=draw(TEXTS),
        thickness_mm=draw(numbers(3, 600, 2)) if unit in ("m2", "m") else None,
        width_mm=45 if unit == "m" else None,
        price=draw(st.one_of(st.floats(1e-5, 1e6), numbers(0.01, 1000, 3))),
        unit=unit,
        currency="XTS",  # of which no price is unusual
        conductivity_declared_w_mk=0.038 if unit == "kg" else None,
        conversion=Conversion(moisture=draw(numbers(0.8, 1.1, 3))) if unit == "kg" else None,
        density_kg_m3=650 if unit == "m2" and draw(st.booleans()) else None,
        declaration=Declaration.of_product_stage(
            f"{key}-declaration", draw(numbers(0, 20)), draw(numbers(-1.84, 0)), source
        )
        if declared
        else None,
        declaration_key=draw(st.one_of(st.none(), TEXTS)),
        waste_fraction=draw(st.one_of(st.none(), st.just(0.0), numbers(0.01, 0.5, 4))),
        pack=draw(st.sampled_from(PACKS)) if packed else None,
        pack_contents=contents if packed else None,
        minimum_order=draw(st.one_of(st.none(), numbers(0, 1e6, 3))),
        valid_until=draw(st.one_of(st.none(), st.dates(date(2000, 1, 1), date(2100, 12, 31)))),
        lead_time_days=draw(st.one_of(st.none(), st.integers(0, 730))),
        delivery_km=draw(st.one_of(st.none(), numbers(0, 20_000, 1))),
        mass_kg=draw(numbers(1e-4, 100)) if unit == "piece" else None,
        sd_m=draw(st.one_of(st.none(), numbers(0.001, 100, 3))) if unit == "m2" else None,
        vapour_mu=draw(st.one_of(st.none(), numbers(1, 1000, 2))) if unit == "kg" else None,
        steps=(PriceStep(quantity=draw(numbers(0.1, 9)), price=1e-5), PriceStep(quantity=12.5, price=1e-6))
        if draw(st.booleans())
        else (),
        freight=95.5,  # one for all of a supplier
        freight_free_from=1200.0,
        source=source,
    )


@settings(max_examples=250)
@given(many=st.lists(products(), max_size=5, unique_by=lambda each: each.key))
def test_what_is_written_reads_back_equal(many):
    text = to_csv_text(many)
    found = parse_prices("list.csv", text.encode(), CATALOGUE)
    assert not found.faults, [str(each) for each in found.faults]
    assert found.products == tuple(many)


@settings(max_examples=250)
@given(one=products())
def test_no_cell_of_text_is_a_formula(one):
    assume(any(each[:1] in FORMULA_SIGNS for each in (one.name, one.supplier, one.source, one.declaration_key or "")))
    header, row = csv.reader(io.StringIO(to_csv_text([one])))
    cells = dict(zip(header, row, strict=True))
    for name in ("product", "name", "supplier", "source", "declaration"):
        assert not cells.get(name, "").startswith(FORMULA_SIGNS)


@pytest.mark.parametrize("name", ["list.csv", "list.xlsx"])
def test_the_demo_s_products_survive_a_list_of_our_own(tmp_path, name):
    write_list(tmp_path / name, DEMO)
    found = read_prices(tmp_path / name, CATALOGUE)
    assert not found.faults and found.products == tuple(DEMO)
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_workbook_holds_guarded_text_and_real_numbers(tmp_path):
    one = DEMO[0].model_copy(update={"name": '=HYPERLINK("x")', "supplier": "+49 30"})
    write_list(tmp_path / "list.xlsx", [one])
    sheet = load_workbook(tmp_path / "list.xlsx").active
    cells = {name.value: cell for name, cell in zip(*sheet.iter_rows(), strict=True)}
    assert cells["name"].value == '\'=HYPERLINK("x")' and cells["name"].data_type == "s"
    assert cells["price"].value == one.price
    assert read_prices(tmp_path / "list.xlsx", CATALOGUE).products == (one,)


def test_only_columns_that_hold_something_are_written():
    header = to_csv_text(DEMO[:1]).splitlines()[0].split(",")
    assert "mass_kg" not in header and "valid_until" in header
    assert [name for name in COLUMNS if name in header] == header
    assert to_csv_text([]).strip() == "product,name,material,supplier,price,unit,currency"


def test_a_full_declaration_stays_in_its_own_file_and_is_named_by_its_key():
    full = Declaration(key="d", source="s", modules={"A1-A3": ModuleCarbon(fossil=1), "C3": ModuleCarbon(fossil=2)})
    one = DEMO[0].model_copy(update={"declaration": full, "declaration_key": "d"})
    back = parse_prices("list.csv", to_csv_text([one]).encode(), CATALOGUE).products[0]
    assert back == one.model_copy(update={"declaration": None})


@pytest.mark.parametrize(
    ("name", "words"), [("list.pdf", "ending in .csv or .xlsx"), ("no/list.csv", "cannot be written")]
)
def test_a_list_that_cannot_be_written_leaves_nothing(tmp_path, name, words):
    with pytest.raises(InputError, match=words):
        write_list(tmp_path / name, DEMO)
    assert not list(tmp_path.iterdir())
