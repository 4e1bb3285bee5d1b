"""Locks: which are set and offered, what they cost, and a search under them."""

from __future__ import annotations

from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..choosing.locking import read_locks
from ..choosing.narrowing_words import lock_options, lock_parts
from ..rows.choose import by_id, of_target


def register(app: Dash, workspace: Any) -> None:
    """Tie the locks to the rows."""
    _held(app, workspace)
    _offered(app, workspace)
    _let_go(app)
    _search(app, workspace)


def _held(app: Dash, workspace: Any) -> None:
    @app.callback(
        output={
            "held": Output("held", "data"),
            "chips": Output("lock-chips", "children"),
            "cost": Output("locks-cost", "children"),
            "beside": Output("locks-beside", "children"),
            "search_hidden": Output("locks-search", "hidden"),
            "part_hidden": Output("locks-part", "hidden"),
        },
        inputs=(
            Input("locks", "data"),
            Input("version", "data"),
            Input("target", "value"),
            State("run", "data"),
        ),
    )
    def hold(tokens, version, target, run):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        rows = of_target(source.rows, target)
        return lock_parts(rows, read_locks(tokens), workspace.contents(run), workspace.names(run), source)


def _offered(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("lock-choice", "options"),
        Input("settled", "data"),
        Input("locks", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
    )
    def choices(chosen, tokens, version, target, run):
        source = workspace.source(run)
        if version is None or source.study is None:
            return []
        rows, wall = of_target(source.rows, target), by_id(source.rows, chosen)
        contents, names = workspace.contents(run), workspace.names(run)
        return lock_options(wall, rows, read_locks(tokens), contents, names, source.currency)

    app.clientside_callback(
        ClientsideFunction("deciding", "lock"),
        Output("locks", "data", allow_duplicate=True),
        Output("lock-choice", "value"),
        Input("lock-choice", "value"),
        State("locks", "data"),
        prevent_initial_call=True,
    )


def _let_go(app: Dash) -> None:
    @app.callback(
        Output("locks", "data", allow_duplicate=True),
        Input({"type": "unlock", "token": ALL}, "n_clicks"),
        State("locks", "data"),
        prevent_initial_call=True,
    )
    def let_go(clicks, tokens):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        return [each for each in tokens or [] if each != ctx.triggered_id["token"]]


def _search(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Output("locks-fault", "children"),
        Input("locks-search", "n_clicks"),
        Input("locks", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def search(clicks, tokens, run):
        if ctx.triggered_id != "locks-search" or not clicks:
            return no_update, no_update, ""
        try:
            return workspace.search_locked(run, read_locks(tokens)), None, ""
        except InputError as error:
            return no_update, no_update, str(error)
