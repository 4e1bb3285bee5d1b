"""How the walls that are not on the front were excluded, as Dash components."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html

from .proof_words import left_out_lines, proof_intro, proof_lines, ruled_out, still_words, undominated_words


def proof(
    summary: Mapping[str, Any],
    target_proof: Mapping[str, Any] | None,
    currency: str,
    off: Sequence[Mapping[str, str]] = (),
    most: int = 6,
) -> list:
    """How the walls that are not on the front were excluded, and by which argument how many.

    off: walls that the checks keep off the front; `most` of their reasons are told.
    """
    if target_proof is None:
        return []
    lines = proof_lines(summary, target_proof, currency)
    return [
        html.P(proof_intro(summary, target_proof)),
        *_still(still_words(target_proof.get("still"), currency)),
        html.Dl([part for count, words in lines for part in (html.Dt(count), html.Dd(words))], className="sum"),
        *_ruled_out(ruled_out(off), most),
        *_left_out(left_out_lines(summary)),
        html.P(undominated_words(summary), className="muted"),
        html.P(
            "“wallfront verify” looks for a wall that was missed, without any of these arguments.", className="muted"
        ),
    ]


def _still(words: str) -> list:
    """What is still open, where a bound on it is known."""
    return [html.P(f"{words[0].upper()}{words[1:]}.")] if words else []


def _left_out(lines: Sequence[str]) -> list:
    """What the search did not look at."""
    return [html.P("Left out before it began:"), html.Ul([html.Li(each) for each in lines])] if lines else []


def _ruled_out(lines: Sequence[tuple[str, str]], most: int) -> list:
    """Why walls that would be on the front without the checks are not."""
    if not lines:
        return []
    rest = [("", f"and {len(lines) - most} more reasons, in ruled_out.csv of the study")] if len(lines) > most else []
    return [
        html.P("Without the checks these would stand on the front too:"),
        html.Dl([part for count, words in [*lines[:most], *rest] for part in (html.Dt(count), html.Dd(words))]),
    ]
