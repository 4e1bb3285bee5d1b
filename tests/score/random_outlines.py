"""Random right-angled outlines from unions of grid cells, and areas by counting cells."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

AROUND = ((0, 1), (1, 0), (0, -1), (-1, 0))


def connected(cells: set) -> bool:
    found, open_ = set(), [min(cells)]
    while open_:
        x, y = at = open_.pop()
        if at in cells and at not in found:
            found.add(at)
            open_ += [(x + dx, y + dy) for dx, dy in AROUND]
    return len(found) == len(cells)


def simple(cells: set, size: int) -> bool:
    """No hole, and no two cells that touch at a corner only."""
    outside = {(x, y) for x in range(-1, size + 1) for y in range(-1, size + 1)} - cells
    if not connected(outside):
        return False
    for x in range(-1, size):
        for y in range(-1, size):
            a, b, c, d = ((x + dx, y + dy) in cells for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)))
            if a == d and b == c and a != b:
                return False
    return True


@st.composite
def plans(draw, size: int = 5, widest: int = 5):
    """(corners anticlockwise, the cells of 1 m x 1 m inside): a blob of cells of uneven columns and rows."""
    cells = {(draw(st.integers(0, size - 1)), draw(st.integers(0, size - 1)))}
    for _ in range(draw(st.integers(0, 14))):
        near = {(x + dx, y + dy) for x, y in cells for dx, dy in AROUND} - cells
        near = sorted(at for at in near if min(at) >= 0 and max(at) < size and simple(cells | {at}, size))
        if not near:
            break
        cells.add(draw(st.sampled_from(near)))
    columns, rows = (draw(st.lists(st.integers(1, widest), min_size=size, max_size=size)) for _ in (0, 1))
    at_x, at_y = np.cumsum([0, *columns]), np.cumsum([0, *rows])
    corners = [(int(at_x[x]), int(at_y[y])) for x, y in boundary(cells)]
    inside = np.zeros((at_x[-1], at_y[-1]), bool)
    for x, y in cells:
        inside[at_x[x] : at_x[x + 1], at_y[y] : at_y[y + 1]] = True
    return corners, inside


def boundary(cells: set) -> list:
    """Corner points of the cells anticlockwise, every one on the way, straight runs too."""
    ahead = {}
    for x, y in cells:
        ring = [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)]
        for (dx, dy), start, end in zip(((0, -1), (1, 0), (0, 1), (-1, 0)), ring, (*ring[1:], ring[0]), strict=True):
            if (x + dx, y + dy) not in cells:
                ahead[start] = end
    first = at = min(ahead)
    found = [first]
    while (at := ahead[at]) != first:
        found.append(at)
    assert len(found) == len(ahead)
    return found


def cells_of(corners, per_metre: int = 1, around: int = 0) -> np.ndarray:
    """The cells within whole-numbered corners, by crossings to their left; with a margin of cells round them."""
    points = np.array(corners) * per_metre
    points = points - points.min(axis=0)
    wide, high = points.max(axis=0)
    inside = np.zeros((wide, high), bool)
    for (ax, ay), (bx, by) in zip(points, np.roll(points, -1, axis=0), strict=True):
        if ax == bx:
            inside[ax:, min(ay, by) : max(ay, by)] ^= True
    return np.pad(inside, around)


def refined(cells: np.ndarray, per_metre: int, around: int = 0) -> np.ndarray:
    return np.pad(np.kron(cells, np.ones((per_metre, per_metre), bool)), around)


def thinner(cells: np.ndarray) -> np.ndarray:
    """The cells whose eight neighbours are all cells too: a wall one cell thick taken off the inside."""
    padded = np.pad(cells, 1)
    wide, high = cells.shape
    shifted = [padded[x : x + wide, y : y + high] for x in range(3) for y in range(3)]
    return np.logical_and.reduce(shifted)


def thicker(cells: np.ndarray) -> np.ndarray:
    """The cells and their neighbours: a wall one cell thick put around."""
    return ~thinner(np.pad(~cells, 1, constant_values=True))[1:-1, 1:-1]
