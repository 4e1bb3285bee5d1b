"""`wallfront handover` and `wallfront prove` of a build-up file: a wall of one's own, held to a brief."""

from __future__ import annotations

import json
from pathlib import Path

import own_materials as own
import pytest
from called import told_once

from optimiser.handover.documents import DOCUMENTS
from optimiser.search.study import open_study


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return own.own_brief(tmp_path_factory.mktemp("own")).parent


@pytest.fixture
def mine(folder, wallfront) -> Path:
    """The thinnest wall of the front as a file of one's own, without what the brief says."""
    place = folder / "mine wall.toml"
    if not place.exists():
        assert wallfront("search", folder / "brief.toml", "--out", folder / "study").code == 0
        text = (folder / "study" / "buildups" / "W-001.toml").read_text()
        place.write_text(
            "\n[".join(part for part in text.split("\n[") if part.split("]")[0] not in ("conditions", "loads"))
        )
    return place


def test_one_wall_is_handed_over_as_the_front_hands_it_over(mine, folder, wallfront, tmp_path):
    found = wallfront("handover", mine, "--brief", folder / "brief.toml", "--out", tmp_path / "own")
    assert found.code == 0, found.err
    assert wallfront("handover", folder / "study", "--pick", "W-001", "--out", tmp_path / "front").code == 0
    names = {each.name for each in (tmp_path / "front").iterdir()}
    assert {each.name for each in (tmp_path / "own").iterdir()} == names - {"W-001.toml"} | {"mine-wall.toml"}
    for name in ("filling-sheet.csv", *(each for each in names if each.startswith("order") and each.endswith(".csv"))):
        sheets = [(tmp_path / each / name).read_text() for each in ("own", "front")]
        assert sheets[0].replace("mine-wall", "W-001") == sheets[1]
    again = wallfront("check", tmp_path / "own" / "mine-wall.toml", "--json")  # by itself: all is in the file
    row = open_study(folder / "study").row("W-001")
    assert json.loads(again.out)["heat"]["u_value"] == pytest.approx(row["u_value"], rel=1e-7)
    assert json.loads(again.out)["strength"]["passes"] is not None


def test_one_wall_is_proved_against_the_target(mine, folder, wallfront):
    assert wallfront("prove", folder / "study", "--json").code == 0
    row = open_study(folder / "study").row("W-001")
    found = wallfront("prove", mine, "--brief", folder / "brief.toml", "--json")
    told = json.loads(found.out)
    assert told["numeric"]["u_value"] == pytest.approx(row["u_numeric"], rel=1e-6)
    assert told["meets_target"] is (told["numeric"]["u_value"] < 0.12) is (found.code == 0)
    tight = folder / "tight.toml"
    tight.write_text((folder / "brief.toml").read_text().replace("u_value = 0.12", "u_value = 0.05"))
    missed = wallfront("prove", mine, "--brief", tight)
    assert missed.code == 1 and "misses the target of 0.05 W/m2K" in missed.out
    plain = folder / "plain.toml"
    plain.write_text(
        'name = "plain"\noutside = "exposed"\n[[layer]]\nrole = "sheathing"\nmaterial = "osb"\nthickness_mm = 100\n'
    )
    assert "held to no target" in wallfront("prove", plain).out


def test_what_is_missing_is_told(mine, folder, wallfront, tmp_path):
    assert "expected --brief BRIEF.toml" in told_once(wallfront("handover", mine, "--out", tmp_path))
    brief = ("--brief", folder / "brief.toml")
    assert "--pick goes with a study" in told_once(
        wallfront("handover", mine, *brief, "--pick", "W-1", "--out", tmp_path)
    )
    assert "expected --pick ID" in told_once(wallfront("handover", folder / "study", "--out", tmp_path))
    assert "has its own brief" in told_once(wallfront("prove", folder / "study", *brief))
    none = told_once(wallfront("handover", mine, *brief, "--out", tmp_path, "--only", "plans"))
    assert 'document "plans" is none' in none and "drawing" in DOCUMENTS
    beside = folder / "wall.toml"
    beside.write_text(mine.read_text())
    assert "expected another folder" in told_once(wallfront("handover", beside, *brief, "--out", folder))
