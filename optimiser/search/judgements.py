"""The judgements besides heat that a brief asks for, ready for a search: what each reads, and which walls pass."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from materials.errors import InputError

from ..batch import Array, Index
from ..checks import dryness as moisture
from ..checks import standing
from ..checks.filling import practice
from ..checks.judgement import Judgement, Reading
from ..space.choices import Choices
from ..space.evaluate import excess
from ..template import (
    AIRTIGHT,
    AT,
    GAP,
    GAP_FILL,
    INNER_FILL,
    INNER_FRAME,
    MAIN_FILLS,
    OUTER_FILL,
    PLAIN,
    SERVICE_ZONE,
    ZONE,
    slot_index,
)
from ..wall.climate import climate_of, surface_r
from ..wall.places import OF_SLOTS
from ..wall.scores import Scores, scores
from .settled_target import numeric

MOST_LACKING = 10.0  # times the limit; an absent frame lacks no more


def judgements(choices: Choices) -> tuple[Judgement, ...]:
    """The judgements that the brief's [checks] and [numeric] switch on, the cheapest first."""
    wanted = choices.brief.checks
    found = []
    if wanted.strength:
        found.append(_strength(choices))
    if wanted.fill:
        found.append(_fill(choices))
    if wanted.moisture:
        found.append(_moisture(choices))
    if choices.brief.numeric.constraint:
        found.append(numeric(choices))
    return tuple(found)


def passes_all(choices: Choices, asked: tuple[Judgement, ...], x: Index) -> NDArray[np.bool_]:
    """(n,) rows that every judgement passes; later ones see only rows that passed the earlier ones."""
    alive = np.ones(len(x), bool)
    for each in asked:
        rows = np.flatnonzero(alive)
        if len(rows):
            alive[rows] = each.passes(choices, x[rows])
    return alive


def _strength(choices: Choices) -> Judgement:
    """The load-bearing studs: the loads are the brief's, so their utilisation is a property of the frame's option."""
    brief = choices.brief
    slot = brief.strength.load_bearing
    if brief.loads is None:
        raise InputError("checks.strength: the brief has no [loads]; give them per metre, or storeys and spans")
    used = utilisation(choices)

    def margin(of: Choices) -> Array:
        return -used[:, None]

    def passes(of: Choices, x: Index) -> NDArray[np.bool_]:
        return used[x[:, AT[slot]]] <= 1.0

    def lacks(of: Choices, x: Index) -> Array:
        return np.minimum(used[x[:, AT[slot]]], MOST_LACKING) - 1.0

    return Judgement("strength", {slot: Reading(margin)}, passes, {slot: used > 1.0}, lacks)


def utilisation(choices: Choices) -> Array:
    """(options,) largest utilisation of every option of the load-bearing frame; infinite for an absent one."""
    brief = choices.brief
    slot = brief.strength.load_bearing
    found = np.full(len(choices.options[slot]), np.inf)
    rows = [number for number, option in enumerate(choices.options[slot]) if option.present]
    options = [choices.options[slot][number] for number in rows]
    if not options:
        return found
    classes = []
    for option in options:
        if option.material.strength_class is None:
            raise InputError(f'checks.strength: "{option.material.key}" has no strength_class')
        classes.append(option.material.strength_class)
    widths = np.array([option.stock.products[0].width_mm / 1000 for option in options])
    spacings = np.array([_spacing(choices, slot, option) for option in options])
    depths = np.array([option.thickness for option in options])
    found[rows] = standing.check(depths, widths, spacings, classes, brief.loads, brief.strength).largest
    return found


def _spacing(choices: Choices, slot: str, option) -> float:
    """Where frames are given by fraction the slot's first spacing stands [m]."""
    given = choices.brief.framing.fraction is not None
    return choices.brief.slot(slot).spacing_mm[0] / 1000 if given else option.spacing


def _fill(choices: Choices) -> Judgement:
    """Blown voids neither too shallow nor too deep, bays neither too narrow nor too wide (common practice)."""
    limits = practice(choices.brief.filling)
    close = 1e-9

    def passes(of: Choices, x: Index) -> NDArray[np.bool_]:
        fine = np.ones(len(x), bool)
        for name, depth in of.void_depths(x).items():
            if name not in MAIN_FILLS:
                continue
            zone = ZONE[name]
            thickness = of.take(zone, "thickness", x)
            blown = of.kinds[name].loose[x[:, AT[name]]] & (thickness > 0)
            fits = (depth >= limits.narrowest - close) & (depth <= limits.deepest + close)
            if zone != GAP and of.brief.framing.fraction is None:
                bay = of.take(zone, "spacing", x) - of.take(zone, "width", x)
                fits &= (bay >= limits.narrowest - close) & (bay <= limits.widest + close)
            fine &= fits | ~blown
        return fine & _held(of, x) & ~_batts_about_ties(of, x)

    return Judgement("fill", {GAP: None, SERVICE_ZONE: None, AIRTIGHT: Reading(_support, alike=True)}, passes)


def _batts_about_ties(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) walls whose gap is laid with batts although tie plates cross it: the void is uneven."""
    gap = choices.take(GAP, "thickness", x) > 0
    kinds, fill = choices.kinds[GAP_FILL], x[:, AT[GAP_FILL]]
    return gap & choices.tied(x) & ~kinds.loose[fill] & ~kinds.air[fill]


def _support(choices: Choices) -> Array:
    """(options, 1) widest spacing of battens [m] at which an airtight layer holds a blown fill; boards hold at any."""
    spans = [
        math.inf
        if not option.present or option.material.blown_support_mm is None
        else option.material.blown_support_mm / 1000
        for option in choices.options[AIRTIGHT]
    ]
    return np.array(spans)[:, None]


def _held(choices: Choices, x: Index) -> NDArray[np.bool_]:
    """(n,) walls whose membrane, where a blown fill presses on it, has battens close enough behind it.

    Without a service zone the lining lies against it.
    """
    twin = choices.flag(INNER_FRAME, "present", x)
    outer, inner = (choices.kinds[name].loose[x[:, AT[name]]] for name in (OUTER_FILL, INNER_FILL))
    pressed = np.where(twin, inner, outer & ~choices.flag("outer gap board", "present", x))
    spacing = choices.take(SERVICE_ZONE, "spacing", x)
    battens = choices.flag(SERVICE_ZONE, "present", x)
    return ~(pressed & battens) | (spacing <= _support(choices)[x[:, AT[AIRTIGHT]], 0] + 1e-9)


def _moisture(choices: Choices) -> Judgement:
    """Every layer's resistance and sd is read, in no known direction: only layers alike in both displace each other."""
    brief = choices.brief
    climate = climate_of(brief.climate)

    def alike(name: str) -> Reading:
        keys = ("sd", "sd_humid", "resistance", "thickness")
        return Reading(lambda of: np.stack([of.column[name][key] for key in keys], axis=1), alike=True)

    def passes(of: Choices, x: Index) -> NDArray[np.bool_]:
        found = np.zeros(len(x), bool)
        for rows, batch in of.batches(x):
            u_value = scores(batch, brief.corrections, slot_index).u_value
            found[rows] = moisture.passes(batch, OF_SLOTS, u_value, climate, brief.moisture, surface_r(brief.climate))
        return found

    def lacks(of: Choices, x: Index) -> Array:
        found = np.ones(len(x))
        for rows, batch in of.batches(x):
            found[rows] = moisture.lacking(batch, OF_SLOTS, brief.moisture, surface_r(brief.climate))
        return found

    reads = {name: alike(name) for name in PLAIN}
    reads |= {GAP: None, SERVICE_ZONE: None} | {name: None for name in MAIN_FILLS}
    return Judgement("moisture", reads, passes, lacks=lacks)


def holding(choices: Choices, x: Index, scores: Scores, target: float) -> NDArray[np.bool_]:
    """(n,) rows that hold target and limits and pass every check."""
    found = (excess(scores, choices.brief, target) <= 0).all(axis=1)
    for each in judgements(choices):
        rows = np.flatnonzero(found)
        if len(rows):
            found[rows] = each.passes(choices, x[rows])
    return found
