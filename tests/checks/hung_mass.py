"""A check to try the recipe with: the mass of the layers hung outside the studs, per m2 of wall.

Not part of the product: the test puts this module into the room of checks and one line into the table.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from materials.errors import Checked
from materials.models import Positive

from ..batch import WallBatch
from ..score import area
from ..template import AT, OUTER_FRAME, SLOTS
from ..wall.places import OF_SLOTS
from .common.check import Check, NotJudged, OneWall, Verdict
from .common.search_judgement import Judgement, Reading, Space

OUTSIDE = SLOTS[: AT[OUTER_FRAME]]


class HungMassDemand(Checked):
    """The most that may hang outside the studs."""

    max_kg_m2: Positive = 40.0


@dataclass(frozen=True, kw_only=True)
class HungMassVerdict(Verdict):
    """The mass outside the studs, against its limit [kg/m2]."""

    hung_kg_m2: float
    limit_kg_m2: float


def hung(batch: WallBatch, outer_frame: int):
    """(n,) mass outside the outer frame [kg/m2]."""
    return area.per_layer(batch, "mass")[:, :outer_frame].sum(axis=1)


def judge_hung_mass(one: OneWall, demand: HungMassDemand) -> HungMassVerdict | NotJudged:
    if one.places.outer_frame is None:
        return NotJudged("no studs are known")
    mass = float(hung(one.batch, one.places.outer_frame)[0])
    return HungMassVerdict(passes=mass <= demand.max_kg_m2, hung_kg_m2=mass, limit_kg_m2=demand.max_kg_m2)


def hung_mass_judgement(choices: Space, demand: HungMassDemand) -> Judgement:
    def masses(of: Space, x):
        found = np.zeros(len(x))
        for rows, batch in of.batches(x):
            found[rows] = hung(batch, OF_SLOTS.outer_frame)
        return found

    def lightness(name: str) -> Reading:
        def read(of: Space):
            column = of.column[name]
            share = column["width"] / column["spacing"] + column["extra"] if column["width"].any() else 1.0
            return -(share * column["mass"])[:, None]

        return Reading(read)

    return Judgement(
        "hung_mass",
        {name: lightness(name) for name in OUTSIDE},
        lambda of, x: masses(of, x) <= demand.max_kg_m2,
        lacks=lambda of, x: masses(of, x) / demand.max_kg_m2 - 1.0,
    )


def words(verdict: HungMassVerdict) -> str:
    return f"{verdict.hung_kg_m2:.1f} kg/m2 outside the studs, at most {verdict.limit_kg_m2:g}"


HUNG_MASS = Check(
    name="hung_mass",
    section="hung_mass",
    demand=HungMassDemand,
    verdict=judge_hung_mass,
    judgement=hung_mass_judgement,
    words=words,
)
