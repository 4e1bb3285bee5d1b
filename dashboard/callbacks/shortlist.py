"""Keeping walls: the button of the panel, the strip on the front, notes, and the way back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..choosing import shortlist
from ..choosing.columns import FEWEST, key_of
from ..choosing.decisions import Board
from ..front.choose import best_in, by_id, of_target
from ..wall.own import MINE, is_own, own_id
from ..words import NARROWED
from . import notes
from .mine import beside

BOARD = Output("board", "data", allow_duplicate=True)
SAID = Output("shortlist-words", "children", allow_duplicate=True)
BESIDE = Output("beside", "data", allow_duplicate=True)


def decided(workspace: Any, act: Callable[[], Any]) -> tuple[int, str]:
    """Make a decision: the version that then stands, and why it could not be made ('' when it was)."""
    try:
        act()
        said = ""
    except InputError as error:
        said = str(error)
    return workspace.decisions.board().version, said


def toggle(workspace: Any, run: str | None, wall: str) -> None:
    """Keep a wall of a front, or take it off where it is kept; InputError where it cannot be."""
    if workspace.decisions.board().find(run, wall) is not None:
        workspace.decisions.drop(run, wall)
    else:
        keep(workspace, run, wall)


def keep(workspace: Any, run: str | None, wall: str) -> None:
    """Keep a wall; InputError where the front has none of that name."""
    if workspace.wall(run, wall) is None:
        raise InputError(f"There is no wall {wall} on this front to keep.")
    workspace.decisions.keep(run, wall)


def shown_id(wall: str | None, mine: Mapping[str, Any] | None) -> str | None:
    """What the wall of the panel is called on the shortlist; None where it cannot be kept."""
    if wall != MINE:
        return wall
    return own_id(mine["text"]) if mine else None


def toggle_own(workspace: Any, run: str | None, mine: Mapping[str, Any]) -> None:
    """Keep the wall of one's own that stands beside the front, or take it off; InputError where it cannot be kept."""
    wall = own_id(mine["text"])
    if workspace.decisions.board().find(run, wall) is not None:
        workspace.decisions.drop(run, wall)
    else:
        judged = workspace.own_wall(mine["text"], mine["file"], run)
        workspace.decisions.keep_own(run, mine["text"], judged.wall.name)


def standing_out(workspace: Any, run: str | None, target: float | None) -> list[str]:
    """The thinnest, the cheapest and the lowest in carbon, each once."""
    rows = of_target(workspace.source(run).rows, target)
    found = [best_in(rows, key) for key in NARROWED]
    return list(dict.fromkeys(each["id"] for each in found if each is not None))


def back_words(board: Board) -> tuple[str, bool, str, bool]:
    """What the buttons of the way back say, and whether each is hidden."""
    return f"Undo: {board.undo}", not board.undo, f"Redo: {board.redo}", not board.redo


def register(app: Dash, workspace: Any) -> None:
    """Tie the shortlist to the decisions on the server."""
    _follow(app, workspace)
    _panel(app, workspace)
    _strip(app, workspace)
    notes.register(app, workspace, decided)


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
        count = len(board.kept)
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
        kept = workspace.decisions.board().find(run, called)
        note = [key_of(run, called), kept.note if kept else ""]
        return False, "Kept · take off" if kept else "Keep in shortlist", kept is None, note

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
        version, said = decided(workspace, act)
        kept = workspace.decisions.board().find(run, called) is not None
        return version, said, None if kept else without(together, key_of(run, called))


def put_beside(workspace: Any, run: str | None, wall: str) -> dict[str, Any]:
    """A kept wall of one's own, put beside the front again; PreventUpdate where it is gone or no longer reads."""
    board = workspace.decisions.board()
    text, kept = board.build_up(run, wall), board.find(run, wall)
    if text is None or kept is None:
        raise PreventUpdate
    try:
        return beside(workspace, text, f"{kept.called}.toml", run)
    except InputError:
        raise PreventUpdate from None


def without(together: list[str] | None, key: str) -> list[str] | None:
    """The walls asked for side by side less one; None, the first of the shortlist, where none is left."""
    return [each for each in together or [] if each != key] or None


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
        return (to, MINE, put_beside(workspace, of, wall)) if is_own(wall) else (to, wall, no_update)

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
        version, said = decided(workspace, lambda: workspace.decisions.drop(run, wall))
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
        return decided(workspace, act)
