"""Blown fill in the calculation sheet: voids, densities, chambers."""

from __future__ import annotations

from ...document import DocumentPart, DocumentTable, Text, exact, in_print, number, passed
from ...fill.practice import CAUTION
from ...wall.buildup import BuildUp
from .demand import FillDemand
from .verdict import FillVerdict


def fill_parts(wall: BuildUp, verdict: FillVerdict, demand: FillDemand) -> tuple[DocumentPart, ...]:
    """What is blown in: the verdict, and a table of the voids."""
    why = [in_print(each) for each in verdict.reasons]
    bag = verdict.kg_m2 / verdict.bags_m2 if verdict.bags_m2 else 1.0
    rows = tuple(
        (
            ", ".join(map(str, each.layers)),
            exact(each.depth_mm),
            number(each.density_kg_m3, 1),
            number(each.kg_m2, 2),
            number(each.kg_m2 / bag, 2),
            str(each.chambers),
        )
        for each in verdict.voids
    )
    heads = ("layers", "depth, mm", "density, kg/m³", "kg/m²", "bags/m²", "chambers one above another")
    parts: list[DocumentPart] = [Text(f"Verdict: {passed(verdict.passes)}{': ' + '; '.join(why) if why else ''}.")]
    if rows:
        parts.append(DocumentTable("Voids that are blown full: target density by the void's whole depth", heads, rows))
    parts.append(Text(CAUTION))
    return tuple(parts)
