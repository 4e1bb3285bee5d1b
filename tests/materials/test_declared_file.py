"""A file of declarations read by itself: per kg by the file alone, or per declared unit where a product must say."""

import json
import zipfile

import pytest
from declaration_files import AREA, BIOGENIC, BOARD, FOSSIL, TOTAL, VOLUME, flow_xml, process_json, process_xml

from materials.declared.declared_file import read_declared
from materials.errors import InputError


def written(folder, values=BOARD, quantity=VOLUME, **how):
    path = folder / "board.json"
    path.write_text(json.dumps(process_json(values, quantity, **how)), encoding="utf-8")
    return path


def test_a_density_in_the_file_makes_its_values_per_kg(tmp_path):
    (stated,) = read_declared(written(tmp_path, material={"gross density": 250})).stated
    assert stated.mass_kg == 250
    assert stated.carbon["A1-A3"].fossil == pytest.approx(200 / 250)
    assert stated.carbon["C3"].biogenic == pytest.approx(400 / 250)


def test_without_any_mass_they_stay_per_declared_unit(tmp_path):
    (stated,) = read_declared(written(tmp_path, quantity=AREA)).stated
    assert stated.mass_kg is None and stated.declared.unit.words == "1 m2"
    assert stated.carbon["A1-A3"].fossil == 200


def test_a_module_of_a_total_alone_is_told_as_not_used(tmp_path):
    values = BOARD | {TOTAL: BOARD[TOTAL] | {"C4": 3.0}}
    (stated,) = read_declared(written(tmp_path, values)).stated
    assert stated.whole == ("C4",) and "C4" not in stated.carbon


def test_a_value_that_no_product_has_and_a_missing_unit_are_faults_with_their_place(tmp_path):
    heavy = read_declared(
        written(tmp_path, {FOSSIL: {"A1-A3": 9e6}, BIOGENIC: {"A1-A3": 0.0}}, material={"gross density": 250})
    )
    assert not heavy.stated and "A1-A3" in heavy.faults[0] and "board.json" in heavy.faults[0]
    path = tmp_path / "alone.xml"
    path.write_text(process_xml(), encoding="utf-8")
    (fault,) = read_declared(path).faults
    assert "declared unit is not known" in fault and "alone.xml" in fault


def test_one_faulty_declaration_of_an_archive_does_not_hide_the_good_one(tmp_path):
    other = "99999999-2222-4333-8444-555555555555"
    path = tmp_path / "two.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("ILCD/processes/one.xml", process_xml())
        archive.writestr("ILCD/processes/two.xml", process_xml({FOSSIL: {"C3": 1.0}}, key=other))
        archive.writestr("ILCD/flows/flow.xml", flow_xml())
    read = read_declared(path)
    assert [each.declared.name for each in read.stated] == ["a board"]
    assert len(read.faults) == 1 and "A1-A3" in read.faults[0]


def test_what_is_no_declaration_cannot_be_read(tmp_path):
    path = tmp_path / "odd.json"
    path.write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match=r"odd\.json"):
        read_declared(path)
