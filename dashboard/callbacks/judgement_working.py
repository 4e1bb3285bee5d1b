"""The working behind the judgements: the lines through the wall, water by month, the tables."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, no_update

from optimiser.checks.moisture.check import MOISTURE
from optimiser.wall.climate import MONTHS

from ..rows.choose import by_id
from ..wall import working
from ..wall.drying_bars import bars_svg
from ..wall.moisture_figures import profile, profile_svg, ways_of
from ..wall.my_wall import MINE
from ..wall.shown import find


def register(app: Dash, workspace: Any) -> None:
    """Tie the working to the chosen wall, its month and its path."""
    _of_wall(app, workspace)
    _lines(app, workspace)
    for name in ("profile", "water"):
        app.clientside_callback(
            ClientsideFunction("wallfront", f"draw_{name}"),
            Output(f"{name}-drawn", "data"),
            Input(f"{name}-svg", "data"),
        )


def _of_wall(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("working", "hidden"),
        Output("working-moisture", "hidden"),
        Output("working-month", "options"),
        Output("working-path", "options"),
        Output("working-path", "value"),
        Output("water-svg", "data"),
        Output("working-dry", "children"),
        Output("working-tables", "children"),
        Input("settled", "data"),
        Input("base", "data"),
        State("mine", "data"),
        State("run", "data"),
        State("target", "value"),
        State("working-path", "value"),
    )
    def of_wall(chosen, base, mine, run, target, path):
        judged = find(workspace, run, chosen, mine)
        if judged is None:
            return (True, *[no_update] * 7)
        verdict, ways = judged.verdicts.known(MOISTURE), ways_of(judged)
        row = by_id(workspace.source(run).rows, chosen) if chosen != MINE else None
        return (
            False,
            verdict is None,
            working.month_options(judged),
            working.path_options(judged),
            path if path in ways else next(iter(ways), "fill"),
            "" if verdict is None else bars_svg(verdict.wet),
            working.dry_line(judged),
            working.tables(judged, row.get("target", target) if row else target),
        )


def _lines(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("profile-svg", "data"),
        Output("working-air", "children"),
        Input("settled", "data"),
        Input("base", "data"),
        Input("working-month", "value"),
        Input("working-path", "value"),
        State("mine", "data"),
        State("run", "data"),
    )
    def lines(chosen, base, month, path, mine, run):
        judged = find(workspace, run, chosen, mine)
        if judged is None:
            return "", ""
        ways = ways_of(judged)
        way = path if path in ways else next(iter(ways), "fill")
        number = working.month_of(judged, month)
        month_profile = profile(judged, way, number)
        if month_profile is None:
            return "", ""
        drawn = profile_svg(judged.wall, month_profile, month=MONTHS[number], way=way)
        return drawn, working.air_line(judged, way, number)
