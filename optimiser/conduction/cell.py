"""The repeating cell of a wall: the smallest piece that, mirrored or repeated, is the whole wall.

A wall is slabs from outside to inside, some of them crossed by members at equal distances: studs (placed along the
wall), battens (up the wall), ties (both). Members of one direction stand where their centres say; ties and battens that
have nothing to do with each other both start at 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from .grid import Air, Block, Domain, Face

UNIT = 1e-5  # m: distances are whole numbers of it
LARGEST_CELL = 4.0  # m, along the wall and up the wall
SINGLE = 1.0  # m, the extent of a cell in which nothing repeats


class CellTooLarge(ValueError):
    """Members at distances that have no common multiple within LARGEST_CELL."""

    def __init__(self, spacings: Sequence[float]) -> None:
        listed = " and ".join(f"{1000 * each:g}" for each in sorted(set(spacings)))
        super().__init__(f"members every {listed} mm do not repeat together within {LARGEST_CELL:g} m")


@dataclass(frozen=True)
class MemberRow:
    """Members of a width at equal distances; `centre` is where one of them stands [m]."""

    width: float
    spacing: float
    centre: float = 0.0

    @property
    def share(self) -> float:
        return self.width / self.spacing


@dataclass(frozen=True)
class Crossing:
    """Members across a slab [W/mK]: rows along the wall, up the wall, or both (single pieces)."""

    name: str
    conductivity: float
    along: MemberRow | None = None
    up: MemberRow | None = None


@dataclass(frozen=True)
class Slab:
    """One layer: its thickness [m], what fills it [W/mK] and the members across it."""

    name: str
    thickness: float
    conductivity: float
    crossing: Crossing | None = None

    @property
    def resistance(self) -> float:
        """Of what fills it [m2K/W]."""
        return self.thickness / self.conductivity

    def bare(self) -> Slab:
        """Without its members."""
        return replace(self, crossing=None)

    def solid(self) -> Slab:
        """All member."""
        return Slab(self.crossing.name, self.thickness, self.crossing.conductivity)

    def smeared(self) -> Slab:
        """Members up the wall averaged with what lies between them: temperatures alike up the height."""
        crossing = self.crossing
        if crossing is None or crossing.up is None:
            return self
        mixed = self.conductivity + crossing.up.share * (crossing.conductivity - self.conductivity)
        if crossing.along is None:
            return Slab(self.name, self.thickness, mixed)
        return replace(self, crossing=replace(crossing, conductivity=mixed, up=None))


Wall = tuple[Slab, ...]  # from outside to inside


def unnamed(wall: Wall) -> Wall:
    """The same without names: walls of one section are one, whoever sells their layers."""
    return tuple(replace(slab, name="", crossing=slab.crossing and replace(slab.crossing, name="")) for slab in wall)


def slices(wall: Wall) -> list[tuple[float, Wall]]:
    """The wall cut where members up its height begin and end: (share of the height, wall without such members).

    Rows at one distance meet as they stand; of other rows each height of one meets each height of the other alike.
    """
    pieces: list[tuple[float, Wall]] = [(1.0, wall)]
    for spacing in sorted({row.spacing for row in rows(wall, "up")}):
        cuts = _heights([row for row in rows(wall, "up") if row.spacing == spacing], spacing)
        pieces = [(share * part, _cut(each, spacing, at)) for share, each in pieces for part, at in cuts]
    return pieces


def _heights(standing: list[MemberRow], spacing: float) -> list[tuple[float, float]]:
    """(share, middle) of the stretches between the edges of rows at one distance."""
    marks = sorted({(row.centre + side * row.width / 2) % spacing for row in standing for side in (-1, 1)})
    ends = [*marks[1:], marks[0] + spacing]
    return [((high - low) / spacing, (low + high) / 2) for low, high in zip(marks, ends, strict=True) if high > low]


def _cut(wall: Wall, spacing: float, at: float) -> Wall:
    return tuple(_at_height(slab, at) if (row := up_of(slab)) and row.spacing == spacing else slab for slab in wall)


def _at_height(slab: Slab, at: float) -> Slab:
    row = slab.crossing.up
    away = abs((at - row.centre + row.spacing / 2) % row.spacing - row.spacing / 2)
    if away > row.width / 2:
        return slab.bare()
    return slab.solid() if slab.crossing.along is None else replace(slab, crossing=replace(slab.crossing, up=None))


def up_of(slab: Slab) -> MemberRow | None:
    """The row up the wall of its members, if they stand in one."""
    return slab.crossing.up if slab.crossing else None


def rows(wall: Wall, direction: str) -> list[MemberRow]:
    """The rows of one direction, "along" or "up"."""
    member_rows = (getattr(slab.crossing, direction) for slab in wall if slab.crossing)
    return [row for row in member_rows if row]


def unbridged(wall: Wall, r_si: float, r_se: float) -> float:
    """U without any member [W/m2K]."""
    return 1.0 / (r_si + r_se + sum(slab.resistance for slab in wall))


@dataclass(frozen=True)
class _Extent:
    """The piece of the wall in one direction: its length, where it starts, and whether it is half of what repeats."""

    length: float
    start: float
    mirrored: bool


def repeating(wall: Wall, r_si: float, r_se: float) -> Domain:
    """The cell between outside air at 0 and inside air at 1 degree: its conductance over its area is U.

    Two axes where members run in one direction only, else three. Half of what repeats where that mirrors itself.
    CellTooLarge where distances have no common multiple.
    """
    by_direction = {name: _extent(rows(wall, name)) for name in ("up", "along")}
    names = [name for name, extent in by_direction.items() if extent] or ["along"]
    extents = [by_direction[name] or _Extent(SINGLE, 0.0, True) for name in names]
    boxes, depth = [], 0.0
    for slab in wall:
        y = (depth, depth + slab.thickness)
        boxes.append(_box(slab.name, [(0.0, each.length) for each in extents], y, slab.conductivity))
        if slab.crossing:
            boxes += _members(slab.crossing, y, names, extents)
        depth = y[1]
    through = len(extents) - 1
    sizes = [each.length for each in extents]
    return Domain(
        size=(*sizes[:through], depth, sizes[-1]),
        boxes=tuple(boxes),
        airs=(Air(0.0, r_se), Air(1.0, r_si)),
        faces=(Face(through, 0, 0), Face(through, 1, 1)),
        origin=(*(each.start for each in extents[:through]), 0.0, extents[-1].start),
        periodic=tuple(axis if axis < through else axis + 1 for axis, each in enumerate(extents) if not each.mirrored),
    )


def area(domain: Domain) -> float:
    """Of a cell's face [m2]; of a plan section per metre of height."""
    return domain.size[-1] * (domain.size[0] if len(domain.size) == 3 else 1.0)


def _extent(member_rows: list[MemberRow]) -> _Extent | None:
    if not member_rows:
        return None
    spacings = [round(row.spacing / UNIT) for row in member_rows]
    whole = math.lcm(*spacings) * UNIT
    exact = all(abs(each * UNIT - row.spacing) < UNIT / 100 for each, row in zip(spacings, member_rows, strict=True))
    if (not exact and len(set(spacings)) > 1) or whole > max(LARGEST_CELL, *(row.spacing for row in member_rows)):
        raise CellTooLarge([row.spacing for row in member_rows])
    if len(set(spacings)) == 1:
        whole = member_rows[0].spacing
    for row in member_rows:
        for middle in (row.centre, row.centre + row.spacing / 2):
            if all(_mirrors(middle, each) for each in member_rows):
                return _Extent(whole / 2, middle, True)
    return _Extent(whole, member_rows[0].centre + member_rows[0].spacing / 2, False)


def _mirrors(middle: float, row: MemberRow) -> bool:
    """Whether a row looks the same from both sides of a plane."""
    off = 2 * (middle - row.centre) % row.spacing
    return min(off, row.spacing - off) < UNIT / 100


def _members(crossing: Crossing, y: tuple[float, float], names: list[str], extents: list[_Extent]) -> list[Block]:
    """The blocks of one slab's members inside the cell."""
    stretches = [
        _stretches(row, extent) if (row := getattr(crossing, name)) else [(0.0, extent.length)]
        for name, extent in zip(names, extents, strict=True)
    ]
    places = product(*stretches)
    return [_box(crossing.name, place, y, crossing.conductivity) for place in places]


def _stretches(row: MemberRow, extent: _Extent) -> list[tuple[float, float]]:
    """Where members of a row lie inside the piece of wall."""
    first = math.floor((extent.start - row.centre) / row.spacing) - 1
    last = math.ceil((extent.start + extent.length - row.centre) / row.spacing) + 1
    stretches = []
    for number in range(first, last + 1):
        middle = row.centre + number * row.spacing - extent.start
        low, high = max(middle - row.width / 2, 0.0), min(middle + row.width / 2, extent.length)
        if high - low > UNIT / 100:
            stretches.append((low, high))
    return stretches


def _box(name: str, sides: Sequence[tuple[float, float]], y: tuple[float, float], conductivity: float) -> Block:
    order = [*sides[:-1], y, sides[-1]]
    return Block(name, tuple(low for low, _ in order), tuple(high for _, high in order), conductivity)
