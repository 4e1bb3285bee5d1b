"""The view in which kept walls stand side by side."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from ..choosing.columns import MOST, chosen_keys, in_order, of_key, read_walls
from ..choosing.keeping import decide, keep, standing_out
from ..choosing.side_by_side import side_by_side
from ..views import COMPARE, FRONT
from .shortlist_strip import BESIDE, BOARD

PLACES = range(MOST)


def register(app: Dash, workspace: Any) -> None:
    """Tie the view to the shortlist."""
    _address(app)
    _lay_out(app, workspace)
    _choose(app, workspace)
    _keeping(app, workspace)


def _address(app: Dash) -> None:
    app.callback(Output("beside", "data"), Input("url", "search"))(read_walls)
    app.clientside_callback(
        ClientsideFunction("wallfront", "beside"),
        Output("besided", "data"),
        Input("beside", "data"),
        Input("view", "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("wallfront", "print_page"),
        Output("printed", "data"),
        Input("compare-print", "n_clicks"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("wallfront", "draw_beside"), Output("beside-drawn", "data"), Input("beside-svg", "data")
    )


def _lay_out(app: Dash, workspace: Any) -> None:
    def each(part: str, name: str) -> tuple[Output, ...]:
        return tuple(Output(f"compare-{part}-{number}", name) for number in PLACES)

    @app.callback(
        output={
            "empty_hidden": Output("compare-empty", "hidden"),
            "empty_head": Output("compare-empty-head", "children"),
            "standing_out": Output("keep-standing-out", "children"),
            "standing_out_hidden": Output("keep-standing-out", "hidden"),
            "body_hidden": Output("compare-body", "hidden"),
            "sentence": Output("compare-sentence", "children"),
            "line": Output("compare-line", "children"),
            "table": Output("compare-table", "children"),
            "walls_hidden": each("wall", "hidden"),
            "names": each("name", "children"),
            "notes_hidden": each("note-part", "hidden"),
            "keeps_hidden": each("keep", "hidden"),
            "drawings": Output("beside-svg", "data"),
            "shown": Output("beside-shown", "data"),
            "options": Output("compare-choose", "options"),
            "chosen": Output("compare-choose", "value"),
            "chooser_hidden": Output("compare-chooser", "hidden"),
        },
        inputs={
            "view": Input("view", "data"),
            "version": Input("board", "data"),
            "beside": Input("beside", "data"),
            "base": Input("base", "data"),
            "run": State("run", "data"),
        },
    )
    def lay_out(view, version, beside, base, run):
        if view != COMPARE or version is None or base is None:
            raise PreventUpdate
        parts = side_by_side(workspace, run, beside)
        return {"empty_head": no_update} | parts  # the heading is not seen where there are walls


def _choose(app: Dash, workspace: Any) -> None:
    @app.callback(
        BESIDE,
        Input("compare-choose", "value"),
        State("beside", "data"),
        prevent_initial_call=True,
    )
    def choose(ticked, beside):
        board = workspace.decisions.board()
        before = chosen_keys(board, beside)
        if ticked is None or set(ticked) == set(before):
            raise PreventUpdate
        return in_order(board, ticked, before)

    @app.callback(
        Output("view", "data", allow_duplicate=True),
        Input("compare-link", "n_clicks"),
        Input("compare-front", "n_clicks"),
        prevent_initial_call=True,
    )
    def go(*clicks):
        if not any(clicks):
            raise PreventUpdate
        return FRONT if ctx.triggered_id == "compare-front" else COMPARE

    @app.callback(
        BOARD,
        Output("compare-empty-words", "children"),
        BESIDE,
        Input("keep-standing-out", "n_clicks"),
        State("run", "data"),
        State("target", "value"),
        prevent_initial_call=True,
    )
    def start(clicks, run, target):
        if not clicks:
            raise PreventUpdate

        def act() -> None:
            for wall in standing_out(workspace, run, target):
                keep(workspace, run, wall)

        return *decide(workspace, act), None


def _keeping(app: Dash, workspace: Any) -> None:
    @app.callback(
        BOARD,
        Output("compare-words", "children"),
        *(Input(f"compare-keep-{number}", "n_clicks") for number in PLACES),
        State("beside-shown", "data"),
        prevent_initial_call=True,
    )
    def keep_shown(*given):
        clicks, keys = given[:MOST], given[MOST] or []
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        number = int(ctx.triggered_id.rpartition("-")[2])
        return decide(workspace, lambda: keep(workspace, *of_key(keys[number])))
