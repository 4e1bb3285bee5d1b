"""The load-bearing studs of one wall, judged: a batch of one through the preliminary check."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

import numpy as np

from materials.errors import InputError

from ...strength.national_parameters import CAUTION
from ..common.check import NotJudged, OneWall, Verdict
from . import standing
from .demand import StrengthDemand


@dataclass(frozen=True)
class CaseUsed:
    """How much of the stud one check uses under one combination of loads."""

    combination: str
    check: str
    utilisation: float


@dataclass(frozen=True, kw_only=True)
class StrengthVerdict(Verdict):
    """The load-bearing studs of one wall."""

    utilisation: float
    governing: str
    load_bearing: str
    k_c_y: float
    k_c_z: float
    cases: tuple[CaseUsed, ...]
    caution: ClassVar[str] = CAUTION

    def as_json(self) -> dict[str, Any]:
        return asdict(self) | {"cases": [asdict(each) for each in self.cases], "caution": self.caution}


def judge_strength(one: OneWall, demand: StrengthDemand) -> StrengthVerdict | NotJudged:
    """Judge one wall; why not where loads, studs or their class are not known. InputError for impossible loads."""
    wall = one.wall
    number = standing.bearing_layer(one.places, demand)
    frame = None if number is None else wall.layers[number].frame
    if wall.loads is None:
        return NotJudged("the file gives no [loads]")
    if frame is None or frame.width_mm is None:
        return NotJudged("no studs of known size bear the load")
    strength_class = one.parts[number].member_stock.material.strength_class
    if strength_class is None:
        return NotJudged(f'material "{frame.material}" has no strength_class')
    size = [np.array([value / 1000]) for value in (wall.layers[number].thickness_mm, frame.width_mm, frame.spacing_mm)]
    try:
        studs = standing.check(*size, [strength_class], wall.loads, demand)
    except ValueError as error:
        raise InputError(f"loads: {error}") from None
    return StrengthVerdict(
        passes=bool(studs.passes[0]),
        utilisation=float(studs.largest[0]),
        governing=studs.governing_words(0),
        load_bearing=f"{demand.load_bearing}, {strength_class}",
        k_c_y=float(studs.k_c_y[0]),
        k_c_z=float(studs.k_c_z[0]),
        cases=tuple(CaseUsed(case.combination, case.check, value) for case, value in studs.of(0)),
    )
