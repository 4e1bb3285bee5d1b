"""A whole search: brief in, study folder out; the command, the worker process and the tests all call this."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from materials.catalogue import load_catalogue

from ..brief import Brief
from ..choices import VARIABLES, Choices
from ..rules import space_size
from ..slots import pricing_of
from . import study
from .archive import Archive
from .evolve import Evolution, Progress
from .shortfall import Shortfall, explain, nothing_builds
from .space import undominated


@dataclass
class Outcome:
    """How a search ended: a summary (the content of study.json), or the shortfalls when no target could be met."""

    summary: dict[str, Any]
    archives: list[Archive] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)

    @property
    def found(self) -> bool:
        return bool(self.archives)


Watch = Callable[[Progress, Archive], None]


def search(
    brief: Brief,
    source: Path,
    watch: Watch | None = None,
    cancelled: Callable[[], bool] = lambda: False,
    states: dict[float, dict[str, Any]] | None = None,
    keep: Callable[[float, dict[str, Any]], None] | None = None,
) -> Outcome:
    """Search every target of a brief.

    source: the folder that the brief's price lists stand in. watch: called after every generation. states: by target,
    where an earlier search stopped; keep: is handed the state to save, now and then and at the end.
    """
    started = time.monotonic()
    catalogue = load_catalogue()
    pricing, digests = pricing_of(brief, source, catalogue)
    choices = Choices(brief, catalogue, pricing)
    size = space_size(choices)
    outcome = Outcome(_summary(brief, choices, size, digests))
    evaluations, stopped, spent = 0, "stagnation", 0.0
    for target in brief.target.all:
        if size == 0:
            outcome.shortfalls.append(Shortfall(target, [nothing_builds(choices)], None))
            continue
        evolution = Evolution(choices, target, (states or {}).get(target))
        spent += evolution.spent
        stopped = _drive(evolution, watch, cancelled, keep)
        evaluations += len(evolution.archive)
        if len(evolution.archive.best_x):
            outcome.archives.append(evolution.archive)
        else:
            outcome.shortfalls.append(explain(evolution.archive))
        if cancelled():
            break
    outcome.summary |= {
        "evaluations": evaluations,
        "seconds": round(spent + time.monotonic() - started, 3),
        "stopped": stopped,
        "front_size": sum(len(each.best_x) for each in outcome.archives),
    }
    return outcome


def _drive(evolution: Evolution, watch: Watch | None, cancelled: Callable[[], bool], keep) -> str:
    """Run one evolution to its end; says why it ended."""
    saved = time.monotonic()
    for progress in evolution.run():
        if watch is not None:
            watch(progress, evolution.archive)
        if keep is not None and time.monotonic() - saved > 2.0:
            keep(evolution.target, evolution.state())
            saved = time.monotonic()
        if cancelled():
            break
    if keep is not None and evolution.generation:
        keep(evolution.target, evolution.state())
    if cancelled():
        return "cancelled"
    return "stagnation" if evolution.stagnant >= evolution.budget.stagnation else "budget"


def _summary(brief: Brief, choices: Choices, size: int, digests: dict[str, str]) -> dict[str, Any]:
    return {
        "version": study.VERSION,
        "name": brief.name,
        "catalogue": choices.catalogue.digest,
        "price_lists": digests,
        "seed": brief.seed.value,
        "targets": list(brief.target.all),
        "objectives": list(brief.objectives.minimise),
        "limits": brief.limits.model_dump(exclude_none=True),
        "space_size": size,
        "options": {name: int(count) for name, count in zip(VARIABLES, choices.sizes, strict=True)},
        "undominated": undominated(choices),
        "complete": False,
    }


def save(outcome: Outcome, source: Path, folder: Path) -> None:
    """Write the study of a search that found walls."""
    study.write_study(folder, outcome.archives, source, outcome.summary)
