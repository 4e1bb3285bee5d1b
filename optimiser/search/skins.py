"""Skins for the exact search: all the plain layers of a wall together, superfluous ones dropped on the way."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.common.search_judgement import Reads
from ..space import buildable
from ..space.buildable import racked, tight_outside
from ..space.choices import Choices
from ..stopping import ask, pieces
from ..template import AT, BEFORE_FRAME, BEFORE_GAP, BEHIND_GAP, INSIDE, MEMBRANES, SKIN, VENTED
from .parts import Figures, WallPart, joined, plain_options, thinned

MOST_GROUPS = 2**40  # times the options of a slot stays far below 2**63
CODED = 200_000  # skins told apart between two chances to stop


@dataclass(frozen=True)
class SkinClass:
    """Skins that agree in what the core must know: boards on the gap's sides, and a board that closes the void."""

    first: bool
    second: bool
    closed: bool
    part: WallPart  # sorted by resistance
    raw: int  # how many there were before superfluous ones went


def skins(
    choices: Choices, follow: Figures, thin: bool = True, reads: dict[str, Reads] | None = None
) -> list[SkinClass]:
    """All buildable skins by class, superfluous ones dropped on the way. reads: what judgements read of each slot."""
    reads = {name: each for name, each in (reads or {}).items() if name in SKIN}

    def reduce(part: WallPart, groups: NDArray) -> WallPart:
        ask()
        if not thin:
            return part
        for name, each in reads.items():
            ask()
            if groups.max(initial=0) > MOST_GROUPS:  # numbers of groups, made small again
                groups = np.unique(groups, return_inverse=True)[1].ravel()
            groups = groups.astype(np.int64) * (int(each.code.max()) + 1) + each.code[part.x[:, AT[name]]]
        return thinned(part, follow, groups, [(each.larger, part.x[:, AT[name]]) for name, each in reads.items()])

    def laid(part: WallPart | None, names: tuple[str, ...]) -> WallPart:
        for name in names:
            ask()
            options = plain_options(choices, name, follow)
            part = options if part is None else joined(part, options)
        return part

    part = laid(None, (*MEMBRANES, *BEFORE_FRAME))
    membranes = sum(choices.flag(name, "present", part.x).astype(int) for name in MEMBRANES)
    part = part.rows(membranes + tight_outside(choices, part.x) == 1)
    part = reduce(part, _codes(choices, part.x))
    part = laid(part, BEFORE_GAP)
    part = part.rows(racked(choices, part.x))
    part = reduce(part, _codes(choices, part.x, still=False))
    for name in (*BEHIND_GAP, *INSIDE, *VENTED):
        part = laid(part, (name,))
        part = reduce(part, _codes(choices, part.x, still=False))
    codes = _codes(choices, part.x, still=False)
    raw = raw_skins(choices)
    classes = []
    for code in np.unique(codes):
        rows = part.rows(codes == code)
        rows = rows.rows(np.argsort(rows.resistance, kind="stable"))
        first, second, closed = bool(code & 1), bool(code & 2), bool(code & 4)
        classes.append(SkinClass(first, second, closed, rows, raw[first, second, closed]))
    return classes


def _codes(choices: Choices, x: Index, still: bool = True) -> NDArray:
    """A number for what must agree between rows that may displace each other.

    still: boards that may rack the frame are still to come, so that what racks it already counts.
    """
    parts = [np.zeros(0, np.int64)]
    for some in pieces(len(x), CODED):
        row = x[some]
        first, second, closed = (choices.any_present(names, row) for names in (BEFORE_GAP, BEHIND_GAP, BEFORE_FRAME))
        code = first + 2 * second + 4 * closed
        parts.append(code + 8 * racked(choices, row, BEFORE_FRAME) if still else code)
    return np.concatenate(parts)


def raw_skins(choices: Choices) -> dict[tuple[bool, bool, bool], int]:
    """How many skins each class has before any is dropped, counted."""
    outer, behind, others = buildable.outside(choices), buildable.boards_behind_gap(choices), buildable.free(choices)
    before = buildable.boards_before_gap(choices)
    ways: dict[tuple[bool, bool, bool], int] = {}
    for parted, back, closed in product((False, True), repeat=3):
        count = 0
        for is_racked in (False, True):
            loose, any_fill = outer[is_racked][True], outer[is_racked][False]
            count += before.get((parted, is_racked), 0) * (loose if closed else any_fill - loose)
        ways[parted, back, closed] = count * behind[back] * others
    return ways
