"""The chosen wall: figures, drawing, layers, bars and judgements."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from dash import Dash, Input, Output, State, dcc
from dash.exceptions import PreventUpdate

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.buildup import to_toml
from optimiser.handover.section import section_svg

from .. import panel
from ..choose import by_id, most_balanced, of_target, standing_out
from ..own import MINE
from ..words import listed

DRAWING_WIDTH = 520  # px; the page scales it to the panel


def wall_title(chosen: str, mine: dict | None, names: dict[str, list[str]]) -> str:
    """What the panel is headed: the wall, and what it is known for."""
    if chosen == MINE:
        return f"My wall: {(mine or {}).get('row', {}).get('name', '')}"
    known = names.get(chosen)
    return f"Wall {chosen}, {listed([f'the {each}' for each in known])} of the front" if known else f"Wall {chosen}"


def print_address(run: str | None, chosen: str) -> str:
    """Where the print view of a wall is."""
    return "/print?" + urlencode({key: value for key, value in (("run", run), ("wall", chosen)) if value})


def find(workspace: Any, run: str | None, chosen: str | None, mine: dict | None) -> Any:
    """The judged wall to draw; None when there is none of that name or its file no longer reads."""
    if chosen == MINE:
        try:
            return workspace.own_wall(mine["text"], mine["file"], run) if mine else None
        except InputError:
            return None
    return workspace.wall(run, chosen) if chosen else None


def register(app: Dash, workspace: Any) -> None:
    """Tie the panel to the chosen wall."""

    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Input("base", "data"),
        Input("target", "value"),
        Input("mine", "data"),
        State("wall", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def start_with_one(base, target, mine, chosen, run):
        rows = of_target(workspace.source(run).rows, target)
        there = by_id(rows, chosen) is not None or (chosen == MINE and mine)
        if there or not rows:
            raise PreventUpdate
        return most_balanced(rows)["id"]

    @app.callback(
        Output("wall-name", "children"),
        Output("figures", "children"),
        Output("svg", "data"),
        Output("layers", "children"),
        Output("by-layer", "children"),
        Output("judgements", "children"),
        Output("bars-head", "hidden"),
        Output("judgements-head", "hidden"),
        Output("wall-links", "hidden"),
        Output("print", "href"),
        Output("print", "hidden"),
        Input("wall", "data"),
        Input("base", "data"),
        State("mine", "data"),
        State("run", "data"),
        State("target", "value"),
    )
    def show(chosen, base, mine, run, target):
        source = workspace.source(run)
        judged = find(workspace, run, chosen, mine)
        if judged is None:
            return (_nothing(source, chosen), [], "", [], [], [], True, True, True, "", True)
        currency = source.currency
        row = by_id(source.rows, chosen)
        goal = row.get("target") if row else target
        names = standing_out(of_target(source.rows, goal))
        lost = workspace.floor_lost(judged.thickness_mm, source.brief)
        return (
            wall_title(chosen, mine, names),
            panel.figures(judged, lost, currency),
            section_svg(judged.wall, width_px=DRAWING_WIDTH, prefix="wall"),
            panel.layers(judged, currency),
            panel.by_layer(judged, currency),
            panel.judgements(judged, goal),
            False,
            False,
            False,
            print_address(run, chosen),
            chosen == MINE,
        )

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


def _nothing(source: Any, chosen: str | None) -> str:
    """Why no wall is drawn."""
    if source.alive:
        return "The walls of the front are drawn once the search has settled."
    if not source.rows:
        return "No wall to draw."
    return f"There is no wall {chosen} on this front." if chosen else "Choose a point or a row to see its wall."
