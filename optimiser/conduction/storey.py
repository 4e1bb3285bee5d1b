"""Timber besides the studs of a frame: plates and noggings in a storey-high cell, and between limits what has no place.

A build-up counts such timber by its share of the area, `extra_fraction`. Where its [framing] says how high a storey is
and how many plates and rows of noggings it has, these are drawn: the sole plate at the foot, the others at the head,
noggings at even distances, all along the wall, in a cell as high as the storey that no heat leaves above or below. What
is left of the share (members round openings, corner studs) stands nowhere. It adds no less than it does as heat flow
beside the cell (e times the difference of two plane walls: no heat passes between them), and no more than spread evenly
through what fills its layers, as the lower limit of ISO 6946 has it.

Studs that end at the plates take less area than the share counts, by stud share times plate share; that part goes into
the upper limit alone. Ties and crossing battens are averaged over their height here: what plates change in them is of
second order.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ..batch import WallBatch
from ..wall.buildup import BuildUp, Layer
from ..wall.storey_framing import StoreyFraming
from .blocks import solve
from .cell import Slab, Wall, area, repeating, unnamed
from .grid import Block, Domain, Face
from .results import Solution

TOLERANCES = (5e-4, 0.005)  # relative, of U of the storey-high cell: the finest and the coarsest that is solved for
PLANE = 0.01  # relative: where no more is asked for, plates too are enclosed like timber without a place
SAME = 1e-12  # shares below which there is no timber


@dataclass(frozen=True)
class Stretch:
    """Heights of a storey [m] between which a frame is timber all along the wall."""

    low: float
    high: float


@dataclass(frozen=True)
class ExtraTimber:
    """Timber of one frame besides its studs, as shares of the area: where it stands, and what stands nowhere."""

    stretches: tuple[Stretch, ...]
    placed: float  # share that the stretches are counted with
    unplaced: float  # share that has no place

    @property
    def share(self) -> float:
        return self.placed + self.unplaced


NOTHING = ExtraTimber((), 0.0, 0.0)


@dataclass(frozen=True)
class Added:
    """What such timber adds to U, between limits [W/m2K]; error: what a finer grid could take off either."""

    low: float = 0.0
    high: float = 0.0
    error: float = 0.0
    placed: bool = True  # every timber has a place

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def half(self) -> float:
        return (self.high - self.low) / 2


def extra_timber(layer: Layer, framing: StoreyFraming | None) -> ExtraTimber:
    """What stands in a frame besides its studs; nothing in one without extra_fraction."""
    frame = layer.frame
    share = 0.0 if frame is None or frame.fraction is not None else frame.extra_fraction
    if share <= SAME:
        return NOTHING
    if framing is None or frame.axis != "vertical":
        return ExtraTimber((), 0.0, share)
    placed = framing.share(frame.width_mm, frame.spacing_mm)
    scale = min(1.0, share / placed) if placed > 0 else 0.0  # a wall changed to have less timber has thinner plates
    return ExtraTimber(_stretches(framing, frame.width_mm * scale), placed * scale, share - placed * scale)


def _stretches(framing: StoreyFraming, width_mm: float) -> tuple[Stretch, ...]:
    """Plates at foot and head, noggings at even distances between them."""
    height, width = framing.height_mm / 1000, width_mm / 1000
    foot = width * min(framing.plates, 1)
    head = width * max(framing.plates - 1, 0)
    clear = height - foot - head
    middles = [foot + clear * (row + 1) / (framing.nogging_rows + 1) for row in range(framing.nogging_rows)]
    ends = [Stretch(0.0, foot), Stretch(height - head, height)]
    return tuple(
        each for each in (*ends, *(Stretch(at - width / 2, at + width / 2) for at in middles)) if each.high > each.low
    )


def added_timber(
    wall: BuildUp, batch: WallBatch, slabs: Wall, names: dict[str, int], tolerance: float | None = None
) -> Added:
    """What plates, noggings and timber without a place add to U.

    slabs: the layers that conduct, as `wall_cell.slabs_of` gives them; names: name of a crossing -> position of its
    layer in the wall. tolerance: relative, of U.
    """
    extras = {name: extra_timber(wall.layers[at], wall.framing) for name, at in names.items()}
    if all(each.share <= SAME for each in extras.values()):
        return Added()
    base = tuple(_averaged(slab) for slab in slabs)
    by_slab = tuple(extras.get(slab.crossing.name, NOTHING) if slab.crossing else NOTHING for slab in base)
    if tolerance is not None and tolerance >= PLANE:
        return _enclosed_in_plane(unnamed(base), by_slab, float(batch.r_si[0]), float(batch.r_se[0]), tolerance)
    height = 0.0 if wall.framing is None else wall.framing.height_mm / 1000
    finest, coarsest = TOLERANCES
    wanted = coarsest if tolerance is None else min(max(2 * tolerance, finest), coarsest)
    return _added(unnamed(base), by_slab, height, float(batch.r_si[0]), float(batch.r_se[0]), wanted)


@lru_cache(maxsize=512)  # walls that differ in who sells their layers share their section
def _added(
    base: Wall, extras: tuple[ExtraTimber, ...], height: float, r_si: float, r_se: float, tolerance: float
) -> Added:
    """The same for slabs without ties and crossing battens, with the timber of each."""
    clear = _between(solve(repeating(base, r_si, r_se), tolerance / 4))
    drawn = clear
    if any(each.stretches for each in extras):
        drawn = _between(solve(_storey(base, extras, height, r_si, r_se), tolerance))
    low = drawn.low - clear.high + _beside(base, extras, r_si, r_se, tolerance / 4)
    averaged = tuple(_spread(slab, extra) for slab, extra in zip(base, extras, strict=True))
    if any(each.stretches for each in extras):
        full = _between(solve(_storey(averaged, extras, height, r_si, r_se), tolerance))
    else:
        full = _between(solve(repeating(averaged, r_si, r_se), tolerance / 4))
    return Added(
        low=low,
        high=max(full.high - clear.low, low),
        error=full.high - full.low + clear.high - clear.low,
        placed=all(each.unplaced <= SAME for each in extras),
    )


@lru_cache(maxsize=4096)
def _enclosed_in_plane(
    base: Wall, extras: tuple[ExtraTimber, ...], r_si: float, r_se: float, tolerance: float
) -> Added:
    """All of the timber between its limits, by plane sections alone: quick, and never narrower than with its places."""
    loose = tuple(ExtraTimber((), 0.0, each.share) for each in extras)
    added = _added(base, loose, 0.0, r_si, r_se, tolerance)
    low = _added(
        base, tuple(replace(each, stretches=(), placed=0.0) for each in extras), 0.0, r_si, r_se, tolerance
    ).low
    return replace(added, low=low, error=added.high - low + added.error, placed=all(e.unplaced <= SAME for e in extras))


@dataclass(frozen=True)
class _Between:
    """U of a solved cell between its two schemes [W/m2K]."""

    low: float
    high: float


def _between(solution: Solution) -> _Between:
    face = area(solution.grid.domain)
    ends = sorted((solution.heat_low / face, solution.heat_high / face))
    return _Between(*ends)


def _averaged(slab: Slab) -> Slab:
    """Ties left to fill, crossing battens averaged with what lies between them."""
    crossing = slab.crossing
    if crossing is None or crossing.up is None:
        return slab
    return slab.bare() if crossing.along is not None else slab.smeared()


def _spread(slab: Slab, extra: ExtraTimber) -> Slab:
    """Timber without a place averaged with what fills its layer; so is what studs and plates count twice."""
    if extra.share <= SAME:
        return slab
    studs = slab.crossing.along.share
    loose = extra.unplaced + extra.placed * studs
    clear = max((1.0 - studs) * (1.0 - extra.placed), loose)
    mixed = slab.conductivity + loose / clear * (slab.crossing.conductivity - slab.conductivity)
    return replace(slab, conductivity=mixed)


def _storey(base: Wall, extras: tuple[ExtraTimber, ...], height: float, r_si: float, r_se: float) -> Domain:
    """The cell of a wall drawn as high as a storey [m], with plates and noggings in it."""
    plan = repeating(base, r_si, r_se)
    blocks = [Block(each.name, (0.0, *each.low), (height, *each.high), each.conductivity) for each in plan.boxes]
    depth = 0.0
    for slab, extra in zip(base, extras, strict=True):
        for each in extra.stretches:
            low, high = (each.low, depth, 0.0), (each.high, depth + slab.thickness, plan.size[-1])
            blocks.append(Block(slab.crossing.name, low, high, slab.crossing.conductivity))
        depth += slab.thickness
    return Domain(
        size=(height, *plan.size),
        boxes=tuple(blocks),
        airs=plan.airs,
        faces=tuple(Face(face.axis + 1, face.end, face.air) for face in plan.faces),
        periodic=tuple(axis + 1 for axis in plan.periodic),
    )


def _beside(base: Wall, extras: tuple[ExtraTimber, ...], r_si: float, r_se: float, tolerance: float) -> float:
    """The least that timber without a place adds: heat flow beside the cell, sum of e (U_timber - U_clear)."""
    steps = sorted({each.unplaced for each in extras if each.unplaced > SAME})
    if not steps:
        return 0.0

    def u_of(timber: float) -> float:
        """U of the plane wall whose frames with that much timber or more are solid, the others clear."""
        slabs = tuple(_solid_or_bare(slab, extra, timber) for slab, extra in zip(base, extras, strict=True))
        return _between(solve(repeating(slabs, r_si, r_se), tolerance)).low

    clear = u_of(np.inf)
    return sum((step - below) * (u_of(step) - clear) for below, step in zip([0.0, *steps[:-1]], steps, strict=True))


def _solid_or_bare(slab: Slab, extra: ExtraTimber, timber: float) -> Slab:
    if extra.share <= SAME:
        return slab
    return slab.solid() if extra.unplaced >= timber else slab.bare()
