"""Whether walls stay dry: surface, condensation and drying by month, drying reserve, mould at the sheathing.

Judged on the path through the fill and, where a wall has studs, on the path through the studs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...batch import Array, WallBatch
from ...moisture import diffusion, monthly, mould, reserve, surface
from ...wall.places import Places
from .demand import MoistureDemand

DRY = 1e-6  # g/m2 left after a year; less is rounding


class DryMargins(NamedTuple):
    """How far n walls keep each limit (n,), in its own unit; mould None where it is no limit."""

    surface: Array
    condensate: Array
    dries: Array
    reserve: Array
    mould: Array | None


@dataclass(frozen=True)
class Dryness:
    """The moisture checks of n walls. Margins (n,) are positive where a wall passes."""

    f_rsi: Array
    f_rsi_required: float
    month: int
    peak: Array  # g/m2, the wetter of the paths
    left: Array  # g/m2 after the year
    reserve: Array  # g/m2
    sd_ratio: Array  # inside : outside of the insulation
    mould_margin: Array  # share; critical less actual humidity at the sheathing's inner face
    mould_month: NDArray[np.integer]
    paths: dict[str, monthly.Monthly]  # path -> the account by month
    margins: DryMargins

    @property
    def passes(self) -> NDArray[np.bool_]:
        """(n,) whether every limit holds."""
        return np.logical_and.reduce([margin >= 0 for margin in self.margins if margin is not None])


def known(batch: WallBatch, places: Places) -> NDArray[np.bool_]:
    """(n,) walls whose every layer has a vapour resistance that is known."""
    layers = slice(places.first, None)
    fine = ~np.isnan(batch.sd[:, layers]).any(axis=1)
    for number in places.frames:
        member = batch.member_of(number)
        if member is not None and number >= places.first:
            fine &= ~np.isnan(member.sd)
    return fine


def paths(batch: WallBatch, places: Places, r_si: float = diffusion.R_SI) -> dict[str, diffusion.Construction]:
    """The walls' constructions through the fill and through the studs, layers that take part only.

    r_si: inner surface resistance for moisture [m2K/W].
    """
    layers = slice(places.first, None)
    plain = [values[:, layers].copy() for values in (batch.resistance, batch.sd, batch.sd_humid)]
    constructions = {"fill": diffusion.construction(*_hindering(plain), r_si=r_si)}
    members = [batch.member_of(number) for number in places.frames]
    if any(member is not None for member in members):
        studs = [values.copy() for values in plain]
        for member in members:
            if member is not None:
                values = (member.resistance, member.sd, member.sd_humid)
                for column, value in zip(studs, values, strict=True):
                    column[:, member.layer - places.first] = value
        constructions["studs"] = diffusion.construction(*_hindering(studs), r_si=r_si)
    return constructions


def _hindering(columns: list[Array]) -> list[Array]:
    """A layer with resistance hinders vapour at least as a little air does: no sd of 0 beside an R."""
    resistance, dry, humid = columns
    return [resistance, *(np.where((resistance > 0) & (sd <= 0), 1e-4, sd) for sd in (dry, humid))]


def dryness(
    batch: WallBatch,
    places: Places,
    u_value: Array,
    climate: monthly.Climate,
    demand: MoistureDemand,
    element: str = "wall",
    r_si: float = diffusion.R_SI,
) -> Dryness:
    """Every moisture check of n walls whose vapour resistances are known. u_value: U with Rsi of heat loss [W/m2K]."""
    walls = paths(batch, places, r_si)
    accounts = {name: monthly.condensation(each, climate) for name, each in walls.items()}
    peak = np.max([each.peak_total for each in accounts.values()], axis=0)
    left = np.max([each.left_total for each in accounts.values()], axis=0)
    reserves = reserve_of(walls, element)
    f_rsi = surface.temperature_factor(u_value, batch.r_si, r_si)
    required, month = surface.governing(
        surface.required_factor(climate.outdoor_temperature, climate.indoor_temperature, climate.indoor_pressure)
    )
    moulds = mould.at_boundary(accounts["fill"], places.sheathing_boundary)
    least = least_reserve(demand, element)
    margins = DryMargins(
        surface=f_rsi - required,
        condensate=demand.max_condensate_g_m2 - peak,
        dries=np.where(left <= DRY, 0.0, -left),
        reserve=reserves - least,
        mould=moulds.margin if demand.mould_inside == "limit" else None,
    )
    return Dryness(
        f_rsi,
        required,
        month,
        peak,
        left,
        reserves,
        sd_ratio_of(batch, places),
        moulds.margin,
        moulds.month,
        accounts,
        margins,
    )


def reserve_of(walls: dict[str, diffusion.Construction], element: str = "wall") -> Array:
    """(n,) drying reserve of the path that dries least [g/m2]."""
    kind = element if element in reserve.WET_PLANE else "wall"
    return np.min([reserve.drying_reserve(each, kind).reserve for each in walls.values()], axis=0)


def sd_ratio_of(batch: WallBatch, places: Places) -> Array:
    """(n,) vapour resistance inside the insulated frames and gap over that outside of them."""
    outermost = places.outer_frame if places.outer_frame is not None else places.first
    innermost = np.full(len(batch), outermost)
    if places.inner_frame is not None:
        there = batch.thickness[:, places.inner_frame] > 0
        innermost = np.where(there, places.inner_frame, outermost)
    layers = slice(places.first, None)
    return reserve.sd_ratio(batch.sd[:, layers], outermost - places.first, innermost - places.first)


def lacking(batch: WallBatch, places: Places, demand: MoistureDemand, r_si: float = diffusion.R_SI) -> Array:
    """(n,) by how much failing walls miss the drying reserve, as a share of it; half where they fail otherwise."""
    least = least_reserve(demand)
    shortfall = np.ones(len(batch))
    rows = np.flatnonzero(known(batch, places))
    if len(rows) and least > 0:
        missed = 1.0 - reserve_of(paths(batch.rows(rows), places, r_si)) / least
        shortfall[rows] = np.where(missed > 0, 0.5 + missed, 0.5)
    return shortfall


def least_reserve(demand: MoistureDemand, element: str = "wall") -> float:
    """The drying reserve asked for [g/m2]: the demand's, or the standard's for walls and roofs."""
    if demand.min_drying_reserve_g_m2 is not None:
        return demand.min_drying_reserve_g_m2
    return reserve.LEAST_RESERVE.get(element, reserve.LEAST_RESERVE["wall"])


def passes(
    batch: WallBatch,
    places: Places,
    u_value: Array,
    climate: monthly.Climate,
    demand: MoistureDemand,
    r_si: float = diffusion.R_SI,
) -> NDArray[np.bool_]:
    """(n,) the same verdict, the dear monthly account only for walls that pass the cheaper checks."""
    alive = np.zeros(len(batch), bool)
    rows = np.flatnonzero(known(batch, places))
    if not len(rows):
        return alive
    some = batch.rows(rows)
    rows = rows[reserve_of(paths(some, places, r_si)) >= least_reserve(demand)]
    if len(rows):
        alive[rows] = dryness(batch.rows(rows), places, u_value[rows], climate, demand, r_si=r_si).passes
    return alive
