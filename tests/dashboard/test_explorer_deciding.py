"""Deciding in a real browser: locks and what they cost, weights, saved limits, the way back, points and lines."""

from __future__ import annotations

import re

import pytest
from looking import at_rest, until

from dashboard.choosing.locking import held, read_locks
from dashboard.choosing.weighing import weigh
from optimiser.search.landmarks import USUAL

pytestmark = pytest.mark.browser

SEEN = "document.querySelectorAll(\"#plot .scatterlayer .trace:last-child path.point[style^='opacity: 1']\").length"
HALF = """() => {
    const costs = [...window.frontState.canvas.figures.cost_per_m2].sort((one, other) => one - other);
    const middle = Math.ceil(10 * costs[Math.floor(costs.length / 2)]) / 10;
    window.dash_clientside.set_props("slider-cost_per_m2", {value: [0, middle]});
}"""  # the dearer half narrowed away
NAMED = r"document.querySelector('#line-tip').textContent.match(/W-\d+/)[0]"
LEFT = """[...document.querySelectorAll('#lines .wall-lines polyline')].filter(each =>
    !each.classList.contains('out')).length"""
LET_GO = """() => {
    window.dash_clientside.set_props("locks", {data: []});
    window.dash_clientside.set_props("drawn-as", {value: "points"});
    window.dash_clientside.set_props("beaten", {value: []});
    document.querySelectorAll("#weighing, #limits-part").forEach(each => { each.open = false; });
}"""


@pytest.fixture
def table(desk):
    """The page in order, with nothing locked, weighed or unfolded."""
    desk.evaluate(LET_GO)
    until(desk, "document.querySelector('#locks-part').hidden")
    until(desk, "/^([\\d,]+) of \\1 wall/.test(document.querySelector('#count').textContent)")
    yield desk
    desk.evaluate(LET_GO)


def count(page) -> tuple[int, int]:
    """'12 of 58 walls.' -> (12, 58)."""
    found = re.search(r"([\d,]+) of ([\d,]+)", page.inner_text("#count"))
    return tuple(int(each.replace(",", "")) for each in found.groups())


def lock(page, words: str) -> None:
    """Choose a lock by the words it begins with."""
    until(page, f"document.querySelector('#lock-choice') !== null && {SEEN} > 0")
    page.wait_for_timeout(700)
    page.click("#lock-choice")
    page.get_by_role("option").filter(has_text=re.compile(f"^{words}")).first.click()


def test_a_lock_narrows_at_once_and_says_what_it_costs(table, workspace):
    lock(table, "no service zone|service zone|fill")
    until(table, "!document.querySelector('#locks-part').hidden")
    rows = workspace.source(None).rows
    chip = table.locator("#lock-chips .chip")
    assert chip.count() == 1
    tokens = table.evaluate("JSON.parse(document.querySelector('#lock-chips .chip').id).token")
    kept = held(rows, read_locks([tokens]), workspace.contents(None))
    until(table, f"{SEEN} === {len(kept)}")
    assert count(table) == (len(kept), len(rows))
    said = table.inner_text("#locks-part")
    assert said.startswith("That costs: thinnest ")
    assert f"{len(kept)} walls of {len(rows)} left" in said
    assert table.locator("#locks-search").is_visible()
    chip.click()
    until(table, f"{SEEN} === {len(rows)}")
    assert not table.locator("#locks-part").is_visible()


def test_a_search_with_locks_starts_from_here_and_holds_them(table, workspace):
    lock(table, "fill:")
    until(table, "!document.querySelector('#locks-part').hidden")
    token = table.evaluate("JSON.parse(document.querySelector('#lock-chips .chip').id).token")
    table.click("#locks-search")
    until(table, "location.search.includes('run=')")
    run = re.search(r"run=(\w+)", table.url).group(1)
    until(table, "document.querySelector('#status-head')?.textContent == 'Search finished'", 90)
    until(table, "document.querySelector('#locks-cost').textContent.startsWith('Every wall of this front holds them')")
    rows = workspace.source(run).rows
    assert len(held(rows, read_locks([token]), workspace.contents(run))) == len(rows) > 0
    table.click("#back")
    until(table, "!location.search.includes('run=')")
    until(table, "document.querySelector('#status-line').hidden")


def test_a_lock_that_no_search_can_hold_is_told_in_words(table):
    lock(table, "renewable materials only")
    until(table, "!document.querySelector('#locks-part').hidden")
    until(table, "document.querySelector('#range-message').hidden === false")
    assert "No wall of this front holds" in table.inner_text("#locks-part")
    table.click("#locks-search")
    until(table, "document.querySelector('#locks-fault').textContent.includes('nothing is left')")
    assert "run=" not in table.url


def test_weights_rank_the_front_and_say_how_firm_that_is(table, workspace):
    rows = workspace.source(None).rows
    assert table.locator("#table .ag-header-cell[col-id='rank']").count() == 0
    table.click("#weighing > summary")
    table.wait_for_selector("#table .ag-header-cell[col-id='rank']")
    found = weigh(rows, rows, dict.fromkeys(USUAL, 5))
    until(
        table,
        f"document.querySelector('#weighing-words').textContent.startsWith('{found.first} comes first. It stays')",
    )
    said = table.inner_text("#weighing-words")
    assert re.search(r"thickness counts [\d.]+ to [\d.]+, cost counts [\d.]+ to [\d.]+ and carbon counts", said)
    assert "of all weightings it wins" in said
    table.locator("#weight-thickness_mm [role=slider]").focus()
    for _ in range(5):
        table.keyboard.press("ArrowLeft")
    until(table, "document.querySelector('#weight-words-thickness_mm').textContent === 'does not count'")
    other = weigh(rows, rows, {"thickness_mm": 0, "cost_per_m2": 5, "carbon_kgco2e_m2": 5}).first
    until(table, f"document.querySelector('#weighing-words').textContent.startsWith('{other} ')")
    until(table, f"document.querySelector('#table .ag-row[row-index=\"0\"]')?.getAttribute('row-id') === '{other}'")
    table.locator("#weighing-words button").first.click()
    until(table, f"document.querySelector('#wall-name').textContent.includes('{other}')")
    table.click("#weighing > summary")  # and back to the thickness
    until(table, "document.querySelector('#table .ag-header-cell[col-id=rank]') === null")
    thinnest = min(rows, key=lambda row: (row["thickness_mm"], str(row["id"])))["id"]
    table.evaluate("document.querySelector('#table .ag-body-viewport').scrollTop = 0")
    until(table, f"document.querySelector('#table .ag-row[row-index=\"0\"]')?.getAttribute('row-id') === '{thinnest}'")
    for key in USUAL:
        table.evaluate(f"""() => window.dash_clientside.set_props("weight-{key}", {{value: 5}})""")


def test_limits_are_saved_recalled_and_dropped(table, workspace):
    whole = count(table)[1]
    table.evaluate(HALF)
    lock(table, "no plastic foam")
    until(table, f"{SEEN} < {whole} && !document.querySelector('#locks-part').hidden")
    left = count(table)[0]
    table.click("#limits-part > summary")
    table.fill("#limits-name", "what the client can pay")
    table.click("#limits-save")
    until(table, "document.querySelector('#limits-words').textContent.includes('was saved')")
    assert "what the client can pay" in workspace.decisions.board().limit_sets
    table.evaluate(LET_GO)
    table.evaluate("""() => window.dash_clientside.set_props("slider-cost_per_m2", {value: [0, 9999]})""")
    until(table, f"{SEEN} === {whole}")
    table.click("#limits-part > summary")
    table.get_by_role("button", name="what the client can pay", exact=True).click()
    until(table, f"document.querySelector('#count').textContent.startsWith('{left} of ')")
    assert table.locator("#lock-chips .chip").count() == 1
    table.get_by_role("button", name="drop what the client can pay").click()
    until(table, "document.querySelector('#limits-list').textContent.includes('No limits are saved yet')")
    table.keyboard.press("Escape")
    assert not table.locator("#limits-list").is_visible()


def test_the_way_back_leads_over_ranges_and_locks(table):
    whole = count(table)[1]
    table.wait_for_timeout(500)
    table.evaluate(HALF)
    until(table, f"{SEEN} < {whole}")
    table.wait_for_timeout(500)
    left = table.evaluate(SEEN)
    lock(table, "at most [\\d.]+ mm")
    until(table, "document.querySelectorAll('#lock-chips .chip').length === 1")
    table.wait_for_timeout(500)
    table.click("#narrowing-undo")
    until(table, f"document.querySelectorAll('#lock-chips .chip').length === 0 && {SEEN} === {left}")
    table.locator("#plot").hover()
    table.keyboard.press("Control+z")
    until(table, f"{SEEN} === {whole}")
    table.keyboard.press("Control+Shift+Z")
    until(table, f"{SEEN} === {left}")
    table.click("#narrowing-redo")
    until(table, "document.querySelectorAll('#lock-chips .chip').length === 1")


def test_thirty_steps_lead_back(table):
    figures = table.evaluate("window.frontState.canvas.figures.carbon_kgco2e_m2")
    low, high = min(figures), max(figures)
    shown = []
    for number in range(1, 33):
        value = [low - 1, round(high - number * (high - low) / 40, 1)]
        table.evaluate("""span => window.dash_clientside.set_props("slider-carbon_kgco2e_m2", {value: span})""", value)
        table.wait_for_timeout(500)
        shown.append(table.inner_text("#range-carbon_kgco2e_m2"))
    assert len(set(shown)) == len(shown)
    for _ in range(30):
        table.keyboard.press("Control+z")
    until(table, f"document.querySelector('#range-carbon_kgco2e_m2').textContent === {shown[1]!r}")


def test_lines_are_brushed_with_the_sliders_and_chosen_by_a_click(table):
    whole = count(table)[1]
    table.click("#drawn-as")
    table.get_by_role("option", name="lines").click()
    until(table, f"document.querySelectorAll('#lines .wall-lines polyline').length === {whole}")
    at_rest(table)  # the lines are drawn anew while the page finds its width
    assert not table.locator("#plot").is_visible()
    names = table.locator("#lines .axis-name").all_text_contents()
    assert "cost" in names and any(each.startswith("wall thickness") for each in names)
    assert "chosen" in table.inner_text(".plot-note") and "shortlist" in table.inner_text(".plot-note")
    grip = table.locator("#lines .grip").last.bounding_box()
    middle = grip["x"] + grip["width"] / 2
    table.mouse.move(middle, grip["y"] + grip["height"] * 0.45)
    table.mouse.down()
    table.mouse.move(middle, grip["y"] + grip["height"] * 0.7, steps=4)
    table.mouse.move(middle, grip["y"] + grip["height"] - 7, steps=4)
    table.mouse.up()
    until(table, "document.querySelectorAll('#lines polyline.out').length > 0")
    at_rest(table)  # the slider has come to the end of the drag
    until(table, f"document.querySelector('#count').textContent.startsWith({LEFT} + ' of ')")
    left = whole - table.locator("#lines polyline.out").count()
    assert count(table) == (left, whole)
    box = table.locator("#lines .wall-lines polyline:not(.out)").first.evaluate(
        """line => {
            const box = line.ownerSVGElement.getBoundingClientRect(), points = [...line.points];
            return [box.x + 0.7 * points[0].x + 0.3 * points[1].x, box.y + 0.7 * points[0].y + 0.3 * points[1].y];
        }"""
    )
    table.mouse.move(*box)
    until(table, "document.querySelector('#line-tip').hidden === false")
    table.mouse.click(*box)
    until(table, f"document.querySelector('#wall-name').textContent.includes({NAMED})")  # lines may lie on one another
    at_rest(table)
    table.mouse.click(middle, grip["y"] + 20)  # opens the range again
    until(table, "document.querySelectorAll('#lines polyline.out').length === 0")


def test_the_wall_under_the_pointer_is_named_beside_its_neighbours(table):
    at_rest(table)
    spot = table.locator("#plot .scatterlayer .trace:last-child path.point").first.bounding_box()
    table.mouse.move(spot["x"] + spot["width"] / 2 + 1, spot["y"] + spot["height"] / 2)
    table.mouse.move(spot["x"] + spot["width"] / 2, spot["y"] + spot["height"] / 2)
    until(table, "document.querySelector('#line-tip').hidden === false")
    assert re.match(r"W-\d+", table.inner_text("#line-tip"))
    box, plot = (table.locator(name).bounding_box() for name in ("#line-tip", "#plot .bglayer .bg"))
    assert plot["x"] <= box["x"] and box["x"] + box["width"] <= plot["x"] + plot["width"] + 20
    middle = spot["x"] + spot["width"] / 2, spot["y"] + spot["height"] / 2
    assert not (box["x"] < middle[0] < box["x"] + box["width"] and box["y"] < middle[1] < box["y"] + box["height"])
    assert table.locator("#plot .hoverlayer .hovertext").count() == 0  # said once
    table.mouse.move(5, 5)
    until(table, "document.querySelector('#line-tip').hidden")


def test_beaten_walls_lie_behind_on_demand(table):
    assert not table.locator("#behind").is_visible()
    table.click("#beaten label")
    until(table, "document.querySelector('#behind').hidden === false && window.frontState.cloud.length > 100")


def test_the_axes_start_at_zero_on_demand_and_floor_is_a_figure(table):
    table.click("#log label:first-child")
    until(table, "!document.querySelector('#plot .xtitle').textContent.includes('not from zero')")
    table.evaluate("""() => window.dash_clientside.set_props("log", {value: []})""")
    table.click("#x")
    options = table.get_by_role("option").all_text_contents()
    assert {"floor area lost", "share of floor lost", "weight", "whole-life carbon"} <= set(options)
    table.get_by_role("option", name="share of floor lost").click()
    until(table, "document.querySelector('#plot .xtitle').textContent.includes('% of floor')")
