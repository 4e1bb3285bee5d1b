"""What the question can be asked of: the targets, the nouns, and how far the sliders reach."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, State, no_update
from dash.exceptions import PreventUpdate

from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import OBJECTIVES

from ..front.front_rows import chosen_nouns, chosen_target, front_rows, noun_options
from ..rows.choose import known_figures, moved_span, of_target, slider_span, targets
from ..words import u_goal

NOUNS = ("x", "y", "colour")


def register(app: Dash, workspace: Any) -> None:
    """Tie the controls of the question to the rows."""
    _targets(app, workspace)
    _nouns(app, workspace)
    _sliders(app, workspace)


def _targets(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("target", "options"),
        Output("target", "value"),
        Output("target-part", "hidden"),
        Input("version", "data"),
        State("run", "data"),
        State("wall", "data"),
        State("target", "value"),
    )
    def target_choice(version, run, wall, value):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        goals = targets(source.rows)
        options = [{"label": u_goal(each), "value": each} for each in goals]
        return options, chosen_target(source, goals, wall, value), len(goals) < 2


def _nouns(app: Dash, workspace: Any) -> None:
    @app.callback(
        *(Output(noun, "options") for noun in NOUNS),
        *(Output(noun, "value") for noun in NOUNS),
        Output("nouns", "data"),
        Input("version", "data"),
        State("nouns", "data"),
        State("run", "data"),
        *(State(noun, "value") for noun in NOUNS),
    )
    def nouns(version, asked, run, *values):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        if not source.rows:
            raise PreventUpdate
        options = noun_options(front_rows(source))
        if options == asked:
            raise PreventUpdate
        chosen = chosen_nouns(source, options, values, asked)
        new = [each if each != value else no_update for each, value in zip(chosen, values, strict=True)]
        return *[options] * 3, *new, options


def _sliders(app: Dash, workspace: Any) -> None:
    @app.callback(
        *(Output(f"slider-{key}", name) for key in OBJECTIVES for name in ("min", "max", "step", "value")),
        *(Output(f"slider-part-{key}", "hidden") for key in OBJECTIVES),
        Output("spans", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
        State("spans", "data"),
        *(State(f"slider-{key}", "value") for key in OBJECTIVES),
    )
    def slider_ends(_, target, run, before, *values):
        source = workspace.source(run)
        rows, seen = of_target(source.rows, target), (*USUAL, *known_figures(source.rows, source.asked))
        out, now = [], {}
        for key, value in zip(OBJECTIVES, values, strict=True):
            low, high, step = slider_span(rows, key)
            old = (before or {}).get(key)
            now[key] = [low, high]
            out += [low, high, step, moved_span(value if old else None, old, (low, high))]
        return *out, *(key not in seen for key in OBJECTIVES), now
