"""The blown fill of one wall in words: a line of the command, of the explorer, what rules a wall out."""

from __future__ import annotations

from collections.abc import Sequence

from ...fill.practice import CAUTION
from ...locales import many, spelt
from ..common.lines import Line, Working, dotted
from .demand import FillDemand
from .verdict import FillVerdict


def words(verdict: FillVerdict) -> str:
    """The verdict in a line."""
    reasons = list(verdict.reasons)
    if verdict.taken_for_blown:
        reasons.append(f"layer {verdict.taken_for_blown[0]} does not say its kind and is taken for a loose fill")
    why = "; ".join(reasons)
    if not verdict.voids:
        return why
    high = f"{verdict.chambers} chamber{'s' if verdict.chambers > 1 else ''} high"
    figures = f"{verdict.density_kg_m3:.0f} kg/m3, {verdict.kg_m2:.1f} kg/m2, {verdict.bags_m2:.2f} bags/m2, {high}"
    return f"{figures}; {why}" if why else figures


def failure(verdict: FillVerdict) -> str:
    """Why it can't be filled."""
    return "; ".join(verdict.reasons)


def lines(verdict: FillVerdict, demand: FillDemand) -> list[Line]:
    """What is blown in, and why it can't be where it can't."""
    figures = (
        f"{spelt(verdict.density_kg_m3, '.0f')} kg/m³, {spelt(verdict.kg_m2, '.1f')} kg/m², "
        f"{spelt(verdict.bags_m2, '.2f')} bags/m², "
        f"{many(verdict.chambers, 'chamber')} high"
    )
    voids, assumed = verdict.voids, verdict.taken_for_blown
    unsaid = f"{_layers(assumed)}: kind not stated, taken for a loose fill" if assumed else ""
    beside = dotted(many(len(voids), "void") if len(voids) > 1 else "", unsaid, "common practice")
    if verdict.passes:
        return [Line("fill", "passes", "passes", figures, beside, CAUTION)]
    why = [f"{_layers(each.layers)}: {each.reason}" for each in voids if each.reason]
    why += [each for each in (verdict.membrane, verdict.uneven) if each]
    return [Line("fill", "fails", "fails", "; ".join(why), dotted(figures, beside), CAUTION)]


def working(verdict: FillVerdict) -> list[Working]:
    """Void by void, where there are several."""
    if len(verdict.voids) < 2:
        return []
    rows = tuple(
        (
            _span(each.layers),
            spelt(each.depth_mm, ".0f"),
            spelt(each.density_kg_m3, ".0f"),
            spelt(each.kg_m2, ".1f"),
            str(each.chambers),
        )
        for each in verdict.voids
    )
    return [Working("Fill, void by void", ("void, layers", "mm deep", "kg/m³", "kg/m²", "chambers"), rows, numeric=4)]


def _layers(numbers: Sequence[int]) -> str:
    return f"layer{'s' if len(numbers) > 1 else ''} {_span(numbers)}"


def _span(numbers: Sequence[int]) -> str:
    return f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else str(numbers[0])
