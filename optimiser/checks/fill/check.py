"""The check of blown fills."""

from __future__ import annotations

from ..common.check import Check
from .demand import FillDemand
from .judgement import fill_judgement
from .mends import fillable
from .sheet import fill_parts
from .verdict import FillVerdict, judge_fill
from .words import failure, lines, words, working

FILL: Check[FillVerdict, FillDemand] = Check(
    name="fill",
    section="filling",
    demand=FillDemand,
    verdict=judge_fill,
    judgement=fill_judgement,
    turn=2,
    words=words,
    failure=failure,
    lines=lines,
    working=working,
    title="Blown fill (common practice)",
    sheet=fill_parts,
    changes=fillable,
)
