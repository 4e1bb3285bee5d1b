"""Every verdict on one wall besides heat, readable and as the objects of `check --json`."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from materials.errors import InputError
from materials.models import Material

from ..batch import WallBatch
from ..fill import practice as fill
from ..moisture import monthly
from ..strength.settings import CAUTION
from ..template import GAP, OUTER_FRAME
from ..wall.assemble import Part, last_vented
from ..wall.buildup import BuildUp, Layer
from ..wall.climate import MONTHS, climate_of, surface_r
from ..wall.places import Places, places_of
from . import dryness as moisture
from . import filling, standing
from .demands import FillDemand, MoistureDemand, StrengthDemand
from .filling import Void
from .rules import Rule, rules


@dataclass(frozen=True)
class Demands:
    """What is asked of a wall; the defaults where no brief says otherwise."""

    moisture: MoistureDemand = field(default_factory=MoistureDemand)
    strength: StrengthDemand = field(default_factory=StrengthDemand)
    filling: FillDemand = field(default_factory=FillDemand)


@dataclass(frozen=True)
class Verdicts:
    """The verdicts on one wall; None where it cannot be judged, with the reason in `open`."""

    moisture: dict[str, Any] | None
    strength: dict[str, Any] | None
    fill: dict[str, Any] | None
    rules: list[Rule]
    open: dict[str, str]
    profile: dict[str, monthly.Monthly]  # path -> temperatures and pressures by month, for drawing

    @property
    def failed(self) -> list[str]:
        """The names of the checks that the wall fails; under a climate that nobody gave, moisture fails nobody."""
        wet = self.moisture if self.moisture and self.moisture["climate"] == "given" else None
        named = {"moisture": wet, "strength": self.strength, "fill": self.fill}
        out = [name for name, found in named.items() if found is not None and not found["passes"]]
        return out + (["rules"] if any(each.passes is False for each in self.rules) else [])

    def as_json(self) -> dict[str, Any]:
        return {
            "moisture": self.moisture or {"passes": None, "reason": self.open["moisture"]},
            "strength": self.strength or {"passes": None, "reason": self.open["strength"]},
            "fill": self.fill or {"passes": None, "reason": self.open["fill"]},
            "rules": [asdict(each) for each in self.rules],
        }


def verdicts(wall: BuildUp, parts: list[Part], batch: WallBatch, u_value: float, demands: Demands) -> Verdicts:
    """Judge one wall. u_value: U [W/m2K], NaN where the method of heat refuses the wall."""
    places = places_of(wall, last_vented(wall))
    unjudged: dict[str, str] = {}
    profile: dict[str, monthly.Monthly] = {}
    wet = _moisture(wall, batch, places, u_value, demands.moisture, unjudged, profile)
    return Verdicts(
        wet,
        strength_of(wall, parts, places, demands.strength, unjudged),
        _fill(wall, parts, batch, demands.filling, unjudged),
        rules(wall, batch, places, None if wet is None else wet["passes"]),
        unjudged,
        profile,
    )


def _moisture(wall, batch, places: Places, u_value: float, demand: MoistureDemand, unjudged, profile) -> dict | None:
    if places.first >= len(wall.layers) or not moisture.known(batch, places)[0]:
        unjudged["moisture"] = f"no vapour resistance is known of {_without_vapour(wall, batch, places)}"
        return None
    if not np.any((batch.sd[0, places.first :] > 0) | (batch.resistance[0, places.first :] > 0)):
        unjudged["moisture"] = "no layer hinders vapour"
        return None
    if math.isnan(u_value):
        unjudged["moisture"] = "no U-value by the combined method"
        return None
    climate, r_si = climate_of(wall.conditions), surface_r(wall.conditions)
    try:
        found = moisture.dryness(batch, places, np.array([u_value]), climate, demand, wall.element, r_si)
    except ValueError as error:
        raise InputError(f"moisture: {error}") from None
    profile |= found.paths
    interfaces = [row for path, account in found.paths.items() for row in _interfaces(path, account, places)]
    return {
        "f_rsi": float(found.f_rsi[0]),
        "f_rsi_required": _finite(found.f_rsi_required),  # none where no month asks for any
        "month": MONTHS[found.month],
        "interfaces": interfaces,
        "peak_g_m2": float(found.peak[0]),
        "left_g_m2": float(found.left[0]),
        "drying_reserve_g_m2": float(found.reserve[0]),
        "sd_ratio": _finite(float(found.sd_ratio[0])),
        "mould_margin_percent": _finite(100 * float(found.mould_margin[0])),
        "mould_month": MONTHS[int(found.mould_month[0])],
        "margins": {name: _finite(float(margin[0])) for name, margin in found.margins.items()},
        "flags": _flags(found, demand),
        "climate": "shipped" if wall.conditions.outdoor_temperature_c is None else "given",
        "passes": bool(found.passes[0]),
    }


def _flags(found: moisture.Dryness, demand: MoistureDemand) -> list[str]:
    """What is not a limit but must be seen."""
    flags = []
    if found.sd_ratio[0] < demand.least_sd_ratio:
        flags.append(
            f"vapour resistance inside to outside {found.sd_ratio[0]:.1f} : 1; at least {demand.least_sd_ratio:g} : 1 "
            "is common practice for walls that dry outward"
        )
    if found.mould_margin[0] < 0:
        above = -100 * found.mould_margin[0]
        size = f"{above:.1f}" if above >= 0.05 else "less than 0.1"
        flags.append(
            f"mould can grow on wood at the sheathing's inner face in {MONTHS[int(found.mould_month[0])]}: humidity "
            f"{size} points above the critical one"
        )
    return flags


def _interfaces(path: str, account: monthly.Monthly, places: Places) -> list[dict[str, Any]]:
    """Places where vapour condenses on one path."""
    names = places.names[places.first :]
    rows = []
    for number, sides in enumerate(monthly.places(len(names))):
        if not np.any(account.monthly[0, number]):
            continue
        rows.append(
            {
                "path": path,
                "between": [names[side] for side in sides],
                "monthly_g_m2": account.monthly[0, number].tolist(),
                "peak_g_m2": float(account.peak[0, number]),
                "left_g_m2": float(account.left[0, number]),
            }
        )
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


def strength_of(
    wall: BuildUp, parts: list[Part], places: Places, demand: StrengthDemand, unjudged: dict[str, str]
) -> dict[str, Any] | None:
    """The preliminary check of the load-bearing studs; None with the reason in `unjudged` where it cannot be made."""
    number = places.outer_frame if demand.load_bearing == OUTER_FRAME else places.inner_frame
    frame = None if number is None else wall.layers[number].frame
    if wall.loads is None or frame is None or frame.width_mm is None:
        unjudged["strength"] = (
            "the file gives no [loads]" if wall.loads is None else "no studs of known size bear the load"
        )
        return None
    strength_class = parts[number].member_stock.material.strength_class
    if strength_class is None:
        unjudged["strength"] = f'material "{frame.material}" has no strength_class'
        return None
    size = [np.array([value / 1000]) for value in (wall.layers[number].thickness_mm, frame.width_mm, frame.spacing_mm)]
    try:
        found = standing.check(*size, [strength_class], wall.loads, demand)
    except ValueError as error:
        raise InputError(f"loads: {error}") from None
    return {
        "utilisation": float(found.largest[0]),
        "governing": found.governing_words(0),
        "load_bearing": f"{demand.load_bearing}, {strength_class}",
        "k_c_y": float(found.k_c_y[0]),
        "k_c_z": float(found.k_c_z[0]),
        "cases": [
            {"combination": case.combination, "check": case.check, "utilisation": value} for case, value in found.of(0)
        ],
        "caution": CAUTION,
        "passes": bool(found.passes[0]),
    }


def _fill(wall: BuildUp, parts: list[Part], batch: WallBatch, demand: FillDemand, unjudged) -> dict | None:
    voids, uneven = voids_of(wall, parts, batch), _uneven(wall)
    if not voids and uneven is None:
        unjudged["fill"] = "nothing in this wall is blown in"
        return None
    unknown = [number + 1 for void in voids for number in void.layers if void.density <= 0]
    if unknown:
        unjudged["fill"] = f"no density is known of layer {unknown[0]} ({wall.layers[unknown[0] - 1].role})"
        return None
    height = standing.height(wall.loads) if wall.loads else 2.7
    found = filling.needs(voids, height, demand)
    assumed = [
        number + 1 for void in voids for number in void.layers if wall.of(wall.layers[number].material).kind is None
    ]
    passes = bool(found.passes.all()) and _membrane(wall, voids) is None and uneven is None
    if assumed and not passes:  # it may be no fill to blow in; only what is known to be one can fail
        words = next(filter(None, map(found.reason, range(len(voids)))), None) or _membrane(wall, voids) or uneven
        unjudged["fill"] = f"kind of layer {assumed[0]} not stated; as a loose fill: {words}"
        return None
    return {
        "density_kg_m3": float(found.density.max(initial=0.0)),
        "kg_m2": float(found.kg_m2.sum()),
        "bags_m2": float(found.bags_m2.sum()),
        "chambers": int(found.chambers.max(initial=0)),
        "voids": [
            {
                "layers": [number + 1 for number in void.layers],
                "depth_mm": void.depth * 1000,
                "density_kg_m3": float(found.density[at]),
                "kg_m2": float(found.kg_m2[at]),
                "chambers": int(found.chambers[at]),
                "reason": found.reason(at),
            }
            for at, void in enumerate(voids)
        ],
        "membrane": _membrane(wall, voids),
        "uneven": uneven,
        "taken_for_blown": assumed,
        "caution": fill.CAUTION,
        "passes": passes,
    }


def _uneven(wall: BuildUp) -> str | None:
    """Why batts cannot lie in a gap; None where they can, or there are none."""
    for number, layer in enumerate(wall.layers, 1):
        if layer.tie is not None and wall.of(layer.material).kind == "batt":
            place = f"layer {number} ({layer.role})"
            return f"{place}: tie plates make the void uneven for batts; blow it in, or leave the ties out"
    return None


def _membrane(wall: BuildUp, voids: list[Void]) -> str | None:
    """Why the membrane inside of a blown void does not hold it; None where it does, or nothing presses on one."""
    for void in voids:
        number = void.layers[-1] + 1
        if number + 1 >= len(wall.layers):
            continue
        span = wall.of(wall.layers[number].material).blown_support_mm
        battens = wall.layers[number + 1].frame
        if span is not None and battens is not None and battens.spacing_mm and battens.spacing_mm > span:
            return f"battens at {battens.spacing_mm:g} mm behind a membrane that holds blowing at {span:g} mm or less"
    return None


def voids_of(wall: BuildUp, parts: list[Part], batch: WallBatch) -> list[Void]:
    """The voids that are blown full: neighbouring layers of one loose fill are one void.

    A material of the file's own that stands between members or in the gap and does not say what it is counts as one.
    """
    found: list[Void] = []
    run: list[int] = []
    for number in range(len(wall.layers) + 1):
        loose = number < len(wall.layers) and _is_blown(wall.layers[number], parts[number].stock.material)
        if run and (not loose or wall.layers[number].material != wall.layers[run[0]].material):
            found.append(_void(wall, parts, batch, run))
            run = []
        if loose:
            run.append(number)
    return found


def _is_blown(layer: Layer, material: Material) -> bool:
    fills = layer.frame is not None or layer.role == GAP
    unsaid = material.kind is None and fills and bool(material.density_kg_m3)
    return layer.thickness_mm > 0 and (material.kind == "loose fill" or unsaid)


def _void(wall: BuildUp, parts: list[Part], batch: WallBatch, run: list[int]) -> Void:
    share = batch.plain_share()[0]
    depth = sum(wall.layers[number].thickness_mm for number in run) / 1000
    volume = sum(wall.layers[number].thickness_mm / 1000 * share[number] for number in run)
    frames = [wall.layers[number].frame for number in run if wall.layers[number].frame]
    bays = [(each.spacing_mm - each.width_mm) / 1000 for each in frames if each.width_mm and each.spacing_mm]
    density = parts[run[0]].stock.material.installed_density(depth * 1000) or 0.0
    return Void(tuple(run), depth, float(volume), min(bays, default=0.5), density)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
