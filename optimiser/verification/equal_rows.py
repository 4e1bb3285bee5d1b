"""The walls that a row of a front stands for besides its own: `equals.csv` held to the rows of `front.csv`."""

from __future__ import annotations

import numpy as np

from ..batch import Index
from ..checks.common.search_judgement import Judgement
from ..space.buildable import buildable
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..space.judgements import passes_all
from ..space.rivals import number_of
from ..template import VARIABLES
from .front_rows import Standing
from .refusal import EQUALS, FRONT, Refusal
from .study_tables import Cells


def equal_rows(
    choices: Choices, asked: tuple[Judgement, ...], standing: list[Standing], rows: list[Cells | None]
) -> list[Refusal]:
    """What does not hold: rows of no wall of the front, or of other figures, and counts that are not theirs."""
    refused: list[Refusal] = []
    of_front = {each.id: each for each in standing}
    others: dict[str, list[Index]] = {}
    for number, cells in enumerate(rows, 1):
        if cells is None:
            refused.append(Refusal(EQUALS, f"row {number}", None, "has not as many cells as the header"))
            continue
        at = [number_of(choices, name, cells) for name in VARIABLES]
        if cells["id"] not in of_front:
            refused.append(Refusal(EQUALS, cells["id"], "id", f"row {number} is of no wall of {FRONT} that stands"))
        elif None in at:
            column = VARIABLES[at.index(None)]
            words = f'row {number}: "{cells[column]}" is not among the choices of the brief'
            refused.append(Refusal(EQUALS, cells["id"], column, words))
        else:
            others.setdefault(cells["id"], []).append(np.array(at, np.int32))
    for wall, row in of_front.items():
        x = np.stack([row.x, *others.get(wall, [])])
        if row.cells["equal_count"] != str(len(x)):
            words = f'"{row.cells["equal_count"]}" where {EQUALS} has {len(x) - 1} besides the wall itself'
            refused.append(Refusal(FRONT, wall, "equal_count", words))
        if len(x) > 1 and row.target is not None and not _alike(choices, asked, x, row.target):
            refused.append(Refusal(EQUALS, wall, None, "its rows are not all walls of their own that equal it"))
    return refused


def _alike(choices: Choices, asked: tuple[Judgement, ...], x: Index, target: float) -> bool:
    """Whether rows are different walls that can be built, hold what the brief asks, and have the first one's scores."""
    if len(np.unique(x, axis=0)) < len(x) or not buildable(choices, x).all():
        return False
    scores = evaluate(choices, x)
    steps = scores.steps(tuple(choices.brief.objectives.minimise))
    holds = (excess(scores, choices.brief, target) <= 0).all()
    return bool((steps == steps[0]).all() and holds and passes_all(choices, asked, x).all())
