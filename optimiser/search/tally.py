"""What a complete search is told of judgements, and how it accounts for every wall of the space."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..choices import Choices, Index

REASONS = ("dominated option", "too little insulation", "smallest sufficient gap", "limit", "bound")


@dataclass(frozen=True)
class Judgement:
    """A judgement besides heat and limits, as the exact search must know it.

    reads: slot or fill variable -> the options' properties (options, p) that are never worse when larger, or None
    where no direction is known: then only equal options may displace each other there, and every gap counts if the
    gap is read. passes: tells for rows of choices whether each holds.
    """

    name: str
    reads: Mapping[str, Callable[[Choices], Array] | None]
    passes: Callable[[Choices, Index], NDArray[np.bool_]]


@dataclass
class Tally:
    """How many walls were settled by which argument; together they are the space."""

    evaluated: int = 0
    excluded: dict[str, int] = field(default_factory=lambda: dict.fromkeys(REASONS, 0))
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
            {name: self.ruled_out[name] + other.ruled_out[name] for name in self.ruled_out},
        )


@dataclass(frozen=True)
class Settled:
    """Where a complete search stands."""

    share: float  # of the space
    front_size: int
    evaluated: int
    seconds: float
    still: dict[str, float] | None  # no wall yet to come can be below these figures; None while that is not known
