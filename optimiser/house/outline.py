"""Right-angled outlines on plan: read with every fault named, and moved inwards or outwards by a wall's thickness.

Lengths are kept as whole micrometres, so that areas, limits and comparisons are exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from materials.errors import InputError
from materials.slips import MILLIMETRES, Bounds

MICRO = 1_000_000  # micrometres in a metre
MOST_POINTS = 200
LARGEST_M = 10_000.0  # farthest from the origin
LENGTH = Bounds(0.0, 200.0, "m", (MILLIMETRES,))  # from end to end; more is a slip of the unit
SHOWN_FAULTS = 5
SLACK_M = 1e-9  # a thickness added up from layers may pass the limit by its rounding

Point = tuple[int, int]  # [um]
Metres = tuple[float, float]


@dataclass(frozen=True)
class Side:
    """A straight run of wall from one corner to the next [um], the house on its left."""

    start: Point
    end: Point
    turns: tuple[int, int]  # at start and end: 1 a convex corner, -1 a re-entrant one

    @property
    def outward(self) -> Point:
        """The direction out of the house: (0, -1), (1, 0), (0, 1) or (-1, 0)."""
        return (_sign(self.end[1] - self.start[1]), _sign(self.start[0] - self.end[0]))

    @property
    def length(self) -> int:
        return abs(self.end[0] - self.start[0]) + abs(self.end[1] - self.start[1])

    def __str__(self) -> str:
        return f"the wall from {shown(self.start)} to {shown(self.end)}"


@dataclass(frozen=True)
class Meeting:
    """Where walls that grow thicker meet first: their distance [um], and between what, in words."""

    distance: int
    between: str


@dataclass(frozen=True)
class Outline:
    """A simple right-angled polygon: its corners [um], anticlockwise, none on a straight run."""

    points: tuple[Point, ...]

    @cached_property
    def turns(self) -> tuple[int, ...]:
        """At every corner 1 where it is convex, -1 where it is re-entrant."""
        ways = [_way(self.points[at - 1], point) for at, point in enumerate(self.points)]
        pairs = zip(ways, (*ways[1:], ways[0]), strict=True)
        return tuple(before[0] * after[1] - before[1] * after[0] for before, after in pairs)

    @cached_property
    def sides(self) -> tuple[Side, ...]:
        count = len(self.points)
        pairs = ((at, (at + 1) % count) for at in range(count))
        return tuple(Side(self.points[a], self.points[b], (self.turns[a], self.turns[b])) for a, b in pairs)

    @cached_property
    def area_m2(self) -> float:
        return _doubled_area(self.points) / 2 / MICRO**2

    @cached_property
    def perimeter_m(self) -> float:
        return sum(each.length for each in self.sides) / MICRO

    @cached_property
    def corners(self) -> int:
        """Convex less re-entrant corners: 4 for every simple right-angled polygon."""
        return sum(self.turns)

    @cached_property
    def inwards(self) -> Meeting | None:
        """Where walls that grow inwards meet first, across the house."""
        return _meeting(self, into_the_house=True)

    @cached_property
    def outwards(self) -> Meeting | None:
        """Where walls that grow outwards meet first, across a recess; None where they never do."""
        return _meeting(self, into_the_house=False)

    @property
    def inward_limit_m(self) -> float:
        """The greatest thickness [m] inside the outline: half of the least distance between facing walls."""
        return self.inwards.distance / 2 / MICRO if self.inwards else math.inf

    @property
    def outward_limit_m(self) -> float:
        """The greatest thickness [m] outside the outline; infinite where no two walls face each other outside."""
        return self.outwards.distance / 2 / MICRO if self.outwards else math.inf

    def area_inside(self, thickness: ArrayLike) -> NDArray[np.float64]:
        """Area [m2] within walls of a thickness (...) [m] that stand inside the outline: A - P t + c t^2.

        c: convex less re-entrant corners. Exact plane geometry; NaN below 0 and beyond `inward_limit_m`.
        """
        t = fitting(thickness, self.inward_limit_m)
        return self.area_m2 - self.perimeter_m * t + self.corners * t**2

    def area_outside(self, thickness: ArrayLike) -> NDArray[np.float64]:
        """Area [m2] of the outline with walls of a thickness (...) [m] around it: A + P t + c t^2.

        Exact plane geometry; NaN below 0 and beyond `outward_limit_m`.
        """
        t = fitting(thickness, self.outward_limit_m)
        return self.area_m2 + self.perimeter_m * t + self.corners * t**2

    def lengths_outside(self, thickness: ArrayLike) -> dict[Point, NDArray[np.float64]]:
        """Length [m] of the outer faces of walls of a thickness (...) [m] around the outline, by outward direction.

        Every side is longer by t at a convex corner and shorter by t at a re-entrant one: P + 2 c t in all. NaN as in
        `area_outside`.
        """
        t = fitting(thickness, self.outward_limit_m)
        lengths = {}
        for way in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            sides = [each for each in self.sides if each.outward == way]
            lengths[way] = sum(each.length for each in sides) / MICRO + sum(sum(each.turns) for each in sides) * t
        return lengths

    def moved(self, by_m: float) -> Outline:
        """The outline with every side moved outwards [m], or inwards where negative, to the micrometre.

        InputError from the distance on at which walls meet.
        """
        by = round(by_m * MICRO)
        meeting = self.outwards if by > 0 else self.inwards
        if meeting and 2 * abs(by) >= meeting.distance:
            raise InputError(f"an outline moved by {by_m:g} m: {meeting.between} meet")
        moved = []
        for at, (x, y) in enumerate(self.points):
            (ax, ay), (bx, by_) = self.sides[at - 1].outward, self.sides[at].outward
            moved.append((x + by * (ax + bx), y + by * (ay + by_)))
        return Outline(tuple(moved))


def fitting(thickness: ArrayLike, limit: float) -> NDArray[np.float64]:
    """Thicknesses (...) [m] where they are finite, 0 or more and at most the limit; NaN elsewhere."""
    t = np.asarray(thickness, float)
    return np.where((t >= 0) & (t <= limit + SLACK_M) & np.isfinite(t), t, np.nan)


def points_of(raw: Any) -> tuple[Metres, ...]:
    """The points of a file's outline [m]; InputError names each that is not two finite numbers."""
    if not isinstance(raw, list | tuple):
        raise InputError("expected a list of points [x, y] in metres")
    if len(raw) > MOST_POINTS:
        raise InputError(f"has {len(raw)} points; at most {MOST_POINTS} are read")
    faults = [
        f"point {number}{_value(each)}: {_expected(each)}" for number, each in enumerate(raw, 1) if _expected(each)
    ]
    if faults:
        raise InputError(_together(faults))
    points = tuple((float(x), float(y)) for x, y in raw)
    longest = max((max(axis) - min(axis) for axis in zip(*points, strict=True)), default=0.0)
    if longest > LENGTH.high:
        raise InputError(f"is {longest:g} m long: {LENGTH.words(longest)}")
    return points


@lru_cache(maxsize=64)
def outline_of(points: tuple[Metres, ...]) -> Outline:
    """The outline through these points [m], closed of itself, in either direction of rotation.

    InputError names the points at fault: fewer than four, repeated, on one line, askew, turning back, crossing.
    """
    if len(points) < 4:
        raise InputError(f"has {len(points)} points; a right-angled outline has at least 4 corners")
    exact = [(round(x * MICRO), round(y * MICRO)) for x, y in points]
    for faults in (_repeated, _on_one_line, _askew, _turning_back):
        if messages := faults(exact):
            raise InputError(_together(messages))
    corners = [at for at in range(len(exact)) if not _straight(exact, at)]
    if messages := _crossing(exact, corners):
        raise InputError(_together(messages))
    turned = [exact[at] for at in corners]
    return Outline(tuple(turned if _doubled_area(turned) > 0 else reversed(turned)))


def shown(point: Point) -> str:
    """A point as a file writes it [m]."""
    return f"[{point[0] / MICRO:.10g}, {point[1] / MICRO:.10g}]"


# The faults of an outline, each a list of words


def _expected(raw: Any) -> str | None:
    if not isinstance(raw, list | tuple) or len(raw) != 2:
        return "expected two numbers [x, y] in metres"
    if any(isinstance(each, bool) or not isinstance(each, int | float) for each in raw):
        return "expected two numbers [x, y] in metres, without quotes"
    if any(math.isnan(each) or each in (math.inf, -math.inf) for each in raw if isinstance(each, float)):
        return "expected finite numbers"
    return f"expected metres, at most {LARGEST_M:g} from 0" if any(abs(each) > LARGEST_M for each in raw) else None


def _value(raw: Any) -> str:
    text = repr(list(raw) if isinstance(raw, tuple) else raw)
    return f" = {text}" if len(text) <= 40 else ""


def _together(faults: list[str]) -> str:
    more = len(faults) - SHOWN_FAULTS
    return "; ".join(faults[:SHOWN_FAULTS]) + (f"; and {more} more" if more > 0 else "")


def _repeated(points: list[Point]) -> list[str]:
    first: dict[Point, int] = {}
    faults = []
    for at, point in enumerate(points):
        if first.setdefault(point, at) != at:
            closes = first[point] == 0 and at == len(points) - 1
            hint = " (the outline closes of itself; leave it out)" if closes else ""
            faults.append(f"point {at + 1} {shown(point)} repeats point {first[point] + 1}{hint}")
    return faults


def _on_one_line(points: list[Point]) -> list[str]:
    if all(len({point[axis] for point in points}) > 1 for axis in (0, 1)):
        return []
    return [f"encloses no area: all points from {shown(points[0])} on lie on one line"]


def _askew(points: list[Point]) -> list[str]:
    count, faults = len(points), []
    for at, point in enumerate(points):
        after = points[(at + 1) % count]
        if point[0] != after[0] and point[1] != after[1]:
            faults.append(f"{_named(points, at)} to {_named(points, (at + 1) % count)} is not along x or y")
    return faults and [*faults[:-1], f"{faults[-1]}; every wall must be, a right-angled outline"]


def _turning_back(points: list[Point]) -> list[str]:
    count = len(points)
    return [
        f"turns back on itself at {_named(points, at)}"
        for at in range(count)
        if _way(points[at], points[at - 1]) == _way(points[at], points[(at + 1) % count])
    ]


def _crossing(points: list[Point], corners: list[int]) -> list[str]:
    """Sides that meet other than at their common corner; sides along the axes meet where their boxes do."""
    count, faults = len(corners), []
    ends = [(corners[at], corners[(at + 1) % count]) for at in range(count)]
    boxes = [_box(points[a], points[b]) for a, b in ends]
    for one in range(count):
        for other in range(one + 2, count - (one == 0)):
            low = [max(boxes[one][0][axis], boxes[other][0][axis]) for axis in (0, 1)]
            if all(low[axis] <= min(boxes[one][1][axis], boxes[other][1][axis]) for axis in (0, 1)):
                (a, b), (c, d) = ends[one], ends[other]
                faults.append(
                    f"the wall from point {a + 1} to {b + 1} crosses or touches that from point {c + 1} to {d + 1} "
                    f"at {shown((low[0], low[1]))}"
                )
    return faults


def _named(points: list[Point], at: int) -> str:
    return f"point {at + 1} {shown(points[at])}"


def _straight(points: list[Point], at: int) -> bool:
    return _way(points[at - 1], points[at]) == _way(points[at], points[(at + 1) % len(points)])


# Plane geometry along the axes


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _way(start: Point, end: Point) -> Point:
    return (_sign(end[0] - start[0]), _sign(end[1] - start[1]))


def _box(one: Point, other: Point) -> tuple[Point, Point]:
    low = (min(one[0], other[0]), min(one[1], other[1]))
    return low, (max(one[0], other[0]), max(one[1], other[1]))


def _doubled_area(points: Sequence[Point]) -> int:
    """Twice the area [um2], positive anticlockwise (shoelace)."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))


def _meeting(outline: Outline, into_the_house: bool) -> Meeting | None:
    """The least distance at which growing walls meet: face to face, or corner to corner.

    A growing wall fills all that lies within a square of half-width t round it (its corners are mitred), so two walls
    meet at t = half of their distance, the greater of its parts along x and y. Face to face: parallel sides whose
    runs overlap. Corner to corner: corners of the growing side in opposite quadrants. A pair that does not see each
    other has something nearer between, so all pairs may be compared.
    """
    meetings = [*_face_to_face(outline.sides, into_the_house), *_corner_to_corner(outline, into_the_house)]
    if not meetings:
        return None
    distance, one, other = min(meetings, key=lambda each: each[0])
    if isinstance(one, Side):
        return Meeting(distance, f"{one} and {other}")
    return Meeting(distance, f"the corners {shown(one)} and {shown(other)}")


def _face_to_face(sides: tuple[Side, ...], into_the_house: bool) -> list[tuple[int, Side, Side]]:
    meetings = []
    for axis in (0, 1):  # walls that face along x, along y
        low = [each for each in sides if each.outward[axis] == (-1 if into_the_house else 1)]
        high = [each for each in sides if each.outward[axis] == (1 if into_the_house else -1)]
        across = 1 - axis
        for one in low:
            a, b = sorted((one.start[across], one.end[across]))
            for other in high:
                distance = other.start[axis] - one.start[axis]
                c, d = sorted((other.start[across], other.end[across]))
                if distance > 0 and max(a, c) < min(b, d):
                    meetings.append((distance, one, other))
    return meetings


def _corner_to_corner(outline: Outline, into_the_house: bool) -> list[tuple[int, Point, Point]]:
    growing = []  # corners whose quadrant on the inside of the angle is wall that grows
    for at, point in enumerate(outline.points):
        if outline.turns[at] == (-1 if into_the_house else 1):
            back = _way(point, outline.points[at - 1])
            on = _way(point, outline.points[(at + 1) % len(outline.points)])
            growing.append((point, (back[0] + on[0], back[1] + on[1])))
    meetings = []
    for number, (one, quadrant) in enumerate(growing):
        for other, opposite in growing[number + 1 :]:
            apart = (other[0] - one[0], other[1] - one[1])
            if opposite == (-quadrant[0], -quadrant[1]) and all(apart[k] * quadrant[k] <= 0 for k in (0, 1)):
                meetings.append((max(abs(apart[0]), abs(apart[1])), one, other))
    return meetings
