"""The order in whole packs, its workbook and CSV opened again, and its totals held to the score's."""

from __future__ import annotations

import csv
import io
import math
import zipfile
from dataclasses import replace

import openpyxl
import pytest
from house_walls import L_SHAPE, RECTANGLE, brief, parted, pricing, single, twin
from openpyxl.utils import get_column_letter

from materials.models import PriceStep
from optimiser.checks.judge import judge
from optimiser.handover.ordering.order import Order, order_of, reconciled
from optimiser.handover.ordering.order_files import order_files, order_tables
from optimiser.handover.ordering.take_off import take_off
from optimiser.handover.tables.tabular import (
    MONEY,
    PRICE,
    SHARE,
    Column,
    Table,
    csv_text,
    harmless,
    sheet_names,
    spelt_cell,
    workbook,
)
from optimiser.locales import writing

HOUSE = L_SHAPE | {"storeys": 2, "openings_m2": {"south": 6.0, "north": 2.0}}


def ordered(wall=None, house=HOUSE, offered=None, **more) -> Order:
    given = brief(house, **more)
    return order_of(take_off(wall or twin(), given, offered or pricing(), wall_id="W-007"), given.transport)


def line(order: Order, key: str):
    (found,) = [each for supplier in order.suppliers for each in supplier.lines if each.product.key == key]
    return found


def opened(files) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(files["order.xlsx"]))


def rows_of(sheet, heading: str) -> list[dict]:
    """The rows under the headings, as dicts."""
    values = list(sheet.iter_rows(values_only=True))
    at = next(number for number, row in enumerate(values) if row[0] == heading)
    return [dict(zip(values[at], row, strict=True)) for row in values[at + 1 :]]


# Freight and price steps


def charged(free_from: float, steps=()):
    """All of Quillhaven Stores with a freight of 60, and steps on its gypsum or whatever goes by the m2."""
    offered = pricing()
    products = {
        key: each.model_copy(update={"freight": 60.0, "freight_free_from": free_from, "steps": steps_of(each, steps)})
        if each.supplier == "Quillhaven Stores"
        else each
        for key, each in offered.products.items()
    }
    return replace(offered, products=products)


def steps_of(product, steps):
    return tuple(PriceStep(quantity=quantity, price=share * product.price) for quantity, share in steps)


@pytest.mark.parametrize(("free_from", "freight"), [(1.0, 0.0), (1e6, 60.0)])
def test_freight_is_added_below_the_sum_that_it_is_free_from(free_from, freight):
    plain, order = ordered(), ordered(offered=charged(free_from))
    (stores,) = [each for each in order.suppliers if each.supplier == "Quillhaven Stores"]
    assert stores.freight == freight and plain.freight is None and order.freight == freight
    assert {each.freight for each in order.suppliers if each is not stores} == {None}
    money = {each.words.split(":")[0]: each.money for each in reconciled(order)}
    assert money["Freight, one delivery of each supplier"] == freight
    before = {each.words.split(":")[0]: each.money for each in reconciled(plain)}
    assert money["In all"] == pytest.approx(before["In all"] + freight)
    summary = order_tables(order)[0]
    at = [column.title for column in summary.columns].index("Freight, EUR")
    assert summary.total[at] == freight
    together = [column.title for column in summary.columns].index("Together, EUR")
    assert summary.total[together] == pytest.approx(order_tables(plain)[0].total[together - 1] + freight)
    assert "Freight, EUR" not in [column.title for column in order_tables(plain)[0].columns]


def test_an_order_takes_the_price_of_the_step_it_reaches():
    plain, order = ordered(), ordered(offered=charged(1.0, [(2, 0.9), (1e6, 0.5)]))
    saved = 0.0
    for supplier in plain.suppliers:
        for each in supplier.lines:
            now = line(order, each.product.key)
            reached = bool(now.product.steps) and each.quantity >= 2  # fixings stand in the brief
            assert now.price == pytest.approx(each.product.price * (0.9 if reached else 1.0))
            assert ("price from 2 " in now.remark) == reached
            saved += each.goods_cost - now.goods_cost
    steps = {each.words.split(":")[0]: each.money for each in reconciled(order)}
    assert saved > 1 and steps["Price steps reached"] == pytest.approx(-saved)
    assert steps["Goods of the order"] == pytest.approx(plain.goods_cost - saved)


# Packs


def test_every_line_is_enough_in_whole_packs():
    order = ordered()
    for supplier in order.suppliers:
        for each in supplier.lines:
            assert each.quantity >= each.needed - 1e-6
            if each.packs is not None:
                assert each.quantity == pytest.approx(each.packs * each.product.pack_contents)
                assert each.raised or each.quantity - each.needed < each.product.pack_contents
            assert each.goods_cost == pytest.approx(each.quantity * each.product.price)


def test_a_product_of_two_layers_is_one_line():
    """Screws of ties and lining: 200 to the pack."""
    order = ordered()
    screws = [each for each in order.of.items if each.key == "screws"]
    assert {each.role for each in screws} == {"tie", "lining"}
    assert line(order, "screws").packs == math.ceil(sum(each.gross for each in screws) / 200)


def test_timber_is_ordered_in_stock_lengths():
    """Tarn Timber sells by the metre, the battens come in pieces of 4 m."""
    order = ordered(single(), RECTANGLE)
    studs = line(order, "stud-200")
    (section,) = order.of.sections
    assert studs.quantity == pytest.approx(section.bought_m)
    bought = dict(part.split(" x ")[::-1] for part in studs.lengths.split(", "))
    assert sum(float(length.removesuffix(" m")) * int(n) for length, n in bought.items()) == pytest.approx(
        section.bought_m
    )
    battens = line(ordered(), "batten-40")
    assert battens.quantity == 4.0 * battens.packs
    assert battens.lengths == f"{battens.packs} x 4 m"


def test_the_least_order_is_kept():
    """1000 kg where a small house needs less: 80 bags of 12.5 kg; what is above the least order stays as it is."""
    small = {"length_m": 2.0, "width_m": 1.6, "storey_height_m": 2.4}
    offered = pricing()
    dear = offered.products["flock-bag"].model_copy(update={"minimum_order": 1000.0})
    raised = line(
        ordered(single(), small, replace(offered, products=offered.products | {"flock-bag": dear})), "flock-bag"
    )
    assert raised.needed < 1000
    assert (raised.raised, raised.quantity, raised.packs) == (True, 1000, 80)
    plenty = line(ordered(), "flock-bag")
    assert plenty.needed > 125 and not plenty.raised


def test_delivery_goes_by_mass():
    """12 sheets of strand or more: 3.125 m2 x 12 mm x 650 kg/m3 each, 0.2 a t km over 100 km."""
    strand = line(ordered(), "strand-12")
    assert strand.delivery == pytest.approx(strand.quantity * 0.012 * 650 * 0.2 * 100 / 1000)
    screws = line(ordered(), "screws")
    assert screws.delivery == pytest.approx(screws.quantity * 0.004 * 0.02)


def test_suppliers_and_lead_times():
    order = ordered()
    assert [each.supplier for each in order.suppliers] == ["Quillhaven Stores", "Tarn Timber"]
    assert {each.lead_time_days for each in order.suppliers} == {9}
    assert order.goods_cost == pytest.approx(sum(each.goods_cost for each in order.suppliers))


def test_what_nobody_sells_is_told():
    order = ordered(single(), RECTANGLE, pricing("foil-roll"))
    assert [each.what for each in order.unsupplied] == ["membrane"]
    assert "not on the lists: layer 2 (airtight layer), membrane" in order_tables(order)[0].below


# The score


@pytest.mark.parametrize("house", [RECTANGLE, HOUSE])
def test_the_workbooks_totals_are_the_scores(house):
    """Opened again: per m2 the wall's cost, for the house that times its outer faces less openings, to 1e-9."""
    order = ordered(house=house)
    told, area = judge(twin(), pricing()), order.of.area_m2
    sheet = opened(order_files(order))["By the score"]
    rows = rows_of(sheet, "Layer")
    total, layers = rows[-1], rows[:-1]
    assert total["All per m2, EUR"] == pytest.approx(told.cost_per_m2, rel=1e-9)
    assert total["All, house, EUR"] == pytest.approx(told.cost_per_m2 * area, rel=1e-9)
    for part in ("Material", "Waste", "Delivery", "Fixings", "Labour"):
        assert total[f"{part} per m2, EUR"] == pytest.approx(
            getattr(told.cost.by_part, part.lower()), rel=1e-9, abs=1e-9
        )
        assert total[f"{part}, house, EUR"] == pytest.approx(
            sum(row[f"{part}, house, EUR"] for row in layers), rel=1e-9, abs=1e-9
        )
    assert total["All, house, EUR"] == pytest.approx(sum(row["All, house, EUR"] for row in layers), rel=1e-9)


def test_the_steps_lead_from_the_score_to_the_order():
    order = ordered()
    steps = {each.words.split(":")[0].split(",")[0]: each for each in reconciled(order)}
    score, counted, waste, packs = (
        steps[each].money for each in ("Goods by the score", "Counted instead", "Waste", "Whole packs and units")
    )
    assert steps["Goods of the order"].money == pytest.approx(score + counted + waste + packs)
    assert steps["Goods of the order"].money == pytest.approx(order.goods_cost)
    part, area = order.of.figures.by_part, order.of.area_m2
    fixings = part.fixings / 1.02
    assert score == pytest.approx((part.material + fixings) * area, rel=1e-9)
    assert steps["In all"].of_the_score == pytest.approx(part.total * area, rel=1e-9)
    assert steps["In all"].money == pytest.approx(order.goods_cost + order.delivery + part.labour * area)


def test_what_goes_to_suppliers_is_in_cents_and_in_quantities_that_can_be_ordered():
    """m3, kg, m2 and m to three decimals, whole pieces; every line to the cent, so each sheet adds up and ties."""
    order = ordered()
    book = opened(order_files(order))
    for supplier in order.suppliers:
        *rows, total = rows_of(book[f"Order {supplier.supplier}"], "Product")
        for row, each in zip(rows, supplier.lines, strict=True):
            for name, exact in (("Needed", each.needed), ("Ordered", each.quantity)):
                assert row[name] == pytest.approx(exact, abs=1 if each.product.unit == "piece" else 5.1e-4)
                assert round(row[name], 0 if each.product.unit == "piece" else 3) == row[name]
            assert row["Ordered"] >= row["Needed"]
            assert row["Goods, EUR"] == pytest.approx(each.goods_cost, abs=5.1e-3)
        assert total["Goods, EUR"] == pytest.approx(sum(row["Goods, EUR"] for row in rows), abs=1e-9)
        assert total["Goods, EUR"] == pytest.approx(supplier.goods_cost, abs=5.1e-3 * len(rows))
    counted = rows_of(book["Take-off"], "Layer")[:-1]
    for row, each in zip(counted, order.of.items, strict=True):
        assert row["Net"] + row["Waste"] == pytest.approx(row["Gross"], abs=1e-9)
        assert row["Gross"] == pytest.approx(each.gross, abs=1 if each.unit == "piece" else 5.1e-4)
    exact = rows_of(book["Score and take-off"], "Layer")[:-1]
    assert [row["Counted, net"] for row in exact] == pytest.approx([each.net for each in order.of.items], rel=1e-12)


def test_every_column_of_money_names_its_currency():
    for table in order_tables(ordered()):
        for column in table.columns:
            assert (column.shown in (MONEY, PRICE)) == column.title.endswith(", EUR"), (table.name, column.title)


def test_slots_for_ties_are_among_the_rules():
    """102 ties, each through the board at the gap; a wall without such a board has no such rule."""
    taken = ordered(parted(), RECTANGLE).of
    (ties,) = [each.count for each in taken.items if each.what == "ties"]
    (rule,) = [each for each in taken.rules if "slots" in each]
    assert rule.startswith(f"Layer 2 (outer gap board): the ties of layer 3 pass through it. {ties} slots")
    assert not any("slots" in each for each in ordered().of.rules)


# Files


def test_numbers_are_numbers_and_nothing_is_a_formula():
    book = opened(order_files(ordered()))
    assert book.sheetnames[:3] == ["Suppliers", "Order Quillhaven Stores", "Order Tarn Timber"]
    assert book.sheetnames[3:] == [
        "Take-off",
        "Cutting plan",
        "By the score",
        "Score and order",
        "Score and take-off",
        "Rules",
    ]
    for sheet in book:
        for row in sheet.iter_rows():
            assert all(cell.data_type in ("n", "s") for cell in row), sheet.title
        assert sheet.freeze_panes is not None
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.print_title_rows
    orders = rows_of(book["Order Tarn Timber"], "Product")
    assert {type(row["Goods, EUR"]) for row in orders} <= {int, float}
    assert book["By the score"].cell(6, 4).number_format == "#,##0.00"


def test_wrapped_words_have_room_and_bold_ones_the_face_of_the_others():
    """A file opens with the heights that stand in it, and a face without a name is another in many programs."""
    book = openpyxl.load_workbook(io.BytesIO(order_files(ordered())["order.xlsx"]))
    for sheet in book:
        plain, wrapped = sheet["A1"].font.name, 0
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.font.name == plain
                if cell.alignment.wrap_text and isinstance(cell.value, str) and cell.data_type == "s":
                    wrapped += 1
                    lines = math.ceil(len(cell.value) / across(sheet, cell))
                    assert sheet.row_dimensions[cell.row].height >= 15 * lines
        assert wrapped


def across(sheet, cell) -> float:
    """Characters in a line of a text: its column's, or those of all that it is merged with."""
    merged = next((each for each in sheet.merged_cells.ranges if cell.coordinate in each), None)
    last = merged.max_col if merged else cell.column
    return sum(sheet.column_dimensions[get_column_letter(at)].width for at in range(cell.column, last + 1))


def test_equal_input_gives_equal_bytes():
    one, other = order_files(ordered()), order_files(ordered())
    assert one == other
    with zipfile.ZipFile(io.BytesIO(one["order.xlsx"])) as archive:
        assert {each.date_time for each in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.read("docProps/core.xml").count(b"2000-01-01T00:00:00Z") == 2  # made and changed
    assert set(one) == {
        "order.xlsx",
        *(f"order-{each}.csv" for each in ("suppliers", "quillhaven-stores", "tarn-timber", "take-off")),
        *(f"order-{each}.csv" for each in ("cutting-plan", "by-the-score", "score-and-order", "rules")),
        *(f"order-{each}.csv" for each in ("score-and-take-off",)),
    }


def test_the_csv_says_what_the_workbook_says():
    files = order_files(ordered())
    sheet = list(opened(files)["Take-off"].iter_rows(values_only=True))
    text = list(csv.reader(io.StringIO(files["order-take-off.csv"].decode("utf-8"))))
    assert len(text) == len(sheet)
    for cells, words in zip(sheet, text, strict=True):
        for cell, word in zip(cells, words, strict=False):
            if isinstance(cell, int | float):
                assert float(word) == pytest.approx(cell, rel=1e-11)
            else:
                assert word == (cell or "")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =HYPERLINK(1)", '=cmd|" /C calc"!A0'])
def test_hostile_text_stays_text(text):
    table = Table("[x]:*?/\\" + text, (Column(text), Column("n", "0.00")), ((text, 1.5),), ((text, text),))
    book = openpyxl.load_workbook(io.BytesIO(workbook([table], text)))
    (sheet,) = book
    for row in sheet.iter_rows():
        for cell in row:
            assert cell.data_type != "f"
    cells = [cell for row in csv.reader(io.StringIO(csv_text(table))) for cell in row]
    assert not any(cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t")) for cell in cells)
    assert harmless("\x00plain\x07") == "plain"


def test_a_hostile_name_on_a_price_list_stays_text():
    offered = pricing()
    hostile = offered.products["strand-12"].model_copy(update={"name": "=2+5", "supplier": "=Q[1]/*'"})
    order = ordered(offered=replace(offered, products=offered.products | {"strand-12": hostile}))
    files = order_files(order)
    assert all(cell.data_type != "f" for sheet in opened(files) for row in sheet.iter_rows() for cell in row)
    texts = [data.decode("utf-8") for name, data in files.items() if name.endswith(".csv")]
    cells = [cell for text in texts for row in csv.reader(io.StringIO(text)) for cell in row]
    assert "'=2+5" in cells
    assert not any(cell.startswith("=") for cell in cells)


def test_sheet_names_fit_and_differ():
    names = sheet_names([Table(each, (), ()) for each in ("a" * 40, "A" * 40, "x/y:z", "", "Sheet")])
    assert len({each.lower() for each in names}) == len(names)
    assert all(0 < len(each) <= 31 and not set(each) & set("[]:*?/\\") for each in names)


def test_cells_for_print_are_in_the_locale():
    with writing("de"):
        assert [spelt_cell(*each) for each in (("x", ""), (1234.5, MONEY), (0.125, SHARE), (None, MONEY))] == [
            "x",
            "1.234,50",
            "12,5 %",
            "",
        ]
