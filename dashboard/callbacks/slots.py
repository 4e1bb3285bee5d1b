"""What each slot may hold, switched on and off, and a new search from there."""

from __future__ import annotations

from typing import Any

from dash import ALL, Dash, Input, Output, State, dcc, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError


def slot_controls(offered: list) -> list:
    """A fieldset for each slot: locked ones in words, the others as switches."""
    return [_locked(each) if each.locked else _open(each) for each in offered]


def _locked(offer: Any) -> html.Fieldset:
    held = ", ".join(option.label for option in offer.options if option.on) or "nothing"
    return html.Fieldset([html.Legend(offer.slot), html.P(f"locked by the brief: {held}", className="muted")])


def _open(offer: Any) -> html.Fieldset:
    options = [{"label": option.label, "value": option.key} for option in offer.options]
    value = [option.key for option in offer.options if option.on]
    switches = dcc.Checklist(options, value, id={"type": "slot", "slot": offer.slot}, className="switches")
    return html.Fieldset([html.Legend(offer.slot), switches])


def register(app: Dash, workspace: Any) -> None:
    """Tie the switches to the offers and the button to a new run."""

    @app.callback(Output("slots", "children"), Input("base", "data"), State("run", "data"))
    def show(base, run):
        if base is None:
            raise PreventUpdate
        return slot_controls(workspace.slots(run))

    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Output("slots-words", "children"),
        Output("slots-strip", "open"),
        Input("search-again", "n_clicks"),
        State({"type": "slot", "slot": ALL}, "value"),
        State({"type": "slot", "slot": ALL}, "id"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def search(clicks, values, ids, run):
        if not clicks:
            raise PreventUpdate
        try:
            allow = {each["slot"]: list(value or []) for each, value in zip(ids, values, strict=True)}
            return workspace.search_again(run, allow), None, "", False
        except InputError as error:
            return no_update, no_update, str(error), True
