"""Suppliers' lists: uploads read apart, their faults told, and a search with those that are good."""

from __future__ import annotations

import json
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate
from flask import Response, request
from werkzeug.exceptions import RequestEntityTooLarge

from materials.errors import InputError
from materials.listed.export import to_csv_text

from ..access import LARGEST_REQUEST
from ..pricelists import lists
from ..pricelists.uploads import MOST_KEPT

ADDRESS = "/lists"
OWN_PAGE = "wallfront"  # a header that a page of another origin cannot send unasked
TOO_LARGE = f"together more than {LARGEST_REQUEST / 1e6:g} MB; read them one after the other"
BYTE_ORDER_MARK = "\ufeff"  # makes spreadsheets read UTF-8


def register(app: Dash, workspace: Any) -> None:
    """Tie the strip to the uploads of this browser, and the address for files to the reader."""
    _route(app, workspace)
    _shown(app, workspace)
    _planned(app, workspace)
    _searched(app, workspace)
    _dropped(app, workspace)
    _downloaded(app, workspace)


def _shown(app: Dash, workspace: Any) -> None:
    @app.callback(Output("lists-current", "children"), Input("base", "data"), State("run", "data"))
    def current(base, run):
        if base is None:
            raise PreventUpdate
        return lists.current_lists(workspace.lists(run))

    @app.callback(
        Output("lists-found", "children"),
        Output("lists-buttons", "hidden"),
        Output("lists-strip", "className"),
        Input("lists-kept", "data"),
        Input("base", "data"),
        State("run", "data"),
    )
    def show(keys, base, run):
        uploads = _uploads(workspace, keys)
        if base is None or not uploads:
            return [], True, ""
        there = workspace.lists(run)
        named = lists.naming(there, uploads)
        return (
            [lists.upload_part(each, there, named) for each in uploads],
            not any(each.good for each in uploads),
            "full",
        )


def _planned(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("lists-plan", "children"),
        Output("lists-search", "disabled"),
        Output("lists-fault", "children"),
        Input({"type": "lists-place", "upload": ALL}, "value"),
        Input("lists-buttons", "hidden"),
        State({"type": "lists-place", "upload": ALL}, "id"),
        State("lists-kept", "data"),
        State("run", "data"),
    )
    def plan(places, nothing, ids, keys, run):
        placed = _placed(workspace, keys, ids, places)
        if nothing or not placed:
            return [], True, ""
        try:
            use = workspace.plan(run, placed)
        except InputError as error:
            return [html.P(line, className="fault-line") for line in str(error).splitlines()], True, ""
        return [html.P(words) for words in lists.plan_words(use)], False, ""


def _searched(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Output("lists-kept", "data", allow_duplicate=True),
        Output("lists-strip", "open"),
        Output("lists-fault", "children", allow_duplicate=True),
        Output("lists-words", "children"),
        Input("lists-search", "n_clicks"),
        State({"type": "lists-place", "upload": ALL}, "value"),
        State({"type": "lists-place", "upload": ALL}, "id"),
        State("lists-kept", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def search(clicks, places, ids, keys, run):
        if not clicks:
            raise PreventUpdate
        placed = _placed(workspace, keys, ids, places)
        try:
            started = workspace.search_with(run, placed)
        except InputError as error:
            return no_update, no_update, no_update, True, str(error), no_update
        used = {each.key for each, _ in placed}
        return started, None, [key for key in keys if key not in used], False, "", ""


def _dropped(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("lists-kept", "data", allow_duplicate=True),
        Input({"type": "lists-drop", "upload": ALL}, "n_clicks"),
        State("lists-kept", "data"),
        prevent_initial_call=True,
    )
    def drop(clicks, keys):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        key = ctx.triggered_id["upload"]
        workspace.uploads.drop(key)
        return [each for each in keys or [] if each != key]


def _downloaded(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("lists-file", "data"),
        Input("lists-download", "n_clicks"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def download(clicks, run):
        products = [each for facts in workspace.lists(run) for each in facts.products] if clicks else []
        if not products:
            raise PreventUpdate
        return dcc.send_string(BYTE_ORDER_MARK + to_csv_text(products), "suppliers-lists.csv", type="text/csv")


def _uploads(workspace: Any, stored: Any) -> list:
    """The uploads that a browser keeps the keys of."""
    keys = [each for each in stored if isinstance(each, str)] if isinstance(stored, list) else []
    return [upload for key in keys[:MOST_KEPT] if (upload := workspace.uploads.get(key)) is not None]


def _placed(workspace: Any, keys: Any, ids: list[dict], places: list[str]) -> list[tuple]:
    """The good uploads, each with its place."""
    chosen = {each["upload"]: place for each, place in zip(ids, places, strict=True)}
    return [(each, chosen.get(each.key, lists.BESIDE)) for each in _uploads(workspace, keys) if each.good]


def _route(app: Dash, workspace: Any) -> None:
    @app.server.route(ADDRESS, methods=["POST"])
    def take() -> Response:
        if request.headers.get("X-Requested-By") != OWN_PAGE:
            return _answer([], ["files are taken from the explorer's own page alone"], 403)
        try:
            files, known = request.files.getlist("file"), request.form.getlist("kept")[:MOST_KEPT]
        except RequestEntityTooLarge:
            return _answer([], [TOO_LARGE], 413)
        sent, own = [(each.filename or "", each.read()) for each in files], workspace.own_materials()
        keys, said = workspace.uploads.take(sent, known, own)
        return _answer(keys, said)


def _answer(keys: list[str], words: list[str], status: int = 200) -> Response:
    return Response(json.dumps({"kept": keys, "words": "\n".join(words)}), status=status, mimetype="application/json")
