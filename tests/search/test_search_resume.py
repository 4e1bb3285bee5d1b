"""A search that stopped goes on as if it never had."""

import json

import numpy as np
import pytest
import toy_space as small

from optimiser.search import files
from optimiser.search.evolution import Evolution
from optimiser.search.run import search


@pytest.mark.parametrize("pause", [1, 4, 11])
def test_resume_from_a_file_equals_an_uninterrupted_run(toy, tmp_path, pause):
    brief = small.brief_in(toy, search={"population": 40, "generations": 20, "stagnation": 99})
    target = brief.target.u_value
    straight = Evolution(small.choices_of(brief, toy), target)
    for _ in straight.run():
        pass
    first = Evolution(small.choices_of(brief, toy), target)
    for _ in range(pause):
        first.next()
    files.write_arrays(tmp_path / "state.npz", first.state())
    again = Evolution(small.choices_of(brief, toy), target, files.read_arrays(tmp_path / "state.npz"))
    assert again.generation == pause
    for _ in again.run():
        pass
    assert again.generation == straight.generation == 20
    assert np.array_equal(again.archive.best_x, straight.archive.best_x)
    assert np.array_equal(again.archive.best_steps, straight.archive.best_steps)
    assert np.array_equal(again.archive.all()[0], straight.archive.all()[0])
    assert again.archive.equal_counts().tolist() == straight.archive.equal_counts().tolist()
    assert again.volume == straight.volume


def test_a_search_paused_before_it_found_anything_resumes_too(toy, tmp_path):
    brief = small.brief_in(
        toy, target={"u_value": 0.0709}, search={"population": 20, "generations": 30, "stagnation": 99}
    )
    target = brief.target.u_value
    first = Evolution(small.choices_of(brief, toy), target)
    first.next()
    assert not len(first.archive.best_x), "the case must begin without a wall that holds the target"
    files.write_arrays(tmp_path / "state.npz", first.state())
    again = Evolution(small.choices_of(brief, toy), target, files.read_arrays(tmp_path / "state.npz"))
    for evolution in (first, again):
        for _ in evolution.run():
            pass
    assert np.array_equal(first.archive.all()[0], again.archive.all()[0])


def test_a_finished_search_resumed_does_nothing_more(toy, tmp_path):
    brief = small.brief_in(toy, search={"population": 20, "generations": 300, "stagnation": 3})
    target = brief.target.u_value
    done = Evolution(small.choices_of(brief, toy), target)
    for _ in done.run():
        pass
    files.write_arrays(tmp_path / "state.npz", done.state())
    again = Evolution(small.choices_of(brief, toy), target, files.read_arrays(tmp_path / "state.npz"))
    assert again.finished()
    assert np.array_equal(again.archive.best_x, done.archive.best_x)


def test_a_state_is_plain_arrays_and_text_that_load_without_pickle(toy, tmp_path):
    brief = small.brief_in(toy, search={"population": 20, "generations": 3})
    evolution = Evolution(small.choices_of(brief, toy), brief.target.u_value)
    evolution.next()
    files.write_arrays(tmp_path / "state.npz", evolution.state())
    with np.load(tmp_path / "state.npz", allow_pickle=False) as found:
        assert all(found[key].dtype.kind in "ifU" for key in found.files)
        assert json.loads(str(found["meta"]))["target"] == brief.target.u_value


def test_a_search_of_two_targets_stopped_in_the_first_ends_with_both_fronts(toy):
    brief = small.brief_in(
        toy, target={"u_value": 0.11, "also": [0.13]}, search={"population": 30, "generations": 8, "stagnation": 99}
    )
    straight = search(brief, toy)
    kept, seen = {}, []
    search(brief, toy, lambda *_: seen.append(1), lambda: len(seen) >= 3, keep=kept.__setitem__)
    assert list(kept) == [0.11]
    resumed = search(brief, toy, states=kept)
    assert [each.target for each in resumed.archives] == [0.11, 0.13]
    for one, other in zip(straight.archives, resumed.archives, strict=True):
        assert np.array_equal(one.best_x, other.best_x)
    assert resumed.summary["evaluations"] == straight.summary["evaluations"]
