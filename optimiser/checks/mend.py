"""What would mend a wall: single changes after which it passes the check it fails, and all that it passes now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from materials.catalogue import Catalogue
from materials.errors import InputError

from ..batch import WallBatch, joined
from ..score import cost
from ..template import OUTER_FRAME
from ..wall.assemble import NO_PRICING, batch_of, last_vented, parts_of
from ..wall.buildup import BuildUp
from ..wall.climate import climate_of, surface_r
from ..wall.places import places_of
from ..wall.pricing import Pricing
from ..wall.scores import scores
from . import dryness as moisture
from . import standing
from .changes import SAME, SPACINGS_MM, Change, Shelf, other_gap, other_sheets, other_spacings, other_studs
from .judge import Judgement, judge
from .verdicts import Demands

MOST = 3  # mends told of each check
CHECKS = ("moisture", "strength", "fill")
FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "u_value")
UNMENDED = "no other layer, size, spacing or gap by itself would mend this"


@dataclass(frozen=True)
class Mend:
    """One change that mends a check, in words, with what it adds to the figures and the wall with it made."""

    check: str
    words: str
    change: dict[str, float | None]  # figure -> after less before; None where one of them is unknown
    wall: BuildUp

    def as_json(self) -> dict[str, Any]:
        return {"check": self.check, "words": self.words, "change": self.change}


@dataclass(frozen=True)
class _Candidate:
    change: Change
    batch: WallBatch
    cost: float  # per m2, of the layers whose cost is known; 0 without price lists


def mends(
    wall: BuildUp,
    catalogue: Catalogue,
    pricing: Pricing | None = None,
    demands: Demands | None = None,
    before: Judgement | None = None,
) -> list[Mend]:
    """At most three mends of every check of CHECKS that the wall fails, cheapest first.

    Without prices the nearest in thickness comes first. before: the wall's judgement with the same prices and demands,
    where there is one already. InputError as of `judge`.
    """
    demands = demands or Demands()
    pricing = pricing if pricing is not None and pricing.products else None
    before = before or judge(wall, pricing, demands)
    shelf = Shelf(catalogue, pricing)
    find = {"moisture": _drier, "strength": _stronger, "fill": _fillable}
    found = []
    for check in CHECKS:
        if check in before.verdicts.failed:
            ranked = _ranked(wall, find[check](wall, shelf, demands, before), pricing)
            if check == "moisture":
                ranked = _dry(ranked, demands)
            found += _first(check, ranked, before, pricing, demands)
    return found


def _first(
    check: str, ranked: Iterable[_Candidate], before: Judgement, pricing: Pricing | None, demands: Demands
) -> list[Mend]:
    """The first of the candidates that mend a check, by the same judgement as any wall."""
    found: list[Mend] = []
    told: set[tuple] = set()
    for each in ranked:
        if len(found) == MOST:
            break
        if each.change.like in told:
            continue
        try:
            after = judge(each.change.wall, pricing, demands)
        except InputError:
            continue
        if _better(check, before, after):
            told.add(each.change.like)
            found.append(_mend(check, each.change, before, after, pricing))
    return found


def _better(check: str, before: Judgement, after: Judgement) -> bool:
    """Whether the check passes now, and all else that passed still does, at a price that is known where it was."""
    was, now = _passing(before), _passing(after)
    priced = len(after.unpriced) <= len(before.unpriced)
    return check in now and was <= now and priced and (after.heat.refused is None or before.heat.refused is not None)


def _passing(found: Judgement) -> set[str]:
    told = {name: getattr(found.verdicts, name) for name in CHECKS}
    kept = {name for name, result in told.items() if result is not None and result["passes"]}
    return kept | {each.rule for each in found.verdicts.rules if each.passes}


def _mend(check: str, change: Change, before: Judgement, after: Judgement, pricing: Pricing | None) -> Mend:
    pairs = {key: (getattr(before, key), getattr(after, key)) for key in FIGURES}
    added = {key: None if None in pair or pair[0] != pair[0] else pair[1] - pair[0] for key, pair in pairs.items()}
    added["cost_per_m2"] = _added_cost(before, after) if pricing is not None else None
    parts = []
    if pricing is not None and added["cost_per_m2"] is not None:
        parts.append(f"{added['cost_per_m2']:+.2f} {pricing.currency}/m2")
    if abs(added["thickness_mm"]) > SAME:
        parts.append(f"{added['thickness_mm']:+g} mm")
    u_value = [f"{value:.3f}" for value in pairs["u_value"]]
    if u_value[0] != u_value[1]:
        parts.append(f"U {u_value[1]} W/m2K")
    return Mend(check, f"{change.words}: passes{'; ' if parts else ''}{', '.join(parts)}", added, change.wall)


def _added_cost(before: Judgement, after: Judgement) -> float | None:
    """What a change costs per m2; None where a layer that it touches has no price."""
    unknown = [
        {(each.role, each.text) for each in found.layers if each.cost_per_m2 is None} for found in (before, after)
    ]
    was, now = (sum(each.cost_per_m2 or 0.0 for each in found.layers) for found in (before, after))
    return now - was if unknown[0] == unknown[1] else None


def _ranked(wall: BuildUp, changes: list[Change], pricing: Pricing | None) -> list[_Candidate]:
    """The changes that make a wall at all, cheapest first, then nearest in thickness."""
    found = []
    for each in changes:
        try:
            batch = batch_of(each.wall, parts_of(each.wall, pricing or NO_PRICING))
        except InputError:
            continue
        price = 0.0 if pricing is None else round(float(np.nansum(cost.cost_by_layer(batch))), 6)
        found.append(_Candidate(each, batch, price))
    return sorted(found, key=lambda each: (each.cost, abs(each.change.wall.thickness_mm - wall.thickness_mm)))


def _drier(wall: BuildUp, shelf: Shelf, demands: Demands, before: Judgement) -> list[Change]:
    return other_sheets(wall, shelf)


def _dry(ranked: list[_Candidate], demands: Demands) -> list[_Candidate]:
    """Those that pass the moisture checks, found for all of them as one batch: to judge each by itself is slower."""
    groups: dict[int, list[_Candidate]] = {}
    for each in ranked:
        groups.setdefault(len(each.change.wall.layers), []).append(each)
    kept = []
    for group in groups.values():
        wall = group[0].change.wall
        places = places_of(wall, last_vented(wall))
        group = [each for each in group if moisture.known(each.batch, places)[0]]
        if not group:
            continue
        batch = joined([each.batch for each in group])
        u_value = scores(batch, wall.corrections, wall.index_of).u_value
        conditions = wall.conditions
        found = moisture.dryness(
            batch, places, u_value, climate_of(conditions), demands.moisture, wall.element, surface_r(conditions)
        )
        kept += [each for each, passes in zip(group, found.passes, strict=True) if passes]
    order = {id(each): number for number, each in enumerate(ranked)}
    return sorted(kept, key=lambda each: order[id(each)])


def _stronger(wall: BuildUp, shelf: Shelf, demands: Demands, before: Judgement) -> list[Change]:
    """Studs no shallower and no narrower, or closer, that stand by the check itself."""
    places = places_of(wall, last_vented(wall))
    number = places.outer_frame if demands.strength.load_bearing == OUTER_FRAME else places.inner_frame
    layer = wall.layers[number]
    closer = [each for each in SPACINGS_MM if each < layer.frame.spacing_mm - SAME]
    found = other_studs(wall, number, shelf, layer.thickness_mm, least_width_mm=layer.frame.width_mm)
    found += other_spacings(wall, number, closer)
    return [each for each in found if _stands(each.wall, number, demands)]


def _stands(wall: BuildUp, number: int, demands: Demands) -> bool:
    layer = wall.layers[number]
    strength_class = wall.of(layer.frame.material).strength_class
    if strength_class is None:
        return False
    size = [np.array([each / 1000]) for each in (layer.thickness_mm, layer.frame.width_mm, layer.frame.spacing_mm)]
    return bool(standing.check(*size, [strength_class], wall.loads, demands.strength).passes[0])


def _fillable(wall: BuildUp, shelf: Shelf, demands: Demands, before: Judgement) -> list[Change]:
    """A gap or members of another depth where a void is too shallow or too deep; another spacing for its bays."""
    limits = demands.filling
    found = []
    for void in before.verdicts.fill["voids"]:
        if void["reason"] is None:
            continue
        by = min(limits.deepest_mm - void["depth_mm"], 0.0) or max(limits.narrowest_mm - void["depth_mm"], 0.0)
        for number in (each - 1 for each in void["layers"]):
            layer = wall.layers[number]
            if layer.frame is None and abs(by) > SAME:
                found += other_gap(wall, number, by, shelf)
            elif abs(by) > SAME:
                least, most = (layer.thickness_mm + by, np.inf) if by > 0 else (0.0, layer.thickness_mm + by)
                found += other_studs(wall, number, shelf, least, most, layer.frame.width_mm or 0.0)
            elif layer.frame is not None and layer.frame.width_mm is not None:
                width = layer.frame.width_mm
                fits = [s for s in SPACINGS_MM if limits.narrowest_mm <= s - width <= limits.widest_mm]
                found += other_spacings(wall, number, [s for s in fits if abs(s - layer.frame.spacing_mm) > SAME])
    return found
