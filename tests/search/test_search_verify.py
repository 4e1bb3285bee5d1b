"""The second opinion: it agrees with a complete front, and catches one that a wall was taken from by hand."""

import json

import pytest
import toy_space as small
from tiny_study import tiny_study

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


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    return tiny_study(tmp_path_factory.mktemp("few"))


def front_lines(study):
    return (study / "front.csv").read_text(encoding="utf-8").splitlines(keepends=True)


def test_a_complete_front_stands(study):
    opinion = verify(study, draws=20_000, most_listed=0)
    assert opinion.agrees and not opinion.whole
    assert set(opinion.tried) == {
        "changes of one or two choices",
        "drawn from the whole space",
        "drawn near the front",
    }
    assert min(opinion.tried.values()) > 200  # of 23,760; each is tried once
    assert opinion.total == sum(opinion.tried.values())


def test_a_complete_front_of_a_small_space_stands_as_a_proof(study):
    opinion = verify(study, draws=0)
    assert opinion.agrees and opinion.whole
    assert opinion.total == json.loads((study / "study.json").read_text(encoding="utf-8"))["space_size"]


@pytest.mark.parametrize(("line", "most_listed"), [(1, 0), (9, 0), (-1, 0), (9, 1_000_000)])
def test_a_front_with_one_wall_removed_by_hand_is_caught(study, line, most_listed):
    """Any one of them: the wall itself is a change of two choices of a neighbour, or is drawn."""
    lines = front_lines(study)
    try:
        (study / "front.csv").write_text("".join(lines[:line] + lines[line:][1:]), encoding="utf-8")
        opinion = verify(study, draws=20_000, most_listed=most_listed)
    finally:
        (study / "front.csv").write_text("".join(lines), encoding="utf-8")
    gone = dict(zip(lines[0].split(","), lines[line].split(","), strict=False))
    assert [each["thickness_mm"] for each in opinion.missed] == [float(gone["thickness_mm"])]
    assert opinion.missed[0]["target"] == float(gone["target"])
    assert {each.column for each in opinion.refused} == {"front_size", None}  # and its build-up file has no row
    assert [each.place for each in opinion.refused if each.column is None] == [f"buildups/{gone['id']}.toml"]


def test_equal_seeds_try_equal_walls(few):
    assert verify(few, 50, 4, most_listed=0) == verify(few, 50, 4, most_listed=0)


def test_the_command_says_how_many_it_tried_and_ends_with_1_when_one_is_missed(few):
    from typer.testing import CliRunner

    from optimiser.command.cli import app

    call = ["verify", str(few), "--draws", "5000", "--json"]
    good = CliRunner().invoke(app, call)
    assert good.exit_code == 0
    answer = json.loads(good.stdout)
    assert answer["missed"] == []
    assert answer["total"] == sum(answer["tried"].values())
    lines = front_lines(few)
    try:
        (few / "front.csv").write_text("".join(lines[:3] + lines[4:]), encoding="utf-8")
        bad = CliRunner().invoke(app, call)
        words = CliRunner().invoke(app, call[:-1])
    finally:
        (few / "front.csv").write_text("".join(lines), encoding="utf-8")
    assert bad.exit_code == words.exit_code == 1
    assert json.loads(bad.stdout)["missed"]
    assert "the front misses walls that pass" in words.stdout


def test_a_table_that_is_no_front_is_refused(few):
    lines = front_lines(few)
    for text, words in (
        (lines[0].replace("cost_per_m2", "price") + lines[1], 'expected one column "cost_per_m2"'),
        (lines[0].replace("chance", "id") + lines[1], 'expected one column "id", there are 2'),
        (lines[0].replace("chance", "stability") + lines[1], 'column "stability" stands there 2 times'),
        (lines[0] + '"', "cannot be read as a table"),
        ("\udcff", "cannot be read as UTF-8"),
    ):
        try:
            (few / "front.csv").write_bytes(text.encode("utf-8", "surrogateescape"))
            with pytest.raises(InputError, match=words):
                verify(few, draws=0)
        finally:
            (few / "front.csv").write_text("".join(lines), encoding="utf-8")


@pytest.mark.parametrize("text", ["[]", "{", "[" * 100_000, '{"version": ' + "9" * 5_000 + "}"])
def test_an_account_that_is_none_is_refused_in_a_line(few, text):
    path = few / "study.json"
    before = path.read_text(encoding="utf-8")
    try:
        path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=r"study\.json: ") as refused:
            verify(few, draws=0)
        assert len(str(refused.value)) < 400
    finally:
        path.write_text(before, encoding="utf-8")
