"""What each slot may hold, switched on and off, and a new search from there."""

from __future__ import annotations

from typing import Any

from dash import ALL, MATCH, Dash, Input, Output, State, dcc, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

JOIN = "|"  # between the keys behind one switch


def slot_controls(offered: list) -> list:
    """A part for each slot: locked ones in words, the others as a list of switches to unfold."""
    return [_locked(each) if each.locked else _open(each) for each in offered]


def one_by_name(options: list) -> list[tuple[str, str, bool]]:
    """Options of one name (the same thing from several suppliers) as one switch: (name, keys joined, on).

    Where the brief lets only some of them in, each keeps a switch of its own.
    """
    named: dict[str, list] = {}
    for option in options:
        named.setdefault(option.label, []).append(option)
    found = []
    for label, same in named.items():
        if len({option.on for option in same}) == 1:
            found.append((label, JOIN.join(option.key for option in same), same[0].on))
        else:
            found += [(f"{label} ({option.key})", option.key, option.on) for option in same]
    return found


def keys_of(values: list[str] | None) -> list[str]:
    """The keys behind the switches that are on."""
    return [key for value in values or [] for key in value.split(JOIN)]


def _locked(offer: Any) -> html.Div:
    held = ", ".join(option.label for option in offer.options if option.on) or "nothing"
    return html.Div([html.B(offer.slot), html.Span(f"locked: {held}", className="muted")], className="slot")


def _open(offer: Any) -> html.Details:
    grouped = one_by_name(offer.options)
    options = [{"label": label, "value": value} for label, value, _ in grouped]
    value = [value for _, value, on in grouped if on]
    count = html.Span(switched_on(value, options), id={"type": "slot-count", "slot": offer.slot}, className="muted")
    switches = dcc.Checklist(options, value, id={"type": "slot", "slot": offer.slot}, className="switches")
    return html.Details([html.Summary([html.B(offer.slot), count]), switches], className="slot")


def switched_on(values: list[str] | None, options: list) -> str:
    """How much of what a slot could hold is switched on."""
    on, whole = len(values or []), len(options)
    return f"all {whole}" if on == whole else f"{on} of {whole}" if on else "nothing"


def register(app: Dash, workspace: Any) -> None:
    """Tie the switches to the offers and the button to a new run."""

    @app.callback(Output("slots", "children"), Input("base", "data"), State("run", "data"))
    def show(base, run):
        if base is None:
            raise PreventUpdate
        return slot_controls(workspace.slots(run))

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
        try:
            allow = {each["slot"]: keys_of(value) for each, value in zip(ids, values, strict=True)}
            return workspace.search_again(run, allow), None, "", False
        except InputError as error:
            return no_update, no_update, str(error), True
