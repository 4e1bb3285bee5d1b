"""What the checks cost: walls that would be on the front without them, and the check that rules each out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from ..batch import Index
from ..checks.check_table import NAMED, Demands
from ..checks.common.check import OneWall
from ..checks.common.search_judgement import Judgement
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.judgements import passes_all
from ..space.walls import buildup, in_short
from ..stopping import NO_STOP, Stopped, ask, stoppable
from ..wall.scores import WHOLE_LIFE
from . import front
from .archive import Archive
from .complete import Complete

MOST = 500  # walls told of


def ruled_out(archive: Archive, stop: Callable[[], bool] = NO_STOP) -> list[dict[str, Any]] | None:
    """Rows of `ruled_out.csv` for the target of an archive, thinnest first; None when it was stopped on the way.

    The complete front without judgements (but one that settles the target), less the walls that pass them all.
    """
    checks = tuple(each for each in archive.judgements if not each.of_target)
    if not checks:
        return []
    target = tuple(each for each in archive.judgements if each.of_target)
    try:
        with stoppable(stop):
            return _rows(archive, checks, target)
    except Stopped:
        return None


def _rows(archive: Archive, checks: tuple[Judgement, ...], target: tuple[Judgement, ...]) -> list[dict[str, Any]]:
    choices = archive.choices
    free = Complete(choices, archive.target, archive.best_x, target)
    for _ in free.run():
        ask()
    x, _, _ = front.distinct(free.x, free.steps)
    x = x[~passes_all(choices, checks, x)] if len(x) else x
    scores = evaluate(choices, x)
    order = np.lexsort((scores.carbon_kgco2e_m2, scores.cost_per_m2, scores.thickness_mm))[:MOST]
    rows = []
    for number, at in enumerate(order, 1):
        ask()
        check, reason = why(choices, x[at], float(scores.u_value[at]), checks)
        rows.append(
            {
                "id": f"R-{number:03d}",
                "target": archive.target,
                "thickness_mm": float(scores.thickness_mm[at]),
                "cost_per_m2": float(scores.cost_per_m2[at]),
                "carbon_kgco2e_m2": float(scores.carbon_kgco2e_m2[at]),
                WHOLE_LIFE: float(scores.whole_life_kgco2e_m2[at]) if choices.brief.operation else None,
                "check": check,
                "reason": reason,
                "in_short": in_short(choices, x[at]),
            }
        )
    return rows


def why(choices: Choices, row: Index, u_value: float, judgements: tuple[Judgement, ...]) -> tuple[str, str]:
    """The first check that a wall fails, and the figure that fails it, in words."""
    check = NAMED[next(each.name for each in judgements if not each.passes(choices, row[None])[0])]
    one = OneWall.of(buildup(choices, row, "ruled out"), u_value)
    return check.name, check.why(check.verdict(one, Demands.of(choices.brief)[check]))
