"""The moisture of one wall in words: a line of the command, lines of the explorer, what rules a wall out."""

from __future__ import annotations

from dataclasses import replace

from ...locales import spelt
from ..common.lines import Line, against_limit, dotted, missed
from .demand import MoistureDemand
from .verdict import MoistureVerdict

CAUTION = "Preliminary: protection against moisture belongs to licensed practice; local codes govern."
CONDENSES = 1e-6  # g/m2; less is rounding
POINTS = "relative humidity"


def words(verdict: MoistureVerdict) -> str:
    """The verdict in a line."""
    left = f", {verdict.left_g_m2:.0f} left after the year" if verdict.left_g_m2 > CONDENSES else ""
    least = verdict.f_rsi_required
    needed = "no month asks for any" if least is None else f"{least:.3f} needed in {verdict.month}"
    climate = "" if verdict.climate_given else " (under the shipped climate: the file gives none)"
    return (
        f"f_Rsi {verdict.f_rsi:.3f}, {needed} (ISO 13788); "
        f"condensate at most {verdict.peak_g_m2:.0f} g/m2{left}; "
        f"drying reserve {verdict.drying_reserve_g_m2:.0f} g/m2{climate}"
    )


def failure(verdict: MoistureVerdict) -> str:
    """Which limits are missed, and by how much."""
    margins = verdict.margins.named(verdict.mould_limited)
    lacking = {limit: margin for limit, margin in margins.items() if (margin or 0) < 0}
    return "; ".join(f"{limit} short by {_figure(limit, -margin)}" for limit, margin in lacking.items())


def _figure(limit: str, value: float) -> str:
    if limit == "surface":
        return f"{value:.3f} in f_Rsi"
    return f"{100 * value:.1f} % humidity" if limit.startswith("mould") else f"{value:.0f} g/m2"


def grams(value: float) -> str:
    """An amount of water [g/m2]: whole from ten on."""
    shown = spelt(value, ".1f") if 0.05 <= abs(value) < 9.95 else spelt(value, ",.0f")
    return f"{shown} g/m²".replace("-", "−")


def lines(verdict: MoistureVerdict, demand: MoistureDemand) -> list[Line]:
    """The checks of moisture, a line each."""
    required, least = verdict.f_rsi_required, "and no month asks for any"
    if required is not None:
        least = f"at least {spelt(required, '.3f')} in {verdict.month}"
    said = f"surface f_Rsi {spelt(verdict.f_rsi, '.3f')}, {least}"
    surface = against_limit("moisture", verdict.margins.surface, lambda size: spelt(size, ".3f"), said, "ISO 13788")
    surface = replace(surface, figure=f"f_Rsi {spelt(verdict.f_rsi, '.3f')}")
    *first, last = [
        surface,
        *_condensate(verdict),
        _reserve(verdict),
        _mould(verdict),
        _inside_to_outside(verdict, demand),
    ]
    return [*first, replace(last, caution=CAUTION)]


def _condensate(verdict: MoistureVerdict) -> list[Line]:
    """How much condenses, and whether it dries within the year; one line where nothing condenses."""
    peak, margins = verdict.peak_g_m2, verdict.margins
    limit = spelt(peak + margins.condensate, ",.0f")
    standard = "ISO 13788, limit of DIN 4108-3"
    left = -margins.dries
    if peak <= CONDENSES:
        said = f"nothing condenses in any month, {limit} g/m² allowed"
        return [Line("moisture", "passes", "passes", said, standard, figure="no condensate")]
    said = f"condensate {grams(peak)} when wettest, at most {limit}"
    beside = "" if left > 0 else "all dries in a year"
    amount = against_limit("moisture", margins.condensate, grams, said, beside, standard)
    amount = replace(amount, figure=f"condensate {grams(peak)}")
    if left <= 0:
        return [amount]
    stays = f"{grams(left)} of condensate left when the year is over, none allowed"
    return [amount, Line("moisture", "fails", missed(grams(left)), stays, "ISO 13788")]


def _reserve(verdict: MoistureVerdict) -> Line:
    reserve, margin = verdict.drying_reserve_g_m2, verdict.margins.reserve
    least = "" if margin is None else f", at least {spelt(reserve - margin, ',.0f')} against leaks"
    line = against_limit("moisture", margin, grams, f"drying reserve {grams(reserve)}{least}", "DIN 68800-2")
    return replace(line, figure=f"drying reserve {grams(reserve)}")


def _mould(verdict: MoistureVerdict) -> Line:
    """Mould at the sheathing: a limit only where the brief makes it one."""
    points, standard = verdict.mould_margin_percent, "Hukka and Viitanen 1999"
    if points is None:
        said = "mould at the sheathing: too cold for it in every month"
        return Line("moisture", "shown", "shown", said, standard, figure="too cold for mould")
    side = f"{spelt(abs(points), '.1f')} points {'too humid' if points < 0 else 'below critical'}"
    said = f"mould at the sheathing: {side} in {verdict.mould_month}"
    if verdict.mould_limited:
        line = against_limit("moisture", points, lambda size: f"{spelt(size, '.1f')} points", said, POINTS, standard)
        return replace(line, figure=f"mould {side}")
    beside = dotted(POINTS, "shown, not a limit", standard)
    if points < 0:
        return Line("moisture", "note", "take note", said, beside)
    return Line("moisture", "shown", "shown", said, beside, figure=f"mould {side}")


def _inside_to_outside(verdict: MoistureVerdict, demand: MoistureDemand) -> Line:
    """Whether the wall is tighter to vapour inside than outside; a flag, no limit."""
    ratio, least = verdict.sd_ratio, demand.least_sd_ratio
    beside = f"s_d at least {spelt(least, 'g')} : 1, common practice · shown, not a limit"
    if ratio is None:
        said = "nothing outside the insulation holds vapour back"
        return Line("moisture", "shown", "shown", said, beside, figure="open outward")
    if ratio >= 1:
        said = f"inside {spelt(ratio, '.1f')} times as tight to vapour as outside"
    else:
        said = "inside open to vapour"
        if ratio:
            said = f"outside {spelt(1 / ratio, '.1f')} times as tight to vapour as inside"
    if ratio >= least:
        return Line("moisture", "shown", "shown", f"{said}: it dries outward", beside, figure="dries outward")
    return Line("moisture", "note", "take note", f"{said}: drying outward is slow", beside)
