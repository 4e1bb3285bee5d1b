"""Which rows of choices are walls that can be built, each row once.

Rules of the trade (common practice): loose fill needs a closed void on both sides and fills the whole of it; a batt's
depth is the frame's; the load-bearing frame is racked by a declared board fixed to it; one wind-tight layer outside.
The single airtight layer, the ventilated space of 25 mm or more, the smallest load-bearing depth and "no rigid foam
between studs" hold by the options themselves (`slots.py`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..template import AT, FILL_VARIABLES, ZONE
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
    alone = ~choices.flag("inner frame", "present", x)
    x[alone, AT["gap"]] = 0
    closed = choices.column["gap"]["thickness"][x[:, AT["gap"]]] == 0
    if choices.options["inner gap board"][0].present is False:
        x[closed, AT["inner gap board"]] = 0
    x[closed, AT["gap fill"]] = 0
    first, second = (choices.flag(name, "present", x) for name in ("outer gap board", "inner gap board"))
    airy = choices.kinds["gap fill"].air[x[:, AT["gap fill"]]] & ~closed
    loose = {name: choices.kinds[name].loose[x[:, AT[name]]] for name in ("outer fill", "inner fill")}
    beside_loose = airy & ((~first & loose["outer fill"]) | (~second & loose["inner fill"]))
    x[beside_loose, AT["gap fill"]] = x[beside_loose, AT["outer fill"]]
    _share(choices, x, "outer fill", "gap fill", ~closed & ~first)
    _share(choices, x, "gap fill", "inner fill", ~closed & ~second)
    _share(choices, x, "outer fill", "inner fill", closed & ~first)
    x[alone, AT["inner fill"]] = 0
    x[~choices.flag("service zone", "present", x), AT["service fill"]] = 0
    return x


def _share(choices: Choices, x: Index, one: str, other: str, where: NDArray[np.bool_]) -> None:
    """Where no board parts two zones and one fill is loose, the outer zone's fill takes both."""
    loose = choices.kinds[one].loose[x[:, AT[one]]] | choices.kinds[other].loose[x[:, AT[other]]]
    rows = where & loose
    x[rows, AT[other]] = x[rows, AT[one]]


def violations(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n, rules) which rules of RULES each row breaks. Rows are canonical."""
    board, sheathing, membrane = (
        choices.flag(name, "present", x) for name in ("outer board", "sheathing", "wind-tight layer")
    )
    tight = np.where(
        board, choices.flag("outer board", "windtight", x), choices.flag("sheathing", "windtight", x) & sheathing
    )
    racked = choices.flag("sheathing", "racking", x) | choices.flag("outer gap board", "racking", x)
    open_void = choices.kinds["outer fill"].loose[x[:, AT["outer fill"]]] & ~(board | sheathing)
    alone = ~choices.flag("inner frame", "present", x)
    stray = alone & ((x[:, AT["gap"]] != 0) | choices.flag("inner gap board", "present", x))
    closed = x[:, AT["gap"]] == 0
    back_to_back = closed & choices.flag("inner gap board", "present", x)
    touching = closed & ~alone & (choices.brief.gap.min_mm > 0)
    no_gap = stray | back_to_back | touching
    return np.stack([membrane == tight, ~racked, open_void, ~batts_fit(choices, x), no_gap], axis=1)


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
    fills, fronts = choices.fills["outer fill"], outside(choices)
    free = 1
    for name in ("cladding", "ventilated space", "airtight layer", "lining"):
        free *= len(choices.options[name])
    total = 0
    racking = choices.column["outer gap board"]["racking"]
    for parted in (False, True):
        boards = choices.column["outer gap board"]["present"] == parted
        cores = _cores(choices, parted)
        for racked in (False, True):
            count = int((boards & (racking == racked)).sum())
            for number, fill in enumerate(fills):
                total += count * cores[number] * fronts[racked][fill.loose]
    return free * _services(choices) * total


def outside(choices: Choices) -> dict[bool, dict[bool, int]]:
    """Ways to lay wind-tight layer, outer board and sheathing: [frame already racked][fill is loose]."""
    column = choices.column
    found = {racked: {loose: 0 for loose in (False, True)} for racked in (False, True)}
    for board in range(len(column["outer board"]["present"])):
        for sheath in range(len(column["sheathing"]["present"])):
            closes = bool(column["outer board"]["present"][board] or column["sheathing"]["present"][sheath])
            outermost = ("outer board", board) if column["outer board"]["present"][board] else ("sheathing", sheath)
            tight = bool(column[outermost[0]]["windtight"][outermost[1]])
            ways = int((column["wind-tight layer"]["present"] != tight).sum())
            for racked in (False, True):
                for loose in (False, True):
                    if (racked or column["sheathing"]["racking"][sheath]) and (closes or not loose):
                        found[racked][loose] += ways
    return found


def _cores(choices: Choices, parted: bool) -> list[int]:
    """Ways to lay frames, gap and fills inside the outer fill, by outer fill, with or without a board behind it.

    Counts are Python integers: spaces grow beyond 64 bits.
    """
    fits = {name: choices.tables[name].fits.astype(object) for name in FILL_VARIABLES}
    loose = {name: choices.kinds[name].loose for name in FILL_VARIABLES}
    inner = choices.column["inner frame"]["present"]
    gaps = choices.column["gap"]["thickness"] > 0
    second = choices.column["inner gap board"]["present"]
    solid, every = len(choices.fills["outer fill"]), len(choices.fills["gap fill"])
    inside = [sum(fits["inner fill"][k, inner]) for k in range(solid)]
    widths = [sum(fits["gap fill"][h, gaps]) for h in range(every)]
    no_board = bool((~second).any())

    def together(one: str, f: int, other: str, k: int) -> bool:
        return f == k or not (loose[one][f] or loose[other][k])

    behind_gap = []  # ways inside a gap filled with h
    for h in range(every):
        alike = sum(inside[k] for k in range(solid) if together("gap fill", h, "inner fill", k))
        behind_gap.append(int((~second).sum()) * alike + int(second.sum()) * sum(inside))
    ways = []
    for f in range(solid):
        count = int((~inner).sum()) if no_board else 0  # a single frame
        if no_board and choices.brief.gap.min_mm == 0:  # frames that touch
            count += sum(inside[k] for k in range(solid) if parted or together("outer fill", f, "inner fill", k))
        for h in range(every):
            if parted or together("outer fill", f, "gap fill", h):
                count += widths[h] * behind_gap[h]
        ways.append(int(count) * int(sum(fits["outer fill"][f])))
    return ways


def _services(choices: Choices) -> int:
    present = choices.column["service zone"]["present"]
    fits = choices.tables["service fill"].fits
    return int((~present).sum()) + int(fits[:, present].sum())
