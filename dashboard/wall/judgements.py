"""Every judgement on one wall in words: figure, limit, margin and standard of each check; nothing of Dash."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from optimiser.checks.demands import MoistureDemand

from optimiser.checks.judge import Judged
from optimiser.checks.rules import Rule
from optimiser.checks.verdicts import Demands
from optimiser.handover.calculation.checks import MOISTURE

from ..numbers import spelt, written
from ..words import NOT_CHECKED, NOT_CHECKED_ELSE, many, u_goal

State = Literal["passes", "fails", "open", "shown", "note"]
CONDENSES = 1e-6  # g/m2; less is rounding
POINTS = "relative humidity"


@dataclass(frozen=True)
class Line:
    """One check: what it belongs to, its verdict in words, its figure with the limit, and what stands beside it."""

    group: str
    state: State
    verdict: str
    words: str
    beside: str = ""  # margin and standard
    caution: str = ""
    figure: str = ""  # what is left of it where it is folded away


def demands_of(brief: Any) -> Demands:
    """What a brief asks of a wall besides heat; the defaults where there is none."""
    return Demands(brief.moisture, brief.strength, brief.filling) if brief is not None else Demands()


def lines(judged: Judged, target: float | None, brief: Any = None) -> list[Line]:
    """Every check of one wall in the order in which people ask, and at last what is not checked at all."""
    told = judged.verdicts
    return [
        heat(judged, target),
        *_or_open("moisture", told.moisture, told.open, lambda found: moisture(found, demands_of(brief).moisture)),
        *_or_open("strength", told.strength, told.open, strength),
        *_or_open("fill", told.fill, told.open, fill),
        *rules(told.rules),
        the_rest(judged),
    ]


def the_rest(judged: Judged) -> Line:
    """What is not checked at all; what the caution of strength names is not said again."""
    words = NOT_CHECKED if judged.verdicts.strength is None else NOT_CHECKED_ELSE
    return Line("the rest", "open", "not checked", words)


def overall(checks: Sequence[Line]) -> tuple[State, str]:
    """What several checks of one group come to: the worst of them, and how many are to note."""
    for state in ("fails", "open", "note"):
        count = sum(each.state == state for each in checks)
        if count:
            return state, {"fails": "fails", "open": f"{count} not checked", "note": f"passes, {count} to note"}[state]
    passes = any(each.state == "passes" for each in checks)
    return ("passes", "passes") if passes else ("shown", "shown")


def _or_open(
    group: str, found: dict | None, why: Mapping[str, str], said: Callable[[dict], Line | list[Line]]
) -> list[Line]:
    """The lines of a check, or why it was not made."""
    if found is None:
        return [Line(group, "open", "not checked", why.get(group, "no reason is known"))]
    one = said(found)
    return one if isinstance(one, list) else [one]


def held(group: str, margin: float | None, shown: Callable[[float], str], words: str, *beside: str) -> Line:
    """A check with a limit. margin: how far it passes, negative where it fails, None without end; shown: its size."""
    if margin is None:
        return Line(group, "passes", "passes", words, _dotted(*beside))
    if margin < 0:
        return Line(group, "fails", missed(shown(-margin)), words, _dotted(*beside))
    return Line(group, "passes", "passes", words, _dotted(f"{shown(margin)} to spare", *beside))


def missed(size: str) -> str:
    """The verdict of a limit that is not held; figure and unit are not parted."""
    return "fails by " + size.replace(" ", "\u00a0")


def _dotted(*parts: str) -> str:
    return " · ".join(filter(None, parts))


def grams(value: float) -> str:
    """An amount of water [g/m2]: whole from ten on."""
    shown = spelt(value, ".1f") if 0.05 <= abs(value) < 9.95 else spelt(value, ",.0f")
    return f"{shown} g/m²".replace("-", "−")


def _factored(combination: str) -> str:
    """A combination of loads, its factors in the marks of the locale: 'wind + 0.7 imposed'."""
    return re.sub(r"\d\.\d+", lambda found: written(found.group()), combination)


def percent(share: float) -> str:
    """A share as whole percent, never parted from its sign."""
    return f"{spelt(100 * share, '.0f')}\u00a0%"


def heat(judged: Judged, target: float | None) -> Line:
    """U against the target."""
    if judged.heat.refused:
        return Line("heat", "open", "not given", judged.heat.refused, "ISO 6946")
    if target is None:
        return Line("heat", "shown", "shown", f"U {spelt(judged.u_value, '.4f')} W/m²K, no target given", "ISO 6946")
    words = f"U {spelt(judged.u_value, '.4f')}, at most {u_goal(target)} W/m²K"
    return held("heat", target - judged.u_value, lambda size: spelt(size, ".4f"), words, "ISO 6946")


def moisture(found: Mapping[str, Any], demand: MoistureDemand) -> list[Line]:
    """The checks of moisture, a line each."""
    required, least = found["f_rsi_required"], "and no month asks for any"
    if required is not None:
        least = f"at least {spelt(required, '.3f')} in {found['month']}"
    words = f"surface f_Rsi {spelt(found['f_rsi'], '.3f')}, {least}"
    surface = held("moisture", found["margins"]["surface"], lambda size: spelt(size, ".3f"), words, "ISO 13788")
    surface = replace(surface, figure=f"f_Rsi {spelt(found['f_rsi'], '.3f')}")
    *first, last = [surface, *_condensate(found), _reserve(found), _mould(found), _inside_to_outside(found, demand)]
    return [*first, replace(last, caution=MOISTURE)]


def _condensate(found: Mapping[str, Any]) -> list[Line]:
    """How much condenses, and whether it dries within the year; one line where nothing condenses."""
    peak, margins = found["peak_g_m2"], found["margins"]
    limit = spelt(peak + margins["condensate"], ",.0f")
    standard = "ISO 13788, limit of DIN 4108-3"
    left = -margins["dries within the year"]
    if peak <= CONDENSES:
        words = f"nothing condenses in any month, {limit} g/m² allowed"
        return [Line("moisture", "passes", "passes", words, standard, figure="no condensate")]
    words = f"condensate {grams(peak)} when wettest, at most {limit}"
    amount = held("moisture", margins["condensate"], grams, words, "" if left > 0 else "all dries in a year", standard)
    amount = replace(amount, figure=f"condensate {grams(peak)}")
    if left <= 0:
        return [amount]
    stays = f"{grams(left)} of condensate left when the year is over, none allowed"
    return [amount, Line("moisture", "fails", missed(grams(left)), stays, "ISO 13788")]


def _reserve(found: Mapping[str, Any]) -> Line:
    reserve, margin = found["drying_reserve_g_m2"], found["margins"]["drying reserve"]
    least = "" if margin is None else f", at least {spelt(reserve - margin, ',.0f')} against leaks"
    words = f"drying reserve {grams(reserve)}{least}"
    line = held("moisture", margin, grams, words, "DIN 68800-2")
    return replace(line, figure=f"drying reserve {grams(reserve)}")


def _mould(found: Mapping[str, Any]) -> Line:
    """Mould at the sheathing: a limit only where the brief makes it one."""
    points, limited = found["mould_margin_percent"], "mould at the sheathing" in found["margins"]
    standard = "Hukka and Viitanen 1999"
    if points is None:
        words = "mould at the sheathing: too cold for it in every month"
        return Line("moisture", "shown", "shown", words, standard, figure="too cold for mould")
    side = f"{spelt(abs(points), '.1f')} points {'too humid' if points < 0 else 'below critical'}"
    words = f"mould at the sheathing: {side} in {found['mould_month']}"
    if limited:
        line = held("moisture", points, lambda size: f"{spelt(size, '.1f')} points", words, POINTS, standard)
        return replace(line, figure=f"mould {side}")
    beside = _dotted(POINTS, "shown, not a limit", standard)
    if points < 0:
        return Line("moisture", "note", "take note", words, beside)
    return Line("moisture", "shown", "shown", words, beside, figure=f"mould {side}")


def _inside_to_outside(found: Mapping[str, Any], demand: MoistureDemand) -> Line:
    """Whether the wall is tighter to vapour inside than outside; a flag, no limit."""
    ratio, least = found["sd_ratio"], demand.least_sd_ratio
    beside = f"s_d at least {spelt(least, 'g')} : 1, common practice · shown, not a limit"
    if ratio is None:
        words = "nothing outside the insulation holds vapour back"
        return Line("moisture", "shown", "shown", words, beside, figure="open outward")
    if ratio >= 1:
        words = f"inside {spelt(ratio, '.1f')} times as tight to vapour as outside"
    else:
        words = "inside open to vapour"
        if ratio:
            words = f"outside {spelt(1 / ratio, '.1f')} times as tight to vapour as inside"
    if ratio >= least:
        return Line("moisture", "shown", "shown", f"{words}: it dries outward", beside, figure="dries outward")
    return Line("moisture", "note", "take note", f"{words}: drying outward is slow", beside)


def strength(found: Mapping[str, Any]) -> Line:
    """The utilisation of the load-bearing studs, and what governs it."""
    check, _, combination = found["governing"].partition(" under ")
    line = held(
        "strength",
        1.0 - found["utilisation"],
        percent,
        f"{percent(found['utilisation'])} used by {check.partition(' (')[0]}, at most {percent(1.0)}",
        f"under {_factored(combination)}",
        buckling(found),
        found["load_bearing"],
        "EN 1995-1-1",
    )
    return replace(line, caution=found["caution"])


def buckling(found: Mapping[str, Any]) -> str:
    """The buckling factors."""
    return f"k_c {spelt(found['k_c_y'], '.2f')} through the wall, {spelt(found['k_c_z'], '.2f')} along it"


def fill(found: Mapping[str, Any]) -> Line:
    """What is blown in, and why it can't be where it can't."""
    words = (
        f"{spelt(found['density_kg_m3'], '.0f')} kg/m³, {spelt(found['kg_m2'], '.1f')} kg/m², "
        f"{spelt(found['bags_m2'], '.2f')} bags/m², "
        f"{many(found['chambers'], 'chamber')} high"
    )
    voids = found["voids"]
    why = [f"{_layers(each['layers'])}: {each['reason']}" for each in voids if each["reason"]]
    assumed = found["taken_for_blown"]
    unsaid = f"{_layers(assumed)}: kind not stated, taken for a loose fill" if assumed else ""
    beside = _dotted(many(len(voids), "void") if len(voids) > 1 else "", unsaid, "common practice")
    if found["passes"]:
        return Line("fill", "passes", "passes", words, beside, found["caution"])
    return Line("fill", "fails", "fails", "; ".join(why), _dotted(words, beside), found["caution"])


def _layers(numbers: list[int]) -> str:
    return f"layer{'s' if len(numbers) > 1 else ''} {_span(numbers)}"


def _span(numbers: list[int]) -> str:
    return f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else str(numbers[0])


def rules(found: list[Rule]) -> list[Line]:
    """Every rule; one line where none could be checked, for one and the same reason."""
    if len(found) > 1 and all(each.passes is None and each.words == found[0].words for each in found):
        return [Line("rules", "open", "not checked", found[0].words, _dotted(*(each.rule for each in found)))]
    return [rule(each) for each in found]


def rule(found: Rule) -> Line:
    """A rule of building, and how the wall keeps it."""
    state: State = {True: "passes", False: "fails", None: "open"}[found.passes]
    words = re.sub(r"(\d)%", "\\1\u00a0%", found.words)
    said = found.rule if words == found.rule else f"{found.rule}: {words}"
    return Line("rules", state, {"open": "not checked"}.get(state, state), said)


def worst_cases(found: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """(check, the combination that governs it, utilisation), the worst check first."""
    worst: dict[str, Mapping[str, Any]] = {}
    for case in found["cases"]:
        if case["check"] not in worst or case["utilisation"] > worst[case["check"]]["utilisation"]:
            worst[case["check"]] = case
    ranked = sorted(worst.values(), key=lambda case: -case["utilisation"])
    return [(case["check"], _factored(case["combination"]), percent(case["utilisation"])) for case in ranked]


def void_rows(found: Mapping[str, Any]) -> list[tuple[str, str, str, str, str]]:
    """(layers, depth mm, kg/m3, kg/m2, chambers) of every blown void."""
    return [
        (
            _span(each["layers"]),
            spelt(each["depth_mm"], ".0f"),
            spelt(each["density_kg_m3"], ".0f"),
            spelt(each["kg_m2"], ".1f"),
            str(each["chambers"]),
        )
        for each in found["voids"]
    ]


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
