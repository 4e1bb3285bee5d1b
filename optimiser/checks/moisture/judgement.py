"""Moisture as a search must know it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...batch import Array, Index
from ...template import GAP, MAIN_FILLS, PLAIN, SERVICE_ZONE, slot_index
from ...wall.climate import climate_of, surface_r
from ...wall.places import OF_SLOTS
from ...wall.scores import scores
from ..common.search_judgement import Judgement, Reading, Space
from . import dryness
from .demand import MoistureDemand

ALIKE = ("sd", "sd_humid", "resistance", "thickness")


def moisture_judgement(choices: Space, demand: MoistureDemand) -> Judgement:
    """Every layer's resistance and sd is read, in no known direction: only layers alike in both displace each other."""
    brief = choices.brief
    climate, r_si = climate_of(brief.climate), surface_r(brief.climate)

    def alike(name: str) -> Reading:
        return Reading(lambda of: np.stack([of.column[name][key] for key in ALIKE], axis=1), alike=True)

    def passes(of: Space, x: Index) -> NDArray[np.bool_]:
        dry = np.zeros(len(x), bool)
        for rows, batch in of.batches(x):
            u_value = scores(batch, brief.corrections, slot_index).u_value
            dry[rows] = dryness.passes(batch, OF_SLOTS, u_value, climate, demand, r_si)
        return dry

    def lacks(of: Space, x: Index) -> Array:
        missed = np.ones(len(x))
        for rows, batch in of.batches(x):
            missed[rows] = dryness.lacking(batch, OF_SLOTS, demand, r_si)
        return missed

    reads = {name: alike(name) for name in PLAIN}
    reads |= {GAP: None, SERVICE_ZONE: None} | {name: None for name in MAIN_FILLS}
    return Judgement("moisture", reads, passes, lacks=lacks)
