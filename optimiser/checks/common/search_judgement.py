"""What a search must know of a judgement besides heat."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from ...batch import Array, Index, WallBatch


class Space(Protocol):
    """What a check may see of the choices of a search (`space.choices.Choices`).

    Options by slot and their columns as arrays; fills by variable and their kinds; walls of rows as batches.
    """

    brief: Any
    options: Mapping[str, tuple[Any, ...]]
    fills: Mapping[str, tuple[Any, ...]]
    kinds: Mapping[str, Any]
    column: Mapping[str, Mapping[str, NDArray]]

    def any_present(self, names: tuple[str, ...], x: Index) -> NDArray[np.bool_]: ...

    def take(self, name: str, what: str, x: Index) -> Array: ...

    def flag(self, name: str, what: str, x: Index) -> NDArray[np.bool_]: ...

    def tied(self, x: Index) -> NDArray[np.bool_]: ...

    def void_depths(self, x: Index) -> dict[str, Array]: ...

    def batches(self, x: Index) -> list[tuple[NDArray, WallBatch]]: ...


@dataclass(frozen=True)
class Reading:
    """What a judgement reads of a slot's options: properties (options, p), from the choices.

    alike False: they are never worse when larger. alike True: no direction is known, and only options with equal
    properties may stand in for each other.
    """

    properties: Callable[[Space], Array]
    alike: bool = False


@dataclass(frozen=True)
class Judgement:
    """A judgement besides heat and limits, as the exact search must know it.

    reads: slot or fill variable -> what is read of its options, or None: only one and the same option will do.
    passes: tells for rows of choices whether each holds. rules_out: frame slot -> options that no wall may hold.
    lacks: by how much failing rows miss it, as a share of the limit (above 0), for a search that climbs; 1 where it
    is not given. of_target: it settles the target itself, where heat alone gives bounds; it is asked last, of no wall
    that another is known to beat, and stands where the checks are lifted to see what they cost.
    A judgement may read the gap in any way: a wall that it rules out releases the wider gaps.
    """

    name: str
    reads: Mapping[str, Reading | None]
    passes: Callable[[Space, Index], NDArray[np.bool_]]
    rules_out: Mapping[str, NDArray[np.bool_]] = field(default_factory=dict)
    lacks: Callable[[Space, Index], Array] = lambda choices, x: np.ones(len(x))
    of_target: bool = False


@dataclass(frozen=True)
class Reads:
    """What all judgements together read of one slot's options."""

    code: NDArray[np.integer]  # (options,) options with other numbers never stand in for each other
    larger: Array  # (options, p) never worse when larger


def together(options: int, readings: list[Reading | None], choices: Space) -> Reads:
    """Join what several judgements read of one slot with so many options."""
    if any(each is None for each in readings):
        return Reads(np.arange(options), np.zeros((options, 0)))
    properties = {
        alike: [each.properties(choices) for each in readings if each.alike == alike] for alike in (True, False)
    }
    code = np.zeros(options, int)
    if properties[True]:
        alike = np.nan_to_num(np.column_stack(properties[True]), nan=-1.0, posinf=np.inf, neginf=-np.inf)
        code = np.unique(np.round(alike, 12), axis=0, return_inverse=True)[1].ravel()
    return Reads(code, np.column_stack(properties[False]) if properties[False] else np.zeros((options, 0)))
