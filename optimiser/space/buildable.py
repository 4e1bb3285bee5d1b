"""Which rows of choices are walls that can be built, each row once.

Rules of the trade (common practice): loose fill needs a closed void on both sides and fills the whole of it; a batt's
depth is the frame's; the load-bearing frame is racked by a declared board fixed to it; one wind-tight layer outside.
The single airtight layer, the ventilated space of 25 mm or more, the smallest load-bearing depth and "no rigid foam
between studs" hold by the options themselves (`slots.py`).
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..template import (
    AT,
    BEFORE_FRAME,
    BEFORE_GAP,
    BEHIND_GAP,
    FILL_VARIABLES,
    GAP,
    GAP_FILL,
    INNER_FILL,
    INNER_FRAME,
    INSIDE,
    MEMBRANES,
    OUTER_FILL,
    RACKING,
    SERVICE_FILL,
    SERVICE_ZONE,
    VENTED,
    ZONE,
)
from .choices import Choices

RULES = {
    "wind-tight": "one wind-tight layer: a membrane, or else an outermost board that is wind-tight by itself",
    "racking": "a racking board fixed to the load-bearing frame: the sheathing or the board on its gap side",
    "closed void": "a board outside the outer frame where its fill is blown",
    "batts fit": "batts in stock thicknesses that add up to the depth of frame, gap and service zone",
    "gap": "a gap, and a board on its inner side, only where there is an inner frame; as wide as the brief asks",
}


def canonical(choices: Choices, x: Index) -> Index:
    """Rows with every choice that has no meaning, or no freedom, in its one form; doing it twice changes nothing.

    No inner frame: no gap, no board on its inner side. No gap: no board on its inner side either (two boards back to
    back). Zones that no board parts share one fill where any is loose; no air stands beside loose fill. Choices
    without meaning are 0.
    """
    x = np.array(x)
    alone = ~choices.flag(INNER_FRAME, "present", x)
    x[alone, AT[GAP]] = 0
    closed = choices.column[GAP]["thickness"][x[:, AT[GAP]]] == 0
    for name in BEHIND_GAP:
        if not choices.options[name][0].present:
            x[closed, AT[name]] = 0
    x[closed, AT[GAP_FILL]] = 0
    first, second = (choices.any_present(names, x) for names in (BEFORE_GAP, BEHIND_GAP))
    airy = choices.kinds[GAP_FILL].air[x[:, AT[GAP_FILL]]] & ~closed
    loose = {name: choices.kinds[name].loose[x[:, AT[name]]] for name in (OUTER_FILL, INNER_FILL)}
    beside_loose = airy & ((~first & loose[OUTER_FILL]) | (~second & loose[INNER_FILL]))
    x[beside_loose, AT[GAP_FILL]] = x[beside_loose, AT[OUTER_FILL]]
    _share(choices, x, OUTER_FILL, GAP_FILL, ~closed & ~first)
    _share(choices, x, GAP_FILL, INNER_FILL, ~closed & ~second)
    _share(choices, x, OUTER_FILL, INNER_FILL, closed & ~first)
    x[alone, AT[INNER_FILL]] = 0
    x[~choices.flag(SERVICE_ZONE, "present", x), AT[SERVICE_FILL]] = 0
    return x


def _share(choices: Choices, x: Index, one: str, other: str, where: NDArray[np.bool_]) -> None:
    """Where no board parts two zones and one fill is loose, the outer zone's fill takes both."""
    loose = choices.kinds[one].loose[x[:, AT[one]]] | choices.kinds[other].loose[x[:, AT[other]]]
    rows = where & loose
    x[rows, AT[other]] = x[rows, AT[one]]


def violations(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n, rules) which rules of RULES each row breaks. Rows are canonical."""
    tight_layers = sum(choices.flag(name, "present", x).astype(int) for name in MEMBRANES) + tight_outside(choices, x)
    open_void = choices.kinds[OUTER_FILL].loose[x[:, AT[OUTER_FILL]]] & ~choices.any_present(BEFORE_FRAME, x)
    alone = ~choices.flag(INNER_FRAME, "present", x)
    behind = choices.any_present(BEHIND_GAP, x)
    closed = x[:, AT[GAP]] == 0
    stray = alone & (~closed | behind)
    back_to_back = closed & behind
    touching = closed & ~alone & (choices.brief.gap.min_mm > 0)
    no_gap = stray | back_to_back | touching
    return np.stack([tight_layers != 1, ~racked(choices, x), open_void, ~batts_fit(choices, x), no_gap], axis=1)


def tight_outside(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) rows whose outermost board before the outer frame is wind-tight by itself."""
    tight = np.zeros(len(x), bool)
    for name in reversed(BEFORE_FRAME):
        tight = np.where(choices.flag(name, "present", x), choices.flag(name, "windtight", x), tight)
    return tight


def racked(choices: Choices, x: Index, names: tuple[str, ...] = RACKING) -> NDArray[np.bool_]:
    """(n,) rows with a racking board in one of some slots, of those that stiffen the load-bearing frame."""
    return np.logical_or.reduce([choices.flag(name, "racking", x) for name in names if name in RACKING])


def batts_fit(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) rows whose batts come in stock thicknesses that add up to every depth they fill."""
    fits = np.ones(len(x), bool)
    for name in FILL_VARIABLES:
        fits &= choices.tables[name].fits[x[:, AT[name]], x[:, AT[ZONE[name]]]]
    return fits


def buildable(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) rows that are canonical and break no rule: each wall of the space once."""
    return (canonical(choices, x) == x).all(axis=1) & ~violations(choices, x).any(axis=1)


def space_size(choices: Choices) -> int:
    """How many walls can be built from the choices, counted exactly without listing them."""
    solid, outer, behind = choices.fills[OUTER_FILL], outside(choices), boards_behind_gap(choices)
    total = 0
    for (parted, is_racked), count in boards_before_gap(choices).items():
        cores = _cores(choices, parted, behind)
        total += sum(count * cores[number] * outer[is_racked][fill.loose] for number, fill in enumerate(solid))
    return free(choices) * _services(choices) * total


def free(choices: Choices) -> int:
    """Ways to lay the plain layers that no rule reads."""
    return math.prod(len(choices.options[name]) for name in (*VENTED, *INSIDE))


def outside(choices: Choices) -> dict[bool, dict[bool, int]]:
    """Ways to lay the membrane and the boards before the outer frame: [frame already racked][fill is loose]."""
    boards = _classes(choices, BEFORE_FRAME)
    membranes = _numbers_present(choices, MEMBRANES)
    ways = {racked: {loose: 0 for loose in (False, True)} for racked in (False, True)}
    for is_racked in (False, True):
        for loose in (False, True):
            for (closes, tight, racks), count in boards.items():
                if (is_racked or racks) and (closes or not loose):
                    ways[is_racked][loose] += count * membranes[0 if tight else 1]
    return ways


def boards_before_gap(choices: Choices) -> dict[tuple[bool, bool], int]:
    """Ways to lay the boards between outer frame and gap: (some board, some racking board) -> how many."""
    ways: Counter = Counter()
    for (some, _, racks), count in _classes(choices, BEFORE_GAP).items():
        ways[some, racks] += count
    return dict(ways)


def boards_behind_gap(choices: Choices) -> dict[bool, int]:
    """Ways to lay the boards between gap and inner frame: some board -> how many."""
    ways = {False: 0, True: 0}
    for (some, _, _), count in _classes(choices, BEHIND_GAP).items():
        ways[some] += count
    return ways


def _classes(choices: Choices, names: tuple[str, ...]) -> Counter:
    """Ways to lay some boards: (some board, its outermost one wind-tight, some racking) -> how many."""
    ways: Counter = Counter({(False, False, False): 1})
    for name in reversed(names):
        column = choices.column[name]
        racking = column["racking"] & (name in RACKING)
        kinds = Counter(
            zip(*(each.tolist() for each in (column["present"], column["windtight"], racking)), strict=True)
        )
        wider: Counter = Counter()
        for (some, tight, racks), count in ways.items():
            for (present, windtight, racking_one), many in kinds.items():
                wider[some or present, windtight if present else tight, racks or racking_one] += count * many
        ways = wider
    return ways


def _numbers_present(choices: Choices, names: tuple[str, ...]) -> Counter:
    """Ways to fill some slots: how many of them are filled -> how many."""
    ways: Counter = Counter({0: 1})
    for name in names:
        present = choices.column[name]["present"]
        empty, full = int((~present).sum()), int(present.sum())
        wider: Counter = Counter()
        for number, count in ways.items():
            wider[number] += count * empty
            wider[number + 1] += count * full
        ways = wider
    return ways


def _cores(choices: Choices, parted: bool, behind: dict[bool, int]) -> list[int]:
    """Ways to lay frames, gap and fills inside the outer fill, by outer fill, with or without a board behind it.

    Counts are Python integers: spaces grow beyond 64 bits.
    """
    fits = {name: choices.tables[name].fits.astype(object) for name in FILL_VARIABLES}
    loose = {name: choices.kinds[name].loose for name in FILL_VARIABLES}
    inner = choices.column[INNER_FRAME]["present"]
    gaps = choices.column[GAP]["thickness"] > 0
    solid, every = len(choices.fills[OUTER_FILL]), len(choices.fills[GAP_FILL])
    inside = [sum(fits[INNER_FILL][k, inner]) for k in range(solid)]
    widths = [sum(fits[GAP_FILL][h, gaps]) for h in range(every)]
    no_board = behind[False] > 0

    def together(one: str, f: int, other: str, k: int) -> bool:
        return f == k or not (loose[one][f] or loose[other][k])

    behind_gap = []  # ways inside a gap filled with h
    for h in range(every):
        alike = sum(inside[k] for k in range(solid) if together(GAP_FILL, h, INNER_FILL, k))
        behind_gap.append(behind[False] * alike + behind[True] * sum(inside))
    ways = []
    for f in range(solid):
        count = int((~inner).sum()) if no_board else 0  # a single frame
        if no_board and choices.brief.gap.min_mm == 0:  # frames that touch
            count += sum(inside[k] for k in range(solid) if parted or together(OUTER_FILL, f, INNER_FILL, k))
        for h in range(every):
            if parted or together(OUTER_FILL, f, GAP_FILL, h):
                count += widths[h] * behind_gap[h]
        ways.append(int(count) * int(sum(fits[OUTER_FILL][f])))
    return ways


def _services(choices: Choices) -> int:
    present = choices.column[SERVICE_ZONE]["present"]
    fits = choices.tables[SERVICE_FILL].fits
    return int((~present).sum()) + int(fits[:, present].sum())
