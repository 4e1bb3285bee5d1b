"""What could mend studs that do not stand: deeper or wider ones, or closer ones."""

from __future__ import annotations

import numpy as np

from ...wall.assemble import last_vented
from ...wall.buildup import BuildUp
from ...wall.places import places_of
from ..common.changes import SAME, SPACINGS_MM, Change, Shelf, other_spacings, other_studs
from . import standing
from .demand import StrengthDemand
from .verdict import StrengthVerdict


def stronger(wall: BuildUp, shelf: Shelf, demand: StrengthDemand, verdict: StrengthVerdict) -> list[Change]:
    """Studs no shallower and no narrower, or closer, that stand by the check itself."""
    number = standing.bearing_layer(places_of(wall, last_vented(wall)), demand)
    layer = wall.layers[number]
    closer = [each for each in SPACINGS_MM if each < layer.frame.spacing_mm - SAME]
    changes = other_studs(wall, number, shelf, layer.thickness_mm, least_width_mm=layer.frame.width_mm)
    changes += other_spacings(wall, number, closer)
    return [each for each in changes if _stands(each.wall, number, demand)]


def _stands(wall: BuildUp, number: int, demand: StrengthDemand) -> bool:
    layer = wall.layers[number]
    strength_class = wall.of(layer.frame.material).strength_class
    if strength_class is None:
        return False
    size = [np.array([each / 1000]) for each in (layer.thickness_mm, layer.frame.width_mm, layer.frame.spacing_mm)]
    return bool(standing.check(*size, [strength_class], wall.loads, demand).passes[0])
