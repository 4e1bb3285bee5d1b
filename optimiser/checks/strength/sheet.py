"""Strength in the calculation sheet: loads, combinations and the utilisation of every case."""

from __future__ import annotations

import numpy as np

from ...document import NONE, DocumentPart, DocumentTable, Facts, Text, exact, in_print, number, passed, percent
from ...strength.loads import VARIABLE, combinations
from ...strength.national_parameters import CAUTION, Settings, k_mod
from ...wall.buildup import BuildUp
from . import standing
from .demand import StrengthDemand
from .verdict import StrengthVerdict


def strength_parts(wall: BuildUp, verdict: StrengthVerdict, demand: StrengthDemand) -> tuple[DocumentPart, ...]:
    """What was judged, with loads and factors; a table of combinations and those of the cases."""
    settings = standing.settings_of(demand)
    given = wall.loads
    loads, service = standing.wall_loads(given), standing.service_class(given, demand)
    pairs = (
        ("verdict", f"{passed(verdict.passes)}, {percent(verdict.utilisation, 1)} used, at most 100\u00a0%"),
        ("governed by", in_print(verdict.governing)),
        ("bears the load", f"{verdict.load_bearing}, service class {service}"),
        ("length of the studs between plates", f"{exact(standing.height(given) * 1000)} mm"),
        (
            "characteristic loads at the foot",
            f"permanent {number(float(loads.permanent) / 1000, 3)}, imposed {number(float(loads.imposed) / 1000, 3)}, "
            f"snow {number(float(loads.snow) / 1000, 3)} kN/m; wind {number(float(loads.wind) / 1000, 3)} kN/m²",
        ),
        (
            "factors",
            f"γG {exact(settings.gamma_g)}, γQ {exact(settings.gamma_q)}, γM {exact(settings.gamma_m)}; ψ0 imposed "
            f"{exact(settings.psi0_imposed)}, snow {exact(settings.psi0_snow)}, wind {exact(settings.psi0_wind)}; ksys "
            f"{exact(settings.k_sys)}, kc,90 {exact(settings.k_c90)}; deflection at most length / "
            f"{exact(settings.deflection_limit)}",
        ),
        (
            "buckling factors",
            f"kc {number(verdict.k_c_y, 3)} through the wall, {number(verdict.k_c_z, 3)} along it"
            + (" (restrained by boards)" if given.weak_axis_restrained else ""),
        ),
    )
    parts = (
        Facts(pairs),
        Text(CAUTION),
        _combination_table(verdict, settings, service),
        *_case_tables(verdict),
        Text("Combinations: EN 1990, expression (6.10). Compression with bending: EN 1995-1-1, (6.23) and (6.24)."),
    )
    return parts


def _combination_table(verdict: StrengthVerdict, settings: Settings, service: int) -> DocumentTable:
    used = {case.combination for case in verdict.cases}
    rows = [
        (
            in_print(each.name),
            *(exact(getattr(each, action)) if getattr(each, action) else NONE for action in ("permanent", *VARIABLE)),
            exact(float(k_mod(np.array([service]), each.duration)[0])),
        )
        for each in combinations(settings)
        if each.name in used
    ]
    heads = ("combination", "permanent", "imposed", "snow", "wind", "kmod")
    caption = "Combinations of loads: factor on each characteristic load"
    return DocumentTable(caption, heads, tuple(rows), widths=(3, 1, 1, 1, 1, 1))


def _case_tables(verdict: StrengthVerdict) -> list[DocumentTable]:
    """Utilisation by combination and check, a few checks to a table."""
    checks = list(dict.fromkeys(case.check for case in verdict.cases))
    values = {(case.combination, case.check): case.utilisation for case in verdict.cases}
    combined = list(dict.fromkeys(case.combination for case in verdict.cases))
    tables = []
    for first in range(0, len(checks), 4):
        some = checks[first : first + 4]
        held = [each for each in combined if any((each, check) in values for check in some)]
        rows = tuple(
            (in_print(each), *(percent(values[each, check]) if (each, check) in values else NONE for check in some))
            for each in held
        )
        caption = "Utilisation by case" + (", continued" if first else "")
        tables.append(DocumentTable(caption, ("combination", *some), rows, widths=(5, *([2.2] * len(some)))))
    return tables
