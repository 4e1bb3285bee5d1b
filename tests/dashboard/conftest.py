"""A small study searched once, the explorer on it, and a real browser."""

from __future__ import annotations

import csv
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from looking import at_rest, until
from serving import answering

import optimiser
from optimiser.brief.brief import Brief, SearchBudget, brief_to_toml, read_brief
from optimiser.search import files
from optimiser.search.landmarks import most_balanced
from optimiser.search.run import save, search
from optimiser.search.study import to_csv

DEMO = Path(optimiser.__file__).parent / "demo"


@pytest.fixture(scope="session")
def small_brief() -> Brief:
    """The shipped brief with fewer options, and so with a search of a second or so."""
    brief = read_brief(DEMO / "brief.toml")
    fewer = {
        "outer board": ("none", "bb-wood-fibre-22"),
        "outer gap board": ("none",),
        "fill": ("blown-cellulose", "blown-wood-fibre", "blown-glass-wool"),
        "service fill": ("wood-fibre-batt", "glass-wool-batt"),
    }
    slots = brief.slots | {name: brief.slot(name).model_copy(update={"allow": keys}) for name, keys in fewer.items()}
    budget = SearchBudget(population=80, start_generations=20)
    return brief.model_copy(update={"search": budget, "slots": slots})


@pytest.fixture(scope="session")
def study_folder(small_brief: Brief, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished study."""
    folder = tmp_path_factory.mktemp("study") / "study"
    outcome = search(small_brief, DEMO)
    assert outcome.has_front
    save(outcome, DEMO, folder)
    return folder


@pytest.fixture(scope="session")
def workspace(study_folder: Path, tmp_path_factory: pytest.TempPathFactory):
    from dashboard.workspace import Workspace

    return Workspace(study_folder, tmp_path_factory.mktemp("runs"))


@pytest.fixture(scope="session")
def compared_folder(study_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished study whose suppliers are compared."""
    from optimiser.market.suppliers_worker import USUAL, compare
    from optimiser.search.study import open_study

    folder = tmp_path_factory.mktemp("compared") / "study"
    shutil.copytree(study_folder, folder)
    assert compare(folder, open_study(folder).brief.target.u_value, USUAL)
    return folder


@pytest.fixture(scope="session")
def compared(compared_folder: Path, tmp_path_factory: pytest.TempPathFactory):
    """The explorer's workspace on it."""
    from dashboard.workspace import Workspace

    return Workspace(compared_folder, tmp_path_factory.mktemp("compared-runs"))


@pytest.fixture(scope="session")
def fronts(compared):
    """The fronts of the cases of its suppliers."""
    return compared.comparing.compared(compared.source(None), None).fronts


@pytest.fixture(scope="session")
def family_folder(small_brief: Brief, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished study of two targets, in which a wall of the first has two others of exactly its figures."""
    folder = tmp_path_factory.mktemp("family") / "study"
    target = small_brief.target.model_copy(update={"also": (0.15,)})
    outcome = search(small_brief.model_copy(update={"target": target}), DEMO)
    save(outcome, DEMO, folder)
    with (folder / "front.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    row = next(each for each in rows if each["sheathing"] == "ps-osb-9")
    row["equal_count"] = 3
    equals = [row | {"sheathing": key} for key in ("bb-osb-9", "bb-osb-12")]
    for name, content in (("front.csv", rows), ("equals.csv", equals)):
        (folder / name).write_text(to_csv(content), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def family_workspace(family_folder: Path, tmp_path_factory: pytest.TempPathFactory):
    from dashboard.workspace import Workspace

    return Workspace(family_folder, tmp_path_factory.mktemp("family-runs"))


@pytest.fixture(scope="session")
def family_address(family_workspace) -> Iterator[str]:
    """The explorer on a study of two targets."""
    with answering(family_workspace) as found:
        yield found


@dataclass
class Staged:
    """A run that stands where a test says, as if a worker were at it."""

    folder: Path
    address: str

    def at(self, status: str = "running", **progress) -> None:
        value = {"status": status, "pid": os.getpid(), "progress": progress}
        files.write_json(self.folder / "state.json", value)


@pytest.fixture
def staged(study_folder: Path, workspace, tmp_path: Path) -> Iterator[Staged]:
    """The explorer following a run that the test itself moves on."""
    import fcntl

    from dashboard.workspace import Workspace

    folder = tmp_path / "runs" / "0001"
    folder.mkdir(parents=True)
    shutil.copyfile(study_folder / "brief.toml", folder / "brief.toml")
    files.write_json(folder / "partial.json", workspace.source(None).rows[:30])
    with (folder / files.LOCK).open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with answering(Workspace(study_folder, tmp_path / "runs")) as found:
            yield Staged(folder, f"{found}/?run=0001")


@pytest.fixture(scope="session")
def address(workspace) -> Iterator[str]:
    """Where the explorer answers."""
    with answering(workspace) as found:
        yield found


@pytest.fixture
def own(study_folder: Path, tmp_path: Path):
    """A workspace with decisions of its own."""
    from dashboard.workspace import Workspace

    return Workspace(study_folder, tmp_path / "runs")


@pytest.fixture
def own_address(own) -> Iterator[str]:
    """Where the explorer over it answers."""
    with answering(own) as found:
        yield found


@pytest.fixture
def long_address(study_folder: Path, tmp_path: Path) -> Iterator[str]:
    """The explorer on the same study, whose brief asks for searches of a minute."""
    from dashboard.workspace import Workspace

    folder = tmp_path / "study"
    shutil.copytree(study_folder, folder)
    brief = read_brief(folder / "brief.toml")
    budget = SearchBudget(population=300, generations=5000, stagnation=4000, seconds=90, complete=False)
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
def readers_browser(chromium):
    """One reader's browser, whose cache the pages share."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    yield context
    context.close()


@contextmanager
def watched(context) -> Iterator:
    """A page with the list of its faults: what the browser complains of, and requests to another machine."""
    faults: list[str] = []
    tab = context.new_page()
    tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    tab.on("pageerror", lambda error: faults.append(str(error)))
    tab.on("request", lambda asked: faults.append(asked.url) if _leaves(asked.url) else None)
    tab.set_default_timeout(15_000)
    yield tab, faults
    tab.close()


@pytest.fixture
def page(readers_browser) -> Iterator:
    """A page of its own; a fault fails the test."""
    with watched(readers_browser) as (tab, faults):
        yield tab
        assert not faults


@pytest.fixture(scope="session")
def _desk(readers_browser, address) -> Iterator:
    with watched(readers_browser) as (tab, faults):
        tab.goto(address)
        tab.wait_for_selector("#plot .scatterlayer .point")
        yield tab, faults


@pytest.fixture
def desk(_desk, workspace) -> Iterator:
    """One page on the study for all tests that need no page load of their own, put back in order before each."""
    tab, faults = _desk
    wall = most_balanced(workspace.source(None).rows)["id"]
    at_rest(tab)  # an answer to the test before, still on its way, would undo the order
    tab.evaluate(PUT_IN_ORDER, wall)
    tab.wait_for_selector("#drawing svg")
    at_rest(tab)
    until(tab, f"document.querySelector('#wall-name').textContent.includes('{wall}')")
    yield tab
    found, faults[:] = list(faults), []
    assert not found


PUT_IN_ORDER = """wall => {
    const set = window.dash_clientside.set_props;
    set("x", {value: "thickness_mm"});
    set("y", {value: "carbon_kgco2e_m2"});
    set("log", {value: []});
    for (const key of ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2"]) { set("slider-" + key, {value: [0, 9999]}); }
    set("wall", {data: wall});
    window.scrollTo(0, 0);
}"""


def _leaves(url: str) -> bool:
    return not url.startswith(("http://127.0.0.1:", "data:", "blob:"))
