"""A filling sheet that comes back from the site: read whole, or refused with every fault and its place."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from materials.errors import InputError, first_of, nearest
from materials.listed.cells import parse_number, unguarded
from materials.listed.supplier_files import RawRow, RawSheet, read_bytes, read_sheets

from ...wall.buildup import BuildUp
from .files import (
    BAG,
    BAGS_IN,
    BUILD_UP,
    BUILD_UP_BEFORE,
    CHAMBER,
    CHAMBERS,
    DENSITY,
    DEPTH,
    FACE,
    KG_IN,
    MARK,
    OPENING,
    REMARK,
    VOLUME,
    WALL,
)
from .sheet import chamber_mark, digest_of, net_volume

MOST_BYTES = 5_000_000
DENSEST = 150.0  # kg/m3; no blown fill is denser: more is a slip of the unit
SEPARATORS = (",", ";", "\t")  # that a spreadsheet may have saved it with
SIZES = (DEPTH, FACE, VOLUME, DENSITY)
NEEDED = (CHAMBER, *SIZES, OPENING, KG_IN, BAGS_IN, MARK)


@dataclass(frozen=True)
class Entered:
    """One chamber as it came back. volume and face net of the openings really there [m3, m2]."""

    key: str
    void: int  # from 1
    density_kg_m3: float  # told on the sheet: the settling limit
    face_m2: float
    volume_m3: float
    kg: float
    remark: str


@dataclass(frozen=True)
class Returned:
    """The whole sheet as it came back."""

    wall: str
    digest: str
    bag_kg: float
    chambers: tuple[Entered, ...]


def read_filled(path: Path, wall: BuildUp) -> Returned:
    """Read a filled-in sheet (.xlsx or .csv) of this wall.

    InputError names every fault with row, column, value and what was expected; nothing is half read.
    """
    if path.suffix.lower() not in (".xlsx", ".csv"):
        raise InputError(f"{path}: expected a filling sheet ending in .xlsx or .csv")
    data = read_bytes(path, MOST_BYTES, "a filling sheet")
    separators = SEPARATORS if path.suffix.lower() == ".csv" else (None,)
    refused: InputError | None = None
    for separator in separators:
        try:
            sheets = read_sheets(path, data, separator=separator)
        except InputError as error:  # read the wrong way, a sheet may well be no CSV at all
            refused = refused or error
            continue
        for sheet in sheets:
            for at, row in enumerate(sheet.rows):
                if CHAMBER in row.cells and MARK in row.cells:
                    return _Sheet(path, sheet, at, wall).read()
    if refused is not None:
        raise refused
    raise InputError(f'{path}: no row of headings with "{CHAMBER}" and "{MARK}": expected a filling sheet')


class _Sheet:
    """One sheet being read; faults are gathered and told together."""

    def __init__(self, path: Path, sheet: RawSheet, at: int, wall: BuildUp) -> None:
        self.path, self.wall = path, wall
        self.place = f"{path}: " + (f"sheet {sheet.name!r}, " if sheet.name else "")
        self.above = {row.cells[0]: (row, row.cells[1]) for row in sheet.rows[:at] if len(row.cells) > 1}
        self.heading, self.rows = sheet.rows[at], sheet.rows[at + 1 :]
        self.faults: list[str] = []

    def fault(self, row: RawRow, column: str, value: str, expected: str) -> None:
        shown = f" = {value[:60]!r}" if value else " is empty"
        self.faults.append(f'{self.place}row {row.number}, "{column}"{shown}: {expected}')

    def read(self) -> Returned:
        self.columns = {name: at for at, name in enumerate(self.heading.cells) if name}
        for name in NEEDED:
            if name not in self.columns:
                hint = nearest(name, self.columns)
                self.faults.append(f'{self.place}row {self.heading.number}: the column "{name}" is missing{hint}')
            elif self.heading.cells.count(name) > 1:
                self.faults.append(f'{self.place}row {self.heading.number}: the column "{name}" stands there twice')
        digest, bag, count = self._digest(), self._bag(), self._count()
        if self.faults:
            self._raise_faults()
        by_key: dict[str, tuple[RawRow, Entered | None]] = {}
        for row in self.rows:
            key = self._cell(row, CHAMBER)
            if not key.startswith("F") and not self._cell(row, MARK):
                continue  # totals and notes
            if key in by_key:
                self.fault(row, CHAMBER, key, f"is already in row {by_key[key][0].number}")
                continue
            by_key[key] = (row, self._chamber(row, key, digest, bag))
        if len(by_key) != count:
            self.faults.append(f"{self.place}holds {len(by_key)} chambers; {count} were printed on it")
        self._raise_faults()
        chambers = tuple(each for _, each in by_key.values() if each is not None)
        name = self.above.get(WALL, (None, self.wall.name))[1]
        return Returned(unguarded(name), digest, bag, chambers)

    def _raise_faults(self) -> None:
        if self.faults:
            raise InputError("\n".join(first_of(self.faults)))

    def _cell(self, row: RawRow, name: str) -> str:
        at = self.columns.get(name, -1)
        return row.cells[at] if 0 <= at < len(row.cells) else ""

    def _head(self, name: str, good: Callable[[str], bool], expected: str) -> str:
        if name not in self.above:
            self.faults.append(f'{self.place}the row "{name}" above the table is missing')
            return ""
        row, value = self.above[name]
        if not good(value):
            self.fault(row, name, value, expected)
            return ""
        return value

    def _digest(self) -> str:
        mark = digest_of(self.wall)
        label = BUILD_UP_BEFORE if BUILD_UP_BEFORE in self.above and BUILD_UP not in self.above else BUILD_UP
        return self._head(label, lambda text: text == mark, f"this build-up is {mark}; the sheet is of another wall")

    def _bag(self) -> float:
        text = self._head(BAG, lambda text: (_number(text) or 0) > 0, "expected kg above 0")
        return _number(text) or 0.0

    def _count(self) -> int:
        def whole(text: str) -> bool:
            value = _number(text)
            return value is not None and value >= 0 and value == int(value)

        return int(_number(self._head(CHAMBERS, whole, "expected a whole number")) or 0)

    def _chamber(self, row: RawRow, key: str, digest: str, bag: float) -> Entered | None:
        before = len(self.faults)
        sizes = [self._number(row, name) for name in SIZES]
        if None in sizes:
            return None
        if chamber_mark(digest, bag, key, *sizes) != self._cell(row, MARK):
            what = f"not what was printed for {key}: its {', '.join(each.split(',')[0].lower() for each in SIZES)} "
            self.fault(row, MARK, self._cell(row, MARK), f"{what}or the bag were changed")
            return None
        _, face, volume, density = sizes
        opening = self._number(row, OPENING, "expected the m2 of openings in it, 0 where there is none")
        kg = self._went_in(row, bag)
        if opening is not None and opening > face + 1e-9:
            self.fault(row, OPENING, self._cell(row, OPENING), f"more than its face of {face:g} m2")
        if len(self.faults) > before or opening is None or kg is None:
            return None
        net = net_volume(volume, face, opening)
        if kg > DENSEST * net + 1e-9:
            column = KG_IN if self._cell(row, KG_IN) else BAGS_IN
            density_words = f"{kg / net:.0f} kg/m3" if net > 0 else "in no volume at all"
            what = f"{density_words}: no blown fill is as dense; expected kg or bags"
            self.fault(row, column, self._cell(row, column), what)
            return None
        void = int(key[1:].partition("-")[0])
        remark = unguarded(self._cell(row, REMARK))
        return Entered(key, void, density, max(face - opening, 0.0), net, kg, remark)

    def _went_in(self, row: RawRow, bag: float) -> float | None:
        """Kg, from the one of both columns that is filled in."""
        kg, bags = self._cell(row, KG_IN), self._cell(row, BAGS_IN)
        if kg and bags:
            self.fault(row, BAGS_IN, bags, f'"{KG_IN}" is filled in too; give one of both')
            return None
        if not kg and not bags:
            self.fault(row, KG_IN, "", f'expected kg here, or bags in "{BAGS_IN}"; 0 where nothing went in')
            return None
        value = self._number(row, KG_IN if kg else BAGS_IN)
        return value if kg or value is None else value * bag

    def _number(self, row: RawRow, name: str, expected: str = "expected a number of 0 or more") -> float | None:
        text = self._cell(row, name)
        value = _number(text)
        if value is None or value < 0:
            self.fault(row, name, text, expected)
            return None
        return value


def _number(text: str) -> float | None:
    value = parse_number(text)[0] if text else None
    return value if value is not None and math.isfinite(value) else None
