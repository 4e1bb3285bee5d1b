"""Ctrl+C at any moment of `wallfront search`: what was found is a study that opens and resumes; never a traceback."""

from __future__ import annotations

import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest
import toy_space as small

from optimiser.command import interrupting, search_printing
from optimiser.command.cli import demo_brief
from optimiser.search import files
from optimiser.search.study import open_study

if sys.platform == "win32":
    pytest.skip("signals to a child work otherwise there", allow_module_level=True)

STARTS = "from optimiser.command.start import main; print('!', flush=True); main()"
PATIENCE = 240.0  # s; a bound on a hang, not on speed
# Some seconds of a search, with checks, and its proof shared out.
SLOW = {"population": 120, "start_generations": 20, "stagnation": 99, "workers": 2}


@dataclass(frozen=True)
class Whole:
    """A brief, how long a search of it takes [s], and its front."""

    brief: Path
    seconds: float
    rows: list


def begun(*args) -> subprocess.Popen:
    """The command as a process of its own, at the moment when it begins."""
    how = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, "start_new_session": True}
    child = subprocess.Popen([sys.executable, "-P", "-c", STARTS, *map(str, args)], **how)
    assert child.stdout.readline() == "!\n"
    return child


def searched(brief: Path, out: Path, after: float | None = None) -> tuple[int, str, str]:
    """Search; with Ctrl+C, which a terminal sends to every process of the command, after so many seconds."""
    child = begun("search", brief, "--out", out, "--json")
    try:
        if after is not None:
            time.sleep(after)
            with contextlib.suppress(ProcessLookupError):  # it is over
                os.killpg(child.pid, signal.SIGINT)
        out_words, err = child.communicate(timeout=PATIENCE)
    finally:
        child.kill()
    return child.returncode, out_words, err


def whole(brief: Path, folder: Path) -> Whole:
    started = time.monotonic()
    code, _, err = searched(brief, folder / "whole")
    assert code == 0, err
    return Whole(brief, time.monotonic() - started, plain(folder / "whole"))


def plain(folder: Path) -> list:
    """The rows of a front, less how often a wall stays on it: that of one that is not whole is not looked at."""
    return [{key: value for key, value in row.items() if key != "stability"} for row in open_study(folder).rows]


@pytest.fixture(scope="module")
def toy_whole(tmp_path_factory) -> Whole:
    folder = tmp_path_factory.mktemp("interrupted")
    return whole(small.write_brief(folder, search=SLOW, gap={"step_mm": 4}, **small.SOUND), folder)


@pytest.fixture(scope="module")
def demo_whole(tmp_path_factory) -> Whole:
    """The shipped brief; the conduction through its front, which takes long, is another matter."""
    folder = tmp_path_factory.mktemp("interrupted-demo")
    path = folder / "brief.toml"
    path.write_text(demo_brief().read_text(encoding="utf-8").replace("prove = true", "prove = false"))
    return whole(path, folder)


def interrupted(given: Whole, folder: Path, share: float) -> str:
    """Interrupt a search after a share of its time and look at what is left; returns how far it came."""
    out = folder / "study"
    code, words, err = searched(given.brief, out, share * given.seconds)
    assert "Traceback" not in err
    assert "ignored in" not in err
    assert code in (0, 130)
    assert [each.name for each in folder.iterdir() if each.name.startswith(".s")] == []
    if not out.exists():
        assert code == 130
        assert "stopped" in err
        assert words == ""
        assert not (folder / "study-runs").exists()
        return "nothing found"
    study = open_study(out)
    assert study.rows
    assert study.buildup(study.rows[0]["id"])
    assert json.loads(words)["stopped"] == study.summary["stopped"]
    if study.summary["stopped"] == "complete":
        assert plain(out) == given.rows
        return "at its end"
    assert (code, study.summary["stopped"]) == (130, "interrupted")
    assert study.summary["complete"] == all(each["share"] == 1.0 for each in study.summary["proof"])
    assert all({"share", "still"} <= each.keys() for each in study.summary["proof"])
    assert "goes on from there" in err
    return "interrupted"


def resumes(given: Whole, folder: Path) -> None:
    """A later search takes it up, ends with the whole front, and leaves nothing beside the study."""
    generation = json.loads(str(files.read_arrays(next((folder / "study-runs" / "search").glob("*.npz")))["meta"]))
    assert generation["generation"] > 0
    code, words, err = searched(given.brief, folder / "study")
    assert code == 0, err
    assert json.loads(words)["complete"]
    assert plain(folder / "study") == given.rows
    assert not (folder / "study-runs").exists()


def moments(seed: int, count: int) -> list[float]:
    drawn = random.Random(seed)
    return [drawn.random() for _ in range(count)]


@pytest.mark.parametrize("share", [0.05, 0.7, 0.9])
def test_ctrl_c_at_three_moments_of_a_search(toy_whole, tmp_path, share):
    how = interrupted(toy_whole, tmp_path, share)
    if how == "interrupted" and share == 0.7:
        resumes(toy_whole, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("name", ["toy_whole", "demo_whole"])
def test_ctrl_c_at_twenty_random_moments_of_a_search(request, tmp_path, name):
    given, ends = request.getfixturevalue(name), []
    for number, share in enumerate(moments(20, 20)):
        (folder := tmp_path / str(number)).mkdir()
        ends.append(interrupted(given, folder, share))
        if ends[-1] == "interrupted" and ends.count("interrupted") <= 4:
            resumes(given, folder)
    print(name, f"{given.seconds:.1f} s", {end: ends.count(end) for end in ends})
    assert "interrupted" in ends


def test_another_brief_does_not_take_up_what_was_interrupted(wallfront, tmp_path, monkeypatch):
    """In this process: pressed as soon as there is something to lose."""
    monkeypatch.setattr(interrupting.Interrupt, "wanted", lambda self: _press(self))
    brief = small.write_brief(tmp_path, search={"population": 40})
    found = wallfront("search", brief, "--out", tmp_path / "study")
    assert found.code == 130
    assert "goes on from there" in found.err
    assert "not proven complete: interrupted" in found.out
    assert "of what is still open no bound is known yet" in found.out
    assert (tmp_path / "study-runs" / "search" / "search.json").is_file()
    monkeypatch.undo()
    monkeypatch.chdir(tmp_path)
    other = small.write_brief(tmp_path, name="other.toml", search={"population": 40}, target={"u_value": 0.12})
    assert "went on" not in wallfront("search", other, "--out", tmp_path / "other").out
    again = wallfront("search", brief, "--out", tmp_path / "study")
    assert again.code == 0
    assert "went on from where it was interrupted" in again.out
    assert open_study(tmp_path / "study").summary["complete"]
    assert not (tmp_path / "study-runs").exists()


def _press(interrupt: interrupting.Interrupt) -> bool:
    interrupt.pressed = True
    return True


def test_damaged_states_are_not_taken_up(wallfront, tmp_path, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(interrupting.Interrupt, "wanted", lambda self: _press(self))
        brief = small.write_brief(tmp_path, search={"population": 40})
        assert wallfront("search", brief, "--out", tmp_path / "study").code == 130
    state = next((tmp_path / "study-runs" / "search").glob("*.npz"))
    state.write_bytes(state.read_bytes()[:200])
    found = wallfront("search", brief, "--out", tmp_path / "study")
    assert found.code == 0
    assert "went on" not in found.out


def test_interrupted_before_a_wall_was_found_there_is_a_clear_word_and_nothing_else(wallfront, tmp_path, monkeypatch):
    monkeypatch.setattr(interrupting.Interrupt, "wanted", lambda self: _press(self))
    brief = small.write_brief(tmp_path, search={"population": 20}, target={"u_value": 0.02})
    before = {each.name for each in tmp_path.iterdir()}
    found = wallfront("search", brief, "--out", tmp_path / "study")
    assert found.code == 130
    assert "before a wall was found" in found.err
    assert "no wall meets" not in found.err, "it was not looked at to the end"
    assert {each.name for each in tmp_path.iterdir()} == before


def test_with_a_spent_budget_it_is_told_what_is_known_of_the_rest(wallfront, tmp_path):
    brief = small.write_brief(tmp_path, search={"population": 60, "seconds": 1e-9})
    found = wallfront("search", brief, "--out", tmp_path / "study")
    assert found.code == 1
    assert "of what is still open no bound is known yet" in found.out
    assert "the budget was spent before the space was settled" in found.err


def test_the_bound_on_what_is_open_in_words():
    at = {"target": 0.11, "share": 0.5, "still": {"thickness_mm": 428.0, "cost_per_m2": 157.4}, "evaluated": 9}
    proof = at | {"excluded": {}, "ruled_out": {}}
    assert "what is still open is at least 428.0 mm thick, 157.40 EUR/m2" in search_printing.proof_words(
        proof, 100, "EUR"
    )
    assert "open" not in search_printing.proof_words(proof | {"share": 1.0, "still": None}, 100, "EUR")
