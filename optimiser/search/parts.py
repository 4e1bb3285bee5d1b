"""The three parts that a wall splits into for the exact search, and the figures that it follows of them.

    wall = core (frames, gap and what fills them) x service zone x skin (all the plain layers)

Thickness, cost, carbon and weight of the parts add up. Of the skin, heat sees one number, the sum of its resistances;
of the service zone its battens' share and two resistances. The core is the rest. `skins`, `service_zones` and
`core_options` reduce each to the options worth combining.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index, WallBatch
from ..score import area
from ..space.choices import Choices
from ..stopping import ask, pieces
from ..template import AT, MEMBER_SLOTS, VARIABLES, VENTED
from ..wall.scores import STEPS, WHOLE_LIFE
from .bounds import worth_combining

SORTED, SAMPLE = 200_000, 4096  # rows grouped at a time, and of how many of all rows it is told which
TOGETHER = 200_000  # pairs joined between two chances to stop
QUANTITY = {
    "cost_per_m2": ("price", "labour"),
    "carbon_kgco2e_m2": ("carbon",),
    "weight_kg_m2": ("mass",),
    WHOLE_LIFE: ("carbon",),  # what is built in; the heat lost comes on top, by the whole wall's U (Figures.operating)
}


@dataclass(frozen=True)
class Figures:
    """Which figures a search follows, in order: the objectives, then what is limited besides. All in steps."""

    objectives: tuple[str, ...]
    limited: tuple[str, ...]
    limits: Array  # (k,) in steps, infinite where there is none
    operational: float = 0.0  # kgCO2e/m2 by U in W/m2K, where a figure followed counts it

    @classmethod
    def of(cls, choices: Choices) -> Figures:
        objectives = choices.brief.objectives.minimise
        upper = choices.brief.limits.upper()
        limited = tuple(key for key in sorted(upper) if key not in objectives)
        keys = (*objectives, *limited)
        limits = np.array([upper.get(key, np.inf) * STEPS[key] for key in keys])
        return cls(objectives, limited, limits, choices.operational if WHOLE_LIFE in keys else 0.0)

    @property
    def keys(self) -> tuple[str, ...]:
        return (*self.objectives, *self.limited)

    @property
    def scale(self) -> Array:
        return np.array([STEPS[key] for key in self.keys], float)

    def operating(self, resistance: Array) -> Array | float:
        """(n, k) the least that the heat lost adds, in steps.

        resistance (n,): mean of the average by area, never below R', and of R'', surfaces included: then R_T is at
        most that, and corrections only add to U.
        """
        if not self.operational:
            return 0.0
        added = np.zeros((len(resistance), len(self.keys)))
        at = self.keys.index(WHOLE_LIFE)
        added[:, at] = (1 - 1e-12) * self.operational / resistance * STEPS[WHOLE_LIFE]
        return added


@dataclass(frozen=True)
class WallPart:
    """m ways to make one part: their choices (m, variables), figures in steps (m, k), and resistance (m,)."""

    x: Index
    figures: Array
    resistance: Array

    def __len__(self) -> int:
        return len(self.x)

    @property
    def arrays(self) -> tuple[Index, Array, Array]:
        return self.x, self.figures, self.resistance

    def rows(self, chosen) -> WallPart:
        ask()
        return WallPart(self.x[chosen], self.figures[chosen], self.resistance[chosen])


def plain_options(choices: Choices, name: str, follow: Figures) -> WallPart:
    """The options of one plain slot as a part. Cladding and ventilated space carry no resistance."""
    column = choices.column[name]
    count = len(column["thickness"])
    share = column["width"] / column["spacing"] + column["extra"] if name in MEMBER_SLOTS else np.ones(count)
    values = []
    for key in follow.keys:
        if key == "thickness_mm":
            values.append(column["thickness"] * 1000)
        else:
            values.append(share * sum(column[quantity] for quantity in QUANTITY[key]))
    x = np.zeros((count, len(VARIABLES)), np.int32)
    x[:, AT[name]] = np.arange(count)
    outside = name in VENTED
    resistance = np.zeros(count) if outside else column["resistance"]
    return WallPart(x, np.stack(values, axis=1) * follow.scale, resistance)


def joined(one: WallPart, other: WallPart) -> WallPart:
    """Every pair of two parts of different slots."""
    many = len(other)
    arrays = [_empty(each, len(one) * many) for each in (one.x, one.figures, one.resistance)]
    for some in pieces(len(one), max(1, TOGETHER // max(many, 1))):
        for whole, a, b in zip(arrays, one.arrays, other.arrays, strict=True):
            block = a[some][:, None] + b[None]
            whole[some.start * many : some.stop * many] = block.reshape(-1, *block.shape[2:])
    return WallPart(*arrays)


def _empty(like: NDArray, count: int) -> NDArray:
    return np.empty((count, *like.shape[1:]), like.dtype)


def thinned(
    part: WallPart,
    follow: Figures,
    groups: NDArray | None = None,
    properties: Sequence[tuple[Array, NDArray[np.integer]]] = (),
) -> WallPart:
    """A part without superfluous rows; rows of different `groups` never displace each other.

    properties: what must not get smaller besides the resistance, as (options, p) with the option (m,) of every row.
    """
    alive = np.zeros(len(part), bool)
    for rows in grouped_rows(np.zeros(len(part), int) if groups is None else groups):
        ask()
        if len(rows) == 1:
            alive[rows] = True
            continue
        better = np.column_stack([part.resistance[rows], *(table[option[rows]] for table, option in properties)])
        alive[rows] = worth_combining(part.figures[rows], better, len(follow.objectives))
    return part.rows(alive)


def grouped_rows(groups: NDArray) -> Iterator[NDArray]:
    """Row numbers of every group, in the order of the groups' numbers."""
    for rows in _ranges(groups):
        order = rows[np.argsort(groups[rows], kind="stable")]
        yield from np.split(order, np.flatnonzero(np.diff(groups[order])) + 1)


def _ranges(groups: NDArray) -> Iterator[NDArray]:
    """Row numbers in parts of about SORTED, each with all rows of its groups; between two there is a chance to stop."""
    if len(groups) <= SORTED:
        yield from [np.arange(len(groups))] if len(groups) else []
        return
    sample = np.sort(groups[:: max(1, len(groups) // SAMPLE)])
    edges = np.unique(sample[:: max(1, len(sample) * SORTED // len(groups))])[1:]
    for low, high in zip([-np.inf, *edges], [*edges, np.inf], strict=True):
        ask()
        rows = np.flatnonzero((groups >= low) & (groups < high))
        if len(rows):
            yield rows


def figures_of(batch: WallBatch, follow: Figures, layers: tuple[int, ...]) -> Array:
    """Figures (n, k) in steps of some layers of a batch."""
    held = {
        quantity: area.per_layer(batch, quantity)[:, layers].sum(axis=1)
        for key in follow.keys
        if key != "thickness_mm"
        for quantity in QUANTITY[key]
    }
    values = [
        batch.thickness[:, layers].sum(axis=1) * 1000
        if key == "thickness_mm"
        else sum(held[quantity] for quantity in QUANTITY[key])
        for key in follow.keys
    ]
    return np.stack(values, axis=1) * follow.scale
