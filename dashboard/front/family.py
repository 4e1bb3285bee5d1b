"""Fronts for several targets as a family: what the other targets look like beside the chosen one, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.search.landmarks import USUAL, best_in, ends, missing

from ..rows.choose import Row, of_target, targets
from ..words import same, signed, u_goal


def others(rows: Sequence[Row], target: float | None) -> list[Row]:
    """The rows of all targets but one."""
    if target is None:
        return []
    return [row for row in rows if row.get("target") is not None and abs(row["target"] - target) > 1e-9]


def edge(rows: Sequence[Row], x: str, y: str) -> list[Row]:
    """The walls that no other of these beats in both figures, by x: the lower left edge of a front in the plot."""
    known = [row for row in rows if not missing(row.get(x)) and not missing(row.get(y))]
    lowest: list[Row] = []
    for row in sorted(known, key=lambda each: (each[x], each[y])):
        if not lowest or row[y] < lowest[-1][y]:
            lowest.append(row)
    return lowest


def edges(rows: Sequence[Row], x: str, y: str) -> dict[float, list[Row]]:
    """Target -> its edge."""
    return {each: edge(of_target(rows, each), x, y) for each in targets(rows)}


@dataclass(frozen=True)
class End:
    """One end of two fronts: what the tighter target changes there, in its own figure and in the others."""

    name: str
    change: str
    rest: str


@dataclass(frozen=True)
class Price:
    """What a target costs against the next looser one, or what the next tighter one would, at each end."""

    words: str  # goes on from the target: 'instead of 0.12'
    ends: list[End]


def price_of(rows: Sequence[Row], target: float | None, currency: str, asked: Sequence[str] = USUAL) -> Price | None:
    """What the chosen target costs; for the loosest, what the next tighter one would. None for a single target."""
    known = targets(rows)
    if target is None or len(known) < 2 or target not in known:
        return None
    at = min(known.index(target), len(known) - 2)
    tight, loose = of_target(rows, known[at]), of_target(rows, known[at + 1])
    found = [_end(name, key, best_in(loose, key), best_in(tight, key), currency, asked) for key, name in ends(asked)]
    words = f"instead of {u_goal(known[at + 1])}" if known[at] == target else f"; going on to {u_goal(known[at])}"
    return Price(words, [each for each in found if each is not None])


def _end(name: str, key: str, loose: Row | None, tight: Row | None, currency: str, asked: Sequence[str]) -> End | None:
    if loose is None or tight is None:
        return None
    rest = [_change(other, loose, tight, currency) for other in asked if other != key]
    return End(name, _change(key, loose, tight, currency) or "no change", ", ".join(filter(None, rest)))


def _change(key: str, loose: Mapping, tight: Mapping, currency: str) -> str:
    if missing(loose.get(key)) or missing(tight.get(key)):
        return ""
    change = tight[key] - loose[key]
    return "" if same(key, change) else signed(key, change, currency)
