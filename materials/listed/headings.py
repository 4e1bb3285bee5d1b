"""The header of a price list: in which rows it stands, and which of our columns each place is.

A heading may stand over two rows: "Sizes" over "Depth" and "Face", merged or not. Its columns then go by both words
("Sizes Depth"), by the lower one, or by the upper one where nothing known stands below (a unit).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest

from .columns import COLUMNS, STEP
from .mapping import ListMapping
from .supplier_files import RawRow, RawSheet

HEADER_WITHIN = 30  # rows; titles and addresses stand above a header


@dataclass(frozen=True)
class Headed:
    """A sheet with its header found: our column over each place ('' without a header, None for one to pass over)."""

    name: str | None
    header: RawRow
    columns: tuple[str | None, ...]
    rows: tuple[RawRow, ...]


def is_known(column: str | None) -> bool:
    """Whether it is a column of ours, one of prices from a quantity on included."""
    return column is not None and (column in COLUMNS or column.startswith(STEP))


def headed(sheet: RawSheet, how: ListMapping) -> Headed | None:
    """The sheet with its header, the first row or two that name two of our columns; None where none does."""
    for at, row in enumerate(sheet.rows[:HEADER_WITHIN]):
        one = _columns(row, how)
        found, height = (row, one), 1
        below = sheet.rows[at + 1] if at + 1 < len(sheet.rows) else None
        if below is not None and below.number == row.number + 1 and how.heading_rows != 1:
            two = _joined(row, below, how)
            columns = _columns(two, how)
            if how.heading_rows == 2 or _count(columns) > _count(one):
                found, height = (two, columns), 2
        # A title above a header of one row adds nothing to it.
        adds = height == 1 or how.heading_rows == 2 or _count(_columns(below, how)) < _count(found[1])
        if _count(found[1]) >= 2 and adds:
            return Headed(sheet.name, found[0], found[1], sheet.rows[at + height :])
    return None


def _columns(row: RawRow, how: ListMapping) -> tuple[str | None, ...]:
    return tuple(how.column(cell) if cell else "" for cell in row.cells)


def _count(columns: tuple[str | None, ...]) -> int:
    return len({each for each in columns if each and is_known(each)})


def _joined(upper: RawRow, lower: RawRow, how: ListMapping) -> RawRow:
    """Two rows of headings as one."""
    return RawRow(lower.number, tuple(_words(upper, lower, how)))


def _words(upper: RawRow, lower: RawRow, how: ListMapping) -> Iterator[str]:
    over = ""
    for above, below in zip_longest(upper.cells, lower.cells, fillvalue=""):
        over = above or (over if below else "")  # a merged heading stands in the first of its columns alone
        both = [f"{over} {below}"] if over and below else []
        words = [each for each in (*both, below, above) if each]
        yield next((each for each in words if is_known(how.column(each))), below or above)
