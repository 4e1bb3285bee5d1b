"""A check in lines for the eye: verdict in words, figure with its limit, margin and standard; nothing of a screen."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ...locales import spelt, written

State = Literal["passes", "fails", "open", "shown", "note"]


@dataclass(frozen=True)
class Line:
    """One check: what it belongs to, its verdict in words, its figure with the limit, and what stands beside it."""

    group: str
    state: State
    verdict: str
    words: str
    beside: str = ""  # margin and standard
    caution: str = ""
    figure: str = ""  # what is left of it where it is folded away


@dataclass(frozen=True)
class Working:
    """A table behind a check: its last `numeric` columns are numbers. note: a line under it. on_paper: printed too."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: int
    note: str = ""
    on_paper: bool = False


def against_limit(group: str, margin: float | None, shown: Callable[[float], str], words: str, *beside: str) -> Line:
    """A check with a limit. margin: how far it passes, negative where it fails, None without end; shown: its size."""
    if margin is None:
        return Line(group, "passes", "passes", words, dotted(*beside))
    if margin < 0:
        return Line(group, "fails", missed(shown(-margin)), words, dotted(*beside))
    return Line(group, "passes", "passes", words, dotted(f"{shown(margin)} to spare", *beside))


def missed(size: str) -> str:
    """The verdict of a limit that is not held; figure and unit are not parted."""
    return "fails by " + size.replace(" ", "\u00a0")


def dotted(*parts: str) -> str:
    """What stands beside a check, its parts set apart."""
    return " · ".join(filter(None, parts))


def whole_percent(share: float) -> str:
    """A share as whole percent, never parted from its sign."""
    return f"{spelt(100 * share, '.0f')}\u00a0%"


def factored(combination: str) -> str:
    """A combination of loads, its factors in the marks of the locale: 'wind + 0.7 imposed'."""
    return re.sub(r"\d\.\d+", lambda number: written(number.group()), combination)
