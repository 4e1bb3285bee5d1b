"""The temperatures inside a wall over the plane that is drawn: one bay of it, and where its isotherms lie."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimiser.batch import Array
from optimiser.conduction.figures import NumericFigures
from optimiser.conduction.grid import Block
from optimiser.conduction.results import Solution
from optimiser.conduction.wall_cell import name_of
from optimiser.handover.drawing.plan import Plan, PlanLayer, geometry, plan
from optimiser.template import VENTILATED_SPACE
from optimiser.wall.buildup import BuildUp

WIDEST_BY_TWO = 24.0  # K between the airs up to which an isotherm is drawn every 2 K
SAME = 1e-6  # m


@dataclass(frozen=True)
class Field:
    """Temperatures over one plane of a wall."""

    through: Array  # (m,) mm from the outer face of the wall, of the layers that conduct
    along: Array  # (n,) mm along the wall
    temperature: Array  # (m, n) degrees C
    outside: float  # degrees C of the air
    inside: float
    where: str  # which plane it is, in words
    ties: bool  # whether ties are part of it

    @property
    def coldest(self) -> tuple[float, float]:
        """The coldest place of the inside surface: mm along the wall, degrees C."""
        at = int(np.argmin(self.temperature[-1]))
        return float(self.along[at]), float(self.temperature[-1, at])

    @property
    def ends(self) -> tuple[float, float]:
        """The airs' temperatures, colder first."""
        return min(self.outside, self.inside), max(self.outside, self.inside)

    def share(self, temperature: float) -> float:
        """Where a temperature lies between the airs', 0 to 1."""
        low, high = self.ends
        return (temperature - low) / (high - low) if high > low else 0.5


def bay(wall: BuildUp) -> Plan:
    """One bay of the plan section with a line of studs in its middle; a stretch of a wall that has none."""
    drawn = plan(wall, bays=2)
    frames = [place.layer.frame for place in drawn.layers if _upright(place)]
    if not frames:
        return replace(drawn, windows=drawn.windows[:1])
    spacing = max(geometry(frame)[1] for frame in frames)
    _, first_spacing, offset = geometry(frames[0])
    centre = offset + first_spacing * math.ceil((spacing / 2 - offset) / first_spacing)
    return replace(drawn, windows=[(centre - spacing / 2, centre + spacing / 2)])


def _upright(place: PlanLayer) -> bool:
    frame = place.layer.frame
    return frame is not None and frame.axis == "vertical" and place.layer.role != VENTILATED_SPACE


def field_of(wall: BuildUp, solved: NumericFigures) -> Field:
    """The temperatures of a wall over the bay that is drawn, in its coldest month."""
    solution = solved.heat.conduction.solutions[0]
    drawn = bay(wall)
    (low, high), axes = drawn.windows[0], len(solution.grid.shape)
    flat = axes == 2 and not any(_upright(place) or place.layer.tie for place in drawn.layers)
    height, where, ties = plane_of(solution, solved.heat.conduction.ties_added, flat)
    if flat:
        column = _at(solution.temperature, solution.grid.lines[1], 1, height)
        along, values = np.array([low, high]), np.stack([column, column], axis=1)
    else:
        metres, values = solution.unfolded(axes - 1, low / 1000, (high - low) / 1000)
        along = metres * 1000
        if axes == 3:
            values = _at(values, solution.grid.lines[0], 0, height)
    outside, inside = solved.coldest.outside_c, solved.coldest.inside_c
    return Field(
        through=_in_the_wall(wall, drawn, solution),
        along=along,
        temperature=outside + values * (inside - outside),
        outside=outside,
        inside=inside,
        where=where,
        ties=ties,
    )


def plane_of(solution: Solution, ties_added: bool = False, flat: bool = False) -> tuple[float, str, bool]:
    """The height of the plane that is shown [m], in words, and whether it goes through a tie."""
    axes, domain = len(solution.grid.shape), solution.grid.domain
    up = 0 if axes == 3 else 1
    if axes == 2 and not flat:
        return 0.0, "the same at every height", False
    ties = [box for box in domain.boxes if box.name.endswith(": tie")]
    battens = [box for box in domain.boxes if box.name.endswith(": frame") and _ends(box, up, domain.size[up])]
    if ties and axes == 3:
        at = _middle(ties[0].low[up], ties[0].high[up], domain.size[up], up in domain.periodic)
        crossed = any(box.low[up] - SAME <= at <= box.high[up] + SAME for box in battens)
        beside = ", and a batten" if crossed else ", between the battens" if battens else ""
        return at, f"cut through the middle of a tie{beside}", True
    if not battens:
        return 0.0, "the same at every height", False
    low, high = max(_free(battens, up, domain.size[up]), key=lambda each: each[1] - each[0])
    at = _middle(low, high, domain.size[up], up in domain.periodic)
    left_out = "; the ties are not in it" if ties_added else ""
    return at, f"cut midway between the battens{left_out}", False


def _ends(box: Block, axis: int, size: float) -> bool:
    """Whether a block ends on the way along an axis."""
    return box.low[axis] > SAME or box.high[axis] < size - SAME


def _middle(low: float, high: float, size: float, repeats: bool) -> float:
    """The middle of a stretch; where the cell mirrors itself, that of the whole of which the cell holds a half."""
    if not repeats and low <= SAME:
        return 0.0
    if not repeats and high >= size - SAME:
        return size
    return (low + high) / 2


def _free(battens: Sequence[Block], axis: int, size: float) -> Iterator[tuple[float, float]]:
    """The stretches between battens."""
    at = 0.0
    for low, high in sorted((box.low[axis], box.high[axis]) for box in battens):
        if low > at:
            yield at, low
        at = max(at, high)
    if at < size:
        yield at, size


def _at(values: Array, lines: Array, axis: int, position: float) -> Array:
    """Values at a position between the grid lines of an axis."""
    upper = int(np.clip(np.searchsorted(lines, position), 1, len(lines) - 1))
    share = (position - lines[upper - 1]) / (lines[upper] - lines[upper - 1])
    return (1 - share) * values.take(upper - 1, axis) + share * values.take(upper, axis)


def _in_the_wall(wall: BuildUp, drawn: Plan, solution: Solution) -> Array:
    """Grid lines through the wall as they are drawn [mm]: what resists without a thickness has none there."""
    axis = len(solution.grid.shape) - 2
    slabs = {box.name: (box.low[axis], box.high[axis]) for box in solution.grid.domain.boxes}
    cell, shown = [], []
    for number, place in enumerate(drawn.layers):
        if (slab := slabs.get(name_of(wall, number))) is not None:
            cell += slab if not cell else slab[1:]
            shown += [place.x0, place.x1] if len(shown) < 1 else [place.x1]
    return np.interp(solution.grid.lines[axis], cell, shown)


# -- isotherms and bands -----------------------------------------------------------------------------------------


def isotherms(field: Field) -> list[float]:
    """The temperatures whose lines are drawn: every 2 K, or every 5 K where the airs lie far apart."""
    low, high = field.ends
    step = 2.0 if high - low <= WIDEST_BY_TWO else 5.0
    inner = np.nanmin(field.temperature), np.nanmax(field.temperature)
    levels = np.arange(step * math.ceil(low / step), high, step)
    return [float(each) for each in levels if inner[0] < each < inner[1]]


def bands(field: Field) -> list[float]:
    """Where the bands of colour begin: a quarter of the way between isotherms, from the coldest on."""
    low, high = float(np.nanmin(field.temperature)), float(np.nanmax(field.temperature))
    step = 0.5 if field.ends[1] - field.ends[0] <= WIDEST_BY_TWO else 1.0
    return [low, *(float(each) for each in np.arange(step * math.floor(low / step + 1), high, step))]


def reached(field: Field, temperature: float) -> Array:
    """(n,) how far into the wall [mm] a temperature is reached, at every place along it; warmer lies further in."""
    warmer = np.maximum.accumulate(field.temperature if field.inside >= field.outside else -field.temperature, axis=0)
    level = temperature if field.inside >= field.outside else -temperature
    depths = np.empty(warmer.shape[1])
    for column in range(warmer.shape[1]):
        values = warmer[:, column]
        at = int(np.searchsorted(values, level))
        if at == 0 or at == len(values):
            depths[column] = field.through[0] if at == 0 else field.through[-1]
            continue
        share = (level - values[at - 1]) / (values[at] - values[at - 1])
        depths[column] = field.through[at - 1] + share * (field.through[at] - field.through[at - 1])
    return depths
