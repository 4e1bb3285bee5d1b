"""Conduction through a wall of slabs and members: U, what its studs and ties add, its coldest place.

In space the cell is solved as it is drawn. In plan (two dimensions) battens and ties are enclosed instead: the wall cut
into slices of its height between which no heat passes conducts less than it does, the wall whose battens and ties are
averaged with what lies between them conducts more (temperatures alike up the height). Both follow from the minimum
principles that `conduction.py` names, and lie within 1/R' and 1/R'' of ISO 6946 themselves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .blocks import solve, solve_on
from .cell import CellTooLarge, Slab, Wall, area, repeating, slices, unbridged
from .grid import Air, laid
from .results import Solution

CAREFUL = 3.0  # times the distance of two schemes: of walls solved ever finer it was never passed


@dataclass(frozen=True)
class Conduction:
    """Heat through a wall as drawn, between airs at 0 and 1 degree."""

    u_value: float  # W/m2K
    u_error: float  # W/m2K, at most, of the geometry that was solved
    u_unbridged: float  # W/m2K, without any member
    f_rsi: float  # lowest temperature factor of the inside surface
    psi: float | None  # W/mK of a stud against the unbridged wall; of a batten where there are no studs
    chi: float | None  # W/K of a tie against the wall without ties
    chi_error: float | None
    solutions: tuple[Solution, ...]  # the cell (and that of its ties, where added), or plan sections that enclose it
    ties_added: bool  # solved without ties, chi added: ties and battens have no common cell

    @property
    def shares(self) -> dict[str, float]:
        """Part of the heat flow through every material, by layer (see `Solution.shares`); ties not where added."""
        return self.solutions[0].shares(len(self.solutions[0].grid.shape) - 2)

    @property
    def balance(self) -> float:
        return max(each.balance for each in self.solutions)

    @property
    def f_rsi_error(self) -> float:
        """How far the lowest temperature factor may be off."""
        return max(coldest_error(each) for each in self.solutions)

    def at_inside(self, r_si: float) -> tuple[float, float]:
        """The lowest temperature factor with another inside surface resistance [m2K/W], as for mould, and its error."""
        solutions = [_with_inside(each, r_si) for each in self.solutions]
        return min(map(coldest, solutions)), max(map(coldest_error, solutions))


def coldest(solution: Solution) -> float:
    """Lowest temperature factor of the inside surface: (theta_si - theta_e) / (theta_i - theta_e)."""
    return float(solution.face_temperatures(len(solution.grid.shape) - 2, 1).min())


def coldest_error(solution: Solution) -> float:
    """How far that factor may be off: CAREFUL times the distance of the two schemes' lowest surface temperatures.

    An estimate, not a bound: the schemes lie on either side of the heat flow, not of every temperature.
    """
    axis = len(solution.grid.shape) - 2
    inside = solution.grid.domain.airs[1]
    flow = np.abs(solution.high_flow[axis].take(-1, axis)) / solution.grid.area(axis).take(0, axis)
    by_cells = float((inside.temperature - flow * inside.resistance).min())
    return CAREFUL * abs(coldest(solution) - by_cells)


def _with_inside(solution: Solution, r_si: float) -> Solution:
    domain = solution.grid.domain
    outside, inside = domain.airs
    return solve_on(replace(solution.grid, domain=replace(domain, airs=(outside, Air(inside.temperature, r_si)))))


def in_space(wall: Wall, r_si: float, r_se: float, tolerance: float | None = None) -> Conduction:
    """The wall as it is drawn, in as many dimensions as its members need.

    tolerance: relative, of U; 0.1 % in two dimensions and 0.5 % in three where it is None. Where ties and battens stand
    at heights that have no common cell, the wall is solved without ties and their point transmittance added.
    CellTooLarge where members have no common cell otherwise.
    """
    added = False
    try:
        main = solve(repeating(wall, r_si, r_se), tolerance)
    except CellTooLarge:
        if not (_has_ties(wall) and _has_battens(wall)):
            raise
        added = True
        main = solve(repeating(tuple(_tieless(slab) for slab in wall), r_si, r_se), tolerance)
    u_value, u_error, solutions = _u(main), _u(main) * main.error, (main,)
    chi = chi_error = None
    if _has_ties(wall):
        tied = main
        if _has_battens(wall):
            tied = solve(repeating(tuple(_without_battens(slab) for slab in wall), r_si, r_se), tolerance)
        chi, chi_error = _chi(wall, tied, r_si, r_se)
        if added:
            per_area = 1.0 / _tie_area(wall)
            u_value, u_error = u_value + chi * per_area, u_error + chi_error * per_area
            solutions = (main, tied)
    return Conduction(
        u_value=u_value,
        u_error=u_error,
        u_unbridged=unbridged(wall, r_si, r_se),
        f_rsi=min(coldest(each) for each in solutions),
        psi=psi_of(wall, r_si, r_se, tolerance),
        chi=chi,
        chi_error=chi_error,
        solutions=solutions,
        ties_added=added,
    )


def in_plan(wall: Wall, r_si: float, r_se: float, tolerance: float | None = None) -> Conduction:
    """The wall by plane sections alone: exact without ties and crossing battens, else enclosed (see above).

    u_error is half of the enclosure. f_rsi is that of the coldest slice, as if it went on up the whole height; chi is
    not known.
    """
    cuts = [(share, solve(repeating(each, r_si, r_se), tolerance)) for share, each in slices(wall)]
    if len(cuts) == 1:
        low, high = cuts[0][1].heat_low / _area(cuts[0][1]), cuts[0][1].heat_high / _area(cuts[0][1])
    else:
        smeared = solve(repeating(tuple(slab.smeared() for slab in wall), r_si, r_se), tolerance)
        low = sum(share * each.heat_low / _area(each) for share, each in cuts)
        high = smeared.heat_high / _area(smeared)
    return Conduction(
        u_value=(low + high) / 2,
        u_error=(high - low) / 2,
        u_unbridged=unbridged(wall, r_si, r_se),
        f_rsi=min(coldest(each) for _, each in cuts),
        psi=psi_of(wall, r_si, r_se, tolerance),
        chi=None,
        chi_error=None,
        solutions=tuple(each for _, each in sorted(cuts, key=lambda cut: -cut[0])),
        ties_added=False,
    )


def psi_of(wall: Wall, r_si: float, r_se: float, tolerance: float | None = None) -> float | None:
    """Linear transmittance of a stud [W/mK]: the wall with nothing but its studs, less the unbridged wall.

    Studs of one line count as one, those of lines at other distances are shared out over the first line's. Of battens
    where there are no studs; None where there are neither.
    """
    direction = "along" if any(_is(slab, "along") for slab in wall) else "up"
    lines = [getattr(slab.crossing, direction) for slab in wall if _is(slab, direction)]
    if not lines:
        return None
    alone = tuple(slab if _is(slab, direction) else slab.bare() for slab in wall)
    return (_u(solve(repeating(alone, r_si, r_se), tolerance)) - unbridged(wall, r_si, r_se)) * lines[0].spacing


def psi_words(wall: Wall) -> str | None:
    """What the linear transmittance of a stud takes together; None where there is none."""
    direction = "along" if any(_is(slab, "along") for slab in wall) else "up"
    spacings = [getattr(slab.crossing, direction).spacing for slab in wall if _is(slab, direction)]
    if not spacings:
        return None
    member = "stud" if direction == "along" else "batten"
    first, others = spacings[0], sorted({each for each in spacings if abs(each - spacings[0]) > 1e-9})
    if not others:
        return f"a {member} of every frame on its line" if len(spacings) > 1 else f"a {member}"
    listed = ", ".join(f"{1000 * each:g}" for each in others)
    return f"a {member} of the outermost frame at {1000 * first:g} mm, with its share of others at {listed} mm"


def tie_of(wall: Wall, r_si: float, r_se: float, tolerance: float | None = None) -> tuple[float, float]:
    """Point transmittance of a tie [W/K] and its error: walls alike but for their battens' places share it."""
    alone = tuple(_without_battens(slab) for slab in wall)
    return _chi(wall, solve(repeating(alone, r_si, r_se), tolerance), r_si, r_se)


def _chi(wall: Wall, tied: Solution, r_si: float, r_se: float) -> tuple[float, float]:
    """Against the same wall whose ties are of fill, on the same lines, so that the grid's own error cancels."""
    bare = repeating(tuple(_fill_tied(_without_battens(slab)).smeared() for slab in wall), r_si, r_se)
    untied = solve_on(laid(bare, tied.grid.lines[1:]))
    size = _tie_area(wall)
    error = abs(_u(tied) * tied.error - _u(untied) * untied.error) * size
    return (_u(tied) - _u(untied)) * size, error


def _is(slab: Slab, direction: str) -> bool:
    """Whether members run in this direction alone."""
    crossing = slab.crossing
    return crossing is not None and [crossing.along is not None, crossing.up is not None] == [
        direction == "along",
        direction == "up",
    ]


def _is_tied(slab: Slab) -> bool:
    return slab.crossing is not None and slab.crossing.along is not None and slab.crossing.up is not None


def _has_ties(wall: Wall) -> bool:
    return any(_is_tied(slab) for slab in wall)


def _has_battens(wall: Wall) -> bool:
    return any(_is(slab, "up") for slab in wall)


def _tieless(slab: Slab) -> Slab:
    return slab.bare() if _is_tied(slab) else slab


def _without_battens(slab: Slab) -> Slab:
    """Battens averaged with what lies between them."""
    return slab.smeared() if _is(slab, "up") else slab


def _fill_tied(slab: Slab) -> Slab:
    """Ties of fill: the same lines, no ties."""
    return replace(slab, crossing=replace(slab.crossing, conductivity=slab.conductivity)) if _is_tied(slab) else slab


def _tie_area(wall: Wall) -> float:
    """Area of the wall that one tie serves [m2]."""
    tie = next(slab.crossing for slab in wall if _is_tied(slab))
    return tie.along.spacing * tie.up.spacing


def _area(solution: Solution) -> float:
    return area(solution.grid.domain)


def _u(solution: Solution) -> float:
    return solution.conductance / _area(solution)
