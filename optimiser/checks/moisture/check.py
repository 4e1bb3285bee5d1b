"""The check of moisture."""

from __future__ import annotations

from ..common.check import Check
from .demand import MoistureDemand
from .judgement import moisture_judgement
from .mends import drier, dry
from .sheet import moisture_parts
from .verdict import MoistureVerdict, judge_moisture
from .words import failure, lines, words

MOISTURE: Check[MoistureVerdict, MoistureDemand] = Check(
    name="moisture",
    section="moisture",
    demand=MoistureDemand,
    verdict=judge_moisture,
    judgement=moisture_judgement,
    turn=3,  # the dearest
    words=words,
    failure=failure,
    lines=lines,
    title="Moisture, month by month (ISO 13788)",
    sheet=moisture_parts,
    changes=drier,
    sift=dry,
)
