"""What stands in one cell of a price list: numbers, dates and text, as suppliers write them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date, datetime
from functools import lru_cache

_NUMBER = re.compile(r"[+-]?\d{1,20}(?:[.,]\d{1,20})?(?:[eE][+-]?\d{1,2})?", re.ASCII)
_CLEAR_COMMA = re.compile(r"[+-]?(?:\d+,(?:\d{1,2}|\d{4,})|0+,\d+|\d{1,3}(?:[.'’ \u00a0\u202f]\d{3})+,\d+)", re.ASCII)
_MAYBE_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}([.,])\d{3}", re.ASCII)
# Groups of three digits under one mark, and decimals under another.
_GROUPED = re.compile(
    r"(?P<whole>[+-]?[1-9]\d{0,2}(?P<mark>[.,'’ \u00a0\u202f])\d{3}(?:(?P=mark)\d{3})*)"
    r"(?:(?!(?P=mark))(?P<decimal>[.,])(?P<rest>\d{1,20}))?",
    re.ASCII,
)
_DATE_PARTS = {"YYYY": r"(?P<year>\d{4})", "MM": r"(?P<month>\d{1,2})", "DD": r"(?P<day>\d{1,2})"}
ISO_DATE = "YYYY-MM-DD"

# A spreadsheet takes a cell that starts with one of these for a formula (tab and return are stripped first).
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
_GUARDED = (*FORMULA_SIGNS, "'")


class Typed(str):
    """A number or a date that the file holds as such, not as text: it has no decimal mark to be in doubt about."""

    __slots__ = ()


def cell_text(cell: object) -> str:
    """A workbook's cell as text: numbers with a point, dates as YYYY-MM-DD."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, float):
        return Typed(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else Typed(cell)
    if isinstance(cell, int):
        return Typed(cell)
    if isinstance(cell, datetime):
        midnight = not (cell.hour or cell.minute or cell.second)
        return Typed(cell.date().isoformat()) if midnight else cell.isoformat(" ")
    if isinstance(cell, date):
        return Typed(cell.isoformat())
    return str(cell).strip()


def writes_commas(rows: Iterable[Iterable[str]]) -> bool:
    """Whether some cell is a number with a decimal comma beyond doubt: "0,038" or "5,2", not "1,234"."""
    return any("," in cell and _CLEAR_COMMA.fullmatch(cell) for row in rows for cell in row)


def parse_number(text: str, decimal: str | None = None, doubtful: str = "") -> tuple[float | None, str]:
    """The number in a cell and '', or None and what speaks against it.

    decimal: the one decimal mark of this list; point or comma where None. doubtful: a mark that, before three digits,
    may stand for thousands.
    """
    return _parsed(text, isinstance(text, Typed), decimal, doubtful)


@lru_cache(maxsize=1 << 16)  # a list says the same sizes and distances again and again
def _parsed(text: str, typed: bool, decimal: str | None, doubtful: str) -> tuple[float | None, str]:
    if not typed and (grouped := _GROUPED.fullmatch(text)) and _is_grouped(grouped, decimal):
        if decimal is not None and (grouped["mark"] == decimal or grouped["decimal"] not in (None, decimal)):
            return None, f'with "{decimal}" for the decimals, as the mapping says'
        whole = grouped["whole"].replace(grouped["mark"], "")
        return float(f"{whole}.{grouped['rest'] or 0}"), ""
    if not _NUMBER.fullmatch(text):
        return None, "without unit or thousands separators"
    if not typed:
        if decimal is not None and ("," if decimal == "." else ".") in text:
            return None, f'with "{decimal}" for the decimals, as the mapping says'
        maybe = _MAYBE_THOUSANDS.fullmatch(text) if doubtful and decimal is None else None
        if maybe and maybe[1] == doubtful:
            return None, (
                f'without thousands separators; for a decimal "{doubtful}" write other digits, or '
                f'decimal = "{doubtful}" in a mapping beside the list; for thousands '
                f'decimal = "{"." if doubtful == "," else ","}" there'
            )
    value = float(text.replace(",", "."))
    return (value, "") if math.isfinite(value) else (None, "that is not infinite")


def _is_grouped(match: re.Match, decimal: str | None) -> bool:
    """Whether the groups are thousands beyond doubt, not the decimals of "1,234"."""
    mark = match["mark"]
    if mark not in ".," or match["decimal"] or match["whole"].count(mark) > 1:
        return True
    return decimal is not None and mark != decimal


@lru_cache(maxsize=64)
def date_pattern(form: str) -> re.Pattern | None:
    """Pattern of a date format such as "DD.MM.YYYY"; None where it has not each of YYYY, MM and DD once."""
    parts = re.split(r"(YYYY|MM|DD)", form)
    if len(form) > 20 or sorted(part for part in parts if part in _DATE_PARTS) != ["DD", "MM", "YYYY"]:
        return None
    return re.compile("".join(_DATE_PARTS.get(part) or re.escape(part) for part in parts), re.ASCII)


@lru_cache(maxsize=4096)
def parse_date(text: str, form: str = ISO_DATE) -> date | None:
    """The day in a cell, written as `form` or as YYYY-MM-DD; None for anything else."""
    for each in (form, ISO_DATE):
        pattern = date_pattern(each)
        match = pattern.fullmatch(text) if pattern else None
        if match:
            try:
                return date(int(match["year"]), int(match["month"]), int(match["day"]))
            except ValueError:
                return None
    return None


def guarded(text: str) -> str:
    """Text for a list that is opened in a spreadsheet: an apostrophe before what would be taken for a formula."""
    return "'" + text if text.startswith(_GUARDED) else text


def unguarded(text: str) -> str:
    """Text without the apostrophe that `guarded` put before it."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_GUARDED) else text


def plain(value: float) -> float:
    """A quotient to twelve digits: the price per roll gives back the price per m2 that it was made from."""
    return float(f"{value:.12g}")
