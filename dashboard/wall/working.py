"""The judgements of the chosen wall as Dash components: a line for each, and the working behind them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from dash import dcc, html

from optimiser.checks.common.lines import Line
from optimiser.checks.judge import Judged
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.moisture.verdict import WAYS
from optimiser.locales import many
from optimiser.wall.climate import MONTHS

from .drying_bars import dry_words
from .facts import heat_words
from .judgements import lines, overall, subscripts, workings
from .moisture_figures import air_words, coldest, profile, ways_of

COLDEST = "coldest"
SHORT = 34  # characters


def judgement_rows(judged: Judged, target: float | None, brief: Any = None) -> list:
    """What each group of checks comes to, what fails or must be seen under it, and folded away what holds."""
    rows: list = []
    for group, checks in itertools.groupby(lines(judged, target, brief), key=lambda each: each.group):
        rows += _group(group, list(checks))
    return rows


def _group(group: str, checks: Sequence[Line]) -> list:
    """The lines of one group. Two or more that hold open under one line; nothing else is ever folded away."""
    holding = [each for each in checks if each.state in ("passes", "shown")]
    if len(holding) < 2:
        rows = [_row(each, not number) for number, each in enumerate(checks)]
    else:
        state, verdict = overall(checks)
        fold = html.Details([html.Summary(lowered(_in_figures(group, holding))), *map(_folded, holding)])
        rows = [_cells(state, verdict, group, fold, True)]
        rows += [_row(each, False) for each in checks if each not in holding]
    cautions = [html.Div(each.caution, className="beside caution") for each in checks if each.caution]
    return rows + ([_cells("shown", "", group, cautions, False)] if cautions else [])


def _in_figures(group: str, holding: Sequence[Line]) -> str:
    """What is folded away in a line: its figures, or how many it is."""
    if group == "rules":
        return f"{many(len(holding), 'rule')} kept"
    return " · ".join(each.figure or each.words for each in holding)


def _row(said: Line, first: bool) -> html.Div:
    """One check."""
    return _cells(said.state, said.verdict, said.group, _words(said), first)


def _words(said: Line) -> list:
    """A check in words, with what stands beside it."""
    beside = [html.Div(_unbroken(said.beside), className="beside")] if said.beside else []
    return [html.Div(lowered(said.words)), *beside]


def _folded(said: Line) -> html.Div:
    return html.Div(_words(said), className="folded")


def _cells(state: str, verdict: str, group: str, words: Any, first: bool) -> html.Div:
    """Verdict, group (named once) and words side by side."""
    name = html.B(group) if first else html.B(group, className="unseen")
    parts = [html.Span(verdict, className="verdict"), html.Span(name), html.Div(words)]
    return html.Div(parts, className=f"judgement {state}{' first' if first else ''}")


def _unbroken(beside: str) -> list:
    """What stands beside a check, short parts never broken over two lines."""
    parts: list = []
    for part in beside.split(" · "):
        parts += [" · "] if parts else []
        parts.append(html.Span(lowered(part), className="whole" if len(part) < SHORT else ""))
    return parts


def lowered(text: str) -> list:
    """Words with the index of a symbol set low."""
    return [html.Sub(part) if low else part for part, low in subscripts(text)]


def working_part() -> html.Details:
    """What opens under the judgements; empty until a wall is chosen."""
    question = html.Div(
        [
            "Temperature and vapour pressure in ",
            _noun("working-month", [{"label": "the coldest month", "value": COLDEST}], COLDEST, "The month"),
            ", through ",
            _noun("working-path", [{"label": "the fill", "value": "fill"}], "fill", "The path through the wall"),
        ],
        className="sentence",
    )
    moisture = html.Div(
        [
            question,
            html.P(id="working-air", className="muted small"),
            html.Div(id="profile", className="drawing"),
            html.H3("Wetting and drying by month"),
            html.Div(id="water", className="drawing"),
            html.P(id="working-dry"),
        ],
        id="working-moisture",
    )
    return html.Details(
        [html.Summary("show the working"), moisture, html.Div(id="working-tables")], id="working", hidden=True
    )


def _noun(control: str, options: list[dict], value: str, label: str) -> html.Span:
    """A noun of the sentence that is also its control."""
    choice = dcc.Dropdown(options, value, id=control, clearable=False, searchable=False, maxHeight=340)
    return html.Span(choice, className="noun", title=label)


def month_of(judged: Judged, chosen: str | int) -> int:
    """The month to draw (0 = January)."""
    return coldest(judged) if chosen == COLDEST else int(chosen)


def month_options(judged: Judged) -> list[dict]:
    """The coldest month by name, then all twelve."""
    first = {"label": f"{MONTHS[coldest(judged)]}, the coldest", "value": COLDEST}
    return [first, *({"label": name, "value": number} for number, name in enumerate(MONTHS))]


def path_options(judged: Judged) -> list[dict]:
    """The paths through the wall that were judged."""
    return [{"label": WAYS[each], "value": each} for each in ways_of(judged)]


def air_line(judged: Judged, path: str, month: int) -> str:
    """The air on both sides in that month."""
    month_profile = profile(judged, path, month)
    return f"{MONTHS[month]}: {air_words(month_profile)}." if month_profile else ""


def dry_line(judged: Judged) -> str:
    """What is said of the paths that stay dry."""
    verdict = judged.verdicts.known(MOISTURE)
    return "" if verdict is None else dry_words(verdict.wet, verdict.accounts)


def tables(judged: Judged, target: float | None) -> list:
    """The working of the checks that are numbers: their tables, U between its limits."""
    parts: list = []
    for table in workings(judged):
        parts += [html.H3(table.title), _table(table.heads, table.rows, table.numeric)]
        parts += [html.P([*lowered(table.note)], className="muted small")] if table.note else []
    heat = judged.heat
    if not heat.refused:
        words = heat_words(judged.u_value, heat.r_upper, heat.r_lower, heat.correction, target)
        parts += [html.H3("Heat"), html.P(words)]
    return parts


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], numeric: int) -> html.Table:
    """A table whose last columns are numbers."""
    classes = ["right" if column >= len(heads) - numeric else "" for column in range(len(heads))]
    head = html.Tr([html.Th(word, className=kind) for word, kind in zip(heads, classes, strict=True)])
    body = [html.Tr([html.Td(cell, className=kind) for cell, kind in zip(row, classes, strict=True)]) for row in rows]
    return html.Table([html.Thead(head), html.Tbody(body)], className="working-table")
