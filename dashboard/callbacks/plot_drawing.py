"""The plot and what stands behind it. Narrowing itself happens in the page."""

from __future__ import annotations

import time
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State
from dash.exceptions import PreventUpdate

from optimiser.wall.scores import OBJECTIVES

from ..choosing.plot_view import PlotView
from ..front.family import price_of
from ..front.front_rows import cloud_of
from ..front.plot_axes import colour_words
from ..front.plot_canvas import canvas, price_words, seen_parts
from ..front.plot_figure import cloud_points, labels

SLIDERS = tuple(State(f"slider-{key}", "value") for key in OBJECTIVES)


def register(app: Dash, workspace: Any) -> None:
    """Tie the plot to the rows."""
    _plot(app, workspace)
    _labels(app, workspace)
    _cloud(app, workspace)
    _in_the_page(app)


def _question(kind: type[Input] | type[State]) -> dict[str, Any]:
    """The controls of the question."""
    return {name: kind(name, "value") for name in ("x", "y", "colour", "log")}


def _plot(app: Dash, workspace: Any) -> None:
    @app.callback(
        output={
            "canvas": Output("canvas", "data"),
            "colour": Output("colour-words", "children"),
            "price": Output("target-price", "children"),
            "nothing": Output("nothing", "children"),
            "nothing_hidden": Output("nothing", "hidden"),
            "front_hidden": Output("front", "hidden"),
            "more_hidden": Output("front-more", "hidden"),
            "panel_hidden": Output("wall-panel", "hidden"),
            "strips_hidden": Output("strips", "hidden"),
        },
        inputs={
            "version": Input("version", "data"),
            "drawn_as": Input("drawn-as", "value"),
            "parts": {
                "target": Input("target", "value"),
                **_question(Input),
                "mine": Input("mine", "data"),
                "theme": Input("theme", "data"),
                "screen": Input("screen", "data"),
                "run": State("run", "data"),
                "locks": State("locks", "data"),
                "spans": State("spans", "data"),
                "ranges": SLIDERS,
            },
        },
    )
    def plot(version, drawn_as, parts):
        if version is None:
            raise PreventUpdate
        view = PlotView.read(parts)
        source, plotted = workspace.source(view.run), view.rows(workspace)
        return {
            "canvas": canvas(plotted, drawn_as, f"{version} {time.time_ns()}"),
            "colour": colour_words(plotted.whole, view.colour, source.currency),
            "price": price_words(price_of(source.rows, view.target, source.currency, source.asked)),
            **seen_parts(source, view.run),
        }


def _labels(app: Dash, workspace: Any) -> None:
    @app.callback(
        output=Output("labels", "data"),
        inputs={
            "now": Input("narrowed", "data"),
            "drawn": State("canvas", "data"),
            "parts": {
                "run": State("run", "data"),
                "target": State("target", "value"),
                "mine": State("mine", "data"),
                "screen": State("screen", "data"),
                "locks": State("locks", "data"),
                "theme": State("theme", "data"),
                **_question(State),
                "ranges": SLIDERS,
            },
        },
        prevent_initial_call=True,
    )
    def label(now, drawn, parts):
        if not drawn or now.get("fresh"):  # a figure that is new has its labels
            raise PreventUpdate
        plotted = PlotView.read(parts).rows(workspace)
        annotations = labels(plotted.whole, plotted.shown, plotted.look, plotted.mine, plotted.others)
        return {"stamp": now["stamp"], "annotations": annotations}


def _cloud(app: Dash, workspace: Any) -> None:
    @app.callback(
        output=(Output("cloud", "data"), Output("beaten-words", "children")),
        inputs={
            "asked": Input("beaten", "value"),
            "version": Input("version", "data"),
            "parts": {
                "target": Input("target", "value"),
                **_question(Input),
                "mine": Input("mine", "data"),
                "screen": Input("screen", "data"),
                "run": State("run", "data"),
            },
        },
    )
    def beaten(asked, version, parts):
        if version is None or not asked:
            return [], ""
        view = PlotView.read(parts)
        plotted = view.rows(workspace)
        walls = cloud_of(workspace.source(view.run), view.target)
        cloud = cloud_points(walls, plotted.whole, plotted.look, plotted.mine, plotted.others)
        return cloud.spots, cloud.words


def _in_the_page(app: Dash) -> None:
    """What the page does by itself: narrowing, the ring, labels and the cloud behind."""
    app.clientside_callback(
        ClientsideFunction("front", "show"),
        Output("plot", "figure"),
        Input("canvas", "data"),
        Input("kept", "data"),
    )
    app.clientside_callback(
        ClientsideFunction("front", "narrow"),
        Output("veiled", "data"),
        Input("canvas", "data"),
        Input("held", "data"),
        *(Input(f"slider-{key}", "value") for key in OBJECTIVES),
        Input("kept", "data"),
        State("spans", "data"),
    )
    for name, store, given in (
        ("ring", "ringed", Input("wall", "data")),
        ("label", "labelled", Input("labels", "data")),
        ("behind", "clouded", Input("cloud", "data")),
        ("drawn", "shape", Input("drawn-as", "value")),
    ):
        app.clientside_callback(ClientsideFunction("front", name), Output(store, "data"), given)
