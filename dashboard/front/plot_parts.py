"""The front's own parts of the page: the question, the plot and what narrows it. No content of any study is in them."""

from __future__ import annotations

from dash import dcc, html

from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import OBJECTIVES

from ..words import QUANTITIES
from .deciding_parts import locks_line, weighing_part

HEIGHT = "385px"


def _noun(control: str, value: str, label: str, options: list[dict] | None = None) -> html.Span:
    """A noun of the question that is also its control."""
    known = options or [{"label": each.noun, "value": each.key} for each in QUANTITIES.values()]
    return html.Span(
        dcc.Dropdown(known, value, id=control, clearable=False, searchable=False, maxHeight=320),
        className="noun",
        title=label,
    )


def question() -> html.Div:
    """The question in words whose nouns are the controls, the targets where there are several, and the locks."""
    shapes = [{"label": "points", "value": "points"}, {"label": "lines", "value": "lines"}]
    return html.Div(
        [
            html.Div(
                [
                    "How does ",
                    _noun("x", "thickness_mm", "What runs across"),
                    " trade against ",
                    _noun("y", "carbon_kgco2e_m2", "What runs up"),
                    html.Span("? Colour shows ", className="colour-part"),
                    html.Span(" and ", className="lines-part"),
                    _noun("colour", "cost_per_m2", "What the colour shows; in lines, an axis of its own"),
                    html.Span(id="colour-words", className="muted colour-part"),
                    html.Span("?", className="lines-part"),
                ],
                className="sentence",
            ),
            html.Div(
                [
                    html.Span("U at most "),
                    html.Span(
                        dcc.Dropdown(id="target", clearable=False, searchable=False),
                        className="noun",
                        title="The target [W/m²K] whose front is shown",
                    ),
                    html.Span(id="target-price"),
                ],
                id="target-part",
                className="target-part",
                hidden=True,
            ),
            locks_line(["Drawn as ", _noun("drawn-as", "points", "How the walls are drawn", shapes), ". "]),
        ],
        className="question",
    )


def plot() -> html.Div:
    """The plot of points, over the beaten walls and under the ring of the chosen one; and the plot of lines."""
    return html.Div(
        [
            html.Canvas(id="behind", hidden=True, **{"aria-hidden": "true"}),
            dcc.Graph(
                id="plot",
                config={"displayModeBar": False, "responsive": True, "doubleClick": False},
                style={"height": HEIGHT},
            ),
            html.Div(id="ring", hidden=True, **{"aria-hidden": "true"}),
            html.Div(id="lines", style={"height": HEIGHT}),
            html.Div(id="line-tip", hidden=True, **{"aria-hidden": "true"}),
            html.Div(
                [
                    html.B("No wall lies within these ranges and locks."),
                    html.Span("Widen a slider below, let go of a lock above, or undo."),
                ],
                id="range-message",
                className="plot-message",
                hidden=True,
                role="status",
            ),
        ],
        className="plot-holder",
    )


def narrowing() -> html.Div:
    """What the marks of the plot mean, how its axes run, the sliders, and the weights."""
    return html.Div(
        [
            html.Div(
                [
                    html.Span(
                        [
                            "Points: unbeaten walls. ",
                            html.Span("Grey: other targets. ", className="family-note"),
                            "Hollow: narrowed away. ",
                            html.Span(id="beaten-words"),
                        ],
                        className="colour-part",
                        title="Unbeaten: no other wall is better in one figure and no worse in any other.",
                    ),
                    html.Span(
                        [
                            "Lines: walls that no other beats in everything. ",
                            html.Span("━", className="line-key chosen-key"),
                            " chosen, ",
                            html.Span("━", className="line-key kept-key"),
                            " shortlist. Drag along an axis that has a slider, or use the sliders.",
                        ],
                        className="lines-part",
                    ),
                    html.Span(
                        [
                            dcc.Checklist(
                                [{"label": "beaten walls", "value": "cloud"}],
                                [],
                                id="beaten",
                                inline=True,
                                className="log",
                            ),
                            dcc.Checklist(
                                [
                                    {"label": "from zero", "value": "zero"},
                                    {"label": "log across", "value": "x"},
                                    {"label": "log up", "value": "y"},
                                ],
                                [],
                                id="log",
                                inline=True,
                                className="log",
                            ),
                        ],
                        className="plot-ways colour-part",
                    ),
                ],
                className="muted small plot-note",
            ),
            html.Div([_slider(key) for key in OBJECTIVES], className="sliders"),
            weighing_part(),
        ],
        id="narrowing",
    )


def _slider(key: str) -> html.Div:
    quantity = QUANTITIES[key]
    return html.Div(
        [
            html.Div(
                [html.B(quantity.short), html.Span(id=f"range-{key}", className="muted")], className="slider-head"
            ),
            html.Div(id=f"bars-{key}", className="histogram", **{"aria-hidden": "true"}),
            dcc.RangeSlider(
                0,
                1,
                value=[0, 1],
                id=f"slider-{key}",
                marks=None,
                allowCross=False,
                allow_direct_input=False,
                tooltip=None,
                updatemode="drag",
            ),
        ],
        id=f"slider-part-{key}",
        className="slider",
        role="group",
        hidden=key not in USUAL,
        **{"aria-label": f"narrow {quantity.short}"},
    )
