"""A search and its result as sentences."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimiser.locales import many

from ..numbers import spelt
from ..rows.choose import targets
from ..source import FrontSource
from ..words import millimetres, u_goal
from .proof_words import beside_words, front_words, settling_words

SPOKEN_EVERY = 5.0  # s between progress read out to a listener


def result_words(source: FrontSource) -> tuple[str, str]:
    """What the search found, and out of how many: (in bold, beside it)."""
    if source.study is None:
        none = "No front yet" if source.alive else "No front"
        return (f"Front so far · {many(len(source.rows), 'wall')}" if source.rows else none), ""
    summary = source.summary
    return front_words(len(source.rows), len(targets(source.rows)), bool(summary.get("complete"))), beside_words(
        summary
    )


def status_words(source: FrontSource) -> tuple[str, str]:
    """The state of a search: (heading, what it means). Empty when there is nothing to say."""
    if source.status == "waiting":
        return "Waiting to start", "The search is getting ready; this page follows it."
    if source.status == "running":
        return "Searching", progress_words(source)
    if source.status == "cancelled":
        return "Stopped", f"{progress_words(source)} Resume to go on from here."
    if source.status == "infeasible":
        return "No wall meets this brief", "What is missing, and by how much, stands below."
    if source.status == "failed":
        return "The search ended with an error", source.message
    if source.status == "missing":
        return "Nothing to show", source.message
    if source.run is not None:
        return "Search finished", " ".join(filter(None, ["This is the front of the changed slots.", source.message]))
    return "", ""


def stage(source: FrontSource) -> str:
    """Changes when a search enters another stage: what a listener must hear at once."""
    proving = source.progress.get("settled") is not None
    return f"{source.run}|{source.status}|{source.progress.get('target')}|{proving if source.alive else ''}"


def announcement(source: FrontSource, before: Mapping[str, Any] | None, now: float) -> dict[str, Any] | None:
    """What is read out, at a new stage or some seconds after the last; None when it is not yet time.

    before: what this returned last; now: a clock [s].
    """
    head, words = status_words(source)
    here, before = stage(source), before or {}
    if here == before.get("stage") and (not source.alive or now - before.get("at", 0.0) < SPOKEN_EVERY):
        return None
    if source.run is not None and source.status == "done":
        words = ", ".join(filter(None, result_words(source)))
    return {"stage": here, "at": now, "words": f"{head}. {words}" if head else ""}


def progress_words(source: FrontSource) -> str:
    """How far a search has come: which target, what is settled, what is open, best so far."""
    progress, count = source.progress, len(source.rows)
    parts = [f"{many(count, 'wall')} on the front so far"]
    if progress.get("best_thickness_mm") is not None:
        parts.append(f"thinnest {millimetres(progress['best_thickness_mm'])} mm")
    if progress.get("seconds") is not None:
        parts.append(f"{spelt(progress['seconds'], '.0f')} s")
    if progress.get("settled") is not None:
        stands = settling_words(progress, source.currency)
    else:
        stands = ", ".join(_start_words(source))
    return _sentence(_which_target(source) + stands) + _sentence(", ".join(parts)).rstrip()


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}. " if words else ""


def _which_target(source: FrontSource) -> str:
    """'U at most 0.12, second of 3 targets: '; nothing where there is one target."""
    goal = source.progress.get("target")
    whole = source.brief.target.all if source.brief else ()
    if goal is None or len(whole) < 2 or goal not in whole:
        return ""
    return f"U at most {u_goal(goal)}, target {whole.index(goal) + 1} of {len(whole)}: "


def _start_words(source: FrontSource) -> list[str]:
    """The evolutionary start: rounds and walls looked at."""
    progress, said = source.progress, []
    if progress.get("generation") is not None:
        most = progress.get("generations")
        if source.brief is not None and source.brief.search.complete:
            most = source.brief.search.start_generations
        said.append(f"a first look, round {progress['generation']}" + (f" of at most {most}" if most else ""))
    if progress.get("evaluations"):
        said.append(f"{spelt(progress['evaluations'], ',')} walls looked at")
    return said
