"""Steady conduction on a grid, twice: as flows between cells and as temperatures at the grid's corners.

Both schemes leave a network of conductances between nodes and airs. They enclose the truth, on any grid that has a
line on every material edge:

- cells (finite volumes, conductances in series from middle to middle): the flows balance in every cell, so they may be
  compared with the true ones by the complementary energy, whose integral the trapezoidal rule overestimates. The
  resistance is never too low: heat flow is a lower bound.
- corners (temperatures, linear along every edge of a cell): continuous temperatures may be compared by the energy,
  which the trapezoidal rule overestimates again. Heat flow is an upper bound.

The flows of the upper limit of ISO 6946 (none sideways) are among the first, the temperatures of its lower limit (alike
in a plane) among the second, and both integrals are exact for them: 1/R' <= U(cells) <= U <= U(corners) <= 1/R''.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..batch import Array
from .grid import ROOM, Grid

FIXED = 1e-8  # m2K/W: a surface held at a temperature, for the scheme that needs a resistance there


@dataclass(frozen=True)
class Surface:
    """Conductances [W/K] from nodes to an air, through faces that look along an axis to its low (0) or high (1) end."""

    axis: int
    end: int
    air: int
    conductance: Array  # by node


@dataclass(frozen=True)
class Network:
    """Nodes on a regular block. links: for every axis the conductance [W/K] of each node to the next along it; the last
    one leads back to the first and is 0 unless the domain repeats."""

    links: tuple[Array, ...]
    surfaces: tuple[Surface, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        return self.links[0].shape

    def diagonal(self) -> Array:
        """What leaves each node per kelvin [W/K]; 1 for nodes that stand in air, which take no part."""
        total = np.zeros(self.shape)
        for axis, link in enumerate(self.links):
            total += link
            total += np.roll(link, 1, axis)
        for surface in self.surfaces:
            total += surface.conductance
        return np.where(total > 0, total, 1.0)

    def source(self, temperatures: Array) -> Array:
        """What the airs send to each node [W]."""
        total = np.zeros(self.shape)
        for surface in self.surfaces:
            total += surface.conductance * temperatures[surface.air]
        return total

    def inflow(self, at: Array, temperatures: Array) -> Array:
        """Heat from every air into the domain [W], at node temperatures `at`."""
        flows = np.zeros(len(temperatures))
        for surface in self.surfaces:
            flows[surface.air] += (surface.conductance * (temperatures[surface.air] - at)).sum()
        return flows

    def energy(self, at: Array, temperatures: Array) -> float:
        """Sum of conductance times difference squared [W K]: heat flow times the difference of two airs."""
        total = sum(
            (link * (np.roll(at, -1, axis) - at) ** 2).sum() for axis, link in enumerate(self.links) if link.any()
        )
        for surface in self.surfaces:
            total += (surface.conductance * (temperatures[surface.air] - at) ** 2).sum()
        return float(total)


def pick(axes: int, axis: int, where: slice | int) -> tuple:
    """An index that takes `where` along one axis and all of the others."""
    return tuple(where if each == axis else slice(None) for each in range(axes))


def exposed(grid: Grid) -> list[tuple[int, int, int, np.ndarray]]:
    """(axis, end, air, cells (bool)) of every group of cells with a face to an air."""
    axes = len(grid.shape)
    solid = grid.air == ROOM
    groups = []
    holes = sorted(set(grid.air[~solid].tolist())) if not solid.all() else []
    for axis in range(axes):
        for end in (0, 1):
            to_air: dict[int, np.ndarray] = {}
            for hole in holes:
                beyond = np.zeros_like(solid)
                near, far = (slice(1, None), slice(None, -1)) if end == 0 else (slice(None, -1), slice(1, None))
                beyond[pick(axes, axis, near)] = grid.air[pick(axes, axis, far)] == hole
                to_air[hole] = beyond & solid
            for face in grid.domain.faces:
                if (face.axis, face.end) == (axis, end):
                    outer = pick(axes, axis, 0 if end == 0 else -1)
                    cells = to_air.setdefault(face.air, np.zeros_like(solid))
                    cells[outer] |= solid[outer]
            groups += [(axis, end, air, cells) for air, cells in to_air.items() if cells.any()]
    return groups


def between_cells(grid: Grid) -> Network:
    """Finite volumes: one node in the middle of every cell, conductances in series."""
    axes = len(grid.shape)
    solid = grid.air == ROOM
    safe = np.where(solid, grid.conductivity, 1.0)
    half = [step / (2 * safe * grid.area(axis)) for axis, step in enumerate(grid.steps)]
    links = []
    for axis in range(axes):
        link = 1.0 / (half[axis] + np.roll(half[axis], -1, axis))
        link *= solid & np.roll(solid, -1, axis)
        if axis not in grid.domain.periodic:
            link[pick(axes, axis, -1)] = 0.0
        links.append(link)
    surfaces = []
    for axis, end, air, cells in exposed(grid):
        through = half[axis] + grid.domain.airs[air].resistance / grid.area(axis)
        surfaces.append(Surface(axis, end, air, np.where(cells, 1.0 / through, 0.0)))
    return Network(tuple(links), tuple(surfaces))


def between_corners(grid: Grid) -> Network:
    """Temperatures at the corners of the cells, each edge conducting for its part of the cells around it."""
    axes = len(grid.shape)
    part = 0.5 ** (axes - 1)
    links = []
    for axis, step in enumerate(grid.steps):
        edge = grid.conductivity * (grid.area(axis) / step * part)
        for other in range(axes):
            if other != axis:
                edge = spread(edge, other, other in grid.domain.periodic)
        if axis not in grid.domain.periodic:  # the last node leads nowhere
            edge = np.concatenate([edge, np.zeros_like(edge[pick(axes, axis, slice(0, 1))])], axis)
        links.append(edge)
    surfaces = []
    for axis, end, air, cells in exposed(grid):
        face = np.where(cells, grid.area(axis) * part / max(grid.domain.airs[air].resistance, FIXED), 0.0)
        for other in range(axes):
            if other != axis:
                face = spread(face, other, other in grid.domain.periodic)
        surfaces.append(Surface(axis, end, air, _at_end(face, axis, end, axis in grid.domain.periodic)))
    return Network(tuple(links), tuple(surfaces))


def spread(values: Array, axis: int, periodic: bool) -> Array:
    """Values of stretches added to the nodes at both ends of each."""
    axes = values.ndim
    if periodic:
        return values + np.roll(values, 1, axis)
    shape = list(values.shape)
    shape[axis] += 1
    out = np.zeros(shape)
    out[pick(axes, axis, slice(None, -1))] = values
    out[pick(axes, axis, slice(1, None))] += values
    return out


def _at_end(face: Array, axis: int, end: int, periodic: bool) -> Array:
    """Values of cells given to the nodes at their low or high end."""
    if periodic:
        return face if end == 0 else np.roll(face, 1, axis)
    nothing = np.zeros_like(face[pick(face.ndim, axis, slice(0, 1))])
    return np.concatenate([face, nothing] if end == 0 else [nothing, face], axis)
