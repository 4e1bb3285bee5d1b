"""Whatever is changed in a study by hand, the second opinion says so and names the row."""

import json
from collections.abc import Callable

import numpy as np
import pytest
import toy_space as small
from tiny_study import Edited, tiny_study

from optimiser.brief.price_lists import pricing_of
from optimiser.search.second_opinion import verify
from optimiser.space.buildable import space_size
from optimiser.space.choices import Choices
from optimiser.verification import rebuilding
from optimiser.verification.account import account
from optimiser.verification.front_rows import Standing, standing_rows
from optimiser.verification.rebuilt_row import rebuilt
from optimiser.verification.refusal import Refusal
from optimiser.wall.scores import WHOLE_LIFE


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return tiny_study(tmp_path_factory.mktemp("tiny"))


@pytest.fixture
def edited(study, tmp_path):
    return Edited(study, tmp_path)


@pytest.fixture(scope="module")
def choices(study, tmp_path_factory):
    return Edited(study, tmp_path_factory.mktemp("choices")).choices()


def named(refused: list[Refusal]) -> set[tuple[str, str | None, str | None]]:
    """What is refused, by place, row and column; every one of them has a reason in words."""
    assert all(each.reason and each.words() for each in refused)
    return {(each.place, each.row, each.column) for each in refused}


def refused_of(edited: Edited) -> set[tuple[str, str | None, str | None]]:
    """What is refused of a whole study."""
    opinion = verify(edited.folder)
    assert opinion.whole
    assert not opinion.agrees
    return named(opinion.refused)


def refused_of_row(edited: Edited, choices: Choices, at: int) -> set[tuple[str, str | None, str | None]]:
    """What is refused of one row: as of a whole study, but quick."""
    standing, refused = standing_rows(choices, [edited.rows[at]])
    return named(refused + [each for row in standing for each in rebuilt(edited.folder, choices, *fields(row))])


def fields(row: Standing) -> tuple:
    return row.cells, row.x, row.target


def other_number(cell: str) -> str:
    return repr(float(cell) * 1.001 + 0.001)


def test_a_study_as_it_was_searched_stands(study):
    opinion = verify(study)
    assert opinion.agrees
    assert opinion.rows == len((study / "front.csv").read_text(encoding="utf-8").splitlines()) - 1 > 6
    assert opinion.total == json.loads((study / "study.json").read_text(encoding="utf-8"))["space_size"]


FIGURES = (
    "thickness_mm",
    "cost_per_m2",
    "carbon_kgco2e_m2",
    "u_value",
    "weight_kg_m2",
    "biogenic_kgco2e_m2",
    "floor_area_lost_m2",
)


@pytest.mark.parametrize("column", FIGURES)
@pytest.mark.parametrize("change", [other_number, lambda cell: "nan", lambda cell: "-1e308", lambda cell: ""])
def test_an_edited_figure_is_told(edited, choices, column, change):
    edited.rows[2][column] = change(edited.rows[2][column])
    assert refused_of_row(edited, choices, 2) == {("front.csv", edited.rows[2]["id"], column)}


def test_every_edited_figure_of_a_study_is_told(edited):
    """One row each, and nothing of the rows beside it."""
    for at, column in enumerate(FIGURES):
        edited.rows[at][column] = other_number(edited.rows[at][column])
    edited.front(edited.rows)
    assert refused_of(edited) == {("front.csv", edited.rows[at]["id"], column) for at, column in enumerate(FIGURES)}


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("stability", "1.5"),
        ("chance", "none"),
        ("in_short", "a better wall"),
        ("target", "0.09"),
    ],
)
def test_what_else_a_row_says_is_held_to_it(edited, choices, column, value):
    edited.rows[2][column] = value
    assert ("front.csv", edited.rows[2]["id"], column) in refused_of_row(edited, choices, 2)


@pytest.mark.parametrize(("share", "stands"), [(0.5, True), (-0.5, False), (1.5, False)])
def test_a_solved_u_lies_between_the_bounds_of_its_wall(edited, choices, share, stands):
    """share: from the U that the combined method's upper limit of the resistance gives to that of the lower one."""
    from optimiser.checks.judge import judge
    from optimiser.wall.buildup import read_buildup

    row = edited.rows[1]
    heat = judge(read_buildup(edited.build_up(row["id"]), choices.catalogue)).heat
    least, most = 1 / heat.r_upper, 1 / heat.r_lower
    row |= {"u_numeric": repr(least + share * (most - least)), "u_numeric_error": "1e-7"}
    assert refused_of_row(edited, choices, 1) == (set() if stands else {("front.csv", row["id"], "u_numeric")})


def test_another_product_of_the_brief_is_told_with_its_slot(edited):
    row = edited.rows[0]
    edited.cell(0, "airtight layer", "a-1" if row["airtight layer"] != "a-1" else "a-2")
    assert (f"buildups/{row['id']}.toml", row["id"], "airtight layer") in refused_of(edited)


def test_a_product_that_is_not_of_the_brief_is_told(edited):
    edited.cell(0, "sheathing", "o-99")
    assert refused_of(edited) == {("front.csv", edited.rows[0]["id"], "sheathing")} | left_over(edited, 0)


def left_over(edited: Edited, at: int) -> set[tuple[str, str | None, str | None]]:
    """What follows of a row that is no wall: others that equal it have no row to stand beside."""
    wall = edited.rows[at]["id"]
    return {("equals.csv", wall, "id") for row in edited.table("equals.csv") if row["id"] == wall}


def test_a_wall_that_cannot_be_built_is_told(edited, choices):
    edited.rows[0] |= {"gap": "0"}  # and still something that fills it
    assert ("front.csv", edited.rows[0]["id"], "gap fill") in refused_of_row(edited, choices, 0)
    edited.rows[1] |= {"inner frame": "none"}
    assert ("front.csv", edited.rows[1]["id"], "gap") in refused_of_row(edited, choices, 1)


@pytest.mark.parametrize("wall", ["../../evil", "", "W-1/2-001", "W110-001\n"])
def test_an_id_that_no_search_gives_is_told_and_never_a_place_on_disk(edited, choices, wall):
    edited.rows[0]["id"] = wall
    assert refused_of_row(edited, choices, 0) == {("front.csv", wall or "row 1", "id")}


def test_a_short_row_is_told(edited):
    path = edited.folder / "front.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[3] = lines[3].rpartition(",")[0]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert ("front.csv", "row 3", None) in refused_of(edited)


def test_a_row_that_stands_there_twice_is_told(edited):
    edited.front([*edited.rows, edited.rows[3]])
    assert ("front.csv", edited.rows[3]["id"], "id") in refused_of(edited)


def test_a_row_doubled_under_another_id_is_told(edited):
    row = edited.rows[0]
    text = edited.build_up(row["id"]).read_text(encoding="utf-8")
    edited.build_up("W110-999").write_text(text.replace(row["id"], "W110-999"), encoding="utf-8")
    edited.front([*edited.rows, row | {"id": "W110-999"}])
    assert ("front.csv", "W110-999", None) in refused_of(edited)
    assert any("is the same wall as" in each.reason for each in verify(edited.folder).refused)


def test_a_beaten_row_with_right_figures_and_a_file_of_its_own_is_told(edited, choices):
    edited.add(choices, added(edited, lambda cost, u_value: cost * (u_value <= 0.11)), "W110-998")
    assert refused_of(edited) == {("front.csv", "W110-998", None)}
    assert "is beaten by" in verify(edited.folder).refused[-1].reason


def test_a_wall_that_misses_its_target_is_told(edited, choices):
    edited.add(choices, added(edited, lambda cost, u_value: u_value), "W110-997")
    assert ("front.csv", "W110-997", "u_value") in refused_of(edited)


def added(edited: Edited, largest: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> np.ndarray:
    """The wall of the whole space for which something is largest."""
    from optimiser.brief.brief import read_brief

    whole = small.listed(read_brief(edited.folder / "brief.toml"), edited.folder)
    return whole.x[np.argmax(largest(whole.scores.cost_per_m2, whole.scores.u_value))]


def test_an_invented_wall_without_a_file_is_told(edited):
    row = edited.rows[0] | {"id": "W110-996", "cost_per_m2": "1.0", "thickness_mm": "200"}
    edited.front([*edited.rows, row])
    assert ("buildups/W110-996.toml", "W110-996", None) in refused_of(edited)


@pytest.mark.parametrize(
    ("text", "instead", "column"),
    [
        ('role = "gap"', 'role = "void"', "gap"),
        ("thickness_mm = 12.5", "thickness_mm = 15.0", "lining"),
        ('product = "a-2"', 'product = "a-1"', "airtight layer"),
        ("spacing_mm = 600.0", "spacing_mm = 625.0", "outer frame"),
        ("outdoor_rh_percent = [\n    86", "outdoor_rh_percent = [\n    85", "conditions"),
        ("conductivity_w_mk = 0.034", "conductivity_w_mk = 0.030", "materials.f-gw"),
        ("name = ", "names = ", None),
        ("[[layer]]", "[[layer", None),
    ],
)
def test_an_edited_build_up_file_is_told(edited, choices, text, instead, column):
    row = next(row for row in edited.rows if row["outer fill"] == "f-gw" and row["airtight layer"] == "a-2")
    path = edited.build_up(row["id"])
    before = path.read_text(encoding="utf-8")
    assert text in before
    path.write_text(before.replace(text, instead), encoding="utf-8")
    assert (f"buildups/{path.name}", row["id"], column) in refused_of_row(edited, choices, edited.rows.index(row))


def test_a_missing_build_up_file_is_told(edited):
    edited.build_up(edited.rows[4]["id"]).unlink()
    assert refused_of(edited) == {(f"buildups/{edited.rows[4]['id']}.toml", edited.rows[4]["id"], None)}


def test_build_up_files_changed_for_one_another_are_told(edited):
    one, other = (edited.build_up(edited.rows[at]["id"]) for at in (0, 1))
    first, second = one.read_bytes(), other.read_bytes()
    one.write_bytes(second)
    other.write_bytes(first)
    assert {edited.rows[0]["id"], edited.rows[1]["id"]} <= {row for _, row, _ in refused_of(edited)}


def test_a_build_up_file_of_no_row_is_told(edited):
    edited.build_up("W110-995").write_bytes(edited.build_up(edited.rows[0]["id"]).read_bytes())
    assert refused_of(edited) == {("buildups/W110-995.toml", None, None)}


def test_many_rows_are_rebuilt_in_processes_and_told_alike(edited, monkeypatch):
    for at in (0, 3):
        edited.rows[at]["weight_kg_m2"] = "1"
    edited.front(edited.rows)
    here = verify(edited.folder)
    monkeypatch.setattr(rebuilding, "FEW", 0)
    monkeypatch.setattr(rebuilding, "TOGETHER", 3)
    assert verify(edited.folder) == here
    assert named(here.refused) == {("front.csv", edited.rows[at]["id"], "weight_kg_m2") for at in (0, 3)}


def test_a_row_taken_off_with_all_that_belongs_to_it_is_missed(edited):
    """Nothing that is left contradicts itself: the small space is gone through whole, and names the wall."""
    gone = edited.rows.pop(2)
    edited.build_up(gone["id"]).unlink()
    edited.front(edited.rows)
    edited.write("equals.csv", [row for row in edited.table("equals.csv") if row["id"] != gone["id"]])
    opinion = verify(edited.folder)
    assert not opinion.refused and not opinion.agrees
    assert [(each["target"], each["cost_per_m2"]) for each in opinion.missed] == [
        (float(gone["target"]), float(gone["cost_per_m2"]))
    ]


def test_all_rows_of_a_target_taken_off_are_missed(edited):
    """A target without a row is looked at too."""
    edited.front([row for row in edited.rows if row["target"] == "0.11"])
    assert {each["target"] for each in verify(edited.folder).missed} == {0.13}


def test_equal_walls_are_held_to_their_row(edited):
    rows = edited.table("equals.csv")
    edited.write("equals.csv", [*rows, rows[0]])
    assert ("equals.csv", rows[0]["id"], None) in refused_of(edited)
    edited.write("equals.csv", [rows[0] | {"sheathing": "o-99"}, *rows[1:]])
    assert ("equals.csv", rows[0]["id"], "sheathing") in refused_of(edited)
    edited.write("equals.csv", [rows[0] | {"id": "W110-990"}, *rows[1:]])
    assert ("equals.csv", "W110-990", "id") in refused_of(edited)
    (edited.folder / "equals.csv").unlink()
    assert ("front.csv", rows[0]["id"], "equal_count") in refused_of(edited)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda summary: summary.update(complete=False), "complete"),
        (lambda summary: summary.update(complete=1), "complete"),
        (lambda summary: summary.pop("complete"), "complete"),
        (lambda summary: summary.update(front_size=summary["front_size"] + 1), "front_size"),
        (lambda summary: summary["proof"][0].update(share=0.5), "complete"),
        (lambda summary: summary["proof"][0].update(evaluated=summary["proof"][0]["evaluated"] + 1), "proof"),
        (lambda summary: summary["proof"].pop(), "complete"),
        (lambda summary: summary["proof"][1].update(target=0.2), "proof"),
        (lambda summary: summary.update(proof="all of it"), "proof"),
        (lambda summary: summary["proof"][0].update(share=float("nan")), "proof"),
        (lambda summary: summary.update(space_size=summary["space_size"] - 1), "space_size"),
        (lambda summary: summary.update(targets=[0.11]), "targets"),
        (lambda summary: summary.update(objectives=["cost_per_m2"]), "objectives"),
        (lambda summary: summary["options"].update(gap=3), "options"),
        (lambda summary: summary.update(catalogue="of another day"), "catalogue"),
        (lambda summary: summary["price_lists"].update({"toy.csv": "0"}), "price_lists"),
    ],
)
def test_an_account_that_does_not_fit_is_told(edited, choices, change, key):
    digests = pricing_of(choices.brief, edited.folder, choices.catalogue)[1]
    edited.account(change)
    summary = json.loads((edited.folder / "study.json").read_text(encoding="utf-8"))
    assert ("study.json", None, key) in named(account(summary, choices, digests, space_size(choices), len(edited.rows)))


def test_complete_set_false_is_told(edited):
    edited.account(lambda summary: summary.update(complete=False))
    assert refused_of(edited) == {("study.json", None, "complete")}


def test_a_proof_that_ended_early_is_not_complete(edited):
    """complete true against a share of less than all, with counts that fit that share."""

    def early(summary):
        proof = summary["proof"][0]
        most = max(proof["excluded"], key=proof["excluded"].get)
        proof["excluded"][most] -= 1
        proof["share"] = 1 - 1 / summary["space_size"]

    edited.account(early)
    assert refused_of(edited) == {("study.json", None, "complete")}


def test_an_edited_price_list_is_told(edited):
    (path,) = (edited.folder / "prices").iterdir()
    path.write_text(path.read_text(encoding="utf-8").replace("5.30", "5.20"), encoding="utf-8")
    assert ("study.json", None, "price_lists") in refused_of(edited)


def test_the_command_ends_with_1_and_names_row_and_column(study, edited):
    from typer.testing import CliRunner

    from optimiser.command.cli import app

    well = CliRunner().invoke(app, ["verify", str(study)])
    assert well.exit_code == 0
    assert "a proof, as these are all there are" in well.stdout
    assert "shared with the search: how the figures and checks of a wall are worked out" in well.stdout
    edited.cell(2, "cost_per_m2", "12.5")
    words = CliRunner().invoke(app, ["verify", str(edited.folder)])
    assert words.exit_code == 1
    assert f'front.csv, {edited.rows[2]["id"]}, column cost_per_m2: "12.5" where the build-up gives' in words.stdout
    ended = CliRunner().invoke(app, ["verify", str(edited.folder), "--json"])
    assert ended.exit_code == 1
    (refused,) = json.loads(ended.stdout)["refused"]
    assert (refused["row"], refused["column"]) == (edited.rows[2]["id"], "cost_per_m2")


def test_whole_life_carbon_as_an_objective_is_verified(tmp_path):
    study = tiny_study(
        tmp_path / "whole",
        operation={"heat_source": "heat pump"},
        objectives={"minimise": ["thickness_mm", WHOLE_LIFE]},
    )
    assert verify(study).agrees
    edited = Edited(study, tmp_path)
    choices = edited.choices()
    for row in edited.rows:
        row[WHOLE_LIFE] = repr(float(row["carbon_kgco2e_m2"]) + choices.operational * float(row["u_value"]))
    edited.front(edited.rows)
    assert verify(edited.folder).agrees
    edited.cell(1, WHOLE_LIFE, other_number(edited.rows[1][WHOLE_LIFE]))
    assert refused_of(edited) == {("front.csv", edited.rows[1]["id"], WHOLE_LIFE)}
