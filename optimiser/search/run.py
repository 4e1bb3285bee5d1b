"""A whole search: brief in, study folder out; the command, the worker process and the tests all call this."""

from __future__ import annotations

import hashlib
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..batch import Index
from ..brief.brief import Brief, brief_to_toml
from ..brief.own_materials import catalogue_of
from ..brief.price_lists import dated, pricing_of
from ..space.buildable import space_size
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.left_out import left_out
from ..stopping import NO_STOP
from ..template import VARIABLES
from . import study
from .archive import Archive
from .complete import Complete
from .parallel import complete
from .ruled_out import ruled_out
from .shortfall import Shortfall, explain, nothing_builds
from .space import undominated
from .stability import stability
from .tally import Progress, Settled, Tally

if TYPE_CHECKING:
    from .evolution import Evolution


@dataclass
class Outcome:
    """How a search ended: a summary (the content of study.json), or the shortfalls when no target could be met.

    Cancelled, it has neither archive nor shortfall for targets of which no wall was found until then.
    """

    summary: dict[str, Any]
    archives: list[Archive] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    ruled_out: list[dict[str, Any]] = field(default_factory=list)  # rows of ruled_out.csv

    @property
    def has_front(self) -> bool:
        return bool(self.archives)


SPENT = "the budget was spent before the space was settled: there may be one that was not looked at"
LOOK = 0.3  # s between looks at a proof that is under way
Watch = Callable[[Progress, Archive], None]
Keep = Callable[[float, dict[str, Any]], None]
States = dict[float, dict[str, Any]]


@dataclass
class Supervisor:
    """What a search is given by whoever runs it.

    watch: called as it goes; cancelled: asked as it goes; states: by target, where an earlier search stopped, or asked
    for with the mark of what is searched (`mark_of`); keep: is handed the state to save, now and then and at the end.
    """

    watch: Watch | None = None
    cancelled: Callable[[], bool] = NO_STOP
    states: States | Callable[[str], States] = field(default_factory=dict)
    keep: Keep | None = None

    def states_of(self, summary: dict[str, Any], brief: Brief) -> States:
        """Where to go on from, by target."""
        return self.states(mark_of(summary, brief)) if callable(self.states) else self.states


def search(
    brief: Brief,
    source: Path,
    watch: Watch | None = None,
    cancelled: Callable[[], bool] = NO_STOP,
    states: States | Callable[[str], States] | None = None,
    keep: Keep | None = None,
) -> Outcome:
    """Search every target of a brief; the arguments after `source` are those of `Supervisor`.

    source: the folder that the brief's price lists stand in.
    """
    from .evolution import Evolution  # slow to import, and needed only here

    supervisor = Supervisor(watch, cancelled, states or {}, keep)
    started = time.monotonic()
    catalogue = catalogue_of(brief)
    pricing, digests = pricing_of(brief, source, catalogue)
    brief = dated(brief, pricing)
    choices = Choices(brief, catalogue, pricing)
    size = space_size(choices)
    outcome = Outcome(_summary(brief, choices, size, digests))
    states = supervisor.states_of(outcome.summary, brief)
    evaluations, stopped, spent, proofs = 0, "complete", 0.0, []
    for target in brief.target.all:
        if size == 0:
            outcome.shortfalls.append(Shortfall(target, [nothing_builds(choices)], None))
            continue
        evolution = Evolution(_quick(choices), target, states.get(target))
        spent += evolution.spent
        stopped = _evolve(evolution, supervisor)
        seeds = evolution.archive.best_x.copy()
        if brief.numeric.constraint:
            seeds = _combined(evolution, seeds, supervisor)
            evolution.choices, evolution.archive = choices, Archive(choices, target)
        archive = evolution.archive
        evaluations += len(archive)
        if brief.search.complete:
            cancelled = stopped == "cancelled"
            proof, stopped = (_unproven(target), stopped) if cancelled else _prove(evolution, seeds, supervisor)
            evaluations += proof["evaluated"]
            proofs.append(proof)
        if not _add(outcome, evolution, stopped, supervisor):
            stopped = "cancelled"
        if supervisor.cancelled():
            break
    outcome.summary |= {
        "evaluations": evaluations,
        "seconds": round(spent + time.monotonic() - started, 3),
        "stopped": stopped,
        "front_size": sum(len(each.best_x) for each in outcome.archives),
        "complete": len(proofs) == len(brief.target.all) and all(each["share"] == 1.0 for each in proofs),
        "proof": proofs,
        "ruled_out": dict(Counter(row["check"] for row in outcome.ruled_out)),
    }
    return outcome


def _add(outcome: Outcome, evolution: Evolution, stopped: str, supervisor: Supervisor) -> bool:
    """Add what a target came to, with what is said of its front besides; whether that was not cut short by a cancel."""
    archive, brief = evolution.archive, evolution.choices.brief
    stop = _stop(evolution, supervisor)
    whole = True
    if stopped == "complete" and brief.search.complete:
        kept_off = ruled_out(archive, stop)
        outcome.ruled_out += kept_off or []
        whole = kept_off is not None
    if not len(archive.best_x):
        if not supervisor.cancelled():
            unsettled = brief.search.complete and stopped != "complete"
            short = _short(archive)
            outcome.shortfalls.append(replace(short, reasons=[SPENT, *short.reasons]) if unsettled else short)
        return whole or not supervisor.cancelled()
    if not brief.numeric.constraint:  # else every swap of every wall would have to be solved
        archive.stability = stability(archive, stop)
        whole = whole and archive.stability is not None
    outcome.archives.append(archive)
    return whole or not supervisor.cancelled()


def _stop(evolution: Evolution, supervisor: Supervisor) -> Callable[[], bool]:
    """Whether the work on a target is to end: it was cancelled, or its time is spent."""
    return lambda: supervisor.cancelled() or evolution.budget.over(evolution.seconds)


def _evolve(evolution: Evolution, supervisor: Supervisor) -> str:
    """Run one evolution to its end, or as far as a start for the proof; says why it ended."""
    budget, saved = evolution.budget, time.monotonic()
    most = budget.start_generations if budget.complete else budget.generations
    while not evolution.finished() and evolution.generation < most:
        progress = evolution.next()
        if supervisor.watch is not None:
            supervisor.watch(progress, evolution.archive)
        if supervisor.keep is not None and time.monotonic() - saved > 2.0:
            supervisor.keep(evolution.target, evolution.state())
            saved = time.monotonic()
        if supervisor.cancelled():
            break
    if supervisor.keep is not None and evolution.generation:
        supervisor.keep(evolution.target, evolution.state())
    if supervisor.cancelled():
        return "cancelled"
    return "stagnation" if evolution.stagnant >= budget.stagnation else "budget"


def _quick(choices: Choices) -> Choices:
    """The choices by the combined method where the numerical U decides: what an evolution can afford to ask."""
    brief = choices.brief
    if not brief.numeric.constraint:
        return choices
    combined = brief.numeric.model_copy(update={"constraint": False})
    return Choices(brief.model_copy(update={"numeric": combined}), choices.catalogue, choices.pricing)


def _combined(evolution: Evolution, seeds: Index, supervisor: Supervisor) -> Index:
    """The front by the combined method, as far as time allows: nearly all of it passes, so little is left to solve."""
    stop = _stop(evolution, supervisor)
    if stop():
        return seeds
    *_, (_, proving) = complete(evolution.choices, evolution.target, seeds, evolution.budget.workers, stop)
    return proving.x if len(proving.x) else seeds


def _short(archive: Archive) -> Shortfall:
    if archive.choices.brief.numeric.constraint:
        words = "no wall's numerical U-value is proven to meet the target (numeric.constraint)"
        return Shortfall(archive.target, [words], None)
    return explain(archive)


def _prove(evolution: Evolution, seeds: Index, supervisor: Supervisor) -> tuple[dict[str, Any], str]:
    """Settle the whole space from what the evolution found; the archive then holds the complete front.

    Stopped early, it holds what was found until then, and the proof says how much of the space is settled.
    """
    choices, archive, workers = evolution.choices, evolution.archive, evolution.budget.workers

    def look(standing: Settled, proving: Complete) -> None:
        _take_over(archive, proving)
        if supervisor.watch is not None:
            supervisor.watch(replace(evolution.progress(), settled=standing.share, still=standing.still), archive)

    looked = time.monotonic()
    for standing, proving in complete(choices, archive.target, seeds, workers, _stop(evolution, supervisor)):
        if time.monotonic() - looked >= LOOK:
            look(standing, proving)
            looked = time.monotonic()
    look(standing, proving)
    if supervisor.keep is not None and len(archive):  # an archive begun anew must not take the place of a full one
        supervisor.keep(evolution.target, evolution.state())
    proof = {
        "target": archive.target,
        "share": standing.share,
        "still": standing.still,
        "evaluated": proving.tally.evaluated,
        "excluded": dict(proving.tally.excluded),
        "released": proving.tally.released,
        "ruled_out": dict(proving.tally.ruled_out),
        "seconds": round(standing.seconds, 3),
    }
    if standing.share == 1.0:
        return proof, "complete"
    return proof, "cancelled" if supervisor.cancelled() else "budget"


def _unproven(target: float) -> dict[str, Any]:
    """The proof of a target that was cancelled before it began."""
    nothing = {"share": 0.0, "still": None, "evaluated": 0, "excluded": Tally().excluded, "released": 0}
    return {"target": target} | nothing | {"ruled_out": {}, "seconds": 0.0}


def mark_of(summary: dict[str, Any], brief: Brief) -> str:
    """What tells one search from another: brief, catalogue and the contents of its lists."""
    parts = [brief_to_toml(brief), summary["catalogue"], *sorted(f"{k} {v}" for k, v in summary["price_lists"].items())]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _take_over(archive: Archive, proving: Complete) -> None:
    """Put the walls that a complete search holds, ties among them, into the archive."""
    if len(proving.x):
        scores = evaluate(archive.choices, proving.x)
        passed = np.zeros((len(proving.x), 1 + len(archive.choices.brief.limits.upper()) + len(archive.judgements)))
        archive.add(proving.x, scores, passed)


def _summary(brief: Brief, choices: Choices, size: int, digests: dict[str, str]) -> dict[str, Any]:
    return {
        "version": study.VERSION,
        "name": brief.name,
        "catalogue": choices.catalogue.digest,
        "price_lists": digests,
        "currency": brief.prices.currency,
        **({"exchange": dict(brief.prices.exchange)} if brief.prices.exchange else {}),
        "seed": brief.seed.value,
        "targets": list(brief.target.all),
        "objectives": list(brief.objectives.minimise),
        "limits": brief.limits.model_dump(exclude_none=True),
        "space_size": size,
        "options": {name: int(count) for name, count in zip(VARIABLES, choices.sizes, strict=True)},
        "undominated": undominated(choices),
        "left_out": [each.as_json() for each in left_out(brief, choices.catalogue, choices.pricing)],
    }


def save(outcome: Outcome, source: Path, folder: Path) -> None:
    """Write the study of a search that found walls."""
    study.write_study(folder, outcome.archives, source, outcome.summary, outcome.ruled_out)
