"""Runs in worker processes: what is seen from outside, and that a cancelled or killed run loses nothing."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.search import files, study
from optimiser.search.jobs import RUNNING, Jobs
from optimiser.search.run import search

# Long enough to be caught in the act: some seconds, always the same number of generations.
CAUGHT = {"population": 60, "generations": 160, "stagnation": 999, "complete": False}
PATIENCE = 60.0  # s; a bound on a hang, not on speed


def wait(jobs, run, until):
    """Look until the run is as wanted."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        state = jobs.state(run)
        if until(state):
            return state
        if state.status not in RUNNING and not until(state):
            pytest.fail(f"ended as {state.status}: {state.message}")
        time.sleep(0.02)
    pytest.fail(f"still {state.status} after {PATIENCE} s")


def ended(status):
    return lambda state: state.status == status


def at_work(state):
    return state.status == "running" and bool(state.rows)


def front(folder):
    return [{key: row[key] for key in row if key != "id"} for row in study.open_study(folder).rows]


@pytest.fixture(scope="module")
def straight(toy):
    """The front of CAUGHT without any interruption."""
    brief = small.brief_in(toy, search=CAUGHT)
    return [row for row, _ in study.front_of(search(brief, toy).archives[0])]


def same(found, straight):
    return found == [{key: row[key] for key in row if key != "id"} for row in straight]


def test_a_run_starts_reports_and_ends_with_a_study(toy, tmp_path):
    jobs = Jobs(tmp_path / "runs")
    assert jobs.list() == []
    brief = small.brief_in(toy, search={"population": 60, "generations": 30})
    run = jobs.start(brief, toy)
    assert jobs.list() == [run]
    assert jobs.state(run).status in RUNNING
    state = wait(jobs, run, ended("done"))
    assert state.message == ""
    keys = {"target", "generation", "generations", "evaluations", "front_size", "best_thickness_mm", "hypervolume"}
    assert keys <= set(state.progress)
    assert state.progress["generation"] > 0
    assert len(front(state.study)) == state.progress["front_size"]
    assert Jobs(tmp_path / "runs").state(run) == state, "another server sees the same"


def test_a_cancelled_run_keeps_what_it_found_and_goes_on_to_the_same_front(toy, tmp_path, straight):
    jobs, other = Jobs(tmp_path), Jobs(tmp_path)
    run = jobs.start(small.brief_in(toy, search=CAUGHT), toy)
    partial = wait(other, run, at_work)
    assert partial.study is None
    assert set(straight[0]) == set(partial.rows[0]), "a row of the partial front is a row of front.csv"
    assert len({row["id"] for row in partial.rows}) == len(partial.rows)
    other.cancel(run)
    state = wait(jobs, run, ended("cancelled"))
    assert other.state(run).status == "cancelled"
    assert state.progress["generation"] < CAUGHT["generations"]
    assert len(front(state.study)) == state.progress["front_size"] > 0
    generations = []

    def done(now):
        generations.extend([now.progress["generation"]] if now.progress else [])
        return now.status == "done"

    other.resume(run)
    resumed = wait(other, run, done)
    assert min(generations) >= state.progress["generation"], "it began again from nothing"
    assert resumed.progress["generation"] == CAUGHT["generations"]
    assert same(front(resumed.study), straight)


def test_a_killed_worker_shows_as_failed_to_every_server_and_goes_on_to_the_same_front(toy, tmp_path, straight):
    jobs, other = Jobs(tmp_path), Jobs(tmp_path)
    run = jobs.start(small.brief_in(toy, search=CAUGHT), toy)
    wait(jobs, run, at_work)
    pid = files.read_json(tmp_path / run / "state.json")["pid"]
    assert pid == jobs._processes[run].pid
    os.kill(pid, signal.SIGKILL)
    seen = wait(other, run, ended("failed"))  # the first server has not yet noticed: its child is a zombie
    assert "resumed" in seen.message
    assert seen.rows, "the partial front stays to be looked at"
    assert wait(jobs, run, ended("failed")).message == seen.message
    jobs.resume(run)
    resumed = wait(jobs, run, ended("done"))
    assert same(front(resumed.study), straight)
    assert not list((tmp_path / run).glob(".*")), "half-written files were left behind"


def test_a_killed_run_that_ends_in_a_proof_has_the_complete_front(toy, tmp_path, whole):
    """Killed at any moment and resumed, the proof settles the whole space: the front is that of plain enumeration."""
    jobs = Jobs(tmp_path)
    run = jobs.start(small.brief_in(toy, search=CAUGHT | {"complete": True, "start_generations": 160}), toy)
    for generation in (5, 40):
        wait(jobs, run, lambda state, least=generation: at_work(state) and state.progress.get("generation", 0) >= least)
        os.kill(files.read_json(tmp_path / run / "state.json")["pid"], signal.SIGKILL)
        wait(jobs, run, ended("failed"))
        jobs.resume(run)
    found = study.open_study(wait(jobs, run, ended("done")).study)
    assert found.summary["complete"]
    keys = found.brief.objectives.minimise
    steps = [[round(row[key] / small.STEP[key]) for key in keys] for row in found.rows]
    assert sorted(steps) == whole.front().tolist()


def test_a_number_of_another_process_does_not_make_a_dead_run_look_alive(toy, tmp_path):
    """After a restart of the machine the worker's number may belong to anybody."""
    folder = tmp_path / "0001"
    folder.mkdir()
    files.write_json(folder / "state.json", {"status": "running", "pid": os.getpid(), "progress": {"generation": 3}})
    assert Jobs(tmp_path).state("0001").status == "failed"


def test_a_second_worker_on_a_run_at_work_steps_back(toy, tmp_path):
    jobs = Jobs(tmp_path)
    run = jobs.start(small.brief_in(toy, search=CAUGHT | {"generations": 5000}), toy)
    wait(jobs, run, at_work)
    pid = files.read_json(tmp_path / run / "state.json")["pid"]
    call = [sys.executable, "-m", "optimiser.search.worker", str(tmp_path / run)]
    assert subprocess.run(call, timeout=PATIENCE).returncode == 0
    assert files.read_json(tmp_path / run / "state.json")["pid"] == pid
    assert jobs.state(run).status == "running"
    jobs.resume(run)  # nothing to resume: it is at work
    assert files.read_json(tmp_path / run / "state.json")["pid"] == pid
    jobs.cancel(run)
    wait(jobs, run, ended("cancelled"))


def test_a_run_that_no_wall_can_meet_says_why(toy, tmp_path):
    jobs = Jobs(tmp_path)
    brief = small.brief_in(toy, target={"u_value": 0.02}, search={"population": 20, "generations": 3})
    state = wait(jobs, jobs.start(brief, toy), ended("infeasible"))
    assert "no wall meets the brief" in state.message
    assert "nearest miss" in state.message
    assert state.study is None


def test_a_run_with_a_faulty_list_fails_with_the_fault(toy, tmp_path):
    small.brief_in(tmp_path, [row.replace(",4.20,", ",free,") for row in small.PRODUCTS])
    jobs = Jobs(tmp_path / "runs")
    state = wait(jobs, jobs.start(small.brief_in(toy), tmp_path), ended("failed"))
    assert "column price" in state.message
    assert "'free'" in state.message


def test_a_run_whose_list_is_missing_does_not_start(toy, tmp_path):
    jobs = Jobs(tmp_path / "runs")
    with pytest.raises(InputError, match=r"toy\.csv"):
        jobs.start(small.brief_in(toy), tmp_path)
    assert jobs.list() == []


@pytest.mark.parametrize("run", ["9999", "../0001", "", "0001/..", "x"])
def test_a_run_that_is_none_is_told(tmp_path, run):
    (tmp_path / "runs" / "0001").mkdir(parents=True)
    with pytest.raises(InputError, match="no run"):
        Jobs(tmp_path / "runs").state(run)


def test_runs_are_numbered_one_by_one_and_listed_oldest_first(tmp_path):
    jobs = Jobs(tmp_path)
    names = [jobs._fresh().name for _ in range(11)]
    assert names == jobs.list() == sorted(names)
    assert len(set(names)) == 11


def test_a_state_that_is_being_written_is_never_read_by_halves(tmp_path):
    """Readers see the old text or the new one: the place always holds one whole file."""
    path = tmp_path / "state.json"
    files.write_json(path, {"n": 0})
    inode = path.stat().st_ino
    files.write_json(path, {"n": 1})
    assert path.stat().st_ino != inode, "written in place"
    assert json.loads(path.read_text()) == {"n": 1}
    with pytest.raises(TypeError):
        files.write_json(path, {"n": object()})
    assert json.loads(path.read_text()) == {"n": 1}
    assert [each.name for each in tmp_path.iterdir()] == ["state.json"]


def test_a_run_killed_in_its_proof_ends_with_the_front_of_one_that_was_not(tmp_path):
    """On the shipped brief, whose proof takes long enough to be caught in the act."""
    brief, source = read_brief(demo_brief()), demo_brief().parent
    jobs = Jobs(tmp_path)
    run = jobs.start(brief, source)
    wait(jobs, run, lambda state: 0 < (state.progress.get("settled") or 0) < 1)
    os.kill(files.read_json(tmp_path / run / "state.json")["pid"], signal.SIGKILL)
    wait(jobs, run, ended("failed"))
    jobs.resume(run)
    found = study.open_study(wait(jobs, run, ended("done")).study)
    assert found.summary["complete"]
    alone = search(brief, source)
    assert found.rows == [row for row, _ in study.front_of(alone.archives[0])]
