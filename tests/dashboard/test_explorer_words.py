"""Figures, sentences, files: what the explorer says and takes."""

from __future__ import annotations

import base64
import csv
import io
from types import SimpleNamespace

import pytest

from dashboard import words
from dashboard.callbacks.place import read_address
from dashboard.callbacks.slot_switches import nothing_left, one_by_one, switched_on
from dashboard.front import search_words, table
from dashboard.front.none import nothing_words
from dashboard.front.table import selected_id
from dashboard.source import FrontSource
from dashboard.wall import facts, my_wall
from materials.errors import InputError
from optimiser.locales import many


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (words.money(186.4, "EUR"), "€186"),
        (words.money(1186.44, "NOK", 1), "NOK 1,186.4"),
        (words.money(None, "EUR"), "–"),
        (words.millimetres(404.5), "404.5"),
        (words.millimetres(404.0), "404"),
        (words.u_shown(float("nan")), "–"),
        (words.power_of_ten(4.13e10), "4.1 × 10¹⁰"),
        (words.power_of_ten(41_958), "41,958"),
        (many(1, "wall"), "1 wall"),
        (many(1200, "wall"), "1,200 walls"),
        (words.listed(["a", "b", "c"]), "a, b and c"),
        (words.with_unit("cost_per_m2", 4.1, "EUR"), "€4.1 per m²"),
        (words.with_unit("carbon_kgco2e_m2", None, "EUR"), "unknown"),
        (words.u_goal(0.12), "0.12"),
        (words.u_goal(0.105), "0.105"),
        (words.u_goal(0.1), "0.10"),
        (words.share_words(0.99996), "99.9 %"),
        (words.share_words(1.0), "100 %"),
        (words.share_words(0.0001), "less than 0.1 %"),
        (words.signed("cost_per_m2", 6.2, "EUR"), "+€6.20"),
        (words.signed("carbon_kgco2e_m2", -3.06, "EUR"), "−3.1 kg"),
        (words.signed("carbon_kgco2e_m2", 0.005, "EUR"), "+0.005 kg"),
        (words.step_size("thickness_mm", -14.0, "EUR"), "14 mm"),
        (words.step_size("weight_kg_m2", 2.0, "EUR"), "2.0 kg weight"),
    ],
)
def test_figures_as_people_read_them(shown, expected):
    assert shown == expected


def test_what_a_search_found():
    rows = [{"id": "a"}] * 3
    told = {"space_size": 4.1e10, "evaluations": 9000, "seconds": 5.21, "stopped": "budget", "proof": []}
    assert search_words.result_words(FrontSource(rows=rows, summary=told, study=object())) == (
        "Front · 3 walls",
        "from 4.1 × 10¹⁰, not proven complete: stopped when its time was up, 5.2 s",
    )
    done = search_words.result_words(FrontSource(rows=rows, summary=told | {"complete": True}, study=object()))
    assert done == ("Complete front · 3 walls", "from 4.1 × 10¹⁰, none missed, 5.2 s")
    assert search_words.result_words(FrontSource(status="running", rows=rows))[0] == "Front so far · 3 walls"


@pytest.mark.parametrize("status", ["waiting", "running", "cancelled", "infeasible", "failed", "missing"])
def test_every_state_has_a_heading_and_words(status):
    head, said = search_words.status_words(FrontSource(run="0001", status=status, message="why"))
    assert head
    assert said


def test_a_study_that_is_simply_open_needs_no_status():
    assert search_words.status_words(FrontSource()) == ("", "")


def test_u_between_its_limits_and_against_the_target():
    said = facts.heat_words(0.1274, 7.972, 7.725, 0.0, 0.13)
    assert "between 0.1254 and 0.1294" in said
    assert "meets the target 0.130" in said
    assert "misses the target 0.120 by 0.0074" in facts.heat_words(0.1274, 7.972, 7.725, 0.0, 0.12)


@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1"])
def test_no_cell_of_the_csv_is_run_as_a_formula(start):
    text = table.front_csv([{"id": start, "thickness_mm": -1.5, "in_short": "a,b"}])
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["id"] == f"'{start}"
    assert row["thickness_mm"] == "-1.5"
    assert row["in_short"] == "a,b"


def test_the_csv_of_no_rows_is_empty():
    assert table.front_csv([]) == ""


def test_the_grid_names_units_once_and_takes_what_it_shows():
    found = table.columns("GBP", with_floor=True)
    assert "£/m²" in [each["headerName"] for each in found]
    assert {each["field"] for each in found} <= set(table.grid_rows([{"id": "a"}])[0])
    assert "floor_area_lost_m2" not in [each["field"] for each in table.columns("EUR", with_floor=False)]


def test_the_columns_of_figures_leave_room_for_what_the_wall_is():
    found = table.columns("EUR", with_floor=True, ranked=True, with_hold=True, proven=True)
    by_field = {each["field"]: each for each in found}
    figures = sum(each["width"] for each in found if each["field"] != "in_short")
    assert figures + by_field["in_short"]["minWidth"] <= 760  # px of the table on a screen of 1280
    assert by_field["in_short"]["tooltipField"] == "in_short"
    assert by_field["stability"]["headerName"] == "stays on front, %"
    assert "100 * params.value" in by_field["stability"]["valueFormatter"]["function"]
    assert by_field["u_numeric"]["headerName"] == "U conducted W/m²K"
    assert all(each["headerTooltip"] for each in found if each["field"] not in ("id", "in_short"))


def test_the_table_goes_by_the_rank_as_long_as_there_is_one():
    by_rank = [each["field"] for each in table.columns("EUR", False, ranked=True) if each.get("sort")]
    assert by_rank == ["rank"]
    assert not any(each.get("sort") for each in table.columns("EUR", False))


def upload(data: bytes) -> str:
    return "data:application/octet-stream;base64," + base64.b64encode(data).decode()


def test_an_upload_becomes_text():
    assert my_wall.text_of(upload("name = 'wäll'".encode()), "a.toml") == "name = 'wäll'"
    assert my_wall.text_of(upload(b"\xef\xbb\xbfname = 1"), "a.toml") == "name = 1"


@pytest.mark.parametrize(
    ("contents", "expected"),
    [
        (upload(b"x" * 200_100), "larger than 200 kB"),
        (upload(b"\xff\xfe\x00"), "UTF-8"),
        (upload(b"  \n"), "is empty"),
        ("data:text/plain;base64,***", "UTF-8"),
        ("", "is empty"),
        (None, "is empty"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(contents, expected):
    with pytest.raises(InputError, match=expected):
        my_wall.text_of(contents, "a.toml")


@pytest.mark.parametrize(
    ("status", "run", "head", "way"),
    [
        ("missing", "0999", "What to do next", "Back to the study"),
        ("missing", None, "What to do next", "wallfront search BRIEF"),
        ("failed", "0001", "What to do next", "Resume"),
        ("cancelled", "0001", "What to do next", "Resume"),
        ("infeasible", "0001", "What is missing", "search again"),
        ("running", "0001", "Looking for walls", "as they are found"),
    ],
)
def test_where_there_is_no_front_the_way_on_is_told(status, run, head, way):
    found = nothing_words(FrontSource(run, status, "it binds by 4 mm"), run)
    assert found[0].children.startswith(head)
    assert way in found[-1].children
    assert any("it binds" in each.children for each in found) is (status == "infeasible")
    assert nothing_words(FrontSource(run, status, rows=[{"id": "W-1"}]), run) == []


def test_ones_own_wall_in_words():
    assert my_wall.against_target({"u_value": 0.111}, 0.105) == "U 0.111 misses the target 0.105 by 0.006 W/m²K"
    assert my_wall.against_target({"u_value": 0.1}, 0.105) == "U 0.100 meets the target 0.105"
    assert "not given" in my_wall.against_target({"u_value": None}, 0.105)
    assert my_wall.margin({"thickness_mm": 22.0, "cost_per_m2": 0.0}, "EUR") == "22 mm thinner, equal in cost"
    assert my_wall.verdict(0, 3) == "No wall of the front beats it in thickness, cost and carbon alike."
    assert my_wall.verdict(1, 2) == "1 wall of the front beats it in every figure that is known of it:"


@pytest.mark.parametrize(
    ("search", "found"),
    [
        ("?run=0001&wall=W-2", ("0001", "W-2", "front")),
        ("?wall=W-2&view=suppliers", (None, "W-2", "suppliers")),
        ("", (None, None, "front")),
        (None, (None, None, "front")),
        ("?run=&wall=&view=elsewhere", (None, None, "front")),
    ],
)
def test_the_address_names_run_wall_and_view(search, found):
    assert read_address(search) == found


def test_a_slot_left_without_anything_is_said_without_the_marks_of_a_file():
    assert nothing_left({"fill": [], "sheathing": ["a"]}) == "fill: nothing is left; switch on at least one."
    assert (
        nothing_left({"fill": [], "lining": []}) == "fill and lining: nothing is left; switch on at least one for each."
    )
    assert nothing_left({"sheathing": ["a"]}) == ""


def test_the_same_thing_from_several_suppliers_has_a_switch_each():
    offered = [
        SimpleNamespace(key="a-osb", label="OSB 9", on=True),
        SimpleNamespace(key="b-osb", label="OSB 9", on=False),
        SimpleNamespace(key="a-ply", label="plywood 9", on=True),
        SimpleNamespace(key="a-wool", label="wool", on=True),
        SimpleNamespace(key="a-wool-2", label="wool", on=True),
    ]
    sold = {"a-osb": "Hollin", "b-osb": "Corvane", "a-ply": "Hollin", "a-wool": "Hollin", "a-wool-2": "Hollin"}
    assert one_by_one(offered, sold) == [
        ("OSB 9, Hollin", "a-osb", True),
        ("OSB 9, Corvane", "b-osb", False),
        ("plywood 9, Hollin", "a-ply", True),
        ("wool, Hollin (a-wool)", "a-wool", True),
        ("wool, Hollin (a-wool-2)", "a-wool-2", True),
    ]
    assert one_by_one([SimpleNamespace(key="none", label="none", on=True)], {}) == [("none", "none", True)]
    assert switched_on(["a"], ["a", "b"]) == "1 of 2"
    assert switched_on(["a"], ["a"]) == "all 1"
    assert switched_on([], ["a"]) == "nothing"


def test_what_the_grid_reports_as_selected():
    assert selected_id([{"id": "W-1"}]) == "W-1"
    assert selected_id({"ids": ["W-1"]}) == "W-1"
    assert selected_id([]) is None
    assert selected_id(None) is None
