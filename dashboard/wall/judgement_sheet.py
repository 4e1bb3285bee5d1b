"""The judgements of one wall for paper: sentences with their figures, the lines through the wall, the tables."""

from __future__ import annotations

from html import escape

from optimiser.checks.common.lines import Working
from optimiser.checks.judge import Judged
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.moisture.verdict import WAYS
from optimiser.wall.climate import MONTHS

from ..rows.choose import by_id
from ..source import FrontSource
from .drying_bars import bars_svg, dry_words
from .judgements import lines, sentence, subscripts, workings
from .moisture_figures import air_words, coldest, profile, profile_svg

WIDTH = 620  # px of the drawings


def target_of(source: FrontSource, key: str) -> float | None:
    """The target that a wall of the front was searched for; the brief's first for any other wall."""
    row = by_id(source.rows, key) or {}
    return row.get("target", source.brief.target.u_value if source.brief else None)


def judgements_html(judged: Judged, target: float | None, source: FrontSource) -> str:
    """Every check as a sentence, the cautions once, what is not checked, then the working."""
    *said, rest = lines(judged, target, source.brief)
    items = "".join(f"<li>{_lowered(sentence(each))}</li>" for each in said)
    cautions = "".join(f'<p class="muted">{escape(each.caution)}</p>' for each in said if each.caution)
    cautions += f"<p>{escape(rest.words)}</p>"
    tables = "".join(_working(each) for each in workings(judged) if each.on_paper)
    return f"<h2>Judgements</h2><ul>{items}</ul>{cautions}{_moisture(judged)}{tables}"


def _lowered(text: str) -> str:
    """Words with the index of a symbol set low."""
    return "".join(f"<sub>{escape(part)}</sub>" if low else escape(part) for part, low in subscripts(text))


def _moisture(judged: Judged) -> str:
    """The lines through the wall in the coldest month, and the water by month."""
    verdict = judged.verdicts.known(MOISTURE)
    if verdict is None:
        return ""
    month = coldest(judged)
    parts = [f"<h3>Temperature and vapour pressure in {MONTHS[month]}, the coldest month</h3>"]
    for way in verdict.accounts:
        curves = profile(judged, way, month)
        parts.append(f"<p>Through {WAYS[way]}: {escape(air_words(curves))}.</p>")
        parts.append(profile_svg(judged.wall, curves, width_px=WIDTH, month=MONTHS[month], way=way))
    wet = verdict.wet
    dry = dry_words(wet, verdict.accounts)
    parts += ["<h3>Wetting and drying by month</h3>", bars_svg(wet, width_px=WIDTH), f"<p>{escape(dry)}</p>"]
    return "".join(parts)


def _working(table: Working) -> str:
    """A table behind a check; its last columns are numbers."""
    first = len(table.heads) - table.numeric
    classes = ["" if column < first else ' class="right"' for column in range(len(table.heads))]
    head = "".join(f"<th{kind}>{escape(word)}</th>" for word, kind in zip(table.heads, classes, strict=True))
    body = "".join(
        f"<tr>{''.join(f'<td{kind}>{escape(cell)}</td>' for cell, kind in zip(row, classes, strict=True))}</tr>"
        for row in table.rows
    )
    return f"<h3>{escape(table.title)}</h3><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
