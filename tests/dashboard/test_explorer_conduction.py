"""Heat through the chosen wall by conduction, in the explorer: picture, axes, tables, the line of the proof."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from dashboard.front.table import columns, grid_rows
from dashboard.wall import conduction_part as part
from dashboard.wall.conduction_axis import bound_marks, bounds_svg, drivers, scale_of, spread_marks, spread_svg
from dashboard.wall.conduction_field import bands, bay, field_of, isotherms, reached
from dashboard.wall.conduction_figure import CIVIDIS, colour_of, picture_svg
from dashboard.workspace import Workspace
from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.conduction.figures import error_bound, numeric_figures
from optimiser.conduction.numeric_demand import NumericDemand
from optimiser.search.landmarks import most_balanced
from optimiser.search.numeric_worker import ProofState
from optimiser.wall.buildup import parse_buildup

ALLOWED = {"svg", "title", "desc", "style", "defs", "pattern", "g", "rect", "line", "path", "text"}  # of page.js
HEAD = 'name = "a wall"\noutside = "exposed"\n'
BATTENS = """[[layer]]
role = "board"
material = "osb"
thickness_mm = 18
[[layer]]
role = "fill"
material = "blown-cellulose"
thickness_mm = 200
[[layer]]
role = "service zone"
material = "blown-cellulose"
thickness_mm = 60
[layer.frame]
material = "softwood-c24"
width_mm = 60
spacing_mm = 400
axis = "horizontal"
"""
PLAIN = BATTENS.split("[layer.frame]")[0]


@pytest.fixture(scope="module")
def wall(workspace):
    """The most balanced wall of the front, judged."""
    return workspace.wall(None, most_balanced(workspace.source(None).rows)["id"])


@pytest.fixture(scope="module")
def found(workspace, wall):
    return workspace.conduction(wall.wall, None, workspace.source(None).brief.target.u_value)


@pytest.fixture(scope="module")
def field(wall, found):
    return field_of(wall.wall, found)


def own(text: str):
    return parse_buildup(HEAD + text, load_catalogue(), "wall.toml")


# -- the field ---------------------------------------------------------------------------------------------------


def test_the_field_covers_the_bay_and_every_layer_that_conducts(wall, field):
    drawn = bay(wall.wall)
    low, high = drawn.windows[0]
    assert (field.along[0], field.along[-1]) == pytest.approx((low, high))
    conducts = next(each for each in drawn.layers if each.layer.role == "wind-tight layer")
    assert field.through[0] == pytest.approx(conducts.x0)
    assert field.through[-1] == pytest.approx(drawn.thickness)
    assert field.temperature.shape == (len(field.through), len(field.along))
    assert field.outside < field.temperature.min() and field.temperature.max() < field.inside


def test_a_line_of_studs_stands_in_the_middle_and_cools_the_inside_there(wall, field):
    low, high = bay(wall.wall).windows[0]
    mm, coldest = field.coldest
    assert mm == pytest.approx((low + high) / 2, abs=45)
    assert coldest < field.temperature[-1, 0] and coldest < field.temperature[-1, -1]


def test_the_coldest_place_is_that_of_the_figures(wall, found, field):
    assert field.coldest[1] >= found.coldest.surface_c - 1e-6
    if len(found.heat.conduction.solutions[0].grid.shape) == 2:
        assert field.coldest[1] == pytest.approx(found.coldest.surface_c, abs=1e-6)


def test_isotherms_lie_where_the_field_has_their_temperature(field):
    for level in isotherms(field):
        for at, column in zip(reached(field, level), field.temperature.T, strict=True):
            assert np.interp(at, field.through, column) == pytest.approx(level, abs=1e-6)


def test_bands_of_colour_cover_the_field_from_the_coldest_to_the_warmest(field):
    starts = bands(field)
    assert starts == sorted(starts) and starts[0] == field.temperature.min()
    assert set(isotherms(field)) <= set(starts)
    assert field.temperature.max() - starts[-1] <= 1.0
    edges = [reached(field, each) for each in starts[1:]]
    assert all((one <= two + 1e-9).all() for one, two in itertools.pairwise(edges))


def test_battens_alone_are_cut_midway_between_them():
    wall = own(BATTENS)
    found = numeric_figures(wall)
    field = field_of(wall, found)
    assert field.where == "cut midway between the battens"
    solution = found.heat.conduction.solutions[0]
    farthest = solution.face_temperatures(0, 1)[-1]  # the cell is half of what lies between two battens' middles
    inside, outside = found.coldest.inside_c, found.coldest.outside_c
    assert field.coldest[1] == pytest.approx(outside + farthest * (inside - outside), abs=1e-6)
    assert field.coldest[1] > found.coldest.surface_c


def test_the_scale_is_cividis_from_end_to_end():
    assert (colour_of(0), colour_of(1)) == (CIVIDIS[0], CIVIDIS[-1])
    assert colour_of(1 / 9) == CIVIDIS[1] and colour_of(2) == CIVIDIS[-1]


# -- the drawings ------------------------------------------------------------------------------------------------


def test_the_drawings_hold_only_what_the_page_lets_in(wall, found, field):
    for text in (picture_svg(wall.wall, field, month="January"), bounds_svg(found), spread_svg(found)):
        root = ET.fromstring(text)
        names = {each.tag.rpartition("}")[2] for each in root.iter()}
        assert names <= ALLOWED
        assert len(list(root.iter())) < 2500 and len(text) < 120_000
        assert not any(re.fullmatch(r"on.*|.*href", key) for each in root.iter() for key in each.attrib)
        assert root[0].tag.endswith("title") and root[1].tag.endswith("desc")


def test_every_isotherm_is_drawn_and_told(wall, field):
    text = picture_svg(wall.wall, field, month="January")
    assert text.count('class="isotherm') == len(isotherms(field))
    assert text.count("°C at ") == len(isotherms(field))
    assert field.where in text


def test_the_axis_runs_from_bound_to_bound_with_u_by_conduction_between(found):
    marks = {each.name: each.value for each in bound_marks(found)}
    assert marks["R′"] <= marks["by conduction"] <= marks["R″"]
    assert marks == {
        "R′": found.u_least,
        "R″": found.u_most,
        "by conduction": found.heat.u_value,
        "combined": found.u_combined,
        "target": found.spread.target,
    }
    scale = scale_of(found)
    places = [scale.x(each.value) for each in (*bound_marks(found), *spread_marks(found))]
    assert min(places) > 0 and max(places) < 520
    values = [each.value for each in spread_marks(found) if each.kind != "target"]
    assert sorted(values) == [found.spread.p5, found.spread.p50, found.spread.p95]


def test_a_wall_that_nothing_crosses_has_no_axis_and_says_so():
    found = numeric_figures(own(PLAIN))
    assert bounds_svg(found) == ""
    assert any("Nothing crosses" in each for each in part.u_words(found))
    assert part.through_table(found.breaks).rows == ()


# -- words and tables --------------------------------------------------------------------------------------------


def test_the_words_are_those_of_the_figures(found):
    said = " ".join(part.u_words(found))
    for value in (found.heat.u_value, found.u_least, found.u_most, found.u_combined):
        assert f"{value:.4f}" in said
    cold = part.coldest_words(found)
    assert f"{found.coldest.surface_c:.1f} °C" in cold and f"{found.heat.f_rsi:.3f}" in cold
    assert f"{100 * found.spread.chance:.0f} %" in part.chance_words(found)


def test_a_target_is_met_missed_or_within_the_error(found):
    def at(target):
        return part.target_words(replace(found, spread=replace(found.spread, target=target)))

    value, error = found.heat.u_value, found.heat.u_error
    assert at(value + 0.01).startswith("It meets") and at(value - 0.01).startswith("It misses")
    assert "Undecided" in at(value + error / 2)
    assert at(None) is None


def test_tables_tell_members_and_other_walls(found):
    shares = part.through_table(found.breaks).rows
    crossed = [each for each in found.breaks.through if each.what != "layer"]
    assert [row.layer for row in shares] == [each.layer for each in crossed]
    others = part.others_table(found.breaks).rows
    assert [row.cells[0] for row in others] == [each.name for each in found.breaks.others]
    solid = next(row for row in others if row.cells[0] == "solid studs of equal depth")
    assert solid.cells[2].startswith("+")
    assert next(name for name, _ in drivers(found)) == found.spread.drivers[0][0]


def test_a_variant_that_cannot_be_solved_says_why(found):
    other = replace(found.breaks.others[1], u_value=None, difference=None, reason="no common cell")
    row = part.others_table(replace(found.breaks, others=(other,))).rows[0]
    assert row.cells[1] == "–" and row.hint == "no common cell"


# -- the front ---------------------------------------------------------------------------------------------------


def test_a_wall_is_solved_once_for_each_target(workspace, wall, found):
    target = workspace.source(None).brief.target.u_value
    assert workspace.conduction(wall.wall, None, target) is found
    other = workspace.conduction(wall.wall, None, target + 0.05)
    assert other.spread.target == target + 0.05 and other.spread.chance > found.spread.chance


def test_a_wall_without_a_cell_is_refused_in_words(workspace):
    text = BATTENS.replace("width_mm = 60\nspacing_mm = 400\n", "fraction = 0.1\n")
    with pytest.raises(InputError, match="given by fraction"):
        workspace.conduction(own(text), None, None)


def test_a_row_that_misses_its_target_says_so_in_words():
    row = {"id": "W-001", "target": 0.1, "u_numeric": 0.1024, "u_numeric_error": 0.0001}
    assert part.head_words(row) == "U by conduction 0.1024, misses 0.10 by 0.0024"
    assert part.head_words(row | {"u_numeric": 0.0991}) == "U by conduction 0.0991, meets 0.10"
    assert part.head_words(row | {"u_numeric": 0.10005}).endswith("undecided at 0.10")
    assert part.head_words({"id": "W-001", "target": 0.1, "u_numeric": None}) == part.CLOSED
    assert [each["misses"] for each in grid_rows([row, row | {"u_numeric": 0.0991}])] == [True, False]
    shown = next(each for each in columns("EUR", False, proven=True) if each["field"] == "u_numeric")
    assert "misses" in shown["valueFormatter"]["function"]
    assert all(each["field"] != "u_numeric" for each in columns("EUR", False))


def test_the_line_of_the_proof_counts_what_was_solved():
    numeric = {"tolerance": 0.001, "seconds": 9.0, "flagged": [], "unsolved": {}}
    said = "walls solved by conduction (ISO 10211) to 0.1 %:"
    assert part.proof_line({"numeric": numeric}, 322) == f"All 322 {said} none misses."
    assert part.proof_line({"numeric": numeric | {"flagged": ["W-001"]}}, 3).endswith("W-001 misses the target.")
    found = part.proof_line({"numeric": numeric | {"unsolved": {"W-002": "no cell"}}}, 3)
    assert found == "2 walls of 3 solved by conduction (ISO 10211) to 0.1 %: none misses; not solved: W-002."
    assert part.proof_line({"numeric": numeric | {"undecided": ["W-003"]}}, 3).endswith(
        ": none misses for certain; undecided, the target between the limits of U: W-003."
    )
    assert part.proof_line({}, 322) == ""


def test_the_status_tells_how_far_the_proof_is():
    assert part.proving_words(ProofState("running", done=120, total=322)) == (
        "solving the conduction of 322 walls: 120 done"
    )
    assert part.proving_words(ProofState("done", done=322, total=322)) == ""
    assert "no room" in part.proving_words(ProofState("failed", "no room"))


def test_the_front_of_a_finished_run_is_proven_where_its_brief_asks(study_folder, tmp_path, monkeypatch):
    started = []

    class Proof:
        def __init__(self, folder):
            self.folder = folder

        def state(self):
            return ProofState("running", total=3) if self.folder in started else ProofState()

        def start(self):
            started.append(self.folder)

    monkeypatch.setattr("dashboard.workspace.NumericProof", Proof)
    workspace = Workspace(study_folder, tmp_path)
    whole = workspace.source(None)
    asks, does_not = (
        replace(whole, brief=whole.brief.model_copy(update={"numeric": NumericDemand(prove=each)}), run="0001")
        for each in (True, False)
    )
    monkeypatch.setattr(workspace, "source", lambda run: {None: whole, "1": asks, "2": does_not}[run])
    assert not workspace.proof_state(None).alive  # the command starts that of the study itself
    assert not workspace.proof_state("2").alive and not started
    assert workspace.proof_state("1").alive and workspace.proof_state("1").total == 3
    assert started == [whole.study.folder]


@pytest.mark.parametrize(
    ("error", "below"), [(0.0, 0.0001), (1e-9, 0.0001), (0.00004, 0.0001), (0.0001, 0.0002), (0.00031, 0.0004)]
)
def test_an_error_is_never_told_as_none(found, error, below):
    assert error_bound(error) == pytest.approx(below)
    told = replace(found, heat=replace(found.heat, u_error=error))
    assert f"at most {below:.4f} more or less" in part.u_words(told)[0]
    assert f"U by conduction is at most {below:.4f} W/m²K more or less" in bounds_svg(told)


# -- in the browser ----------------------------------------------------------------------------------------------


@pytest.mark.browser
def test_the_fold_is_worked_out_when_it_is_opened_and_follows_the_wall(desk, workspace):
    assert desk.locator("#temperatures svg").count() == 0
    rows = workspace.source(None).rows
    desk.locator("#conduction-head").click()
    for row in (most_balanced(rows), rows[-1]):
        desk.evaluate("wall => window.dash_clientside.set_props('wall', {data: wall})", row["id"])
        wall = workspace.wall(None, row["id"]).wall
        found = workspace.conduction(wall, None, row["target"])
        desk.locator("#conduction-u .first", has_text=f"U {found.heat.u_value:.4f} W/m²K, at most 0.0").wait_for()
        desk.wait_for_function(
            "words => document.querySelector('#temperatures desc')?.textContent === words",
            arg=ET.fromstring(picture_svg(wall, field_of(wall, found)))[1].text,
        )
    for name in ("bounds", "temperatures", "spread"):
        assert desk.locator(f"#{name} svg").count() == 1
    assert desk.locator("#conduction-wait").is_hidden()
    assert desk.locator("#conduction-breaks .others tbody tr").count() == len(found.breaks.others)
    desk.locator("#conduction-head").click()
