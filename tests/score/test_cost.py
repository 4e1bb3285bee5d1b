"""What one layer costs, against the formulas written out: price by unit, waste, delivery, fixings, hours."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.catalogue import Catalogue
from materials.errors import InputError
from materials.models import Conversion, DepthDensity, Material, Product
from optimiser.brief.brief import read_brief
from optimiser.brief.price_lists import terms_of
from optimiser.command.cli import demo_brief
from optimiser.score import cost
from optimiser.score.settings import Fixing, Labour, Transport
from optimiser.wall import layers
from optimiser.wall.layers import NO_TERMS, Stock, Terms
from optimiser.wall.pricing import batt_lines

BOARD = Material(key="board", name="board", kind="board", density_kg_m3=600, conductivity_w_mk=0.13, waste_fraction=0.1)
BATT = Material(key="wool", name="wool", kind="batt", density_kg_m3=40, conductivity_w_mk=0.035, waste_fraction=0.05)
DENSER = tuple(DepthDensity(depth_mm=d, density_kg_m3=r) for d, r in ((150, 40), (400, 60)))
FILL = Material(
    key="flock", name="flock", kind="loose fill", density_kg_m3=50, density_by_depth=DENSER, conductivity_w_mk=0.04
)
STEEL = Material(key="steel", name="steel", kind="fixing", fossil_kgco2e_kg=5.0, waste_fraction=0.02)

money = st.floats(-100, 1000, allow_subnormal=False)
share = st.floats(0, 0.5, allow_subnormal=False)
size = st.floats(0.001, 0.5)
rate = st.floats(0, 10, allow_subnormal=False)


def product(unit: str = "m2", price: float = 10.0, of: str = "board", **more) -> Product:
    values = {"key": "p", "name": "p", "supplier": "Quillhaven Stores", "currency": "EUR", "source": "invented"} | more
    return Product(material=of, unit=unit, price=price, **values)


def carried(rate_per_t_km: float, distance_km: float = 100.0, fixings: dict | None = None, **labour) -> Terms:
    transport = Transport(rate_per_t_km=rate_per_t_km, distance_km=distance_km)
    return Terms(Labour(**labour), transport, fixings or {})


@given(money, share, size)
def test_without_rates_a_price_is_that_of_the_goods_with_waste(price, waste, thickness):
    """To the last bit: by m2, m3, kg and metre of section."""
    mass = 600 * thickness
    goods = {
        "m2": price,
        "m3": price * thickness,
        "kg": price * mass,
        "m": price / (45 * (thickness * 1000) * 1e-6) * thickness,
    }
    for unit, net in goods.items():
        sold = product(unit, price, thickness_mm=thickness * 1000, width_mm=45)
        bought = cost.purchase(sold, BOARD.model_copy(update={"waste_fraction": waste}), thickness, mass, Transport())
        bill = cost.bill([bought], [], {}, Labour())
        assert bill.price == net * (1 + waste)
        assert bill.delivery == 0 and bill.labour == 0
        assert bought.material + bought.waste == pytest.approx(bill.price, rel=1e-12, abs=1e-9)


@given(size, share, rate, st.floats(0, 2000), st.one_of(st.none(), st.floats(0, 2000)))
def test_delivery_is_mass_with_waste_by_distance_by_rate(thickness, waste, rate_per_t_km, distance, own):
    sold = product(thickness_mm=thickness * 1000, waste_fraction=waste, delivery_km=own)
    found = layers.sheet(Stock.of(BOARD, sold), "sheathing", thickness, carried(rate_per_t_km, distance))
    tonnes = 600 * thickness * (1 + waste) / 1000
    assert found.bill.delivery == pytest.approx(tonnes * (distance if own is None else own) * rate_per_t_km, abs=1e-12)
    assert found.mass == pytest.approx(600 * thickness)  # what is wasted is not built in


@given(rate, rate, st.floats(0, 3000), st.floats(0, 3000))
def test_more_distance_is_never_cheaper(one, other, near, far):
    near, far = sorted((near, far))
    low, high = sorted((one, other))
    sold = Stock.of(BOARD, product(thickness_mm=12))
    costs = [
        layers.sheet(sold, "sheathing", 0.012, carried(*each)).price for each in ((low, near), (low, far), (high, far))
    ]
    assert costs == sorted(costs)


def test_a_product_s_own_waste_stands_before_its_material_s():
    assert cost.waste_of(product(), BOARD) == 0.1
    assert cost.waste_of(product(waste_fraction=0.0), BOARD) == 0.0


def test_batts_of_a_stack_are_each_carried_from_their_own_place():
    """40 mm from 10 km and 60 mm from 500 km, 40 kg/m3, 5 % waste, 0.3 per t km; an hour each."""
    stack = (
        product(price=3.0, of="wool", key="a", thickness_mm=40, delivery_km=10),
        product(price=4.0, of="wool", key="b", thickness_mm=60, delivery_km=500, supplier="Underledge Goods"),
    )
    found = layers.sheet(Stock(BATT, stack), "fill", 0.1, carried(0.3, rate_per_h=30, batt_h_per_m2=0.1))
    assert found.bill.delivery == pytest.approx(1.05 * 40 * (0.04 * 10 + 0.06 * 500) * 0.3 / 1000)
    assert found.price == pytest.approx(7 * 1.05 + found.bill.delivery)
    assert found.bill.hours == {"batt": pytest.approx(0.2)}
    assert {each.supplier for each in found.bill.purchases} == {"Quillhaven Stores", "Underledge Goods"}


@given(st.sampled_from(["kg", "m3"]), st.floats(0.01, 0.5), st.floats(0.05, 0.6), rate, share)
def test_a_blown_fill_costs_by_mass_and_volume_at_any_depth(unit, thickness, void, rate_per_t_km, waste):
    """The two prices that the search uses, whatever the fill is sold by and however dense it is blown."""
    terms = carried(rate_per_t_km, 250)
    stock = Stock.of(FILL, product(unit, 1.2 if unit == "kg" else 55.0, of="flock", waste_fraction=waste))
    found = layers.blown(stock, thickness, void, terms)
    per_kg, per_m3 = layers.blown_prices(stock, terms)
    assert per_kg * found.mass + per_m3 * thickness == pytest.approx(found.price, rel=1e-12)
    kg = found.mass * (1 + waste)
    goods = 1.2 * kg if unit == "kg" else 55.0 * thickness * (1 + waste)
    assert found.price == pytest.approx(goods + kg * 250 * rate_per_t_km / 1000)


FIXING_STOCKS = {
    "screw": Stock.of(STEEL, product("piece", 0.05, of="steel", key="screw", mass_kg=0.004)),
    "nail": Stock.of(STEEL, product("kg", 3.0, of="steel", key="nail")),
    "tape": Stock.of(STEEL, product("m", 0.6, of="steel", key="tape", mass_kg=0.03)),
}


@given(st.floats(0.1, 40), st.sampled_from(sorted(FIXING_STOCKS)), st.floats(0, 2))
def test_fixings_of_a_sheet_add_their_price_mass_carbon_and_delivery(number, key, rate_per_t_km):
    stock = FIXING_STOCKS[key]
    fixings = {"sheathing": ((Fixing(product=key, per_m2=number), stock),)}
    board = Stock.of(BOARD.model_copy(update={"fossil_kgco2e_kg": 0.5}), product(thickness_mm=12))
    bare = layers.sheet(board, "sheathing", 0.012, carried(rate_per_t_km))
    fixed = layers.sheet(board, "sheathing", 0.012, carried(rate_per_t_km, fixings=fixings))
    mass = number * {"screw": 0.004, "nail": 1.0, "tape": 0.03}[key]
    assert fixed.mass - bare.mass == pytest.approx(mass)
    assert fixed.carbon - bare.carbon == pytest.approx(5.0 * mass)
    delivery = mass * 1.02 * 100 * rate_per_t_km / 1000
    assert fixed.price - bare.price == pytest.approx(number * stock.products[0].price * 1.02 + delivery)
    elsewhere = layers.sheet(board, "outer board", 0.012, carried(rate_per_t_km, fixings=fixings))
    assert elsewhere.price == bare.price and elsewhere.mass == bare.mass


@given(st.floats(0.03, 0.1), st.floats(0.02, 0.3), st.floats(0.1, 10))
def test_fixings_go_by_the_metre_of_a_member_and_by_the_tie(width, height, number):
    """A metre of member covers its width; a tie its thickness by its height."""
    screw = FIXING_STOCKS["screw"]
    timber = Stock.of(BOARD, product("m", 2.0, thickness_mm=100, width_mm=width * 1000))
    by_metre = carried(0, fixings={"inner frame": ((Fixing(product="screw", per_m=number), screw),)})
    studs = layers.members(timber, 0.1, width, "inner frame", by_metre)
    bare = layers.members(timber, 0.1, width, "inner frame", NO_TERMS)
    assert (studs.price - bare.price) * width == pytest.approx(number * 0.05 * 1.02)
    assert (studs.mass - bare.mass) * width == pytest.approx(number * 0.004)
    plate = Stock.of(BOARD, product(thickness_mm=12))
    by_tie = carried(0, fixings={"tie": ((Fixing(product="screw", per_tie=number), screw),)})
    ties = layers.ties(plate, 0.1, 0.012, height, 0.06, by_tie)
    untied = layers.ties(plate, 0.1, 0.012, height, 0.06, NO_TERMS)
    assert (ties.price - untied.price) * 0.012 * height == pytest.approx(number * 0.05 * 1.02)
    assert (ties.mass - untied.mass) * 0.012 * height == pytest.approx(number * 0.004)


def test_a_layer_without_a_product_has_no_price_but_hours_and_fixings():
    terms = carried(
        0.2,
        fixings={"sheathing": ((Fixing(product="tape", per_m2=2), FIXING_STOCKS["tape"]),)},
        rate_per_h=40,
        board_h_per_m2=0.1,
    )
    found = layers.sheet(Stock(BOARD), "sheathing", 0.012, terms)
    assert math.isnan(found.price)
    assert found.labour == pytest.approx(4)
    assert found.mass == pytest.approx(7.2 + 0.06)


def test_delivery_for_nothing_needs_no_mass():
    """A material of unknown density has a price still, unless it is carried for money."""
    unknown = Stock.of(BOARD.model_copy(update={"density_kg_m3": None}), product(thickness_mm=12))
    assert layers.sheet(unknown, "sheathing", 0.012, NO_TERMS).price == 11.0
    assert math.isnan(layers.sheet(unknown, "sheathing", 0.012, carried(0.2)).price)


@pytest.mark.parametrize(
    ("sold", "words"),
    [
        (product("m2", key="sheet"), ['fixings.tie: product "sheet"', "sold by m2", "piece, m, kg"]),
        (product("piece", key="screw"), ['fixings.tie: product "screw"', "no mass_kg", "one piece"]),
        (product("m", key="tape"), ['product "tape"', "no mass_kg", "one m"]),
    ],
)
def test_what_cannot_be_counted_as_a_fixing_is_refused(sold, words):
    with pytest.raises(InputError) as caught:
        cost.check_fixing(sold, "fixings.tie")
    for word in words:
        assert word in str(caught.value)


def test_a_brief_s_fixing_without_a_mass_is_refused_as_it_is_read():
    """Its carbon and carriage would be unknown in every wall, and not nothing."""
    catalogue = Catalogue({"steel": STEEL}, {}, "invented")
    brief = read_brief(demo_brief()).model_copy(update={"fixings": {"tie": (Fixing(product="screw", per_tie=8),)}})
    weightless = product("piece", of="steel", key="screw")
    with pytest.raises(InputError, match=r'fixings\.tie: product "screw" states no mass_kg \(of one piece\)'):
        terms_of(brief, catalogue, {"screw": weightless})
    weighed = weightless.model_copy(update={"mass_kg": 0.004})
    assert terms_of(brief, catalogue, {"screw": weighed}).fixings["tie"][0][1].products == (weighed,)


OPERATIONS = [each for each in Labour.model_fields if each != "rate_per_h"]
RATES = {name: 0.01 * 2**number for number, name in enumerate(OPERATIONS)}  # no two alike, nor any sum of two


@pytest.mark.parametrize(
    ("role", "kind", "operations"),
    [
        ("cladding", "cladding", ["cladding_h_per_m2"]),
        ("lining", "board", ["lining_h_per_m2"]),
        ("fill", "batt", ["batt_h_per_m2"]),
        ("wind-tight layer", "membrane", ["membrane_h_per_m2"]),
        ("airtight layer", "membrane", ["membrane_h_per_m2", "taping_h_per_m2"]),
        ("airtight layer", "board", ["board_h_per_m2", "taping_h_per_m2"]),
        ("sheathing", "board", ["board_h_per_m2"]),
    ],
)
def test_every_sheet_takes_the_hours_of_its_own_operation(role, kind, operations):
    hours = cost.board_hours(Labour(**RATES), role, BOARD.model_copy(update={"kind": kind}))
    assert hours == {name.split("_h_per_")[0]: RATES[name] for name in operations}


def test_every_member_fill_and_tie_takes_the_hours_of_its_own_operation():
    """A metre of a member 0.05 m wide covers that much of a m2; a tie of 12 by 200 mm its area (exact)."""
    labour = Labour(**RATES)
    for frame in ("outer frame", "inner frame"):
        assert cost.member_hours(labour, frame, 0.05) == {"stud": RATES["stud_h_per_m"] / 0.05}
    assert cost.member_hours(labour, "service zone", 0.05) == {"batten": RATES["batten_h_per_m"] / 0.05}
    assert cost.blown_hours(labour, 0.3) == {"blown": RATES["blown_h_per_m3"] * 0.3}
    assert cost.tie_hours(labour, 0.012, 0.2) == {"tie": RATES["tie_h_per_piece"] / (0.012 * 0.2)}


@pytest.mark.parametrize("sold", [product("piece"), product("m"), product("m", thickness_mm=20)])
def test_what_is_sold_by_the_piece_has_no_price_per_m2_of_a_layer(sold):
    with pytest.raises(InputError, match=rf'product "p": a price per {sold.unit} .* expected'):
        cost.net_price_per_m2(sold, 0.02, 10.0)


def test_batts_lie_on_each_other_only_where_waste_and_distance_agree():
    """Then the cheapest stack on the list is the cheapest on the site too."""
    damp = {"conductivity_declared_w_mk": 0.035, "conversion": Conversion(moisture=1.02)}
    line = [product(of="wool", key=f"w{depth}", thickness_mm=depth, **damp) for depth in (40, 60)]
    assert len(batt_lines(line)) == 1
    for change in ({"delivery_km": 10}, {"waste_fraction": 0.2}):
        assert len(batt_lines([line[0], line[1].model_copy(update=change)])) == 2
