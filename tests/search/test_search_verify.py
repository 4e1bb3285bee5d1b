"""The second opinion: it agrees with a complete front, and catches one that a wall was taken from by hand."""

import json

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.search.run import save, search
from optimiser.search.second_opinion import verify


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("verify")
    brief = small.brief_in(folder, target={"u_value": 0.11, "also": [0.13]})
    outcome = search(brief, folder)
    assert outcome.summary["complete"]
    save(outcome, folder, folder / "study")
    return folder / "study"


def front_lines(study):
    return (study / "front.csv").read_text(encoding="utf-8").splitlines(keepends=True)


def test_a_complete_front_stands(study):
    found = verify(study, draws=20_000)
    assert found.missed == []
    assert set(found.tried) == {
        "changes of one or two choices",
        "drawn from the whole space",
        "drawn near the front",
    }
    assert min(found.tried.values()) > 1_000
    assert found.total == sum(found.tried.values())


@pytest.mark.parametrize("line", [1, 9, -1])
def test_a_front_with_one_wall_removed_by_hand_is_caught(study, line):
    """Any one of them: the wall itself is a change of two choices of a neighbour, or is drawn."""
    lines = front_lines(study)
    try:
        (study / "front.csv").write_text("".join(lines[:line] + lines[line:][1:]), encoding="utf-8")
        found = verify(study, draws=20_000)
    finally:
        (study / "front.csv").write_text("".join(lines), encoding="utf-8")
    gone = dict(zip(lines[0].split(","), lines[line].split(","), strict=False))
    assert [each["thickness_mm"] for each in found.missed][:1] == [float(gone["thickness_mm"])]
    assert found.missed[0]["target"] == float(gone["target"])


def test_equal_seeds_try_equal_walls(study):
    assert verify(study, draws=5_000, seed=4) == verify(study, draws=5_000, seed=4)


def test_the_command_says_how_many_it_tried_and_ends_with_1_when_one_is_missed(study, tmp_path):
    from typer.testing import CliRunner

    from optimiser.command.cli import app

    call = ["verify", str(study), "--draws", "5000", "--json"]
    good = CliRunner().invoke(app, call)
    assert good.exit_code == 0
    told = json.loads(good.stdout)
    assert told["missed"] == []
    assert told["total"] == sum(told["tried"].values())
    lines = front_lines(study)
    try:
        (study / "front.csv").write_text("".join(lines[:3] + lines[4:]), encoding="utf-8")
        bad = CliRunner().invoke(app, call)
        words = CliRunner().invoke(app, call[:-1])
    finally:
        (study / "front.csv").write_text("".join(lines), encoding="utf-8")
    assert bad.exit_code == words.exit_code == 1
    assert json.loads(bad.stdout)["missed"]
    assert "the front misses walls that pass" in words.stdout


def test_a_front_that_is_not_of_its_brief_is_refused(study):
    lines = front_lines(study)
    try:
        (study / "front.csv").write_text(lines[0] + lines[1].replace("t-1", "t-9"), encoding="utf-8")
        with pytest.raises(InputError, match="is not in the brief"):
            verify(study, draws=0)
    finally:
        (study / "front.csv").write_text("".join(lines), encoding="utf-8")
