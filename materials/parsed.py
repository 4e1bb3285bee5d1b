"""Files from outside as parsed values: TOML, JSON and tables in CSV, refused in one message with its place."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path
from typing import Any

from .errors import InputError, check_shape, parse_toml
from .untrusted import shown, text_within, utf8

MOST_TOML = 2_000_000  # bytes of a brief or a build-up
MOST_DIGITS = 300  # of a whole number: as many as a float can follow
_LONE = re.compile(r"\\u[dD][89a-fA-F]")  # half of a sign that takes two, as JSON may write it


def read_toml(path: Path) -> dict[str, Any]:
    """Parse a TOML file; InputError names file, line and the usual slip (a decimal comma)."""
    return parse_toml(text_within(path, MOST_TOML, "a TOML file"), str(path))


def parse_json(data: bytes, place: object, most_values: int | None = None) -> Any:
    """Parse JSON; InputError names place, line and column.

    Only numbers that are finite, and text that can be written again. most_values: how many it may hold, where it is
    not read by a record that limits them.
    """

    def refuse(word: str) -> float:
        raise InputError(f"{place}: holds {shown(word)}; expected numbers")

    def real(word: str) -> float:
        value = float(word)
        return value if math.isfinite(value) else refuse(word)

    def whole(word: str) -> int:
        return int(word) if len(word) <= MOST_DIGITS else refuse(word)

    text = utf8(data, place)
    try:
        root = json.loads(text, parse_constant=refuse, parse_float=real, parse_int=whole)
        check_shape(root, str(place), most_values)
        if _LONE.search(text):
            json.dumps(root, ensure_ascii=False).encode("utf-8")
    except InputError:
        raise
    except json.JSONDecodeError as error:
        raise InputError(f"{place}: line {error.lineno}, column {error.colno}: not JSON ({error.msg})") from None
    except RecursionError:
        raise InputError(f"{place}: nested too deeply to be a file of this kind") from None
    except UnicodeEncodeError:
        raise InputError(f"{place}: holds half of a sign; expected text") from None
    return root


def read_table(path: Path, most: int, expected: str) -> list[dict[str, str]]:
    """The rows of a CSV file with a header, each as many cells as it; InputError names the row."""
    reader = csv.reader(io.StringIO(text_within(path, most, expected), newline=""), strict=True)
    rows: list[dict[str, str]] = []
    try:
        header = next(reader, [])
        if len(set(header)) < len(header):
            raise InputError(f"{path}: a column stands there twice; expected {expected}")
        for cells in reader:
            if not cells:
                continue
            if len(cells) != len(header):
                raise InputError(f"{path}: row {len(rows) + 1} has {len(cells)} cells; the header has {len(header)}")
            rows.append(dict(zip(header, cells, strict=True)))
    except csv.Error as error:
        raise InputError(f"{path}: row {len(rows) + 1}: not a row of a CSV file ({error})") from None
    return rows
