"""What would mend one's own wall, beside the front."""

from __future__ import annotations

from pathlib import Path

from wall_text import framed, head, layer

from dashboard.wall.my_wall_part import own_words
from dashboard.workspace import Workspace
from optimiser.checks.mend import UNMENDED

ROW = {
    "name": "mine",
    "thickness_mm": 300.0,
    "cost_per_m2": None,
    "carbon_kgco2e_m2": 9.0,
    "u_value": 0.2,
    "unpriced": [],
}
WEAK = (
    head("too weak")
    + layer("sheathing", "osb", 12)
    + framed("outer frame", "blown-cellulose", 95, stud="softwood-c16")
    + layer("lining", "plasterboard", 12.5)
    + """[loads]
height_mm = 2700
permanent_kn_m = 20
imposed_kn_m = 8
snow_kn_m = 6
wind_kn_m2 = 1.2
"""
)


def said(children: list) -> str:
    return " ".join(str(child.to_plotly_json()) for child in children)


def test_a_wall_that_passes_says_nothing_of_mending():
    assert "mend" not in said(own_words(ROW, [], 0.1, "EUR"))


def test_a_wall_that_fails_says_what_would_mend_it():
    told = said(own_words(ROW, [], 0.1, "EUR", ["strength"], ["outer frame: 145 mm: passes"]))
    assert "fails the check of strength" in told
    assert "outer frame: 145 mm: passes" in told


def test_a_wall_that_no_single_change_mends_says_so():
    assert UNMENDED in said(own_words(ROW, [], 0.1, "EUR", ["moisture"], []))


def test_the_mends_of_an_uploaded_wall_are_those_of_the_check(tmp_path: Path):
    workspace = Workspace(None, tmp_path / "runs")
    judged = workspace.own_wall(WEAK, "weak.toml", None)
    assert judged.verdicts.failed == ["strength"]
    mended = workspace.mends(judged, None)
    assert mended
    assert all(words.startswith("outer frame") for words in mended)
