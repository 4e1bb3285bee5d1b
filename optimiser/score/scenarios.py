"""Figures that may turn out otherwise: quasi-random scenarios, and how often a wall stays undominated over them.

Pure functions over arrays; what the factors are (suppliers, products, materials) is `search/stability.py`'s business.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..batch import Array


def draws(count: int, factors: int, seed: int) -> Array:
    """Scrambled Sobol points (count, factors) in 0..1, the same for the same seed."""
    from scipy.stats import qmc

    if factors == 0:
        return np.empty((count, 0))
    # Whole powers of two keep the points balanced; fewer are the first of them.
    return qmc.Sobol(factors, seed=seed).random_base2((count - 1).bit_length())[:count]


def about_one(at: Array, share: ArrayLike) -> Array:
    """Factors from 1 - share to 1 + share, evenly spread, for points `at` in 0..1."""
    return 1.0 + np.asarray(share) * (2.0 * at - 1.0)


def about_zero(at: Array, low: ArrayLike, high: ArrayLike) -> Array:
    """Differences from `low` (at most 0) to `high` (at least 0) for points in 0..1: as often below 0 as above it.

    Evenly spread on either side, so that a typical value stays the median of a lopsided range.
    """
    side = 2.0 * at - 1.0
    return np.where(side < 0, -np.asarray(low), np.asarray(high)) * side


def share_undominated(watched: int, scenarios: Iterable[NDArray]) -> Array:
    """How often each of the first `watched` rows is strictly beaten by no row (watched,) [-].

    scenarios: for each, the figures of all rows (n, objectives), to be small. A row beats another where it is no worse
    in every figure and better in one; equal rows do not beat each other.
    """
    stays, count = np.zeros(watched), 0
    for figures in scenarios:
        stays += _undominated(figures)[:watched]
        count += 1
    if count == 0:
        raise ValueError("no scenario: the share of none is nothing")
    return stays / count


def _undominated(figures: NDArray) -> NDArray[np.bool_]:
    from moocore import is_nondominated

    if not len(figures):
        return np.zeros(0, bool)
    if figures.shape[1] == 1:
        return figures[:, 0] == figures[:, 0].min()
    return is_nondominated(figures.astype(float), keep_weakly=True)
