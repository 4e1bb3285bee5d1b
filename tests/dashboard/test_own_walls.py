"""Walls of one's own on the shortlist and side by side with walls of the front."""

from __future__ import annotations

import json

import pytest

from dashboard.choosing import columns, compare, compare_figures, decision_file, shortlist
from dashboard.choosing.decisions import FILE, Decisions
from dashboard.choosing.keeping import put_beside, shown_id, toggle_own
from dashboard.wall.my_wall import LARGEST_FILE, MINE, OTHERS, is_own, own_id, row_of, same_as, same_words, slots_of
from dashboard.wall.my_wall_part import own_words
from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.house.house import house_totals
from optimiser.wall.buildup import to_toml

TODAY = """
name = "the wall we build today"
outside = "vented"
[[layer]]
role = "cladding"
material = "larch-cladding"
thickness_mm = 24
[[layer]]
role = "ventilated space"
material = "air"
thickness_mm = 38
frame = { material = "softwood-batten", width_mm = 50, spacing_mm = 600 }
[[layer]]
role = "sheathing"
material = "osb"
thickness_mm = 12
[[layer]]
role = "outer frame"
material = "blown-cellulose"
thickness_mm = 240
frame = { material = "softwood-c24", width_mm = 45, spacing_mm = 600 }
[[layer]]
role = "second lining"
material = "plasterboard"
thickness_mm = 12.5
[[layer]]
role = "lining"
material = "plasterboard"
thickness_mm = 12.5
"""


def text_of(component) -> str:
    """All words of a component."""
    if component is None or isinstance(component, str | int | float):
        return str(component or "")
    if isinstance(component, list | tuple):
        return " ".join(text_of(each) for each in component)
    return text_of(getattr(component, "children", None))


def called(decisions) -> list[str]:
    return [each.called for each in decisions.board().shortlist]


@pytest.fixture
def decisions(tmp_path):
    return Decisions(tmp_path / "runs")


# On disk


def test_ones_own_wall_is_kept_with_its_file_and_read_by_another_process(decisions, tmp_path):
    decisions.keep(None, "W-1")
    decisions.keep_own("0003", TODAY, "  the wall\nwe build today ")
    wall = own_id(TODAY)
    decisions.note("0003", wall, "what we know")
    board = Decisions(tmp_path / "runs").board()
    kept = board.shortlist[1]
    assert (kept.run, kept.wall, kept.called, kept.note) == ("0003", wall, "the wall we build today", "what we know")
    assert board.build_up("0003", wall) == TODAY
    assert board.build_up(None, wall) is None  # kept under another run alone
    assert board.undo == "the note on the wall we build today"
    assert is_own(wall) and not is_own("W-1") and not is_own(MINE)


def test_several_have_names_and_no_two_the_same(decisions):
    for number in range(3):
        decisions.keep_own(None, TODAY + f"# {number}", "ours")
    decisions.keep_own(None, TODAY + "# 0", "ours")  # is there already
    decisions.keep_own(None, TODAY + "# 3", "\x00")
    assert called(decisions) == ["ours", "ours (2)", "ours (3)", "my wall"]
    decisions.keep_own("0001", TODAY + "# 0", "ours")  # the same wall by another search: told apart by that
    assert called(decisions)[-1] == "ours"


def test_undo_and_redo_bring_the_file_back_and_a_file_nobody_needs_goes(decisions):
    wall = own_id(TODAY)
    decisions.keep_own(None, TODAY, "ours")
    assert decisions.undo() == "keeping ours"
    assert decisions.board().build_up(None, wall) is None
    assert decisions.redo() == "keeping ours"
    decisions.drop(None, wall)
    assert decisions.undo() == "taking ours off"
    assert decisions.board().build_up(None, wall) == TODAY
    decisions.drop(None, wall)
    for _ in range(decision_file.STEPS_KEPT // 2):
        decisions.keep(None, "W-1")
        decisions.drop(None, "W-1")
    assert decisions.board().build_ups == {}


def test_a_file_of_before_is_read(tmp_path):
    kept = {"run": None, "wall": "W-012", "note": "thin", "at": "2026-01-01T00:00:00+00:00"}
    step = {"words": "keeping W-012", "kind": "kept", "run": None, "name": "W-012", "before": None, "after": kept}
    old = {"version": 7, "kept": [kept], "limit_sets": {}, "undo": [step], "redo": [], "set_aside": ""}
    (tmp_path / FILE).write_text(json.dumps(old), encoding="utf-8")
    decisions = Decisions(tmp_path)
    assert decisions.board().trouble == ""
    decisions.keep_own(None, TODAY, "ours")
    assert called(decisions) == ["W-012", "ours"]
    assert (decisions.undo(), decisions.undo()) == ("keeping ours", "keeping W-012")


@pytest.mark.parametrize(
    "build_ups",
    [
        {"mine-000000000000": TODAY},
        {"../x": TODAY},
        {own_id(TODAY): 5},
        {own_id("x" * (LARGEST_FILE + 1)): "x" * (LARGEST_FILE + 1)},
        {"mine-000000000000": "\ud800"},
        [TODAY],
    ],
)
def test_a_file_with_a_build_up_that_cannot_be_is_set_aside(tmp_path, build_ups):
    (tmp_path / FILE).write_text(json.dumps({"build_ups": build_ups}), encoding="utf-8")
    assert "set aside" in Decisions(tmp_path).board().trouble


def test_sizes_are_bounded_and_the_oldest_steps_give_way(decisions, monkeypatch):
    with pytest.raises(InputError, match="200 kB"):
        decisions.keep_own(None, "#" * (LARGEST_FILE + 1), "too large")
    with pytest.raises(InputError, match="no text"):
        decisions.keep_own(None, "\ud800", "half a sign")
    monkeypatch.setattr(decision_file, "MOST_TEXT", 4 * decision_file.size_of(TODAY + "# 0"))
    for number in range(3):
        decisions.keep_own(None, TODAY + f"# {number}", "ours")
        decisions.drop(None, own_id(TODAY + f"# {number}"))
    for number in range(3, 6):
        decisions.keep_own(None, TODAY + f"# {number}", "ours")
    board = decisions.board()
    assert len(board.shortlist) == 3 and len(board.build_ups) == 4
    assert {each.wall for each in board.shortlist} <= set(board.build_ups)
    decisions.keep_own(None, TODAY + "# 6", "ours")
    version = decisions.board().version
    with pytest.raises(InputError, match="take one off first"):
        decisions.keep_own(None, TODAY + "# 7", "ours")
    assert decisions.board().version == version


# Judged and laid beside


def test_a_build_up_file_of_the_front_holds_in_its_slots_what_the_front_says(own):
    study = own.source(None).study
    for row in study.rows[:: max(len(study.rows) // 12, 1)]:
        text = to_toml(study.buildup(row["id"]), load_catalogue())
        found = slots_of(own.own_wall(text, "a file", None), study.pricing.products)
        for place in compare.COLUMNS:
            assert found.get(place, "none") == (row[place] or "none")


def test_a_layer_that_names_no_product_is_the_one_that_prices_it_and_else_its_words(own):
    products = own.source(None).study.pricing.products
    judged = own.own_wall(TODAY, "a file", None)
    found = slots_of(judged, products)
    for place, number in (("cladding", 0), ("sheathing", 2), ("lining", 5)):
        product, told = products[found[place]], judged.layers[number]
        assert (product.name, product.supplier) == (told.product, told.supplier)
    assert found["ventilated space"].endswith(" @600")
    assert found["outer frame"].endswith("45×240")  # no list has it
    assert products[found["outer fill"]].name == "blown cellulose"
    name = load_catalogue().get("plasterboard").name.split(",")[0]
    assert found[OTHERS] == f"second lining: {name} 12.5"
    assert slots_of(judged, {})["lining"] == f"{name} 12.5"


def laid(own, *walls: str) -> list[columns.WallColumn]:
    return columns.columns(own, [f":{each}" for each in walls], own.decisions.board())


def test_ones_own_wall_is_laid_beside_walls_of_the_front(own):
    source = own.source(None)
    first, last = source.rows[0]["id"], source.rows[-1]["id"]
    own.decisions.keep_own(None, TODAY, "ours")
    ours, *others = laid(own, own_id(TODAY), first, last)
    judged = own.own_wall(TODAY, "ours", None)
    assert (ours.name, ours.on_shortlist, ours.row["target"]) == ("ours", True, others[0].row["target"])
    figures = {each.name: each for each in compare.per_m2([ours, *others], "EUR")}
    assert figures["thickness"].values[0] == "339.0"
    assert figures["thickness"].differences[1] == compare.difference(others[0].row["thickness_mm"], 339.0, 1)
    assert figures["carbon"].values[0] == compare.shown(judged.carbon_kgco2e_m2, 1)
    assert figures["cost"].values[0] == "–" and set(figures["cost"].differences[1:]) == {"–"}  # it names no products
    assert "no price is known of" in text_of(compare_figures.name(ours, ours, "EUR"))
    totals = house_totals(source.brief.house, 339.0, u_value=judged.u_value)
    assert ours.totals.heat_loss_w_k == pytest.approx(totals.heat_loss_w_k)
    assert ours.totals.floor_area_lost_m2 == pytest.approx(totals.floor_area_lost_m2)
    heat = next(each for each in compare.judgement_rows([ours, *others]) if each.name == "heat").cells
    assert heat[0].words.startswith("fails by") and heat[1].words == "passes"
    slots = {each.name: each.cells for each in compare.contents([ours, *others])}
    assert slots["outer frame"][1].state == "differs"
    assert slots[OTHERS][1].said == "left out"
    drawn = compare_figures.drawings([ours, *others])
    assert len(drawn) == 3 and all(each.startswith("<svg") for each in drawn)
    assert compare_figures.table([ours, *others], "EUR").className == "compare of-3"


def test_alone_among_its_own_it_is_held_to_the_first_target_of_the_brief(own):
    own.decisions.keep_own(None, TODAY, "ours")
    (ours,) = laid(own, own_id(TODAY))
    assert ours.row["target"] == own.source(None).brief.target.u_value


def test_one_that_is_gone_or_no_longer_reads_is_told_and_hinders_nothing(own):
    broken = "name = "
    own.decisions.keep_own(None, broken, "broken")
    wall, first = own_id(broken), own.source(None).rows[0]["id"]
    board = own.decisions.board()
    assert [each.wall for each in laid(own, wall, "mine-123456789abc", first)] == [first]
    assert columns.called(board, f":{wall}") == "broken"
    assert columns.called(board, ":mine-123456789abc") == "a wall of one’s own"
    assert columns.gone_words(board, [":W-9"]) == "W-9: no longer on this front."
    assert "no longer on the shortlist" in columns.gone_words(board, [":mine-123456789abc"])
    assert "its file no longer reads" in text_of(shortlist.rows(board, own, None))
    assert columns.read_walls(f"?walls={wall},{first}") == [f":{wall}", f":{first}"]


def test_the_strip_tells_figures_of_ones_own_and_of_which_search(own):
    own.decisions.keep_own(None, TODAY, "ours")
    own.decisions.keep_own("0007", TODAY, "ours")  # of a search that is gone: judged by the study
    board = own.decisions.board()
    said = text_of(shortlist.rows(board, own, None))
    assert said.count("339") == 2
    assert "ours of search 7" in said
    assert "2 of your own" in shortlist.count_words(board)


def test_the_button_keeps_what_stands_beside_the_front_and_the_strip_puts_it_back(own):
    mine = {"text": TODAY, "file": "today.toml"}
    assert shown_id(MINE, mine) == own_id(TODAY)
    assert shown_id(MINE, None) is None
    assert shown_id("W-1", mine) == "W-1"
    toggle_own(own, None, mine)
    assert called(own.decisions) == ["the wall we build today"]
    back = put_beside(own, None, own_id(TODAY))
    assert (back["text"], back["row"]["thickness_mm"]) == (TODAY, 339.0)
    toggle_own(own, None, mine)
    assert called(own.decisions) == []
    with pytest.raises(InputError, match=r"broken\.toml"):
        toggle_own(own, None, {"text": "name = ", "file": "broken.toml"})


# Against the front


@pytest.fixture
def rows(own):
    return own.source(None).rows


def test_a_wall_of_the_front_put_beside_it_is_that_wall_and_beaten_by_none(own, rows):
    study = own.source(None).study
    for row in rows[:: max(len(rows) // 12, 1)]:
        judged = own.own_wall(to_toml(study.buildup(row["id"]), load_catalogue()), "a file", None)
        mine = row_of(judged, None)
        assert same_as(mine, rows)["id"] == row["id"]
        said = text_of(own_words(mine, rows, row["target"], "EUR"))
        assert f" It is  {row['id']}  of the front." in said
        assert "No wall of the front beats it" in said


def test_scores_are_compared_in_whole_steps(rows):
    noise = {**rows[0], "id": MINE, "name": "ours", "unpriced": [], "cost_per_m2": rows[0]["cost_per_m2"] + 3e-12}
    assert same_as(noise, rows)["id"] == rows[0]["id"]
    dearer = {**noise, "cost_per_m2": noise["cost_per_m2"] + 0.0003}
    assert same_as(dearer, rows) is None
    said = text_of(own_words(dearer, rows, rows[0]["target"], "EUR"))
    assert "1 wall of the front beats it" in said
    assert "€0.0003 per m² cheaper" in said and "equal in thickness" in said


def test_a_wall_is_another_with_another_u_and_unknown_where_its_cost_is(rows):
    assert same_as({**rows[0], "u_value": rows[0]["u_value"] + 1e-5}, rows) is None
    assert same_as({**rows[0], "cost_per_m2": None}, rows) is None


def test_of_several_equal_walls_it_may_be_another():
    assert "".join(same_words({"equal_count": 1})) == "It is  of the front."
    assert "".join(same_words({"equal_count": 3})) == "It equals  of the front in every figure."
