"""Floor area that walls of a given thickness take from a house of fixed outside size.

Source: plane geometry (exact). A_int = A_ext - P t + 4 t^2 for a rectangle; (convex - re-entrant corners) t^2 for any
right-angled polygon. The polygons are checked against the shoelace area of the outline moved inwards.
"""

import numpy as np
import pytest

from optimiser.score.area import floor_area_lost

L_SHAPE = [(0, 0), (10, 0), (10, 4), (6, 4), (6, 8), (0, 8)]
U_SHAPE = [(0, 0), (12, 0), (12, 9), (8, 9), (8, 4), (4, 4), (4, 9), (0, 9)]
CROSS = [(3, 0), (6, 0), (6, 3), (9, 3), (9, 6), (6, 6), (6, 9), (3, 9), (3, 6), (0, 6), (0, 3), (3, 3)]


def area(points) -> float:
    x, y = np.array(points, float).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def perimeter(points) -> float:
    return float(np.linalg.norm(np.array(points, float) - np.roll(points, -1, axis=0), axis=1).sum())


def moved_inwards(points, t: float) -> list:
    """Every edge of an anticlockwise right-angled outline moved to its left by t."""
    corners = np.array(points, float)
    ahead = np.roll(corners, -1, axis=0) - corners
    normal = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.linalg.norm(ahead, axis=1)[:, None]
    return (corners + t * (normal + np.roll(normal, 1, axis=0))).tolist()


def test_rectangle():
    """Exact: 10 x 8 m at t 0.30: 69.56 m2 are left."""
    assert 80 - floor_area_lost(0.30, perimeter=36) == pytest.approx(69.56, abs=1e-12)
    left = (10 - 0.6) * (8 - 0.6)
    assert left == pytest.approx(69.56, abs=1e-12)


@pytest.mark.parametrize("outline", [L_SHAPE, U_SHAPE, CROSS], ids=["L", "U", "cross"])
@pytest.mark.parametrize("t", [0.1, 0.35, 0.6])
def test_right_angled_outlines(outline, t):
    lost = area(outline) - area(moved_inwards(outline, t))
    assert floor_area_lost(t, perimeter(outline)) == pytest.approx(lost, rel=1e-12)


def test_a_court_loses_by_its_own_corners():
    """A wall round a closed court runs outside it: its four corners are re-entrant, so c = 4 - 4 = 0."""
    outer, court, t = (20.0, 16.0), (6.0, 5.0), 0.4
    lost = outer[0] * outer[1] - (outer[0] - 2 * t) * (outer[1] - 2 * t)
    lost += (court[0] + 2 * t) * (court[1] + 2 * t) - court[0] * court[1]
    assert floor_area_lost(t, 2 * sum(outer) + 2 * sum(court), corners=0) == pytest.approx(lost, rel=1e-12)


def test_every_storey_and_every_wall_of_an_array():
    t = np.array([0.0, 0.25, 0.5])
    assert floor_area_lost(t, 36, storeys=2) == pytest.approx(2 * np.array([0, 36 * 0.25 - 0.25, 36 * 0.5 - 1.0]))


def test_a_house_all_wall_has_no_floor_left():
    """A 2 m square with walls of 1 m: all 4 m2 are lost (exact)."""
    assert floor_area_lost(1.0, 8.0) == pytest.approx(4.0, abs=1e-12)
