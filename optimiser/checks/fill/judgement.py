"""Blown fills as a search must know them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ...batch import Array, Index
from ...fill import practice as fill
from ...template import (
    AIRTIGHT,
    AT,
    BEFORE_AIRTIGHT,
    BEFORE_GAP,
    GAP,
    GAP_FILL,
    INNER_FILL,
    INNER_FRAME,
    MAIN_FILLS,
    OUTER_FILL,
    SERVICE_ZONE,
    ZONE,
)
from ..common.search_judgement import Judgement, Reading, Space
from .demand import FillDemand
from .voids import practice


def fill_judgement(choices: Space, demand: FillDemand) -> Judgement:
    """Blown voids that can be filled, membranes that hold, no batts about ties (common practice)."""
    limits = practice(demand)

    def passes(of: Space, x: Index) -> NDArray[np.bool_]:
        fine = _held(of, x) & fill.laid_evenly(_batts(of, x), of.tied(x))
        depths = of.void_depths(x)
        for name in MAIN_FILLS:
            thickness = of.take(ZONE[name], "thickness", x)
            blown = of.kinds[name].loose[x[:, AT[name]]] & (thickness > 0)
            fine &= fill.can_be_filled(depths[name], _bay(of, ZONE[name], x), limits) | ~blown
        return fine

    reads: dict[str, Reading | None] = {GAP: None, SERVICE_ZONE: None, AIRTIGHT: Reading(_support, alike=True)}
    reads |= {name: Reading(lambda of, slot=name: _there(of, slot)) for name in BEFORE_AIRTIGHT}
    return Judgement("fill", reads, passes)


def _bay(choices: Space, zone: str, x: Index) -> Array:
    """(n,) clear width between the studs of a zone [m]; NaN where none stand, or nobody says where."""
    if zone == GAP or choices.brief.framing.fraction is not None:
        return np.full(len(x), math.nan)
    return choices.take(zone, "spacing", x) - choices.take(zone, "width", x)


def _batts(choices: Space, x: Index) -> NDArray[np.bool_]:
    """(n,) walls whose gap is laid with batts."""
    kinds, option = choices.kinds[GAP_FILL], x[:, AT[GAP_FILL]]
    return (choices.take(GAP, "thickness", x) > 0) & ~kinds.loose[option] & ~kinds.air[option]


def _support(choices: Space) -> Array:
    """(options, 1) widest spacing of battens [m] at which an airtight layer holds a blown fill; boards hold at any."""
    spans = [
        math.inf
        if not option.present or option.material.blown_support_mm is None
        else option.material.blown_support_mm / 1000
        for option in choices.options[AIRTIGHT]
    ]
    return np.array(spans)[:, None]


def _there(choices: Space, slot: str) -> Array:
    """(options, 1) 1 where a slot is filled: a board before the airtight layer takes the fill's pressure off it."""
    return choices.column[slot]["present"].astype(float)[:, None]


def _held(choices: Space, x: Index) -> NDArray[np.bool_]:
    """(n,) walls whose membrane, where a blown fill presses on it, has battens close enough behind it.

    Without a service zone the lining lies against it.
    """
    twin = choices.flag(INNER_FRAME, "present", x)
    outer, inner = (choices.kinds[name].loose[x[:, AT[name]]] for name in (OUTER_FILL, INNER_FILL))
    pressed = np.where(twin, inner, outer & ~choices.any_present(BEFORE_GAP, x))
    pressed &= ~choices.any_present(BEFORE_AIRTIGHT, x)
    battens = choices.flag(SERVICE_ZONE, "present", x)
    support = _support(choices)[x[:, AT[AIRTIGHT]], 0]
    return ~(pressed & battens) | fill.membrane_holds(choices.take(SERVICE_ZONE, "spacing", x), support)
