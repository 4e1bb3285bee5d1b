"""`wallfront catalogue`, and `wallfront prices` on a declaration: the keys and the figures that a brief can name."""

import json
from datetime import date
from importlib import resources

import pytest
import toy_space as small
from called import told_once

from materials.catalogue import load_catalogue


def test_all_materials_are_listed_each_with_its_figures(wallfront):
    found = wallfront("catalogue")
    assert found.code == 0
    keys = [line.split()[0] for line in found.out.splitlines() if line.startswith("  ")]
    assert sorted(keys) == sorted(load_catalogue().materials)
    (line,) = [each for each in found.out.splitlines() if each.startswith("  softwood-c24 ")]
    assert line.split()[1:4] == ["0.13", "50", "420"] and "en-338" in line


@pytest.mark.parametrize("word, key", [("OSB", "osb"), ("Service Zone", "hemp-batt"), ("LOOSE", "blown-cellulose")])
def test_a_word_finds_by_key_use_and_kind_in_any_case(wallfront, word, key):
    found = json.loads(wallfront("catalogue", word, "--json").out)
    keys = [each["key"] for each in found["materials"]]
    assert key in keys and "pe-membrane" not in keys


def test_one_material_is_told_number_by_number_with_the_source_of_each(wallfront):
    out = wallfront("catalogue", "larch-cladding").out
    (line,) = [each for each in out.splitlines() if "conductivity_w_mk" in each]
    assert "0.155" in line and "from memory" in line


def test_a_brief_adds_the_products_of_its_lists_the_lapsed_ones_marked(wallfront, tmp_path):
    rows = [row + (",2020-12-31" if row.startswith("o-9") else ",") for row in small.PRODUCTS]
    brief = small.write_brief(tmp_path)
    (tmp_path / "toy.csv").write_text("\n".join([small.COLUMNS + ",valid_until", *rows]) + "\n", encoding="utf-8")
    lines = wallfront("catalogue", "osb", "--brief", brief).out.splitlines()
    assert any(line.startswith("o-9 ") and "price lapsed 2020-12-31" in line for line in lines)
    assert any(line.startswith("o-12 ") and "lapsed" not in line for line in lines)
    assert not any(line.startswith("t-145") for line in lines)
    found = json.loads(wallfront("catalogue", "osb", "--brief", brief, "--json").out)
    assert {each["key"]: each["lapsed"] for each in found["products"]} == {"o-9": True, "o-12": False}


def test_what_is_not_found_names_the_nearest_and_the_answer_is_no(wallfront, tmp_path):
    found = wallfront("catalogue", "plywod")
    assert (found.code, found.out) == (1, "")
    assert '"plywod" is not in the catalogue (nearest: "plywood")' in found.err
    found = wallfront("catalogue", "plywod", "--json")
    assert found.code == 1 and json.loads(found.out)["materials"] == []
    assert "absent.toml" in told_once(wallfront("catalogue", "--brief", tmp_path / "absent.toml"))


def test_a_declaration_says_what_it_states(wallfront):
    path = resources.files("materials") / "data" / "demo" / "wood-fibre-board-declared.zip"
    found = wallfront("prices", path)
    assert found.code == 0 and "1 declaration, 0 faults" in found.out
    assert "per 1 m3, which weighs 240 kg; valid until 2029-12-31; region RER" in found.out
    assert any(line.split()[:3] == ["A1-A3", "0.550", "-1.605"] for line in found.out.splitlines())
    (told,) = json.loads(wallfront("prices", path, "--json").out)["declarations"]
    assert told["per"] == "kg" and told["lapsed"] is (date.today() > date(2029, 12, 31))
    assert told["carbon"]["A1-A3"]["fossil"] == pytest.approx(0.55, abs=1e-3)


def test_a_faulty_declaration_is_told_with_its_place_and_one_that_is_none_cannot_be_used(wallfront, tmp_path):
    text = (resources.files("materials") / "data" / "demo" / "screws-declared.json").read_text(encoding="utf-8")
    (tmp_path / "screws.json").write_text(text.replace('"A1-A3"', '"A4"'), encoding="utf-8")
    found = wallfront("prices", tmp_path / "screws.json")
    assert found.code == 1 and "0 declarations, 1 fault" in found.out and "A1-A3" in found.out
    (tmp_path / "torn.json").write_text(text[:400], encoding="utf-8")
    assert "torn.json" in told_once(wallfront("prices", tmp_path / "torn.json"))
    assert "--export" in told_once(wallfront("prices", tmp_path / "screws.json", "--export", tmp_path / "out.csv"))
