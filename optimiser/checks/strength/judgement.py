"""Strength as a search must know it: loads are the brief's, so a stud's utilisation is a property of its option."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from materials.errors import InputError

from ...batch import Array, Index
from ...template import AT
from ..common.search_judgement import Judgement, Reading, Space
from . import standing
from .demand import StrengthDemand

MOST_LACKING = 10.0  # times the limit; an absent frame lacks no more


def strength_judgement(choices: Space, demand: StrengthDemand) -> Judgement:
    """The load-bearing studs: less used is never worse. InputError where a brief has no loads."""
    slot = demand.load_bearing
    if choices.brief.loads is None:
        raise InputError("checks.strength: the brief has no [loads]; give them per metre, or storeys and spans")
    used = utilisation(choices, demand)

    def margin(of: Space) -> Array:
        return -used[:, None]

    def passes(of: Space, x: Index) -> NDArray[np.bool_]:
        return used[x[:, AT[slot]]] <= 1.0

    def lacks(of: Space, x: Index) -> Array:
        return np.minimum(used[x[:, AT[slot]]], MOST_LACKING) - 1.0

    return Judgement("strength", {slot: Reading(margin)}, passes, {slot: used > 1.0}, lacks)


def utilisation(choices: Space, demand: StrengthDemand) -> Array:
    """(options,) largest utilisation of every option of the load-bearing frame; infinite for an absent one."""
    slot = demand.load_bearing
    used = np.full(len(choices.options[slot]), np.inf)
    rows = [number for number, option in enumerate(choices.options[slot]) if option.present]
    options = [choices.options[slot][number] for number in rows]
    if not options:
        return used
    classes = []
    for option in options:
        if option.material.strength_class is None:
            raise InputError(f'checks.strength: "{option.material.key}" has no strength_class')
        classes.append(option.material.strength_class)
    widths = np.array([option.stock.products[0].width_mm / 1000 for option in options])
    spacings = np.array([_spacing(choices, slot, option) for option in options])
    depths = np.array([option.thickness for option in options])
    used[rows] = standing.check(depths, widths, spacings, classes, choices.brief.loads, demand).largest
    return used


def _spacing(choices: Space, slot: str, option) -> float:
    """Where frames are given by fraction the slot's first spacing stands [m]."""
    given = choices.brief.framing.fraction is not None
    return choices.brief.slot(slot).spacing_mm[0] / 1000 if given else option.spacing
