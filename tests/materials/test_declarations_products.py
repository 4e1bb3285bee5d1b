"""Declarations beside a brief: which products they belong to, the basis shown to people, and the demo's own."""

from __future__ import annotations

from datetime import date

import pytest
from declaration_files import (
    AREA,
    BIOGENIC,
    BOARD,
    FOSSIL,
    KEY,
    LAND_USE,
    TOTAL,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_xml,
    write_zip,
)
from declared_products import BOARD_MATERIAL, CATALOGUE, product, read_declaration, refused

from materials.declared.declarations import biogenic_balance, carbon_basis, demo_declarations, load_declarations
from materials.models import Declaration, Material, as_sold
from materials.wood_carbon import CO2_PER_CARBON

TODAY = date(2026, 6, 1)


def load(tmp_path, names, products, **how):
    return load_declarations(names, tmp_path, products, CATALOGUE, **({"on": TODAY} | how))[:3]


def board_file(tmp_path, name="board-declared.zip", **process):
    return write_zip(tmp_path / name, process_xml(**process), flow_xml()).name


@pytest.mark.parametrize("key", [KEY, KEY.upper(), "board-declared", "Board-Declared"])
def test_products_by_uuid_or_by_the_name_of_the_file(tmp_path, key):
    name = board_file(tmp_path)
    listed = [
        product(declaration_key=key),
        product(key="other"),
        product(key="b-60", thickness_mm=60, declaration_key=key),
    ]
    products, notes, digests = load(tmp_path, [name], listed)
    assert [each.key for each in products] == ["b-22", "other", "b-60"]
    assert [each.declaration and each.declaration.key for each in products] == [KEY, None, KEY]
    assert notes == () and len(digests[name]) == 64
    assert as_sold(BOARD_MATERIAL, products[0]).fossil_kgco2e_kg == pytest.approx(0.802)


def test_a_declaration_goes_before_the_values_of_the_list(tmp_path):
    listed = product(declaration_key=KEY, declaration=Declaration.of_product_stage("k", 0.5, -1.6, "a list"))
    products, _, _ = load(tmp_path, [board_file(tmp_path)], [listed])
    assert products[0].declaration.fossil_kgco2e_kg == pytest.approx(0.802)


def test_a_declaration_that_is_in_no_file_is_noted(tmp_path):
    name = board_file(tmp_path)
    many = [product(key=f"b-{i}", declaration_key="board-declred") for i in range(7)]
    products, notes, _ = load(tmp_path, [name], many)
    assert products == many
    assert len(notes) == 2
    assert 'declaration "board-declred" is in no file (nearest: "board-declared")' in notes[0]
    assert "b-0, b-1, b-2, b-3, b-4 and 2 more keep the generic values" in notes[0]
    assert notes[1] == f"{name}: no product names this declaration"
    listed = product(declaration_key="gone", declaration=Declaration.of_product_stage("k", 0.5, -1.6, "a list"))
    products, notes, _ = load(tmp_path, [], [listed])
    assert products == [listed] and "b-22 keeps the values of the price list" in notes[0]


def test_a_lapsed_declaration_is_used_only_when_allowed(tmp_path):
    name = board_file(tmp_path, until="2025")
    listed = [product(declaration_key=KEY)]
    products, notes, _ = load(tmp_path, [name], listed)
    assert products == listed
    assert notes == ('declaration "a board" lapsed on 2025-12-31: b-22 keeps the generic values',)
    products, notes, _ = load(tmp_path, [name], listed, allow_lapsed=True)
    assert products[0].declaration.valid_until == date(2025, 12, 31)
    assert notes == ('declaration "a board" lapsed on 2025-12-31 and is used all the same',)
    products, notes, _ = load(tmp_path, [name], listed, on=date(2025, 12, 31))
    assert products[0].declaration is not None and notes == ()


def test_what_is_left_out_or_does_not_balance_is_noted(tmp_path):
    values = BOARD | {BIOGENIC: {"A1-A3": -400.0, "C3": 100.0}, TOTAL: {"D": -5.0}}
    name = write_zip(tmp_path / "odd.zip", process_xml(values), flow_xml()).name
    _, notes, _ = load(tmp_path, [name], [product(declaration_key="odd")])
    assert "D state a total alone and are left out" in notes[0]
    assert "does not balance, -1.2 kg CO2 per kg are left over" in notes[1]


def test_one_declaration_per_m2_for_several_thicknesses_is_noted(tmp_path):
    listed = [product(declaration_key="board"), product(key="b-60", thickness_mm=60, declaration_key="board")]
    values = {FOSSIL: {"A1-A3": 4.4}, BIOGENIC: {"A1-A3": 0.0}}
    write_zip(tmp_path / "board.zip", process_xml(values), flow_xml(AREA))
    _, notes, _ = load(tmp_path, ["board.zip"], listed)
    assert len(notes) == 1
    assert "per 1 m2 without a size of its own, taken for the size of each of b-22, b-60" in notes[0]
    write_zip(tmp_path / "board.zip", process_xml(values), flow_xml(AREA, material={"grammage": 5.5}))
    products, notes, _ = load(tmp_path, ["board.zip"], listed)
    assert notes == () and products[1].declaration.fossil_kgco2e_kg == pytest.approx(0.8)


def test_the_same_declaration_twice_is_refused(tmp_path):
    name, again = board_file(tmp_path), board_file(tmp_path, "again.zip")
    refused(lambda: load(tmp_path, [name, again], []), again, KEY, name, "expected one")
    refused(lambda: load(tmp_path, [name, name], []), "named twice")
    (tmp_path / "sub").mkdir()
    same_stem = write_zip(tmp_path / "sub" / "board-declared.zip", process_xml(key=KEY.replace("1", "2")), flow_xml())
    refused(lambda: load(tmp_path, [name, f"sub/{same_stem.name}"], []), '"board-declared"', "expected one")


def test_every_file_and_every_product_that_fails_is_told(tmp_path):
    (tmp_path / "broken.json").write_text("{")
    refused(lambda: load(tmp_path, ["broken.json", "none.xml"], []), "broken.json: line 1", "none.xml: no such file")
    listed = [product(key="a", declaration_key="alone"), product(key="b", declaration_key="alone")]
    write_xml(tmp_path / "alone.xml", process_xml())
    refused(lambda: load(tmp_path, ["alone.xml"], listed), "a: declaration", "b: declaration", "declared unit")


def test_scenarios_are_named_for_all_files_together(tmp_path):
    values = BOARD | {FOSSIL: {"A1-A3": 200.0, ("C3", "burning"): 4.0, ("C3", "reuse"): 1.0}, TOTAL: {}}
    values[BIOGENIC] = {"A1-A3": -400.0, ("C3", "burning"): 400.0, ("C3", "reuse"): 400.0}
    values[LAND_USE] = {}
    write_zip(tmp_path / "two.zip", process_xml(values), flow_xml())
    other = write_json(tmp_path / "one.json", process_json(key=KEY.replace("1", "2")))
    listed = [product(declaration_key="two"), product(key="other", declaration_key="one")]
    names = ["two.zip", other.name]
    refused(lambda: load(tmp_path, names, listed), "module C3", '"burning", "reuse"')
    products, _, _ = load(tmp_path, names, listed, scenario="reuse")
    assert products[0].declaration.modules["C3"].fossil == pytest.approx(1 / 250)
    assert products[1].declaration.modules["C3"].fossil == pytest.approx(4 / 250)
    refused(lambda: load(tmp_path, names, listed, scenario="resue"), 'scenario "resue"', 'nearest: "reuse"')


def test_an_archive_of_several_is_matched_by_uuid(tmp_path):
    other = KEY.replace("1", "2")
    name = write_zip(tmp_path / "both.zip", process_xml(), process_xml(key=other), flow_xml()).name
    listed = [product(declaration_key=other), product(key="stem", declaration_key="both")]
    products, notes, _ = load(tmp_path, [name], listed)
    assert products[0].declaration.key == other and products[1].declaration is None
    assert 'declaration "both" is in no file' in notes[0]


# --- the basis shown to people


def test_a_declared_value_stands_without_a_range(tmp_path):
    products, _, _ = load(tmp_path, [board_file(tmp_path)], [product(declaration_key=KEY)])
    basis = carbon_basis(as_sold(BOARD_MATERIAL, products[0]))
    assert (basis.kind, basis.valid_until, basis.region) == ("declared", date(2029, 12, 31), "RER")
    assert basis.low == basis.typical == basis.high == pytest.approx(0.802)
    assert basis.words == "declared 0.802 kg CO2e/kg (a board: declaration to EN 15804+A2, RER, valid until 2029-12-31)"


def test_a_generic_value_shows_its_range_and_source():
    basis = carbon_basis(BOARD_MATERIAL)
    assert (basis.kind, basis.low, basis.typical, basis.high) == ("generic", 0.4, 0.72, 1.0)
    assert basis.words.startswith("generic 0.72 kg CO2e/kg, 0.4 to 1 (Generic A1-A3 values")


def test_what_nobody_knows_is_said():
    basis = carbon_basis(Material(key="own", name="own"))
    assert basis.kind == "unknown" and basis.typical is None and basis.words.startswith("unknown")
    own = carbon_basis(Material(key="own", name="own", fossil_kgco2e_kg=0.3))
    assert own.words == "generic 0.3 kg CO2e/kg, 0.3 to 0.3 (stated in the build-up file)"


# --- the demo's own

DEMO = {
    "wood-fibre-board-declared.zip": ("m3", "wood-fibre-board", {"thickness_mm": 35}),
    "blown-cellulose-declared.json": ("kg", "blown-cellulose", {"thickness_mm": None, "unit": "kg"}),
    "airtight-paper-declared.zip": ("m2", "airtight-paper", {"thickness_mm": None}),
    "batten-45x60-declared.json": ("m", "softwood-batten", {"thickness_mm": 60, "width_mm": 45, "unit": "m"}),
    "screws-declared.json": ("piece", "steel-screws", {"thickness_mm": None, "unit": "kg"}),
}


def test_the_demo_has_a_declaration_per_kind_of_unit():
    assert demo_declarations() == sorted(f"demo:{name}" for name in DEMO)
    assert {unit for unit, _, _ in DEMO.values()} == {"kg", "m3", "m2", "m", "piece"}


@pytest.mark.parametrize("name", DEMO)
def test_a_declaration_of_the_demo(name):
    _, key, size = DEMO[name]
    material = CATALOGUE.get(key)
    stem = name.rsplit(".", 1)[0]
    listed = product(key="p", material=key, declaration_key=stem, **size)
    products, notes, *_ = load_declarations([f"demo:{name}"], ".", [listed], CATALOGUE, on=date(2026, 1, 1))
    declaration = products[0].declaration
    assert notes == ()
    assert "invented for the demo" in declaration.name
    # within the range of its material, and what is taken up comes out again
    assert material.fossil_low_kgco2e_kg <= declaration.fossil_kgco2e_kg <= material.fossil_high_kgco2e_kg
    assert declaration.biogenic_kgco2e_kg == pytest.approx(material.biogenic_kgco2e_kg, rel=0.03)
    assert biogenic_balance(declaration) == pytest.approx(0.0, abs=1e-12)
    assert {"C1", "C2", "C3", "C4", "D"} <= set(declaration.modules)


def test_the_demo_states_its_unit_and_carbon(tmp_path):
    from importlib import resources

    folder = resources.files("materials") / "data" / "demo"
    for name, (unit, _, _) in DEMO.items():
        with resources.as_file(folder / name) as path:
            found = read_declaration(path)
        stored = -found.modules["A1-A3"].biogenic
        assert found.unit.words == f"1 {unit}" and found.comment.startswith("Invented for the demo")
        assert CO2_PER_CARBON * found.unit.biogenic_carbon_kg == pytest.approx(stored, rel=2e-3)


def test_an_unknown_name_of_the_demo():
    def call():
        load_declarations(["demo:screws-declard.json"], ".", [], CATALOGUE, on=TODAY)

    refused(call, "not among those of the demo", 'nearest: "demo:screws-declared.json"')
