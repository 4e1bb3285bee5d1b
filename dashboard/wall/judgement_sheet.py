"""The judgements of one wall for paper: sentences with their figures, the lines through the wall, the tables."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from optimiser.checks.judge import Judged
from optimiser.wall.climate import MONTHS

from ..rows.choose import by_id
from ..source import FrontSource
from .drying_bars import bars_svg, dry_words
from .judgements import lines, sentence, subscripts, worst_cases
from .moisture_figures import PATHS, air_words, coldest, profile, profile_svg

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
    return f"<h2>Judgements</h2><ul>{items}</ul>{cautions}{_moisture(judged)}{_strength(judged)}"


def _lowered(text: str) -> str:
    """Words with the index of a symbol set low."""
    return "".join(f"<sub>{escape(part)}</sub>" if low else escape(part) for part, low in subscripts(text))


def _moisture(judged: Judged) -> str:
    """The lines through the wall in the coldest month, and the water by month."""
    told = judged.verdicts
    if told.moisture is None:
        return ""
    month = coldest(judged)
    parts = [f"<h3>Temperature and vapour pressure in {MONTHS[month]}, the coldest month</h3>"]
    for way in told.profile:
        found = profile(judged, way, month)
        parts.append(f"<p>Through {PATHS[way]}: {escape(air_words(found))}.</p>")
        parts.append(profile_svg(judged.wall, found, width_px=WIDTH, month=MONTHS[month], way=way))
    wet = told.moisture["interfaces"]
    dry = dry_words(wet, list(told.profile))
    parts += ["<h3>Wetting and drying by month</h3>", bars_svg(wet, width_px=WIDTH), f"<p>{escape(dry)}</p>"]
    return "".join(parts)


def _strength(judged: Judged) -> str:
    """Of each check the worst combination of loads."""
    if judged.verdicts.strength is None:
        return ""
    rows = "".join(map(_row, worst_cases(judged.verdicts.strength)))
    head = '<tr><th>check</th><th>worst combination</th><th class="right">used</th></tr>'
    title = "<h3>Strength: of each check the worst combination of loads</h3>"
    return f"{title}<table><thead>{head}</thead><tbody>{rows}</tbody></table>"


def _row(cells: Sequence[str]) -> str:
    check, combination, used = map(escape, cells)
    return f'<tr><td>{check}</td><td>{combination}</td><td class="right">{used}</td></tr>'
