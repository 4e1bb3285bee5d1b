"""The view in which kept walls stand side by side."""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from ..choosing import columns, compare_figures
from ..choosing.columns import FEWEST, MOST, key_of, of_key
from ..choosing.decisions import Board
from ..views import COMPARE, FRONT
from .shortlist import BESIDE, BOARD, decided, keep, standing_out

PLACES = range(MOST)


def options(board: Board, chosen: list[str]) -> list[dict]:
    """A box for each kept wall, and for walls that only the address names; four may be ticked."""
    keys = list(dict.fromkeys([*(key_of(each.run, each.wall) for each in board.kept), *chosen]))
    full = len(chosen) >= MOST
    return [{"label": columns.called(board, key), "value": key, "disabled": full and key not in chosen} for key in keys]


def in_order(board: Board, ticked: list[str], before: list[str]) -> list[str]:
    """Ticked walls in the order of keeping; those only the address names come last, as it names them."""
    order = list(dict.fromkeys([*(key_of(each.run, each.wall) for each in board.kept), *before]))
    return sorted(ticked, key=lambda key: order.index(key) if key in order else len(order))[:MOST]


def register(app: Dash, workspace: Any) -> None:
    """Tie the view to the shortlist."""
    _address(app)
    _lay_out(app, workspace)
    _choose(app, workspace)
    _keeping(app, workspace)


def _address(app: Dash) -> None:
    app.callback(Output("beside", "data"), Input("url", "search"))(columns.read_walls)
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
    @app.callback(
        Output("compare-empty", "hidden"),
        Output("compare-empty-head", "children"),
        Output("keep-standing-out", "hidden"),
        Output("compare-body", "hidden"),
        Output("compare-sentence", "children"),
        Output("compare-line", "children"),
        Output("compare-table", "children"),
        *(Output(f"compare-wall-{number}", "hidden") for number in PLACES),
        *(Output(f"compare-name-{number}", "children") for number in PLACES),
        *(Output(f"compare-note-part-{number}", "hidden") for number in PLACES),
        *(Output(f"compare-keep-{number}", "hidden") for number in PLACES),
        Output("beside-svg", "data"),
        Output("beside-shown", "data"),
        Output("compare-choose", "options"),
        Output("compare-choose", "value"),
        Output("compare-chooser", "hidden"),
        Input("view", "data"),
        Input("board", "data"),
        Input("beside", "data"),
        Input("base", "data"),
        State("run", "data"),
    )
    def lay_out(view, version, beside, base, run):
        if view != COMPARE or version is None or base is None:
            raise PreventUpdate
        board = workspace.decisions.board()
        wanted = columns.chosen_keys(board, beside)
        walls = columns.columns(workspace, wanted, board)
        found, keys = options(board, wanted), [each.key for each in walls]
        chooser = (found, wanted, len(found) <= FEWEST)
        if len(walls) < FEWEST:
            started = bool(board.kept) or not workspace.source(run).rows
            blank = ([True] * MOST, [[]] * MOST, [True] * MOST, [True] * MOST)
            head = compare_figures.empty_words(len(board.kept))
            return (
                False,
                head,
                started,
                len(found) < FEWEST,
                ["Tick two walls to compare them."],
                "",
                [],
                *(each for four in blank for each in four),
                [],
                keys,
                *chooser,
            )
        currency = workspace.source(walls[0].run).currency
        gone = columns.gone_words(board, [key for key in wanted if key not in keys])
        none = MOST - len(walls)
        names = [compare_figures.name(each, walls[0], currency) for each in walls]
        return (
            True,
            no_update,
            True,
            False,
            compare_figures.sentence(walls, gone),
            compare_figures.line_words(walls),
            compare_figures.table(walls, currency),
            *[False] * len(walls),
            *[True] * none,
            *names,
            *[[]] * none,
            *(not each.kept for each in walls),
            *[True] * none,
            *(each.kept for each in walls),
            *[True] * none,
            compare_figures.drawings(walls),
            keys,
            *chooser,
        )


def _choose(app: Dash, workspace: Any) -> None:
    @app.callback(
        BESIDE,
        Input("compare-choose", "value"),
        State("beside", "data"),
        prevent_initial_call=True,
    )
    def choose(ticked, beside):
        board = workspace.decisions.board()
        before = columns.chosen_keys(board, beside)
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

        return *decided(workspace, act), None


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
        return decided(workspace, lambda: keep(workspace, *of_key(keys[number])))
