"""The walls of a house on plan as straight runs: how long a layer is as built, and where members stand along it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from ...house.house import ON_PLAN, ORIENTATIONS, House
from ...house.outline import MICRO

EPSILON = 1e-6  # m; lengths are kept to the micrometre


@dataclass(frozen=True)
class Run:
    """One straight wall, all storeys: number from 1 anticlockwise round the plan, the side it faces, length [m]."""

    number: int
    orientation: str
    length: float


def heights(house: House) -> tuple[float, ...]:
    """The storeys' heights [m], lowest first."""
    return house.storey_heights_m or (house.storey_height_m,) * house.storeys


def runs(house: House, thickness: float, outer: float, depth: float) -> tuple[Run, ...]:
    """The runs of a layer as built [m]: exact, P - 4 d in all round, d the layer's depth.

    thickness: of the whole wall; outer: from its outer face to that of the layer; depth: of the layer. The outline is
    moved to the layer's outer face. A corner belongs to the run that starts there: a run ends against the next one, so
    it is shorter by d at a convex corner and longer by d at a re-entrant one. InputError where such walls meet.
    """
    house.check_thickness(thickness)
    face = house.plan.moved(-outer if house.fixed == "outside" else thickness - outer)
    layer_runs = []
    for number, side in enumerate(face.sides, 1):
        length = side.length / MICRO - side.turns[1] * depth
        layer_runs.append(Run(number, facing(house, side.outward), max(length, 0.0)))
    return tuple(layer_runs)


def facing(house: House, outward: tuple[int, int]) -> str:
    """The side of the compass that a wall with this outward direction on plan faces."""
    return ORIENTATIONS[int(((ON_PLAN[outward] - house.north_deg) % 360.0) / 45 + 0.5) % 8]


def openings(house: House, of: tuple[Run, ...]) -> dict[int, float]:
    """Openings [m2] by run: those of a side spread over the runs that face it by length; all alike where none is named.

    Only the area of openings is known, not where they are.
    """
    given, total = house.openings_m2, math.fsum(each.length for each in of)
    if not isinstance(given, dict):
        return {each.number: given * each.length / total for each in of}
    by_side: dict[str, float] = {}
    for each in of:
        by_side[each.orientation] = by_side.get(each.orientation, 0.0) + each.length
    return {each.number: given.get(each.orientation, 0.0) * each.length / by_side[each.orientation] for each in of}


def members_along(length: float, spacing: float, width: float) -> tuple[float, ...]:
    """The near faces [m] of members of a width along a run: floor(length / spacing) + 1 from its start, by the spacing.

    One more closes the run where more than a member's width is left behind the last; else the last moves to the end.
    () where not one fits. Common practice.
    """
    if length < width - EPSILON:
        return ()
    last = length - width
    faces = [min(step * spacing, last) for step in range(math.floor(length / spacing + EPSILON) + 1)]
    if last - faces[-1] > width + EPSILON:
        faces.append(last)
    elif len(faces) > 1:
        faces[-1] = last
    return tuple(faces)


def bays(length: float, spacing: float, width: float, posts: int = 0) -> tuple[float, ...]:
    """Clear widths [m] between the members of a run, from its start; `posts` more members stand in the last bay."""
    faces = members_along(length, spacing, width)
    clear = [after - before - width for before, after in pairwise(faces)]
    if clear:
        clear[-1] -= posts * width
    return tuple(each for each in clear if each > EPSILON)


def by_storey(of: tuple[Run, ...], house: House) -> Iterator[tuple[int, float, Run]]:
    """(storey from 1, its height [m], run), lowest storey first."""
    for storey, height in enumerate(heights(house), 1):
        for each in of:
            yield storey, height, each
