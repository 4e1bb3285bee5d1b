"""Heat through the chosen wall by conduction, worked out when its fold is open; and the proof of the whole front."""

from __future__ import annotations

import time
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..rows.choose import by_id
from ..wall import conduction_part as part
from ..wall.my_wall import MINE
from ..wall.shown import find

PICTURES = ("bounds", "temperatures", "spread")


def register(app: Dash, workspace: Any) -> None:
    """Tie the fold to the chosen wall, and the line of the proof to the front."""
    _head(app, workspace)
    _body(app, workspace)
    _proof(app, workspace)
    for name in PICTURES:
        app.clientside_callback(
            ClientsideFunction("wallfront", f"draw_{name}"),
            Output(f"{name}-drawn", "data"),
            Input(f"{name}-svg", "data"),
        )


def _head(app: Dash, workspace: Any) -> None:
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


def _body(app: Dash, workspace: Any) -> None:
    @app.callback(
        output={
            "u": Output("conduction-u", "children"),
            "bounds": Output("bounds-svg", "data"),
            "temperatures": Output("temperatures-svg", "data"),
            "spread": Output("spread-svg", "data"),
            "plane": Output("conduction-plane", "children"),
            "coldest": Output("conduction-coldest", "children"),
            "breaks": Output("conduction-breaks", "children"),
            "sure": Output("conduction-sure", "children"),
            "drivers": Output("conduction-drivers", "children"),
            "found_hidden": Output("conduction-found", "hidden"),
            "fault": Output("conduction-fault", "children"),
            "fault_hidden": Output("conduction-fault", "hidden"),
        },
        inputs=(
            Input("settled", "data"),
            Input("base", "data"),
            Input("conduction-head", "n_clicks"),
            State("mine", "data"),
            State("run", "data"),
            State("target", "value"),
        ),
        running=[(Output("conduction-wait", "hidden"), False, True)],
        prevent_initial_call=True,
    )
    def body(chosen, base, opened, mine, run, target):
        judged = find(workspace, run, chosen, mine) if (opened or 0) % 2 else None
        if judged is None:
            raise PreventUpdate
        row = None if chosen == MINE else by_id(workspace.source(run).rows, chosen)
        try:
            solved = workspace.conduction(judged.wall, run, (row or {}).get("target", target))
        except InputError as error:
            fault = {"found_hidden": True, "fault": f"It cannot be solved: {error}.", "fault_hidden": False}
            return dict.fromkeys(part.PARTS, no_update) | fault
        shown = {"found_hidden": False, "fault": "", "fault_hidden": True}
        return part.parts_of(judged.wall, solved) | shown


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
