"""How far a search is, and how a complete one accounts for every wall of the space."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

REASONS = ("dominated option", "too little insulation", "smallest sufficient gap", "judgement", "limit", "bound")


@dataclass(frozen=True)
class Progress:
    """Where a search stands."""

    target: float
    generation: int
    generations: int
    evaluations: int
    front_size: int
    best_thickness_mm: float | None
    hypervolume: float
    seconds: float
    settled: float | None = None  # share of the space, once the complete search is at it
    still: dict[str, float] | None = None  # no wall yet to come can be below these figures


@dataclass
class Tally:
    """How many walls were settled by which argument; together they are the space."""

    evaluated: int = 0
    excluded: dict[str, int] = field(default_factory=lambda: dict.fromkeys(REASONS, 0))
    released: int = 0  # of those excluded by a narrower gap, evaluated after all
    ruled_out: dict[str, int] = field(default_factory=dict)  # evaluated walls that a judgement did not pass

    def add(self, reason: str, count: int) -> None:
        self.excluded[reason] += int(count)

    @property
    def settled(self) -> int:
        return self.evaluated + sum(self.excluded.values())

    def merged(self, other: Tally) -> Tally:
        """Both tallies together."""
        return Tally(
            self.evaluated + other.evaluated,
            {reason: self.excluded[reason] + other.excluded[reason] for reason in REASONS},
            self.released + other.released,
            {name: self.ruled_out[name] + other.ruled_out[name] for name in self.ruled_out},
        )


def share_of(settled: int, size: int) -> float:
    """Share of a space that is settled: 1 only where every wall is, however many there are."""
    return 1.0 if settled >= size else min(settled / size, math.nextafter(1.0, 0.0))


@dataclass(frozen=True)
class Settled:
    """Where a complete search stands."""

    share: float  # of the space
    front_size: int
    evaluated: int
    seconds: float
    still: dict[str, float] | None  # no wall yet to come can be below these; None: not known, or nothing is open
