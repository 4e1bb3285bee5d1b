"""The combined method of ISO 6946 read backwards: how much plain resistance a wall still needs for its target."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..batch import Array

STEPS = 60
CLOSE = 1e-12  # m2K/W


def at_least(mean: Array, lower: Array, target: float) -> Array:
    """A plain resistance [m2K/W] that no wall meeting the target can have less of.

    mean: sum over the framed layers of their resistances averaged by area; lower: the same layers in the lower limit.
    R' <= p + mean (a harmonic mean is below the arithmetic one) and R'' = p + lower, so R_T >= 1/U needs this much.
    """
    return (2.0 / target - mean - lower) / 2.0


def needed(paths: Sequence[tuple[Array, Array]], lower: Array, target: float, start: Array) -> Array:
    """The plain resistance p [m2K/W] at which R_T(p) = (R'(p) + R''(p)) / 2 is 1/target.

    paths: (fraction, resistance of the framed layers on it) of every path, arrays that broadcast together; lower:
    resistance of the framed layers in the lower limit; start: any value not above the answer.

    R'(p) = 1 / sum f/(p + r) is concave and rises at least as fast as p, so Newton's steps from below never overshoot.
    """
    p = np.maximum(start, 1e-9)
    goal = 2.0 / target - lower
    for _ in range(STEPS):
        conductance = np.zeros_like(p)
        slope = np.zeros_like(p)
        for fraction, resistance in paths:
            through = 1.0 / (p + resistance)
            part = fraction * through
            conductance += part
            slope += part * through
        upper = 1.0 / conductance
        step = (goal - upper - p) / (slope * upper * upper + 1.0)
        p = np.maximum(p + step, 1e-9)
        if np.abs(step).max(initial=0.0) < CLOSE:
            break
    return p
