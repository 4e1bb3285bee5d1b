"""One entry more in the template is a slot that is searched, proved, checked, drawn, priced and ordered.

Law: the front of the wider space equals plain enumeration of it (brute force), and its size is the number listed.
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


@pytest.fixture(scope="module")
def told(tmp_path_factory) -> dict:
    """What `inner_board.py` tells: a process of its own, as the template is read once."""
    paths = os.pathsep.join([str(ROOT), str(HERE.parent / "spaces"), os.environ.get("PYTHONPATH", "")])
    call = [sys.executable, str(HERE / "inner_board.py"), str(tmp_path_factory.mktemp("inner-board"))]
    run = subprocess.run(call, capture_output=True, text=True, env=os.environ | {"PYTHONPATH": paths})
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout.splitlines()[-1])


def test_the_wider_space_is_counted_and_settled_and_its_front_is_that_of_plain_enumeration(told):
    for front in told["fronts"]:
        assert front["counted"] and front["settled"] and front["equal"], front
        assert front["size"] > 5
        assert "o-9" in front["held"], "the board must be met on the front for this to show anything"


def test_the_board_stands_in_the_study_the_build_up_and_its_documents(told):
    assert told["column"] in ("o-9", "o-12")
    assert told["between"] == ["inner frame", "airtight layer"]
    assert told["priced"] > 0 and told["carbon"] > 0
    assert told["drawn"] and told["ordered"]


def test_the_checks_read_the_board_and_the_second_opinion_finds_nothing_missed(told):
    assert told["reads"] == {"strength": False, "fill": True, "moisture": True}
    assert told["missed"] == []
