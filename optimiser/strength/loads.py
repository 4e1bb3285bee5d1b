"""Loads on a wall's studs and their combinations: EN 1990.

Characteristic loads per metre of wall in, design loads per stud out, one column per combination.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations as groups

import numpy as np
from numpy.typing import ArrayLike

from ..batch import Array
from .national_parameters import DURATIONS, RECOMMENDED, Settings

VARIABLE = ("imposed", "snow", "wind")


@dataclass(frozen=True)
class WallLoads:
    """Characteristic loads at the foot of the studs of n walls, each a number or (n,).

    Permanent (with the wall's own weight), imposed and snow act downwards in the studs' axis [N per m of wall]; wind
    is the magnitude of the net pressure or suction across the wall [Pa]; wind on the roof is not among them.
    """

    permanent: ArrayLike = 0.0
    imposed: ArrayLike = 0.0
    snow: ArrayLike = 0.0
    wind: ArrayLike = 0.0

    def __post_init__(self) -> None:
        for name in ("permanent", *VARIABLE):
            value = np.asarray(getattr(self, name), float)
            if not (value >= 0).all() or np.isinf(value).any():
                raise ValueError(f"{name} load must be finite and not negative: give its magnitude")


@dataclass(frozen=True)
class Combination:
    """Actions that act together, with the factor of each (partial factor times psi0 where it accompanies)."""

    name: str
    permanent: float
    imposed: float
    snow: float
    wind: float
    duration: str  # load-duration class of the shortest action, which governs k_mod

    @property
    def actions(self) -> tuple[str, ...]:
        """The variable actions that take part."""
        return tuple(each for each in VARIABLE if getattr(self, each))


@dataclass(frozen=True)
class StudLoads:
    """Design loads on one stud of n walls in c combinations."""

    axial: Array  # (n, c) N, compression
    wind: Array  # (n, c) N/m along the stud
    wind_characteristic: Array  # (n,) N/m, for the serviceability limit state
    present: Array  # (n, c) bool: every variable action of the combination really acts on this wall


def combinations(settings: Settings = RECOMMENDED) -> tuple[Combination, ...]:
    """All combinations for the ultimate limit state: gamma_G G + gamma_Q Q_lead + sum of gamma_Q psi0 Q_other.

    Every group of variable actions with every leading one, and the permanent load alone: a lighter group may govern,
    because k_mod falls with the duration of its shortest action. The permanent load is never favourable to these
    checks, which all grow with compression; uplift is not among them. Source: EN 1990, expression (6.10).
    """
    load_combinations = [Combination("permanent alone", settings.gamma_g, 0.0, 0.0, 0.0, "permanent")]
    for size in range(1, len(VARIABLE) + 1):
        for group in groups(VARIABLE, size):
            for lead in group:
                others = [each for each in group if each != lead]
                if all(_psi0(settings, each) for each in others):  # with psi0 = 0 it would not act at all
                    load_combinations.append(_combination(settings, lead, others))
    return tuple(load_combinations)


def _combination(settings: Settings, lead: str, others: list[str]) -> Combination:
    words = ["permanent", lead, *(f"{_psi0(settings, each):g} {each}" for each in others)]
    factors = {each: 0.0 for each in VARIABLE} | {lead: settings.gamma_q}
    factors |= {each: settings.gamma_q * _psi0(settings, each) for each in others}
    durations = [getattr(settings, f"duration_{each}") for each in (lead, *others)]
    return Combination(" + ".join(words), settings.gamma_g, **factors, duration=max(durations, key=DURATIONS.index))


def _psi0(settings: Settings, action: str) -> float:
    return getattr(settings, f"psi0_{action}")


def stud_loads(loads: WallLoads, spacing: ArrayLike, load_combinations: tuple[Combination, ...]) -> StudLoads:
    """Design loads per stud: line loads and wind pressure times the spacing, by combination.

    spacing: of the studs (n,) [m]; load_combinations: c of them.
    """
    given = [np.asarray(getattr(loads, name), float) for name in ("permanent", *VARIABLE)]
    step, *columns = np.broadcast_arrays(np.atleast_1d(np.asarray(spacing, float)), *given)
    permanent, imposed, snow, wind = (step * column for column in columns)
    axial = [each.permanent * permanent + each.imposed * imposed + each.snow * snow for each in load_combinations]
    acting = dict(zip(VARIABLE, (imposed > 0, snow > 0, wind > 0), strict=True))
    present = [
        np.logical_and.reduce([np.full(len(step), True), *(acting[a] for a in each.actions)])
        for each in load_combinations
    ]
    across = [each.wind * wind for each in load_combinations]
    return StudLoads(np.stack(axial, axis=1), np.stack(across, axis=1), wind, np.stack(present, axis=1))


def carried(
    *,
    storeys: ArrayLike,
    storey_height: ArrayLike,
    floor_span: ArrayLike = 0.0,
    floor_permanent: ArrayLike = 0.0,
    floor_imposed: ArrayLike = 0.0,
    roof_span: ArrayLike = 0.0,
    roof_permanent: ArrayLike = 0.0,
    roof_imposed: ArrayLike = 0.0,
    snow: ArrayLike = 0.0,
    wall_permanent: ArrayLike = 0.0,
    wind: ArrayLike = 0.0,
    floor_span_beyond: ArrayLike = 0.0,
    roof_span_beyond: ArrayLike = 0.0,
    eaves: ArrayLike = 0.0,
) -> WallLoads:
    """Loads at the foot of the lowest storey's studs, from the house: half of every span that rests on the wall.

    G = (s - 1) w_floor g_floor + w_roof g_roof + s H g_wall, Q = (s - 1) w_floor q_floor + w_roof q_roof,
    S = w_roof s_roof, with w_floor = (span + span beyond) / 2 and w_roof = (span + span beyond) / 2 + eaves.

    storeys: s, the number that stand on the wall, its own included (its own floor rests on the ground);
    storey_height: H [m]; spans and eaves (horizontal) [m], "beyond": on the wall's other side; floor and roof loads
    [Pa on plan], wall_permanent [Pa of wall face], snow on the roof, shape coefficient included [Pa on plan]; wind: net
    pressure [Pa]. Each a number or (n,). Spans are taken as simply supported; imposed loads of all floors act at
    once, without reduction for their number; roof_imposed (access for repair), if given, counts as imposed and so
    also acts beside snow. All three lie on the safe side, save that a floor or roof continuous over the wall
    may bring a quarter more.
    """
    values = (storeys, floor_span, floor_span_beyond, roof_span, roof_span_beyond, eaves, storey_height, wall_permanent)
    s, floor, floor_2, roof, roof_2, overhang, height, wall_weight = (np.asarray(each, float) for each in values)
    if not (s >= 1).all() or not all((each >= 0).all() for each in (floor, floor_2, roof, roof_2, overhang, height)):
        raise ValueError("expected at least one storey, and spans, eaves and heights that are not negative")
    floors = (s - 1) * (floor + floor_2) / 2
    width = (roof + roof_2) / 2 + overhang
    return WallLoads(
        permanent=floors * np.asarray(floor_permanent) + width * np.asarray(roof_permanent) + s * height * wall_weight,
        imposed=floors * np.asarray(floor_imposed) + width * np.asarray(roof_imposed),
        snow=width * np.asarray(snow),
        wind=wind,
    )
