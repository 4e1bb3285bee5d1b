"""Walls that pass and that a front does not match, among any that are handed over."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.common.search_judgement import Judgement
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..space.judgements import passes_all
from ..space.walls import in_short
from ..wall.scores import Scores
from .candidates import SLICE

Steps = NDArray[np.int64]
SAMPLE = 200  # rows by which the walls of a front are put in order, those that match most first
NAMED = 20  # walls named at the most, of each target


class MissedWalls:
    """Every wall handed over is evaluated once, and held against the front of every target."""

    def __init__(
        self, choices: Choices, asked: tuple[Judgement, ...], fronts: dict[float, Steps], most: int = NAMED
    ) -> None:
        """fronts: by target, the objectives of its walls in whole steps (n, objectives)."""
        self.choices, self.asked, self.most = choices, asked, most
        self._fronts = dict(fronts)
        self._missed: dict[float, list[tuple[NDArray[np.int64], dict[str, Any]]]] = {each: [] for each in fronts}

    @property
    def missed(self) -> list[dict[str, Any]]:
        """The walls that should have been on a front, less those that another of them beats."""
        out = []
        for walls in self._missed.values():
            steps = np.array([each for each, _ in walls], np.int64).reshape(len(walls), len(self._keys))
            out += [walls[at][1] for at in unbeaten(steps, self.most)]
        return out

    def look(self, x: Index) -> None:
        """Hold buildable rows against the fronts; what they do not match counts as part of them from then on."""
        left: dict[float, list[Index]] = {target: [] for target in self._fronts}
        for start in range(0, len(x), SLICE):
            rows = np.asfortranarray(x[start : start + SLICE])  # it is read column by column
            scores = evaluate(self.choices, rows)
            steps = scores.steps(self._keys)
            for target, front in self._fronts.items():
                holds = np.flatnonzero((excess(scores, self.choices.brief, target) <= 0).all(axis=1))
                left[target].append(rows[holds[unmatched(steps[holds], front)]])
        for target, parts in left.items():
            self._judge(target, np.concatenate(parts) if parts else x[:0])

    @property
    def _keys(self) -> tuple[str, ...]:
        return tuple(self.choices.brief.objectives.minimise)

    def _judge(self, target: float, x: Index) -> None:
        """Of rows that hold target and limits and that the front does not match, name those that pass every check."""
        x = x[passes_all(self.choices, self.asked, x)] if len(x) else x
        if not len(x):
            return
        scores = evaluate(self.choices, x)
        steps = scores.steps(self._keys)
        for at in unbeaten(steps, self.most):
            self._missed[target].append((steps[at], self._named(target, scores, at, x[at])))
            self._fronts[target] = np.concatenate([self._fronts[target], steps[[at]]])

    def _named(self, target: float, scores: Scores, at: int, row: Index) -> dict[str, Any]:
        wall = {"target": target, "u_value": float(scores.u_value[at]), "in_short": in_short(self.choices, row)}
        return wall | {key: float(getattr(scores, key)[at]) for key in self._keys}


def unmatched(steps: Steps, front: Steps) -> NDArray[np.integer]:
    """Numbers of the rows that no row of a front equals or beats. steps (n, objectives), front (m, objectives)."""
    left = np.arange(len(steps))
    if not len(left) or not len(front):
        return left
    sample = steps[:: max(1, len(steps) // SAMPLE)]
    matches = np.array([(each <= sample).all(axis=1).sum() for each in front])
    for wall in front[np.argsort(-matches, kind="stable")]:
        left = left[~(wall <= steps[left]).all(axis=1)]
    return left


def unbeaten(steps: Steps, most: int) -> list[int]:
    """Numbers of rows that no other beats or, before them, equals: so many at the most, least sum first."""
    left, out = np.argsort(steps.sum(axis=1), kind="stable"), []
    while len(left) and len(out) < most:
        out.append(int(left[0]))
        left = left[~(steps[left[0]] <= steps[left]).all(axis=1)]
    return out
