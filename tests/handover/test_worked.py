"""The worked U-value adds up as printed, and every word in it is escaped."""

from __future__ import annotations

import re

import pytest
from drawn_walls import MATERIALS, single, twin

from optimiser.checks.judge import judge
from optimiser.handover.calculation.worked import worked, worked_html


def reckon(words: str) -> float:
    """A printed sum of plain arithmetic, worked out again."""
    assert re.fullmatch(r"[0-9./+() ]+", words), words
    return eval(words)


@pytest.mark.parametrize("wall", [single(), twin(), twin(offset_mm=300, tied=False)])
def test_every_printed_sum_comes_to_its_result(wall):
    heat = judge(wall).heat
    steps = worked(heat)
    for step in (*steps.paths, steps.upper, *steps.layers, steps.lower, steps.total, steps.result):
        if step.sum:
            assert reckon(step.sum) == pytest.approx(step.value, rel=2e-3), step.title
    assert sum(each.fraction for each in heat.paths) == pytest.approx(1)


def test_a_wall_reckoned_by_hand():
    steps = worked(judge(single()).heat)
    fill = 0.13 + 0.022 / 0.05 + 0.3 / 0.039 + 0.012 / 0.13 + 0.0125 / 0.25 + 0.13
    timber = fill - 0.3 / 0.039 + 0.3 / 0.13
    assert [each.value for each in steps.paths] == pytest.approx([fill, timber])
    assert steps.paths[1].title == "Path 2, through softwood 45 × 300 @ 600 in layer 2, 7.50 % of the area"
    upper = 1 / (0.925 / fill + 0.075 / timber)
    lower = fill - 0.3 / 0.039 + 1 / (0.925 / (0.3 / 0.039) + 0.075 / (0.3 / 0.13))
    assert steps.result.value == pytest.approx(2 / (upper + lower))


def test_layers_show_their_fill_and_their_members():
    (frame,) = [each for each in worked(judge(single()).heat).layers if each.title.startswith("Layer 2")]
    assert frame.sum == "1 / (0.9250 / 7.692 + 0.0750 / 2.308)"


def test_one_path_only_needs_no_sum():
    bare = twin(tied=False)
    plain = bare.model_copy(
        update={"layers": tuple(each.model_copy(update={"frame": None}) for each in bare.layers if each.role != "x")}
    )
    steps = worked(judge(plain).heat)
    assert len(steps.paths) == 1
    assert "straight through" in steps.paths[0].title
    assert steps.upper.sum == "the one path"


def test_html_is_escaped():
    bad = MATERIALS["fibre"].model_copy(update={"name": "<img src=x onerror=alert(1)>"})
    wall = single().model_copy(update={"materials": MATERIALS | {"fibre": bad}})
    shown = worked_html(judge(wall).heat)
    assert "<img" not in shown
    assert "&lt;img" in shown
    assert "lies between the two limits" in shown
