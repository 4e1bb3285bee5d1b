"""Materials of a brief's own: searched, verified, proved, compared, handed over, and read back wherever a wall is."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import own_materials as own
import pytest
import tomli_w
from called import told_once

from dashboard.workspace import Workspace
from optimiser.brief.brief import brief_to_toml, read_brief
from optimiser.search.study import open_study


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return own.own_brief(tmp_path_factory.mktemp("own")).parent


@pytest.fixture
def study(folder, wallfront) -> Path:
    place = folder / "study"
    if not place.exists():
        found = wallfront("search", folder / "brief.toml", "--out", place)
        assert found.code == 0, found.err
    return place


def test_they_are_searched_and_the_study_keeps_them(study, wallfront, folder):
    rows = open_study(study).rows
    assert {row["airtight layer"] for row in rows} == {"om-1"}
    assert {row["outer fill"] for row in rows} & {"of-1", "of-2"}
    kept = tomllib.loads((study / "brief.toml").read_text())["materials"]
    assert kept == own.MATERIALS
    built = tomllib.loads((study / "buildups" / f"{rows[0]['id']}.toml").read_text())["materials"]
    assert built["own-membrane"]["sd_m_humid"] == 0.35
    assert wallfront("verify", study).code == 0
    alone = wallfront("check", study / "buildups" / f"{rows[0]['id']}.toml", "--json")
    assert json.loads(alone.out)["heat"]["u_value"] == pytest.approx(rows[0]["u_value"], rel=1e-7)


def test_they_are_proved_compared_handed_over_and_shown(study, wallfront, tmp_path, monkeypatch):
    assert wallfront("prove", study, "--json").code == 0
    rows = open_study(study).rows
    assert all(row["u_numeric"] for row in rows)
    wall = rows[0]["id"]
    swapped = wallfront("suppliers", study, "--wall", wall, "--json")
    assert swapped.code == 0 and "of-" in swapped.out
    found = wallfront("handover", study, "--pick", wall, "--out", tmp_path / "out", "--only", "calculation")
    assert found.code == 0 and "own membrane" in (tmp_path / "out" / "calculation.html").read_text()
    space = Workspace(study, tmp_path / "runs")
    text = (study / "buildups" / f"{wall}.toml").read_text()
    assert space.own_wall(text, "mine", None).as_json() == space.wall(None, wall).as_json()
    assert "om-1" in {option.key for slot in space.slots(None) for option in slot.options}
    assert space.lists(None)[0].keys >= {"om-1", "of-1"}
    listed = ("list.csv", "\n".join([own.small.COLUMNS, *own.ROWS]).encode())
    keys, said = space.uploads.take([listed], own=space.own_materials())
    assert not said and space.uploads.get(keys[0]).good


def test_a_wall_of_ones_own_names_them(folder, wallfront, tmp_path):
    layers = [
        {"role": "outer frame", "material": "own-fill", "thickness_mm": 195, "product": "of-1"},
        {"role": "airtight layer", "material": "own-membrane", "thickness_mm": 0, "product": "om-1"},
    ]
    layers[0]["frame"] = {"material": "softwood-c24", "width_mm": 45, "spacing_mm": 600}
    path = tmp_path / "mine.toml"
    path.write_text(tomli_w.dumps({"name": "mine", "outside": "vented", "layer": layers}))
    assert 'material "own-fill" is neither in the catalogue' in told_once(wallfront("check", path))
    told = json.loads(wallfront("check", path, "--brief", folder / "brief.toml", "--json").out)
    assert told["layers"][1]["cost_per_m2"] == pytest.approx(1.20) and "own membrane" in told["layers"][1]["text"]
    layers[0]["product"] = "of-2"
    path.write_text(tomli_w.dumps({"name": "mine", "outside": "vented", "layer": layers}))
    other = json.loads(wallfront("check", path, "--brief", folder / "brief.toml", "--json").out)
    assert other["heat"]["u_value"] > told["heat"]["u_value"]  # 0.036 of the material, 0.035 of the product


def test_the_brief_reads_back_as_it_was(folder, tmp_path):
    brief = read_brief(folder / "brief.toml")
    (tmp_path / "again.toml").write_text(brief_to_toml(brief))
    assert read_brief(tmp_path / "again.toml") == brief


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"kind": "membrane", "sd_m": 3.0}, "[materials.mine]: uses is missing"),
        ({"uses": ["airtight layer"], "sd_m": 3.0}, "[materials.mine]: kind is missing"),
        ({"like": "blown-celulose"}, 'nearest: "blown-cellulose"'),
        ({"like": "blown-cellulose", "vapour_my": 2}, "vapour_my: unknown key"),
        ({"like": "variable-membrane", "sd_m_dry": -1.0}, "sd_m_dry"),
        ({"like": "osb", "uses": ["sheating"]}, 'nearest: "sheathing"'),
    ],
)
def test_a_faulty_one_is_refused(table, words, tmp_path, wallfront):
    path = own.own_brief(tmp_path, materials={"mine": table})
    message = told_once(wallfront("search", path, "--out", tmp_path / "study"))
    assert "brief.toml" in message and words in message


def test_a_name_that_cannot_be_one_is_refused(tmp_path, wallfront):
    path = own.own_brief(tmp_path, materials={"air": {"like": "osb"}})
    assert "[materials.air]" in told_once(wallfront("search", path, "--out", tmp_path / "study"))


def test_a_list_of_them_is_read_with_their_brief(folder, wallfront, tmp_path):
    listed = tmp_path / "list.csv"
    listed.write_text("\n".join([own.small.COLUMNS, *own.ROWS]), encoding="utf-8")
    alone = wallfront("prices", listed)
    assert alone.code == 1 and "a material of the catalogue" in alone.out + alone.err
    assert wallfront("prices", listed, "--brief", folder / "brief.toml").code == 0
