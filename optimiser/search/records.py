"""What is read back of a study or a run, held to what was written there: somebody else may have sent it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, ValidationError, model_validator

from materials.errors import InputError, explain
from materials.parsed import read_table
from materials.untrusted import check_inside, shown

WALL = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,79}")  # what a wall may be called: the name of a file, and no path
MOST_TABLE = 100_000_000  # bytes of a table of a study
LARGEST = 1e12  # of a figure
MOST_EQUAL = 10**18  # walls of one score vector
ALWAYS = ("target", "thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "u_value", "weight_kg_m2", "biogenic_kgco2e_m2")
POSITIVE = ("target", "thickness_mm", "u_value", "u_numeric")
SHARES = ("stability", "chance")

Count = Annotated[int, Field(ge=0)]
Finite = Annotated[float, Field(allow_inf_nan=False, ge=-LARGEST, le=LARGEST)]
Share = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1)]


class Written(BaseModel, strict=True, extra="allow", frozen=True, allow_inf_nan=False):
    """Base of what a program wrote: later versions may have written more."""


class ProofRecord(Written):
    """`proof` of study.json, of one target."""

    target: Finite
    share: Share
    evaluated: Count
    excluded: dict[str, Count]
    released: Count = 0
    ruled_out: dict[str, Count] = {}
    still: dict[str, Finite] | None = None


class NumericRecord(Written):
    """`numeric` of study.json."""

    tolerance: Finite
    seconds: Finite
    flagged: list[str]
    unsolved: dict[str, str]


class LeftOutRecord(Written):
    """One line of `left_out` of study.json."""

    subject: str
    words: str
    names: list[str]


class StudyRecord(Written):
    """study.json."""

    catalogue: str = ""
    price_lists: dict[str, str] | None = None
    targets: list[Finite] | None = None
    objectives: list[str] | None = None
    limits: dict[str, Finite | None] | None = None
    space_size: Count = 0
    options: dict[str, Count] | None = None
    undominated: dict[str, Count] | None = None
    seconds: Finite | None = None
    stopped: str | None = None
    complete: bool | None = None
    proof: list[ProofRecord] | None = None
    numeric: NumericRecord | None = None
    ruled_out: dict[str, Count] | None = None
    left_out: list[LeftOutRecord] | None = None

    @model_validator(mode="after")
    def _whole(self) -> StudyRecord:
        if self.proof and "space_size" not in self.model_fields_set:
            raise ValueError("space_size beside the proof")
        return self


class ProgressRecord(Written):
    """`progress` of a run's state.json."""

    target: Finite | None = None
    generation: Count | None = None
    generations: Count | None = None
    evaluations: Count | None = None
    front_size: Count | None = None
    best_thickness_mm: Finite | None = None
    seconds: Finite | None = None
    settled: Share | None = None
    still: dict[str, Finite] | None = None


class StateRecord(Written):
    """state.json of a run, of a proof or of a comparison."""

    status: Literal["waiting", "running", "done", "cancelled", "failed", "infeasible", "none"]
    message: str = ""
    pid: Annotated[int, Field(ge=0, lt=2**31)] = 0
    since: Finite = 0.0
    progress: ProgressRecord = ProgressRecord()
    done: Count = 0
    total: Count = 0
    target: Finite | None = None
    part: str = ""
    words: str = ""
    parts: list[str] = []


def checked(value: Any, record: type[BaseModel], place: object) -> Any:
    """The value as it is, once it is what a record says. InputError names place, key, value and what was expected."""
    try:
        record.model_validate(value)
    except ValidationError as error:
        raise explain(error, str(place)) from None
    return value


def front_rows(path: Path, numbers: Collection[str], folder: Path) -> list[dict[str, Any]]:
    """The rows of `front.csv`: numbers as such, None where a cell is empty.

    InputError names row and column of what cannot stand there: an id that is no name, a figure that is none.
    """
    check_inside(path, folder)
    rows = read_table(path, MOST_TABLE, "the front of a study")
    return [
        checked_row(
            {key: _number(key, value, f"{path}: row {at}") if key in numbers else value for key, value in row.items()},
            numbers,
            f"{path}: row {at}",
        )
        for at, row in enumerate(rows, 1)
    ]


def checked_row(row: Any, numbers: Collection[str], place: str) -> dict[str, Any]:
    """A row of a front as it is; InputError where a name or a figure in it cannot be one."""
    if not isinstance(row, dict):
        raise InputError(f"{place}: expected a wall")
    missing = [key for key in ("id", "in_short", *ALWAYS) if row.get(key) is None]
    if missing:
        raise InputError(f"{place}: {missing[0]} is missing")
    if not isinstance(row["id"], str) or not WALL.fullmatch(row["id"]):
        raise InputError(f"{place}: id = {shown(row['id'])!r}: expected letters, digits and ._-, a letter first")
    for key, value in row.items():
        expected = _figure_fault(key, value) if key in numbers else _text_fault(value)
        if expected:
            raise InputError(f"{place}: {shown(key)} = {shown(value)}: expected {expected}")
    return row


def _text_fault(value: Any) -> str:
    return "" if value is None or isinstance(value, str) else "text"


def _figure_fault(key: str, value: Any) -> str:
    """What was expected of a figure, '' where it is one."""
    if value is None:
        return ""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "a number"
    if key == "equal_count":
        return "" if isinstance(value, int) and 1 <= value <= MOST_EQUAL else "a whole number of 1 or more"
    if not -LARGEST <= value <= LARGEST:
        return f"a number within {LARGEST:g} of 0"
    if key in POSITIVE and value <= 0:
        return "a number above 0"
    return "a share, from 0 to 1" if key in SHARES and not 0 <= value <= 1 else ""


def _number(key: str, text: str, place: str) -> float | int | None:
    if text == "":
        return None
    try:
        return int(text) if key == "equal_count" and len(text) < 20 else float(text)
    except ValueError:
        raise InputError(f"{place}: {key} = {shown(text)!r}: expected a number") from None


def cloud_columns(
    path: Path, keys: Collection[str], folder: Path, optional: Collection[str] = ()
) -> dict[str, list[float | None]]:
    """Columns of `cloud.csv`; empty without one. optional: that may be empty or missing, as in earlier studies."""
    columns: dict[str, list[float | None]] = {key: [] for key in keys}
    asked = [key for key in keys if key not in optional]
    for at, row in enumerate(_table(path, folder, asked), 1):
        for key in keys:
            value = _number(key, row.get(key) or "", f"{path}: row {at}")
            expected = "a number" if value is None and key in asked else _figure_fault(key, value)
            if expected:
                raise InputError(f"{path}: row {at}: {key} = {shown(row[key])!r}: expected {expected}")
            columns[key].append(value)
    return columns


def ruled_out_rows(path: Path, folder: Path) -> list[dict[str, str]]:
    """Rows of `ruled_out.csv`; none without one."""
    rows = _table(path, folder, ("target", "check", "reason"))
    for at, row in enumerate(rows, 1):
        value = _number("target", row["target"], f"{path}: row {at}")
        if value is None or _figure_fault("target", value):
            raise InputError(f"{path}: row {at}: target = {shown(row['target'])!r}: expected a number above 0")
    return rows


def equal_rows(path: Path, folder: Path) -> list[dict[str, str]]:
    """Rows of `equals.csv`; none without one."""
    return _table(path, folder, ("id",))


def _table(path: Path, folder: Path, needed: Collection[str]) -> list[dict[str, str]]:
    if not path.exists() and not path.is_symlink():
        return []
    check_inside(path, folder)
    rows = read_table(path, MOST_TABLE, "a table of a study")
    missing = [key for key in needed if rows and key not in rows[0]]
    if missing:
        raise InputError(f"{path}: the column {missing[0]} is missing")
    return rows


def partial_rows(value: Any, numbers: Collection[str], place: object) -> list[Mapping[str, Any]]:
    """The rows of a run's partial.json; none without one."""
    if value is None:
        return []
    if not isinstance(value, list):
        raise InputError(f"{place}: expected a list of walls")
    return [checked_row(row, numbers, f"{place}: row {at}") for at, row in enumerate(value, 1)]
