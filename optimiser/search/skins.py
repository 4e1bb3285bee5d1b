"""Skins for the exact search: all the plain layers of a wall together, superfluous ones dropped on the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.judgement import Reads
from ..space import buildable as rules
from ..space.choices import Choices
from ..template import AT
from .parts import Figures, Part, joined, plain_options, thinned

SKIN = (
    "wind-tight layer",
    "outer board",
    "sheathing",
    "outer gap board",
    "inner gap board",
    "airtight layer",
    "cladding",
    "ventilated space",
    "lining",
)


@dataclass(frozen=True)
class SkinClass:
    """Skins that agree in what the core must know: boards on the gap's sides, and a board that closes the void."""

    first: bool
    second: bool
    closed: bool
    part: Part  # sorted by resistance
    raw: int  # how many there were before superfluous ones went


def skins(
    choices: Choices, follow: Figures, thin: bool = True, reads: dict[str, Reads] | None = None
) -> list[SkinClass]:
    """All buildable skins by class, superfluous ones dropped on the way. reads: what judgements read of each slot."""
    reads = {name: each for name, each in (reads or {}).items() if name in SKIN}

    def reduce(part: Part, groups: NDArray) -> Part:
        if not thin:
            return part
        codes = [each.code[part.x[:, AT[name]]] for name, each in reads.items()]
        groups = np.unique(np.stack([groups, *codes], axis=1), axis=0, return_inverse=True)[1].ravel()
        larger = [each.larger[part.x[:, AT[name]]] for name, each in reads.items()]
        return thinned(part, follow, groups, np.column_stack(larger) if larger else None)

    outer = joined(
        joined(plain_options(choices, "wind-tight layer", follow), plain_options(choices, "outer board", follow)),
        plain_options(choices, "sheathing", follow),
    )
    x = outer.x
    board, sheathing = choices.flag("outer board", "present", x), choices.flag("sheathing", "present", x)
    tight = np.where(board, choices.flag("outer board", "windtight", x), choices.flag("sheathing", "windtight", x))
    outer = outer.rows(choices.flag("wind-tight layer", "present", x) != tight & (board | sheathing))
    part = reduce(outer, _codes(choices, outer.x))
    part = joined(part, plain_options(choices, "outer gap board", follow))
    racked = choices.flag("sheathing", "racking", part.x) | choices.flag("outer gap board", "racking", part.x)
    part = part.rows(racked)
    part = reduce(part, _codes(choices, part.x, racked=False))
    for name in SKIN[4:]:
        part = joined(part, plain_options(choices, name, follow))
        part = reduce(part, _codes(choices, part.x, racked=False))
    codes = _codes(choices, part.x, racked=False)
    raw = raw_skins(choices)
    found = []
    for code in np.unique(codes):
        rows = part.rows(codes == code)
        rows = rows.rows(np.argsort(rows.resistance, kind="stable"))
        first, second, closed = bool(code & 1), bool(code & 2), bool(code & 4)
        found.append(SkinClass(first, second, closed, rows, raw[first, second, closed]))
    return found


def _codes(choices: Choices, x: Index, racked: bool = True) -> NDArray:
    """A number for what must agree between rows that may displace each other."""
    first = choices.flag("outer gap board", "present", x)
    second = choices.flag("inner gap board", "present", x)
    closed = choices.flag("outer board", "present", x) | choices.flag("sheathing", "present", x)
    code = first + 2 * second + 4 * closed
    return code + 8 * choices.flag("sheathing", "racking", x) if racked else code


def raw_skins(choices: Choices) -> dict[tuple[bool, bool, bool], int]:
    """How many skins each class has before any is dropped, counted."""
    free = 1
    for name in ("airtight layer", "cladding", "ventilated space", "lining"):
        free *= len(choices.options[name])
    outside = rules.outside(choices)
    first, second = choices.column["outer gap board"], choices.column["inner gap board"]["present"]
    found = {}
    for parted in (False, True):
        for back in (False, True):
            for closed in (False, True):
                count = 0
                for racked in (False, True):
                    boards = int(((first["present"] == parted) & (first["racking"] == racked)).sum())
                    ways = outside[racked][True] if closed else outside[racked][False] - outside[racked][True]
                    count += boards * ways
                found[parted, back, closed] = count * int((second == back).sum()) * free
    return found
