"""Sets of limits, ranges and locks together: saved, recalled and dropped."""

from __future__ import annotations

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError
from optimiser.wall.scores import OBJECTIVES

from ..choosing.locking import lock_words, parted, read_locks
from ..choosing.narrowing_words import recalled, set_to_save
from ..choosing.plot_view import spans_of
from ..front.deciding_parts import saved_rows
from ..rows.choose import of_target


def register(app: Dash, workspace: Any) -> None:
    """Tie the list of sets to the decisions on the server."""
    _listed(app, workspace)
    _saved(app, workspace)
    _recalled(app, workspace)


def _listed(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("limits-list", "children"),
        Input("board", "data"),
        Input("limits-words", "children"),
        Input("base", "data"),
        State("run", "data"),
    )
    def show(_, __, base, run):
        if base is None:
            raise PreventUpdate
        names, currency, sets = workspace.names(run), workspace.source(run).currency, {}
        for name, saved in workspace.decisions.board().limit_sets.items():
            spans, locks = parted(saved)
            sets[name] = spans, [lock_words(each, names, currency) for each in locks]
        return saved_rows(sets)


def _saved(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("limits-words", "children"),
        Output("limits-name", "value"),
        Input("limits-save", "n_clicks"),
        Input("limits-name", "n_submit"),
        Input({"type": "forget", "name": ALL}, "n_clicks"),
        State("limits-name", "value"),
        State("spans", "data"),
        State("locks", "data"),
        *(State(f"slider-{key}", "value") for key in OBJECTIVES),
        prevent_initial_call=True,
    )
    def save(_, __, dropped, name, ends, tokens, *values):
        trigger = ctx.triggered_id
        if isinstance(trigger, dict):
            if not any(dropped):
                raise PreventUpdate
            try:
                workspace.decisions.drop_limits(trigger["name"])
            except InputError as error:
                return str(error), no_update
            return f"“{trigger['name']}” was dropped.", no_update
        try:
            workspace.decisions.save_limits(name or "", set_to_save(spans_of(values), ends, read_locks(tokens)))
        except InputError as error:
            return str(error), no_update
        return f"“{name}” was saved.", ""


def _recalled(app: Dash, workspace: Any) -> None:
    @app.callback(
        *(Output(f"slider-{key}", "value", allow_duplicate=True) for key in OBJECTIVES),
        Output("locks", "data", allow_duplicate=True),
        Input({"type": "recall", "name": ALL}, "n_clicks"),
        State("run", "data"),
        State("target", "value"),
        prevent_initial_call=True,
    )
    def recall(clicks, run, target):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        saved = workspace.decisions.board().limit_sets.get(ctx.triggered_id["name"])
        if saved is None:
            raise PreventUpdate
        values, locks = recalled(saved, of_target(workspace.source(run).rows, target))
        return *values, locks
