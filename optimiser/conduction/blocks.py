"""Steady conduction through blocks of material in two and three dimensions (ISO 10211), to a stated accuracy.

Every grid is solved twice, so that the true heat flow lies between two figures (`conduction.py`): what is given is
their mean, and its error is at most half their difference. Where that is more than was asked for, the stretches of the
grid that carry most of it are cut in two, and so on; corners and thin metal are found by the heat itself.
"""

from __future__ import annotations

import numpy as np

from ..batch import Array
from .grid import ROOM, Domain, Grid, Lines, first_lines, halved, laid
from .networks import Network, between_cells, between_corners, pick
from .results import Solution, without_air
from .solve import direct
from .space_solve import by_diagonal, by_planes, gradients

TOLERANCE = {2: 0.001, 3: 0.005}  # of the heat flow, by the number of axes
MOST_CELLS = {2: 100_000, 3: 400_000}
CUT = 0.75  # of the error: the stretches that carry it are cut, the most worthwhile first


def solve(domain: Domain, tolerance: float | None = None, lines: Lines | None = None) -> Solution:
    """Solve a domain until its heat flow is known within `tolerance` (relative; 0.1 % in 2D, 0.5 % in 3D).

    lines: a grid to start from, with every edge of the blocks among its lines. The search ends before MOST_CELLS:
    `Solution.error` tells what was reached. Source: ISO 10211 (its validation cases are among the tests).
    """
    axes = len(domain.size)
    wanted = TOLERANCE[axes] if tolerance is None else tolerance
    lines = first_lines(domain) if lines is None else lines
    while True:
        solution = solve_on(laid(domain, lines))
        if solution.error <= wanted:
            return solution
        lines = halved(lines, worthwhile(solution))
        if np.prod([len(line) - 1.0 for line in lines]) > MOST_CELLS[axes]:
            return solution


def solve_on(grid: Grid) -> Solution:
    """Solve one grid as it is, by both schemes."""
    temperatures = np.array([air.temperature for air in grid.domain.airs])
    cells, corners = between_cells(grid), between_corners(grid)
    at_cells = _temperatures(grid, cells, temperatures, corners=False)
    at_corners = _temperatures(grid, corners, temperatures, corners=True)
    low, high = flows(cells, at_cells, temperatures)
    span = float(np.ptp(temperatures))
    return Solution(
        grid=grid,
        heat=cells.inflow(at_cells, temperatures),
        heat_low=cells.energy(at_cells, temperatures) / span,
        heat_high=corners.energy(at_corners, temperatures) / span,
        temperature=without_air(grid, _closed(grid, at_corners)),
        low_flow=low,
        high_flow=high,
    )


def _temperatures(grid: Grid, network: Network, temperatures: Array, corners: bool) -> Array:
    if len(grid.shape) == 2:
        return direct(network, temperatures)
    helped = by_planes(grid, corners) if (grid.air == ROOM).all() else by_diagonal(network)
    return gradients(network, temperatures, helped)


def _closed(grid: Grid, at: Array) -> Array:
    """The first corners once more as the last, where the domain repeats."""
    for axis in grid.domain.periodic:
        at = np.concatenate([at, at[pick(at.ndim, axis, slice(0, 1))]], axis)
    return at


def flows(network: Network, at: Array, temperatures: Array) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
    """Heat through the low and the high face of every cell along every axis [W], positive along the axis."""
    low, high = [], []
    for axis, link in enumerate(network.links):
        onward = link * (at - np.roll(at, -1, axis))
        low.append(np.roll(onward, 1, axis))
        high.append(onward)
    for surface in network.surfaces:
        enters = surface.conductance * (temperatures[surface.air] - at)
        if surface.end == 0:
            low[surface.axis] = low[surface.axis] + enters
        else:
            high[surface.axis] = high[surface.axis] - enters
    return tuple(low), tuple(high)


def worthwhile(solution: Solution) -> tuple[np.ndarray, ...]:
    """The stretches of every axis that are worth cutting in two (bool).

    The schemes differ where heat flow changes along its own way (the flows tell) or across it (the temperatures tell).
    Cutting a stretch of one axis adds cells all along it: what it carries is weighed against their number.
    """
    grid, axes = solution.grid, len(solution.grid.shape)
    weight = grid.conductivity * grid.volume
    solid = np.where(grid.air == ROOM, weight, 1.0)
    carried = []
    for axis in range(axes):
        error = ((solution.high_flow[axis] - solution.low_flow[axis]) * grid.steps[axis]) ** 2 / solid
        for other in range(axes):
            if other != axis:
                error = error + weight * (_twist(solution.temperature, axis, other) / grid.steps[other]) ** 2
        carried.append(np.nansum(error, axis=tuple(each for each in range(axes) if each != axis)))
    error = np.concatenate(carried)
    price = np.concatenate([np.full(len(each), 1.0 / len(each)) for each in carried])
    order = np.argsort(-error / price, kind="stable")
    needed = np.searchsorted(np.cumsum(error[order]), CUT * error.sum()) + 1
    chosen = np.zeros(len(error), bool)
    chosen[order[:needed]] = True
    return tuple(np.split(chosen, np.cumsum([len(each) for each in carried])[:-1]))


def _twist(corners: Array, axis: int, other: int) -> Array:
    """How the temperature difference along `other` changes along `axis`, in every cell [K]."""
    twist = np.diff(np.diff(corners, axis=axis), axis=other)
    for third in range(corners.ndim):
        if third not in (axis, other):
            near, far = pick(corners.ndim, third, slice(None, -1)), pick(corners.ndim, third, slice(1, None))
            twist = (twist[near] + twist[far]) / 2
    return twist
