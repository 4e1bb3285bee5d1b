"""Figures of walls that a search compares and limits, from a WallBatch."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, WallBatch
from ..heat import corrections, steady
from ..score import area, cost, embodied_carbon
from .buildup import Corrections

# Scores are compared in whole steps, so that ties are ties on every machine.
WHOLE_LIFE = "whole_life_kgco2e_m2"
STEPS = {
    "thickness_mm": 100,
    "cost_per_m2": 10_000,
    "carbon_kgco2e_m2": 10_000,
    "weight_kg_m2": 1_000,
    WHOLE_LIFE: 10_000,
}
OBJECTIVES = tuple(STEPS)


@dataclass(frozen=True)
class Scores:
    """Figures of n walls, each (n,)."""

    u_value: Array  # W/m2K with corrections, unrounded; NaN where the method is refused
    thickness_mm: Array
    cost_per_m2: Array
    carbon_kgco2e_m2: Array
    weight_kg_m2: Array
    biogenic_kgco2e_m2: Array
    whole_life_kgco2e_m2: Array  # embodied and the wall's own heat loss over the study period
    u_least: Array  # W/m2K, 1/R' and corrections: conduction through the wall as drawn loses no less

    def of(self, keys: tuple[str, ...]) -> Array:
        """(n, keys) the named figures."""
        return np.stack([getattr(self, key) for key in keys], axis=1)

    def steps(self, keys: tuple[str, ...]) -> NDArray[np.int64]:
        """(n, keys) the named objectives in whole steps."""
        scale = np.array([STEPS[key] for key in keys])
        return np.rint(self.of(keys) * scale).astype(np.int64)


def scores(
    batch: WallBatch, given: Corrections, index_of: Callable[[int | str], int], operational: float = 0.0
) -> Scores:
    """Figures of every wall of a batch. operational: carbon of the heat lost, by U [kgCO2e/m2 per W/m2K]."""
    heat = steady.transmittance(batch)
    u_value = heat.u_bare + correction(given, batch, index_of)
    embodied = embodied_carbon.embodied(batch)
    return Scores(
        np.where(heat.refused, np.nan, u_value),
        np.round(area.thickness(batch) * 1000, 6),  # sums of whole sizes, without the noise of binary fractions
        cost.cost(batch),
        embodied,
        area.weight(batch),
        embodied_carbon.biogenic(batch),
        embodied + operational * u_value,
        np.where(heat.refused, np.nan, u_value - heat.u_bare + 1.0 / heat.r_upper),
    )


def correction(given: Corrections, batch: WallBatch, index_of: Callable[[int | str], int]) -> Array:
    """dU (n,) of the corrections [W/m2K] (ISO 6946); layers by number or role through `index_of`.

    A fastener through a layer that a wall does not have adds nothing.
    """
    total = np.zeros(len(batch))
    if not (given.air_gap_level or given.fastener or given.point):
        return total
    unbridged = steady.unbridged_resistance(batch)
    if given.air_gap_level:
        layer = index_of(given.air_gap_layer)
        total += corrections.air_gap(given.air_gap_level, batch.resistance[:, layer], unbridged)
    for each in given.fastener:
        layer = index_of(each.layer)
        depth = batch.thickness[:, layer]
        added = corrections.fasteners(
            each.number_per_m2,
            each.conductivity_w_mk,
            math.pi / 4 * (each.diameter_mm / 1000) ** 2,
            np.where(depth > 0, depth, 1.0),
            batch.resistance[:, layer],
            unbridged,
            None if each.length_mm is None else each.length_mm / 1000,
        )
        total += np.where(depth > 0, added, 0.0)
    for each in given.point:
        total += corrections.point_bridges(each.number_per_m2, each.chi_w_k)
    return total
