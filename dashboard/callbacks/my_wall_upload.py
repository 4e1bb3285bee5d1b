"""My wall: a file of one's own on the plot, and the walls that beat it."""

from __future__ import annotations

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..rows.choose import of_target
from ..wall.my_wall import MINE, text_of
from ..wall.my_wall_part import beside, own_words


def register(app: Dash, workspace: Any) -> None:
    """Tie the upload to the plot."""
    _uploaded(app, workspace)
    _compared(app, workspace)
    _go(app)


def _uploaded(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("mine", "data"),
        Output("wall", "data", allow_duplicate=True),
        Output("mine-words", "children"),
        Output("mine-words", "className"),
        Output("mine-file", "contents"),
        Input("mine-file", "contents"),
        Input("mine-clear", "n_clicks"),
        State("mine-file", "filename"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def put(contents, _, name, run):
        if ctx.triggered_id == "mine-clear":
            return None, no_update, [], "", None
        if not contents:
            raise PreventUpdate
        try:
            mine = beside(workspace, text_of(contents, name or "the file"), name or "the file", run)
        except InputError as error:
            lines = [html.P(line) for line in str(error).splitlines()]
            return None, no_update, [html.B("This file cannot be used."), *lines], "fault", None
        return mine, MINE, no_update, "", None

    app.callback(Output("mine-clear", "hidden"), Input("mine", "data"))(lambda mine: not mine)


def _compared(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("mine-words", "children", allow_duplicate=True),
        Output("mine-words", "className", allow_duplicate=True),
        Input("mine", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def compare(mine, _, target, run):
        if not mine:
            raise PreventUpdate
        source = workspace.source(run)
        goal = target if target is not None else (source.brief.target.u_value if source.brief else None)
        mending = mine.get("fails", []), mine.get("mends", [])
        return own_words(
            mine["row"], of_target(source.rows, target), goal, source.currency, *mending, asked=source.asked
        ), ""


def _go(app: Dash) -> None:
    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Input({"type": "go", "wall": ALL}, "n_clicks"),
        prevent_initial_call=True,
    )
    def go(clicks):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        return ctx.triggered_id["wall"]
