"""The front as a table: rows, selection by mouse and keyboard, CSV. Ranges and locks narrow it in the page."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, dcc
from dash.exceptions import PreventUpdate

from optimiser.wall.scores import OBJECTIVES

from ..choosing.plot_view import PlotView, narrowed_rows
from ..front.table import front_columns, front_csv, grid_rows
from ..rows.choose import of_target


def register(app: Dash, workspace: Any) -> None:
    """Tie the grid to the rows."""
    _rows(app, workspace)
    _selection(app)
    _file(app, workspace)


def _rows(app: Dash, workspace: Any) -> None:
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
        return front_columns(source.rows, source.currency, bool(weighed), source.asked), not source.rows


def _selection(app: Dash) -> None:
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


def _file(app: Dash, workspace: Any) -> None:
    @app.callback(
        output=Output("csv-file", "data"),
        inputs={
            "clicks": Input("csv", "n_clicks"),
            "parts": {
                "target": State("target", "value"),
                "locks": State("locks", "data"),
                "run": State("run", "data"),
                "ranges": tuple(State(f"slider-{key}", "value") for key in OBJECTIVES),
            },
        },
        prevent_initial_call=True,
    )
    def download(clicks, parts):
        if not clicks:
            raise PreventUpdate
        view = PlotView.read(parts)
        rows = narrowed_rows(of_target(workspace.source(view.run).rows, view.target), view, workspace)
        return dcc.send_string("\ufeff" + front_csv(rows), "front.csv", type="text/csv")
