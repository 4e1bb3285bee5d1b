"""One module and one line more in the table is a check that search, command, documents and explorer obey alike.

Law: the front of a brief that asks for it equals plain enumeration of the walls that pass it (brute force).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
WORDS = "kg/m2 outside the studs, at most 18"


@pytest.fixture(scope="module")
def told(tmp_path_factory) -> dict:
    """What `one_check_more.py` tells: a process of its own, as the table is read once."""
    paths = os.pathsep.join([str(ROOT), str(HERE.parent / "spaces"), os.environ.get("PYTHONPATH", "")])
    call = [sys.executable, str(HERE / "one_check_more.py"), str(tmp_path_factory.mktemp("one-check-more"))]
    run = subprocess.run(call, capture_output=True, text=True, env=os.environ | {"PYTHONPATH": paths})
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout.splitlines()[-1])


def test_the_search_obeys_it_and_finds_what_plain_enumeration_finds(told):
    assert min(told["some pass, some fail"]) > 1000
    assert told["equal"] and told["complete"] and told["moved the front"]
    assert told["missed"] == []


def test_search_check_explorer_and_papers_give_one_verdict_of_every_wall(told):
    assert {wall["search"] for wall in told["walls"]} == {True, False}
    for wall in told["walls"]:
        assert wall["check"] == wall["search"] == (not wall["failed"])
        assert wall["explorer"] == ("passes" if wall["search"] else "fails")
        assert wall["page"] and wall["print"] and wall["calculation"] and wall["summary"], wall


def test_the_command_says_it_and_ends_with_no(told):
    code, said = told["command"]
    assert code == 1
    (line,) = [each for each in said.splitlines() if WORDS in each]
    assert line.startswith("fails") and "hung mass:" in line


def test_walls_kept_off_the_front_are_told_with_the_figure_that_fails(told):
    assert told["ruled out"]
    for check, reason in told["ruled out"]:
        assert check == "hung_mass"
        assert reason.endswith(WORDS) and float(reason.split()[0]) > 18
