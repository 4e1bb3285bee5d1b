"""The fronts of the suppliers laid over today's: every case, the axes, and the plot of one."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, ctx
from dash.exceptions import PreventUpdate

from ..choosing.plot_view import PlotView
from ..suppliers.comparison_view import axis_options, case_view, overview
from ..views import SUPPLIERS


def register(app: Dash, workspace: Any) -> None:
    """Tie the view to what is kept with the study."""
    _cases(app, workspace)
    _axes(app, workspace)
    _plot(app, workspace)


def _cases(app: Dash, workspace: Any) -> None:
    @app.callback(
        output={
            "options": Output("suppliers-case", "options"),
            "case": Output("suppliers-case", "value"),
            "rows": Output("suppliers-table", "rowData"),
            "columns": Output("suppliers-table", "columnDefs"),
            "same_place": Output("suppliers-kept", "children"),
            "hold": Output("suppliers-hold", "children"),
        },
        inputs=(
            Input("suppliers-stamp", "data"),
            State("target", "value"),
            State("run", "data"),
            State("suppliers-case", "value"),
        ),
    )
    def cases(stamp, target, run, case):
        if stamp is None:
            raise PreventUpdate
        source = workspace.source(run)
        return overview(source, workspace.comparing.compared(source, target), target, case)


def _axes(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-x", "options"),
        Output("suppliers-x", "value"),
        Output("suppliers-y", "options"),
        Output("suppliers-y", "value"),
        Input("suppliers-stamp", "data"),
        Input("x", "value"),
        Input("y", "value"),
        State("target", "value"),
        State("run", "data"),
        State("suppliers-x", "value"),
        State("suppliers-y", "value"),
    )
    def axes(stamp, front_x, front_y, target, run, x, y):
        if stamp is None:
            raise PreventUpdate
        options = axis_options(workspace.source(run), target)
        known = [each["value"] for each in options]
        followed = ctx.triggered_id in ("x", "y") or x not in known or y not in known
        across = front_x if followed and front_x in known else x if x in known else "thickness_mm"
        up = front_y if followed and front_y in known else y if y in known else "cost_per_m2"
        return options, across, options, up


def _plot(app: Dash, workspace: Any) -> None:
    @app.callback(
        output={
            "figure": Output("suppliers-plot", "figure"),
            "words": Output("suppliers-words", "children"),
            "picked": Output("suppliers-picked-words", "children"),
            "picked_hidden": Output("suppliers-picked-words", "hidden"),
        },
        inputs={
            "case": Input("suppliers-case", "value"),
            "picked": Input("suppliers-picked", "data"),
            "wall": Input("wall", "data"),
            "stamp": Input("suppliers-stamp", "data"),
            "page": Input("view", "data"),
            "parts": {
                "x": Input("suppliers-x", "value"),
                "y": Input("suppliers-y", "value"),
                "theme": Input("theme", "data"),
                "screen": Input("screen", "data"),
                "target": State("target", "value"),
                "run": State("run", "data"),
            },
        },
    )
    def draw(case, picked, wall, stamp, page, parts):
        if stamp is None or not parts["x"] or not parts["y"] or page != SUPPLIERS:
            raise PreventUpdate
        view = PlotView.read(parts)
        source = workspace.source(view.run)
        compared = workspace.comparing.compared(source, view.target)
        drawn = case_view(source, compared, view.target, view.look(source), case, wall, picked)
        if drawn is None:
            raise PreventUpdate
        return drawn
