"""What `wallfront search` prints at its end: how the space was settled, what was left out, the landmarks found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .printing import NOT_CHECKED, settled_words

if TYPE_CHECKING:
    from ..search.landmarks import Landmark
    from ..search.run import Outcome
    from ..search.study import Study

ENDED = {
    "budget": "its budget was spent",
    "stagnation": "it found nothing better",
    "cancelled": "stopped on request",
    "interrupted": "interrupted",
}


def left_out_words(line: Mapping[str, Any]) -> str:
    """One line of what a search did not look at, with the first products."""
    from ..space.left_out import shown_names

    names = f" ({shown_names(line['names'])})" if line["names"] else ""
    return f"left out: {line['words']}{names}"


def landmarks_of(study: Study) -> tuple[Landmark, ...]:
    """The landmarks of a study's fronts, under the figures that its brief asks for."""
    from ..search.landmarks import asked_of, landmarks

    return landmarks(study.rows, study.summary["targets"], asked_of(study.brief))


def landmarks_table(landmarks: Sequence[Landmark], asked: Sequence[str], currency: str) -> None:
    """The walls that stand out of each front, a line each, with the figures that the brief asks for."""
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    heads = {"thickness_mm": "mm", "cost_per_m2": f"{currency}/m2", "carbon_kgco2e_m2": "kgCO2e/m2"}
    heads |= {"weight_kg_m2": "kg/m2", "whole_life_kgco2e_m2": "whole life", "u_value": "U"}
    digits = {"u_value": 4, "cost_per_m2": 2}
    shown = [key for key in heads if key in (*asked, "u_value")]
    table = Table(box=None, pad_edge=False, header_style="dim")
    table.add_column("wall", no_wrap=True)
    table.add_column("")
    for key in shown:
        table.add_column(heads[key], justify="right", no_wrap=True)
    table.add_column("in short", min_width=16)
    for each in landmarks:
        figures = ["-" if each.row[key] is None else f"{each.row[key]:.{digits.get(key, 1)}f}" for key in shown]
        table.add_row(str(each.row["id"]), ", ".join(each.names), *figures, escape(str(each.row["in_short"])))
    Console().print(table)


def search_end(outcome: Outcome, out: Path, resumed: bool = False) -> None:
    """The last lines of a search; resumed: it went on from where an earlier one was interrupted."""
    summary = outcome.summary
    if resumed:
        print("went on from where it was interrupted")
    for proof in summary["proof"]:
        print(proof_words(proof, summary["space_size"], summary["currency"]))
    if summary["ruled_out"]:
        words = ", ".join(f"{count} by {check}" for check, count in summary["ruled_out"].items())
        print(f"kept off the front by the checks: {words} (ruled_out.csv says why)")
    for each in summary["left_out"]:
        print(left_out_words(each))
    if not outcome.has_front:
        return
    end = "complete, none missed" if summary["complete"] else f"not proven complete: {ENDED[summary['stopped']]}"
    print(
        f"{summary['front_size']} walls on the front, from a space of {summary['space_size']:.2e}; "
        f"{summary['evaluations']} evaluated in {summary['seconds']:.1f} s ({end})"
    )
    from ..search.landmarks import asked_of
    from ..search.study import open_study

    study = open_study(out)
    landmarks_table(landmarks_of(study), asked_of(study.brief), summary["currency"])
    if "numeric" in summary:
        from .printing_numeric import proof

        proof(summary["numeric"], study.rows)
    print(f"study written to {out}")
    print(NOT_CHECKED)


def proof_words(proof: dict, size: int, currency: str) -> str:
    """How the space of one target was settled, in words, and what is known of the rest."""
    reasons = ", ".join(f"{count:.3g} by {reason}" for reason, count in proof["excluded"].items() if count)
    ruled = "".join(f", {count} of them ruled out by {name}" for name, count in proof["ruled_out"].items() if count)
    others = f", the others excluded: {reasons}" if reasons else ""
    return (
        f"U at most {proof['target']:g}: {settled_words(proof['share'])} of {size:.3g} walls settled; "
        f"{proof['evaluated']} evaluated{ruled}{others}{_still_words(proof, currency)}"
    )


AT_LEAST = {
    "thickness_mm": "{:.1f} mm thick",
    "cost_per_m2": "{:.2f} {currency}/m2",
    "carbon_kgco2e_m2": "{:.1f} kgCO2e/m2",
    "weight_kg_m2": "{:.1f} kg/m2",
    "whole_life_kgco2e_m2": "{:.1f} kgCO2e/m2 over its life",
}


def _still_words(proof: dict, currency: str) -> str:
    """The bound on what is still open; nothing where all is settled."""
    if proof["share"] >= 1.0:
        return ""
    if not proof["still"]:
        return "; of what is still open no bound is known yet"
    least = [AT_LEAST[key].format(value, currency=currency) for key, value in proof["still"].items()]
    return f"; what is still open is at least {', '.join(least)}"
