"""The way in: a link past the header, and three sentences for who sees the page for the first time."""

from __future__ import annotations

from dash import html

MAIN = "walls"  # where the skip link leads
SENTENCES = (
    "Every point is a wall that meets the brief, and that no other wall beats in everything.",
    "Choose a point, or a row of the table, and the panel draws that wall, prices it and judges it.",
    "Narrow the front with the sliders, keep the walls worth talking about, and lay them side by side.",
)


def skip_link() -> html.A:
    """The first stop of the keyboard."""
    return html.A("Skip to the walls", href=f"#{MAIN}", className="skip", id="skip")


def guide_link() -> html.Button:
    """Brings the guide back; the browser does it (manners.js)."""
    aria = {"aria-label": "How to begin", "aria-controls": "guide", "aria-expanded": "false"}
    return html.Button("?", id="guide-link", className="quiet", title="How to begin", **aria)


def guide() -> html.Section:
    """Three sentences, shown until they are closed once; the browser remembers that."""
    sentences = html.Ol([html.Li(each) for each in SENTENCES])
    close = html.Button("Close", id="guide-close", className="quiet", title="The question mark above brings this back")
    return html.Section([sentences, close], id="guide", hidden=True, **{"aria-label": "how to begin"})
