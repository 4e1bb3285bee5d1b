"""Suppliers compared in a process of their own: what is kept, and that a stopped or killed one loses nothing."""

from __future__ import annotations

import json
import os
import shutil
import signal
import time

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.market import suppliers_worker
from optimiser.market.break_even_study import break_evens, stored_break_evens
from optimiser.market.suppliers import stored_fronts, supplier_fronts
from optimiser.market.suppliers_worker import CHANGED, FRONTS, Comparisons, compare
from optimiser.search import files
from optimiser.search.run import save, search
from optimiser.search.study import open_study

SELLERS = ("Hill Sawmill", "Plain Boards", "Stoke Fill")
PATIENCE = 90.0  # s; a bound on a hang, not on speed


@pytest.fixture(scope="module")
def studied(tmp_path_factory):
    """A study of the toy space whose products are sold by three."""
    folder = tmp_path_factory.mktemp("three-suppliers")
    rows = []
    for number, line in enumerate(small.PRODUCTS):
        cells = line.split(",")
        cells[3] = SELLERS[number % 3]
        rows.append(",".join(cells))
    brief = small.brief_in(folder, rows, search={"start_generations": 2})
    save(search(brief, folder), folder, folder / "study")
    return folder / "study"


@pytest.fixture
def study(studied, tmp_path):
    """A copy of it that a test may write to."""
    shutil.copytree(studied, tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture
def target(studied):
    return open_study(studied).brief.target.u_value


def ended(jobs, name="study"):
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        state = jobs.state(name)
        if not state.alive:
            return state
        time.sleep(0.05)
    pytest.fail(f"still {state.status} after {PATIENCE} s")


def told(found):
    """What two comparisons of one study share: all but the time that they took."""
    return [{**each.as_json(), "seconds": 0} for each in found.fronts]


def test_a_comparison_is_kept_with_the_study(study, target, tmp_path):
    jobs = Comparisons(tmp_path / "jobs")
    assert jobs.state("study").status == "none"
    jobs.start("study", study, target)
    assert jobs.state("study").alive
    state = ended(jobs)
    assert (state.status, state.message, state.target) == ("done", "", target)
    assert Comparisons(tmp_path / "jobs").state("study") == state, "another server sees the same"
    opened = open_study(study)
    assert told(stored_fronts(opened)) == told(supplier_fronts(opened))
    prices = stored_break_evens(opened, target, "price")
    assert [each["product"] for each in prices] == [each.product for each in break_evens(opened)]
    assert [each["at"] for each in prices] == [each.at for each in break_evens(opened)]
    assert stored_break_evens(opened, target, "carbon") is None


def test_a_lever_asked_later_leaves_the_rest_as_it_is(study, target, tmp_path):
    assert compare(study, target, (FRONTS, "price"))
    before = files.read_json(study / files.SUPPLIERS)
    jobs = Comparisons(tmp_path / "jobs")
    jobs.start("study", study, target, ("carbon",))
    assert ended(jobs).status == "done"
    after = files.read_json(study / files.SUPPLIERS)
    assert {key: after[key] for key in before} == before
    assert stored_break_evens(open_study(study), target, "carbon") is not None


def test_what_is_kept_is_not_found_again(study, target):
    assert compare(study, target, (FRONTS,))
    began = []
    seen = []

    def watch(part, words):
        return lambda done, total, latest: seen.append(part)

    assert compare(study, target, (FRONTS, "price"), began.append, watch)
    assert began == [FRONTS, "price"]
    assert set(seen) == {"price"}


@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_stopped_one_keeps_only_what_is_whole(study, target, after):
    looks = iter(range(1000))
    assert not compare(study, target, (FRONTS, "price"), stop=lambda: next(looks) >= after)
    opened = open_study(study)
    assert stored_fronts(opened) is None
    assert stored_break_evens(opened, target, "price") is None
    assert compare(study, target, (FRONTS, "price"))


def test_asked_to_stop_it_stops(study, target, tmp_path):
    jobs = Comparisons(tmp_path / "jobs")
    jobs.start("study", study, target, (FRONTS, "price", "carbon", "conductivity"))
    jobs.cancel("study")
    state = ended(jobs)
    assert state.status == "cancelled"
    jobs.start("study", study, target)
    assert ended(jobs).status == "done", "a new request is not stopped by the old one"


def test_a_killed_one_is_told_and_can_be_begun_again(study, target, tmp_path):
    jobs, other = Comparisons(tmp_path / "jobs"), Comparisons(tmp_path / "jobs")
    jobs.start("study", study, target, (FRONTS, "price", "carbon", "conductivity"))
    place = tmp_path / "jobs" / "study" / "state.json"
    end = time.monotonic() + PATIENCE
    while "pid" not in (raw := files.read_json(place)) and time.monotonic() < end:
        time.sleep(0.01)
    os.kill(raw["pid"], signal.SIGKILL)
    assert ended(jobs).status == "failed"
    assert "stopped without a word" in jobs.state("study").message
    assert ended(other).status == "failed"
    kept = study / files.SUPPLIERS
    assert not kept.exists() or isinstance(json.loads(kept.read_text()), dict), "no half of a file"
    other.start("study", study, target)
    assert ended(other).status == "done"
    assert jobs.state("study").status == "done"


def test_one_process_at_a_time_compares_a_study(study, target, tmp_path):
    jobs, other = Comparisons(tmp_path / "jobs"), Comparisons(tmp_path / "jobs")
    jobs.start("study", study, target)
    before = files.read_json(tmp_path / "jobs" / "study" / "request.json")
    other.start("study", study, target, ("carbon",))
    assert files.read_json(tmp_path / "jobs" / "study" / "request.json") == before
    assert ended(jobs).status == "done"


def test_a_study_that_changes_on_the_way_keeps_nothing_of_the_old_one(study, target):
    def begin(part):
        if part == "price":
            lines = (study / "front.csv").read_text().splitlines(keepends=True)
            (study / "front.csv").write_text("".join(lines[:-1]))  # one wall less

    with pytest.raises(InputError, match=CHANGED):
        compare(study, target, (FRONTS, "price"), begin)
    assert stored_break_evens(open_study(study), target, "price") is None


def test_trouble_is_told_in_words(study, target, tmp_path):
    jobs = Comparisons(tmp_path / "jobs")
    with pytest.raises(InputError, match="weather"):
        jobs.start("study", study, target, ("weather",))
    jobs.start("study", tmp_path / "nowhere", target)
    state = ended(jobs)
    assert state.status == "failed"
    assert "is no study" in state.message
    jobs.start("study", study, 0.017)
    assert "0.017" in ended(jobs).message


def test_the_worker_of_a_folder_that_is_taken_ends_at_once(study, target, tmp_path):
    import fcntl

    folder = tmp_path / "jobs"
    folder.mkdir()
    files.write_json(folder / "request.json", {"study": str(study), "target": target, "parts": [FRONTS]})
    with (folder / files.LOCK).open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        suppliers_worker.main(folder)
    assert not (folder / "state.json").exists()
