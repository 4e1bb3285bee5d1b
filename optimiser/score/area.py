"""Thickness, weight and the floor area that a wall takes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..batch import Array, WallBatch


def thickness(batch: WallBatch) -> Array:
    """Thickness from cladding to lining (n,) [m]."""
    return batch.thickness.sum(axis=1)


def weight(batch: WallBatch) -> Array:
    """Mass per m2 of wall (n,) [kg/m2]."""
    return per_layer(batch, "mass").sum(axis=1)


def per_layer(batch: WallBatch, quantity: str) -> Array:
    """What each layer holds per m2 of wall (n, L): its plain part by its share, its members by theirs.

    quantity: "mass" [kg/m2], "price" or "labour" [currency/m2], "carbon" or "biogenic" [kgCO2e/m2].
    """
    held = batch.plain_share() * getattr(batch, quantity)
    for each in batch.members:
        held[:, each.layer] += each.fraction * getattr(each, quantity)
    return held


def floor_area_lost(thickness: ArrayLike, perimeter: float, storeys: int = 1, corners: int = 4) -> NDArray[np.float64]:
    """Floor area [m2] that walls of a thickness [m] take from a right-angled house of fixed outside size.

    P t - c t^2 on every storey, c the convex less the re-entrant corners (4 for every simple right-angled polygon);
    exact while the walls do not meet across the house. perimeter: P [m], outside. Openings do not reduce it.
    """
    t = np.asarray(thickness, float)
    return storeys * (perimeter * t - corners * t**2)
