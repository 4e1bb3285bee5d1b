"""Following a search: progress, partial front, stop and resume."""

from __future__ import annotations

import time
from typing import Any

from dash import Dash, Input, Output, State, no_update
from dash.exceptions import PreventUpdate

from ..front.proof_part import proof as proof_part
from ..front.proof_words import proof_of
from ..front.search_words import announcement, result_words, status_words
from ..rows.brief_line import brief_words


def register(app: Dash, workspace: Any) -> None:
    """Tie the clock and the buttons to the runs."""
    _progress(app, workspace)
    _proof(app, workspace)
    _stop_and_resume(app, workspace)
    _back(app)


def _progress(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("version", "data"),
        Output("base", "data"),
        Output("brief", "children"),
        Output("result", "children"),
        Output("result-beside", "children"),
        Output("status-head", "children"),
        Output("status-words", "children"),
        Output("status-line", "hidden"),
        Output("cancel", "hidden"),
        Output("resume", "hidden"),
        Output("back", "hidden"),
        Output("tick", "disabled"),
        Output("spoken", "data"),
        Output("spoken-words", "children"),
        Input("tick", "n_intervals"),
        Input("run", "data"),
        Input("addressed", "data"),
        State("version", "data"),
        State("base", "data"),
        State("spoken", "data"),
    )
    def follow(_, run, __, version, base, spoken):
        source = workspace.source(run)
        head, words = status_words(source)
        result, beside = result_words(source)
        foundation = f"{run}|{source.study is not None}"
        spoken = announcement(source, spoken, time.time())
        return (
            source.version if source.version != version else no_update,
            foundation if foundation != base else no_update,
            brief_words(source.brief),
            result,
            beside,
            head,
            words,
            not head,
            not source.alive,
            source.status not in ("cancelled", "failed"),
            run is None or source.alive,
            not source.alive,
            spoken or no_update,
            spoken["words"] if spoken else no_update,
        )


def _proof(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("proof", "children"),
        Output("proof-part", "className"),
        Input("base", "data"),
        Input("target", "value"),
        State("run", "data"),
    )
    def explain(base, target, run):
        if base is None:
            raise PreventUpdate
        source = workspace.source(run)
        proof = proof_of(source.summary, target)
        off = workspace.ruled_out(run, target)
        return proof_part(source.summary, proof, source.currency, off), "result" if proof else "result closed"


def _stop_and_resume(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("addressed", "data", allow_duplicate=True),
        Input("cancel", "n_clicks"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def cancel(clicks, run):
        if not clicks or not run:
            raise PreventUpdate
        workspace.cancel(run)
        return f"stopped {clicks}"

    @app.callback(
        Output("addressed", "data", allow_duplicate=True),
        Input("resume", "n_clicks"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def resume(clicks, run):
        if not clicks or not run:
            raise PreventUpdate
        workspace.resume(run)
        return f"resumed {clicks}"


def _back(app: Dash) -> None:
    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Input("back", "n_clicks"),
        prevent_initial_call=True,
    )
    def back(clicks):
        if not clicks:
            raise PreventUpdate
        return None, None
