"""Fronts: which walls no other beats, ties and all, and what they say about the whole."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Steps = NDArray[np.int64]


def distinct(x: NDArray, steps: Steps) -> tuple[NDArray, Steps, NDArray[np.int64]]:
    """One row for each score vector, the one of lowest index, and how many rows share the vector.

    x (n, variables) distinct rows; steps (n, objectives) their scores in whole steps. Sorted by scores.
    """
    if len(x) == 0:
        return x, steps, np.zeros(0, np.int64)
    order = np.lexsort((*x.T[::-1], *steps.T[::-1]))
    x, steps = x[order], steps[order]
    first = np.flatnonzero(np.r_[True, (steps[1:] != steps[:-1]).any(axis=1)])
    return x[first], steps[first], np.diff(np.r_[first, len(steps)])


def nondominated(steps: Steps) -> NDArray[np.bool_]:
    """(n,) rows that no other row beats (at least as good in all, better in one). Rows are distinct."""
    from moocore import is_nondominated

    if len(steps) == 0:
        return np.zeros(0, bool)
    if steps.shape[1] == 1:
        return steps[:, 0] == steps[:, 0].min()
    return is_nondominated(steps.astype(float))


def hypervolume(steps: Steps, reference: NDArray) -> float:
    """Share of the box between 0 and `reference` that the rows dominate; rows beyond the reference count nothing."""
    from moocore import hypervolume as volume

    scaled = steps / reference
    scaled = scaled[(scaled < 1).all(axis=1)]
    return float(volume(scaled, ref=np.ones(steps.shape[1]))) if len(scaled) else 0.0
