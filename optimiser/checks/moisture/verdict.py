"""The moisture of one wall, judged: a batch of one through the checks of `dryness.py`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from materials.errors import InputError

from ...batch import WallBatch
from ...moisture import monthly
from ...wall.buildup import BuildUp
from ...wall.climate import MONTHS, climate_of, surface_r
from ...wall.places import Places
from ..common.check import NotJudged, OneWall, Verdict
from . import dryness
from .demand import MoistureDemand

Way = Literal["fill", "studs"]  # through a wall
WAYS: dict[Way, str] = {"fill": "the fill", "studs": "the studs"}


@dataclass(frozen=True)
class WetPlace:
    """A place of one path where vapour condenses: between which layers, and its twelve months [g/m2]."""

    path: Way
    between: tuple[str, ...]
    monthly_g_m2: tuple[float, ...]
    peak_g_m2: float
    left_g_m2: float


@dataclass(frozen=True)
class Margins:
    """How far each limit is kept, in its own unit; negative where it is not, None where nothing ends it."""

    surface: float | None
    condensate: float | None
    dries: float | None
    reserve: float | None
    mould: float | None = None  # told where the brief makes it a limit

    def named(self, mould_limited: bool) -> dict[str, float | None]:
        """The margins by what each limit is called in JSON and reasons."""
        pairs = {
            "surface": self.surface,
            "condensate": self.condensate,
            "dries within the year": self.dries,
            "drying reserve": self.reserve,
        }
        return pairs | ({"mould at the sheathing": self.mould} if mould_limited else {})


@dataclass(frozen=True, kw_only=True)
class MoistureVerdict(Verdict):
    """The moisture of one wall. None stands for a figure without end."""

    f_rsi: float
    f_rsi_required: float | None  # None: no month asks for any
    month: str
    wet: tuple[WetPlace, ...]
    peak_g_m2: float
    left_g_m2: float
    drying_reserve_g_m2: float
    sd_ratio: float | None
    mould_margin_percent: float | None
    mould_month: str
    mould_limited: bool
    margins: Margins
    flags: tuple[str, ...]
    climate_given: bool
    accounts: Mapping[Way, monthly.Monthly] = field(compare=False, repr=False)  # temperatures and pressures by month

    @property
    def rules_out(self) -> bool:
        """Under a climate that nobody gave, moisture fails nobody."""
        return self.climate_given and not self.passes

    @property
    def notes(self) -> tuple[str, ...]:
        return self.flags

    def as_json(self) -> dict[str, Any]:
        return {
            "f_rsi": self.f_rsi,
            "f_rsi_required": self.f_rsi_required,
            "month": self.month,
            "interfaces": [
                {
                    "path": each.path,
                    "between": list(each.between),
                    "monthly_g_m2": list(each.monthly_g_m2),
                    "peak_g_m2": each.peak_g_m2,
                    "left_g_m2": each.left_g_m2,
                }
                for each in self.wet
            ],
            "peak_g_m2": self.peak_g_m2,
            "left_g_m2": self.left_g_m2,
            "drying_reserve_g_m2": self.drying_reserve_g_m2,
            "sd_ratio": self.sd_ratio,
            "mould_margin_percent": self.mould_margin_percent,
            "mould_month": self.mould_month,
            "margins": self.margins.named(self.mould_limited),
            "flags": list(self.flags),
            "climate": "given" if self.climate_given else "shipped",
            "passes": self.passes,
        }


def judge_moisture(one: OneWall, demand: MoistureDemand) -> MoistureVerdict | NotJudged:
    """Judge one wall; why not where a vapour resistance or U is not known. InputError for an impossible climate."""
    reason = _open(one)
    if reason is not None:
        return NotJudged(reason)
    conditions, places = one.wall.conditions, one.places
    try:
        dry = dryness.dryness(
            one.batch,
            places,
            np.array([one.u_value]),
            climate_of(conditions),
            demand,
            one.wall.element,
            surface_r(conditions),
        )
    except ValueError as error:
        raise InputError(f"moisture: {error}") from None
    margins = dry.margins
    return MoistureVerdict(
        passes=bool(dry.passes[0]),
        f_rsi=float(dry.f_rsi[0]),
        f_rsi_required=_finite(dry.f_rsi_required),
        month=MONTHS[dry.month],
        wet=tuple(row for path, account in dry.paths.items() for row in _wet_places(path, account, places)),
        peak_g_m2=float(dry.peak[0]),
        left_g_m2=float(dry.left[0]),
        drying_reserve_g_m2=float(dry.reserve[0]),
        sd_ratio=_finite(float(dry.sd_ratio[0])),
        mould_margin_percent=_finite(100 * float(dry.mould_margin[0])),
        mould_month=MONTHS[int(dry.mould_month[0])],
        mould_limited=margins.mould is not None,
        margins=Margins(*(None if each is None else _finite(float(each[0])) for each in margins)),
        flags=tuple(_flags(dry, demand)),
        climate_given=conditions.outdoor_temperature_c is not None,
        accounts=dry.paths,
    )


def _open(one: OneWall) -> str | None:
    """Why moisture cannot be judged."""
    batch, first = one.batch, one.places.first
    if first >= len(one.wall.layers) or not dryness.known(batch, one.places)[0]:
        return f"no vapour resistance is known of {_without_vapour(one.wall, batch, one.places)}"
    if not np.any((batch.sd[0, first:] > 0) | (batch.resistance[0, first:] > 0)):
        return "no layer hinders vapour"
    return "no U-value by the combined method" if math.isnan(one.u_value) else None


def _flags(dry: dryness.Dryness, demand: MoistureDemand) -> list[str]:
    """What is not a limit but must be seen."""
    flags = []
    if dry.sd_ratio[0] < demand.least_sd_ratio:
        flags.append(
            f"vapour resistance inside to outside {dry.sd_ratio[0]:.1f} : 1; at least {demand.least_sd_ratio:g} : 1 "
            "is common practice for walls that dry outward"
        )
    if dry.mould_margin[0] < 0:
        above = -100 * dry.mould_margin[0]
        size = f"{above:.1f}" if above >= 0.05 else "less than 0.1"
        flags.append(
            f"mould can grow on wood at the sheathing's inner face in {MONTHS[int(dry.mould_month[0])]}: humidity "
            f"{size} points above the critical one"
        )
    return flags


def _wet_places(path: Way, account: monthly.Monthly, places: Places) -> list[WetPlace]:
    """Places where vapour condenses on one path."""
    names = places.names[places.first :]
    rows = []
    for number, sides in enumerate(monthly.places(len(names))):
        if np.any(account.monthly[0, number]):
            between = tuple(names[side] for side in sides)
            months = tuple(account.monthly[0, number].tolist())
            rows.append(WetPlace(path, between, months, float(account.peak[0, number]), float(account.left[0, number])))
    return rows


def _without_vapour(wall: BuildUp, batch: WallBatch, places: Places) -> str:
    missing = [
        f"layer {number + 1} ({layer.role})"
        for number, layer in enumerate(wall.layers)
        if number >= places.first and (np.isnan(batch.sd[0, number]) or _unknown_member(batch, number))
    ]
    return ", ".join(missing) or "any layer"


def _unknown_member(batch: WallBatch, number: int) -> bool:
    member = batch.member_of(number)
    return member is not None and bool(np.isnan(member.sd[0]))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
