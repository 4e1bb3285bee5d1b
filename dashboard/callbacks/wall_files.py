"""The chosen wall as a file: its build-up, and the print view of one's own."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, dcc
from dash.exceptions import PreventUpdate

from materials.catalogue import load_catalogue
from optimiser.wall.buildup import to_toml

from ..wall.my_wall import MINE
from ..wall.print_page import wall_sheet
from ..wall.shown import find


def register(app: Dash, workspace: Any) -> None:
    """Tie the downloads to the chosen wall."""

    @app.callback(
        Output("build-up-file", "data"),
        Input("build-up", "n_clicks"),
        State("wall", "data"),
        State("mine", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def download(clicks, chosen, mine, run):
        judged = find(workspace, run, chosen, mine) if clicks else None
        if judged is None:
            raise PreventUpdate
        return dcc.send_string(to_toml(judged.wall, load_catalogue()), f"{chosen}.toml", type="application/toml")

    @app.callback(
        Output("own-sheet-file", "data"),
        Input("own-sheet", "n_clicks"),
        State("mine", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def own_sheet(clicks, mine, run):
        judged = find(workspace, run, MINE, mine) if clicks else None
        if judged is None:
            raise PreventUpdate
        source = workspace.source(run)
        lost = workspace.floor_lost(judged.thickness_mm, source.brief)
        return dcc.send_string(wall_sheet(judged, judged.wall.name, source, lost), "my-wall.html", type="text/html")
