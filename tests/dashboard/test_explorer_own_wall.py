"""The wall of today in the browser: put beside the front, kept, laid beside walls of the front, found again."""

from __future__ import annotations

import pytest
from looking import at_rest, until
from serving import answering
from test_own_walls import TODAY

from dashboard.wall.my_wall import own_id

pytestmark = pytest.mark.browser

NAME = "the wall we build today"
LINES = "document.querySelectorAll('#shortlist-rows tbody tr').length"
HEADS = "[...document.querySelectorAll('#compare-table thead th')].map(each => each.textContent)"


def test_the_wall_of_today_is_kept_and_compared_with_walls_of_the_front(own, page, chromium, tmp_path):
    from dashboard.workspace import Workspace

    file = tmp_path / "today.toml"
    file.write_text(TODAY, encoding="utf-8")
    first, last = (own.source(None).rows[number]["id"] for number in (0, -1))
    with answering(own) as address:
        page.goto(address)
        page.wait_for_selector("#plot .scatterlayer .point")
        at_rest(page)
        page.set_input_files("#mine-file input[type=file]", str(file))
        until(page, f"document.querySelector('#wall-name').textContent.includes('My wall: {NAME}')")
        until(page, "document.querySelector('#keep').textContent == 'Keep in shortlist'")
        page.click("#keep")
        until(page, f"{LINES} == 1")
        page.fill("#keep-note", "as on our last three sites")
        page.press("#keep-note", "Tab")  # a page whose reader writes waits for no news
        until(page, f"document.querySelector('#undo').textContent == 'Undo: the note on {NAME}'")
        for wall in (first, last):
            own.decisions.keep(None, wall)
        until(page, f"{LINES} == 3")
        page.click("#compare-link")
        until(page, f"({HEADS}).length == 3")
        assert page.evaluate(HEADS) == [NAME, first, last]
        page.locator("#compare-choose input").nth(2).click()  # and the address names who is left
        until(page, f"location.search.includes('walls={own_id(TODAY)},{first}')")
        sent = page.url
        until(page, f"({HEADS}).length == 2")
        told = page.inner_text("#compare-table")
        assert "339" in told and "fails by" in told
        page.goto("about:blank")
    with answering(Workspace(own.source(None).study.folder, own.jobs.home)) as again:
        context = chromium.new_context(viewport={"width": 1280, "height": 720})
        try:
            other = context.new_page()
            other.goto(again + sent[sent.index("/?") :])
            until(other, f"({HEADS}).length == 2")
            assert other.evaluate(HEADS) == [NAME, first]
            until(other, "document.querySelector('#compare-note-0').value == 'as on our last three sites'")
            other.click("#view-front")
            until(other, f"{LINES} == 3")
            other.get_by_role("button", name=NAME, exact=True).click()
            until(other, f"document.querySelector('#wall-name').textContent.includes('My wall: {NAME}')")
            until(other, "document.querySelector('#keep').textContent == 'Kept · take off'")
            assert "misses the target" in other.inner_text("#mine-words")
            other.click("#keep")
            until(other, f"{LINES} == 2")
            other.click("#undo")
            until(other, f"{LINES} == 3")
        finally:
            context.close()
