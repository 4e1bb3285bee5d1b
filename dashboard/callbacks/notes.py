"""Notes on kept walls. The page decides by itself what goes into a field and what comes out of it (notes.js), so that
each note reaches the wall that it was typed for, whatever else is on its way.
"""

from __future__ import annotations

from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State

from ..choosing.columns import MOST, of_key
from ..choosing.keeping import write_notes

FIELDS = tuple(f"compare-note-{number}" for number in range(MOST))


def register(app: Dash, workspace: Any) -> None:
    """Tie the fields of the panel and of the comparison to the notes on the server."""

    @app.callback(
        Output("board", "data", allow_duplicate=True),
        Output("noted-up-to", "data"),
        Output("shortlist-words", "children", allow_duplicate=True),
        Output("compare-words", "children", allow_duplicate=True),
        Input("written", "data"),
        prevent_initial_call=True,
    )
    def write(notes):
        version, last, said = write_notes(workspace, notes)
        return version, last, said, said

    @app.callback(Output("beside-kept", "data"), Input("beside-shown", "data"), Input("board", "data"))
    def read(keys, _):
        board = workspace.decisions.board()
        entries = [(key, board.find(*of_key(key))) for key in keys or []]
        return [[key, each.note if each else ""] for key, each in entries]

    _in_the_page(app)


def _in_the_page(app: Dash) -> None:
    app.clientside_callback(
        ClientsideFunction("notes", "put"),
        Output("keep-note", "value"),
        Output("noted", "data"),
        Input("note-kept", "data"),
        State("noted", "data"),
    )
    app.clientside_callback(
        ClientsideFunction("notes", "write"),
        Output("written", "data"),
        Output("noted", "data", allow_duplicate=True),
        Input("note-entered", "data"),
        Input("keep-note", "n_blur"),
        State("keep-note", "value"),
        State("noted", "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("notes", "put_beside"),
        *(Output(each, "value") for each in FIELDS),
        Output("beside-noted", "data"),
        Input("beside-kept", "data"),
        State("beside-noted", "data"),
    )
    app.clientside_callback(
        ClientsideFunction("notes", "write_beside"),
        Output("written", "data", allow_duplicate=True),
        Output("beside-noted", "data", allow_duplicate=True),
        *(Input(each, "n_blur") for each in FIELDS),
        *(State(each, "value") for each in FIELDS),
        State("beside-noted", "data"),
        prevent_initial_call=True,
    )
    app.clientside_callback(
        ClientsideFunction("notes", "confirm"), Output("confirmed", "data"), Input("noted-up-to", "data")
    )
