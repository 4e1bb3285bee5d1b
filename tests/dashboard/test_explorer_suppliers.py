"""What each supplier means, in the explorer: what is kept and shared, and the whole path in a real browser."""

from __future__ import annotations

import os
import re
import shutil
import signal
import time
from dataclasses import replace
from pathlib import Path

import pytest
from looking import at_rest, until
from serving import answering

from dashboard.source import FrontSource
from dashboard.suppliers import comparison_words as words
from dashboard.suppliers import part
from dashboard.suppliers.comparisons import NO_FRONT, STILL_SEARCHED
from dashboard.workspace import Workspace
from materials.errors import InputError
from optimiser.market.suppliers import SupplierFront
from optimiser.market.suppliers_worker import FRONTS, Comparison
from optimiser.search import files

SHEET = ".ag-center-cols-viewport"  # what of a table scrolls across


@pytest.fixture
def fresh(study_folder: Path, tmp_path: Path) -> Workspace:
    """A study whose suppliers nobody has compared yet."""
    shutil.copytree(study_folder, tmp_path / "study")
    return Workspace(tmp_path / "study", tmp_path / "runs")


# -- what is kept --------------------------------------------------------------------------------------------------


def test_what_was_compared_is_read_once_and_by_all(compared, compared_folder, tmp_path):
    source = compared.source(None)
    found = compared.comparing.compared(source, None)
    assert compared.comparing.compared(source, None) is found
    assert not found.lacks((FRONTS, "price")) and found.lacks(("carbon",))
    other = Workspace(compared_folder, tmp_path)
    assert other.comparing.compared(other.source(None), None) == found


def test_nothing_is_shown_of_a_study_that_has_changed(compared_folder, tmp_path):
    folder = tmp_path / "study"
    shutil.copytree(compared_folder, folder)
    workspace = Workspace(folder, tmp_path / "runs")
    assert workspace.comparing.compared(workspace.source(None), None).fronts is not None
    text = (folder / "front.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (folder / "front.csv").write_text("".join(text[:-1]), encoding="utf-8")
    os.utime(folder / files.MARK, ns=(1, 1))
    found = workspace.comparing.compared(workspace.source(None), None)
    assert found.fronts is None and not found.prices


def test_a_front_that_is_still_searched_is_not_compared(fresh):
    source = fresh.source(None)
    with pytest.raises(InputError, match=STILL_SEARCHED):
        fresh.comparing.start(replace(source, status="running"), None)
    with pytest.raises(InputError, match=NO_FRONT):
        fresh.comparing.start(FrontSource(status="missing"), None)
    assert fresh.comparing.state(source).status == "none"
    assert fresh.comparing.compared(replace(source, status="running"), None).fronts is None


@pytest.mark.parametrize(
    ("state", "has", "searched", "can", "said"),
    [
        (Comparison(), False, True, False, "still being searched"),
        (Comparison(), False, False, False, "no front to compare"),
        (Comparison("running", part=FRONTS, done=3, total=22, words="without X"), False, False, True, "Comparing"),
        (Comparison("cancelled"), False, False, True, "Stopped."),
        (Comparison("failed", "it broke"), False, False, True, "ended early"),
        (Comparison("cancelled"), True, False, True, "not worked out yet"),
    ],
)
def test_every_state_has_its_words(state, has, searched, can, said):
    head, progress = part.status_parts(state, has, searched, can)
    assert said in str(head)
    assert bool(progress) == state.alive


@pytest.mark.parametrize(
    ("state", "left", "said"),
    [
        (Comparison("running", part="price"), None, "Break-even price: the first product is being worked out."),
        (Comparison("running", part="price", done=12, total=48), None, "Break-even price: 12 of 48 products."),
        (Comparison("running", part="price", done=12, total=48), 37.2, "12 of 48 products, about 40 s left."),
        (Comparison("running", part=FRONTS, done=3, total=22), 200.0, "Fronts: 3 of 22 cases, about 3 min left."),
        (Comparison("running", part=FRONTS, done=22, total=22), 0.0, "Fronts: 22 of 22 cases."),
    ],
)
def test_what_is_done_and_about_how_long_it_takes_yet(state, left, said):
    assert said in part.progress(state, left).children[0].children[0]


def test_the_pace_is_that_of_the_part_under_way(fresh):
    source, at = fresh.source(None), Comparison("running", part=FRONTS, done=2, total=22)
    left = fresh.comparing.left
    assert left(source, at, 100.0) is None  # first looked at
    assert left(source, at, 105.0) is None  # nothing was done since
    assert left(source, replace(at, done=6), 108.0) == pytest.approx(32.0)  # 4 in 8 s, 16 to go
    assert left(source, replace(at, part="price", done=0, total=40), 110.0) is None
    assert left(source, replace(at, part="price", done=10, total=40), 120.0) == pytest.approx(30.0)
    assert left(source, replace(at, status="done"), 121.0) is None
    assert left(source, replace(at, done=1), 200.0) is None  # begun again


# -- in the browser ------------------------------------------------------------------------------------------------


PATIENCE = 60_000  # ms; a bound on a hang, not on speed


@pytest.fixture
def compared_address(compared, page):
    page.set_default_timeout(PATIENCE)
    with answering(compared) as found:
        yield f"{found}/?view=suppliers"


@pytest.mark.browser
def test_the_fronts_are_laid_over_each_other(page, compared_address, fronts, compared):
    page.goto(compared_address)
    page.wait_for_selector("#suppliers-plot .point")
    page.wait_for_selector("#suppliers-table .ag-row")
    assert page.locator("#suppliers-table .ag-center-cols-container .ag-row").count() == len(fronts.fronts)
    assert page.locator("#suppliers-table .ag-row-selected").count() == 1
    assert words.first_case(fronts)[1:] in page.inner_text("#suppliers-words")
    assert page.is_visible("#suppliers-price-table .ag-row")
    assert page.is_hidden("#suppliers-status")
    assert page.is_visible("#wall-panel")
    assert page.is_hidden("section.front")


@pytest.mark.browser
def test_no_column_runs_off_a_small_desk(page, compared_address):
    page.set_viewport_size({"width": 1280, "height": 720})
    page.goto(compared_address)
    for table in ("#suppliers-table", "#suppliers-price-table"):
        page.wait_for_selector(f"{table} .ag-row")
        until(page, f"(each => each.clientWidth === each.scrollWidth)(document.querySelector('{table} {SHEET}'))")


@pytest.mark.browser
def test_the_table_is_walked_with_the_keyboard(page, compared_address, fronts):
    page.goto(compared_address)
    page.wait_for_selector("#suppliers-table .ag-row-selected")
    rows = [words.case_name(each) for each in fronts.fronts]
    page.click("#suppliers-table .ag-row[row-index='0'] .ag-cell[col-id='case']")
    page.wait_for_function(
        "name => document.querySelector('#suppliers-words').innerText.includes(name)", arg=rows[0][1:]
    )
    page.keyboard.press("ArrowDown")
    page.wait_for_function(
        "name => document.querySelector('#suppliers-words').innerText.includes(name)", arg=rows[1][1:]
    )
    assert rows[1] in page.inner_text("#suppliers-case")
    selected = page.locator("#suppliers-table .ag-row-selected .ag-cell[col-id='case']").all_inner_texts()
    assert selected == [rows[1]]


@pytest.mark.browser
def test_the_noun_chooses_the_row(page, compared_address, fronts):
    page.goto(compared_address)
    page.wait_for_selector("#suppliers-table .ag-row-selected")
    name = words.case_name(fronts.fronts[-1])
    page.click("#suppliers-case")
    page.click(f".dash-dropdown-option:has-text('{name}')")
    page.wait_for_function(
        "name => [...document.querySelectorAll('#suppliers-table .ag-row-selected .ag-cell[col-id=case]')]"
        ".some(each => each.innerText === name)",
        arg=name,
    )


CLEAREST = """trace => {
    const plot = document.querySelector("#suppliers-plot .js-plotly-plot"), layout = plot._fullLayout;
    const box = plot.getBoundingClientRect(), size = layout._size, spots = [];
    for (const each of [2, 4]) {
        plot.data[each].x.forEach((x, at) => spots.push({
            trace: each, at: at, x: layout.xaxis.d2p(x), y: layout.yaxis.d2p(plot.data[each].y[at]),
        }));
    }
    const room = one => Math.min(...spots.filter(each => each !== one)
        .map(each => Math.hypot(each.x - one.x, each.y - one.y)));
    const found = spots.filter(each => each.trace === trace).sort((a, b) => room(b) - room(a))[0];
    const given = plot.data[trace].customdata[found.at];
    return [box.left + size.l + found.x, box.top + size.t + found.y, given[1]];
}"""
RINGED = """([trace, which]) => {
    const data = document.querySelector("#suppliers-plot .js-plotly-plot").data, ring = data[5];
    const at = data[trace].customdata.findIndex(each => each[1] === which);
    return ring.x.some((x, number) => x === data[trace].x[at] && ring.y[number] === data[trace].y[at]);
}"""


@pytest.mark.browser
def test_a_point_shows_its_wall(page, compared_address, compared, fronts):
    page.goto(compared_address)
    page.wait_for_selector("#suppliers-plot .point")
    page.wait_for_selector("#drawing svg")
    at_rest(page)
    x, y, wall = page.evaluate(CLEAREST, 2)
    page.mouse.click(x, y)
    page.wait_for_function(RINGED, arg=[2, wall])
    assert "view=suppliers" in page.evaluate("() => location.search")
    assert page.is_hidden("#suppliers-picked-words")
    fresh = max(fronts.fronts, key=_new)
    page.evaluate("name => window.dash_clientside.set_props('suppliers-case', {value: name})", words.case_name(fresh))
    page.wait_for_function(
        "name => document.querySelector('#suppliers-words').innerText.includes(name)", arg=words.case_name(fresh)[1:]
    )
    at_rest(page)  # what is drawn last is drawn for the wall just chosen
    count = page.evaluate("() => document.querySelector('#suppliers-plot .js-plotly-plot').data[4].x.length")
    assert count == _new(fresh)
    x, y, number = page.evaluate(CLEAREST, 4)
    assert not fresh.walls["id"][number]
    page.mouse.click(x, y)
    page.wait_for_selector("#suppliers-picked-words:not([hidden])")
    assert "U 0" in page.inner_text("#suppliers-picked-words")


def _new(front: SupplierFront) -> int:
    """How many walls of a case are not on today's front."""
    return sum(not name for name in front.walls.get("id", ()))


@pytest.mark.browser
def test_prices_are_narrowed_to_a_supplier_and_another_figure_is_offered(page, compared_address, compared):
    kept = compared.comparing.compared(compared.source(None), None).prices["price"]
    supplier = next(each["supplier"] for each in kept if each["at"] is not None)
    page.goto(compared_address)
    page.wait_for_selector("#suppliers-price-table .ag-row")
    page.click("#suppliers-of")
    page.click(f".dash-dropdown-option:has-text('{supplier}')")
    page.wait_for_function(
        "name => { const cells = [...document.querySelectorAll('#suppliers-price-table .ag-cell[col-id=supplier]')];"
        " return cells.length && cells.every(each => each.innerText === name); }",
        arg=supplier,
    )
    page.click("#suppliers-lever")
    page.click(".dash-dropdown-option:has-text('conductivity')")
    page.wait_for_selector("#suppliers-lever-start:not([hidden])")
    assert "not worked out yet" in page.inner_text("#suppliers-lever-words")


@pytest.mark.browser
def test_a_product_of_the_wall_is_swapped(page, compared_address, compared):
    source = compared.source(None)
    going = {
        row["id"]: each.wall
        for row in source.rows[:40]
        for each in compared.comparing.swaps(source, row["id"])
        if each.wall and each.passes
    }
    wall = next(iter(going))
    page.goto(f"{compared_address}&wall={wall}")
    page.wait_for_selector("#drawing svg")
    page.focus("#swaps-head")
    page.keyboard.press("Enter")
    page.wait_for_selector(".swaps-table")
    assert "pass" in page.inner_text("#swaps-words")
    for rest in page.locator(".swaps-rest > summary").all():
        rest.click()
    page.locator(".swaps-table button").first.click()
    page.wait_for_function("wall => !location.search.includes(wall)", arg=f"wall={wall}")
    page.wait_for_selector(".swaps-table")


@pytest.mark.browser
def test_the_whole_path_from_the_button_to_the_fronts(page, fresh):
    page.set_default_timeout(PATIENCE)
    with answering(fresh) as address:
        page.goto(f"{address}/?view=suppliers")
        page.wait_for_selector("#suppliers-start:not([hidden])")
        assert page.is_hidden("#suppliers-fronts")
        assert "What does each supplier mean" in page.inner_text("#suppliers-opening")
        page.click("#suppliers-start")
        page.wait_for_selector("#suppliers-stop:not([hidden])")
        page.wait_for_function("() => /case/.test(document.querySelector('#suppliers-progress').innerText)")
        page.click("#suppliers-stop")
        page.wait_for_selector("#suppliers-start:not([hidden])")
        assert "Stopped" in page.inner_text("#suppliers-head")
        page.click("#suppliers-start")
        page.wait_for_selector("#suppliers-plot .point", timeout=120_000)
        page.wait_for_selector("#suppliers-price-table .ag-row", timeout=180_000)
        page.wait_for_selector("#suppliers-status", state="hidden")
        assert re.search(r"walls? on the front", page.inner_text("#suppliers-words"))


@pytest.mark.browser
def test_a_killed_comparison_is_told_and_begun_again(page, fresh):
    page.set_default_timeout(PATIENCE)
    with answering(fresh) as address:
        page.goto(f"{address}/?view=suppliers")
        page.click("#suppliers-start")
        state = fresh.jobs.home / "suppliers" / "study" / "state.json"
        end = time.monotonic() + 30
        while "pid" not in (raw := files.read_json(state) or {}) and time.monotonic() < end:
            time.sleep(0.05)
        os.kill(raw["pid"], signal.SIGKILL)
        page.wait_for_function("() => document.querySelector('#suppliers-head').innerText.includes('ended early')")
        assert page.is_visible("#suppliers-start")
        page.click("#suppliers-start")
        page.wait_for_function("() => document.querySelector('#suppliers-head').innerText.includes('Comparing')")
        fresh.comparing.cancel(fresh.source(None))
        page.wait_for_function("() => document.querySelector('#suppliers-head').innerText.includes('Stopped')")
