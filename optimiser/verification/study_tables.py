"""The tables and the account of a study folder as text, for whoever does not believe them yet.

Files from outside: read within limits, InputError where they are none of their kind. What the cells say is judged
elsewhere, row by row.
"""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path
from typing import Any

from materials.errors import InputError
from materials.untrusted import read_within, reason, shown

from ..template import VARIABLES
from .refusal import EQUALS, FRONT, SUMMARY

MOST_BYTES = 200_000_000
FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2", "biogenic_kgco2e_m2")
COLUMNS = ("id", "target", *FIGURES, "floor_area_lost_m2", "equal_count", "in_short", *VARIABLES)

Cells = dict[str, str]


def read_front(folder: Path) -> list[Cells | None]:
    """The rows of `front.csv` by column; None for one that has not as many cells as the header."""
    return _table(folder / FRONT, COLUMNS)


def read_equals(folder: Path) -> list[Cells | None]:
    """The rows of `equals.csv`, which a study without equal walls does not have."""
    path = folder / EQUALS
    return _table(path, ("id", *VARIABLES)) if path.exists() else []


def read_summary(folder: Path) -> dict[str, Any]:
    """What `study.json` holds."""
    path = folder / SUMMARY
    try:
        summary = json.loads(_text(path, "a study's account"))
    except InputError:  # is a ValueError too
        raise
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path}: cannot be read as JSON ({reason(error)})") from None
    if not isinstance(summary, dict):
        raise InputError(f"{path}: expected an object with the account of a search")
    return summary


def _text(path: Path, expected: str) -> str:
    try:
        return read_within(path, MOST_BYTES, expected).decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: cannot be read as UTF-8 text: byte {error.start + 1} is none of it") from None


def _table(path: Path, needed: tuple[str, ...]) -> list[Cells | None]:
    try:
        reader = csv.reader(io.StringIO(_text(path, "a table of walls"), newline=""), strict=True)
        header = next(reader, [])
        rows = [row for row in reader if row]
    except csv.Error as error:
        raise InputError(f"{path}: cannot be read as a table ({reason(error)})") from None
    for name in needed:
        if header.count(name) != 1:
            raise InputError(f'{path}: expected one column "{name}", there are {header.count(name)}')
    if len(set(header)) < len(header):
        doubled = next(name for name in header if header.count(name) > 1)
        raise InputError(f'{path}: column "{shown(doubled)}" stands there {header.count(doubled)} times')
    return [dict(zip(header, row, strict=True)) if len(row) == len(header) else None for row in rows]


def number(cell: str) -> float | None:
    """A cell as a finite number; None where it is none."""
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
