"""Weights of the objectives, and the way back over ranges, locks and weights."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State

from optimiser.wall.scores import OBJECTIVES

from ..choosing.narrowing_words import first_words, weighed_figures, weights_of
from ..choosing.plot_view import PlotView, narrowed_rows
from ..choosing.weighing import verdict, weigh
from ..rows.choose import of_target


def register(app: Dash, workspace: Any) -> None:
    """Tie the weights to the rows."""
    _weighed(app, workspace)
    _ranked(app, workspace)
    _in_the_page(app)


def _weighed(app: Dash, workspace: Any) -> None:
    @app.callback(
        *(Output(f"weight-part-{key}", "hidden") for key in OBJECTIVES),
        Input("base", "data"),
        State("run", "data"),
    )
    def which(base, run):
        keys = weighed_figures(workspace.source(run))
        return [key not in keys for key in OBJECTIVES]


def _ranked(app: Dash, workspace: Any) -> None:
    @app.callback(
        output=(Output("ranks", "data"), Output("weighing-words", "children")),
        inputs={
            "now": Input("narrowed", "data"),
            "opened": Input("weighed", "data"),
            "values": tuple(Input(f"weight-{key}", "value") for key in OBJECTIVES),
            "parts": {
                "locks": State("locks", "data"),
                "run": State("run", "data"),
                "target": State("target", "value"),
                "ranges": tuple(State(f"slider-{key}", "value") for key in OBJECTIVES),
            },
        },
        prevent_initial_call=True,
    )
    def rank(now, opened, values, parts):
        if not opened or now is None:
            return None, []
        view = PlotView.read(parts)
        source = workspace.source(view.run)
        whole = of_target(source.rows, view.target)
        rows = narrowed_rows(whole, view, workspace)
        weights = weights_of(weighed_figures(source), values)
        ranking = weigh(rows, whole, weights)
        if ranking is None:
            return None, ["Nothing counts: give one of them a weight." if rows else "No wall is left to rank."]
        return ranking.rank, first_words(verdict(ranking, weights))


def _in_the_page(app: Dash) -> None:
    """What the page does by itself: words beside each weight, and the memory of every change."""
    for key in OBJECTIVES:
        app.clientside_callback(
            ClientsideFunction("deciding", "weight_words"),
            Output(f"weight-words-{key}", "children"),
            Input(f"weight-{key}", "value"),
        )
    app.clientside_callback(
        ClientsideFunction("deciding", "remember"),
        Output("history", "data"),
        *(Input(f"slider-{key}", "value") for key in OBJECTIVES),
        Input("spans", "data"),
        Input("locks", "data"),
        *(Input(f"weight-{key}", "value") for key in OBJECTIVES),
    )
