"""What each slot may hold, switched on and off, and a new search from there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dash import ALL, MATCH, Dash, Input, Output, State, dcc, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..words import listed


def slot_controls(offered: list, suppliers: Mapping[str, str]) -> list:
    """A part for each slot: locked ones in words, the others as a list of switches to unfold."""
    return [_locked(each) if each.locked else _open(each, suppliers) for each in offered]


def one_by_one(options: list, suppliers: Mapping[str, str]) -> list[tuple[str, str, bool]]:
    """A switch for each option: (name, key, on). Each says who sells it; those alike in that too say their key."""
    sold = [_sold_by(option.label, suppliers.get(option.key, "")) for option in options]
    return [
        (name if sold.count(name) == 1 else f"{name} ({option.key})", option.key, option.on)
        for name, option in zip(sold, options, strict=True)
    ]


def _sold_by(label: str, supplier: str) -> str:
    return f"{label}, {supplier}" if supplier else label


def _locked(offer: Any) -> html.Div:
    held = ", ".join(option.label for option in offer.options if option.on) or "nothing"
    return html.Div([html.B(offer.slot), html.Span(f"locked: {held}", className="muted")], className="slot")


def _open(offer: Any, suppliers: Mapping[str, str]) -> html.Details:
    switches = one_by_one(offer.options, suppliers)
    options = [{"label": label, "value": key} for label, key, _ in switches]
    value = [key for _, key, on in switches if on]
    count = html.Span(switched_on(value, options), id={"type": "slot-count", "slot": offer.slot}, className="muted")
    switches = dcc.Checklist(options, value, id={"type": "slot", "slot": offer.slot}, className="switches")
    return html.Details([html.Summary([html.B(offer.slot), count]), switches], className="slot")


def switched_on(values: list[str] | None, options: list) -> str:
    """How much of what a slot could hold is switched on."""
    on, whole = len(values or []), len(options)
    return f"all {whole}" if on == whole else f"{on} of {whole}" if on else "nothing"


def nothing_left(allow: Mapping[str, list[str]]) -> str:
    """Which slots are left without anything, in words; '' where none is."""
    bare = [slot for slot, keys in allow.items() if not keys]
    each = "" if len(bare) == 1 else " for each"
    return f"{listed(bare)}: nothing is left; switch on at least one{each}." if bare else ""


def register(app: Dash, workspace: Any) -> None:
    """Tie the switches to the offers and the button to a new run."""

    @app.callback(Output("slots", "children"), Input("base", "data"), State("run", "data"))
    def show(base, run):
        if base is None:
            raise PreventUpdate
        return slot_controls(workspace.slots(run), workspace.suppliers(run))

    app.callback(
        Output({"type": "slot-count", "slot": MATCH}, "children"),
        Input({"type": "slot", "slot": MATCH}, "value"),
        State({"type": "slot", "slot": MATCH}, "options"),
        prevent_initial_call=True,
    )(switched_on)

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
        allow = {each["slot"]: value or [] for each, value in zip(ids, values, strict=True)}
        if bare := nothing_left(allow):
            return no_update, no_update, bare, True
        try:
            return workspace.search_again(run, allow), None, "", False
        except InputError as error:
            return no_update, no_update, str(error), True
