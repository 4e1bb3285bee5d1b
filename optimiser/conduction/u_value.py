"""U of a wall by conduction and nothing else: the figure and error of `wall_cell.numeric_heat`, in less time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ..batch import WallBatch
from ..wall import scores
from ..wall.assemble import batch_of, parts_of
from ..wall.buildup import BuildUp
from .blocks import solve
from .cell import CellTooLarge, Slab, Wall, area, repeating, unnamed
from .storey import added_timber
from .wall import tie_of
from .wall_cell import cell_of, crossings, numeric_heat


@dataclass(frozen=True)
class EnclosedU:
    """U between limits [W/m2K], corrections included. by_grid: how much of `high` a finer grid could take off."""

    u_value: float
    error: float
    by_grid: float

    @property
    def high(self) -> float:
        return self.u_value + self.error

    @property
    def least_high(self) -> float:
        """No finer grid brings the upper limit below this."""
        return self.high - self.by_grid


def numeric_u(wall: BuildUp, tolerance: float | None = None) -> tuple[float, float]:
    """U with corrections and its error at most [W/m2K]; arguments and errors as of `enclosed_u`."""
    enclosed = enclosed_u(wall, tolerance)
    return enclosed.u_value, enclosed.error


def enclosed_u(wall: BuildUp, tolerance: float | None = None) -> EnclosedU:
    """U with corrections, between limits.

    tolerance: relative, of U; 0.1 % in two dimensions and 0.5 % in three where it is None. InputError as from
    `numeric_heat`: frames by fraction, members without a common cell, nothing that resists.
    """
    batch = batch_of(wall, parts_of(wall))
    if batch.slight is not None:
        return _whole(wall, batch, tolerance)
    slabs, r_si, r_se = cell_of(wall)
    if not slabs:
        return _whole(wall, batch, tolerance)  # which says what is wrong
    cell = _of_cell(unnamed(slabs), r_si, r_se, tolerance)
    if cell is None:
        return _whole(wall, batch, tolerance)
    u_value, error = cell
    added = added_timber(wall, batch, slabs, crossings(wall, batch), tolerance)
    correction = float(scores.correction(wall.corrections, batch, wall.index_of)[0])
    return EnclosedU(u_value + added.middle + correction, error + added.half, 2 * error + added.error)


def _whole(wall: BuildUp, batch: WallBatch, tolerance: float | None) -> EnclosedU:
    heat = numeric_heat(wall, batch, tolerance)
    return EnclosedU(heat.u_value, heat.u_error, 2 * heat.u_error)


@lru_cache(maxsize=512)
def _of_cell(slabs: Wall, r_si: float, r_se: float, tolerance: float | None) -> tuple[float, float] | None:
    """U of the repeating cell and its error [W/m2K]; None where its members have no cell in common."""
    try:
        return _u_of(repeating(slabs, r_si, r_se), tolerance)
    except CellTooLarge:
        tied = next((slab for slab in slabs if _runs(slab) == (True, True)), None)
        if tied is None or all(_runs(slab) != (False, True) for slab in slabs):
            return None
        return _tied_apart(slabs, tied, r_si, r_se, tolerance)


def _tied_apart(slabs: Wall, tied: Slab, r_si: float, r_se: float, tolerance: float | None) -> tuple[float, float]:
    """Ties and battens without a common cell: the wall without its ties, and their point transmittance."""
    tieless = tuple(slab.bare() if _runs(slab) == (True, True) else slab for slab in slabs)
    u_value, error = _u_of(repeating(tieless, r_si, r_se), tolerance)
    chi, chi_error = tie_of(slabs, r_si, r_se, tolerance)
    per_tie = tied.crossing.along.spacing * tied.crossing.up.spacing
    return u_value + chi / per_tie, error + chi_error / per_tie


def _u_of(domain, tolerance: float | None) -> tuple[float, float]:
    solution = solve(domain, tolerance)
    u_value = solution.conductance / area(domain)
    return u_value, u_value * solution.error


def _runs(slab: Slab) -> tuple[bool, bool]:
    """Whether a slab's members stand in rows along the wall, and up the wall."""
    crossing = slab.crossing
    return (False, False) if crossing is None else (crossing.along is not None, crossing.up is not None)
