"""The front as a table: rows, selection by mouse and keyboard, CSV. Ranges and locks narrow it in the page."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, dcc
from dash.exceptions import PreventUpdate

from optimiser.search.numeric_front import misses

from ..front.choose import known_figures, of_target
from ..front.table import columns, front_csv, grid_rows
from ..words import NARROWED
from .front import narrowed_rows, spans_of


def selected_id(selected: Any) -> str | None:
    """The wall that the grid reports as selected."""
    if isinstance(selected, dict):
        selected = selected.get("ids") or []
    if not selected:
        return None
    first = selected[0]
    return first.get("id") if isinstance(first, dict) else first


def register(app: Dash, workspace: Any) -> None:
    """Tie the grid to the rows."""

    @app.callback(
        Output("table", "rowData"),
        Input("version", "data"),
        Input("target", "value"),
        Input("ranks", "data"),
        State("run", "data"),
    )
    def fill(version, target, ranks, run):
        if version is None:
            raise PreventUpdate
        rows = of_target(workspace.source(run).rows, target)
        return grid_rows(sorted(rows, key=lambda row: (row["thickness_mm"], str(row["id"]))), ranks)

    @app.callback(
        Output("table", "columnDefs"),
        Output("table-part", "hidden"),
        Input("version", "data"),
        Input("weighed", "data"),
        State("run", "data"),
    )
    def heads(version, weighed, run):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        known = known_figures(source.rows, ("floor_area_lost_m2", "stability", "u_numeric"))
        with_floor, with_hold, proven = (key in known for key in ("floor_area_lost_m2", "stability", "u_numeric"))
        missed = any(map(misses, source.rows))
        return columns(source.currency, with_floor, bool(weighed), with_hold, proven, missed), not source.rows

    app.clientside_callback(
        ClientsideFunction("front", "follow"),
        Output("table", "selectedRows"),
        Output("table", "scrollTo"),
        Input("settled", "data"),
        Input("table", "rowData"),
        State("table", "selectedRows"),
        State("wall", "data"),
    )

    app.clientside_callback(
        ClientsideFunction("front", "selected"),
        Output("wall", "data", allow_duplicate=True),
        Input("table", "selectedRows"),
        State("wall", "data"),
        prevent_initial_call=True,
    )

    @app.callback(
        Output("csv-file", "data"),
        Input("csv", "n_clicks"),
        State("target", "value"),
        State("locks", "data"),
        State("run", "data"),
        *(State(f"slider-{key}", "value") for key in NARROWED),
        prevent_initial_call=True,
    )
    def download(clicks, target, tokens, run, *values):
        if not clicks:
            raise PreventUpdate
        rows = of_target(workspace.source(run).rows, target)
        kept = narrowed_rows(rows, spans_of(values), tokens, workspace, run)
        return dcc.send_string("\ufeff" + front_csv(kept), "front.csv", type="text/csv")
