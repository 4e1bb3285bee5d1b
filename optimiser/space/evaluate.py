"""Scores of walls: the figures that a search compares and limits, from a WallBatch."""

from __future__ import annotations

import numpy as np

from ..batch import Array, Index
from ..brief.brief import Brief
from ..template import slot_index
from ..wall.scores import Scores, scores
from .choices import Choices


def evaluate(choices: Choices, x: Index) -> Scores:
    """Figures of rows of choices, which must be buildable."""
    figures = np.full((len(x), len(Scores.__dataclass_fields__)), np.nan)
    for rows, batch in choices.batches(x):
        part = scores(batch, choices.brief.corrections, slot_index, choices.operational)
        figures[rows] = np.stack([getattr(part, key) for key in part.__dataclass_fields__], axis=1)
    return Scores(*figures.T)


def excess(figures: Scores, brief: Brief, target: float) -> Array:
    """(n, 1 + limits) by how much each wall misses the target and the limits, as a share of each; <= 0 holds.

    Where the numerical U decides, what misses by its lower bound misses; the judgement `numeric` settles the rest.
    """
    held = figures.u_least if brief.numeric.constraint else figures.u_value
    columns = [held / target - 1.0]
    columns += [getattr(figures, key) / limit - 1.0 for key, limit in sorted(brief.limits.upper().items())]
    return np.nan_to_num(np.stack(columns, axis=1), nan=1e3)
