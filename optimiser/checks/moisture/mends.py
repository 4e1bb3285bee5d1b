"""What could mend a wall that stays wet: another sheet, looked through many at once."""

from __future__ import annotations

from ...batch import joined
from ...wall.assemble import last_vented
from ...wall.buildup import BuildUp
from ...wall.climate import climate_of, surface_r
from ...wall.places import places_of
from ...wall.scores import scores
from ..common.changes import Candidate, Change, Shelf, other_sheets
from . import dryness
from .demand import MoistureDemand
from .verdict import MoistureVerdict


def drier(wall: BuildUp, shelf: Shelf, demand: MoistureDemand, verdict: MoistureVerdict) -> list[Change]:
    """Other airtight and wind-tight layers, sheathings and outer boards."""
    return other_sheets(wall, shelf)


def dry(ranked: list[Candidate], demand: MoistureDemand) -> list[Candidate]:
    """Those that pass the moisture checks, found for all of them as one batch: to judge each by itself is slower."""
    groups: dict[int, list[Candidate]] = {}
    for each in ranked:
        groups.setdefault(len(each.change.wall.layers), []).append(each)
    passing = []
    for group in groups.values():
        wall = group[0].change.wall
        places = places_of(wall, last_vented(wall))
        group = [each for each in group if dryness.known(each.batch, places)[0]]
        if not group:
            continue
        batch = joined([each.batch for each in group])
        u_value = scores(batch, wall.corrections, wall.index_of).u_value
        conditions = wall.conditions
        checked = dryness.dryness(
            batch, places, u_value, climate_of(conditions), demand, wall.element, surface_r(conditions)
        )
        passing += [each for each, passes in zip(group, checked.passes, strict=True) if passes]
    order = {id(each): number for number, each in enumerate(ranked)}
    return sorted(passing, key=lambda each: order[id(each)])
