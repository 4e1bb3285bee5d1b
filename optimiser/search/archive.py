"""Archive: every design a search has evaluated, once, with its scores; the front is read from it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..space.choices import Choices
from ..space.evaluate import excess
from ..space.judgements import judgements
from ..wall.scores import Scores
from . import front

LEAST_LACK = 1e-6  # what fails never counts as held
FIGURES = tuple(Scores.__dataclass_fields__)


class Archive:
    """Buildable designs evaluated so far: rows, figures, and by how much each misses target and limits."""

    def __init__(self, choices: Choices, target: float) -> None:
        self.choices, self.target = choices, target
        self.judgements = judgements(choices)
        self.objectives = choices.brief.objectives.minimise
        self._chunks: list[tuple[Index, NDArray, NDArray]] = []
        self._seen: set[bytes] = set()
        self.best_x = np.empty((0, len(choices.sizes)), np.int32)
        self.best_steps = np.empty((0, len(self.objectives)), np.int64)
        self.stability: NDArray | None = None  # by wall of the front, where it has been looked at (stability.py)

    def __len__(self) -> int:
        return len(self._seen)

    def missed(self, x: Index, scores: Scores) -> NDArray:
        """(n, 1 + limits + judgements) by how much rows miss target, limits and judgements, as a share of each.

        Only rows that hold target and limits are judged, each until the first judgement that it does not pass.
        """
        lacking = excess(scores, self.choices.brief, self.target)
        out = np.zeros((len(x), len(self.judgements)))
        rows = np.flatnonzero((lacking <= 0).all(axis=1))
        for number, each in enumerate(self.judgements):
            if len(rows):
                holds = each.passes(self.choices, x[rows])
                failing = rows[~holds]
                if len(failing):
                    out[failing, number] = np.maximum(each.lacks(self.choices, x[failing]), LEAST_LACK)
                rows = rows[holds]
        return np.concatenate([lacking, out], axis=1)

    def add(self, x: Index, scores: Scores, known: NDArray | None = None) -> None:
        """Add evaluated buildable rows; rows seen before are passed over. known: what `missed` gave for them."""
        x = np.ascontiguousarray(x, np.int32)
        fresh = np.array([number for number, row in enumerate(x) if self._new(row.tobytes())], int)
        if not len(fresh):
            return
        figures = scores.of(FIGURES)[fresh]
        missed = self.missed(x, scores)[fresh] if known is None else known[fresh]
        self._chunks.append((x[fresh], figures, missed))
        holds = (missed <= 0).all(axis=1)
        steps = scores.steps(self.objectives)[fresh][holds]
        both, both_steps, _ = front.distinct(
            np.concatenate([self.best_x, x[fresh][holds]]), np.concatenate([self.best_steps, steps])
        )
        best = front.nondominated(both_steps)
        self.best_x, self.best_steps, self.stability = both[best], both_steps[best], None

    def _new(self, key: bytes) -> bool:
        if key in self._seen:
            return False
        self._seen.add(key)
        return True

    def all(self) -> tuple[Index, Scores, NDArray]:
        """All rows, their figures and what they miss."""
        if not self._chunks:
            return (
                np.empty((0, len(self.choices.sizes)), np.int32),
                Scores(*np.empty((len(FIGURES), 0))),
                np.empty((0, 1)),
            )
        x, figures, missed = (np.concatenate(parts) for parts in zip(*self._chunks, strict=True))
        return x, Scores(*figures.T), missed

    def equals(self, wall: Index) -> Index:
        """All evaluated walls with exactly the scores of a wall of the front that hold the limits, lowest first."""
        x, scores, missed = self.all()
        at = int(np.flatnonzero((self.best_x == wall).all(axis=1))[0])
        same = (scores.steps(self.objectives) == self.best_steps[at]).all(axis=1) & (missed <= 0).all(axis=1)
        return np.unique(x[same], axis=0)

    def equal_counts(self) -> NDArray[np.int64]:
        """For every wall of the front, how many evaluated walls have exactly its scores and hold the limits too."""
        x, scores, missed = self.all()
        holds = (missed <= 0).all(axis=1)
        _, steps, counts = front.distinct(x[holds], scores.steps(self.objectives)[holds])
        where = {row.tobytes(): count for row, count in zip(steps, counts, strict=True)}
        return np.array([where[row.tobytes()] for row in self.best_steps], np.int64)
