"""How numbers are written where the brief's people live: marks alone, never words.

A context variable holds the marks, so that two readers, each in a request of their own, do not disturb each other.
Nothing that a program reads (files, JSON, CSV) goes through here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

THIN, WIDE = "\u202f", "\u00a0"  # spaces that no line is broken at


@dataclass(frozen=True)
class Marks:
    """The marks of a locale. before: what stands between a sign of money and its amount, None where it comes after."""

    decimal: str = "."
    group: str = ","
    before: str | None = ""


POINTS = Marks()
MARKS = {
    "en": POINTS,
    "de": Marks(",", ".", None),
    "de-CH": Marks(".", "’", WIDE),
    "fr": Marks(",", THIN, None),
    "nl": Marks(",", ".", WIDE),
    "sv": Marks(",", WIDE, None),
    "nb": Marks(",", WIDE, None),
    "da": Marks(",", ".", None),
    "fi": Marks(",", WIDE, None),
    "it": Marks(",", ".", None),
    "es": Marks(",", ".", None),
}
DEFAULT = "en"

_marks: ContextVar[Marks] = ContextVar("marks", default=POINTS)


@contextmanager
def writing(locale: str) -> Iterator[Marks]:
    """Write numbers the way of that locale within the block; an unknown one writes as the default does."""
    locale_marks = MARKS.get(locale, POINTS)
    token = _marks.set(locale_marks)
    try:
        yield locale_marks
    finally:
        _marks.reset(token)


def marks() -> Marks:
    """The marks in force."""
    return _marks.get()


def written(number: str) -> str:
    """A number in the marks in force: '1,234.5' -> '1.234,5'. Takes the text of one number and nothing else."""
    current_marks = marks()
    if current_marks is POINTS:
        return number
    return "".join({".": current_marks.decimal, ",": current_marks.group}.get(each, each) for each in number)


def many(count: int, one: str, several: str | None = None) -> str:
    """'1 wall', '12 walls'."""
    return f"{spelt(count, ',')} {one if count == 1 else several or one + 's'}"


def spelt(value: float, spec: str = "") -> str:
    """A number formatted as `format` does it, in the marks in force."""
    return written(format(value, spec))
