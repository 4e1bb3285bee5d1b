"""A front proven by conduction: within its bounds, the same whoever solves it, and never half written."""

from __future__ import annotations

import os
import shutil
import signal
import time
from pathlib import Path

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.heat import steady
from optimiser.search import files, numeric_front
from optimiser.search.numeric_front import flagged, misses, prove_front, prove_study, proven
from optimiser.search.numeric_worker import NumericProof, home_of, words
from optimiser.search.run import save, search
from optimiser.search.study import COLUMNS_PROVEN, identity, open_study
from optimiser.wall.assemble import batch_of, parts_of

SECONDS = 120.0  # for processes that share a busy machine


@pytest.fixture(scope="module")
def searched(tmp_path_factory):
    """A small study; tests take a copy."""
    folder = tmp_path_factory.mktemp("toy")
    small.write_brief(folder, numeric={"prove": True}, search={"population": 60, "generations": 25})
    save(search(read_brief(folder / "brief.toml"), folder), folder, folder / "study")
    return folder / "study"


@pytest.fixture
def study(searched, tmp_path):
    return Path(shutil.copytree(searched, tmp_path / "walls"))


@pytest.fixture(scope="module")
def shipped(tmp_path_factory):
    """The shipped brief's front, proven."""
    folder = tmp_path_factory.mktemp("demo") / "study"
    save(search(read_brief(demo_brief()), demo_brief().parent), demo_brief().parent, folder)
    prove_study(folder)
    return open_study(folder)


def bounds(wall) -> tuple[float, float]:
    found = steady.transmittance(batch_of(wall, parts_of(wall)))
    return 1 / found.r_upper[0], 1 / found.r_lower[0]


def until(what, seconds: float = SECONDS):
    end = time.monotonic() + seconds
    while not (found := what()):
        assert time.monotonic() < end, "it took too long"
        time.sleep(0.05)
    return found


def test_every_wall_of_the_shipped_front_lies_between_its_bounds(shipped):
    """ISO 6946: R'' and R' enclose the resistance of the wall as drawn; the brief states no corrections."""
    assert shipped.summary["numeric"]["unsolved"] == {}
    for row in shipped.rows:
        low, high = bounds(shipped.buildup(row["id"]))
        assert low < row["u_numeric"] - row["u_numeric_error"], row["id"]
        assert row["u_numeric"] + row["u_numeric_error"] < high, row["id"]
        assert row["u_numeric_error"] <= 0.02 * row["u_numeric"]  # 5 % of its timber has no place
        assert 0.0 <= row["chance"] <= 1.0
    assert proven(shipped) and shipped.brief.numeric.prove
    assert flagged(shipped.rows) == shipped.summary["numeric"]["flagged"]


def test_the_figures_do_not_depend_on_the_number_of_processes(study):
    walls = [open_study(study).buildup(row["id"]) for row in open_study(study).rows][:20]
    seen, before = [], {key: os.environ.get(key) for key in numeric_front.THREADS}
    one = prove_front(walls, 0.002, workers=1)
    two = prove_front(walls, 0.002, workers=2, watch=lambda done, total: seen.append((done, total)))
    assert one == two
    assert len({each.u_value for each in one}) > 10
    assert seen[-1] == (20, 20) and seen == sorted(seen)
    assert {key: os.environ.get(key) for key in numeric_front.THREADS} == before


def test_a_study_gains_the_figures_and_is_the_same_study(study):
    before, who = open_study(study), identity(study)
    assert all(row[key] is None for row in before.rows for key in COLUMNS_PROVEN)
    assert not proven(before)
    found = prove_study(study, workers=1)
    after = open_study(study)
    assert identity(study) == who and proven(after)
    assert after.summary["numeric"] == found
    assert after.summary | {"numeric": None} == before.summary | {"numeric": None}
    for old, new in zip(before.rows, after.rows, strict=True):
        assert {key: new[key] for key in old if key not in COLUMNS_PROVEN} == {
            key: old[key] for key in old if key not in COLUMNS_PROVEN
        }
        assert new["u_numeric"] != new["u_value"] and abs(new["u_numeric"] / new["u_value"] - 1) < 0.1
    assert list(after.rows[0]) == list(before.rows[0])
    files.check_replaceable(study)  # nothing foreign lies in it


def test_a_stopped_proof_leaves_the_study_as_it_was(study):
    before = {each.name: each.read_bytes() for each in study.iterdir() if each.is_file()}
    calls = []
    assert prove_study(study, workers=1, watch=lambda done, total: calls.append(done), stop=lambda: bool(calls)) is None
    assert len(calls) == 1
    assert {each.name: each.read_bytes() for each in study.iterdir() if each.is_file()} == before


def test_a_process_killed_between_the_two_files_leaves_a_study_that_can_be_proven(study, monkeypatch):
    def killed(path, value):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(files, "write_json", killed)
        with pytest.raises(KeyboardInterrupt):
            prove_study(study, workers=1)
    half = open_study(study)
    assert not proven(half) and all(row["u_numeric"] for row in half.rows)
    prove_study(study, workers=1)
    assert proven(open_study(study)) and open_study(study).rows == half.rows


def test_a_study_replaced_meanwhile_is_not_written_over(study, monkeypatch):
    found = open_study(study)
    other = files.read_json(study / files.MARK)

    def replace(*args):
        rows = (study / "front.csv").read_text(encoding="utf-8").replace("W-001", "W-900")
        files.write_text(study / "front.csv", rows)

    with pytest.raises(InputError, match="replaced meanwhile"):
        prove_study(study, workers=1, watch=replace)
    assert files.read_json(study / files.MARK) == other
    assert len(open_study(study).rows) == len(found.rows)


def test_a_wall_that_misses_by_more_than_its_error_is_flagged(study):
    """The target of one row set just below its numerical U; of another, within the error."""
    prove_study(study, workers=1)
    rows = open_study(study).rows
    for number, part in ((0, 1.5), (1, 0.5)):
        rows[number]["target"] = rows[number]["u_numeric"] - part * rows[number]["u_numeric_error"]
    assert misses(rows[0]) and not misses(rows[1])
    assert flagged(rows) == [rows[0]["id"]]
    assert not misses(rows[0] | {"u_numeric": None})
    told = words({"flagged": ["W-001"], "unsolved": {"W-002": "no cell"}})
    assert "W-001" in told and "W-002: no cell" in told
    assert words({"flagged": [], "unsolved": {}}) == ""


def test_a_wall_without_a_cell_is_told_and_the_others_are_solved(study):
    found = open_study(study)
    wall = found.buildup(found.rows[0]["id"])
    by_fraction = [
        layer.model_copy(update={"frame": layer.frame.model_copy(update={"fraction": 0.1})}) if layer.frame else layer
        for layer in wall.layers
    ]
    unsolved, solved = prove_front([wall.model_copy(update={"layers": tuple(by_fraction)}), wall], workers=1)
    assert unsolved.u_value is None and "given by fraction" in unsolved.reason
    assert solved.u_value is not None and solved.reason is None


def test_the_worker_proves_and_says_how_far_it_is(study):
    proof = NumericProof(study)
    assert proof.home == home_of(study) == study.with_name("walls-runs") / "numeric"
    assert home_of(study.with_name("0001") / "study") == study.with_name("0001") / "numeric"
    assert proof.wanted() and proof.state().status == "none"
    proof.start()
    assert proof.state().alive
    until(lambda: not proof.state().alive)
    state = proof.state()
    assert (state.status, state.message) == ("done", "") and state.done == state.total == len(open_study(study).rows)
    assert not proof.wanted() and proven(open_study(study))


def test_a_killed_worker_leaves_the_old_state_and_can_be_started_again(study):
    old = {name: (study / name).read_bytes() for name in (files.MARK, "front.csv")}
    proof = NumericProof(study)
    proof.start()
    pid = until(lambda: (files.read_json(proof.home / "state.json") or {}).get("pid"))
    os.kill(pid, signal.SIGKILL)
    proof._process.wait()
    if (study / "front.csv").read_bytes() == old["front.csv"]:  # it had not come to the end
        assert (study / files.MARK).read_bytes() == old[files.MARK]
        until(lambda: not proof.state().alive)  # a process it was just starting may have its lock for an instant
        assert proof.state().status == "failed" and "can be started again" in proof.state().message
        assert NumericProof(study).state().status == "failed"
    assert open_study(study).rows
    proof.start()
    until(lambda: not proof.state().alive)
    assert proof.state().status == "done" and proven(open_study(study))


def test_a_cancelled_worker_leaves_the_study_alone(study):
    before = (study / "front.csv").read_bytes()
    proof = NumericProof(study)
    proof.home.mkdir(parents=True)
    (proof.home / "cancel").touch()
    from optimiser.search.numeric_worker import main

    main(study, proof.home)
    assert proof.state().status == "cancelled"
    assert (study / "front.csv").read_bytes() == before


def test_a_study_that_cannot_be_read_fails_in_words(tmp_path):
    from optimiser.search.numeric_worker import main

    main(tmp_path / "nothing", tmp_path / "home")
    state = NumericProof(tmp_path / "nothing", tmp_path / "home").state()
    assert state.status == "failed" and "is no study" in state.message
    assert not NumericProof(tmp_path / "nothing", tmp_path / "home").wanted()
