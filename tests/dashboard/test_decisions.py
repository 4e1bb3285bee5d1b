"""Decisions on disk: what is kept, the way back, damaged files, several writers, a killed one."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.choosing.decisions import FILE, LOCK, LONGEST_NOTE, MOST_KEPT, MOST_LIMIT_SETS, Decisions
from materials.errors import InputError


@pytest.fixture
def decisions(tmp_path):
    return Decisions(tmp_path / "runs")


def walls(decisions) -> list[str]:
    return [each.wall for each in decisions.board().shortlist]


def test_nothing_is_decided_and_nothing_written_before_the_first_decision(tmp_path, decisions):
    board = decisions.board()
    assert (board.version, board.shortlist, dict(board.limit_sets), board.undo, board.trouble) == (0, (), {}, "", "")
    assert not (tmp_path / "runs").exists()


def test_walls_are_kept_in_order_with_their_notes(decisions, tmp_path):
    decisions.keep(None, "W-012")
    decisions.keep("0003", "W-012")
    decisions.note("0003", "W-012", "  thin,\nbut dear\x00 ")
    board = Decisions(tmp_path / "runs").board()  # as another browser or a restarted server reads it
    assert [(each.run, each.wall, each.note) for each in board.shortlist] == [
        (None, "W-012", ""),
        ("0003", "W-012", "thin, but dear"),
    ]
    assert board.shortlist[0].at.endswith("+00:00")
    assert board.find("0003", "W-012").note == "thin, but dear"
    assert board.find("0003", "W-013") is None


def test_deciding_the_same_again_changes_nothing(decisions):
    decisions.keep(None, "W-1")
    before = decisions.board()
    decisions.keep(None, "W-1")
    decisions.note(None, "W-1", "")
    decisions.drop(None, "W-9")
    assert decisions.board() == before


def test_every_decision_has_a_later_version(decisions):
    seen = [0]
    for act in (
        lambda: decisions.keep(None, "W-1"),
        lambda: decisions.note(None, "W-1", "x"),
        lambda: decisions.save_limits("thin", {"thickness_mm": [300, 380]}),
        decisions.undo,
        decisions.redo,
        lambda: decisions.drop_limits("thin"),
        lambda: decisions.drop(None, "W-1"),
    ):
        act()
        seen.append(decisions.board().version)
    assert seen == sorted(set(seen))


def test_undo_and_redo_walk_over_all_decisions(decisions):
    decisions.keep(None, "W-1")
    decisions.keep(None, "W-2")
    decisions.note(None, "W-1", "warm")
    decisions.save_limits("thin", {"thickness_mm": [300, 380]})
    decisions.drop(None, "W-1")
    assert decisions.board().undo == "taking W-1 off"
    assert decisions.undo() == "taking W-1 off"
    assert [(each.wall, each.note) for each in decisions.board().shortlist] == [("W-1", "warm"), ("W-2", "")]
    assert decisions.undo() == "saving the limits “thin”"
    assert not decisions.board().limit_sets
    assert decisions.undo() == "the note on W-1"
    assert decisions.undo() == "keeping W-2"
    assert decisions.redo() == "keeping W-2"
    assert decisions.redo() == "the note on W-1"
    assert decisions.board().find(None, "W-1").note == "warm"
    decisions.keep(None, "W-3")  # a new decision ends what could be redone
    assert decisions.redo() is None
    assert walls(decisions) == ["W-1", "W-2", "W-3"]


def test_at_least_fifty_decisions_can_be_undone_after_a_restart(tmp_path):
    for number in range(60):
        Decisions(tmp_path).keep(None, "W-1") if number % 2 == 0 else Decisions(tmp_path).drop(None, "W-1")
    back = Decisions(tmp_path)
    assert all(back.undo() for _ in range(60))
    assert back.undo() is None
    assert walls(back) == []


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["keep", "drop", "note"]), st.integers(1, 4)), max_size=14))
def test_undoing_everything_leads_back_and_redoing_forth(tmp_path_factory, acts):
    decisions = Decisions(tmp_path_factory.mktemp("d"))
    stands = [decisions.board().shortlist]
    for act, number in acts:
        before = decisions.board().version
        try:
            decisions.note(None, f"W-{number}", act * number) if act == "note" else getattr(decisions, act)(
                None, f"W-{number}"
            )
        except InputError:
            assert act == "note"
        if decisions.board().version != before:
            stands.append(decisions.board().shortlist)
    for expected in reversed(stands[:-1]):
        assert decisions.undo()
        assert decisions.board().shortlist == expected
    assert decisions.undo() is None
    for expected in stands[1:]:
        assert decisions.redo()
        assert decisions.board().shortlist == expected


def test_sets_of_limits_are_kept_by_name(decisions):
    decisions.save_limits("  the   thin ones ", {"thickness_mm": (300, 380), "cost_per_m2": [0, 180.5]})
    expected = {"the thin ones": {"thickness_mm": [300.0, 380.0], "cost_per_m2": [0.0, 180.5]}}
    assert decisions.board().limit_sets == expected
    decisions.save_limits("the thin ones", {"thickness_mm": [300, 400]})
    assert decisions.board().limit_sets == {"the thin ones": {"thickness_mm": [300.0, 400.0]}}
    decisions.drop_limits("the thin ones")
    assert not decisions.board().limit_sets
    decisions.undo()
    assert decisions.board().limit_sets == {"the thin ones": {"thickness_mm": [300.0, 400.0]}}


def test_sizes_are_bounded_and_said(decisions):
    for number in range(MOST_KEPT):
        decisions.keep(None, f"W-{number}")
    with pytest.raises(InputError, match=f"{MOST_KEPT} walls at most"):
        decisions.keep(None, "W-999")
    decisions.note(None, "W-1", "n" * LONGEST_NOTE)
    with pytest.raises(InputError, match="at most 500 characters; this one has 501"):
        decisions.note(None, "W-1", "n" * (LONGEST_NOTE + 1))
    for number in range(MOST_LIMIT_SETS):
        decisions.save_limits(f"set {number}", {"thickness_mm": [1, 2]})
    with pytest.raises(InputError, match="the most"):
        decisions.save_limits("one more", {"thickness_mm": [1, 2]})
    decisions.save_limits("set 1", {"thickness_mm": [1, 3]})  # replacing is not one more


@pytest.mark.parametrize(
    "act",
    [
        lambda each: each.keep(None, "../../etc/passwd"),
        lambda each: each.keep("../x", "W-1"),
        lambda each: each.keep(None, ""),
        lambda each: each.note(None, "W-1", "of a wall that is not kept"),
        lambda each: each.save_limits("", {"thickness_mm": [1, 2]}),
        lambda each: each.save_limits("a" * 61, {"thickness_mm": [1, 2]}),
        lambda each: each.save_limits("a", {}),
        lambda each: each.save_limits("a", {"thickness_mm": [2, 1]}),
        lambda each: each.save_limits("a", {"thickness_mm": [1, float("nan")]}),
        lambda each: each.save_limits("a", {"thickness_mm": [1]}),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_leaves_no_trace(decisions, act):
    with pytest.raises(InputError):
        act(decisions)
    assert decisions.board().version == 0


def test_a_full_file_is_read_back(decisions):
    for number in range(MOST_KEPT):
        decisions.keep("0001", f"W-{number}")
    for number in range(120):
        decisions.note("0001", f"W-{number % MOST_KEPT}", f"{number} " + "\U0001f9f1" * 490)
    assert decisions.board().trouble == ""
    assert len(decisions.board().shortlist) == MOST_KEPT


DAMAGED = [
    b"",
    b"{",
    b"null",
    b"[]",
    b'"text"',
    b"\xff\xfe\x00",
    b"[" * 100_000,
    b'{"version": 1e999}',
    b'{"kept": [{"run": null, "wall": "../x"}]}',
    b'{"kept": [{"run": null, "wall": "W-1"}, {"run": null, "wall": "W-1"}]}',
    b'{"limit_sets": {"a": {"thickness_mm": [NaN, 1]}}}',
    b'{"limit_sets": {"a": {"thickness_mm": [1, 2, 3]}}}',
    b'{"undo": [{"words": "x", "kind": "kept", "name": "W-1", "after": {"thickness_mm": [1, 2]}}]}',
    b'{"unknown": 1}',
    json.dumps({"kept": [{"run": None, "wall": f"W-{n}"} for n in range(MOST_KEPT + 1)]}).encode(),
    b'{"set_aside": "' + b"x" * 5_000_000 + b'"}',
]


@pytest.mark.parametrize("content", DAMAGED, ids=range(len(DAMAGED)))
def test_a_damaged_file_is_set_aside_and_told_not_lost(tmp_path, content):
    (tmp_path / FILE).write_bytes(content)
    decisions = Decisions(tmp_path)
    board = decisions.board()
    assert board.shortlist == ()
    assert "were set aside as decisions-damaged-" in board.trouble
    (aside,) = tmp_path.glob("decisions-damaged-*")
    assert aside.read_bytes() == content
    assert aside.name in board.trouble
    assert decisions.board() == board  # told until the next decision, and set aside once
    decisions.keep(None, "W-1")
    assert decisions.board().trouble == ""
    assert len(list(tmp_path.glob("decisions-damaged-*"))) == 1


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_at_all_are_survived(tmp_path_factory, content):
    folder = tmp_path_factory.mktemp("bytes")
    (folder / FILE).write_bytes(content)
    decisions = Decisions(folder)
    decisions.keep(None, "W-1")
    assert walls(decisions) == ["W-1"]


def test_a_folder_in_the_place_of_the_file_is_set_aside(tmp_path):
    (tmp_path / FILE).mkdir()
    decisions = Decisions(tmp_path)
    decisions.keep(None, "W-1")
    assert walls(decisions) == ["W-1"]


def test_two_writers_lose_nothing_of_each_other(tmp_path):
    two = [Decisions(tmp_path), Decisions(tmp_path)]

    def keep(number: int) -> None:
        two[number % 2].keep(None, f"W-{number}")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(keep, range(20)))
    assert sorted(walls(two[0])) == sorted(f"W-{number}" for number in range(20))


WRITES_FOR_EVER = """
import sys
from dashboard.choosing.decisions import Decisions
decisions = Decisions(sys.argv[1])
decisions.keep(None, "W-1")
print("ready", flush=True)
number = 0
while True:
    decisions.note(None, "W-1", f"{number} " + "x" * 400)
    number += 1
"""


def test_a_killed_writer_leaves_a_whole_file_and_no_lock(tmp_path):
    for delay in (0.0, 0.013, 0.031):
        writer = subprocess.Popen([sys.executable, "-c", WRITES_FOR_EVER, str(tmp_path)], stdout=subprocess.PIPE)
        writer.stdout.readline()
        time.sleep(delay)
        os.kill(writer.pid, signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        decisions = Decisions(tmp_path)
        assert decisions.board().trouble == ""
        assert walls(decisions) == ["W-1"]
        decisions.keep(None, "W-2")
        decisions.drop(None, "W-2")
    assert not list(tmp_path.glob("decisions-damaged-*"))


def test_a_lock_that_is_not_let_go_is_told_after_a_while(tmp_path, monkeypatch):
    import fcntl

    monkeypatch.setattr("dashboard.choosing.decisions.PATIENCE", 0.1)
    with (tmp_path / LOCK).open("a") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(InputError, match="try again"):
            Decisions(tmp_path).keep(None, "W-1")
    Decisions(tmp_path).keep(None, "W-1")
