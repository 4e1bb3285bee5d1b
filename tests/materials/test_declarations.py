"""Declarations in ILCD+EPD, whole: XML, JSON and archive, name and validity, and files that are none."""

from __future__ import annotations

from datetime import date

import pytest
from declaration_files import (
    CARBON,
    KEY,
    MASS,
    PACKAGING,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_xml,
    write_zip,
)
from declared_products import archive, read_declaration, refused

from materials.declared.declaration_files import MAX_BYTES
from materials.declared.declarations import DeclaredProduct, DeclaredUnit, ModuleValues, read_declarations


def test_everything_an_archive_states(tmp_path):
    found = archive(
        tmp_path,
        mean_amount="1000.0",
        quantity=MASS,
        flow={
            "others": {CARBON: 0.4, PACKAGING: 0.01},
            "material": {"gross density": 250, "layer thickness": "0.022", "colour": "brown"},
        },
    )
    assert found == DeclaredProduct(
        key=KEY,
        name="a board",
        standard="EN 15804+A2",
        modules={
            "A1-A3": ModuleValues(fossil=200, biogenic=-400, land_use=0.5, total=-199.5),
            "C3": ModuleValues(fossil=4, biogenic=400, land_use=0, total=404),
        },
        valid_until=date(2029, 12, 31),
        reference_year=2024,
        region="RER",
        unit=DeclaredUnit(
            amount=1000,
            unit="kg",
            gross_density_kg_m3=250,
            thickness_m=0.022,
            biogenic_carbon_kg=400,
            packaging_carbon_kg=10,
        ),
    )


def test_json_says_the_same_as_the_archive(tmp_path):
    facts = {"others": {MASS: 250, CARBON: 109.1}, "material": {"gross density": 250}}
    xml = archive(tmp_path, flow=facts)
    assert read_declaration(write_json(tmp_path / "a.json", process_json(**facts))) == xml
    assert xml.unit.mass_kg == 250


def test_a_process_alone_has_no_declared_unit(tmp_path):
    found = read_declaration(write_xml(tmp_path / "a.xml", process_xml()))
    assert found.unit is None and found.modules["A1-A3"].fossil == 200


def test_json_in_an_archive_and_other_data_sets_beside_it(tmp_path):
    path = write_zip(tmp_path / "a.zip", **{"sources__s.xml": "<sourceDataSet/>", "unitgroups__bad.xml": "<<<"})
    write_zip(path, process_xml(), flow_xml(), **{"contact.xml": "<contactDataSet/>", "readme.txt": "hello"})
    assert read_declaration(path).unit.unit == "m3"
    write_zip(path, **{"p.json": write_json(tmp_path / "p.json", process_json()).read_text(), "x.json": "{}"})
    assert read_declaration(path).unit.unit == "m3"


def test_the_english_name_is_preferred_and_any_other_will_do(tmp_path):
    assert archive(tmp_path, names=(("fr", "panneau"), ("en-GB", "a\n  board"))).name == "a board"
    assert archive(tmp_path, names=(("fr", "panneau"),)).name == "panneau"
    refused(lambda: archive(tmp_path, names=(("fr", " "),)), "name/baseName is missing")


@pytest.mark.parametrize(
    ("written", "meant"), [("2029", date(2029, 12, 31)), ("2029-06-30", date(2029, 6, 30)), (None, None)]
)
def test_valid_to_the_end_of_the_year(tmp_path, written, meant):
    found = archive(tmp_path, until=written)
    assert found.valid_until == meant
    assert not found.lapsed(date(2029, 6, 30)) and found.lapsed(date(2030, 1, 1)) == (meant is not None)


@pytest.mark.parametrize("written", ["29", "soon", "0000", "9999", "2029-02-30", "2029.5"])
def test_an_unlikely_year_is_refused(tmp_path, written):
    refused(lambda: archive(tmp_path, until=written), "time/dataSetValidUntil", written, "expected a year")


@pytest.mark.parametrize("key", ["", "42", "../../etc/passwd", KEY + "0"])
def test_a_declaration_needs_its_uuid(tmp_path, key):
    refused(lambda: archive(tmp_path, key=key), "dataSetInformation/UUID", "UUID")


def test_an_archive_of_several_declarations(tmp_path):
    other = "99999999-2222-4333-8444-555555555555"
    path = write_zip(tmp_path / "a.zip", process_xml(), process_xml(key=other), flow_xml())
    assert [each.key for each in read_declarations(path)] == [KEY, other]


def test_files_that_are_no_declaration(tmp_path):
    refused(lambda: read_declaration(tmp_path / "none.xml"), "no such file")
    refused(lambda: read_declaration(tmp_path / "none.pdf"), "expected a declaration ending in .xml, .json or .zip")
    (tmp_path / "folder.zip").mkdir()
    refused(lambda: read_declaration(tmp_path / "folder.zip"), "is a folder")
    refused(lambda: read_declaration(write_xml(tmp_path / "a.xml", "<html/>")), "expected a process data set")
    refused(lambda: read_declaration(write_xml(tmp_path / "a.xml", flow_xml())), "no process data set")
    refused(lambda: read_declaration(write_json(tmp_path / "a.json", {})), "dataSetInformation/UUID is missing")
    large = tmp_path / "large.json"
    with large.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    refused(lambda: read_declaration(large), "expected at most 20 MB")
