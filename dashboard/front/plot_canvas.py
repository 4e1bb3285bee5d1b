"""What the page draws the plot from, as plain data, and the words beside it."""

from __future__ import annotations

from typing import Any

from dash import html

from optimiser.wall.scores import OBJECTIVES

from ..source import FrontSource
from .family import Price
from .front_rows import PlotRows, bar_heights
from .none import nothing_words
from .parallel_figure import parallel_lines
from .plot_axes import form
from .plot_figure import front_figure

LINES = "lines"


def canvas(plotted: PlotRows, drawn_as: str, stamp: str) -> dict[str, Any]:
    """The figure, the rows that the page narrows by itself, and what it writes of them. drawn_as: points or lines."""
    rows, look = plotted.whole, plotted.look
    return {
        "stamp": stamp,
        "figure": front_figure(rows, plotted.shown, look, plotted.mine, plotted.others),
        "ids": [row["id"] for row in rows],
        "figures": {key: [row.get(key) for row in rows] for key in OBJECTIVES},
        "bars": {key: bar_heights(rows, key) for key in OBJECTIVES},
        "forms": {key: form(key, look.currency) for key in OBJECTIVES},
        "lines": parallel_lines(rows, look) if drawn_as == LINES else None,
    }


def seen_parts(source: FrontSource, run: str | None) -> dict[str, Any]:
    """Which parts of the page are seen, and what stands in the place of a front where there is none."""
    nothing = nothing_words(source, run)
    none = bool(nothing)
    return {
        "nothing": nothing,
        "nothing_hidden": not none,
        "front_hidden": none,
        "more_hidden": none,
        "panel_hidden": none and not source.alive,
        "strips_hidden": source.brief is None,
    }


def price_words(price: Price | None) -> list:
    """What the chosen target costs, in a line; nothing where there is one target."""
    if price is None:
        return []
    said: list = [f"{'' if price.words.startswith(';') else ' '}{price.words}: "]
    for number, end in enumerate(price.ends):
        rest = [html.Span(f" ({end.rest})", className="muted small")] if end.rest else []
        said += [" · " if number else "", html.Span([f"{end.name} ", html.B(end.change), *rest], className="end")]
    return said
