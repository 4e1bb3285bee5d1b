"""What stands beside the front of one's own wall: how it compares with the walls there, and what mends it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dash import html

from optimiser.checks.mend import UNMENDED
from optimiser.search.landmarks import USUAL

from ..numbers import spelt
from ..rows.choose import beating, known_figures, telling
from ..words import listed
from .my_wall import against_target, in_steps, margin, row_of, same_as, same_words, verdict

SHOWN = 5  # walls that beat mine, named one by one


def beside(workspace: Any, text: str, file: str, run: str | None) -> dict[str, Any]:
    """A build-up file as the page keeps it beside a front: its text, figures, what fails and what mends it.

    InputError where the file cannot be used.
    """
    judged = workspace.own_wall(text, file, run)
    row = row_of(judged, workspace.floor_lost(judged.thickness_mm, workspace.standard(run).brief))
    mending = {"fails": judged.verdicts.failed, "mends": workspace.mends(judged, run)}
    return {"text": text, "file": file, "row": row, **mending}


def own_words(
    row: dict,
    rows: list[dict],
    target: float | None,
    currency: str,
    fails: Sequence[str] = (),
    mends: Sequence[str] = (),
    asked: Sequence[str] = USUAL,
) -> list:
    """What there is to say of one's own wall beside the front.

    fails: the checks it fails; mends: what would mend it, in words; asked: the figures that count.
    """
    same, row = same_as(row, rows), in_steps(row)
    better = beating(list(map(in_steps, rows)), row, asked)
    compared = len(known_figures([row], asked))
    said = [f"{row['name']}: {against_target(row, target)}."]
    if row["unpriced"]:
        said.append(f"No price is known of {listed(row['unpriced'])}, so its cost is left out.")
    parts: list = [" ".join(said)]
    if same is not None:
        before, after = same_words(same)
        parts += [f" {before}", _go(same["id"]), after]
    parts.append(f" {verdict(len(better), compared, asked)}")
    named = telling(better, row, SHOWN)
    items = [
        html.Li(
            [
                _go(each.id),
                f" {margin(each.less, currency)}",
            ]
        )
        for each in named
    ]
    if len(better) > len(named):
        items.append(html.Li(f"and {spelt(len(better) - len(named), ',')} more", className="muted"))
    return [html.P(parts), *([html.Ul(items)] if items else []), *_mending(fails, mends)]


def _go(wall: str) -> html.Button:
    """The way to a wall of the front."""
    return html.Button(wall, id={"type": "go", "wall": wall}, className="quiet")


def _mending(fails: Sequence[str], mends: Sequence[str]) -> list:
    """What would mend a wall that fails."""
    if not fails:
        return []
    said = f"It fails the check of {listed(list(fails))}"
    if not mends:
        return [html.P(f"{said}; {UNMENDED}.")]
    return [html.P(f"{said}. A single change would mend it:"), html.Ul([html.Li(words) for words in mends])]
