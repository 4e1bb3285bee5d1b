"""The view of walls side by side in the browser: its states, choosing, notes, addresses, sizes and paper."""

from __future__ import annotations

import csv
import re

import pytest
from looking import until

from dashboard.choosing.compare import MINUS

pytestmark = pytest.mark.browser


def number(text: str) -> float:
    return float(text.replace(MINUS, "-").replace(",", "").replace("same", "0"))


def written(folder, wall: str) -> dict[str, str]:
    """A line of front.csv as it stands in the file."""
    with (folder / "front.csv").open(encoding="utf-8", newline="") as file:
        return next(row for row in csv.DictReader(file) if row["id"] == wall)


def laid_out(page, count: int) -> None:
    until(page, f"document.querySelectorAll('#compare-table thead th').length == {count}")
    until(page, f"document.querySelectorAll('.compare-wall:not([hidden]) svg').length == {count}")


def row_of(page, name: str, unit: str) -> list[list[str]]:
    """Values and differences of a line of the table as they are read."""
    return page.evaluate(
        """([name, unit]) => {
            const row = [...document.querySelectorAll("#compare-table .figures-of")]
                .find(each => each.querySelector("th").textContent === name + " " + unit);
            return [...row.querySelectorAll("td")].map(
                each => [...each.querySelectorAll("span")].map(part => part.textContent.trim()));
        }""",
        [name, unit],
    )


def test_nothing_kept_says_how_and_a_start_is_offered(own, own_address, page):
    page.goto(f"{own_address}/?view=compare")
    until(page, "document.querySelector('#compare-empty-head')?.textContent == 'Nothing is kept yet'")
    assert "Keep in shortlist" in page.inner_text("#compare-empty")
    page.click("#keep-standing-out")
    until(page, "document.querySelectorAll('#compare-table thead th').length >= 2")
    assert len(own.decisions.board().shortlist) >= 2
    assert not page.is_visible("#compare-empty")


def test_one_wall_asks_for_another_and_leads_to_the_front(own, own_address, page):
    own.decisions.keep(None, own.source(None).rows[0]["id"])
    page.goto(f"{own_address}/?view=compare")
    until(page, "document.querySelector('#compare-empty-head')?.textContent.startsWith('One wall is kept')")
    assert not page.is_visible("#keep-standing-out")
    page.click("#compare-front")
    page.wait_for_selector("#plot .scatterlayer .point")
    assert "view=" not in page.url


def test_three_kept_walls_are_compared_as_the_front_has_them(own, own_address, page, study_folder):
    rows = own.source(None).rows
    walls = [rows[number]["id"] for number in (len(rows) // 2, 0, -1)]
    for each in walls:
        own.decisions.keep(None, each)
    own.decisions.note(None, walls[1], "thinnest")
    page.goto(f"{own_address}/?view=compare")
    laid_out(page, 3)
    assert page.locator("#compare-table thead th").all_inner_texts() == walls
    given = [written(study_folder, each) for each in walls]
    for name, unit, key in (
        ("thickness", "mm", "thickness_mm"),
        ("cost", "€/m²", "cost_per_m2"),
        ("carbon", "kgCO₂e/m²", "carbon_kgco2e_m2"),
        ("floor area lost", "m²", "floor_area_lost_m2"),
    ):
        found = row_of(page, name, unit)
        assert found[0][1] == ""
        for (value, less), row in zip(found[1:], given[1:], strict=True):
            assert number(value) == pytest.approx(float(row[key]), abs=0.051)
            more = float(row[key]) - float(given[0][key])
            assert number(less) == pytest.approx(more, abs=0.11)
            if abs(more) > 0.1:
                assert less[0] == ("+" if more > 0 else MINUS)
    assert page.input_value("#compare-note-1") == "thinnest"
    page.fill("#compare-note-2", "lowest in carbon")
    page.press("#compare-note-2", "Tab")
    until(page, f"document.querySelector('#undo-compare').textContent == 'Undo: the note on {walls[2]}'")
    assert own.decisions.board().find(None, walls[2]).note == "lowest in carbon"
    page.click("#undo-compare")
    until(page, "document.querySelector('#compare-note-2').value == ''")


def test_boxes_choose_the_walls_and_the_address_can_be_sent(own, own_address, page, chromium):
    walls = [row["id"] for row in own.source(None).rows[:5]]
    for each in walls:
        own.decisions.keep(None, each)
    page.goto(f"{own_address}/?view=compare")
    laid_out(page, 4)
    boxes = page.locator("#compare-choose input")
    assert boxes.count() == 5
    assert boxes.nth(4).is_disabled()
    boxes.nth(0).click()
    laid_out(page, 3)
    until(page, "!document.querySelectorAll('#compare-choose input')[4].disabled")
    page.locator("#compare-choose input").nth(4).click()
    laid_out(page, 4)
    until(page, f"location.search.includes('walls={','.join(walls[1:])}')")
    context = chromium.new_context()
    try:
        other = context.new_page()
        other.goto(page.url)
        laid_out(other, 4)
        assert other.locator("#compare-table thead th").all_inner_texts() == walls[1:]
        assert page.url == other.url
    finally:
        context.close()


def test_a_wall_that_only_the_address_names_can_be_kept_from_there(own, own_address, page):
    walls = [row["id"] for row in own.source(None).rows[:2]]
    own.decisions.keep(None, walls[0])
    page.goto(f"{own_address}/?view=compare&walls={walls[0]},{walls[1]}")
    laid_out(page, 2)
    assert page.is_visible("#compare-note-0")
    assert not page.is_visible("#compare-note-1")
    page.click("#compare-keep-1")
    page.wait_for_selector("#compare-note-1")
    assert own.decisions.board().find(None, walls[1])


def test_what_somebody_writes_is_not_lost_to_news_from_another_browser(own, own_address, page):
    walls = [row["id"] for row in own.source(None).rows[:2]]
    for each in walls:
        own.decisions.keep(None, each)
    page.goto(f"{own_address}/?view=compare")
    laid_out(page, 2)
    page.click("#compare-note-0")
    page.keyboard.type("half a thou")
    own.decisions.note(None, walls[1], "from elsewhere")
    page.wait_for_timeout(4600)  # longer than the page waits between two questions
    page.keyboard.type("ght")
    assert page.input_value("#compare-note-0") == "half a thought"
    page.press("#compare-note-0", "Tab")
    until(page, "document.querySelector('#compare-note-1').value == 'from elsewhere'")
    until(page, f"document.querySelector('#undo-compare').textContent == 'Undo: the note on {walls[0]}'")
    assert own.decisions.board().find(None, walls[0]).note == "half a thought"
    assert own.decisions.board().find(None, walls[1]).note == "from elsewhere"


@pytest.mark.parametrize("size", [(1440, 900), (1280, 720), (820, 1100)])
def test_four_walls_run_off_no_screen(own, own_address, page, size):
    rows = own.source(None).rows
    for index in (0, len(rows) // 3, 2 * len(rows) // 3, -1):
        own.decisions.keep(None, rows[index]["id"])
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{own_address}/?view=compare")
    laid_out(page, 4)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    scales = page.evaluate(
        """[...document.querySelectorAll(".compare-wall:not([hidden]) svg")].map(
            each => each.getBoundingClientRect().width / each.viewBox.baseVal.width * each.dataset.scale)"""
    )
    assert max(scales) - min(scales) < 1e-6


def fullest(rows: list) -> list[str]:
    """Walls with the most in them first: they take the most lines on paper."""

    def filled(row) -> int:
        slots = ("outer board", "outer gap board", "inner gap board", "service zone")
        fills = {row.get(each) for each in ("outer fill", "gap fill", "inner fill")}
        return sum(row.get(each) not in (None, "", "none") for each in slots) + len(fills)

    return [row["id"] for row in sorted(rows, key=filled, reverse=True)]


@pytest.mark.parametrize("count", [3, 4])
def test_walls_print_on_one_landscape_sheet_with_their_caution(own, own_address, page, count):
    walls = fullest(own.source(None).rows)
    for wall in (walls[0], walls[-1], walls[1], walls[-2])[:count]:
        own.decisions.keep(None, wall)
        own.decisions.note(None, wall, "why this one, and what to ask about it before the order is placed " * 2)
    page.goto(f"{own_address}/?view=compare")
    laid_out(page, count)
    assert "Not for construction" in page.inner_text("#compare-body")
    for given in ({"prefer_css_page_size": True}, {"landscape": True}, {"landscape": True, "format": "A4"}):
        paper = page.pdf(**given)
        assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1
    page.emulate_media(media="print")
    assert page.is_visible(".compare-caution") and not page.is_visible("#compare-print")
    box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", paper)
    assert float(box.group(1)) > float(box.group(2))
