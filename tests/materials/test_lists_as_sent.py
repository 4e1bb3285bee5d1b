"""Lists as suppliers send them, a German, a Swedish and a US one, each read with its mapping; figures by hand.

All names and prices are invented.
"""

import io

import pytest
from openpyxl import load_workbook
from price_tables import csv_bytes, workbook_bytes

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.prices import parse_prices
from materials.models import as_sold

CATALOGUE = load_catalogue()

GERMAN = [
    ["Preisliste 2027, Erfundener Handel", "", "", "", "", "", "", ""],
    ["Artikel-Nr.", "Bezeichnung", "Sorte", "Maße", "", "Listenpreis", "Einheit", "Rabatt"],
    ["", "", "", "Stärke", "Breite", "[€]", "", "%"],
    ["s-195", "Ständer 45/195", "KVH C24", "195", "45", "485,00 €", "m³", "12"],
    ["d-19", "Dreischichtplatte 19", "3-Schicht", "19", "", "1.234,50 €", "m³", "10 %"],
    ["h-60", "Holzfaserplatte 60", "Holzfaser", "60", "", "€ 18,90", "qm", ""],
    ["b-50", "Holzschrauben 5 x 50", "Schrauben", "", "", "4,80", "100 Stk", "25"],
]
GERMAN_MAPPING = """
encoding = "cp1252"
separator = ";"

[columns]
"Artikel-Nr." = "product"
Bezeichnung = "name"
Sorte = "material"
"Maße Stärke" = "thickness_mm"
Breite = "width_mm"
Listenpreis = "price"
Einheit = "unit"
Rabatt = "discount_percent"

[defaults]
supplier = "Erfundener Handel"
currency = "EUR"
freight = 95
freight_free_from = 1500

[materials]
"KVH C24" = "softwood-c24"
"3-Schicht" = "three-layer-board"
Holzfaser = "wood-fibre-board"
Schrauben = "wood-screw"
"""

SWEDISH = [
    [
        "Artikel",
        "Benämning",
        "Vara",
        "Tjocklek",
        "Bredd",
        "Pris inkl. moms",
        "Enhet",
        "Innehåll",
        "Från 100",
        "Från 500",
    ],
    ["r-195", "Regel 45x195", "C24", "195", "45", "39,50 kr", "lpm", "", "36,00 kr", "34,00 kr"],
    ["g-13", "Gipsskiva 13", "Gips", "12,5", "", "1 234,50", "pall", "40", "", ""],
    ["p-02", "Plastfolie 0,2", "Folie", "", "", "1\u00a0187,50 kr", "rulle", "100", "", ""],
]
SWEDISH_MAPPING = """
separator = ";"
prices_include_vat = true

[columns]
Artikel = "product"
"Benämning" = "name"
Vara = "material"
Tjocklek = "thickness_mm"
Bredd = "width_mm"
"Pris inkl. moms" = "price"
Enhet = "unit"
"Innehåll" = "pack_contents"

[steps]
"Från 100" = 100
"Från 500" = 500

[defaults]
supplier = "Påhittad Trävaruhandel"
currency = "SEK"
vat_percent = 25
contents_unit = "m2"

[units]
pall = "pack"
rulle = "roll"

[materials]
C24 = "softwood-c24"
Gips = "plasterboard"
Folie = "pe-membrane"
"""

US = [
    ["SKU", "Description", "Type", "Depth", "Face", "Price", "Per", "Bag of", "R per inch", "Least"],
    ["2x6", "2 x 6 stud", "SPF", "5-1/2", "1-1/2", "$0.98", "LF", "", "", "120"],
    ["2x8", "2 x 8 stud", "SPF", "7 1/4", "1.5", "$1,234.50", "MBF", "", "", ""],
    ["osb-7", "OSB 7/16", "OSB", '7/16"', "", "$0.68", "SF", "", "", "32"],
    ["cel", "Blown cellulose", "Cellulose", "", "", "$13.75", "bag", "25", "0.272", "4"],
]
US_MAPPING = """
[columns]
SKU = "product"
Description = "name"
Type = "material"
Depth = "thickness_mm"
Face = "width_mm"
Price = "price"
Per = "unit"
"Bag of" = "pack_contents"
"R per inch" = "conductivity_w_mk"
Least = "minimum_order"

[defaults]
supplier = "Made-up Lumber"
currency = "USD"
contents_unit = "lb"

[factors]
thickness_mm = "inch"
width_mm = "inch"
conductivity_w_mk = "BTU in/h ft2 F"

[materials]
SPF = "softwood-c24"
OSB = "osb"
Cellulose = "blown-cellulose"
"""


def read(rows, mapping, separator=";", encoding="utf-8"):
    found = parse_prices("list.csv", csv_bytes(rows, separator, encoding), CATALOGUE, mapping.encode())
    assert not found.faults, [str(each) for each in found.faults]
    return {each.key: each for each in found.products}, found


def test_a_german_list():
    """Code page 1252, headings over two rows, thousands, signs, per m3, a discount."""
    products, found = read(GERMAN, GERMAN_MAPPING, encoding="cp1252")
    stud, board, fibre, screw = (products[key] for key in ("s-195", "d-19", "h-60", "b-50"))
    assert (stud.unit, stud.thickness_mm, stud.width_mm) == ("m3", 195, 45) and stud.name == "Ständer 45/195"
    assert stud.price == pytest.approx(485 * 0.88)
    assert (board.unit, board.price) == ("m3", pytest.approx(1234.5 * 0.9))
    assert (fibre.unit, fibre.price) == ("m2", 18.9)
    assert (screw.unit, screw.price) == ("piece", pytest.approx(4.8 * 0.75 / 100))
    assert (stud.freight, stud.freight_free_from) == (95, 1500)
    # The list gives no mass of a screw; the catalogue's usual one is taken, and the source says so.
    assert screw.mass_kg == CATALOGUE.get("wood-screw").mass_kg_piece
    assert "usual mass of one piece (from memory)" in screw.source
    assert any("discounts" in each for each in found.notes) and any("95 a delivery" in each for each in found.notes)


def test_the_same_german_list_as_a_workbook_with_merged_headings():
    numbers = [[None if cell == "" else cell for cell in row] for row in GERMAN]
    mapping = GERMAN_MAPPING.replace('encoding = "cp1252"\nseparator = ";"', "")
    book = load_workbook(io.BytesIO(workbook_bytes(Preise=numbers)))
    for merged in ("A1:H1", "D2:E2", "A2:A3", "B2:B3", "C2:C3"):
        book["Preise"].merge_cells(merged)
    data = io.BytesIO()
    book.save(data)
    found = parse_prices("list.xlsx", data.getvalue(), CATALOGUE, mapping.encode())
    assert not found.faults and found.products == read(GERMAN, GERMAN_MAPPING, encoding="cp1252")[1].products


def test_a_swedish_list():
    """Crowns, a space for thousands, per running metre, VAT in the price, steps by quantity."""
    products, found = read(SWEDISH, SWEDISH_MAPPING)
    stud, gypsum, film = (products[key] for key in ("r-195", "g-13", "p-02"))
    assert (stud.unit, stud.currency, stud.price) == ("m", "SEK", pytest.approx(39.5 / 1.25))
    assert [(each.quantity, each.price) for each in stud.steps] == [(100, 36 / 1.25), (500, 34 / 1.25)]
    assert [stud.price_for(each) for each in (99, 100, 499.9, 500)] == [31.6, 28.8, 28.8, 27.2]
    assert (gypsum.unit, gypsum.pack, gypsum.price) == ("m2", "pack", pytest.approx(1234.5 / 1.25 / 40))
    assert (film.unit, film.price) == ("m2", pytest.approx(1187.5 / 1.25 / 100))
    assert found.notes[0] == "prices are net: they held VAT, which is taken off"


def test_a_us_list():
    """Inches and their fractions, feet, square feet, pounds, board feet, dollars."""
    products, _ = read(US, US_MAPPING, ",")
    six, eight, osb, fill = (products[key] for key in ("2x6", "2x8", "osb-7", "cel"))
    assert (six.thickness_mm, six.width_mm, six.unit) == (pytest.approx(139.7), pytest.approx(38.1), "m")
    assert six.price == pytest.approx(0.98 / 0.3048) and six.minimum_order == pytest.approx(120 * 0.3048)
    assert eight.thickness_mm == pytest.approx(7.25 * 25.4)
    assert (eight.unit, eight.price) == ("m3", pytest.approx(1234.5 / 2.359737216))  # 1000 board feet in m3
    assert osb.thickness_mm == pytest.approx(11.1125)
    assert (osb.unit, osb.price) == ("m2", pytest.approx(0.68 / 0.09290304))
    assert osb.minimum_order == pytest.approx(32 * 0.09290304)
    assert (fill.unit, fill.pack_contents) == ("kg", pytest.approx(25 * 0.45359237))
    assert fill.price == pytest.approx(13.75 / (25 * 0.45359237))
    assert fill.minimum_order == pytest.approx(100 * 0.45359237)
    assert fill.conductivity_w_mk == pytest.approx(0.272 * 0.1442279)


def test_a_factor_of_a_price_is_per_that_unit():
    rows = [[*US[0]], ["osb-7", "OSB", "OSB", "7/16", "", "0.68", "board", "", "", ""]]
    mapping = US_MAPPING.replace("[factors]", '[units]\nboard = "m2"\n[factors]\nprice = "SF"')
    products, _ = read(rows, mapping, ",")
    assert products["osb-7"].price == pytest.approx(0.68 / 0.09290304)
    plain = mapping.replace('price = "SF"', "price = 10")
    assert read(rows, plain, ",")[0]["osb-7"].price == pytest.approx(6.8)


def test_cells_that_hang_down_are_filled():
    rows = [
        ["product", "material", "name", "supplier", "price", "unit", "currency", "thickness_mm"],
        ["a", "osb", "OSB 12", "Made-up", "5.20", "m2", "EUR", "12"],
        ["b", "", "OSB 15", "", "6.30", "m2", "EUR", "15"],
    ]
    products, _ = read(rows, 'fill_down = ["material", "supplier"]', ",")
    assert (products["b"].material, products["b"].supplier) == ("osb", "Made-up")


ROW = {"product": "x", "name": "x", "supplier": "Made-up", "unit": "m2", "currency": "EUR", "price": "5.20"}
OSB = ROW | {"material": "osb", "thickness_mm": "18"}
STUD = ROW | {"material": "softwood-c24", "unit": "m", "thickness_mm": "195", "width_mm": "45"}
FILL = ROW | {"material": "blown-cellulose", "unit": "kg", "price": "1.1"}
FILM = ROW | {"material": "pe-membrane"}


def faults(row, mapping=""):
    rows = [list(row), list(row.values())]
    return [str(each) for each in parse_prices("list.csv", csv_bytes(rows), CATALOGUE, mapping.encode()).faults]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            OSB | {"price": "420"},
            "column price: '420'; expected a price per m2; at 18 mm that is 23,333 EUR per m3: did",
        ),
        (OSB | {"price": "4600", "currency": "SEK"}, "did you mean the unit m3?"),
        (
            OSB | {"material": "softwood-cladding", "thickness_mm": "20", "price": "780"},
            "did you mean the unit m3?",
        ),
        (OSB | {"material": "glass-wool-batt", "thickness_mm": "50", "price": "70"}, "did you mean the unit m3?"),
        (STUD | {"price": "480"}, "a price per m; at 195 mm that is 54,701 EUR per m3: did you mean the unit m3?"),
        (OSB | {"unit": "m3", "price": "7.60"}, "a price per m3; 7.6 EUR fits one of m2: did you mean the unit m2?"),
        (STUD | {"unit": "m3", "price": "4.73"}, "fits one of m: did you mean the unit m?"),
        (OSB | {"waste_percent": "0.1"}, "column waste_percent: '0.1'; expected a number in %; did you mean 10?"),
        (OSB | {"discount_percent": "0.15"}, "a number in %; did you mean 15?"),
        (
            STUD | {"thickness_mm": "45", "width_mm": "195"},
            "a stud stands on edge: did you mean thickness_mm = 195 and width_mm = 45?",
        ),
        (OSB | {"thickness_mm": "0.018"}, "did you mean 18? It looks like metres"),
        (OSB | {"thickness_mm": "1.8"}, "did you mean 18? It looks like centimetres"),
        (FILL | {"conductivity_w_mk": "0.0038"}, "(blown-cellulose: 0.039); did you mean 0.038?"),
        (FILL | {"conductivity_w_mk": "38"}, "did you mean 0.038? It looks like mW/mK"),
        (FILL | {"density_kg_m3": "3.0"}, "It looks like lb/ft3"),
        (FILL | {"declared_fossil_kgco2e_kg": "99", "declared_biogenic_kgco2e_kg": "0"}, "from 0 to 20"),
        (OSB | {"price": "$5.20"}, "a sum in EUR, the row's currency; what stands beside it is one of USD, CAD"),
        (OSB | {"price": "5.20 kr"}, "what stands beside it is one of SEK, NOK, DKK, ISK"),
        (OSB | {"price": "5.20 USD"}, "what stands beside it is USD"),
        (OSB | {"price": "5.20 €/m³"}, "a price per m2, as the unit says; here it is per m³"),
        (OSB | {"currency": "$"}, "$ may be USD, CAD, AUD, NZD"),
        (OSB | {"price": "1,234"}, "without thousands separators"),
        (OSB | {"freight_free_from": "500"}, "what a delivery below that sum costs"),
        (OSB | {"price_steps": "50: 4.90; 20: 4.50"}, "quantities that rise and prices that fall with them"),
        (OSB | {"price_steps": "from 50 4.90"}, 'written as "50: 4.20; 200: 3.95"'),
        (FILM | {"sd_m_dry": "0.5", "sd_m_humid": "20"}, "are the two in swapped order?"),
        (FILM | {"sd_m_dry": "20"}, "a number in m, as sd_m_dry is given"),
        (FILM | {"sd_m": "5", "sd_m_dry": "20", "sd_m_humid": "1"}, "one of vapour_mu, sd_m, or sd_m_dry with"),
        (FILM | {"mu": "5000"}, "a membrane is known by its sd_m"),
        (FILL | {"sd_m": "2"}, "loose fill is known by its vapour_mu"),
        (FILM | {"mass_kg_m2": "180"}, "did you mean 0.18? It looks like grams"),
    ],
)
def test_a_slip_on_a_list_is_refused_with_its_likely_meaning(row, words):
    (fault,) = faults(row)
    assert words in fault


@pytest.mark.parametrize(
    "row",
    [
        OSB | {"price": "75"},  # a dear board
        OSB | {"material": "three-layer-board", "thickness_mm": "42", "price": "110"},
        OSB | {"material": "fibre-cement-cladding", "thickness_mm": "8", "price": "165"},
        OSB | {"material": "clay-tile-cladding", "thickness_mm": "30", "price": "300"},
        OSB | {"material": "three-layer-board", "price": "135"},
        OSB | {"material": "pir-board", "thickness_mm": "25", "price": "60"},
        OSB | {"unit": "m3", "price": "420"},
        OSB | {"waste_percent": "0"},
        ROW | {"material": "softwood-batten", "unit": "m", "thickness_mm": "25", "width_mm": "100", "price": "1"},
        STUD | {"thickness_mm": "63", "width_mm": "38", "price": "0.9"},
        STUD | {"thickness_mm": "45", "width_mm": "45", "price": "0.9"},
        STUD | {"thickness_mm": "100", "width_mm": "100", "price": "6"},
        OSB | {"price": "5,20 €/m²"},
    ],
)
def test_what_is_dear_or_lies_flat_is_no_slip(row):
    assert not faults(row)


@pytest.mark.parametrize(
    ("mapping", "words"),
    [
        ('[factors]\nthickness_mm = "yard"', "factors.thickness_mm = 'yard': expected a number, or one of inch"),
        ('[factors]\nname = "inch"', "factors.name: expected a column of ours that holds numbers"),
        ("[factors]\nprice = 0", "factors"),
        ('[units]\nPaket = "gallon"', "units.\"Paket\" = 'gallon': expected one of"),
        ('fill_down = ["stuff"]', "fill_down: 'stuff': expected a column of ours"),
        ("prices_include_vat = true", "prices_include_vat: expected the rate"),
        ("[defaults]\nvat_percent = 25", "expected prices_include_vat = true or false in list.toml"),
        ("[steps]\nab50 = 50", "has no such column"),
        ('[columns]\nStärke = "thickness_mm"', 'a key with letters beyond a to z stands in quotes: "Stärke" ='),
        ('[columns]\nRabatt = "rabatt"', 'expected a column of ours (nearest: "discount_percent")'),
    ],
)
def test_what_a_mapping_gets_wrong_is_told(mapping, words):
    with pytest.raises(InputError) as told:
        faults(OSB, mapping)
    assert words in str(told.value)


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Rabatt", "discount_percent"),
        ("rab. %", "discount_percent"),
        ("Discount", "discount_percent"),
        ("remise", "discount_percent"),
        ("MwSt", "vat_percent"),
        ("moms", "vat_percent"),
        ("densty_kg_m3", "density_kg_m3"),
    ],
)
def test_a_heading_of_the_trade_is_told_by_what_it_means(heading, column):
    (fault,) = faults(OSB | {heading: "10"})
    assert f'(nearest: "{column}")' in fault


def test_one_supplier_has_one_freight():
    rows = [[*OSB, "freight"], [*OSB.values(), "40"], [*(OSB | {"product": "y"}).values(), "45"]]
    (fault,) = parse_prices("list.csv", csv_bytes(rows), CATALOGUE).faults
    assert "one freight and one sum for all of Made-up, as before: 40 and nothing" in str(fault)


@pytest.mark.parametrize(
    ("row", "material"),
    [
        (FILM | {"sd_m_dry": "14", "sd_m_humid": "0.4", "mass_kg_m2": "0.11"}, {"sd_m_dry": 14, "mass_kg_m2": 0.11}),
        (FILL | {"mu": "1.5"}, {"vapour_mu": 1.5, "vapour_mu_dry": None}),
        (OSB | {"sd_m": "4"}, {"sd_m": 4, "sd_m_dry": None}),
    ],
)
def test_what_a_product_says_of_vapour_stands_for_its_material(row, material):
    rows = [list(row), list(row.values())]
    (product,) = parse_prices("list.csv", csv_bytes(rows), CATALOGUE).products
    sold = as_sold(CATALOGUE.get(product.material), product)
    assert {key: getattr(sold, key) for key in material} == material


def test_a_price_is_not_converted_twice():
    (fault,) = faults(OSB | {"unit": "SF", "price": "0.68"}, '[factors]\nprice = "SF"')
    assert "factors.price in the mapping converts the price" in fault


def test_a_list_without_its_mapping_is_told_how_one_would_begin():
    with pytest.raises(InputError) as told:
        parse_prices("list.csv", csv_bytes(GERMAN, ";"), CATALOGUE)
    assert 'row 2 may be it: name its columns in list.toml beside the list, [columns] "Artikel-Nr." = "product"' in str(
        told.value
    )
    assert '"Rabatt" = "discount_percent"' in str(told.value)
