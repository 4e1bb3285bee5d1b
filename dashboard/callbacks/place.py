"""The address of the page: which run, wall and view it shows, so that a reload comes back to them."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qs

from dash import ClientsideFunction, Dash, Input, Output, ctx
from dash.exceptions import PreventUpdate

from ..views import FRONT, VIEWS


def read_address(search: str | None) -> tuple[str | None, str | None, str]:
    """'?run=R&wall=W&view=V' -> (R, W, V); None for what it does not name, the front for a view that is none."""
    query = parse_qs((search or "").lstrip("?"), max_num_fields=10)
    run, wall = (query.get(name, [""])[0][:80] or None for name in ("run", "wall"))
    view = query.get("view", [""])[0]
    return run, wall, view if view in VIEWS else FRONT


def view_asked(*_: int | None) -> str:
    """The view whose link was used."""
    if not ctx.triggered_id or not any(_):
        raise PreventUpdate
    return str(ctx.triggered_id).removeprefix("view-")


def register(app: Dash, workspace: Any) -> None:
    """Tie the address to the stores, and the theme to the page."""
    app.callback(Output("run", "data"), Output("wall", "data"), Output("view", "data"), Input("url", "search"))(
        read_address
    )
    app.callback(
        Output("view", "data", allow_duplicate=True),
        *(Input(f"view-{name}", "n_clicks") for name in VIEWS),
        prevent_initial_call=True,
    )(view_asked)
    app.clientside_callback(ClientsideFunction("wallfront", "view"), Output("viewed", "data"), Input("view", "data"))
    app.clientside_callback(
        ClientsideFunction("wallfront", "news"),
        Output("addressed", "data"),
        Input("run", "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(  # apart from the news: what follows from those may choose a wall, which must show here too
        ClientsideFunction("wallfront", "address"),
        Output("placed", "data"),
        Input("run", "data"),
        Input("wall", "data"),
        Input("view", "data"),
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
