"""What stands round the plot for deciding: locks, saved sets of limits, the way back, and weights. No data in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dash import dcc, html

from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import OBJECTIVES

from ..words import QUANTITIES, figure

USUAL_WEIGHT = 5
STORES = ("canvas", "held", "narrowed", "labels", "cloud", "ranks", "nouns", "history", "weighed")
ECHOES = ("veiled", "labelled", "settled", "ringed", "clouded", "shape")  # of what the page did by itself


def stores() -> list:
    """Where the page keeps what is narrowed, locked and weighed."""
    return [*(dcc.Store(id=name) for name in (*STORES, *ECHOES)), dcc.Store(id="locks", data=[])]


def locks_line(before: list) -> html.Div:
    """One line above the plot: how it is drawn, what is locked, saved limits, undo; one more where one is."""
    choice = dcc.Dropdown(id="lock-choice", placeholder="a choice", clearable=False, searchable=False, maxHeight=340)
    return html.Div(
        [
            html.Div(
                [
                    html.Span([*before, "Only walls with "]),
                    html.Span(id="lock-chips", className="chips"),
                    html.Span(choice, className="noun", title="Lock a choice: only walls that hold it stay"),
                    html.Span([_saved(), *_way_back()], className="ways"),
                ],
                className="locks-line",
            ),
            html.Div(
                [
                    html.Span(id="locks-cost", role="status"),
                    html.Span(id="locks-beside", className="muted"),
                    html.Button("Search with these locks", id="locks-search", className="quiet"),
                    html.Span(id="locks-fault", role="alert", className="fault"),
                ],
                id="locks-part",
                hidden=True,
            ),
        ],
        className="locks",
    )


def _way_back() -> list:
    return [
        html.Button(word, id=f"narrowing-{word}", className="quiet", disabled=True, title=title)
        for word, title in (
            ("undo", "Undo the last change of ranges, locks or weights (Ctrl+Z)"),
            ("redo", "Redo it (Ctrl+Shift+Z)"),
        )
    ]


def _saved() -> html.Details:
    return html.Details(
        [
            html.Summary("Saved limits"),
            html.Div(
                [
                    html.Div(id="limits-list"),
                    html.Div(
                        [
                            dcc.Input(
                                id="limits-name", type="text", maxLength=60, placeholder="a name for what stands now"
                            ),
                            html.Button("Save ranges and locks", id="limits-save", className="quiet"),
                        ],
                        className="limits-new",
                    ),
                    html.Div(id="limits-words", role="status", className="small"),
                ],
                className="sheet",
            ),
        ],
        id="limits-part",
    )


def weighing_part() -> html.Details:
    """Weights for the objectives, folded."""
    return html.Details(
        [
            html.Summary("Weigh the objectives against each other"),
            html.Div([_weight(key) for key in OBJECTIVES], className="weights"),
            html.P(id="weighing-words", role="status"),
            html.P(
                "Each figure is scaled from 0 for the best wall of the front to 1 for the worst; the wall with the "
                "least weighted sum comes first. The table is sorted by rank while this is open.",
                className="muted small",
            ),
        ],
        id="weighing",
    )


def _weight(key: str) -> html.Div:
    short = QUANTITIES[key].short
    return html.Div(
        [
            html.Div([html.B(short), html.Span(id=f"weight-words-{key}", className="muted")], className="slider-head"),
            dcc.Slider(
                0,
                10,
                step=1,
                value=USUAL_WEIGHT,
                id=f"weight-{key}",
                marks=None,
                tooltip=None,
                allow_direct_input=False,
                updatemode="drag",
            ),
        ],
        id=f"weight-part-{key}",
        className="slider weight",
        role="group",
        hidden=key not in USUAL,
        **{"aria-label": f"how much {short} counts", "data-figure": short},
    )


def chips(locks: Sequence[tuple[str, str]]) -> list[html.Button]:
    """A chip for each lock (token, words), removed by a click."""
    return [
        html.Button(
            [words, html.Span("×", className="cross", **{"aria-hidden": "true"})],
            id={"type": "unlock", "token": token},
            className="chip",
            title=f"Let go of: {words}",
            **{"aria-label": f"let go of {words}"},
        )
        for token, words in locks
    ]


def saved_rows(sets: Mapping[str, tuple[Mapping[str, Sequence[float]], Sequence[str]]]) -> list:
    """A line for each saved set (ranges, words of its locks): a name that recalls it, what it holds, how to drop it."""
    if not sets:
        return [html.P("No limits are saved yet.", className="muted")]
    return [
        html.Div(
            [
                html.Button(name, id={"type": "recall", "name": name}, className="quiet"),
                html.Span(_held(spans, locks), className="muted small"),
                html.Button(
                    "drop", id={"type": "forget", "name": name}, className="quiet", **{"aria-label": f"drop {name}"}
                ),
            ],
            className="limits-row",
        )
        for name, (spans, locks) in sets.items()
    ]


def _held(spans: Mapping[str, Sequence[float]], locks: Sequence[str]) -> str:
    ranges = [
        f"{QUANTITIES[key].short} {figure(key, span[0])} – {figure(key, span[1])}"
        for key, span in spans.items()
        if key in QUANTITIES
    ]
    return " · ".join([*ranges, *locks])
