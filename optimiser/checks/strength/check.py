"""The check of strength."""

from __future__ import annotations

from ..common.check import Check
from .demand import StrengthDemand
from .judgement import strength_judgement
from .mends import stronger
from .sheet import strength_parts
from .verdict import StrengthVerdict, judge_strength
from .words import failure, lines, words, working

STRENGTH: Check[StrengthVerdict, StrengthDemand] = Check(
    name="strength",
    section="strength",
    demand=StrengthDemand,
    verdict=judge_strength,
    judgement=strength_judgement,
    turn=1,  # one table look-up
    words=words,
    failure=failure,
    lines=lines,
    working=working,
    title="Strength of the load-bearing studs (EN 1995-1-1)",
    sheet=strength_parts,
    changes=stronger,
)
