"""What would mend a wall: single changes after which it passes the check it fails, and all that it passes now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from materials.catalogue import Catalogue
from materials.errors import InputError

from ..score import cost
from ..wall.assemble import NO_PRICING, batch_of, parts_of
from ..wall.buildup import BuildUp
from ..wall.pricing import Pricing
from .check_table import CHECKS, Demands
from .common.changes import SAME, Candidate, Change, Shelf
from .judge import Judged, judge

MOST = 3  # mends told of each check
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


def mends(
    wall: BuildUp,
    catalogue: Catalogue,
    pricing: Pricing | None = None,
    demands: Demands | None = None,
    before: Judged | None = None,
) -> list[Mend]:
    """At most three mends of every check of CHECKS that the wall fails, cheapest first.

    Without prices the nearest in thickness comes first. before: the wall's judgement with the same prices and demands,
    where there is one already. InputError as of `judge`.
    """
    demands = demands or Demands.of()
    pricing = pricing if pricing is not None and pricing.products else None
    before = before or judge(wall, pricing, demands)
    shelf = Shelf(catalogue, pricing)
    cheapest = []
    for check in CHECKS:
        verdict = before.verdicts[check]
        if verdict.rules_out:
            candidates = _ranked(wall, check.changes(wall, shelf, demands[check], verdict), pricing)
            cheapest += _first(check.name, check.sift(candidates, demands[check]), before, pricing, demands)
    return cheapest


def _first(
    check: str, ranked: Iterable[Candidate], before: Judged, pricing: Pricing | None, demands: Demands
) -> list[Mend]:
    """The first of the candidates that mend a check, by the same judgement as any wall."""
    cheapest: list[Mend] = []
    kinds: set[tuple] = set()
    for each in ranked:
        if len(cheapest) == MOST:
            break
        if each.change.like in kinds:
            continue
        try:
            after = judge(each.change.wall, pricing, demands)
        except InputError:
            continue
        if _better(check, before, after):
            kinds.add(each.change.like)
            cheapest.append(_mend(check, each.change, before, after, pricing))
    return cheapest


def _better(check: str, before: Judged, after: Judged) -> bool:
    """Whether the check passes now, and all else that passed still does, at a price that is known where it was."""
    was, now = before.verdicts.passing, after.verdicts.passing
    priced = len(after.unpriced) <= len(before.unpriced)
    return check in now and was <= now and priced and (after.heat.refused is None or before.heat.refused is not None)


def _mend(check: str, change: Change, before: Judged, after: Judged, pricing: Pricing | None) -> Mend:
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


def _added_cost(before: Judged, after: Judged) -> float | None:
    """What a change costs per m2; None where a layer that it touches has no price."""
    unknown = [
        {(each.role, each.text) for each in judged.layers if each.cost_per_m2 is None} for judged in (before, after)
    ]
    was, now = (sum(each.cost_per_m2 or 0.0 for each in judged.layers) for judged in (before, after))
    return now - was if unknown[0] == unknown[1] else None


def _ranked(wall: BuildUp, changes: list[Change], pricing: Pricing | None) -> list[Candidate]:
    """The changes that make a wall at all, cheapest first, then nearest in thickness."""
    candidates = []
    for each in changes:
        try:
            batch = batch_of(each.wall, parts_of(each.wall, pricing or NO_PRICING))
        except InputError:
            continue
        price = 0.0 if pricing is None else round(float(np.nansum(cost.cost_by_layer(batch))), 6)
        candidates.append(Candidate(each, batch, price))
    return sorted(candidates, key=lambda each: (each.cost, abs(each.change.wall.thickness_mm - wall.thickness_mm)))
