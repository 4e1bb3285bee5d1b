"""Every judgement on one wall in words: figure, limit, margin and standard of each check; nothing of Dash."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from optimiser.checks.check_table import CHECKS, Demands
from optimiser.checks.common.check import NotJudged
from optimiser.checks.common.lines import Line, State, Working, against_limit, dotted
from optimiser.checks.judge import Judged
from optimiser.checks.rules import BuildingRule
from optimiser.checks.strength.check import STRENGTH

from ..numbers import spelt
from ..words import NOT_CHECKED, NOT_CHECKED_ELSE, u_goal


def lines(judged: Judged, target: float | None, brief: Any = None) -> list[Line]:
    """Every check of one wall in the order in which people ask, and at last what is not checked at all."""
    demands = Demands.of(brief)
    checks = [line for each in CHECKS for line in each.lines_of(judged.verdicts[each], demands[each])]
    return [heat(judged, target), *checks, *rules(judged.verdicts.rules), the_rest(judged)]


def workings(judged: Judged) -> list[Working]:
    """The tables behind the checks."""
    verdicts = [(each, judged.verdicts.known(each)) for each in CHECKS]
    return [table for each, verdict in verdicts if verdict is not None for table in each.working(verdict)]


def the_rest(judged: Judged) -> Line:
    """What is not checked at all; what the caution of strength names is not said again."""
    words = NOT_CHECKED if isinstance(judged.verdicts[STRENGTH], NotJudged) else NOT_CHECKED_ELSE
    return Line("the rest", "open", "not checked", words)


def overall(checks: Sequence[Line]) -> tuple[State, str]:
    """What several checks of one group come to: the worst of them, and how many are to note."""
    for state in ("fails", "open", "note"):
        count = sum(each.state == state for each in checks)
        if count:
            return state, {"fails": "fails", "open": f"{count} not checked", "note": f"passes, {count} to note"}[state]
    passes = any(each.state == "passes" for each in checks)
    return ("passes", "passes") if passes else ("shown", "shown")


def heat(judged: Judged, target: float | None) -> Line:
    """U against the target."""
    if judged.heat.refused:
        return Line("heat", "open", "not given", judged.heat.refused, "ISO 6946")
    if target is None:
        return Line("heat", "shown", "shown", f"U {spelt(judged.u_value, '.4f')} W/m²K, no target given", "ISO 6946")
    words = f"U {spelt(judged.u_value, '.4f')}, at most {u_goal(target)} W/m²K"
    return against_limit("heat", target - judged.u_value, lambda size: spelt(size, ".4f"), words, "ISO 6946")


def rules(judged: Sequence[BuildingRule]) -> list[Line]:
    """Every rule; one line where none could be checked, for one and the same reason."""
    if len(judged) > 1 and all(each.passes is None and each.words == judged[0].words for each in judged):
        return [Line("rules", "open", "not checked", judged[0].words, dotted(*(each.rule for each in judged)))]
    return [rule(each) for each in judged]


def rule(building_rule: BuildingRule) -> Line:
    """A rule of building, and how the wall keeps it."""
    state: State = {True: "passes", False: "fails", None: "open"}[building_rule.passes]
    words = re.sub(r"(\d)%", "\\1\u00a0%", building_rule.words)
    said = building_rule.rule if words == building_rule.rule else f"{building_rule.rule}: {words}"
    return Line("rules", state, {"open": "not checked"}.get(state, state), said)


def subscripts(text: str) -> list[tuple[str, bool]]:
    """Words cut where a symbol carries an index: 'k_c 0.5' -> k, c (lowered), ' 0.5'."""
    parts = re.split(r"(?<=\b[a-zA-Z])_([A-Za-z,]*[A-Za-z])", text)
    return [(part, bool(number % 2)) for number, part in enumerate(parts) if part]


def sentence(line: Line) -> str:
    """A line as a sentence for paper: 'Moisture passes: drying reserve 568 g/m², at least 100 (468 g/m² to spare).'"""
    head = "Rule" if line.group == "rules" else line.group.capitalize()
    head = {"shown": f"{head}, shown", "take note": f"{head}, take note"}.get(line.verdict, f"{head} {line.verdict}")
    beside = f" ({line.beside.replace(' · ', '; ')})" if line.beside else ""
    return f"{head}: {line.words.rstrip('.')}{beside}."
