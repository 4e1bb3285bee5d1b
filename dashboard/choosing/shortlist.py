"""The strip of kept walls on the front, as Dash components."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import dcc, html

from optimiser.locales import many
from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import WHOLE_LIFE

from ..rows.choose import by_id
from ..wall.my_wall import is_own, row_of
from ..words import figure, millimetres, money, symbol
from .columns import FEWEST, wall_name
from .decisions import LONGEST_NOTE, Board, ShortlistEntry

BESIDES = {"weight_kg_m2": "kg/m²", WHOLE_LIFE: "whole life kgCO₂e/m²"}  # heads of what a brief asks for besides
NEWS_EVERY_MS = 4000  # other browsers' decisions show after this at the latest


def shortlist_stores() -> list:
    """Where the page keeps what it saw of the decisions, and the slow clock that asks for news of others."""
    names = ("board", "asked", "noted", "kept", "marked", "beside", "besided", "printed")
    beside = ("svg", "drawn", "shown", "kept", "noted")
    notes = ("note-kept", "note-entered", "written", "noted-up-to", "confirmed")
    return [
        *(dcc.Store(id=name) for name in (*names, *notes, *(f"beside-{each}" for each in beside))),
        dcc.Interval(id="board-tick", interval=NEWS_EVERY_MS),
    ]


def keep_part() -> html.Div:
    """In the panel of a wall: whether it is kept, and why."""
    return html.Div(
        [
            html.Button("Keep in shortlist", id="keep", className="quiet"),
            html.Div(
                dcc.Textarea(
                    id="keep-note",
                    className="note",
                    maxLength=LONGEST_NOTE,
                    placeholder="note: why this one",
                    rows=1,
                ),
                id="keep-note-part",
                hidden=True,
            ),
        ],
        id="keep-part",
        className="keep",
        hidden=True,
    )


def shortlist_part() -> html.Section:
    """On the front, under the plot: what is kept."""
    return html.Section(
        [
            html.Div(
                [
                    html.Div([html.B("Shortlist "), html.Span(id="shortlist-count", className="muted small")]),
                    html.Div(
                        [
                            html.Button("", id="undo", className="quiet", hidden=True),
                            html.Button("", id="redo", className="quiet", hidden=True),
                            html.Button("Compare side by side", id="compare-link", className="quiet", hidden=True),
                        ],
                        className="buttons",
                    ),
                ],
                className="shortlist-head",
            ),
            html.P(id="shortlist-words", role="status", className="fault"),
            html.Div(id="shortlist-rows", className="shortlist-rows"),
        ],
        className="shortlist",
        **{"aria-label": "the shortlist"},
    )


def count_words(board: Board, ringed: int = 0) -> str:
    """Beside the heading: how many are kept, or how to keep one. ringed: how many of them the plot shows."""
    if not board.shortlist:
        return "Nothing kept yet. “Keep in shortlist” stands under the figures of the chosen wall."
    if len(board.shortlist) < FEWEST:
        return "1 wall. Keep another to compare it with."
    ours = sum(is_own(each.wall) for each in board.shortlist)
    others = len(board.shortlist) - ours
    said = many(len(board.shortlist), "wall") + (f", {ours} of your own" if ours else "")
    if not others:
        return f"{said}."
    where = "ringed in the plot, bold in the table."
    if ringed == others:
        return f"{said}; the others {where}" if ours else f"{said}, {where}"
    them = "the others" if ours else "them"
    return f"{said}; {ringed} of {them} on this front: {where}" if ringed else f"{said}; none of {them} on this front."


def ringed(board: Board, workspace: Any, run: str | None) -> list[str]:
    """The kept walls that the front of a run shows."""
    ids = {row["id"] for row in workspace.source(run).rows}
    return [each.wall for each in board.shortlist if each.run == run and each.wall in ids]


def rows(board: Board, workspace: Any, run: str | None) -> list:
    """A line for each kept wall, in the order of keeping."""
    if not board.shortlist:
        return []
    currency = workspace.source(run).currency
    more = workspace.source(run).asked[len(USUAL) :]
    heads = ["wall", "mm", f"{symbol(currency).strip()}/m²", "kgCO₂e/m²", *(BESIDES[key] for key in more), "note"]
    cells = [html.Th(words, className="" if words in ("wall", "note") else "right", scope="col") for words in heads]
    head = html.Thead(html.Tr([*cells, html.Td("")]))
    return [html.Table([head, html.Tbody([_row(each, workspace, run, more) for each in board.shortlist])])]


def _figures_of(entry: ShortlistEntry, workspace: Any) -> Mapping[str, Any] | None:
    """Thickness, cost and carbon of a kept wall; None where it is gone."""
    if not is_own(entry.wall):
        return by_id(workspace.source(entry.run).rows, entry.wall)
    judged = workspace.shortlisted_wall(entry.run, entry.wall)
    return row_of(judged, None) if judged is not None else None


def _row(entry: ShortlistEntry, workspace: Any, run: str | None, more: Sequence[str]) -> html.Tr:
    row = _figures_of(entry, workspace)
    here, name = entry.run == run, entry.called
    name = name if here else wall_name(entry.run, name) if entry.run else f"{name} of the study"
    at = {"run": entry.run or "", "wall": entry.wall}
    go = html.Button(
        name, id={"type": "kept-wall", **at}, className="quiet", title=f"Show {name}", disabled=row is None
    )
    words = "its file no longer reads" if is_own(entry.wall) else "no longer on this front"
    gone = html.Td(words, colSpan=3 + len(more), className="muted")
    figures = (
        [
            html.Td(millimetres(row["thickness_mm"]), className="right"),
            html.Td(money(row.get("cost_per_m2"), "", 1).strip(), className="right"),
            *(html.Td(figure(key, row.get(key)), className="right") for key in ("carbon_kgco2e_m2", *more)),
        ]
        if row
        else [gone]
    )
    off = html.Button(
        "take off", id={"type": "kept-drop", **at}, className="quiet", title=f"Take {name} off the shortlist"
    )
    return html.Tr(
        [
            html.Td(go),
            *figures,
            html.Td(entry.note, className="kept-note", title=entry.note),
            html.Td(off, className="right"),
        ]
    )
