"""Declarations per kg of a product: conversions by hand, what can be split, biogenic carbon in and out."""

from __future__ import annotations

from datetime import date

import pytest
from declaration_files import (
    AREA,
    BIOGENIC,
    BOARD,
    CARBON,
    FOSSIL,
    GWP_A1,
    ITEMS,
    KEY,
    LAND_USE,
    LENGTH,
    MASS,
    TOTAL,
    process_xml,
    write_xml,
)
from declared_products import BOARD_MATERIAL, CATALOGUE, archive, product, read_declaration, refused

from materials.declared.declarations import balances, biogenic_balance, for_product, left_out
from materials.models import Declaration, Material, ModuleCarbon
from materials.wood_carbon import CO2_PER_CARBON, biogenic_carbon


def per_kg(tmp_path, fossil=10.0, of=None, material=BOARD_MATERIAL, **how):
    """Fossil carbon per kg of a declaration of so much fossil carbon per declared unit."""
    found = archive(tmp_path, {FOSSIL: {"A1-A3": fossil}, BIOGENIC: {"A1-A3": 0.0}}, **how)
    return for_product(found, material, of or product()).modules["A1-A3"].fossil


def test_a_declaration_per_kg(tmp_path):
    assert per_kg(tmp_path, 0.7, quantity=MASS) == pytest.approx(0.7, rel=1e-12)
    assert per_kg(tmp_path, 700.0, quantity=MASS, mean_amount="1000") == pytest.approx(0.7, rel=1e-12)


def test_a_declaration_per_m3(tmp_path):
    """200 kg per m3 at 250 kg/m3: 0.8 per kg. The file's own mass, then its density, the product's, the material's."""
    assert per_kg(tmp_path, 200.0) == pytest.approx(200 / 250, rel=1e-12)  # the material: 250 kg/m3
    assert per_kg(tmp_path, 200.0, of=product(density_kg_m3=230)) == pytest.approx(200 / 230, rel=1e-12)
    by_density = {"material": {"gross density": 240}}
    assert per_kg(tmp_path, 200.0, flow=by_density, of=product(density_kg_m3=230)) == pytest.approx(
        200 / 240, rel=1e-12
    )
    assert per_kg(tmp_path, 200.0, flow={"material": {"bulk density": 240}}) == pytest.approx(200 / 240, rel=1e-12)
    by_mass = by_density | {"others": {MASS: 245}}
    assert per_kg(tmp_path, 200.0, flow=by_mass) == pytest.approx(200 / 245, rel=1e-12)
    assert per_kg(tmp_path, 400.0, flow=by_mass, mean_amount="2") == pytest.approx(200 / 245, rel=1e-12)


def test_a_declaration_per_m2(tmp_path):
    """22 mm at 250 kg/m3 are 5.5 kg/m2; 4.4 kg fossil per m2 are 0.8 per kg."""
    assert per_kg(tmp_path, 4.4, quantity=AREA) == pytest.approx(4.4 / 5.5, rel=1e-12)
    assert per_kg(tmp_path, 4.4, quantity=AREA, of=product(density_kg_m3=200)) == pytest.approx(4.4 / 4.4, rel=1e-12)
    grammage = {"material": {"grammage": 5.0}}
    assert per_kg(tmp_path, 4.4, quantity=AREA, flow=grammage) == pytest.approx(4.4 / 5.0, rel=1e-12)
    thickness = {"material": {"layer thickness": 0.040}}  # declared for a board of 40 mm: 10 kg/m2
    assert per_kg(tmp_path, 8.0, quantity=AREA, flow=thickness) == pytest.approx(0.8, rel=1e-12)
    both = {"material": {"layer thickness": 0.040, "gross density": 200}}
    assert per_kg(tmp_path, 8.0, quantity=AREA, flow=both) == pytest.approx(8.0 / 8.0, rel=1e-12)


def test_a_membrane_per_m2_by_its_mass(tmp_path):
    paper = CATALOGUE.get("airtight-paper")
    of = product(material="airtight-paper", thickness_mm=None)
    found = per_kg(tmp_path, 0.18, quantity=AREA, material=paper, of=of)
    assert paper.mass_kg_m2 == 0.2 and found == pytest.approx(0.9, rel=1e-12)


def test_a_declaration_per_metre(tmp_path):
    """A stud of 45 x 145 mm at 420 kg/m3 has 0.045 x 0.145 x 420 = 2.7405 kg/m."""
    stud = product(material="softwood-c24", thickness_mm=145, width_mm=45, unit="m", density_kg_m3=420)
    timber = CATALOGUE.get("softwood-c24")
    found = per_kg(tmp_path, 0.5, quantity=LENGTH, material=timber, of=stud)
    assert found == pytest.approx(0.5 / 2.7405, rel=1e-12)
    stated = {"material": {"linear density": 2.5}}
    assert per_kg(tmp_path, 0.5, quantity=LENGTH, material=timber, of=stud, flow=stated) == pytest.approx(
        0.2, rel=1e-12
    )


def test_a_declaration_per_piece(tmp_path):
    screws = CATALOGUE.get("steel-screws")
    one = product(material="steel-screws", thickness_mm=None, unit="piece", mass_kg=0.01)
    assert per_kg(tmp_path, 0.04, quantity=ITEMS, material=screws, of=one) == pytest.approx(4.0, rel=1e-12)
    stated = {"material": {"weight per piece": 0.008}}
    found = per_kg(tmp_path, 4.0, quantity=ITEMS, material=screws, of=one, flow=stated, mean_amount="100")
    assert found == pytest.approx(5.0, rel=1e-12)
    by_weight = product(material="steel-screws", thickness_mm=None, unit="kg", mass_kg=0.01)
    refused(lambda: per_kg(tmp_path, 0.04, quantity=ITEMS, material=screws, of=by_weight), "no weight per piece")


def test_the_conversion_factor_of_the_format(tmp_path):
    """Mass = amount / factor: 1 m3 with the factor 0.004 is 250 kg."""
    flow = {"material": {"conversion factor to 1 kg": 0.004}}
    unknown = BOARD_MATERIAL.model_copy(update={"density_kg_m3": None})
    assert per_kg(tmp_path, 200.0, flow=flow, material=unknown) == pytest.approx(0.8, rel=1e-12)


def test_what_is_missing_for_a_conversion_is_told(tmp_path):
    bare = Material(key="bare", name="bare")
    refused(lambda: per_kg(tmp_path, material=bare), "per 1 m3", "no gross density", '"b-22" (bare) no density_kg_m3')
    refused(lambda: per_kg(tmp_path, quantity=AREA, of=product(thickness_mm=None)), "no grammage", "no thickness_mm")
    refused(
        lambda: per_kg(tmp_path, quantity=AREA, material=bare, of=product(thickness_mm=None)),
        "no density_kg_m3 and no thickness_mm",
    )
    refused(lambda: per_kg(tmp_path, quantity=LENGTH), "no linear density", "no width_mm")
    refused(lambda: per_kg(tmp_path, quantity=ITEMS), "no weight per piece", "mass_kg")
    alone = read_declaration(write_xml(tmp_path / "alone.xml", process_xml()))
    refused(lambda: for_product(alone, BOARD_MATERIAL, product()), "declared unit is not known", "ZIP archive")


# --- fossil, biogenic, land use


def test_modules_per_kg(tmp_path):
    found = for_product(archive(tmp_path), BOARD_MATERIAL, product())
    assert found.modules == {
        "A1-A3": ModuleCarbon(fossil=0.8, biogenic=-1.6, land_use=0.002),
        "C3": ModuleCarbon(fossil=0.016, biogenic=1.6, land_use=0.0),
    }
    assert (found.key, found.name, found.valid_until, found.region) == (KEY, "a board", date(2029, 12, 31), "RER")
    assert found.fossil_kgco2e_kg == pytest.approx(0.802) and found.biogenic_kgco2e_kg == -1.6


@pytest.mark.parametrize("missing", [FOSSIL, BIOGENIC, LAND_USE, TOTAL])
def test_one_part_that_is_missing_is_the_rest_of_the_total(tmp_path, missing):
    values = {method: amounts for method, amounts in BOARD.items() if method != missing}
    found = for_product(archive(tmp_path, values), BOARD_MATERIAL, product()).modules["A1-A3"]
    assert (found.fossil, found.biogenic, found.land_use) == pytest.approx((0.8, -1.6, 0.002), rel=1e-12)


def test_land_use_may_be_left_out(tmp_path):
    values = {FOSSIL: {"A1-A3": 200.0}, BIOGENIC: {"A1-A3": -400.0}}
    assert for_product(archive(tmp_path, values), BOARD_MATERIAL, product()).modules["A1-A3"].land_use == 0


@pytest.mark.parametrize("present", [FOSSIL, BIOGENIC])
def test_one_part_alone_is_refused(tmp_path, present):
    found = archive(tmp_path, {present: {"A1-A3": -1.0}})
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), "A1-A3", "missing; expected fossil and biogenic")


@pytest.mark.parametrize("method", [GWP_A1, TOTAL])
def test_a_total_alone_is_split_by_the_stated_carbon(tmp_path, method):
    """108 kg of biogenic carbon hold 396 kg CO2 (exact): of a total of -196, 200 are fossil."""
    values = {method: {"A1-A3": -196.0, "A4": 5.0, "C1": 1.0, "C2": 2.0, "C3": 400.0, "C4": 1.0, "D": -90.0}}
    found = archive(tmp_path, values, flow={"others": {CARBON: 108}})
    assert pytest.approx(396, rel=1e-12) == CO2_PER_CARBON * 108
    declaration = for_product(found, BOARD_MATERIAL, product())
    stage = declaration.modules["A1-A3"]
    assert (stage.fossil, stage.biogenic) == pytest.approx((200 / 250, -396 / 250), rel=1e-12)
    assert declaration.modules["C2"] == ModuleCarbon(fossil=2 / 250)
    # how much of these is biogenic is not known
    assert left_out(found) == ("C3", "C4", "D") and not {"C3", "C4", "D"} & set(declaration.modules)


def test_a_total_alone_without_the_carbon_content_is_refused(tmp_path):
    found = archive(tmp_path, {GWP_A1: {"A1-A3": -196.0}})
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), KEY, "A1-A3", "biogenic carbon content")
    mineral = archive(tmp_path, {GWP_A1: {"A1-A3": 196.0}}, flow={"others": {CARBON: 0}})
    assert for_product(mineral, BOARD_MATERIAL, product()).modules["A1-A3"] == ModuleCarbon(fossil=196 / 250)


def test_a_total_that_contradicts_its_parts_is_refused(tmp_path):
    found = archive(tmp_path, BOARD | {TOTAL: {"A1-A3": 199.5, "C3": 404.0}})
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), "A1-A3", "GWP-total 199.5", "expected -199.5")
    rounded = archive(tmp_path, BOARD | {TOTAL: {"A1-A3": -200.0, "C3": 404.0}})
    assert for_product(rounded, BOARD_MATERIAL, product()).fossil_kgco2e_kg == pytest.approx(0.802)


@pytest.mark.parametrize(
    ("fossil", "biogenic", "words"),
    [
        (-0.01, 0.0, ("GWP-fossil -0.01", "expected 0 to 20")),
        (20.5, 0.0, ("GWP-fossil 20.5", "expected 0 to 20")),
        (0.8, -1.9, ("GWP-biogenic -1.9", "expected -1.84 to 0.05")),
        (0.8, 0.1, ("GWP-biogenic 0.1", "expected -1.84 to 0.05")),
    ],
)
def test_values_that_no_product_has_are_refused(tmp_path, fossil, biogenic, words):
    found = archive(tmp_path, {FOSSIL: {"A1-A3": fossil}, BIOGENIC: {"A1-A3": biogenic}}, quantity=MASS)
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), "A1-A3", *words, "1 kg taken as 1 kg")
    in_range = archive(tmp_path, {FOSSIL: {"A1-A3": 20.0}, BIOGENIC: {"A1-A3": 0.004}}, quantity=MASS)
    assert for_product(in_range, BOARD_MATERIAL, product()).biogenic_kgco2e_kg == 0.004


def test_later_modules_have_a_range_too(tmp_path):
    found = archive(tmp_path, {FOSSIL: {"A1-A3": 1.0, "D": -21.0}, BIOGENIC: {"A1-A3": 0, "D": 0}}, quantity=MASS)
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), "D: GWP-fossil -21", "expected -20 to 20")


@pytest.mark.parametrize(
    "flow", [{"material": {"gross density": 900}}, {"others": {MASS: 900}}, {"material": {"gross density": 60}}]
)
def test_a_declaration_of_something_else_shows_in_its_density(tmp_path, flow):
    found = archive(tmp_path, flow=flow)
    refused(lambda: for_product(found, BOARD_MATERIAL, product()), "expected 125 to 450 kg/m3", "wood-fibre-board: 250")


# --- biogenic carbon: in and out


def test_biogenic_carbon_balances_over_a_to_c(tmp_path):
    """EN 15804+A2 and EN 15978: taken up as -1 in A1-A3, given off as +1 in C3 and C4; D stays apart (exact)."""
    values = {
        FOSSIL: {"A1-A3": 45.0, "C3": 5.0, "C4": 1.0, "D": -300.0},
        BIOGENIC: {"A1-A3": -818.45, "C3": 800.0, "C4": 18.45, "D": -7.0},
    }
    timber = CATALOGUE.get("softwood-c24")
    stud = product(material="softwood-c24", thickness_mm=145, width_mm=45, unit="m")
    found = for_product(archive(tmp_path, values, flow={"others": {MASS: 500}}), timber, stud)
    assert biogenic_balance(found) == pytest.approx(0.0, abs=1e-12) and balances(found)


def test_the_uptake_declared_for_wood_is_that_of_en_16449(tmp_path):
    """EN 16449: 1 m3 at 500 kg/m3 and 12 % holds 818.45 kg CO2, 1.637 kg/kg, which is 223.2 kg of carbon (exact)."""
    carbon = 0.5 * 500 / 1.12
    values = {GWP_A1: {"A1-A3": 45.0 - 44 / 12 * carbon}}
    stud = product(material="softwood-c24", thickness_mm=145, width_mm=45, unit="m")
    flow = {"others": {MASS: 500, CARBON: carbon}}
    found = for_product(archive(tmp_path, values, flow=flow), CATALOGUE.get("softwood-c24"), stud)
    assert -500 * found.biogenic_kgco2e_kg == pytest.approx(818.45, abs=0.005)
    assert -500 * found.biogenic_kgco2e_kg == pytest.approx(biogenic_carbon(500, 12), rel=1e-12)
    assert -found.biogenic_kgco2e_kg == pytest.approx(1.637, abs=0.0005)
    assert found.fossil_kgco2e_kg == pytest.approx(45 / 500, rel=1e-9)


def test_carbon_that_does_not_come_out_again(tmp_path):
    lost = BOARD | {BIOGENIC: {"A1-A3": -400.0, "C3": 200.0}, TOTAL: {}}
    found = for_product(archive(tmp_path, lost), BOARD_MATERIAL, product())
    assert biogenic_balance(found) == pytest.approx(-0.8) and not balances(found)
    stage_alone = Declaration.of_product_stage("k", 0.5, -1.6, "a list")
    assert biogenic_balance(stage_alone) is None and balances(stage_alone)
