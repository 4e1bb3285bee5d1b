"""What `check --numeric` adds to a judgement: U by conduction, what breaks it, and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from materials.catalogue import Catalogue

from ..heat import steady
from ..wall.assemble import batch_of, parts_of
from ..wall.buildup import BuildUp
from ..wall.climate import MONTHS, climate_of
from .breaks import TOLERANCE, Breaks, breaks
from .numeric_demand import Uncertainty
from .uncertainty import Spread, spread_of
from .wall_cell import NumericHeat, numeric_heat


class Asked(Protocol):
    """What a brief says of how sure U must be: its target, its seed, its ranges of what is uncertain."""

    target: Any
    seed: Any
    uncertainty: Uncertainty


@dataclass(frozen=True)
class Coldest:
    """The coldest place of the inside surface in the coldest month [degrees C]."""

    month: str
    outside_c: float
    inside_c: float
    surface_c: float


@dataclass(frozen=True)
class NumericFigures:
    """One wall by conduction. U in W/m2K, corrections included."""

    heat: NumericHeat
    u_least: float  # 1/R' and corrections: no wall of these layers loses less
    u_most: float  # 1/R'' and corrections: nor more
    u_combined: float  # of the combined method's mean, told also where the method is refused
    coldest: Coldest
    breaks: Breaks
    spread: Spread

    def as_json(self) -> dict:
        """The object `numeric` of `check --json`."""
        bounds = {key: getattr(self, key) for key in ("u_least", "u_most", "u_combined")}
        coldest = {
            "coldest_surface_c": self.coldest.surface_c,
            "coldest_month": self.coldest.month,
            "by_members": self.breaks.by_members,
        }
        parts = {"breaks": self.breaks.as_json(), "uncertainty": self.spread.as_json()}
        return self.heat.as_json() | bounds | coldest | parts


@dataclass(frozen=True)
class Unsolved:
    """A wall whose conduction cannot be solved, and why."""

    reason: str

    def as_json(self) -> dict:
        """The object `numeric` of `check --json`: every figure null."""
        return dict.fromkeys(("u_value", "u_error", "f_rsi", "chi_w_k", "psi_w_mk")) | {"reason": self.reason}


def numeric_figures(
    wall: BuildUp, brief: Asked | None = None, catalogue: Catalogue | None = None, tolerance: float = TOLERANCE
) -> NumericFigures:
    """Solve one wall and tell all that follows. brief: its target, its seed, its ranges of what is uncertain.

    InputError where the wall has no cell (see `wall_cell.numeric_heat`).
    """
    ranges, target, seed = (brief.uncertainty, brief.target.u_value, brief.seed.value) if brief else (None, None, 1)
    batch = batch_of(wall, parts_of(wall))
    heat = numeric_heat(wall, batch, tolerance)
    transmittance = steady.transmittance(batch)
    correction = heat.correction
    return NumericFigures(
        heat=heat,
        u_least=float(1 / transmittance.r_upper[0]) + correction,
        u_most=float(1 / transmittance.r_lower[0]) + correction,
        u_combined=float(transmittance.u_bare[0]) + correction,
        coldest=_coldest(wall, heat),
        breaks=breaks(wall, heat, catalogue, tolerance),
        spread=spread_of(wall, ranges, target, heat.u_value, seed),
    )


def _coldest(wall: BuildUp, heat: NumericHeat) -> Coldest:
    climate = climate_of(wall.conditions)
    month = int(np.argmin(climate.outdoor_temperature))
    outside, inside = float(climate.outdoor_temperature[month]), float(climate.indoor_temperature[month])
    return Coldest(MONTHS[month], outside, inside, heat.coldest_c(inside, outside))


def place_words(placed: bool) -> str:
    """Whether what was solved is the wall as drawn, in words."""
    return "as drawn, every timber in its place" if placed else "timber without a place enclosed between limits"


def error_bound(error: float) -> float:
    """A value of four decimals that the error of U stays below [W/m2K]: rounded up, and never 0."""
    return (math.floor(error * 10_000 + 1e-9) + 1) / 10_000
