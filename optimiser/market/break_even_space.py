"""The walls that hold one product: the part of a brief's space they make up, slot by slot, and the search of it."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.common.search_judgement import Reads
from ..search import bounds
from ..search.complete import Complete
from ..search.skins import SkinClass
from ..space import buildable as rules
from ..space.choices import Choices
from ..space.fill_tables import FillKinds, FillTable
from ..space.judgements import judgements
from ..stopping import stepwise
from ..template import (
    AT,
    FILL_OF,
    FILL_VARIABLES,
    GAP,
    GAP_FILL,
    INNER_FILL,
    MAIN_FILLS,
    MENDS_RULES,
    OUTER_FILL,
    SERVICE_FILL,
    SERVICE_ZONE,
    SKIN,
    VARIABLES,
    ZONE,
)
from .levers import ProductPlaces

NEAR = 6  # neighbouring gaps that a swapped wall is tried with, on either side
MOST_SWAPS = 60_000  # rows looked at, about


class KnownFront(Protocol):
    """What a search must know of the front: its score vectors in steps, and skins that searches share."""

    vectors: NDArray[np.int64]
    shelf: dict[bool, list[SkinClass]]


class Against(Complete):
    """The complete search of a part of the space, bounded by a front that is known besides.

    Exact for what it is asked: which walls hold the product and are beaten by none of `front` (n, objectives) [steps].
    only: in a space that is open in all fills, walls without the product in a frame or the gap are passed over.
    shelf: skins laid by earlier searches that differ in frames, fills and service zone alone, by `guarded`.
    """

    def __init__(
        self,
        choices: Choices,
        target: float,
        front: NDArray[np.int64],
        held: ProductPlaces,
        only: bool,
        shelf: dict[bool, list[SkinClass]] | None = None,
    ) -> None:
        super().__init__(choices, target, judgements=judgements(choices))
        self.held, self.only, self.shelf = held, only, shelf
        # Rows that no wall has stand for the walls of the front: they bound, and are never found.
        self.x = np.repeat(-1 - np.arange(len(front), dtype=np.int32)[:, None], len(choices.sizes), axis=1)
        self.steps = front
        self._cut = bounds.Cut(front)

    def _ruled_out(self, x: Index) -> NDArray[np.bool_]:
        out = super()._ruled_out(x)
        if self.only:
            fills = self.held.fills
            holds = fills[GAP_FILL].any(axis=1)[x[:, AT[GAP_FILL]]]
            for name in (OUTER_FILL, INNER_FILL):
                holds |= fills[name][x[:, AT[name]], x[:, AT[ZONE[name]]]]
            out |= ~holds
        return out

    def _skins(self, known: dict[str, Reads]) -> list[SkinClass]:
        if self.shelf is None:
            return super()._skins(known)
        if self.guarded not in self.shelf:
            self.shelf[self.guarded] = super()._skins(known)
        return self.shelf[self.guarded]

    def entering(self) -> Index:
        """What was found: walls that hold the product and that nothing beats."""
        x = self.x[self.x[:, 0] >= 0]
        return x[self.held.by(x)]


def entering(
    moved: Choices, keys: set[str], target: float, place: str, known: KnownFront, stop: Callable[[], bool]
) -> Index | None:
    """Rows of `moved` that hold one of some products in one place and enter a known front; None when stopped."""
    held = ProductPlaces.of(moved, keys)
    if not held.by_place(place):
        return np.empty((0, len(VARIABLES)), np.int32)
    part = SpacePart.of(moved, held, place)
    in_skin = any(options.any() for name, options in held.slots.items() if name in SKIN)
    shelf = None if in_skin else known.shelf
    search = Against(part.choices, target, known.vectors, ProductPlaces.of(part.choices, keys), place == "fill", shelf)
    for _ in stepwise(search.run(), stop) if search.size else ():
        if stop():
            return None
    return part.whole(moved, search.entering())


@dataclass(frozen=True)
class SpacePart:
    """Choices with some variables closed to all but some options, and those options' numbers in the whole."""

    choices: Choices
    numbers: dict[str, NDArray[np.integer]]

    @classmethod
    def of(cls, choices: Choices, held: ProductPlaces, place: str) -> SpacePart:
        """One place closed to all but the products held; "fill" stays open, as its three zones are filled apart."""
        if place == "fill":
            return cls(choices, {})
        if place != FILL_OF[SERVICE_ZONE]:
            return cls.closed(choices, {place: np.flatnonzero(held.slots[place])})
        fills, zones = (np.flatnonzero(held.fills[place].any(axis=axis)) for axis in (1, 0))
        return cls.closed(choices, {place: fills, SERVICE_ZONE: zones})

    @classmethod
    def closed(cls, choices: Choices, numbers: dict[str, NDArray[np.integer]]) -> SpacePart:
        part = copy.copy(choices)
        part.options, part.column = dict(choices.options), dict(choices.column)
        part.fills, part.kinds, part.tables = dict(choices.fills), dict(choices.kinds), dict(choices.tables)
        for name, rows in numbers.items():
            if name in FILL_VARIABLES:
                part.fills[name] = tuple(choices.fills[name][row] for row in rows)
                part.kinds[name] = _some(choices.kinds[name], rows)
            else:
                part.options[name] = tuple(choices.options[name][row] for row in rows)
                part.column[name] = {key: values[rows] for key, values in choices.column[name].items()}
        for name, zone in ZONE.items():
            if name in numbers or zone in numbers:
                shape = choices.tables[name].fits.shape
                fills, depths = (
                    numbers.get(each, np.arange(many)) for each, many in zip((name, zone), shape, strict=True)
                )
                part.tables[name] = _table(choices.tables[name], fills, depths)
        part.sizes = np.array([len(part.options.get(name) or part.fills[name]) for name in VARIABLES])
        return cls(part, numbers)

    def whole(self, choices: Choices, x: Index) -> Index:
        """Rows of the part as rows of the choices it was taken from."""
        x = x.copy()
        for name, rows in self.numbers.items():
            x[:, AT[name]] = rows[x[:, AT[name]]]
        return rules.canonical(choices, x)


def _some(kinds: FillKinds, rows: NDArray[np.integer]) -> FillKinds:
    return replace(kinds, **{each.name: getattr(kinds, each.name)[rows] for each in fields(kinds)})


def _table(table: FillTable, fills: NDArray[np.integer], depths: NDArray[np.integer]) -> FillTable:
    arrays = {each.name: getattr(table, each.name) for each in fields(table) if each.name != "stacks"}
    places = {(f, d): table.stacks.get((old, deep)) for f, old in enumerate(fills) for d, deep in enumerate(depths)}
    stacks = {place: stock for place, stock in places.items() if stock is not None}
    return replace(table, stacks=stacks, **{name: values[np.ix_(fills, depths)] for name, values in arrays.items()})


def swaps(choices: Choices, held: ProductPlaces, x: Index) -> Index:
    """Buildable walls made of walls x by putting the product wherever it may stand, with gaps a little off."""
    made = [each for each in _swapped(choices, held, x) if len(each)]
    if not made:
        return x[:0]
    rows = _mended(choices, held, np.concatenate(made))
    return _buildable(choices, held, rows[:: max(1, len(rows) // (MOST_SWAPS // (2 * NEAR + 1)))])


def _mended(choices: Choices, held: ProductPlaces, x: Index) -> Index:
    """Rows that can be built, and of the others those that another layer outside mends (wind-tight, racking)."""
    x = rules.canonical(choices, x)
    fine = rules.buildable(choices, x)
    made = [x[fine]]
    broken = x[~fine]
    for name in MENDS_RULES if len(broken) else ():
        for option in range(len(choices.options[name])):
            y = broken.copy()
            y[:, AT[name]] = option
            y = y[held.by(y)]
            made.append(y[rules.buildable(choices, y)] if len(y) else y)
    return np.concatenate(made)


def neighbours(choices: Choices, held: ProductPlaces, x: Index) -> Index:
    """Buildable walls with the product that differ from walls x in one choice, with gaps a little off."""
    made = []
    for name in VARIABLES:
        if name != GAP:
            count = len(choices.options.get(name) or choices.fills[name])
            y = np.repeat(x, count, axis=0)
            y[:, AT[name]] = np.tile(np.arange(count), len(x))
            made.append(y)
    return _buildable(choices, held, np.concatenate(made))


def _buildable(choices: Choices, held: ProductPlaces, rows: Index) -> Index:
    """Each once, with the gap as it is and up to NEAR options off."""
    last = len(choices.options[GAP]) - 1
    gaps = rows[:, AT[GAP]][:, None] + np.arange(-NEAR, NEAR + 1)[None]
    fine = (gaps >= 0) & (gaps <= last)
    at, _ = np.nonzero(fine)
    rows = rows[at]
    rows[:, AT[GAP]] = gaps[fine]
    rows = rules.canonical(choices, rows)
    rows = rows[held.by(rows)]
    rows = np.unique(rows, axis=0) if len(rows) else rows
    return rows[rules.buildable(choices, rows)] if len(rows) else rows


def _swapped(choices: Choices, held: ProductPlaces, x: Index) -> Iterator[Index]:
    for name, options in held.slots.items():
        for option in np.flatnonzero(options):
            y = x.copy()
            y[:, AT[name]] = option
            yield y
    fills = {name: np.flatnonzero(held.fills[name].any(axis=1)) for name in FILL_VARIABLES}
    for fill in fills[SERVICE_FILL]:
        for zone in np.flatnonzero(held.fills[SERVICE_FILL][fill]):
            y = x.copy()
            y[:, AT[SERVICE_FILL]], y[:, AT[SERVICE_ZONE]] = fill, zone
            yield y
    for fill in fills[GAP_FILL]:
        for names in (*((name,) for name in MAIN_FILLS), MAIN_FILLS):
            y = x.copy()
            for name in names:
                y[:, AT[name]] = fill
            yield y
            for name in names:
                if name == GAP_FILL:
                    continue
                for depth in np.flatnonzero(held.fills[name][fill]):
                    z = y.copy()
                    z[:, AT[ZONE[name]]] = depth
                    yield z
