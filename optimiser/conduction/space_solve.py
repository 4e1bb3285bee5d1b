"""Temperatures of a network in space: conjugate gradients, each step helped by plane solutions.

The wall averaged up its height falls apart into plane sections, one for every mode of its height (the generalised
eigenvectors of conduction up the wall). Each is a banded system that is factorised once. What the average leaves out,
the ties and battens, is settled by the steps of the conjugate gradients; their number hardly grows with the grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from ..batch import Array
from .grid import ROOM, Domain, Face, Grid, along
from .networks import Network, between_cells, between_corners, pick, spread
from .solve import banded

ACCURACY = 1e-9  # of the residual, against the heat that the airs send
MOST_STEPS = 20_000

Help = Callable[[Array], Array]


def gradients(network: Network, temperatures: Array, helped: Help) -> Array:
    """Node temperatures by preconditioned conjugate gradients. helped: a symmetric approximate inverse."""
    diagonal, source = network.diagonal(), network.source(temperatures)
    at = np.zeros(network.shape)
    residual = source.copy()
    goal = ACCURACY * _norm(source)
    step = helped(residual)
    slope = _dot(residual, step)
    for _ in range(MOST_STEPS):
        if _norm(residual) <= goal:
            return at
        moved = product(network, diagonal, step)
        length = slope / _dot(step, moved)
        at += length * step
        residual -= length * moved
        better = helped(residual)
        before, slope = slope, _dot(residual, better)
        step = better + slope / before * step
    raise ArithmeticError(f"the conduction in space did not settle in {MOST_STEPS} steps")


def _dot(one: Array, two: Array) -> float:
    """Not by the linear algebra library: its threads wait for each other longer than the sum takes."""
    return float((one * two).sum())


def _norm(values: Array) -> float:
    return math.sqrt(_dot(values, values))


def product(network: Network, diagonal: Array, at: Array) -> Array:
    """The network's matrix times node temperatures [W]."""
    out = diagonal * at
    for axis, link in enumerate(network.links):
        near, far = pick(at.ndim, axis, slice(None, -1)), pick(at.ndim, axis, slice(1, None))
        out[near] -= link[near] * at[far]
        out[far] -= link[near] * at[near]
        first, last = pick(at.ndim, axis, 0), pick(at.ndim, axis, -1)
        if link[last].any():
            out[last] -= link[last] * at[first]
            out[first] -= link[last] * at[last]
    return out


def by_diagonal(network: Network) -> Help:
    """The help of the diagonal alone, where air inside the domain leaves no height to average over."""
    scale = 1.0 / network.diagonal()
    return lambda residual: scale * residual


def by_planes(grid: Grid, corners: bool) -> Help:
    """The inverse of the wall averaged up its height, for one of the two schemes."""
    from scipy.linalg import eigh
    from scipy.linalg.lapack import dpbtrf, dpbtrs

    rise = np.diff(grid.lines[0])
    repeats = 0 in grid.domain.periodic
    plane = _averaged(grid, rise)
    network = (between_corners if corners else between_cells)(plane)
    mass = plane.conductivity * plane.volume
    weight, link = rise, 2.0 / (rise + np.roll(rise, -1))
    if corners:
        for axis in (0, 1):
            mass = spread(mass / 2, axis, axis in plane.domain.periodic)
        weight = spread(rise / 2, 0, repeats)
        link = 1.0 / rise if repeats else np.append(1.0 / rise, 0.0)
    values, modes = eigh(_stiffness(link, repeats), np.diag(weight))
    diagonal = network.diagonal()
    factors = [dpbtrf(banded(network, diagonal + max(each, 0.0) * mass), lower=1, overwrite_ab=1)[0] for each in values]

    def helped(residual: Array) -> Array:
        parts = np.matmul(modes.T, residual.transpose(1, 0, 2))  # row by row: too small for threads to meddle with
        for mode, factor in enumerate(factors):
            parts[:, mode] = dpbtrs(factor, parts[:, mode].ravel(), lower=1)[0].reshape(parts[:, mode].shape)
        return np.matmul(modes, parts).transpose(1, 0, 2)

    return helped


def _averaged(grid: Grid, rise: Array) -> Grid:
    """The plan section whose conductivities are the geometric means up the height."""
    share = along(rise / rise.sum(), 0, 3)
    mean = np.exp((np.log(grid.conductivity) * share).sum(axis=0))
    whole = grid.domain
    flat = Domain(
        size=whole.size[1:],
        boxes=(),
        airs=whole.airs,
        faces=tuple(Face(face.axis - 1, face.end, face.air) for face in whole.faces),
        periodic=tuple(axis - 1 for axis in whole.periodic if axis > 0),
    )
    return Grid(flat, grid.lines[1:], mean, np.zeros(mean.shape, int), np.full(mean.shape, ROOM))


def _stiffness(link: Array, repeats: bool) -> Array:
    """Conduction up the height of a column of unit conductivity and area, as a full matrix."""
    size = len(link)
    out = np.zeros((size, size))
    for one in range(size if repeats else size - 1):
        two = (one + 1) % size
        out[[one, two], [one, two]] += link[one] if one != two else 0.0
        out[[one, two], [two, one]] -= link[one] if one != two else 0.0
    return out
