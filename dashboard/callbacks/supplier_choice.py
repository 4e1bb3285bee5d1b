"""Which case and which wall of it is chosen, in the plot and in the table, and the walls of a case as a file."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, dcc, no_update
from dash.exceptions import PreventUpdate

from ..front.table import front_csv, selected_id
from ..suppliers.comparison_words import case_of, other_rows


def register(app: Dash, workspace: Any) -> None:
    """Tie plot and table of the cases to each other."""
    _clicked(app)
    _selected(app)
    _downloaded(app, workspace)


def _clicked(app: Dash) -> None:
    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Output("suppliers-picked", "data"),
        Input("suppliers-plot", "clickData"),
        State("suppliers-case", "value"),
        prevent_initial_call=True,
    )
    def click(clicked, case):
        point = next((each for each in (clicked or {}).get("points", ()) if each.get("customdata")), None)
        if point is None:
            raise PreventUpdate
        kind, which = point["customdata"]
        if kind == "wall":
            return str(which), None
        return no_update, {"case": case, "at": int(which)}


def _selected(app: Dash) -> None:
    @app.callback(
        Output("suppliers-case", "value", allow_duplicate=True),
        Input("suppliers-table", "selectedRows"),
        State("suppliers-case", "value"),
        prevent_initial_call=True,
    )
    def row(selected, case):
        chosen = selected_id(selected)
        if chosen is None or chosen == case:
            raise PreventUpdate
        return chosen

    @app.callback(
        Output("suppliers-table", "selectedRows"),
        Input("suppliers-case", "value"),
        Input("suppliers-table", "rowData"),
        State("suppliers-table", "selectedRows"),
    )
    def select(case, rows, selected):
        if not rows or case is None or selected_id(selected) == case:
            raise PreventUpdate
        return {"ids": [case]}


def _downloaded(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-file", "data"),
        Input("suppliers-csv", "n_clicks"),
        State("suppliers-case", "value"),
        State("target", "value"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def download(clicks, case, target, run):
        source = workspace.source(run)
        front = case_of(workspace.comparing.compared(source, target).fronts, case) if clicks else None
        if front is None:
            raise PreventUpdate
        rows = [{"case": case} | row | {"id": row["wall"]} for row in other_rows(front, source.brief)]
        rows = [{key: value for key, value in row.items() if key != "wall"} for row in rows]
        return dcc.send_string("\ufeff" + front_csv(rows), "front-of-the-case.csv", type="text/csv")
