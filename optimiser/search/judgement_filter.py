"""Putting walls to judgements: the quick ones to all, what settles the target to as few as can be."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.common.search_judgement import Judgement, Reads, together
from ..space.choices import Choices
from ..space.judgements import passed
from . import bounds
from .tally import Tally


def corrected_slots(choices: Choices) -> set[str]:
    """Slots whose resistance a correction of the brief reads."""
    given = choices.brief.corrections
    named = {str(each.layer) for each in given.fastener}
    return named | ({str(given.air_gap_layer)} if given.air_gap_level else set())


def reads_of(name: str, choices: Choices, judgements: Sequence[Judgement]) -> Reads:
    """What judgements read of a slot; where a correction reads its resistance, only one and the same option."""
    readings = [each.reads[name] for each in judgements if name in each.reads]
    corrected = [None] if name in corrected_slots(choices) else []
    return together(len(choices.options[name]), [*readings, *corrected], choices)


def passing_and_failing(
    judgements: Sequence[Judgement],
    choices: Choices,
    x: Index,
    steps: NDArray[np.int64],
    rows: NDArray[np.integer],
    tally: Tally,
) -> tuple[NDArray[np.integer], NDArray[np.integer]]:
    """Which of some rows of x pass every judgement, and which fail one; the others are beaten by one that passes.

    steps: objectives of every row of x. Each judgement sees what passed those before it; one that settles the target is
    the last, and asked of walls in layers: those that no wall still open beats, then those that no passing one beats.
    """
    failing = []
    for each in judgements:
        if not each.of_target and len(rows):
            holds = passed(each, choices, x[rows])
            failing.append(rows[~holds])
            tally.ruled_out[each.name] += len(failing[-1])
            rows = rows[holds]
    for each in judgements:
        if each.of_target and len(rows):
            rows, failed = _in_layers(each, choices, x, steps, rows)
            failing.append(failed)
            tally.ruled_out[each.name] += len(failed)
    return np.sort(rows), np.sort(np.concatenate([np.zeros(0, int), *failing]))


def _in_layers(
    judgement: Judgement, choices: Choices, x: Index, steps: NDArray[np.int64], rows: NDArray[np.integer]
) -> tuple[NDArray[np.integer], NDArray[np.integer]]:
    passing, failing = np.zeros(0, int), np.zeros(0, int)
    while len(rows):
        first = bounds.undominated(steps[rows])
        layer, rows = rows[first], rows[~first]
        holds = judgement.passes(choices, x[layer])
        passing = np.concatenate([passing, layer[holds]])
        failing = np.concatenate([failing, layer[~holds]])
        if len(rows) and holds.any():
            rows = rows[~bounds.Cut(steps[passing]).beats(steps[rows].astype(float))]
    return passing, failing
