"""What a search leaves out is told on the terminal and in the study; a second opinion misses a line that is gone."""

from __future__ import annotations

import json
import tomllib
from datetime import date

import pytest
import tomli_w
import toy_space as small
from called import Result

from optimiser.search.second_opinion import verify
from optimiser.search.study import open_study

QUICK = {"population": 40, "generations": 5, "start_generations": 5}
OTHERS = [
    "z-95,stud 95,softwood-c16,Old Yard,95,45,1.00,m,EUR,,,",
    "z-145,stud 145,softwood-c24,Old Yard,145,45,1.00,m,EUR,,,",
]
LAPSED = "Old Yard: all 2 products left out, valid until 2020-12-31, prices held to 2026-05-01"


def declaration(until: int) -> dict:
    """A declaration in the extended JSON view: 1 kg of fill, valid until the end of a year."""
    result = {
        "referenceToLCIAMethodDataSet": {"shortDescription": [{"value": "GWP-fossil", "lang": "en"}]},
        "other": {"anies": [{"module": "A1-A3", "value": 1.0}]},
    }
    return {
        "processInformation": {
            "dataSetInformation": {
                "UUID": "00000000-0000-4000-8000-00000000000a",
                "name": {"baseName": [{"value": "blown fill of the yard", "lang": "en"}]},
            },
            "quantitativeReference": {"referenceToReferenceFlow": [1]},
            "time": {"referenceYear": 2015, "dataSetValidUntil": until},
        },
        "exchanges": {"exchange": [{"dataSetInternalID": 1, "meanAmount": 1.0, "referenceFlow": True}]},
        "LCIAResults": {"LCIAResult": [result]},
    }


@pytest.fixture
def brief(tmp_path):
    """A brief with a list that has lapsed, a declaration that has, and one that no product names."""
    path = small.write_brief(
        tmp_path,
        search=QUICK,
        prices={"lists": ["toy.csv", "old.csv"], "on": date(2026, 5, 1)},
    )
    header, *rows = (tmp_path / "toy.csv").read_text().splitlines()
    named = [row + (",fill" if row.startswith("f-cel") else ",") for row in rows]
    (tmp_path / "toy.csv").write_text("\n".join([header + ",declaration", *named]) + "\n")
    old = [header + ",valid_until", *(row + ",2020-12-31" for row in OTHERS)]
    (tmp_path / "old.csv").write_text("\n".join(old) + "\n")
    for name in ("fill", "spare"):
        raw = declaration(2020)
        if name == "spare":
            raw["processInformation"]["dataSetInformation"]["UUID"] = "00000000-0000-4000-8000-00000000000b"
        (tmp_path / f"{name}.json").write_text(json.dumps(raw))
    given = tomllib.loads(path.read_text())
    given["prices"]["declarations"] = ["fill.json", "spare.json"]
    path.write_text(tomli_w.dumps(given))
    return path


def searched(wallfront, brief, *more) -> Result:
    called = wallfront("search", brief, "--out", brief.parent / "study", *more)
    assert called.code == 0, called.err
    return called


def test_a_lapsed_list_and_a_lapsed_declaration_are_both_told(wallfront, brief):
    lines = [each for each in searched(wallfront, brief).out.splitlines() if each.startswith("left out: ")]
    assert f"left out: {LAPSED} (z-145, z-95)" in lines
    assert any('declaration "blown fill of the yard" lapsed on 2020-12-31: f-cel keeps' in each for each in lines)
    assert any("spare.json: no product names this declaration" in each for each in lines)
    assert len(lines) == 3


def test_they_stand_in_the_study_and_in_json(wallfront, brief):
    summary = json.loads(searched(wallfront, brief, "--json").out)
    assert summary["left_out"][0] == {"subject": "prices", "words": LAPSED, "names": ["z-145", "z-95"]}
    assert open_study(brief.parent / "study").summary["left_out"] == summary["left_out"]


def test_the_second_opinion_sees_a_line_that_was_taken_away(wallfront, brief):
    searched(wallfront, brief)
    study = brief.parent / "study"
    assert verify(study, 50, 1).agrees
    written = json.loads((study / "study.json").read_text())
    del written["left_out"][0]
    (study / "study.json").write_text(json.dumps(written))
    assert any("left_out" in each.words() for each in verify(study, 50, 1).refused)


def test_a_brief_without_a_gap_is_told_what_that_means(wallfront, tmp_path):
    path = small.write_brief(tmp_path, search=QUICK, target={"u_value": 0.2})
    given = tomllib.loads(path.read_text())
    del given["gap"]
    path.write_text(tomli_w.dumps(given))
    assert "the brief has no [gap], so that it is 0 mm wide" in searched(wallfront, path).out
    given["slots"]["inner frame"] = {"lock": "none"}  # a single frame has no gap to lack
    path.write_text(tomli_w.dumps(given))
    assert "left out" not in searched(wallfront, path).out


def test_what_the_materials_of_a_brief_bar_is_told_once_with_its_reason(wallfront, tmp_path):
    path = small.write_brief(
        tmp_path,
        search=QUICK,
        materials={"origins": ["renewable", "mineral"]},
        slots={"airtight layer": {"lock": "a-1"}},
    )
    lines = [each for each in searched(wallfront, path).out.splitlines() if each.startswith("left out: ")]
    assert lines == [
        "left out: 1 product left out: its origin is fossil; materials.origins lets in renewable, mineral (a-2)"
    ]


def test_a_search_ends_with_the_landmarks_of_its_front(wallfront, toy, tmp_path):
    called = searched(wallfront, small.write_brief(tmp_path, search=QUICK), "--json")
    found, rows = json.loads(called.out)["landmarks"], open_study(tmp_path / "study").rows
    named = {name: each["id"] for each in found for name in each["names"]}
    assert set(named) == {"thinnest", "cheapest", "lowest carbon", "most balanced"}
    by_id = {each["id"]: each for each in rows}
    least = {"thinnest": "thickness_mm", "cheapest": "cost_per_m2", "lowest carbon": "carbon_kgco2e_m2"}
    for name, key in least.items():
        assert by_id[named[name]][key] == min(each[key] for each in rows)
    lines = searched(wallfront, tmp_path / "brief.toml").out.splitlines()
    assert any(line.startswith(named["thinnest"]) and "thinnest" in line for line in lines)
