"""The explorer by keyboard and to assistive technology: axe-core in every view and state, focus, order, sizes."""

from __future__ import annotations

import os
import shutil
import subprocess
import tarfile
from contextlib import contextmanager
from pathlib import Path

import pytest
from looking import at_rest, until
from serving import answering

pytestmark = pytest.mark.browser

GRAVE = ("serious", "critical")
SIZES = {"desk": (1280, 720), "tablet upright": (820, 1180), "tablet lying": (1180, 820)}
OTHERS = {  # faults inside the components of others, each no wider than it must be
    # The rows of the table scroll; the cells in them take the keyboard, which the rule cannot see.
    "scrollable-region-focusable": ".ag-center-cols-viewport, .ag-body-viewport",
    # The list under a noun keeps a radio in every option, which takes the arrow keys; readers are told the option.
    "nested-interactive": ".dash-dropdown-content label.dash-dropdown-option",
}
CELLS_DRAWN = "[...document.querySelectorAll('.ag-row')].every(row => row.querySelector('[role=gridcell]'))"
READY = "document.querySelector('#drawing svg') && document.querySelector('#plot .scatterlayer .point')"


@pytest.fixture(scope="session")
def axe(request) -> str:
    """The text of axe-core, fetched from the package registry into the test cache once."""
    folder = Path(request.config.cache.mkdir("axe-core"))
    file = folder / "package" / "axe.min.js"
    if not file.exists():
        npm = shutil.which("npm")
        said = "npm is not installed"
        if npm:
            asked = [npm, "pack", "axe-core@4", "--silent", "--pack-destination", str(folder)]
            found = subprocess.run(asked, cwd=folder, capture_output=True, text=True, timeout=120)
            said = found.stderr.strip()
            for packed in folder.glob("axe-core-4*.tgz"):
                with tarfile.open(packed) as archive:
                    archive.extract("package/axe.min.js", folder, filter="data")
                packed.unlink()
        if not file.exists():
            if os.environ.get("WALLFRONT_REQUIRE_BROWSER") == "1":
                pytest.fail(f"axe-core is required: {said}", pytrace=False)
            pytest.skip(f"no axe-core: {said}")
    return file.read_text(encoding="utf-8")


@contextmanager
def reader(chromium, scheme: str = "light", size: tuple[int, int] = (1440, 900), **more):
    """A page in a browser of its own, as at a first visit."""
    context = chromium.new_context(
        viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, reduced_motion="reduce", **more
    )
    tab = context.new_page()
    tab.set_default_timeout(20_000)
    try:
        yield tab
    finally:
        context.close()


def faults(tab, axe: str, where: str) -> list[str]:
    """Serious and critical faults that axe-core finds on the page as it stands."""
    until(tab, CELLS_DRAWN)
    tab.evaluate(axe)
    found = tab.evaluate("axe.run(document, {resultTypes: ['violations'], rules: {'target-size': {enabled: true}}})")
    said = []
    for fault in found["violations"]:
        if fault["impact"] not in GRAVE:
            continue
        for node in fault["nodes"]:
            target = node["target"][-1]
            excluded = OTHERS.get(fault["id"])
            if excluded and tab.evaluate("([at, not]) => document.querySelector(at).matches(not)", [target, excluded]):
                continue
            said.append(f"{where}: {fault['id']} ({fault['impact']}) at {target}: {node['html'][:120]}")
    return said


@pytest.fixture(params=["light", "dark"])
def scheme(request) -> str:
    return request.param


def test_axe_finds_no_grave_fault_in_any_view(chromium, address, axe, scheme, tmp_path):
    broken = tmp_path / "broken.toml"
    broken.write_text("name = ", encoding="utf-8")
    found = []
    with reader(chromium, scheme) as tab:
        tab.goto(address)
        until(tab, READY)
        tab.wait_for_selector("#guide:not([hidden])")
        found += faults(tab, axe, "first visit")
        tab.evaluate("document.querySelectorAll('details:not(.closed)').forEach(each => { each.open = true; })")
        tab.wait_for_selector("#slots .switches label")
        tab.wait_for_selector("#profile svg")
        tab.set_input_files("#mine-file input[type=file]", str(broken))
        tab.wait_for_selector("#mine-words.fault b")
        found += faults(tab, axe, "all panels open, a file refused")
        tab.evaluate("document.querySelectorAll('details').forEach(each => { each.open = false; })")
        tab.click("#x")
        tab.get_by_role("option").first.wait_for()
        found += faults(tab, axe, "a noun unfolded")
        tab.keyboard.press("Escape")
        for view in ("suppliers", "compare"):
            tab.click(f"#view-{view}")
            until(tab, f"document.documentElement.dataset.view === '{view}'")
            tab.wait_for_timeout(700)
            found += faults(tab, axe, f"the view {view}")
        keep = tab.locator("#keep-standing-out")
        if keep.count() and keep.is_visible():
            keep.click()
            tab.wait_for_selector("#compare-table table")
            found += faults(tab, axe, "walls side by side")
    assert found == []


def test_axe_finds_no_grave_fault_while_a_search_runs_stops_or_fails(chromium, staged, axe, scheme):
    found = []
    at = {"target": 0.105, "generation": 40, "generations": 250, "evaluations": 9000, "seconds": 3.0}
    with reader(chromium, scheme) as tab:
        staged.at(**at)
        tab.goto(staged.address)
        for status, words in (("running", "Searching"), ("cancelled", "Stopped"), ("failed", "ended with an error")):
            staged.at(status, **at)
            until(tab, f"document.querySelector('#status-head')?.textContent.includes('{words}')")
            tab.wait_for_timeout(300)
            found += faults(tab, axe, status)
            tab.reload()
        tab.goto(staged.address.replace("0001", "0999"))
        until(tab, "document.querySelector('#status-head')?.textContent.includes('Nothing to show')")
        found += faults(tab, axe, "a run that is none")
    assert found == []


def test_axe_finds_no_grave_fault_on_the_plain_pages(chromium, workspace, address, axe, scheme):
    found = []
    with reader(chromium, scheme) as tab:
        for place in ("/print?wall=W-001", "/print?wall=none", "/print"):
            tab.goto(address + place)
            found += faults(tab, axe, place)
    with answering(workspace, "a-Harbour.Wall_17~x") as guarded, reader(chromium, scheme) as tab:
        tab.goto(guarded)
        assert "behind a token" in tab.inner_text("main")
        found += faults(tab, axe, "without the token")
    assert found == []


def test_the_whole_page_is_reached_by_keyboard_in_order_and_the_focus_is_seen(chromium, address):
    with reader(chromium, size=(1440, 900)) as tab:
        tab.goto(address)
        until(tab, READY)
        stops = []
        for _ in range(70):
            tab.keyboard.press("Tab")
            stop = tab.evaluate(
                """() => {
                    const node = document.activeElement, style = getComputedStyle(node);
                    const ring = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0;
                    return {
                        at: node.id || node.closest("[id]")?.id || node.tagName,
                        name: node.getAttribute("aria-label") || node.textContent.trim().slice(0, 40),
                        seen: ring || style.boxShadow !== "none" || !!node.closest(".ag-root, .ag-cell"),
                    };
                }"""
            )
            if stop["at"] == "BODY":
                break
            stops.append(stop)
        order = [each["at"] for each in stops]
        assert order[:4] == ["skip", "view-front", "view-suppliers", "view-compare"]
        wanted = ["guide-link", "theme-toggle", "guide-close", "x", "y", "colour", "csv"]
        places = [order.index(each) for each in wanted]
        assert places == sorted(places)
        thumbs = [each["name"] for each in stops if each["name"].startswith(("least ", "most "))]
        assert len(thumbs) == 6
        assert [each for each in stops if not each["seen"]] == []


def test_upright_the_chosen_wall_follows_the_plot_for_eye_and_keyboard(chromium, address):
    with reader(chromium, size=SIZES["tablet upright"], has_touch=True) as tab:
        tab.goto(address)
        until(tab, READY)
        tab.click("#guide-close")
        at_rest(tab)
        seen = {each: tab.locator(each).bounding_box() for each in ("#narrowing", "#drawing", "#table")}
        assert seen["#narrowing"]["y"] < seen["#drawing"]["y"] < seen["#table"]["y"]
        assert seen["#drawing"]["y"] + 120 < SIZES["tablet upright"][1]  # a tap on a point shows in sight
        assert document_order(tab) == ["narrowing", "wall-panel", "table"]
        tab.set_viewport_size({"width": 1180, "height": 820})  # turned
        until(tab, "!!document.querySelector('.column #table')")
        assert document_order(tab) == ["narrowing", "table", "wall-panel"]
        tab.locator("#table .ag-row .ag-cell").nth(8).click()
        at_rest(tab)
        assert tab.locator("#table .ag-row-selected").count() == 1


def document_order(tab) -> list[str]:
    """Plot, wall and table as the keyboard comes to them."""
    names = "#narrowing, #wall-panel, #table"
    return tab.evaluate(f"[...document.querySelectorAll('{names}')].map(each => each.id)")


def test_the_skip_link_leads_past_the_header(chromium, address):
    with reader(chromium) as tab:
        tab.goto(address)
        until(tab, READY)
        tab.keyboard.press("Tab")
        box = tab.locator("#skip").bounding_box()
        assert box["y"] >= 0
        tab.keyboard.press("Enter")
        assert tab.evaluate("document.activeElement.id") == "walls"
        tab.keyboard.press("Tab")
        assert tab.evaluate("!!document.activeElement.closest('main')")


def test_views_sheets_and_ranges_work_by_keyboard(chromium, address):
    with reader(chromium) as tab:
        tab.goto(address)
        until(tab, READY)
        tab.focus("#proof-part > summary")
        tab.keyboard.press("Enter")
        tab.wait_for_selector("#proof p")
        tab.keyboard.press("Escape")
        assert not tab.locator("#proof").is_visible()
        assert tab.evaluate("document.activeElement.parentElement.id") == "proof-part"
        whole = tab.inner_text("#count")
        tab.focus("#slider-thickness_mm [role=slider] >> nth=1")
        for _ in range(3):
            tab.keyboard.press("PageDown")
        until(tab, f"document.querySelector('#count').textContent !== {whole!r}")
        tab.focus("#view-compare")
        tab.keyboard.press("Enter")
        until(tab, "location.search.includes('view=compare')")
        assert tab.get_attribute("#view-compare", "aria-current") == "page"
        tab.focus("#view-front")
        tab.keyboard.press(" ")
        until(tab, "!location.search.includes('view=')")
        tab.focus("#x")
        tab.keyboard.press("Enter")
        tab.get_by_role("option").first.wait_for()
        tab.keyboard.press("Escape")
        tab.get_by_role("option").first.wait_for(state="detached")


SMALL = """() => [...document.querySelectorAll("button, summary, a[href], [role=slider], label")].filter(node => {
    if (!node.checkVisibility({ visibilityProperty: true }) || node.closest(".ag-root")) { return false; }
    if (node.id === "skip" || node.closest("p, li, .sentence")) { return false; }  // in a line of text
    const box = node.getBoundingClientRect(), around = getComputedStyle(node, "::after");
    const more = around.content !== "none" && around.position === "absolute" ? -2 * parseFloat(around.top) : 0;
    return box.width + more < 23.5 || box.height + more < 23.5;
}).map(node => [node.id || node.className, node.textContent.slice(0, 30), node.offsetWidth, node.offsetHeight])
"""


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("view", ["front", "suppliers", "compare"])
def test_every_view_fits_desk_and_tablet_and_can_be_touched(chromium, address, size, view):
    with reader(chromium, size=SIZES[size], has_touch=size != "desk") as tab:
        tab.goto(f"{address}/?view={view}")
        until(tab, f"document.documentElement.dataset.view === '{view}'")
        until(tab, "document.querySelector('#brief')?.textContent.length > 10")
        tab.wait_for_timeout(800)
        assert tab.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
        assert tab.evaluate(SMALL) == []
        brief = tab.locator("#brief").bounding_box()
        assert brief["width"] > 200  # never a column of single words
        for name in ("view-front", "guide-link", "theme-toggle"):
            box = tab.locator(f"#{name}").bounding_box()
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= SIZES[size][0]
