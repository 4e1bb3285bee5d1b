"""The address of the page: which run and which wall it shows, so that a reload comes back to them."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qs

from dash import ClientsideFunction, Dash, Input, Output


def read_address(search: str | None) -> tuple[str | None, str | None]:
    """'?run=R&wall=W' -> (R, W); None for what it does not name."""
    found = parse_qs((search or "").lstrip("?"), max_num_fields=10)
    run, wall = (found.get(name, [""])[0][:80] or None for name in ("run", "wall"))
    return run, wall


def register(app: Dash, workspace: Any) -> None:
    """Tie the address to the stores, and the theme to the page."""
    app.callback(Output("run", "data"), Output("wall", "data"), Input("url", "search"))(read_address)
    app.clientside_callback(
        ClientsideFunction("wallfront", "address"),
        Output("addressed", "data"),
        Input("run", "data"),
        Input("wall", "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("wallfront", "theme"),
        Output("theme", "data"),
        Output("theme-toggle", "children"),
        Input("theme-toggle", "n_clicks"),
    )
    app.clientside_callback(
        ClientsideFunction("wallfront", "draw"),
        Output("drawn", "data"),
        Input("svg", "data"),
    )
