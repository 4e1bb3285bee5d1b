"""What the explorer shows when something is missing, late or gone; and a session that never leaves the machine."""

from __future__ import annotations

import os
import re
import signal
from urllib.parse import urlsplit

import pytest
from looking import at_rest, until
from serving import answering, started

from dashboard.workspace import Workspace
from optimiser.search import files

pytestmark = pytest.mark.browser

READY = "!!document.querySelector('#drawing svg') && !!document.querySelector('#plot .scatterlayer .point')"
SHELL = ("#plot", "#narrowing", "#shortlist-count", "#table", "#wall-panel", "#strips")  # empty without a front


@pytest.fixture
def visit(chromium):
    """Open an address in a browser of its own; what the browser asks for is kept in `.asked`."""
    opened = []

    def open_(address: str, **more):
        context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True, **more)
        opened.append(context)
        tab = context.new_page()
        tab.set_default_timeout(20_000)
        tab.asked = []
        tab.on("request", lambda request: tab.asked.append(request.url))
        tab.on("websocket", lambda socket: tab.asked.append(socket.url))
        tab.goto(address)
        return tab

    yield open_
    for each in opened:
        each.close()


def test_a_session_asks_nothing_of_any_other_machine_and_obeys_the_policy(visit, address, tmp_path):
    tab = visit("about:blank")
    refused = []
    tab.on("console", lambda said: refused.append(said.text) if said.type == "error" else None)
    tab.goto(address)
    until(tab, READY)
    tab.click("#theme-toggle")
    tab.evaluate("document.querySelectorAll('details:not(.closed)').forEach(each => { each.open = true; })")
    tab.hover("#layers tbody tr[data-layer='1']")
    for view in ("suppliers", "compare", "front"):
        tab.click(f"#view-{view}")
        tab.wait_for_timeout(400)
    with tab.expect_download():
        tab.click("#csv")
    with tab.expect_download():
        tab.click("#build-up")
    tab.goto(address + "/print?wall=W-001")
    home = urlsplit(address).netloc
    strangers = [url for url in tab.asked if urlsplit(url).scheme not in ("data", "blob", "about")]
    strangers = [url for url in strangers if urlsplit(url).netloc != home]
    assert len(tab.asked) > 20
    assert strangers == []
    assert refused == []


def test_no_script_of_a_stranger_runs_in_the_page(visit, address):
    tab = visit(address)
    until(tab, READY)
    tab.evaluate(
        """() => {
            const script = document.createElement("script");
            script.textContent = "window.strange = 1";
            document.body.appendChild(script);
            const holder = document.createElement("div");
            holder.innerHTML = '<img src="data:," onerror="window.strange = 2">';
            document.body.appendChild(holder);
        }"""
    )
    tab.wait_for_timeout(300)
    assert tab.evaluate("window.strange === undefined")
    assert tab.evaluate("fetch('https://example.org/').then(() => 'left', () => 'kept')") == "kept"


def test_the_token_in_the_address_opens_the_page_and_leaves_the_address(visit, workspace):
    token = "a-Harbour.Wall_17~x"
    with answering(workspace, token) as guarded:
        tab = visit(f"{guarded}/?token={token}&wall=W-002")
        until(tab, READY)
        assert "token" not in tab.url
        assert "wall=W-002" in tab.url
        assert "W-002" in tab.inner_text("#wall-name")
        tab.reload()
        until(tab, READY)
        stranger = visit(guarded)
        assert stranger.inner_text("h1") == "The token is missing"
        assert tab.evaluate("document.cookie") == ""  # no script reads it


def test_until_the_page_is_there_it_says_so_in_words(visit, address):
    tab = visit("about:blank")
    held = []
    tab.route("**/_dash-layout*", lambda route: held.append(route))
    tab.goto(address, wait_until="commit")
    tab.wait_for_selector(".opening")
    assert "Opening the study" in tab.inner_text(".opening")
    assert "Loading" not in tab.inner_text("body")
    for _ in range(100):
        if held:
            break
        tab.wait_for_timeout(100)
    held.pop().continue_()
    until(tab, READY)
    assert tab.locator(".opening").count() == 0


def test_a_folder_without_a_study_and_a_run_that_is_none_say_so(visit, tmp_path, address):
    with answering(Workspace(tmp_path / "nothing", tmp_path / "runs")) as empty:
        tab = visit(empty)
        until(tab, "document.querySelector('#status-head')?.textContent === 'Nothing to show'")
        assert "no study" in tab.inner_text("#status-words")
        until(tab, "document.querySelector('#nothing')?.textContent.includes('wallfront search')")
        assert [each for each in SHELL if tab.is_visible(each)] == []
    tab = visit(f"{address}/?run=0999")
    until(tab, "document.querySelector('#status-head')?.textContent === 'Nothing to show'")
    until(tab, "document.querySelector('#nothing')?.textContent.includes('Back to the study')")
    assert [each for each in SHELL if tab.is_visible(each)] == []
    tab.click("#back")
    until(tab, READY)
    until(tab, "!!document.querySelector('#table .ag-header-cell')")
    assert [each for each in SHELL if not tab.is_visible(each)] == []
    assert not tab.is_visible("#nothing")
    assert "run=" not in tab.url


def test_a_lost_connection_is_told_and_the_page_goes_on_when_it_is_back(visit, workspace):
    server, thread = started(workspace)
    port = server.port
    tab = visit(f"http://127.0.0.1:{port}/")
    until(tab, READY)
    before = tab.inner_text("#wall-name")
    server.stop()
    thread.join(5)
    tab.locator("#table .ag-row .ag-cell").nth(8).click()
    until(tab, "document.querySelector('#connection')?.textContent.includes('does not answer')")
    assert "Nothing is lost" in tab.inner_text("#connection")
    assert tab.locator("#drawing svg").count() == 1  # what was shown stays
    server, _ = started(workspace, port)
    until(tab, "document.querySelector('#connection')?.textContent.includes('answers again')")
    tab.locator("#table .ag-row .ag-cell").nth(24).click()
    until(tab, f"document.querySelector('#wall-name').innerText !== {before!r}")
    until(tab, "document.querySelector('#connection').textContent === ''")
    server.stop()


def answered(status: int):
    """Answer every request of a route with a status."""
    return lambda route: route.fulfill(status=status, body="{}")


def test_a_file_too_large_and_a_fault_are_told_in_words(visit, address):
    tab = visit(address)
    until(tab, READY)
    for status, words in ((413, "too large"), (500, "could not do this")):
        tab.route("**/_dash-update-component*", answered(status))
        tab.evaluate("wall => window.dash_clientside.set_props('wall', { data: wall })", f"W-{status % 7 + 1:03d}")
        until(tab, f"document.querySelector('#connection')?.textContent.includes('{words}')")
        at_rest(tab)  # the last of its requests has been answered
        tab.get_by_role("button", name="Close").last.click()
        until(tab, "document.querySelector('#connection').textContent === ''")
        tab.unroute("**/_dash-update-component*")


def test_the_guide_is_three_sentences_closed_once_and_found_again(visit, address):
    tab = visit(address)
    until(tab, READY)
    guide = tab.locator("#guide")
    assert guide.is_visible()
    assert guide.locator("li").count() == 3
    assert all(re.fullmatch(r"[^.]+\.", each) for each in guide.locator("li").all_inner_texts())
    tab.click("#guide-close")
    assert not guide.is_visible()
    assert tab.evaluate("document.activeElement.id") == "guide-link"
    tab.reload()
    until(tab, READY)
    assert not guide.is_visible()
    tab.click("#guide-link")
    assert guide.is_visible()
    assert tab.get_attribute("#guide-link", "aria-expanded") == "true"
    tab.focus("#guide-close")
    tab.keyboard.press("Escape")
    assert not guide.is_visible()


def test_an_address_that_is_sent_shows_the_same_run_wall_and_view(visit, address):
    one = visit(f"{address}/?wall=W-003")
    until(one, READY)
    one.click("#view-suppliers")
    until(one, "location.search.includes('view=suppliers')")
    other = visit(one.url)
    until(other, "document.documentElement.dataset.view === 'suppliers'")
    until(other, "document.querySelector('#wall-name')?.textContent.includes('W-003')")
    other.click("#view-front")
    until(other, "!location.search.includes('view=')")
    assert "view=suppliers" in one.url  # what one reader does moves no other


def test_a_killed_worker_is_told_to_every_browser_and_the_search_goes_on(visit, long_address, tmp_path):
    one = visit(long_address)
    until(one, READY)
    one.click("#slots-strip > summary")
    one.locator("#slots .slot").first.wait_for()
    one.click("#search-again")
    until(one, "location.search.includes('run=')")
    until(one, "document.querySelector('#status-words')?.textContent.includes('on the front so far')", 60)
    other = visit(one.url)
    until(other, "document.querySelector('#status-head')?.textContent === 'Searching'", 60)
    run = re.search(r"run=(\w+)", one.url).group(1)
    os.kill(files.read_json(tmp_path / "runs" / run / "state.json")["pid"], signal.SIGKILL)
    for tab in (one, other):
        until(tab, "document.querySelector('#status-words')?.textContent.includes('can be resumed')", 60)
        assert tab.locator("#resume").is_visible()
    other.click("#resume")
    for tab in (other, one):
        tab.reload()
        until(tab, "document.querySelector('#status-head')?.textContent === 'Searching'", 60)
    one.click("#cancel")
    until(other, "document.querySelector('#status-head')?.textContent === 'Stopped'", 60)
