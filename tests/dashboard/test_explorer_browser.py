"""The explorer in a real browser: what a designer does with it, and that it answers."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from looking import at_rest, until

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


def opened(page, address: str, query: str = ""):
    page.goto(f"{address}/{query}")
    page.wait_for_selector("#drawing svg")
    page.wait_for_selector("#plot .scatterlayer .point")
    until(page, "document.querySelector('#ring')?.hidden === false")  # it comes last
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


def point_of(page, wall: str, trace: int = 5) -> tuple[float, float]:
    """Where a point of the front lies on the screen."""
    return tuple(
        page.evaluate(
            """([wall, number]) => {
                const plot = document.querySelector("#plot .js-plotly-plot");
                const trace = plot.data[number], at = trace.ids.indexOf(wall);
                const layout = plot._fullLayout, box = plot.getBoundingClientRect();
                return [box.x + layout._size.l + layout.xaxis.d2p(trace.x[at]),
                        box.y + layout._size.t + layout.yaxis.d2p(trace.y[at])];
            }""",
            [wall, trace],
        )
    )


def test_the_page_opens_on_the_most_balanced_wall(desk):
    assert "the most balanced" in name_of(desk)
    assert len(figures(desk)) == 5
    assert desk.locator("#layers tbody tr").count() >= 6
    assert desk.locator("#by-layer .bar").count() == 3
    assert "not checked" in desk.inner_text("#judgements")
    assert desk.locator("#drawing svg title").count() == 1


def test_a_click_on_a_point_draws_its_wall(desk, workspace):
    before, drawn = name_of(desk), desk.text_content("#drawing svg desc")
    row = min(workspace.source(None).rows, key=lambda each: each["thickness_mm"])
    desk.mouse.click(*point_of(desk, row["id"]))
    after = changed(desk, before)
    chosen = re.search(r"W-\d+", after).group()
    until(desk, f"document.querySelector('#drawing svg desc')?.textContent !== {drawn!r}")
    picked = next(each for each in workspace.source(None).rows if each["id"] == chosen)
    assert figures(desk)[0] == f"{picked['thickness_mm']:.1f} mm".replace(".0 mm", " mm")
    assert f"wall={chosen}" in desk.url


def test_a_step_leads_to_the_wall_it_names(desk, workspace):
    step = desk.locator("#steps .step").first
    step.wait_for()
    at_rest(desk)  # steps of the wall before would be taken away under the click
    to = re.search(r"W-\d+", step.get_attribute("title")).group()
    said = step.inner_text()
    assert "thinner" in said
    assert "€" in said
    assert "→" in said
    step.click()
    until(desk, f"document.querySelector('#wall-name').textContent.includes('{to}')")
    picked = next(each for each in workspace.source(None).rows if each["id"] == to)
    until(desk, f"document.querySelector('#figures .value').textContent.startsWith('{picked['thickness_mm']:g}')")


def test_the_front_says_that_it_is_complete_and_why(desk, workspace):
    source = workspace.source(None)
    assert desk.inner_text("#result") == f"Complete front · {len(source.rows)} walls"
    assert "none missed" in desk.inner_text("#result-beside")
    assert not desk.locator("#proof").is_visible()
    desk.click("#proof-part summary")
    said = desk.inner_text("#proof")
    assert f"{source.summary['space_size']:,}" in said
    assert f"{source.summary['proof'][0]['excluded']['bound']:,}" in said
    assert "sheathing" in said
    desk.keyboard.press("Escape")
    assert not desk.locator("#proof").is_visible()


@pytest.mark.long
def test_each_thumb_of_a_slider_says_what_it_narrows(desk):
    thumbs = desk.locator(".sliders .slider:not([hidden]) [role=slider]").all()
    names = [each.get_attribute("aria-label") for each in thumbs]
    assert names == [f"{end} {figure}" for figure in ("thickness", "cost", "carbon") for end in ("least", "most")]


@pytest.mark.long
def test_hovering_lights_drawing_list_and_bars_alike(desk):
    desk.hover("#layers tbody tr[data-layer='1']")
    assert desk.locator("#drawing .layer.lit").count() == 1
    assert desk.locator("#by-layer .segment.lit").count() >= 1
    assert desk.inner_text("#lit-words").startswith("1 cladding")


def test_a_slider_narrows_plot_and_table(desk):
    shown, whole = count(desk)
    assert shown == whole
    thumb = desk.locator("#slider-thickness_mm [role=slider]").nth(1)
    thumb.focus()
    for _ in range(3):
        thumb.press("PageDown")
    changed(desk, f"{shown} of {whole}", lambda tab: "{} of {}".format(*count(tab)))
    drawn = (
        "document.querySelectorAll(\"#plot .scatterlayer .trace:last-child path.point[style^='opacity: 1']\").length"
    )
    until(desk, f"{drawn} < {whole} && document.querySelector('#count').textContent.startsWith({drawn} + ' of ')")
    assert count(desk)[1] == whole


def test_the_keyboard_walks_through_the_table(desk):
    before = name_of(desk)
    desk.locator("#table .ag-row-selected .ag-cell").first.click()
    desk.keyboard.press("ArrowDown")
    after = changed(desk, before)
    at_rest(desk)  # the table takes the next key once it stands on the row of the last
    desk.keyboard.press("ArrowDown")
    assert changed(desk, after) != after


def test_the_nouns_of_the_question_change_the_plot(desk):
    desk.click("#x")
    desk.get_by_role("option", name="floor area lost").click()
    until(desk, "document.querySelector('#plot .xtitle').textContent.startsWith('floor area lost')")
    desk.click("#log label:nth-child(2)")
    until(desk, "document.querySelector('#plot .xtitle').textContent.includes('logarithmic')")


def test_a_wall_of_ones_own_is_compared(desk, tmp_path: Path):
    file = tmp_path / "ours.toml"
    file.write_text(GOOD, encoding="utf-8")
    desk.set_input_files("#mine-file input[type=file]", str(file))
    desk.wait_for_selector("#mine-words li")
    said = desk.inner_text("#mine-words")
    assert "a wall of ours: U 0.0" in said or "a wall of ours: U 0.1" in said
    assert "thinner" in said
    assert "its cost is left out" in said
    until(desk, "document.querySelector('#wall-name').textContent.includes('My wall: a wall of ours')")
    with desk.expect_download() as waiting:
        desk.click("#own-sheet")
    assert "Path 1" in Path(waiting.value.path()).read_text(encoding="utf-8")
    desk.locator("#mine-words li button").first.click()
    until(desk, "document.querySelector('#wall-name').textContent.includes('Wall W-')")
    desk.click("#mine-clear")
    desk.wait_for_selector("#mine-words li", state="detached")


@pytest.mark.long
def test_a_broken_file_is_told_in_words(desk, tmp_path: Path):
    file = tmp_path / "broken.toml"
    file.write_text(GOOD.replace("thickness_mm = 420", "thickness_mm = 420,5"), encoding="utf-8")
    desk.set_input_files("#mine-file input[type=file]", str(file))
    desk.wait_for_selector("#mine-words.fault b")
    said = desk.inner_text("#mine-words")
    assert "broken.toml" in said
    assert "write decimals with a point" in said


@pytest.mark.long
def test_the_table_can_be_taken_away_as_csv(desk):
    with desk.expect_download() as waiting:
        desk.click("#csv")
    text = Path(waiting.value.path()).read_text(encoding="utf-8-sig")
    assert text.startswith("id,target,thickness_mm")
    assert len(text.splitlines()) == count(desk)[1] + 1


def started(page) -> str:
    """Start a search from the slots of the study that is open; its run."""
    page.click("#slots-strip > summary")
    page.locator("#slots .slot").first.wait_for()
    page.click("#search-again")
    until(page, "location.search.includes('run=')")
    return re.search(r"run=(\w+)", page.url).group(1)


def test_a_search_from_here_survives_a_reload(desk):
    run = started(desk)
    desk.reload()
    assert f"run={run}" in desk.url
    until(desk, "document.querySelector('#status-head')?.textContent.length > 0")
    until(desk, "document.querySelector('#status-head')?.textContent == 'Search finished'", 60)
    desk.wait_for_selector("#drawing svg")
    assert count(desk)[1] > 10
    desk.click("#back")
    until(desk, "!location.search.includes('run=')")
    until(desk, "document.querySelector('#status-line').hidden")


def test_a_search_can_be_stopped_and_resumed(long_address, page):
    opened(page, long_address)
    started(page)
    until(page, "document.querySelector('#status-words')?.textContent?.includes('on the front so far')", 40)
    until(page, "document.querySelectorAll('#plot .scatterlayer .point').length > 20", 40)
    page.click("#cancel")
    until(page, "document.querySelector('#status-head')?.textContent == 'Stopped'", 40)
    page.wait_for_selector("#drawing svg")
    page.click("#resume")
    until(page, "document.querySelector('#status-head')?.textContent == 'Searching'", 40)


@pytest.mark.long
def test_a_slot_left_empty_is_refused_in_words(desk):
    desk.click("#slots-strip > summary")
    fields = desk.locator("#slots .slot", has=desk.locator("b", has_text=re.compile("^outer frame$")))
    fields.locator("summary").click()
    assert ", Hollin Timber" in fields.inner_text()  # each supplier has a switch of its own
    fields.evaluate("part => part.querySelectorAll('input:checked').forEach(each => each.click())")
    until(desk, "[...document.querySelectorAll('#slots .slot')].some(each => each.textContent.includes('nothing'))")
    desk.click("#search-again")
    desk.wait_for_selector("#slots-words:not(:empty)")
    assert desk.inner_text("#slots-words") == "outer frame: nothing is left; switch on at least one."
    assert "run=" not in desk.url
    assert fields.evaluate("part => part.open")
    desk.click("#slots-strip > summary")  # the slot within stays open, and no longer counts
    until(desk, "!document.querySelector('#slots-strip').open")
    tops = [desk.locator(f"{name} > summary").bounding_box()["y"] for name in ("#slots-strip", "#lists-strip")]
    assert tops[0] == tops[1]  # folded, the two strips share a line


@pytest.mark.long
def test_a_brief_that_no_wall_meets_says_why(impossible_address, page):
    page.goto(impossible_address)
    until(page, "document.querySelector('#status-head')?.textContent === 'No wall meets this brief'", 60)
    until(page, "document.querySelector('#nothing h2')?.textContent === 'What is missing'")
    assert len(page.inner_text("#nothing")) > 60
    assert not page.is_visible("#plot")
    assert page.is_visible("#slots-strip")  # the way out


def test_the_print_view_shows_the_working(desk, page, address):
    page.goto(address + desk.get_attribute("#print", "href"))
    assert "Wall W-" in page.inner_text("h1")
    assert "Path 1" in page.inner_text(".worked")
    assert page.locator("svg.wf:not(.lines, .water)").count() == 1
    assert page.locator("svg.lines").count() == 2
    assert "not checked" in page.inner_text("body")


def test_a_reload_keeps_the_theme_and_the_wall(page, address):
    opened(page, address, "?wall=W-001")
    assert "W-001" in name_of(page)
    light = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.click("#theme-toggle")
    dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert dark != light
    page.reload()
    page.wait_for_selector("#drawing svg")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == dark
    assert "W-001" in name_of(page)
    page.click("#theme-toggle")


@pytest.mark.parametrize("size", [(420, 900), (1280, 720), (1440, 900)])
def test_nothing_runs_off_the_side(desk, size):
    desk.set_viewport_size({"width": size[0], "height": size[1]})
    until(desk, f"document.documentElement.scrollWidth <= {size[0]}")  # the plot follows the window in its own time


@pytest.mark.long
def test_several_targets_are_a_family_of_fronts(family_address, family_workspace, page):
    opened(page, family_address)
    rows = family_workspace.source(None).rows
    labels = page.locator("#plot .annotation-text").all_text_contents()
    assert {"U 0.105", "U 0.15"} <= set(labels)
    said = " ".join(page.inner_text("#target-part").split())
    assert said.startswith("U at most 0.105 instead of 0.15: thinnest +")
    other = next(each for each in rows if each["target"] == 0.15)
    page.mouse.click(*point_of(page, other["id"], trace=2))
    until(page, "document.querySelector('#wall-name').textContent.includes('W150-')")
    until(page, "document.querySelector('#target-part').textContent.includes('going on to 0.105')")
    looser = sum(each["target"] == 0.15 for each in rows)
    until(page, f"document.querySelector('#count').textContent.endsWith(' of {looser} walls.')")
    assert page.inner_text("#result").startswith("2 complete fronts")
    chosen = re.search(r"W150-\d+", name_of(page)).group()
    page.reload()
    until(page, f"document.querySelector('#wall-name')?.textContent.includes('{chosen}')")
    until(page, "document.querySelector('#ring')?.hidden === false")
    twin = next(each for each in rows if each["equal_count"] == 3)
    page.evaluate("""key => window.dash_clientside.set_props("wall", {data: key})""", twin["id"])
    page.click("#equals-head")
    page.wait_for_selector("#equals-list li")
    assert page.inner_text("#equals-head") == "and 2 others with exactly these figures"
    assert "sheathing: OSB 9 by Pellowmere Supplies → Brackenfold Boards" in page.inner_text("#equals-list")


def test_a_live_search_says_what_is_settled_and_speaks_at_intervals(staged, page):
    at = {"target": 0.105, "generation": 40, "generations": 250, "evaluations": 9000, "seconds": 3.0}
    still = {"thickness_mm": 428.0, "cost_per_m2": 157.4, "carbon_kgco2e_m2": 12.94}
    staged.at(**at)
    page.goto(staged.address)
    until(page, "document.querySelector('#status-words')?.textContent.includes('first look, round 40')")
    until(page, "document.querySelector('#spoken-words').textContent.includes('first look')")
    staged.at(**at, settled=0.5, still=still)
    until(page, "document.querySelector('#spoken-words').textContent.includes('50.0 % of the space settled')")
    staged.at(**at, settled=0.9931, still=still)
    until(page, "document.querySelector('#status-words').textContent.includes('99.3 %')")
    said = page.inner_text("#status-words")
    assert "cannot be thinner than 428 mm, cheaper than €157 or lower in carbon than 12.9 kg" in said
    assert "50.0 %" in page.text_content("#spoken-words")
    staged.at("failed", **at)
    until(page, "document.querySelector('#spoken-words').textContent.includes('ended with an error')")
