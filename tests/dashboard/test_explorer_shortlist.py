"""Keeping walls on the front: the button, the note, the strip, undo, a second browser, a reload, the keyboard."""

from __future__ import annotations

import pytest
from looking import at_rest, until

from dashboard.choosing import shortlist
from dashboard.choosing.decisions import Board, Decisions, ShortlistEntry
from dashboard.choosing.keeping import back_words, decide, keep, standing_out, toggle, without, write_notes
from materials.errors import InputError
from optimiser.search.landmarks import best_in


def text_of(component) -> str:
    """All words of a component."""
    if component is None or isinstance(component, str | int | float):
        return str(component or "")
    if isinstance(component, list | tuple):
        return " ".join(text_of(each) for each in component)
    return text_of(getattr(component, "children", None))


def test_a_wall_is_kept_and_taken_off_by_the_same_button(own):
    wall = own.source(None).rows[0]["id"]
    toggle(own, None, wall)
    assert [each.wall for each in own.decisions.board().shortlist] == [wall]
    toggle(own, None, wall)
    assert own.decisions.board().shortlist == ()


def test_only_walls_of_the_front_are_kept(own):
    with pytest.raises(InputError, match="no wall W-99999"):
        keep(own, None, "W-99999")
    with pytest.raises(InputError, match="no wall"):
        keep(own, "0009", own.source(None).rows[0]["id"])
    version, said = decide(own, lambda: keep(own, None, "mine"))
    assert version == 0
    assert "no wall mine" in said


def test_those_that_stand_out_are_the_least_of_each_figure(own):
    rows = own.source(None).rows
    found = standing_out(own, None, None)
    assert found[0] == best_in(rows, "thickness_mm")["id"]
    assert set(found) == {best_in(rows, key)["id"] for key in ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")}


def test_the_strip_tells_figures_notes_and_walls_that_are_gone(own):
    row = own.source(None).rows[0]
    board = Board(
        1, (ShortlistEntry(run=None, wall=row["id"], note="<b>thin</b>"), ShortlistEntry(run="0007", wall="W-001"))
    )
    said = text_of(shortlist.rows(board, own, None))
    assert f"{row['carbon_kgco2e_m2']:.1f}" in said
    assert f"{row['cost_per_m2']:.1f}" in said
    assert "<b>thin</b>" in said
    assert "W-001 of search 7" in said
    assert "no longer on this front" in said
    assert shortlist.rows(Board(0), own, None) == []


def test_the_strip_says_how_to_keep_and_how_many_are_kept():
    one = ShortlistEntry(run=None, wall="W-001")
    assert "Keep in shortlist" in shortlist.count_words(Board(0))
    assert "Keep another" in shortlist.count_words(Board(1, (one,)))
    assert shortlist.count_words(Board(1, (one, ShortlistEntry(run=None, wall="W-002")))).startswith("2 walls")


def test_the_strip_counts_only_walls_that_the_plot_shows(own):
    rows = own.source(None).rows
    here = [ShortlistEntry(run=None, wall=row["id"]) for row in rows[:2]]
    board = Board(1, (*here, ShortlistEntry(run="0007", wall=rows[0]["id"]), ShortlistEntry(run=None, wall="W-9999")))
    assert shortlist.ringed(board, own, None) == [each.wall for each in here]
    assert shortlist.count_words(board, 2) == "4 walls; 2 of them on this front: ringed in the plot, bold in the table."
    assert shortlist.count_words(board, 4) == "4 walls, ringed in the plot, bold in the table."
    assert shortlist.count_words(board, 0) == "4 walls; none of them on this front."


def test_the_way_back_is_said_and_hidden_where_there_is_none():
    assert back_words(Board(1, undo="keeping W-1")) == ("Undo: keeping W-1", False, "Redo: ", True)


def test_a_wall_taken_off_leaves_the_comparison_too():
    assert without([":W-1", ":W-2"], ":W-1") == [":W-2"]
    assert without([":W-1"], ":W-1") is None
    assert without(None, ":W-1") is None


# In the browser


def opened(page, address: str, query: str = ""):
    page.goto(f"{address}/{query}")
    page.wait_for_selector("#keep-part:not([hidden])")
    page.wait_for_selector("#plot .scatterlayer .point")
    until(page, "document.querySelector('#shortlist-count').textContent.length > 0")
    return page


def choose(page, wall: str) -> None:
    page.evaluate("wall => window.dash_clientside.set_props('wall', {data: wall})", wall)
    until(page, f"document.querySelector('#wall-name').textContent.includes({wall!r})")


def kept_walls(page) -> list[str]:
    return page.locator("#shortlist-rows tbody tr td:first-child").all_inner_texts()


def keep_wall(page, wall: str, count: int) -> None:
    choose(page, wall)
    until(page, "document.querySelector('#keep').textContent == 'Keep in shortlist'")
    page.click("#keep")
    until(page, f"document.querySelectorAll('#shortlist-rows tbody tr').length == {count}")


@pytest.mark.browser
def test_three_walls_are_kept_noted_undone_and_still_there_after_a_reload(own, own_address, page):
    rows = own.source(None).rows
    walls = [rows[0]["id"], rows[len(rows) // 2]["id"], rows[-1]["id"]]
    opened(page, own_address)
    assert "Nothing kept yet" in page.inner_text("#shortlist-count")
    assert not page.is_visible("#undo")
    for count, wall in enumerate(walls, 1):
        keep_wall(page, wall, count)
    assert kept_walls(page) == walls
    until(page, "document.querySelector('#view-compare').textContent == 'side by side (3)'")
    assert page.inner_text("#keep") == "Kept · take off"
    page.fill("#keep-note", "lowest in carbon, but <thick>")
    page.press("#keep-note", "Enter")
    until(page, "document.querySelector('#shortlist-rows').textContent.includes('but <thick>')")
    page.locator("#shortlist-rows tbody tr").nth(1).get_by_text("take off").click()
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 2")
    until(page, f"document.querySelector('#undo').textContent == 'Undo: taking {walls[1]} off'")
    page.click("#undo")
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 3")
    assert kept_walls(page) == walls
    page.reload()
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 3")
    until(page, "document.documentElement.dataset.open == 'yes'")
    assert kept_walls(page) == walls
    assert "but <thick>" in page.inner_text("#shortlist-rows")
    until(page, "document.querySelector('#keep-note')?.value == 'lowest in carbon, but <thick>'")


@pytest.mark.browser
def test_keeping_asks_nothing_of_the_plot_and_marks_the_table(own, own_address, page):
    opened(page, own_address)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.post_data or ""))
    wall = page.inner_text("#wall-name").split()[1].rstrip(",")
    page.click("#keep")
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 1")
    assert not [each for each in asked if '"id":"canvas"' in each or '"id":"table","property":"rowData"' in each]
    cell = f'#table .ag-row[row-id="{wall}"] [col-id="id"]'
    until(page, f"getComputedStyle(document.querySelector({cell!r})).fontWeight == '700'")
    page.click("#keep")
    until(page, f"getComputedStyle(document.querySelector({cell!r})).fontWeight == '400'")


@pytest.mark.browser
def test_a_line_of_the_strip_leads_to_its_wall(own, own_address, page):
    rows = own.source(None).rows
    own.decisions.keep(None, rows[0]["id"])
    opened(page, own_address)
    choose(page, rows[-1]["id"])
    page.click("#shortlist-rows tbody td:first-child button")
    until(page, f"document.querySelector('#wall-name').textContent.includes({rows[0]['id']!r})")
    until(page, "document.querySelector('#keep').textContent == 'Kept · take off'")


@pytest.mark.browser
def test_a_second_browser_sees_what_the_first_decides(own, own_address, page, chromium):
    opened(page, own_address)
    context = chromium.new_context(viewport={"width": 1280, "height": 720})
    try:
        other = opened(context.new_page(), own_address)
        page.click("#keep")
        until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 1")
        until(other, "document.querySelectorAll('#shortlist-rows tbody tr').length == 1", 10)
        other.click("#undo")
        until(other, "document.querySelectorAll('#shortlist-rows tbody tr').length == 0")
        until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 0", 10)
        until(page, "document.querySelector('#keep').textContent == 'Keep in shortlist'")
    finally:
        context.close()


@pytest.mark.browser
def test_a_damaged_file_is_told_on_the_page(own, own_address, page):
    own.jobs.home.mkdir(parents=True)
    (own.jobs.home / "decisions.json").write_text("{", encoding="utf-8")
    opened(page, own_address)
    until(page, "document.querySelector('#shortlist-words').textContent.includes('set aside as decisions-damaged-')")


def tab_to(page, name: str, most: int = 120, key: str = "Tab") -> None:
    for _ in range(most):
        if page.evaluate("document.activeElement.id") == name:
            return
        page.keyboard.press(key)
    raise AssertionError(f"{name} is not reached")


@pytest.mark.browser
def test_keeping_and_comparing_go_by_the_keyboard_alone(own, own_address, page):
    opened(page, own_address)
    tab_to(page, "keep")
    page.keyboard.press("Enter")
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 1")
    tab_to(page, "keep-note")
    page.keyboard.type("balanced")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('#shortlist-rows').textContent.includes('balanced')")
    before = page.inner_text("#wall-name")
    for _ in range(60):  # on to the first step along the front
        if page.evaluate("document.activeElement.classList.contains('step')"):
            break
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    until(page, f"document.querySelector('#wall-name').innerText != {before!r}")
    until(page, "document.querySelector('#keep').textContent == 'Keep in shortlist'")
    tab_to(page, "keep", key="Shift+Tab")
    page.keyboard.press("Enter")
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 2")
    tab_to(page, "compare-link", key="Shift+Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("#compare-table tr")
    assert "view=compare" in page.url
    tab_to(page, "undo-compare")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('#compare-empty-head')?.textContent.startsWith('One wall is kept')")


@pytest.mark.browser
def test_what_is_typed_while_a_note_is_on_its_way_is_neither_lost_nor_overwritten(own, own_address, page):
    opened(page, own_address)
    page.click("#keep")
    page.wait_for_selector("#keep-note")
    wall = own.decisions.board().shortlist[0].wall
    held: list = []

    def is_note(request) -> bool:
        return '"changedPropIds":["written.data"]' in (request.post_data or "")

    def hold(route) -> None:
        if is_note(route.request) and not held:
            held.append(route)
        else:
            route.continue_()

    page.route("**/_dash-update-component**", hold)
    page.focus("#keep-note")
    page.keyboard.type("thin")
    with page.expect_request(is_note):
        page.keyboard.press("Enter")
    page.keyboard.type("nest")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('#shortlist-rows').textContent.includes('thinnest')")
    page.keyboard.type(", and ")
    held[0].continue_()
    at_rest(page)
    assert page.input_value("#keep-note") == "thinnest, and "
    page.keyboard.type("cheap")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('#shortlist-rows').textContent.includes('thinnest, and cheap')")
    assert own.decisions.board().find(None, wall).note == "thinnest, and cheap"


@pytest.mark.browser
def test_a_note_goes_to_the_wall_it_was_typed_for(own, own_address, page):
    rows = own.source(None).rows
    opened(page, own_address)
    keep_wall(page, rows[0]["id"], 1)
    page.wait_for_selector("#keep-note")
    page.focus("#keep-note")
    page.keyboard.type("of the first")
    choose(page, rows[-1]["id"])  # without leaving the field
    until(page, f"document.querySelector('#wall-name').textContent.includes({rows[-1]['id']!r})")
    page.click("#keep")
    until(page, "document.querySelectorAll('#shortlist-rows tbody tr').length == 2")
    at_rest(page)
    notes = {each.wall: each.note for each in own.decisions.board().shortlist}
    assert notes[rows[-1]["id"]] == ""


def test_notes_are_written_in_order_and_a_wall_that_is_gone_is_told(own):
    wall = own.source(None).rows[0]["id"]
    keep(own, None, wall)
    version, last, said = write_notes(own, [[1, f":{wall}", "thin"], [2, f":{wall}", " thin  and\ndear "]])
    assert (version, last, said) == (own.decisions.board().version, 2, "")
    assert own.decisions.board().find(None, wall).note == "thin and dear"
    assert write_notes(own, [[2, f":{wall}", "thin and dear"]])[0] == version  # nothing new
    _, last, said = write_notes(own, [[3, ":W-9999", "gone"], [4, f":{wall}", "dear"]])
    assert last == 4
    assert "W-9999 is no longer on the shortlist" in said
    assert own.decisions.board().find(None, wall).note == "dear"


def test_the_fixture_has_decisions_of_its_own(own, workspace):
    assert isinstance(own.decisions, Decisions)
    assert own.jobs.home != workspace.jobs.home
