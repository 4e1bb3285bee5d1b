"""What a step along the front costs: from one wall to its neighbour that is thinner, cheaper or lower in carbon."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..template import FILL_VARIABLES, SLOTS

WORTH = 0.02  # of an objective's range on the front
COLUMNS = (*SLOTS, *FILL_VARIABLES)


@dataclass(frozen=True)
class FrontStep:
    """A neighbour on the front that is better in `objective`: its id, the change in every objective, the slots changed.

    changes: objective -> figure of the neighbour less that of the wall; slots: slot -> (from, to).
    """

    objective: str
    to: str
    changes: dict[str, float]
    slots: dict[str, tuple[str, str]]


def steps(rows: Sequence[dict[str, Any]], wall: str, objectives: Sequence[str]) -> list[FrontStep]:
    """For every objective in which some wall of the front is better, the nearest such wall.

    rows: rows of `front.csv` of one target. Nearest: the least sum of changes, each as a share of the objective's range
    on the front; of equals the first. A step is worth a word from WORTH of the range on; where no wall is that much
    better, any that is better. An objective that some row has no figure for (an older study) is left out.
    """
    objectives = [key for key in objectives if all(row.get(key) is not None for row in rows)]
    figures = np.array([[row[key] for key in objectives] for row in rows], float).reshape(len(rows), -1)
    at = next(number for number, row in enumerate(rows) if row["id"] == wall)
    spread = np.ptp(figures, axis=0)
    change = figures - figures[at]
    far = (np.abs(change) / np.where(spread > 0, spread, 1.0)).sum(axis=1)
    front_steps = []
    for number, objective in enumerate(objectives):
        better = np.flatnonzero(change[:, number] < -WORTH * spread[number])
        if not len(better):
            better = np.flatnonzero(change[:, number] < 0)
        if len(better):
            to = better[np.argmin(far[better])]
            changes = dict(zip(objectives, change[to].tolist(), strict=True))
            front_steps.append(FrontStep(objective, rows[to]["id"], changes, changed(rows[at], rows[to])))
    return front_steps


def changed(one: dict[str, Any], other: dict[str, Any]) -> dict[str, tuple[str, str]]:
    """Slots and fills in which two rows differ: (what the one holds, what the other holds)."""
    return {key: (one[key], other[key]) for key in COLUMNS if key in one and one[key] != other[key]}
