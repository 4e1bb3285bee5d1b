"""What a document that leaves the desk is made of, as plain records: sections, texts, steps, tables, drawings.

Words here are words, never markup: a renderer (`calculation_typst`, `calculation_html`) takes them as they are.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from .locales import spelt, written

UNKNOWN = "not known"
NONE = "–"


@dataclass(frozen=True)
class Text:
    """A paragraph; quiet: said small, beside the matter; kept: on one page with what follows."""

    words: str
    quiet: bool = False
    kept: bool = False


@dataclass(frozen=True)
class Heading:
    """A heading within a section."""

    words: str


@dataclass(frozen=True)
class Items:
    """A list, one line each."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """Labels with what stands beside them; kept: on one page with what follows."""

    pairs: tuple[tuple[str, str], ...]
    kept: bool = False


@dataclass(frozen=True)
class SumStep:
    """A step of a calculation: what it is, the sum as one would type it, and what it comes to.

    note: what else is to be said of it; kept: on one page with what follows.
    """

    title: str
    sum: str
    result: str
    strong: bool = False
    note: str = ""
    kept: bool = False


@dataclass(frozen=True)
class DocumentTable:
    """A table. The first `words` columns are words, the others numbers; the last `totals` rows sum the others up.

    widths: relative, by column. entered: columns that are filled in by hand. wordy: further columns of words.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: int = 1
    totals: int = 0
    widths: tuple[float, ...] = ()
    entered: tuple[int, ...] = ()
    wordy: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.heads):
                raise ValueError(f"{self.caption}: a row of {len(row)} cells under {len(self.heads)} headings")


@dataclass(frozen=True)
class Drawing:
    """A drawing as SVG text, with what it shows in words for those who cannot see it."""

    svg: str
    alt: str
    caption: str = ""


@dataclass(frozen=True)
class Signature:
    """Lines to be written on, each with what belongs there."""

    words: str
    lines: tuple[str, ...]


DocumentPart = Text | Heading | Items | Facts | SumStep | DocumentTable | Drawing | Signature


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it; fresh: on a page of its own."""

    title: str
    parts: tuple[DocumentPart, ...]
    fresh: bool = False


@dataclass(frozen=True)
class Document:
    """A whole document. foot: what every page says at its foot; across: on its long side."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    foot: str = ""
    across: bool = False
    language: str = field(default="en")


def number(value: float | None, digits: int) -> str:
    """A figure to that many decimals in the marks in force; 'not known' where it is not."""
    if value is None or math.isnan(value):
        return UNKNOWN
    shown = spelt(value, f",.{digits}f")
    return shown.replace("-", "−")


def exact(value: float | None) -> str:
    """A figure as it was given: at most seven digits, no more than it has."""
    if value is None or math.isnan(value):
        return UNKNOWN
    shown = f"{value:.7g}"
    if "e" in shown:
        shown = f"{value:.10f}".rstrip("0").rstrip(".")
    return spelt(float(shown), f".{len(shown.partition('.')[2])}f").replace("-", "−")


def percent(share: float | None, digits: int = 1) -> str:
    """A share in percent, not parted from its sign."""
    return UNKNOWN if share is None else f"{number(100 * share, digits)}\u00a0%"


def in_print(words: str) -> str:
    """Words of a verdict with their numbers in the marks in force: '0.7 imposed' -> '0,7 imposed'."""
    shown = re.sub(r"\d+\.\d+", lambda match: written(match[0]), words)
    return re.sub(r"(\d) ?%", "\\1\u00a0%", shown.replace("CO2", "CO₂"))


def listed(words: Sequence[str]) -> str:
    """'a, b and c'."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def passed(passes: bool | None) -> str:
    """A verdict in a word."""
    return {True: "passes", False: "fails", None: "not checked"}[passes]
