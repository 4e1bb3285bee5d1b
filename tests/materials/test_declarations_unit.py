"""Declarations: the declared unit, its amount, and what the flow says of it."""

from __future__ import annotations

import pytest
from declaration_files import (
    AREA,
    CARBON,
    ENERGY,
    FLOW_KEY,
    ITEMS,
    LENGTH,
    MASS,
    VOLUME,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_zip,
)
from declared_products import archive, read_declaration, refused


@pytest.mark.parametrize(
    ("quantity", "unit"), [(MASS, "kg"), (VOLUME, "m3"), (AREA, "m2"), (LENGTH, "m"), (ITEMS, "piece")]
)
def test_declared_units(tmp_path, quantity, unit):
    found = archive(tmp_path, quantity=quantity, amount=2.0, mean_amount="3")
    assert (found.unit.unit, found.unit.amount) == (unit, 6)
    root = process_json(quantity=quantity, amount=2.0, meanAmount=3)
    assert read_declaration(write_json(tmp_path / "a.json", root)).unit == found.unit


def test_every_quantity_of_the_flow_scales_with_the_amount(tmp_path):
    found = archive(tmp_path, mean_amount="2", flow={"others": {MASS: 250, CARBON: 100}})
    assert (found.unit.amount, found.unit.mass_kg, found.unit.biogenic_carbon_kg) == (2, 500, 200)


def test_an_empty_amount_of_the_reference_flow_falls_back_to_the_resulting_one(tmp_path):
    assert archive(tmp_path, mean_amount="0.0", resulting="3").unit.amount == 3
    refused(lambda: archive(tmp_path, mean_amount="0.0"), "exchange[1]/meanAmount", "above 0")
    root = process_json(meanAmount=0.0, resultingflowAmount=1000)
    assert read_declaration(write_json(tmp_path / "a.json", root)).unit.amount == 1000
    root = process_json(amount=2, resultingflowAmount=1000)
    path = write_json(tmp_path / "a.json", root)
    refused(lambda: read_declaration(path), "1000 declared units; expected 2")


@pytest.mark.parametrize("value", ["0", "-1", "", "one", "NaN", "inf", "1e400", "1,5"])
def test_a_unit_without_a_size_is_refused(tmp_path, value):
    refused(lambda: archive(tmp_path, amount=value), "flowProperty[1]/meanValue", "expected a number")


def test_other_declared_units_are_refused(tmp_path):
    refused(lambda: archive(tmp_path, quantity=ENERGY), "expected mass, volume, area, length or number of items")
    refused(lambda: archive(tmp_path, quantity=CARBON), "expected mass, volume, area, length or number of items")


def test_units_of_the_json_are_checked(tmp_path):
    for spelt in ("m3", "m^3", "m³", "cbm"):
        root = process_json()
        root["exchanges"]["exchange"][0]["flowProperties"][0]["referenceUnit"] = spelt
        assert read_declaration(write_json(tmp_path / "a.json", root)).unit.unit == "m3"
    root["exchanges"]["exchange"][0]["flowProperties"][0]["referenceUnit"] = "l"
    refused(lambda: read_declaration(write_json(tmp_path / "a.json", root)), "flowProperties[1]/referenceUnit", "'l'")


def test_material_properties_in_another_unit_are_refused(tmp_path):
    thick = {"material": {"layer thickness": 22}, "units": {"layer thickness": "mm"}}
    refused(lambda: archive(tmp_path, flow=thick), "layer thickness in 'mm'; expected m")
    assert archive(tmp_path, flow={"material": {"gross density": "0", "grammage": ""}}).unit.gross_density_kg_m3 is None
    refused(lambda: archive(tmp_path, flow={"material": {"grammage": -3}}), "grammage -3", "above 0")


def test_of_two_editions_of_the_flow_the_one_referred_to_is_read(tmp_path):
    asked = process_xml().replace(f'refObjectId="{FLOW_KEY}"', f'refObjectId="{FLOW_KEY}" version="00.02.000"')
    old, new = flow_xml(VOLUME), flow_xml(AREA, version="00.02.000")
    assert read_declaration(write_zip(tmp_path / "a.zip", asked, old, new)).unit.unit == "m2"
    path = write_zip(tmp_path / "b.zip", process_xml(), old, new)
    refused(lambda: read_declaration(path), "flows/2.xml", FLOW_KEY, "expected one")
