"""What is solved: blocks of material between airs, and the graded rectilinear grid laid over them.

Axes run in this order: (up the wall,) through the wall from outside to inside, along the wall. A plan section has two
axes and is 1 m high. Every edge of a block is a grid line, so every grid cell holds one material.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..batch import Array

SAME_LINE = 1e-9  # m; edges closer than this are one
ROOM = -1  # in `Grid.air`: the cell is solid
GRADING = (0.1, 0.4)  # of a stretch between two edges: where its first lines lie, from an edge that may disturb


@dataclass(frozen=True)
class Block:
    """A block of one material [W/mK], or of an air (by its position) where `air` is given. Corners in m."""

    name: str
    low: tuple[float, ...]
    high: tuple[float, ...]
    conductivity: float = 0.0
    air: int | None = None


@dataclass(frozen=True)
class Air:
    """Air at a temperature [degrees C] behind a surface resistance [m2K/W]; 0 holds the surface at the temperature."""

    temperature: float
    resistance: float


@dataclass(frozen=True)
class Face:
    """The side of the domain at the low (0) or high (1) end of an axis, open to an air. Other sides are adiabatic."""

    axis: int
    end: int
    air: int


@dataclass(frozen=True)
class Domain:
    """Blocks in a box of a size [m]; later blocks lie over earlier ones.

    periodic: axes along which the domain repeats. Elsewhere a side without air is adiabatic: a plane of symmetry.
    origin: where in the wall the low corner stands [m]; (0, ...) where it is empty.
    """

    size: tuple[float, ...]
    boxes: tuple[Block, ...]
    airs: tuple[Air, ...]
    faces: tuple[Face, ...]
    periodic: tuple[int, ...] = ()
    origin: tuple[float, ...] = ()


Lines = tuple[Array, ...]  # for every axis the positions of the grid lines, m


@dataclass(frozen=True)
class Grid:
    """A domain cut into cells."""

    domain: Domain
    lines: Lines
    conductivity: Array  # W/mK of every cell; 0 where there is air
    box: np.ndarray  # position of the block that each cell lies in
    air: np.ndarray  # position of the air that fills the cell, or ROOM

    @property
    def shape(self) -> tuple[int, ...]:
        return self.conductivity.shape

    @property
    def steps(self) -> tuple[Array, ...]:
        """Cell widths along every axis [m], shaped to multiply arrays of cells."""
        return tuple(along(np.diff(line), axis, len(self.lines)) for axis, line in enumerate(self.lines))

    def area(self, axis: int) -> Array:
        """Area of a cell across an axis [m2], shaped to multiply arrays of cells."""
        cross_section = np.ones((1,) * len(self.lines))
        for other, step in enumerate(self.steps):
            if other != axis:
                cross_section = cross_section * step
        return cross_section

    @property
    def volume(self) -> Array:
        return self.area(0) * self.steps[0]


def along(values: Array, axis: int, axes: int) -> Array:
    """A row of values shaped to lie along one axis of several."""
    shape = [1] * axes
    shape[axis] = len(values)
    return values.reshape(shape)


def edges(domain: Domain) -> Lines:
    """The lines that the blocks demand along every axis [m]."""
    lines = []
    for axis, size in enumerate(domain.size):
        marks = [0.0, size] + [at for box in domain.boxes for at in (box.low[axis], box.high[axis])]
        ordered = np.unique(np.clip(marks, 0.0, size))
        distinct = np.concatenate([[True], np.diff(ordered) > SAME_LINE])
        lines.append(ordered[distinct])
    return tuple(lines)


def first_lines(domain: Domain) -> Lines:
    """A coarse grid to start from, finer beside the edges of blocks than between them."""
    return tuple(
        _graded(marks, axis in domain.periodic, _is_open(domain, axis)) for axis, marks in enumerate(edges(domain))
    )


def _is_open(domain: Domain, axis: int) -> bool:
    return any(face.axis == axis for face in domain.faces)


def _graded(marks: Array, periodic: bool, is_open: bool) -> Array:
    """Lines between marks, close to every mark but to planes of symmetry and surfaces, which disturb nothing."""
    if len(marks) == 2 and not periodic:
        return marks if not is_open else np.linspace(marks[0], marks[1], 3)
    out = [marks[:1]]
    last = len(marks) - 2
    for number, (low, high) in enumerate(pairwise(marks)):
        left = GRADING if number > 0 or periodic else ()
        right = GRADING if number < last or periodic else ()
        inside = sorted({*left, *(1 - at for at in right)}) or [0.5]
        out.append(low + (high - low) * np.array([*inside, 1.0]))
    return np.concatenate(out)


def halved(lines: Lines, chosen: tuple[np.ndarray, ...]) -> Lines:
    """The grid with the chosen stretches of every axis (bool by stretch) cut in two."""
    return tuple(
        np.sort(np.concatenate([line, ((line[:-1] + line[1:]) / 2)[pick]]))
        for line, pick in zip(lines, chosen, strict=True)
    )


def laid(domain: Domain, lines: Lines) -> Grid:
    """The grid of a domain on given lines, which hold every edge of its blocks."""
    shape = tuple(len(line) - 1 for line in lines)
    conductivity = np.zeros(shape)
    box_of = np.full(shape, ROOM)
    air = np.full(shape, ROOM)
    for number, box in enumerate(domain.boxes):
        where = tuple(_cells(line, low, high) for line, low, high in zip(lines, box.low, box.high, strict=True))
        conductivity[where] = box.conductivity
        box_of[where] = number
        air[where] = ROOM if box.air is None else box.air
    if (conductivity[air == ROOM] <= 0).any():
        raise ValueError("every part of the domain needs a block of a positive conductivity, or of air")
    return Grid(domain, lines, conductivity, box_of, air)


def _cells(line: Array, low: float, high: float) -> slice:
    """The stretches of a line between two positions."""
    return slice(*np.searchsorted(line, [low - 2 * SAME_LINE, high - 2 * SAME_LINE]))
