"""The strength of one wall in words: a line of the command, of the explorer, what rules a wall out."""

from __future__ import annotations

from dataclasses import replace

from ...locales import spelt
from ...strength.national_parameters import CAUTION
from ..common.lines import Line, Working, against_limit, factored, whole_percent
from .demand import StrengthDemand
from .verdict import CaseUsed, StrengthVerdict


def words(verdict: StrengthVerdict) -> str:
    """The verdict in a line."""
    return f"{verdict.utilisation:.0%} in {verdict.governing}, {verdict.load_bearing} (EN 1995-1-1)"


def failure(verdict: StrengthVerdict) -> str:
    """How much is used, and by what."""
    return f"{verdict.utilisation:.0%} in {verdict.governing}"


def lines(verdict: StrengthVerdict, demand: StrengthDemand) -> list[Line]:
    """The utilisation of the load-bearing studs, and what governs it."""
    check, _, combination = verdict.governing.partition(" under ")
    line = against_limit(
        "strength",
        1.0 - verdict.utilisation,
        whole_percent,
        f"{whole_percent(verdict.utilisation)} used by {check.partition(' (')[0]}, at most {whole_percent(1.0)}",
        f"under {factored(combination)}",
        buckling(verdict),
        verdict.load_bearing,
        "EN 1995-1-1",
    )
    return [replace(line, caution=CAUTION)]


def buckling(verdict: StrengthVerdict) -> str:
    """The buckling factors."""
    return f"k_c {spelt(verdict.k_c_y, '.2f')} through the wall, {spelt(verdict.k_c_z, '.2f')} along it"


def worst_cases(verdict: StrengthVerdict) -> list[CaseUsed]:
    """Of each check the combination that governs it, the worst check first."""
    worst: dict[str, CaseUsed] = {}
    for case in verdict.cases:
        if case.check not in worst or case.utilisation > worst[case.check].utilisation:
            worst[case.check] = case
    return sorted(worst.values(), key=lambda case: -case.utilisation)


def working(verdict: StrengthVerdict) -> list[Working]:
    """Of each check the worst combination of loads."""
    rows = tuple(
        (case.check, factored(case.combination), whole_percent(case.utilisation)) for case in worst_cases(verdict)
    )
    return [
        Working(
            "Strength: of each check the worst combination of loads",
            ("check", "worst combination", "used"),
            rows,
            numeric=1,
            note=f"{buckling(verdict)}; {verdict.load_bearing}.",
            on_paper=True,
        )
    ]
