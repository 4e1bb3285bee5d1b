"""What could mend a void that cannot be filled: another depth of gap or members, another spacing."""

from __future__ import annotations

import numpy as np

from ...wall.buildup import BuildUp
from ..common.changes import SAME, SPACINGS_MM, Change, Shelf, other_gap, other_spacings, other_studs
from .demand import FillDemand
from .verdict import FillVerdict


def fillable(wall: BuildUp, shelf: Shelf, demand: FillDemand, verdict: FillVerdict) -> list[Change]:
    """A gap or members of another depth where a void is too shallow or too deep; another spacing for its bays."""
    changes: list[Change] = []
    for void in verdict.voids:
        if void.reason is None:
            continue
        by = min(demand.deepest_mm - void.depth_mm, 0.0) or max(demand.narrowest_mm - void.depth_mm, 0.0)
        for number in (each - 1 for each in void.layers):
            layer = wall.layers[number]
            if layer.frame is None and abs(by) > SAME:
                changes += other_gap(wall, number, by, shelf)
            elif abs(by) > SAME:
                least, most = (layer.thickness_mm + by, np.inf) if by > 0 else (0.0, layer.thickness_mm + by)
                changes += other_studs(wall, number, shelf, least, most, layer.frame.width_mm or 0.0)
            elif layer.frame is not None and layer.frame.width_mm is not None:
                width = layer.frame.width_mm
                fits = [each for each in SPACINGS_MM if demand.narrowest_mm <= each - width <= demand.widest_mm]
                changes += other_spacings(
                    wall, number, [each for each in fits if abs(each - layer.frame.spacing_mm) > SAME]
                )
    return changes
