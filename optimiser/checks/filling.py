"""Whether blown fills can be filled so that they do not settle: every void of a wall against common practice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..fill import practice as fill
from .demands import FillDemand


@dataclass(frozen=True)
class Void:
    """One void of one wall: depth through the wall, volume between its members per m2, clear bay, all in m."""

    layers: tuple[int, ...]
    depth: float
    volume: float
    bay: float
    density: float  # kg/m3, against settling at this depth


def practice(demand: FillDemand) -> fill.Practice:
    return fill.Practice(
        chamber_height=demand.chamber_height_mm / 1000,
        narrowest=demand.narrowest_mm / 1000,
        deepest=demand.deepest_mm / 1000,
        widest=demand.widest_mm / 1000,
        bag_mass=demand.bag_kg,
    )


def needs(voids: list[Void], height: float, demand: FillDemand) -> fill.FillNeeds:
    """What the voids of a wall need, one after another. height: between plates [m]."""
    columns = [[getattr(each, name) for each in voids] for name in ("depth", "volume", "bay", "density")]
    depth, volume, bay, density = (np.array(column, float) for column in columns)
    return fill.needs(depth, volume, height, bay, density, practice(demand))
