"""How the walls that are not on a front were excluded: the proof of a search as sentences."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from optimiser.locales import many
from optimiser.space.left_out import shown_names
from optimiser.wall.scores import OBJECTIVES

from ..numbers import spelt
from ..words import QUANTITIES, limit_words, listed, millimetres, money, power_of_ten, share_words, u_goal

MOST = tuple(f"max_{key}" for key in OBJECTIVES)
STOPPED = {
    "cancelled": "stopped on request",
    "interrupted": "interrupted",
    "budget": "stopped when its time was up",
    "stagnation": "stopped when it found nothing better",
}
EXCLUDED = {
    "dominated option": (
        "hold an option that another of the same slot beats: no worse in resistance, in any figure and in what is "
        "judged, better in one. With the other in its place the wall still holds, and is better."
    ),
    "too little insulation": (
        "stay above U {target}: their boards and membranes bring less resistance than frames, gap and fill need."
    ),
    "smallest sufficient gap": "have a wider gap than they need: with the same layers a narrower one is warm enough.",
    "judgement": "hold a stud that fails a judgement, whatever else they are made of.",
    "limit": "go beyond a limit of the brief{limits}.",
    "bound": "could at best come to figures that a wall already found beats.",
}
CountedLine = tuple[str, str]


def settled_share(summary: Mapping[str, Any]) -> float | None:
    """Share of the space that is settled, over all targets; None when no proof was begun."""
    proofs = summary.get("proof") or []
    targets = summary.get("targets") or [each["target"] for each in proofs]
    if not proofs:
        return None
    return sum(each["share"] for each in proofs) / max(len(targets), 1)


def beside_words(summary: Mapping[str, Any]) -> str:
    """Beside the size of the front: out of how many, whether any can be missing, how long it took."""
    size = power_of_ten(summary["space_size"]) if summary.get("space_size") else ""
    seconds = f"{spelt(summary['seconds'], '.1f')} s" if summary.get("seconds") is not None else ""
    how = STOPPED.get(summary.get("stopped", ""), "not proven complete")
    share = settled_share(summary)
    if summary.get("complete"):
        parts = [size and f"from {size}", "none missed", seconds]
    elif share is None:
        parts = [size and f"from {size}", f"not proven complete: {how}", seconds]
    else:
        parts = [f"{share_words(share)} of {size} settled", how, seconds]
    return ", ".join(filter(None, [*parts, "see what was left out" if summary.get("left_out") else ""]))


def proof_of(summary: Mapping[str, Any], target: float | None) -> Mapping[str, Any] | None:
    """The proof of one target; the first where none is asked for."""
    proofs = summary.get("proof") or []
    if target is None:
        return proofs[0] if proofs else None
    return next((each for each in proofs if abs(each["target"] - target) < 1e-9), None)


def proof_intro(summary: Mapping[str, Any], proof: Mapping[str, Any]) -> str:
    """The first sentence of the proof: how far it went."""
    if proof["share"] >= 1.0:
        return (
            f"Every wall that this brief allows is settled for U at most {u_goal(proof['target'])}. Few had to be "
            "worked out; an argument excluded each of the others, so none is missed."
        )
    how = STOPPED.get(summary.get("stopped", ""), "stopped")
    return (
        f"For U at most {u_goal(proof['target'])} the search was {how}, with {share_words(proof['share'])} of the "
        "walls that this brief allows settled. The rest may hold walls that beat some of these."
    )


def proof_lines(summary: Mapping[str, Any], proof: Mapping[str, Any], currency: str) -> list[CountedLine]:
    """(how many walls, what became of them), largest part of the space first, then their sum."""
    filled = {"target": u_goal(proof["target"]), "limits": _limits(summary.get("limits") or {}, currency)}
    parts = sorted(proof["excluded"].items(), key=lambda each: -each[1])
    lines = [
        (spelt(count, ","), EXCLUDED[reason].format(**filled) if reason in EXCLUDED else f"were excluded by {reason}.")
        for reason, count in parts
        if count
    ]
    lines.append((spelt(proof["evaluated"], ","), "were worked out in full." + _ruled_out(proof)))
    settled = proof["evaluated"] + sum(proof["excluded"].values())
    if left := summary["space_size"] - settled:
        lines.append((spelt(left, ","), "are still open."))
    lines.append((spelt(summary["space_size"], ","), "walls can be built of what the brief allows."))
    return lines


def _ruled_out(proof: Mapping[str, Any]) -> str:
    ruled = [f"{spelt(count, ',')} by {name}" for name, count in (proof.get("ruled_out") or {}).items() if count]
    return f" Of these a judgement ruled out {listed(ruled)}." if ruled else ""


def _limits(limits: Mapping[str, float], currency: str) -> str:
    words = limit_words({key.removeprefix("max_"): value for key, value in limits.items() if key in MOST}, currency)
    return f" ({', '.join(words)})" if words else ""


def left_out_lines(summary: Mapping[str, Any]) -> list[str]:
    """What the search did not look at and why, a line a cause, with the first products."""
    lines = summary.get("left_out") or []
    return [each["words"] + (f" ({shown_names(each['names'])})" if each["names"] else "") for each in lines]


def undominated_words(summary: Mapping[str, Any]) -> str:
    """How many options of each open slot no other beats."""
    options, best = summary.get("options") or {}, summary.get("undominated") or {}
    counts = [f"{name} {best[name]} of {count}" for name, count in options.items() if count > 1 and name in best]
    return f"Options that no other of their slot beats: {', '.join(counts)}." if counts else ""


def ruled_out(rows: Sequence[Mapping[str, str]]) -> list[CountedLine]:
    """(how many walls, why) would be on the front without the checks, the commonest reason first."""
    counts = Counter((row["check"], row["reason"]) for row in rows)
    return [
        (spelt(count, ","), f"fail the check of {check}: {reason}.") for (check, reason), count in counts.most_common()
    ]


def still_words(still: Mapping[str, float] | None, currency: str) -> str:
    """What no wall yet to come can be: 'what is still open cannot be thinner than 428 mm or cheaper than €157'."""
    known = {key: value for key, value in (still or {}).items() if key in QUANTITIES}
    said = [f"{QUANTITIES[key].lower} than {_least(key, value, currency)}" for key, value in known.items()]
    if not said:
        return ""
    return "what is still open cannot be " + " or ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)


def _least(key: str, value: float, currency: str) -> str:
    if key == "thickness_mm":
        return f"{millimetres(value)} mm"
    return money(value, currency) if key == "cost_per_m2" else f"{spelt(value, '.1f')} kg"


def settling_words(progress: Mapping[str, Any], currency: str) -> str:
    """How far the proof has come: '99.3 % of the space settled; what is still open cannot be …'."""
    if not progress["settled"]:
        return "sorting the space into parts, nothing settled yet"
    share = f"{share_words(progress['settled'])} of the space settled"
    if progress["settled"] >= 1.0:
        return share
    return "; ".join(filter(None, [share, still_words(progress.get("still"), currency)]))


def front_words(count: int, targets: int, complete: bool) -> str:
    """What the front is called: 'Complete front · 570 walls'."""
    kind = "complete front" if complete else "front"
    name = f"{targets} {kind}s" if targets > 1 else kind.capitalize()
    return f"{name} · {many(count, 'wall')}"
