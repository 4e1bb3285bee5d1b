"""Wetting and drying by month in the places where vapour condenses: bars above and below a line of zero."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from optimiser.checks.moisture.verdict import WAYS, Way, WetPlace
from optimiser.checks.moisture.words import CONDENSES, grams
from optimiser.handover.drawing.hatch import FONTS
from optimiser.handover.drawing.sheet import palette
from optimiser.handover.drawing.svg import clean, element, line, rect, text
from optimiser.wall.climate import MONTHS

from ..numbers import spelt

HEAD = 40.0  # px for the words above the bars of a place
ROOM = 74.0  # px for the bars themselves
FOOT = 36.0  # px for the months below
LABEL = 12.0  # px for a figure at the end of a bar
SMALL = 0.05  # g/m2; less is not written


def place_words(row: WetPlace) -> str:
    """Where it is: 'Through the studs, between 4 sheathing and 5 outer frame'."""
    one, two = row.between[0], row.between[-1]
    where = f"within {one}" if one == two else f"between {one} and {two}"
    return f"Through {WAYS[row.path]}, {where}"


def amount_words(row: WetPlace) -> str:
    """How much water comes together and how much stays."""
    left = row.left_g_m2
    stays = "all of it dries within the year" if left <= CONDENSES else f"{grams(left)} are left after the year"
    return f"at most {grams(row.peak_g_m2)}; {stays}"


def dry_words(rows: Sequence[WetPlace], paths: Iterable[Way]) -> str:
    """Through which paths nothing condenses, in words; empty where something does in each."""
    wet = {row.path for row in rows}
    dry = [WAYS[each] for each in paths if each not in wet]
    return f"Nothing condenses in any month through {' or '.join(dry)}." if dry else ""


def scale_of(rows: Sequence[WetPlace]) -> float:
    """px per g/m2: the same for every place, so that bars compare."""
    return ROOM / max(max(sum(reach(row, 1.0)) for row in rows), 1e-9)


def reach(row: WetPlace, scale: float) -> tuple[float, float]:
    """How far the bars of a place rise above zero and fall below it [px]."""
    values = row.monthly_g_m2
    return max(max(values), 0.0) * scale, max(-min(values), 0.0) * scale


def bars_svg(rows: Sequence[WetPlace], *, width_px: float = 520) -> str:
    """Every wet place with its twelve months, one under another; empty where nothing condenses."""
    if not rows:
        return ""
    scale, height, body = scale_of(rows), 0.0, []
    for row in rows:
        body.append(_place(row, height, scale, width_px))
        height += HEAD + 2 * LABEL + sum(reach(row, scale)) + FOOT
    said = "; ".join(f"{place_words(row)}: {amount_words(row)}" for row in rows)
    return element(
        "svg",
        element("title", "Wetting and drying by month") + element("desc", clean(said)),
        element("style", _style()),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="wf water",
        role="img",
        viewBox=f"0 0 {width_px:g} {height:.0f}",
        width=f"{width_px:g}",
        height=f"{height:.0f}",
    )


def _style() -> str:
    def colour(role: str) -> str:
        return f"var(--{role},{palette.LIGHT[role]})"

    return (
        f".water text{{fill:{colour('ink')};font-family:{FONTS};font-size:11px}} "
        f".wf.water .said{{font-size:12.5px;paint-order:stroke;stroke:{colour('paper')};stroke-width:3px}}"
        f".water .quiet{{fill:{colour('muted')}}} .water .wets{{fill:{colour('accent')}}}"
        f".water .dries{{fill:{colour('hairline')};stroke:{colour('muted')};stroke-width:.8}}"
        f".water .zero{{stroke:{colour('ink')};stroke-width:1}}"
    )


def _place(row: WetPlace, top: float, scale: float, width_px: float) -> str:
    """The bars of one place."""
    up, down = reach(row, scale)
    zero = top + HEAD + LABEL + up
    step = width_px / len(MONTHS)
    parts = [
        text(0.0, top + 13, place_words(row), "said", "start"),
        text(0.0, top + 28, f"g/m² a month, {amount_words(row)}", "quiet", "start"),
    ]
    for number, value in enumerate(row.monthly_g_m2):
        parts += _bar(value, step * number, step, zero, scale)
        parts.append(text(step * (number + 0.5), zero + down + LABEL + 14, MONTHS[number][:3], "quiet"))
    parts.append(line(0.0, zero, width_px, zero, "zero"))
    return element("g", *parts, class_="place")


def _bar(value: float, left: float, step: float, zero: float, scale: float) -> list[str]:
    """One month: wetting above the line, drying below it, with its figure."""
    if abs(value) < SMALL:
        return []
    x0, x1, end = left + 0.2 * step, left + 0.8 * step, zero - value * scale
    shown = spelt(abs(value), ".0f") if abs(value) >= 9.95 else spelt(abs(value), ".1f")
    if value > 0:
        return [rect(x0, end, x1, zero, "wets"), text(left + step / 2, end - 3, f"+{shown}", "figure")]
    return [rect(x0, zero, x1, end, "dries"), text(left + step / 2, end + 11, f"−{shown}", "figure")]
