"""The explorer in a real browser: what a designer does with it, and that it answers."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.browser

GOOD = """
name = "a wall of ours"
outside = "vented"
[materials.soft]
conductivity_w_mk = 0.038
density_kg_m3 = 50
fossil_kgco2e_kg = 0.4
[materials.timber]
conductivity_w_mk = 0.13
density_kg_m3 = 450
fossil_kgco2e_kg = 0.2
[[layer]]
role = "outer frame"
material = "soft"
thickness_mm = 420
[layer.frame]
material = "timber"
width_mm = 45
spacing_mm = 600
[[layer]]
role = "lining"
material = "timber"
thickness_mm = 300
"""


def until(page, question: str, seconds: float = 15.0) -> None:
    """Wait until a question to the page is answered with yes."""
    end = time.monotonic() + seconds
    while not page.evaluate(question):
        assert time.monotonic() < end, f"never true: {question}"
        time.sleep(0.05)


def opened(page, address: str, query: str = ""):
    page.goto(f"{address}/{query}")
    page.wait_for_selector("#drawing svg")
    page.wait_for_selector("#plot .scatterlayer .point")
    until(page, "document.querySelector('#plot .js-plotly-plot')?.data?.[4]?.x?.length === 1")  # the ring comes last
    return page


def name_of(page) -> str:
    return page.inner_text("#wall-name")


def figures(page) -> list[str]:
    return page.locator("#figures .value").all_inner_texts()


def count(page) -> tuple[int, int]:
    """'12 of 58 walls' -> (12, 58)."""
    found = re.search(r"([\d,]+) of ([\d,]+)", page.inner_text("#count"))
    return tuple(int(each.replace(",", "")) for each in found.groups())


def changed(page, before: str, of=name_of) -> str:
    for _ in range(60):
        if of(page) != before:
            return of(page)
        time.sleep(0.1)
    raise AssertionError(f"still {before!r}")


def point_of(page, wall: str) -> tuple[float, float]:
    """Where a point of the front lies on the screen."""
    return tuple(
        page.evaluate(
            """wall => {
                const plot = document.querySelector("#plot .js-plotly-plot");
                const trace = plot.data[3], at = trace.ids.indexOf(wall);
                const layout = plot._fullLayout, box = plot.getBoundingClientRect();
                return [box.x + layout._size.l + layout.xaxis.d2p(trace.x[at]),
                        box.y + layout._size.t + layout.yaxis.d2p(trace.y[at])];
            }""",
            wall,
        )
    )


def test_the_page_opens_on_the_most_balanced_wall(page, address):
    opened(page, address)
    assert "the most balanced" in name_of(page)
    assert len(figures(page)) == 5
    assert page.locator("#layers tbody tr").count() >= 6
    assert page.locator("#by-layer .bar").count() == 3
    assert "not checked" in page.inner_text("#judgements")
    assert page.locator("#drawing svg title").count() == 1


def test_a_click_on_a_point_draws_its_wall(page, address, workspace):
    opened(page, address)
    before, drawn = name_of(page), page.text_content("#drawing svg desc")
    row = min(workspace.source(None).rows, key=lambda each: each["thickness_mm"])
    page.mouse.click(*point_of(page, row["id"]))
    after = changed(page, before)
    chosen = re.search(r"W-\d+", after).group()
    until(page, f"document.querySelector('#drawing svg desc')?.textContent !== {drawn!r}")
    picked = next(each for each in workspace.source(None).rows if each["id"] == chosen)
    assert figures(page)[0] == f"{picked['thickness_mm']:.1f} mm".replace(".0 mm", " mm")
    assert f"wall={chosen}" in page.url
    page.reload()
    until(page, f"document.querySelector('#wall-name')?.textContent.includes('{chosen}')")


def test_hovering_lights_drawing_list_and_bars_alike(page, address):
    opened(page, address)
    page.hover("#layers tbody tr[data-layer='1']")
    assert page.locator("#drawing .layer.lit").count() == 1
    assert page.locator("#by-layer .segment.lit").count() >= 1
    assert page.inner_text("#lit-words").startswith("1 cladding")


def test_a_slider_narrows_plot_and_table(page, address):
    opened(page, address)
    shown, whole = count(page)
    assert shown == whole
    thumb = page.locator("#slider-thickness_mm [role=slider]").nth(1)
    thumb.focus()
    for _ in range(3):
        thumb.press("PageDown")
    changed(page, f"{shown} of {whole}", lambda tab: "{} of {}".format(*count(tab)))
    narrowed, still = count(page)
    assert narrowed < whole == still
    points = page.evaluate("document.querySelector('#plot .js-plotly-plot').data[3].ids.length")
    assert points == narrowed


def test_the_keyboard_walks_through_the_table(page, address):
    opened(page, address, "?wall=W-001")
    assert "W-001" in name_of(page)
    page.locator("#table .ag-row[row-id='W-001'] .ag-cell").first.click()
    page.keyboard.press("ArrowDown")
    until(page, "!document.querySelector('#wall-name').textContent.includes('W-001')")
    after = name_of(page)
    page.keyboard.press("ArrowDown")
    assert changed(page, after) != after


def test_the_nouns_of_the_question_change_the_plot(page, address):
    opened(page, address)
    page.click("#x")
    page.get_by_role("option", name="floor area lost").click()
    until(page, "document.querySelector('#plot .xtitle').textContent.startsWith('floor area lost')")
    page.click("#log label:first-child")
    until(page, "document.querySelector('#plot .xtitle').textContent.includes('logarithmic')")


def test_a_wall_of_ones_own_is_compared(page, address, tmp_path: Path):
    opened(page, address)
    file = tmp_path / "ours.toml"
    file.write_text(GOOD, encoding="utf-8")
    page.set_input_files("#mine-file input[type=file]", str(file))
    page.wait_for_selector("#mine-words li")
    said = page.inner_text("#mine-words")
    assert "a wall of ours: U 0.0" in said or "a wall of ours: U 0.1" in said
    assert "thinner" in said
    assert "its cost is left out" in said
    until(page, "document.querySelector('#wall-name').textContent.includes('My wall: a wall of ours')")
    with page.expect_download() as waiting:
        page.click("#own-sheet")
    assert "Path 1" in Path(waiting.value.path()).read_text(encoding="utf-8")
    page.locator("#mine-words li button").first.click()
    until(page, "document.querySelector('#wall-name').textContent.includes('Wall W-')")
    page.click("#mine-clear")
    page.wait_for_selector("#mine-words li", state="detached")


def test_a_broken_file_is_told_in_words(page, address, tmp_path: Path):
    opened(page, address)
    file = tmp_path / "broken.toml"
    file.write_text(GOOD.replace("thickness_mm = 420", "thickness_mm = 420,5"), encoding="utf-8")
    page.set_input_files("#mine-file input[type=file]", str(file))
    page.wait_for_selector("#mine-words.fault b")
    said = page.inner_text("#mine-words")
    assert "broken.toml" in said
    assert "write decimals with a point" in said


def test_the_table_can_be_taken_away_as_csv(page, address):
    opened(page, address)
    with page.expect_download() as waiting:
        page.click("#csv")
    text = Path(waiting.value.path()).read_text(encoding="utf-8-sig")
    assert text.startswith("id,target,thickness_mm")
    assert len(text.splitlines()) == count(page)[1] + 1


def started(page, address: str) -> str:
    """Start a search from the slots of the study; its run."""
    opened(page, address)
    page.click("#slots-strip summary")
    page.locator("#slots .slot").first.wait_for()
    page.click("#search-again")
    until(page, "location.search.includes('run=')")
    return re.search(r"run=(\w+)", page.url).group(1)


def test_a_search_from_here_survives_a_reload(page, address):
    run = started(page, address)
    page.reload()
    assert f"run={run}" in page.url
    until(page, "document.querySelector('#status-head')?.textContent.length > 0")
    until(page, "document.querySelector('#status-head')?.textContent == 'Search finished'", 60)
    page.wait_for_selector("#drawing svg")
    assert count(page)[1] > 10
    page.click("#back")
    until(page, "!location.search.includes('run=')")


def test_a_search_can_be_stopped_and_resumed(long_address, page):
    started(page, long_address)
    until(page, "document.querySelector('#status-words')?.textContent?.includes('on the front so far')", 40)
    until(page, "document.querySelectorAll('#plot .scatterlayer .point').length > 20", 40)
    page.reload()
    page.wait_for_selector("#cancel:visible")
    page.click("#cancel")
    until(page, "document.querySelector('#status-head')?.textContent == 'Stopped'", 40)
    page.wait_for_selector("#drawing svg")
    page.click("#resume")
    until(page, "document.querySelector('#status-head')?.textContent == 'Searching'", 40)
    page.click("#cancel")
    until(page, "document.querySelector('#status-head')?.textContent == 'Stopped'", 40)


def test_a_slot_left_empty_is_refused_in_words(page, address):
    opened(page, address)
    page.click("#slots-strip summary")
    fields = page.locator("#slots .slot", has=page.locator("b", has_text=re.compile("^outer frame$")))
    fields.locator("summary").click()
    while fields.locator("input:checked").count():
        fields.locator("input:checked").first.click()
    page.click("#search-again")
    page.wait_for_selector("#slots-words:not(:empty)")
    assert "nothing is left" in page.inner_text("#slots-words")
    assert "run=" not in page.url


def test_a_brief_that_no_wall_meets_says_why(impossible_address, page):
    page.goto(impossible_address)
    page.wait_for_selector("#plot-message b", timeout=40_000)
    until(page, "document.querySelector('#plot-message')?.textContent?.includes('No wall meets this brief')", 40)
    assert len(page.inner_text("#plot-message")) > 60


def test_the_print_view_shows_the_working(page, address):
    opened(page, address, "?wall=W-001")
    page.goto(address + page.get_attribute("#print", "href"))
    assert "Wall W-001" in page.inner_text("h1")
    assert "Path 1" in page.inner_text(".worked")
    assert page.locator("svg.wf").count() == 1
    assert "not checked" in page.inner_text("body")


def test_the_theme_can_be_switched_and_is_kept(page, address):
    opened(page, address)
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.click("#theme-toggle")
    dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert dark != light
    page.reload()
    page.wait_for_selector("#drawing svg")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == dark
    page.click("#theme-toggle")


@pytest.mark.parametrize("size", [(1280, 720), (1440, 900)])
def test_nothing_runs_off_the_side(page, address, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    opened(page, address)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
