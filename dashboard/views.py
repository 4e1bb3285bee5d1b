"""The views of the page: one is seen at a time, and the address names it."""

from __future__ import annotations

from dash import html

from .choosing.compare_figures import compare_part
from .suppliers.part import suppliers_part

FRONT, SUPPLIERS, COMPARE = "front", "suppliers", "compare"
VIEWS = {FRONT: "the front", SUPPLIERS: "suppliers", COMPARE: "side by side"}


def view_links() -> html.Nav:
    """The links between the views, in the header."""
    links = [html.Button(words, id=f"view-{name}", className="view", n_clicks=0) for name, words in VIEWS.items()]
    return html.Nav(links, className="views", **{"aria-label": "views"})


def suppliers_view() -> html.Section:
    """What each supplier means for the front."""
    return html.Section(suppliers_part(), id="suppliers-view", className="view-part", **{"aria-label": "suppliers"})


def compare_view() -> html.Section:
    """Walls of the shortlist side by side."""
    return html.Section(
        compare_part(), id="compare-view", className="view-part", **{"aria-label": "walls side by side"}
    )
