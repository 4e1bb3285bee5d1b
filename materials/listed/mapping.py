"""How a supplier's own list is to be read: a small TOML beside it, `list.toml` beside `list.csv` or `list.xlsx`.

It says which columns are ours, what a missing column holds throughout, what the supplier's words for units and
materials mean, and in what units and with what taxes the numbers stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool, StrictInt, StrictStr, ValidationError

from ..catalogue import Catalogue
from ..errors import Checked, InputError, explain, first_of, kind_of_file, nearest, parse_toml
from .cells import ISO_DATE, Typed, date_pattern
from .columns import ALIASES, COLUMNS, NUMBERS, STEP, hint
from .list_row import known_factor
from .measures import FACTORS, MEASURES, measure
from .supplier_files import ENCODINGS

MAX_BYTES = 200_000
EVERYTHING = "*"
Factor = Annotated[float, Field(ge=1e-9, le=1e9)] | Annotated[StrictStr, Field(max_length=40)]
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
    heading_rows: Annotated[StrictInt, Field(ge=1, le=2)] | None = None
    fill_down: tuple[Short, ...] = ()
    prices_include_vat: StrictBool | None = None
    columns: dict[Short, Short] = Field(default_factory=dict)
    defaults: dict[Short, Any] = Field(default_factory=dict)
    units: dict[Short, Short] = Field(default_factory=dict)
    materials: dict[Short, Short] = Field(default_factory=dict)
    factors: dict[Short, Factor] = Field(default_factory=dict)
    steps: dict[Short, Annotated[float, Field(gt=0, le=1e6)]] = Field(default_factory=dict)


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
    heading_rows: int | None = None  # as the mapping states, else found
    fill_down: frozenset[str] = frozenset()  # our columns whose empty cells hold what stands above
    factors: Mapping[str, float] = field(default_factory=dict)  # by our column
    steps: Mapping[str, float] = field(default_factory=dict)  # folded column word -> from what quantity on
    include_vat: bool | None = None

    def column(self, shown: str) -> str | None:
        """Our column for a header cell: by the mapping, or its own name; None for one that is to be ignored."""
        word = folded(shown)
        if word in self.columns:
            return self.columns[word]
        if word in self.steps:
            return f"{STEP}{self.steps[word]:g}"
        if word in ALIASES:
            return ALIASES[word]
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
    words = (*given.columns, *given.steps)
    return ListMapping(
        place,
        given.sheets,
        given.skip_rows,
        given.encoding,
        given.separator,
        given.decimal,
        given.date_format,
        frozenset(map(folded, given.ignore)),
        {folded(word): _ours(column) for word, column in given.columns.items()},
        {_ours(column): _as_cell(value) for column, value in given.defaults.items()},
        {folded(word): unit for word, unit in given.units.items()},
        {folded(word): key for word, key in given.materials.items()},
        {folded(word): word for word in words},
        given.heading_rows,
        frozenset(map(_ours, given.fill_down)),
        {_ours(column): _factor(column, value) or 1.0 for column, value in given.factors.items()},
        {folded(word): quantity for word, quantity in given.steps.items()},
        given.prices_include_vat,
    )


def _ours(column: str) -> str:
    return ALIASES.get(column, column)


def _factor(column: str, value: float | str) -> float | None:
    """What a column's numbers are multiplied by; None for a name that it does not know."""
    return known_factor(_ours(column), value) if isinstance(value, str) else float(value)


def _as_cell(value: str | int | float | date) -> str:
    return value.strip() if isinstance(value, str) else Typed(value)


def _is_plain(value: object) -> bool:
    if isinstance(value, str):
        return bool(value.strip())
    return isinstance(value, int | float | date) and not isinstance(value, bool | datetime)


def _faults(given: MappingFile, catalogue: Catalogue) -> Iterable[str]:
    if given.encoding is not None and given.encoding not in ENCODINGS:
        near = nearest(given.encoding, ENCODINGS)
        yield f"encoding = {given.encoding!r}: expected one of {', '.join(ENCODINGS)}{near}"
    if date_pattern(given.date_format) is None:
        yield f'date_format = {given.date_format!r}: expected YYYY, MM and DD once each, such as "DD.MM.YYYY"'
    for word, column in given.columns.items():
        if _ours(column) not in COLUMNS:
            yield f'columns."{word}" = {column!r}: expected a column of ours{hint(column)}'
        elif column in given.defaults:
            yield f'columns."{word}" = {column!r}: stands under defaults too; a default is for a missing column'
    for column, value in given.defaults.items():
        if _ours(column) not in COLUMNS:
            yield f"defaults.{column}: expected a column of ours{hint(column)}"
        elif not _is_plain(value):
            yield f"defaults.{column}: expected a text, a number or a day (without a time of day)"
    for word, unit in given.units.items():
        if measure(folded(unit)) is None:
            yield f'units."{word}" = {unit!r}: expected one of {", ".join(MEASURES)}{nearest(unit, MEASURES)}'
    for word, key in given.materials.items():
        if key not in catalogue.materials:
            yield f'materials."{word}" = {key!r}: is not in the catalogue{nearest(key, catalogue.materials)}'
    for column in given.fill_down:
        if _ours(column) not in COLUMNS:
            yield f"fill_down: {column!r}: expected a column of ours{hint(column)}"
    yield from _faulty_factors(given)
    for word in given.steps:
        if any(folded(word) == folded(each) for each in given.columns):
            yield f'steps."{word}": stands under columns too; expected it once'
    for name in ("columns", "units", "materials", "steps"):
        yield from _repeated_words(name, getattr(given, name))


def _faulty_factors(given: MappingFile) -> Iterable[str]:
    for column, value in given.factors.items():
        known = FACTORS.get(_ours(column), {})
        if _ours(column) not in NUMBERS:
            yield f"factors.{column}: expected a column of ours that holds numbers{hint(column, NUMBERS)}"
        elif _factor(column, value) is None:
            which = ", ".join(known) or "none by name"
            yield f"factors.{column} = {value!r}: expected a number, or one of {which}{nearest(str(value), known)}"


def _repeated_words(name: str, table: Mapping[str, str]) -> Iterable[str]:
    """Words that differ in case or spaces only."""
    seen: dict[str, str] = {}
    for word in table:
        if folded(word) in seen:
            yield f'{name}."{word}": the same word as {seen[folded(word)]!r}; expected each once'
        seen.setdefault(folded(word), word)
