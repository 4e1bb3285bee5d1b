"""Rows of choices beside a row: one product swapped for each rival that may stand in its place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from materials.errors import InputError

from ..batch import Index
from ..stopping import ask
from ..template import AT, CHOSEN, FILL_OF, MAIN_FILLS, MEMBER_SLOTS, SERVICE_ZONE, SLOTS, VARIABLES, ZONE
from .buildable import canonical
from .choices import Choices
from .options import FillOption, Option


def row_of(choices: Choices, held: dict[str, Any], place: str = "") -> list[int]:
    """A row of `front.csv` or `equals.csv` back as choices; InputError for what the brief does not offer."""
    numbers = [0] * len(VARIABLES)
    for name in VARIABLES:
        at = number_of(choices, name, held)
        if at is None:
            raise InputError(f'{place}{held.get("id", "")}, column {name}: "{held.get(name)}" is not in the brief')
        numbers[AT[name]] = at
    return numbers


def number_of(choices: Choices, name: str, held: dict[str, Any]) -> int | None:
    """Which option of a variable a row of a table holds; None for what the brief does not offer."""
    if name in ZONE and not held.get(name):
        return 0
    return next((at for at, each in enumerate(options(choices, name)) if each.key == held.get(name)), None)


def options(choices: Choices, name: str) -> tuple[Option, ...] | tuple[FillOption, ...]:
    """What a variable may hold."""
    return choices.options[name] if name in choices.options else choices.fills[name]


def swapped(choices: Choices, walls: Index) -> tuple[list[tuple[int, tuple[str, ...], int]], Index]:
    """Every swap of one product of each wall: [(number of the wall, places, option put there)] and the rows.

    Rows are in their one form, built or not. A fill that stands in several zones is swapped in all of them, and in each
    alone where the zones beside it let it differ. Members keep their spacing and offset. A product may be left out
    where its slot may be empty.
    """
    swaps, alone, rows = [], [], []
    for number, wall in enumerate(walls):
        ask()
        for places, part_of_several in _places(choices, wall):
            at = [AT[name] for name in places]
            for rival in rivals(choices, places, int(wall[at[0]])):
                row = wall.copy()
                row[at] = rival
                rows.append(row)
                swaps.append((number, places, rival))
                alone.append(part_of_several)
    if not rows:
        return [], np.empty((0, len(VARIABLES)), np.int32)
    x = np.array(rows)
    one_form = canonical(choices, x)
    valid = ~np.array(alone) | (one_form == x).all(axis=1)
    valid &= (one_form != walls[[number for number, _, _ in swaps]]).any(axis=1)  # undone by a loose fill beside it
    valid = np.flatnonzero(valid)
    return [swaps[at] for at in valid], one_form[valid]


def _places(choices: Choices, wall: Index) -> Iterator[tuple[tuple[str, ...], bool]]:
    """The places of a wall that hold a product: (variables, whether the same fill stands in others besides)."""
    present = {name: choices.options[name][wall[AT[name]]] for name in SLOTS}
    for name in CHOSEN:
        if present[name].present:
            yield (name,), False
    if present[SERVICE_ZONE].present:
        yield (FILL_OF[SERVICE_ZONE],), False
    zones: dict[int, list[str]] = {}
    for name in MAIN_FILLS:
        if present[ZONE[name]].thickness > 0:
            zones.setdefault(int(wall[AT[name]]), []).append(name)
    for together in zones.values():
        for places in dict.fromkeys([tuple(together), *((each,) for each in together)]):
            yield places, len(places) < len(together)


def rivals(choices: Choices, places: tuple[str, ...], now: int) -> list[int]:
    """Options that may stand in the place of one: all others; of members those of the same spacing and offset."""
    offered = min((options(choices, name) for name in places), key=len)  # air stands in the gap alone
    others = [number for number in range(len(offered)) if number != now]
    if places[0] not in MEMBER_SLOTS:
        return others
    current = offered[now]
    return [at for at in others if not offered[at].present or _stands_like(offered[at], current)]


def _stands_like(one: Option, other: Option) -> bool:
    return (one.spacing, one.offset) == (other.spacing, other.offset)
