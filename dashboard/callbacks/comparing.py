"""Comparing the suppliers: started, followed and stopped."""

from __future__ import annotations

import time
from typing import Any

from dash import Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError
from optimiser.market.suppliers_worker import USUAL

from ..suppliers.comparison_view import changed, status_view
from ..views import SUPPLIERS

STATUS = {
    "opening_hidden": Output("suppliers-opening", "hidden"),
    "head": Output("suppliers-head", "children"),
    "progress": Output("suppliers-progress", "children"),
    "status_hidden": Output("suppliers-status", "hidden"),
    "start_hidden": Output("suppliers-start", "hidden"),
    "start": Output("suppliers-start", "children"),
    "stop_hidden": Output("suppliers-stop", "hidden"),
    "fronts_hidden": Output("suppliers-fronts", "hidden"),
    "prices_hidden": Output("suppliers-prices", "hidden"),
    "stamp": Output("suppliers-stamp", "data"),
    "tick_disabled": Output("suppliers-tick", "disabled"),
}


def register(app: Dash, workspace: Any) -> None:
    """Tie the state of a comparison to its process."""
    _follow(app, workspace)
    _act(app, workspace)


def _follow(app: Dash, workspace: Any) -> None:
    @app.callback(
        output=STATUS,
        inputs={
            "tick": Input("suppliers-tick", "n_intervals"),
            "view": Input("view", "data"),
            "base": Input("base", "data"),
            "target": Input("target", "value"),
            "acted": Input("suppliers-acted", "data"),
            "run": State("run", "data"),
            "now": {
                "stamp": State("suppliers-stamp", "data"),
                "head": State("suppliers-head", "children"),
            },
        },
    )
    def follow(tick, view, base, target, acted, run, now):
        if view != SUPPLIERS or base is None:
            return dict.fromkeys(STATUS, no_update) | {"tick_disabled": True}
        source = workspace.source(run)
        state = workspace.comparing.state(source)
        compared = workspace.comparing.compared(source, target)
        parts = status_view(source, state, compared, workspace.comparing.left(source, state))
        if not changed(parts["head"], now["head"]):
            parts["head"] = no_update
        if parts["stamp"] == now["stamp"]:
            parts["stamp"] = no_update
        return parts


def _act(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-acted", "data"),
        Output("suppliers-fault", "children"),
        Input("suppliers-start", "n_clicks"),
        Input("suppliers-lever-start", "n_clicks"),
        Input("suppliers-stop", "n_clicks"),
        State("suppliers-lever", "value"),
        State("target", "value"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def act(start, more, stop, lever, target, run):
        if not any((start, more, stop)):
            raise PreventUpdate
        source = workspace.source(run)
        try:
            if ctx.triggered_id == "suppliers-stop":
                workspace.comparing.cancel(source)
            else:
                parts = USUAL if ctx.triggered_id == "suppliers-start" else (lever,)
                workspace.comparing.start(source, target, parts)
        except InputError as error:
            return time.time_ns(), str(error)
        return time.time_ns(), ""
