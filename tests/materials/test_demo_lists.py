"""The demo price lists: they read clean, look like a market, and leave the search something to decide."""

from importlib import resources
from itertools import combinations
from pathlib import Path

import pytest

from materials.catalogue import load_catalogue
from materials.listed.prices import DEMO, demo_lists, load_price_lists, mapping_beside, read_prices
from materials.models import as_sold

CATALOGUE = load_catalogue()
PRODUCTS, _ = load_price_lists(demo_lists(), ".", CATALOGUE)
VOID_MM = 300.0  # a common depth to compare loose fills at


def per_m2(product):
    """(resistance, thickness, price, fossil carbon) per m2 of the layer itself, labour and waste left out."""
    material = as_sold(CATALOGUE.get(product.material), product)
    thickness = VOID_MM if material.kind == "loose fill" else product.thickness_mm or 0.0
    d = thickness / 1000.0
    mass = material.mass_kg_m2 or d * material.installed_density(thickness)
    resistance = d / material.design_conductivity if material.design_conductivity else 0.0
    amount = {
        "m2": 1.0,
        "m3": d,
        "kg": mass,
        "m": 1000.0 / product.width_mm if product.width_mm else None,  # members side by side
    }[product.unit]
    return resistance, thickness, product.price * amount, mass * material.fossil_kgco2e_kg


def dominates(a, b):
    """More resistance, less of everything else, and somewhere truly better."""
    a, b = (-a[0], *a[1:]), (-b[0], *b[1:])
    return all(x <= y + 1e-9 for x, y in zip(a, b, strict=True)) and any(
        x < y - 1e-9 for x, y in zip(a, b, strict=True)
    )


def undominated(products):
    scored = [(p, per_m2(p)) for p in products]
    return [p for p, score in scored if not any(dominates(other, score) for _, other in scored)]


def offered(use, kinds=None):
    found = [p for p in PRODUCTS if use in CATALOGUE.get(p.material).uses]
    return [p for p in found if kinds is None or CATALOGUE.get(p.material).kind in kinds]


SLOTS = {
    "wind-tight membranes": offered("wind-tight layer", ("membrane",)),
    "airtight membranes": offered("airtight layer", ("membrane",)),
    "outer boards": offered("outer board"),
    "sheathing": offered("sheathing"),
    "frame": offered("frame"),
    "gap boards": offered("gap board"),
    "loose fills": offered("fill", ("loose fill",)),
    "batts": offered("fill", ("batt",)),
    "service-zone fills": offered("service zone", ("batt",)),
    "service-zone battens": offered("service zone", ("timber",)),
}


def test_each_slot_has_at_least_four_undominated_products():
    best = {slot: [p.key for p in undominated(products)] for slot, products in SLOTS.items()}
    assert not {slot: keys for slot, keys in best.items() if len(keys) < 4}


@pytest.mark.parametrize("size", [40, 60, 100])
def test_batts_of_one_thickness_still_trade_off(size):
    assert len(undominated([p for p in SLOTS["batts"] if p.thickness_mm == size])) >= 3


def test_two_suppliers_of_one_thing_seldom_make_the_choice_for_us():
    """Most pairs are a real choice, some are honestly dominated: else the search has nothing to do or to drop."""
    groups = {}
    for p in PRODUCTS:
        if CATALOGUE.get(p.material).kind == "fixing":  # sold by piece and metre, not by the area of a layer
            continue
        groups.setdefault((p.material, p.thickness_mm, p.width_mm), []).append(p)
    pairs = [pair for group in groups.values() for pair in combinations(group, 2)]
    decided = [pair for pair in pairs if dominates(*map(per_m2, pair)) or dominates(*map(per_m2, reversed(pair)))]
    assert len(pairs) >= 30
    assert 2 <= len(decided) <= 0.3 * len(pairs), [(a.key, b.key) for a, b in decided]


def test_the_market_has_at_least_four_suppliers_and_150_products():
    assert len({p.supplier for p in PRODUCTS}) >= 4
    assert len(PRODUCTS) >= 150
    assert {p.currency for p in PRODUCTS} == {"EUR"}
    assert {p.source for p in PRODUCTS} == {"invented for the demo"}


@pytest.mark.parametrize("strength", ["c16", "c24"])
def test_timber_prices_are_those_of_a_timber_market(strength):
    for p in PRODUCTS:
        if p.material == f"softwood-{strength}":
            per_m3 = p.price / (p.thickness_mm * p.width_mm / 1e6)
            assert 360 <= per_m3 <= 640, p.key


def test_stronger_timber_costs_more_for_the_same_section():
    price = {(p.material, p.supplier, p.thickness_mm, p.width_mm): p.price for p in PRODUCTS}
    pairs = [
        (value, price[("softwood-c24", *key[1:])])
        for key, value in price.items()
        if key[0] == "softwood-c16" and ("softwood-c24", *key[1:]) in price
    ]
    assert len(pairs) >= 6 and all(c16 < c24 for c16, c24 in pairs)


def test_the_sizes_of_the_trade_are_there():
    def sizes(material, width=None):
        return {p.thickness_mm for p in PRODUCTS if p.material == material and width in (None, p.width_mm)}

    assert sizes("softwood-c24", 45) >= {95, 120, 145, 170, 195, 220, 245}
    assert sizes("softwood-c16", 38) >= {63, 89, 140}
    assert sizes("softwood-batten") >= {25, 38, 45, 50, 60, 70, 80}
    assert sizes("osb") == {9, 11, 12, 15, 18, 22}
    assert sizes("wood-fibre-board") | sizes("wood-fibre-insulating-board") >= {22, 35, 40, 52, 60, 80, 100}
    assert sizes("tie-plywood") >= {12}


def test_loose_fill_keeps_its_density_by_depth():
    fills = SLOTS["loose fills"]
    assert fills and all(p.density_kg_m3 is None for p in fills)
    sold = as_sold(CATALOGUE.get("blown-cellulose"), next(p for p in fills if p.material == "blown-cellulose"))
    assert sold.installed_density(400) > sold.installed_density(100)


def test_declared_carbon_stays_near_the_generic_range():
    declared = [(p.key, p.declaration, CATALOGUE.get(p.material)) for p in PRODUCTS if p.declaration is not None]
    assert declared
    assert not [
        (key, one.fossil_kgco2e_kg)
        for key, one, generic in declared
        if not generic.fossil_low_kgco2e_kg * 0.9 <= one.fossil_kgco2e_kg <= generic.fossil_high_kgco2e_kg * 1.1
    ]
    assert not [
        (key, one.biogenic_kgco2e_kg)
        for key, one, generic in declared
        if one.biogenic_kgco2e_kg != pytest.approx(generic.biogenic_kgco2e_kg, abs=0.1)
    ]


PLAIN = Path(__file__).parent / "plain_lists"  # the six lists in our own columns, priced per m2, m and kg
SAME = (
    "key",
    "name",
    "material",
    "supplier",
    "thickness_mm",
    "width_mm",
    "price",
    "unit",
    "currency",
    "conductivity_w_mk",
    "conductivity_declared_w_mk",
    "conversion",
    "density_kg_m3",
    "declaration",
    "source",
)
FIXINGS = {"ps-screw-50", "ps-tape-60", "bb-screw-80"}


@pytest.mark.parametrize("name", sorted(path.stem for path in PLAIN.iterdir()))
def test_a_list_of_any_shape_gives_the_products_of_the_plain_one(name):
    """Prices per pack, sheet, roll, bag, box or length come out as those per m2, m and kg, to the last digit."""
    plain = read_prices(PLAIN / f"{name}.csv", CATALOGUE)
    assert not plain.faults
    shipped = next(each for each in demo_lists() if Path(each.removeprefix(DEMO)).stem == name)
    products, _ = load_price_lists([shipped], ".", CATALOGUE)
    kept = [p for p in products if p.key not in FIXINGS]
    assert [[getattr(p, field) for field in SAME] for p in kept] == [
        [getattr(p, field) for field in SAME] for p in plain.products
    ]


def test_two_lists_have_a_shape_of_their_own_and_one_is_a_workbook():
    names = [each.removeprefix(DEMO) for each in demo_lists()]
    assert len(names) == 6 and {"corvane-sawmill.xlsx", "pellowmere-supplies.csv"} <= set(names)
    folder = Path(str(resources.files("materials"))) / "data" / "demo"
    assert [name for name in names if mapping_beside(folder / name).is_file()] == [
        "corvane-sawmill.xlsx",
        "pellowmere-supplies.csv",
    ]
    assert (folder / "corvane-sawmill.xlsx").stat().st_size < 20_000


def test_every_supplier_says_how_far_how_long_and_until_when():
    for p in PRODUCTS:
        assert p.valid_until is not None and p.lead_time_days and p.delivery_km and p.minimum_order, p.key
    by_supplier = {p.supplier: {q.delivery_km for q in PRODUCTS if q.supplier == p.supplier} for p in PRODUCTS}
    assert all(len(distances) == 1 for distances in by_supplier.values())
    assert len(set().union(*by_supplier.values())) == len(by_supplier)


def test_fixings_and_tape_are_sold_by_the_pack_and_counted_by_piece_and_metre():
    found = {p.key: (p.material, p.unit, p.price, p.pack, p.pack_contents, p.mass_kg) for p in PRODUCTS}
    assert {key: found[key] for key in FIXINGS} == {
        "ps-screw-50": ("wood-screw", "piece", 0.049, "pack", 200, 0.004),
        "ps-tape-60": ("airtight-tape", "m", 0.7, "roll", 25, 0.012),
        "bb-screw-80": ("wood-screw", "piece", 0.124, "pack", 100, 0.009),
    }
    sold = {p.key: (p.pack, p.pack_contents, p.minimum_order) for p in PRODUCTS}
    assert sold["ps-breather"] == ("roll", 75, 75)
    assert sold["ps-cellulose"] == ("bag", 12.5, 125)
    assert sold["cs-c24-45x145"] == ("piece", 5, 30)
