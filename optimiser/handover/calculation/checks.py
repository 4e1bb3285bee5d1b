"""The calculation sheet's other proofs: conduction, moisture by month, strength, fill and rules, as records."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...brief.brief import Brief
from ...checks.check_table import CHECKS, Demands
from ...checks.judge import Judged
from ...conduction.figures import place_words
from ...conduction.wall_cell import NumericHeat, name_of
from ...document import UNKNOWN, DocumentTable, Facts, Section, Text, exact, in_print, number, passed, percent
from ...wall.buildup import AIR, BuildUp
from ...wall.climate import MONTHS, climate_of, surface_r
from .areas import member_noun

WHOLE = 0.9999  # of a layer's heat; what takes all of it stands alone there


def numeric_section(judged: Judged, heat: NumericHeat | None) -> Section:
    """Conduction through the wall as drawn, between its bounds."""
    title = "The same wall by conduction (ISO 10211)"
    if heat is None:
        return Section(title, (Text("Not solved for this sheet: U rests on the combined method alone."),))
    hand = judged.heat
    climate = climate_of(judged.wall.conditions)
    month = int(np.argmin(climate.outdoor_temperature))
    outside, inside = float(climate.outdoor_temperature[month]), float(climate.indoor_temperature[month])
    least, most = 1 / hand.r_upper + hand.correction, 1 / hand.r_lower + hand.correction
    pairs = [
        ("lower bound of U, 1 / R′ + ΔU", _u(least)),
        ("upper bound of U, 1 / R″ + ΔU", _u(most)),
        ("U by the combined method", _u(hand.u_value)),
        ("U by conduction", f"{_u(heat.u_value)}, at most {number(heat.u_error, 5)} more or less"),
        ("what was solved", place_words(heat.placed)),
        ("of it the repeating cell", _u(heat.u_cell)),
        (
            "of it plates, noggings and openings",
            f"{_u(heat.u_extra)}, at most {number(heat.u_extra_error, 5)} more or less",
        ),
        ("of it corrections ΔU", _u(heat.correction)),
        ("U without any member", _u(heat.u_unbridged)),
        ("lowest temperature factor of the surface", f"fRsi = {number(heat.f_rsi, 3)}{_about(heat.f_rsi_error)}"),
        (
            f"the same with Rsi = {exact(surface_r(judged.wall.conditions))} m²K/W, for moisture",
            f"fRsi = {number(heat.f_rsi_moisture, 3)}{_about(heat.f_rsi_moisture_error)}",
        ),
        (
            f"coldest place of the inside surface in {MONTHS[month]}",
            f"{number(heat.coldest_c(inside, outside), 1)} °C, at {number(outside, 1)} °C outside and "
            f"{number(inside, 1)} °C inside",
        ),
    ]
    if heat.psi_w_mk is not None:
        pairs.append((f"{heat.psi_counts}, against the wall without it", f"ψ = {number(heat.psi_w_mk, 5)} W/mK"))
    if heat.chi_w_k is not None:
        pairs.append(("a tie, against the wall without it", f"χ = {number(heat.chi_w_k, 6)} W/K"))
    rows = _shares(judged.wall, heat)
    words = (
        "Steady conduction on a graded grid, refined until U is within the error stated. The combined method's limits "
        "enclose the result."
    )
    caption = "What the heat passes through in each layer that members cross"
    grids = (DocumentTable(caption, ("part", "of the heat"), rows, widths=(4, 1)),) if rows else ()
    return Section(title, (Text(words), Facts(tuple(pairs)), *grids))


def _about(error: float) -> str:
    """How far a temperature factor may be off, where that shows in its three digits."""
    return f", about {number(error, 4)} more or less" if error >= 5e-5 else ""


def _shares(wall: BuildUp, heat: NumericHeat) -> tuple[tuple[str, str], ...]:
    """Fill and members of every layer that members cross, outside first, each with its part of the cell's heat."""
    rows = []
    for at, layer in enumerate(wall.layers):
        names = {"air" if layer.material == AIR else "fill": name_of(wall, at)}
        if layer.frame is not None or layer.tie is not None:
            names[member_noun(layer)] = name_of(wall, at, True)
        shares = {noun: heat.shares[name] for noun, name in names.items() if heat.shares.get(name, 1.0) < WHOLE}
        rows += [(f"{at + 1} {layer.role}: {noun}", percent(share)) for noun, share in shares.items()]
    return tuple(rows)


def _u(value: float) -> str:
    return f"{number(value, 5)} W/m²K"


def rules_section(judged: Judged) -> Section:
    """Rules of building."""
    rows = tuple((each.rule, passed(each.passes), in_print(each.words)) for each in judged.verdicts.rules)
    if not rows:
        return Section("Rules of building", (Text(f"Rules: {UNKNOWN}."),))
    grid = DocumentTable(
        "How the wall keeps them (common practice)", ("rule", "verdict", "because"), rows, words=3, widths=(5, 1.5, 4)
    )
    return Section("Rules of building", (grid,))


def proof_sections(judged: Judged, brief: Brief | None, heat: NumericHeat | None) -> Sequence[Section]:
    """Every proof besides U by hand, in the order in which people ask."""
    demands = Demands.of(brief)
    checks = (each.section_of(judged.wall, judged.verdicts[each], demands[each]) for each in CHECKS)
    return (numeric_section(judged, heat), *checks, rules_section(judged))
