"""Walls of one's own in the command: held to a brief, solved by conduction, handed over. Heavy imports in functions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..brief.brief import Brief
    from ..checks.judge import Judged


def failures(judged: Judged, brief: Brief | None) -> tuple[list[str], list[str]]:
    """The checks that a wall fails: those that count, and those that the brief leaves off."""
    failed = judged.verdicts.failed
    off = [name for name in failed if brief is not None and not getattr(brief.checks, name, True)]
    return [name for name in failed if name not in off], off


def by_brief(judged: Judged, brief: Brief) -> dict[str, Any]:
    """The object `brief` of `check --json`: the target, whether the wall meets it, floor area lost, checks left off."""
    from ..search.study import area_lost

    return {
        "name": brief.name,
        "target": brief.target.u_value,
        "meets_target": None if judged.heat.refused else bool(judged.u_value <= brief.target.u_value),
        "floor_area_lost_m2": area_lost(brief, judged.thickness_mm),
        "not_asked": failures(judged, brief)[1],
    }


def by_brief_words(judged: Judged, brief: Brief) -> str:
    """The same in a line."""
    told = by_brief(judged, brief)
    if told["meets_target"] is None:
        words = f"target {told['target']:g} W/m2K: not held to it, the combined method does not apply"
    else:
        verb = "meets" if told["meets_target"] else "misses"
        words = f"{verb} the target of {told['target']:g} W/m2K with U {judged.u_value:.4f}"
    lost = told["floor_area_lost_m2"]
    return f"by {brief.name}: {words}" + ("" if lost is None else f"; floor area lost {lost:.2f} m2")
