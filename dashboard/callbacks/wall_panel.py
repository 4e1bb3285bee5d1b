"""The chosen wall: figures, drawing, layers, bars and judgements."""

from __future__ import annotations

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx
from dash.exceptions import PreventUpdate

from materials.errors import InputError
from optimiser.handover.drawing.section import section_svg
from optimiser.search.landmarks import most_balanced, standing_out

from ..rows.choose import by_id, of_target
from ..wall import carbon_part, cost_part, panel
from ..wall.my_wall import MINE
from ..wall.shown import DRAWING_WIDTH, find, nothing_shown, print_address, wall_title
from ..wall.steps import equal_head, equal_words, step_lines
from ..wall.working import judgement_rows


def register(app: Dash, workspace: Any) -> None:
    """Tie the panel to the chosen wall."""
    _first(app, workspace)
    _head(app, workspace)
    _folds(app, workspace)
    _neighbours(app, workspace)
    _best_so_far(app, workspace)


def _first(app: Dash, workspace: Any) -> None:
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
        source = workspace.source(run)
        rows = [] if source.alive else of_target(source.rows, target)
        there = by_id(rows, chosen) is not None or (chosen == MINE and mine)
        if there or not rows:
            raise PreventUpdate
        return most_balanced(rows, source.asked)["id"]


def _head(app: Dash, workspace: Any) -> None:
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
        Output("handover", "href"),
        Output("handover", "hidden"),
        Output("own-sheet", "hidden"),
        Input("wall", "data"),
        Input("base", "data"),
        State("mine", "data"),
        State("run", "data"),
        State("target", "value"),
    )
    def show(chosen, base, mine, run, target):
        source = workspace.source(run)
        try:
            judged, instead = find(workspace, run, chosen, mine), nothing_shown(source, chosen)
        except InputError as error:
            judged, instead = None, str(error)
        if judged is None:
            return (instead, [], "", [], [], [], True, True, True, "", True, "", True, True)
        currency = source.currency
        row = mine["row"] if chosen == MINE else by_id(source.rows, chosen)
        goal = row.get("target", target)
        names = standing_out(of_target(source.rows, goal), source.asked)
        lost = workspace.floor_lost(judged.thickness_mm, source.brief)
        return (
            panel.title(wall_title(row, names), row.get("in_short")),
            panel.figures(judged, lost, currency, source.asked),
            section_svg(judged.wall, width_px=DRAWING_WIDTH, prefix="wall"),
            panel.layers(judged, currency, source.study.pricing.products if source.study else None),
            panel.by_layer(judged, currency),
            judgement_rows(judged, goal, source.brief),
            False,
            False,
            False,
            print_address(run, chosen),
            chosen == MINE,
            print_address(run, chosen, "handover"),
            chosen == MINE,
            chosen != MINE,
        )


def _folds(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("carbon-head", "children"),
        Output("carbon-body", "children"),
        Output("carbon-part", "hidden"),
        Output("cost-head", "children"),
        Output("cost-body", "children"),
        Output("cost-part", "hidden"),
        Input("settled", "data"),
        Input("base", "data"),
        State("mine", "data"),
        State("run", "data"),
    )
    def parts(chosen, base, mine, run):
        source = workspace.source(run)
        judged = find(workspace, run, chosen, mine)
        if judged is None:
            return "", [], True, "", [], True
        pricing = source.study.pricing if source.study else None
        return (
            carbon_part.carbon_head(judged, pricing),
            panel.carbon(judged, source.brief, pricing),
            False,
            cost_part.cost_head(judged, source.currency),
            panel.cost(judged, source.currency) if judged.cost else [],
            judged.cost is None,
        )


def _neighbours(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("steps", "children"),
        Output("steps-head", "hidden"),
        Output("equals-head", "children"),
        Output("equals", "hidden"),
        Output("equals", "open"),
        Output("equals-list", "children"),
        Input("settled", "data"),
        Input("base", "data"),
        State("run", "data"),
    )
    def neighbours(chosen, base, run):
        source = workspace.source(run)
        row = by_id(source.rows, chosen) if source.study else None
        if row is None:
            return [], True, "", True, False, []
        lines = step_lines(workspace.steps(run, chosen), workspace.names(run), source.currency)
        count = row.get("equal_count") or 1
        return panel.steps(lines), not lines, equal_head(count) if count > 1 else "", count < 2, False, []

    @app.callback(
        Output("equals-list", "children", allow_duplicate=True),
        Input("equals-head", "n_clicks"),
        State("wall", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def equals(clicks, chosen, run):
        row = by_id(workspace.source(run).rows, chosen)
        if not clicks or row is None:
            raise PreventUpdate
        return panel.equal_walls(equal_words(row, workspace.equals(run, chosen), workspace.names(run)))

    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Input({"type": "step", "wall": ALL, "line": ALL}, "n_clicks"),
        prevent_initial_call=True,
    )
    def step(clicks):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        return ctx.triggered_id["wall"]


def _best_so_far(app: Dash, workspace: Any) -> None:
    @app.callback(Output("so-far", "children"), Input("version", "data"), State("run", "data"))
    def so_far(_, run):
        source = workspace.source(run)
        return panel.best_so_far(source.rows, source.currency, source.asked) if source.alive else []
