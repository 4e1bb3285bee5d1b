"""Walls to try: all of a small space, changes of one and of two choices, and walls drawn at random.

Nothing is left out by an argument about what a wall may be worth: only rows that cannot be built, and repeats.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from ..batch import Index
from ..space.buildable import RULES, buildable, canonical, violations
from ..space.choices import Choices
from ..template import (
    AT,
    BEFORE_FRAME,
    BEFORE_GAP,
    BEHIND_GAP,
    CORE,
    FILL_OF,
    GAP,
    INNER_FRAME,
    MEMBRANES,
    OUTER_FRAME,
    SERVICE_ZONE,
    VARIABLES,
)

CHUNK = 200_000  # rows at a time
SLICE = 20_000  # rows looked at together: their arrays stay in the processor's cache
SKIN = (*MEMBRANES, *BEFORE_FRAME)  # which of them make a wall wind-tight depends on them alone
REST = tuple(
    name for name in VARIABLES if name not in (*SKIN, *BEFORE_GAP, *BEHIND_GAP, *FILL_OF, *FILL_OF.values())
)  # what no rule reads
OF_SKIN_AND_CORE = [list(RULES).index(name) for name in ("wind-tight", "racking", "closed void")]


class Once:
    """Lets every row through once: rows are known by a random hash of 64 bits."""

    def __init__(self, choices: Choices, rng: np.random.Generator) -> None:
        self._weights = rng.integers(1, 2**62, size=len(choices.sizes)) | 1
        self._known = np.empty(0, np.int64)

    def fresh(self, x: Index) -> Index:
        """The rows that were not there before, each once."""
        marks = np.zeros(len(x), np.int64)
        for column, weight in zip(x.T, self._weights, strict=True):
            marks += column * weight  # wraps around, as a hash may
        order = np.argsort(marks)
        marks = marks[order]
        first = np.ones(len(marks), bool)
        first[1:] = marks[1:] != marks[:-1]
        if len(self._known):
            at = np.minimum(np.searchsorted(self._known, marks), len(self._known) - 1)
            first &= self._known[at] != marks
        self._known = np.sort(np.concatenate([self._known, marks[first]]), kind="stable")
        return x[order[first]]


def sound(choices: Choices, x: Index) -> Index:
    """The rows in their one form that can be built; repeats stay."""
    out = [x[:0]]
    for start in range(0, len(x), SLICE):
        rows = canonical(choices, np.asfortranarray(x[start : start + SLICE]))  # rules read it column by column
        out.append(rows[~violations(choices, rows).any(axis=1)])
    return np.concatenate(out)


def every(choices: Choices) -> Iterator[Index]:
    """Every wall that can be built, each once, in chunks; for spaces that can be gone through."""
    skins = _joined(_nothing(), SKIN, _product(choices, SKIN))
    skins = skins[~violations(choices, skins)[:, list(RULES).index("wind-tight")]]
    skins = np.unique(skins, axis=0)
    service = _joined(_nothing(), _zone(SERVICE_ZONE), _fitting(choices, SERVICE_ZONE))
    rest = _joined(_nothing(), REST, _product(choices, REST))
    around = [_added(service, rest), skins]
    for core in _cores(choices):
        for rows in _blocks(core, around[1]):
            rows = rows[~violations(choices, rows)[:, OF_SKIN_AND_CORE].any(axis=1)]
            for whole in _blocks(rows, around[0]):
                yield whole[buildable(choices, whole)]


def _cores(choices: Choices) -> Iterator[Index]:
    """Frames, gap, their fills and the boards on the gap, in chunks; what stands around them is 0."""
    inside = _joined(_nothing(), _zone(INNER_FRAME), _fitting(choices, INNER_FRAME))
    inside = _added(inside, _joined(_nothing(), _zone(GAP), _fitting(choices, GAP)))
    inside = _added(inside, _joined(_nothing(), BEHIND_GAP, _product(choices, BEHIND_GAP)))
    inside = inside[~violations(choices, inside)[:, list(RULES).index("gap")]]
    outside = _joined(_nothing(), _zone(OUTER_FRAME), _fitting(choices, OUTER_FRAME))
    outside = _added(outside, _joined(_nothing(), BEFORE_GAP, _product(choices, BEFORE_GAP)))
    for rows in _blocks(inside, outside):
        core = [AT[name] for name in (*CORE, *(FILL_OF[each] for each in CORE), *BEFORE_GAP, *BEHIND_GAP)]
        yield rows[(canonical(choices, rows)[:, core] == rows[:, core]).all(axis=1)]


def _nothing() -> Index:
    return np.zeros((1, len(VARIABLES)), np.int32)


def _zone(name: str) -> tuple[str, str]:
    return name, FILL_OF[name]


def _fitting(choices: Choices, zone: str) -> Index:
    """(pairs, 2) option of a zone and fill that go together; the first fill stands where the zone is empty."""
    fits = choices.tables[FILL_OF[zone]].fits.copy()
    fits[1:, choices.column[zone]["thickness"] == 0] = False
    return np.argwhere(fits)[:, ::-1].astype(np.int32)


def _product(choices: Choices, names: tuple[str, ...]) -> Index:
    """Every combination of the options of some variables, a column each."""
    sizes = [choices.sizes[AT[name]] for name in names]
    return np.indices(sizes).reshape(len(sizes), -1).T.astype(np.int32)


def _joined(rows: Index, names: tuple[str, ...], values: Index) -> Index:
    """The one row given, with every combination of values for some of its variables."""
    out = np.repeat(rows, len(values), axis=0)
    out[:, [AT[name] for name in names]] = values
    return out


def _added(some: Index, others: Index) -> Index:
    """Every row of one with every row of the other, which hold different variables and 0 elsewhere."""
    return (some[:, None] + others[None]).reshape(-1, some.shape[1])


def _blocks(some: Index, others: Index) -> Iterator[Index]:
    """The same, a chunk at a time."""
    size = max(1, CHUNK // max(1, len(others)))
    for start in range(0, len(some), size):
        part = some[start : start + size]
        for at in range(0, len(others), CHUNK):
            yield _added(part, others[at : at + CHUNK])


def changes(choices: Choices, walls: Index) -> Iterator[Index]:
    """Every row that differs from one of some walls in one or two choices and can be built, in chunks."""
    names, options = [], []
    free = [at for at, size in enumerate(choices.sizes) if size > 1]
    for one, other in combinations(free, 2) if len(free) > 1 else [(each, each) for each in free]:
        first, second = np.indices((choices.sizes[one], choices.sizes[other])).reshape(2, -1)
        names.append(np.broadcast_to([one, other], (len(first), 2)))
        options.append(np.stack([first, second], axis=1))
    if not names or not len(walls):
        return
    at, to = np.concatenate(names), np.concatenate(options).astype(np.int32)
    together = max(1, 4 * CHUNK // len(at))  # walls of a front are alike: their changes meet, and are tried once
    for start in range(0, len(walls), together):
        part = walls[start : start + together]
        x = np.repeat(part, len(at), axis=0).reshape(len(part), len(at), -1)
        x[:, np.arange(len(at))[:, None], at] = to
        yield sound(choices, x.reshape(-1, x.shape[2]))


def anywhere(choices: Choices, rng: np.random.Generator, size: int) -> Index:
    """Walls drawn from the whole space: those of so many rows that can be built.

    Zones and their fills are drawn as pairs that fit, the wind-tight skin among skins that are; else hardly a row
    of a space with many batts could be built.
    """
    x = rng.integers(0, choices.sizes, size=(size, len(choices.sizes)), dtype=np.int32)
    for zone, fill in FILL_OF.items():
        pairs = _fitting(choices, zone)
        if len(pairs):
            x[:, [AT[zone], AT[fill]]] = pairs[rng.integers(0, len(pairs), size)]
    tight = x[~violations(choices, x)[:, list(RULES).index("wind-tight")]]
    if len(tight):
        skin = [AT[name] for name in SKIN]
        x[:, skin] = tight[rng.integers(0, len(tight), size)][:, skin]
    return sound(choices, x)


def nearby(choices: Choices, front: Index, rng: np.random.Generator, size: int) -> Index:
    """Walls of the front with some choices, two to six on average, changed to anything; those that can be built."""
    x = front[rng.integers(0, len(front), size)]
    changed = rng.random(x.shape) < rng.integers(2, 7, size=(size, 1)) / x.shape[1]
    return sound(choices, np.where(changed, rng.integers(0, choices.sizes, size=x.shape, dtype=np.int32), x))
