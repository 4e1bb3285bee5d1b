"""Heat through the chosen wall by conduction, worked out when its fold is open; and the proof of the whole front."""

from __future__ import annotations

import time
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..front.choose import by_id
from ..front.conduction_axis import bounds_svg, spread_svg
from ..wall import conduction_part as part
from ..wall.conduction_field import field_of
from ..wall.conduction_figure import picture_svg
from ..wall.own import MINE
from ..wall.shown import find

PICTURES = ("bounds", "temperatures", "spread")


def register(app: Dash, workspace: Any) -> None:
    """Tie the fold to the chosen wall, and the line of the proof to the front."""
    _fold(app, workspace)
    _proof(app, workspace)


def _fold(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("conduction-part", "hidden"),
        Output("conduction-words", "children"),
        Input("settled", "data"),
        Input("version", "data"),
        State("mine", "data"),
        State("run", "data"),
    )
    def head(chosen, version, mine, run):
        if find(workspace, run, chosen, mine) is None:
            return True, ""
        row = None if chosen == MINE else by_id(workspace.source(run).rows, chosen)
        return False, part.head_words(row)

    @app.callback(
        Output("conduction-u", "children"),
        *(Output(f"{name}-svg", "data") for name in PICTURES),
        Output("conduction-plane", "children"),
        Output("conduction-coldest", "children"),
        Output("conduction-breaks", "children"),
        Output("conduction-sure", "children"),
        Output("conduction-drivers", "children"),
        Output("conduction-found", "hidden"),
        Output("conduction-fault", "children"),
        Output("conduction-fault", "hidden"),
        Input("settled", "data"),
        Input("base", "data"),
        Input("conduction-head", "n_clicks"),
        State("mine", "data"),
        State("run", "data"),
        State("target", "value"),
        running=[(Output("conduction-wait", "hidden"), False, True)],
        prevent_initial_call=True,
    )
    def body(chosen, base, opened, mine, run, target):
        judged = find(workspace, run, chosen, mine) if (opened or 0) % 2 else None
        if judged is None:
            raise PreventUpdate
        source = workspace.source(run)
        row = None if chosen == MINE else by_id(source.rows, chosen)
        try:
            found = workspace.conduction(judged.wall, run, (row or {}).get("target", target))
        except InputError as error:
            return *[no_update] * 9, True, f"It cannot be solved: {error}.", False
        field, month = field_of(judged.wall, found), found.coldest.month
        return (
            part.u_part(found),
            bounds_svg(found),
            picture_svg(judged.wall, field, month=month),
            spread_svg(found),
            part.plane_words(field, month),
            part.coldest_part(found),
            part.breaks_part(found),
            part.chance_words(found),
            part.drivers_part(found),
            False,
            "",
            True,
        )

    for name in PICTURES:
        app.clientside_callback(
            ClientsideFunction("wallfront", f"draw_{name}"),
            Output(f"{name}-drawn", "data"),
            Input(f"{name}-svg", "data"),
        )


def _proof(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("proving", "children"),
        Output("proof-tick", "disabled"),
        Output("addressed", "data", allow_duplicate=True),
        Input("base", "data"),
        Input("proof-tick", "n_intervals"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def follow(base, ticks, run):
        source = workspace.source(run)
        if source.study is None:
            return "", True, no_update
        state = workspace.proof_state(run)
        done = not state.alive and state.status == "done"
        news = f"proved {time.time()}" if done and ticks else no_update  # the rows have figures that they had not
        return part.proving_words(state), not state.alive, news

    @app.callback(
        Output("proof-numeric", "children"),
        Input("version", "data"),
        State("run", "data"),
    )
    def line(version, run):
        source = workspace.source(run)
        return part.proof_line(source.summary, len(source.rows))
