"""The combined method of ISO 6946 read backwards: how much plain resistance a wall still needs for its target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..batch import Array

STEPS = 60
CLOSE = 1e-12  # m2K/W


@dataclass(frozen=True)
class Rule:
    """Which resistance must reach 1/U: (R' + share R'') / (1 + share), where R' is the upper, R'' the lower limit."""

    share: float

    def at_least(self, mean: Array, lower: Array, target: float) -> Array:
        """A plain resistance [m2K/W] that no wall meeting the target can have less of (see `at_least`)."""
        return at_least(mean, lower, target, self.share)

    def needed(self, paths: Sequence[tuple[Array, Array]], lower: Array, target: float, start: Array) -> Array:
        """The plain resistance [m2K/W] at which a wall meets the target (see `needed`)."""
        return needed(paths, lower, target, start, self.share)


COMBINED = Rule(1.0)  # R_T of ISO 6946
UPPER = Rule(0.0)  # R' alone: what a wall must reach if its exact U is to meet the target


def at_least(mean: Array, lower: Array, target: float, share: float = 1.0) -> Array:
    """A plain resistance [m2K/W] that no wall meeting the target can have less of.

    mean: sum over the framed layers of their resistances averaged by area; lower: the same layers in the lower limit;
    share: of R'' against R' (`Rule`). R' <= p + mean (a harmonic mean is below the arithmetic one) and R'' = p + lower,
    so R_T >= 1/U needs this much.
    """
    return 1.0 / target - (mean + share * lower) / (1.0 + share)


def needed(
    paths: Sequence[tuple[Array, Array]], lower: Array, target: float, start: Array, share: float = 1.0
) -> Array:
    """The plain resistance p [m2K/W] at which R_T(p) = (R'(p) + R''(p)) / 2 is 1/target.

    paths: (fraction, resistance of the framed layers on it) of every path, arrays that broadcast together; lower:
    resistance of the framed layers in the lower limit; start: any value not above the answer; share: of R'' against R'
    (`Rule`), here 1.

    R'(p) = 1 / sum f/(p + r) is concave and rises at least as fast as p, so Newton's steps from below never overshoot.
    """
    p = np.maximum(start, 1e-9)
    goal = (1.0 + share) / target - share * lower
    for _ in range(STEPS):
        conductance = np.zeros_like(p)
        slope = np.zeros_like(p)
        for fraction, resistance in paths:
            through = 1.0 / (p + resistance)
            part = fraction * through
            conductance += part
            slope += part * through
        upper = 1.0 / conductance
        step = (goal - upper - share * p) / (slope * upper * upper + share)
        p = np.maximum(p + step, 1e-9)
        if np.abs(step).max(initial=0.0) < CLOSE:
            break
    return p
