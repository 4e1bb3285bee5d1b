"""`wallfront check --numeric` and `wallfront prove`: what they print, and how they end."""

from __future__ import annotations

import json
import shutil

import pytest
import toy_space as small
from called import told_once
from wall_text import STUDS, framed, head, layer, twin

from optimiser.brief.brief import read_brief
from optimiser.search import files
from optimiser.search.run import save, search
from optimiser.search.study import open_study

FILL = '[materials.fill]\nlike = "blown-cellulose"\nconductivity_w_mk = 0.039\n'
TIE = 'tie = { material = "TIE", thickness_mm = 12, height_mm = 200, vertical_spacing_mm = 1200 }\n'
WALL = (
    head("twin studs", FILL)
    + layer("wind-tight layer", "wind-paper", 0)
    + layer("sheathing", "osb", 12)
    + twin("fill", TIE)
    + layer("airtight layer", "airtight-paper", 0)
    + layer("lining", "plasterboard", 12.5)
)
CONTRACT = ("u_value", "u_error", "f_rsi", "chi_w_k", "psi_w_mk")  # design: the object numeric


OWN = "[materials.own]\nconductivity_w_mk = 0.04\nvapour_mu = 2\ndensity_kg_m3 = 55\n"  # says nothing of its kind


@pytest.fixture
def file(tmp_path):
    def write(tie: str = "tie-plywood", text: str = WALL):
        path = tmp_path / "wall.toml"
        path.write_text(text.replace("TIE", tie), encoding="utf-8")
        return path

    return write


@pytest.fixture(scope="module")
def searched(tmp_path_factory):
    folder = tmp_path_factory.mktemp("toy")
    small.write_brief(folder, search={"population": 60, "generations": 25})
    save(search(read_brief(folder / "brief.toml"), folder), folder, folder / "study")
    return folder / "study"


@pytest.fixture
def study(searched, tmp_path):
    return shutil.copytree(searched, tmp_path / "walls")


def test_check_tells_the_exact_u_between_its_bounds(wallfront, file):
    path = file()
    found = json.loads(wallfront("check", path, "--numeric", "--json").out)
    told, heat = found["numeric"], found["heat"]
    assert all(isinstance(told[key], float) for key in CONTRACT)
    assert told["u_least"] == pytest.approx(1 / heat["r_upper"]) and told["u_most"] == pytest.approx(
        1 / heat["r_lower"]
    )
    assert told["u_combined"] == pytest.approx(heat["u_value"])
    assert told["u_least"] < told["u_value"] - told["u_error"] and told["u_value"] + told["u_error"] < told["u_most"]
    assert told["u_error"] <= 0.001 * told["u_value"]
    assert 0 < told["by_members"] < 0.3 and told["chi_w_k"] > 0 and told["psi_w_mk"] > 0
    assert told["coldest_month"] == "January" and 15 < told["coldest_surface_c"] < 20
    assert told["uncertainty"]["p5"] < told["u_value"] < told["uncertainty"]["p95"]
    assert told["uncertainty"]["chance"] is None  # no brief, no target
    assert sum(told["uncertainty"]["drivers"].values()) == pytest.approx(1.0, abs=0.05)
    assert {each["name"] for each in told["breaks"]["others"]} >= {"as drawn", "no members at all", "steel ties, 2 mm"}
    assert "numeric" not in json.loads(wallfront("check", path, "--json").out)


def test_check_prints_it_for_people(wallfront, file):
    result = wallfront("check", file(), "--numeric")
    assert result.code == 0
    for words in (
        "more or less",
        "(R')",
        "(R'')",
        "f_Rsi",
        "chi",
        "psi",
        "heat bridges:",
        "solid studs of equal depth",
    ):
        assert words in result.out, words
    assert "driven by" in result.out and "refused" in result.out


def test_metal_ties_are_refused_by_the_method_and_met_by_the_calculation(wallfront, file):
    """A numerical calculation is asked for; with it there is nothing left to refuse."""
    path = file("galvanised-fixings")
    refused = wallfront("check", path, "--json")
    assert refused.code == 1 and "numerical calculation" in refused.err
    met = wallfront("check", path, "--numeric", "--json")
    assert (met.code, met.err) == (0, "")
    told = json.loads(met.out)
    assert told["heat"]["u_value"] is None and "metal" in told["heat"]["refused"]
    assert (
        told["numeric"]["u_value"]
        > json.loads(wallfront("check", file(), "--numeric", "--json").out)["numeric"]["u_value"]
    )


def test_with_a_brief_the_chance_of_its_target_and_its_ranges(wallfront, file, tmp_path):
    path = file()
    u_value = json.loads(wallfront("check", path, "--numeric", "--json").out)["numeric"]["u_value"]
    still = {"conductivity": {}, "gap_mm": 0.0, "frame_fraction": 0.0, "air_gaps": [0.0, 0.0]}
    still["conductivity"] = dict.fromkeys(("timber", "loose fill", "board", "fixing", "air"), 0.0)
    for factor, chance in ((1.001, 1.0), (0.999, 0.0)):
        small.write_brief(tmp_path, target={"u_value": u_value * factor}, uncertainty=still)
        told = json.loads(wallfront("check", path, "--numeric", "--json", "--brief", tmp_path / "brief.toml").out)
        assert told["numeric"]["uncertainty"]["chance"] == chance
        assert told["numeric"]["uncertainty"]["mean"] == pytest.approx(u_value, rel=1e-9)
        assert told["numeric"]["uncertainty"]["drivers"] == {}


def test_a_material_of_the_files_own_needs_no_kind(wallfront, file):
    """Its conductivity may be as uncertain as that of any kind."""
    text = head("own fill", OWN) + framed("outer frame", "own", 300) + layer("lining", "plasterboard", 12.5)
    found = wallfront("check", file(text=text), "--numeric", "--json")
    assert found.code == 0
    told = json.loads(found.out)["numeric"]
    assert told["u_value"] > 0
    assert told["uncertainty"]["drivers"]["conductivity of own"] > 0.5


def test_a_wall_that_cannot_be_solved_keeps_its_other_answers(wallfront, file):
    """A frame given by its share has no cell: the answer to --numeric is no, that of the combined method stands."""
    text = WALL.replace(STUDS, "fraction = 0.1").replace(TIE, "")
    found = wallfront("check", file(text=text), "--numeric", "--json")
    assert found.code == 1 and "by fraction" in found.err and "Traceback" not in found.err
    told = json.loads(found.out)
    assert told["heat"]["u_value"] > 0
    assert {key: told["numeric"][key] for key in CONTRACT} == dict.fromkeys(CONTRACT)
    assert "by fraction" in told["numeric"]["reason"]
    printed = wallfront("check", file(text=text), "--numeric")
    assert printed.code == 1 and "no U by conduction" in printed.out


def test_prove_adds_the_figures_to_a_study(wallfront, study):
    result = wallfront("prove", study, "--workers", 1)
    rows = open_study(study).rows
    assert result.code == 0
    assert f"{len(rows)} of {len(rows)} walls solved" in result.out and "combined method is off by" in result.out
    assert all(row["u_numeric"] is not None and row["chance"] is not None for row in rows)
    told = json.loads(wallfront("prove", study, "--workers", 1, "--tolerance", 0.01, "--json").out)
    assert told["tolerance"] == 0.01 and told["flagged"] == [] and told["unsolved"] == {}
    assert told == files.read_json(study / files.MARK)["numeric"]


def test_prove_names_walls_above_their_target_and_ends_with_1(wallfront, study):
    """The first wall of the front held to a target that its numerical U misses."""
    text = (study / "front.csv").read_text(encoding="utf-8")
    first = next(line for line in text.splitlines() if line.startswith("W-001,"))
    (study / "front.csv").write_text(text.replace(first, first.replace("W-001,0.11,", "W-001,0.1,")), encoding="utf-8")
    result = wallfront("prove", study, "--workers", 1)
    assert result.code == 1
    assert "above the target by conduction, at their lower limit: W-001" in result.out
    assert files.read_json(study / files.MARK)["numeric"]["flagged"] == ["W-001"]


def test_prove_says_what_is_no_study(wallfront, tmp_path):
    assert "is no study" in told_once(wallfront("prove", tmp_path / "nothing"))


def test_a_search_proves_its_front_where_the_brief_asks(wallfront, tmp_path):
    small.write_brief(tmp_path, numeric={"prove": True, "workers": 1}, search={"population": 60, "generations": 25})
    result = wallfront("search", tmp_path / "brief.toml", "--out", tmp_path / "s", "--json")
    told = json.loads(result.out)
    assert result.code == 0 and told["numeric"]["flagged"] == []
    assert files.read_json(tmp_path / "s" / files.MARK)["numeric"] == told["numeric"]
    assert all(row["u_numeric"] for row in open_study(tmp_path / "s").rows)
