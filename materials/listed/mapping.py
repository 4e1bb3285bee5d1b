"""How a supplier's own list is to be read: a small TOML beside it, `list.toml` beside `list.csv` or `list.xlsx`.

It says which columns are ours, what a missing column holds throughout, and what the supplier's words for units and
materials mean.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import Field, StrictInt, StrictStr, ValidationError

from ..catalogue import Catalogue
from ..errors import Checked, InputError, explain, first_of, kind_of_file, nearest, parse_toml
from ..models import PACKS, UNITS
from .cells import ISO_DATE, Typed, date_pattern
from .rows import COLUMNS, SOLD_BY
from .supplier_files import ENCODINGS

MAX_BYTES = 200_000
EVERYTHING = "*"
Short = Annotated[StrictStr, Field(max_length=200)]


class MappingFile(Checked):
    """The keys of a mapping file. Words are compared without regard to case and to spaces at the ends."""

    sheets: tuple[Short, ...] | None = None
    skip_rows: Annotated[StrictInt, Field(ge=0, le=1000)] = 0
    encoding: Short | None = None
    separator: Literal[";", ",", "\t"] | None = None
    decimal: Literal[".", ","] | None = None
    date_format: Short = ISO_DATE
    ignore: tuple[Short, ...] = ()
    columns: dict[Short, Short] = Field(default_factory=dict)
    defaults: dict[Short, Any] = Field(default_factory=dict)
    units: dict[Short, Short] = Field(default_factory=dict)
    materials: dict[Short, Short] = Field(default_factory=dict)


@dataclass(frozen=True)
class ListMapping:
    """A mapping, checked. Keys of the tables are folded words (`folded`); `place` names the file in messages."""

    place: str = ""
    sheets: tuple[str, ...] | None = None
    skip_rows: int = 0
    encoding: str | None = None
    separator: str | None = None
    decimal: str | None = None
    date_format: str = ISO_DATE
    ignore: frozenset[str] = frozenset()
    columns: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)  # folded column word -> as the file writes it

    def column(self, shown: str) -> str | None:
        """Our column for a header cell: by the mapping, or its own name; None for one that is to be ignored."""
        word = folded(shown)
        if word in self.columns:
            return self.columns[word]
        if word in self.ignore or (EVERYTHING in self.ignore and word not in COLUMNS):
            return None
        return word


NO_MAPPING = ListMapping()


def folded(word: str) -> str:
    """A word as it is compared: lower case, each run of white space one space."""
    return " ".join(word.split()).casefold()


def read_mapping(data: bytes, place: str, catalogue: Catalogue) -> ListMapping:
    """Read a mapping; InputError names every fault with its key and value. `place` names the file in messages."""
    if len(data) > MAX_BYTES:
        raise InputError(f"{place}: {len(data) / 1e3:.0f} kB; expected a mapping of at most {MAX_BYTES / 1e3:g} kB")
    try:
        raw = parse_toml(data.decode("utf-8-sig"), place)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(f"{place}: line {line}: not UTF-8 text; a mapping is a TOML file") from None
    if kind := kind_of_file(raw):
        raise InputError(f"{place}: this is {kind}; give it or the list another name")
    try:
        given = MappingFile.model_validate(raw)
    except ValidationError as error:
        raise explain(error, place) from None
    faults = [f"{place}: {each}" for each in _faults(given, catalogue)]
    if faults:
        raise InputError("\n".join(first_of(faults)))
    return ListMapping(
        place,
        given.sheets,
        given.skip_rows,
        given.encoding,
        given.separator,
        given.decimal,
        given.date_format,
        frozenset(map(folded, given.ignore)),
        {folded(word): column for word, column in given.columns.items()},
        {column: _as_cell(value) for column, value in given.defaults.items()},
        {folded(word): unit for word, unit in given.units.items()},
        {folded(word): key for word, key in given.materials.items()},
        {folded(word): word for word in given.columns},
    )


def _as_cell(value: str | int | float | date) -> str:
    return value.strip() if isinstance(value, str) else Typed(value)


def _is_plain(value: object) -> bool:
    if isinstance(value, str):
        return bool(value.strip())
    return isinstance(value, int | float | date) and not isinstance(value, bool | datetime)


def _faults(given: MappingFile, catalogue: Catalogue) -> Iterable[str]:
    if given.encoding is not None and given.encoding not in ENCODINGS:
        hint = nearest(given.encoding, ENCODINGS)
        yield f"encoding = {given.encoding!r}: expected one of {', '.join(ENCODINGS)}{hint}"
    if date_pattern(given.date_format) is None:
        yield f'date_format = {given.date_format!r}: expected YYYY, MM and DD once each, such as "DD.MM.YYYY"'
    for word, column in given.columns.items():
        if column not in COLUMNS:
            yield f'columns."{word}" = {column!r}: expected a column of ours{nearest(column, COLUMNS)}'
        elif column in given.defaults:
            yield f'columns."{word}" = {column!r}: stands under defaults too; a default is for a missing column'
    for column, value in given.defaults.items():
        if column not in COLUMNS:
            yield f"defaults.{column}: expected a column of ours{nearest(column, COLUMNS)}"
        elif not _is_plain(value):
            yield f"defaults.{column}: expected a text, a number or a day (without a time of day)"
    for word, unit in given.units.items():
        if unit not in SOLD_BY:
            yield f'units."{word}" = {unit!r}: expected one of {", ".join((*UNITS, *PACKS))}{nearest(unit, SOLD_BY)}'
    for word, key in given.materials.items():
        if key not in catalogue.materials:
            yield f'materials."{word}" = {key!r}: is not in the catalogue{nearest(key, catalogue.materials)}'
    for name in ("columns", "units", "materials"):
        yield from _repeated_words(name, getattr(given, name))


def _repeated_words(name: str, table: Mapping[str, str]) -> Iterable[str]:
    """Words that differ in case or spaces only."""
    seen: dict[str, str] = {}
    for word in table:
        if folded(word) in seen:
            yield f'{name}."{word}": the same word as {seen[folded(word)]!r}; expected each once'
        seen.setdefault(folded(word), word)
