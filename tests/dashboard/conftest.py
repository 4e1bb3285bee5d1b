"""A small study searched once, the explorer on it, and a real browser."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from werkzeug.serving import make_server

import optimiser
from optimiser.brief import Brief, SearchBudget, brief_to_toml, read_brief
from optimiser.search.run import save, search

CHROMIUM = "/usr/bin/chromium"
DEMO = Path(optimiser.__file__).parent / "demo"


@pytest.fixture(scope="session")
def small_brief() -> Brief:
    """The shipped brief with a search of a second or so."""
    budget = SearchBudget(population=80, generations=25, stagnation=25)
    return read_brief(DEMO / "brief.toml").model_copy(update={"search": budget})


@pytest.fixture(scope="session")
def study_folder(small_brief: Brief, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished study."""
    folder = tmp_path_factory.mktemp("study") / "study"
    outcome = search(small_brief, DEMO)
    assert outcome.found
    save(outcome, DEMO, folder)
    return folder


@pytest.fixture(scope="session")
def workspace(study_folder: Path, tmp_path_factory: pytest.TempPathFactory):
    from dashboard.workspace import Workspace

    return Workspace(study_folder, tmp_path_factory.mktemp("runs"))


@contextmanager
def answering(workspace) -> Iterator[str]:
    """The explorer over a workspace, answering at an address."""
    from dashboard.app import Silent, build

    server = make_server("127.0.0.1", 0, build(workspace).server, threaded=True, request_handler=Silent)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()


@pytest.fixture(scope="session")
def address(workspace) -> Iterator[str]:
    """Where the explorer answers."""
    with answering(workspace) as found:
        yield found


@pytest.fixture
def long_address(study_folder: Path, tmp_path: Path) -> Iterator[str]:
    """The explorer on the same study, whose brief asks for searches of a minute."""
    from dashboard.workspace import Workspace

    folder = tmp_path / "study"
    shutil.copytree(study_folder, folder)
    brief = read_brief(folder / "brief.toml")
    budget = SearchBudget(population=300, generations=5000, stagnation=4000, seconds=90)
    (folder / "brief.toml").write_text(brief_to_toml(brief.model_copy(update={"search": budget})), encoding="utf-8")
    workspace = Workspace(folder, tmp_path / "runs")
    with answering(workspace) as found:
        yield found
    for run in workspace.jobs.list():
        workspace.cancel(run)


@pytest.fixture
def impossible_address(small_brief: Brief, study_folder: Path, tmp_path: Path) -> Iterator[str]:
    """The explorer following a search for walls far too thin."""
    from dashboard.workspace import Workspace

    workspace = Workspace(study_folder, tmp_path / "runs")
    limits = small_brief.limits.model_copy(update={"max_thickness_mm": 260.0})
    run = workspace.jobs.start(small_brief.model_copy(update={"limits": limits}), DEMO)
    with answering(workspace) as found:
        yield f"{found}/?run={run}"


@pytest.fixture(scope="session")
def chromium():
    """The browser; a missing one skips, unless WALLFRONT_REQUIRE_BROWSER says that it must be there."""
    required = os.environ.get("WALLFRONT_REQUIRE_BROWSER") == "1"
    try:
        from playwright.sync_api import sync_playwright

        playwright = sync_playwright().start()
    except ImportError as error:
        _missing(required, str(error))
    try:
        if not Path(CHROMIUM).exists():
            _missing(required, f"no browser at {CHROMIUM}")
        quiet = ["--no-sandbox", "--disable-background-networking", "--disable-component-update", "--no-first-run"]
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=quiet)
        yield browser
        browser.close()
    finally:
        playwright.stop()


def _missing(required: bool, why: str) -> None:
    if required:
        pytest.fail(f"the browser is required: {why}", pytrace=False)
    pytest.skip(why)


@pytest.fixture(scope="session")
def readers_browser(chromium):
    """One reader's browser, whose cache the pages share."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    yield context
    context.close()


@pytest.fixture
def page(readers_browser):
    """A page of its own; a fault in the browser or a request to another machine fails the test."""
    faults: list[str] = []
    tab = readers_browser.new_page()
    tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: faults.append(str(error)))
    tab.on("request", lambda asked: faults.append(asked.url) if _leaves(asked.url) else None)
    tab.set_default_timeout(15_000)
    yield tab
    tab.close()
    assert not faults


def _leaves(url: str) -> bool:
    return not url.startswith(("http://127.0.0.1:", "data:", "blob:"))
