"""The shortlist: the button of the panel, the strip on the front, and the way back."""

from __future__ import annotations

from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from ..choosing import shortlist
from ..choosing.columns import FEWEST, key_of
from ..choosing.keeping import back_words, decide, put_beside, shown_id, toggle, toggle_own, without
from ..rows.choose import by_id
from ..wall.my_wall import MINE, is_own

BOARD = Output("board", "data", allow_duplicate=True)
SAID = Output("shortlist-words", "children", allow_duplicate=True)
BESIDE = Output("beside", "data", allow_duplicate=True)


def register(app: Dash, workspace: Any) -> None:
    """Tie the shortlist to the decisions on the server."""
    _follow(app, workspace)
    _panel(app, workspace)
    _strip(app, workspace)


def _follow(app: Dash, workspace: Any) -> None:
    app.clientside_callback(
        ClientsideFunction("wallfront", "ask"), Output("asked", "data"), Input("board-tick", "n_intervals")
    )

    @app.callback(Output("board", "data"), Input("asked", "data"), State("board", "data"))
    def follow(_, version):
        now = workspace.decisions.board().version
        if now == version:
            raise PreventUpdate
        return now

    @app.callback(
        Output("shortlist-count", "children"),
        Output("shortlist-rows", "children"),
        Output("shortlist-words", "children"),
        Output("view-compare", "children"),
        Output("compare-link", "hidden"),
        *(Output(name, key) for name in ("undo", "redo") for key in ("children", "hidden")),
        Output("undo-compare", "children"),
        Output("undo-compare", "hidden"),
        Output("kept", "data"),
        Input("board", "data"),
        Input("base", "data"),
        State("run", "data"),
        State("kept", "data"),
    )
    def strip(version, _, run, marked):
        if version is None:
            raise PreventUpdate
        board = workspace.decisions.board()
        count = len(board.shortlist)
        undo = back_words(board)
        here = shortlist.ringed(board, workspace, run)
        return (
            shortlist.count_words(board, len(here)),
            shortlist.rows(board, workspace, run),
            board.trouble,
            f"side by side ({count})" if count else "side by side",
            count < FEWEST,
            *undo,
            *undo[:2],
            here if here != marked else no_update,
        )

    app.clientside_callback(ClientsideFunction("wallfront", "mark"), Output("marked", "data"), Input("kept", "data"))


def _panel(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("keep-part", "hidden"),
        Output("keep", "children"),
        Output("keep-note-part", "hidden"),
        Output("note-kept", "data"),
        Input("wall", "data"),
        Input("base", "data"),
        Input("board", "data"),
        Input("mine", "data"),
        State("run", "data"),
    )
    def panel(wall, base, board, mine, run):
        source, called = workspace.source(run), shown_id(wall, mine)
        if called is None or (wall != MINE and (source.study is None or by_id(source.rows, wall) is None)):
            return True, no_update, True, None
        entry = workspace.decisions.board().find(run, called)
        note = [key_of(run, called), entry.note if entry else ""]
        return False, "Kept · take off" if entry else "Keep in shortlist", entry is None, note

    @app.callback(
        BOARD,
        SAID,
        BESIDE,
        Input("keep", "n_clicks"),
        State("wall", "data"),
        State("mine", "data"),
        State("run", "data"),
        State("beside", "data"),
        prevent_initial_call=True,
    )
    def press(clicks, wall, mine, run, together):
        called = shown_id(wall, mine)
        if not clicks or not called:
            raise PreventUpdate
        act = (lambda: toggle_own(workspace, run, mine)) if wall == MINE else lambda: toggle(workspace, run, wall)
        version, said = decide(workspace, act)
        stays = workspace.decisions.board().find(run, called) is not None
        return version, said, None if stays else without(together, key_of(run, called))


def _strip(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Output("mine", "data", allow_duplicate=True),
        Input({"type": "kept-wall", "run": ALL, "wall": ALL}, "n_clicks"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def show(clicks, run):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        of, wall = ctx.triggered_id["run"] or None, ctx.triggered_id["wall"]
        to = no_update if of == run else of
        if not is_own(wall):
            return to, wall, no_update
        mine = put_beside(workspace, of, wall)
        if mine is None:
            raise PreventUpdate
        return to, MINE, mine

    @app.callback(
        BOARD,
        SAID,
        BESIDE,
        Input({"type": "kept-drop", "run": ALL, "wall": ALL}, "n_clicks"),
        State("beside", "data"),
        prevent_initial_call=True,
    )
    def drop(clicks, together):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        run, wall = ctx.triggered_id["run"] or None, ctx.triggered_id["wall"]
        version, said = decide(workspace, lambda: workspace.decisions.drop(run, wall))
        return version, said, without(together, key_of(run, wall))

    @app.callback(
        BOARD,
        SAID,
        Input("undo", "n_clicks"),
        Input("redo", "n_clicks"),
        Input("undo-compare", "n_clicks"),
        prevent_initial_call=True,
    )
    def back(*clicks):
        if not any(clicks):
            raise PreventUpdate
        act = workspace.decisions.redo if ctx.triggered_id == "redo" else workspace.decisions.undo
        return decide(workspace, act)
