"""The front as a table: rows, selection by mouse and keyboard, CSV."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, dcc, no_update
from dash.exceptions import PreventUpdate

from ..choose import narrowed, of_target
from ..table import columns, front_csv, grid_rows
from ..words import NARROWED
from .front import spans_of


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
    sliders = [Input(f"slider-{key}", "value") for key in NARROWED]

    @app.callback(
        Output("table", "rowData"),
        Output("table", "columnDefs"),
        Input("version", "data"),
        Input("target", "value"),
        *sliders,
        State("run", "data"),
    )
    def fill(version, target, *given):
        if version is None:
            raise PreventUpdate
        values, run = given[:3], given[3]
        source = workspace.source(run)
        rows = narrowed(of_target(source.rows, target), spans_of(values))
        rows = sorted(rows, key=lambda row: (row["thickness_mm"], str(row["id"])))
        floor = any(row.get("floor_area_lost_m2") is not None for row in rows)
        return grid_rows(rows), columns(source.currency, floor)

    @app.callback(
        Output("table", "selectedRows"),
        Output("table", "scrollTo"),
        Input("wall", "data"),
        Input("table", "rowData"),
        State("table", "selectedRows"),
    )
    def follow(chosen, rows, selected):
        if selected_id(selected) == chosen:
            raise PreventUpdate
        if chosen is None or all(row["id"] != chosen for row in rows or []):
            return [], no_update
        return {"ids": [chosen]}, {"rowId": chosen, "rowPosition": None}

    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Input("table", "selectedRows"),
        State("wall", "data"),
        prevent_initial_call=True,
    )
    def choose(selected, chosen):
        found = selected_id(selected)
        if found is None or found == chosen:
            raise PreventUpdate
        return found

    @app.callback(
        Output("csv-file", "data"),
        Input("csv", "n_clicks"),
        State("target", "value"),
        *(State(f"slider-{key}", "value") for key in NARROWED),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def download(clicks, target, *given):
        if not clicks:
            raise PreventUpdate
        rows = narrowed(of_target(workspace.source(given[3]).rows, target), spans_of(given[:3]))
        return dcc.send_string("\ufeff" + front_csv(rows), "front.csv", type="text/csv")
