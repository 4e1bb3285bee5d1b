"""The judgements besides heat that a brief asks for, ready for a search: what each reads, and which walls pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.check_table import Demands, switched_on
from ..checks.common.search_judgement import Judgement
from ..stopping import pieces
from ..wall.scores import Scores
from .choices import Choices
from .evaluate import excess
from .settled_target import numeric

JUDGED = 500  # rows judged between two chances to stop


def judgements(choices: Choices) -> tuple[Judgement, ...]:
    """The judgements that the brief's [checks] and [numeric] switch on, the cheapest first."""
    demands = Demands.of(choices.brief)
    asked = sorted(switched_on(choices.brief), key=lambda check: check.turn)
    settling = [numeric(choices)] if choices.brief.numeric.constraint else []
    return (*(check.judgement(choices, demands[check]) for check in asked), *settling)


def passes_all(choices: Choices, asked: tuple[Judgement, ...], x: Index) -> NDArray[np.bool_]:
    """(n,) rows that every judgement passes; later ones see only rows that passed the earlier ones."""
    alive = np.ones(len(x), bool)
    for each in asked:
        rows = np.flatnonzero(alive)
        if len(rows):
            alive[rows] = passed(each, choices, x[rows])
    return alive


def passed(judgement: Judgement, choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) rows that a judgement passes; stoppable."""
    parts = [judgement.passes(choices, x[some]) for some in pieces(len(x), JUDGED)]
    return np.concatenate([np.zeros(0, bool), *parts])


def holding(choices: Choices, x: Index, scores: Scores, target: float) -> NDArray[np.bool_]:
    """(n,) rows that hold target and limits and pass every check."""
    holds = (excess(scores, choices.brief, target) <= 0).all(axis=1)
    for each in judgements(choices):
        rows = np.flatnonzero(holds)
        if len(rows):
            holds[rows] = passed(each, choices, x[rows])
    return holds
