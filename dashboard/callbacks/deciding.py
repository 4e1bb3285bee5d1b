"""Locks, saved sets of limits, weights, and the way back over them."""

from __future__ import annotations

from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError

from ..choosing.deciding import WEIGHED, chips, saved_rows
from ..choosing.locking import Lock, costs, held, lock_words, offered, parted, read_locks, with_locks
from ..choosing.weighing import Verdict, verdict, weigh
from ..front.choose import Row, known_figures, of_target, slider_span
from ..numbers import spelt
from ..words import NARROWED, many
from .front import narrowed_rows, spans_of


def cost_words(whole: list[Row], kept: list[Row], currency: str) -> list:
    """What the locks cost at each end of the front, or that nothing holds them."""
    if not kept:
        return ["No wall of this front holds all of these."]
    if len(kept) == len(whole):
        return ["Every wall of this front holds them: that costs nothing."]
    said: list = ["That costs: "]
    for number, each in enumerate(costs(whole, kept, currency)):
        said += [" · " if number else "", f"{each.name} ", html.B(each.change), html.Span(f" ({each.left})")]
    return [*said, "."]


def beside_words(whole: list[Row], kept: list[Row]) -> str:
    """How many walls are left, and that a search of its own may find more."""
    if len(kept) in (0, len(whole)):
        return " "
    return f" {many(len(kept), 'wall')} of {spelt(len(whole), ',')} left; under these locks the front may hold more. "


def first_words(found: Verdict) -> list:
    """The first wall and its rival as links, with what is said of each."""
    said: list = [_go(found.first), found.stays]
    return [*said, _go(found.rival), found.besides] if found.rival else said


def _go(wall: str) -> html.Button:
    return html.Button(wall, id={"type": "go", "wall": wall}, className="quiet")


def weights_of(keys: list[str], values: tuple) -> dict[str, float]:
    """Figure -> weight, for the figures that are weighed."""
    return {key: float(value or 0) for key, value in zip(WEIGHED, values, strict=True) if key in keys}


def weighed_figures(source: Any) -> list[str]:
    """The objectives of the front that its rows have figures for."""
    asked = source.brief.objectives.minimise if source.brief else NARROWED
    return [key for key in known_figures(source.rows, WEIGHED) if key in asked]


def set_to_save(spans: dict, ends: dict | None, locks: list[Lock]) -> dict[str, list[float]]:
    """The ranges that are narrowed, and the locks; InputError where there is nothing to save."""
    narrowed = {
        key: list(span)
        for key, span in spans.items()
        if span and ends and (span[0] > ends[key][0] or span[1] < ends[key][1])
    }
    if not narrowed and not locks:
        raise InputError("Nothing is narrowed or locked: there is nothing to save.")
    return with_locks(narrowed, locks)


def register(app: Dash, workspace: Any) -> None:
    """Tie all of it to the rows."""
    _locks(app, workspace)
    _limits(app, workspace)
    _weights(app, workspace)
    app.clientside_callback(
        ClientsideFunction("deciding", "remember"),
        Output("history", "data"),
        *(Input(f"slider-{key}", "value") for key in NARROWED),
        Input("spans", "data"),
        Input("locks", "data"),
        *(Input(f"weight-{key}", "value") for key in WEIGHED),
    )


def _locks(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("held", "data"),
        Output("lock-chips", "children"),
        Output("locks-cost", "children"),
        Output("locks-beside", "children"),
        Output("locks-search", "hidden"),
        Output("locks-part", "hidden"),
        Input("locks", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
    )
    def hold(tokens, version, target, run):
        locks = read_locks(tokens)
        if version is None:
            raise PreventUpdate
        if not locks:
            return None, [], [], "", True, True
        source = workspace.source(run)
        rows = of_target(source.rows, target)
        kept = held(rows, locks, workspace.contents(run))
        names = workspace.names(run)
        return (
            {"ids": [row["id"] for row in kept]},
            chips([(each.token, lock_words(each, names, source.currency)) for each in locks]),
            cost_words(rows, kept, source.currency),
            beside_words(rows, kept),
            source.alive or len(kept) == len(rows),
            False,
        )

    @app.callback(
        Output("lock-choice", "options"),
        Input("settled", "data"),
        Input("locks", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
    )
    def choices(chosen, tokens, version, target, run):
        source = workspace.source(run)
        if version is None or source.study is None:
            return []
        locks, contents = read_locks(tokens), workspace.contents(run)
        rows = held(of_target(source.rows, target), locks, contents)
        row = next((each for each in source.rows if each["id"] == chosen), None)
        found = offered(row, rows, locks, contents, workspace.names(run), source.currency)
        return [{"label": f"{each.words} ({many(each.count, 'wall')})", "value": each.lock.token} for each in found]

    app.clientside_callback(
        ClientsideFunction("deciding", "lock"),
        Output("locks", "data", allow_duplicate=True),
        Output("lock-choice", "value"),
        Input("lock-choice", "value"),
        State("locks", "data"),
        prevent_initial_call=True,
    )

    @app.callback(
        Output("locks", "data", allow_duplicate=True),
        Input({"type": "unlock", "token": ALL}, "n_clicks"),
        State("locks", "data"),
        prevent_initial_call=True,
    )
    def let_go(clicks, tokens):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        return [each for each in tokens or [] if each != ctx.triggered_id["token"]]

    @app.callback(
        Output("run", "data", allow_duplicate=True),
        Output("wall", "data", allow_duplicate=True),
        Output("locks-fault", "children"),
        Input("locks-search", "n_clicks"),
        Input("locks", "data"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def search(clicks, tokens, run):
        if ctx.triggered_id != "locks-search" or not clicks:
            return no_update, no_update, ""
        try:
            return workspace.search_locked(run, read_locks(tokens)), None, ""
        except InputError as error:
            return no_update, no_update, str(error)


def _limits(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("limits-list", "children"),
        Input("board", "data"),
        Input("limits-words", "children"),
        Input("base", "data"),
        State("run", "data"),
    )
    def show(_, __, base, run):
        if base is None:
            raise PreventUpdate
        names, currency, sets = workspace.names(run), workspace.source(run).currency, {}
        for name, saved in workspace.decisions.board().limit_sets.items():
            spans, locks = parted(saved)
            sets[name] = spans, [lock_words(each, names, currency) for each in locks]
        return saved_rows(sets)

    @app.callback(
        Output("limits-words", "children"),
        Output("limits-name", "value"),
        Input("limits-save", "n_clicks"),
        Input("limits-name", "n_submit"),
        Input({"type": "forget", "name": ALL}, "n_clicks"),
        State("limits-name", "value"),
        State("spans", "data"),
        State("locks", "data"),
        *(State(f"slider-{key}", "value") for key in NARROWED),
        prevent_initial_call=True,
    )
    def save(_, __, dropped, name, ends, tokens, *values):
        trigger = ctx.triggered_id
        if isinstance(trigger, dict):
            if not any(dropped):
                raise PreventUpdate
            try:
                workspace.decisions.drop_limits(trigger["name"])
            except InputError as error:
                return str(error), no_update
            return f"“{trigger['name']}” was dropped.", no_update
        try:
            workspace.decisions.save_limits(name or "", set_to_save(spans_of(values), ends, read_locks(tokens)))
        except InputError as error:
            return str(error), no_update
        return f"“{name}” was saved.", ""

    @app.callback(
        *(Output(f"slider-{key}", "value", allow_duplicate=True) for key in NARROWED),
        Output("locks", "data", allow_duplicate=True),
        Input({"type": "recall", "name": ALL}, "n_clicks"),
        State("run", "data"),
        State("target", "value"),
        prevent_initial_call=True,
    )
    def recall(clicks, run, target):
        if not any(clicks) or not ctx.triggered_id:
            raise PreventUpdate
        saved = workspace.decisions.board().limit_sets.get(ctx.triggered_id["name"])
        if saved is None:
            raise PreventUpdate
        spans, locks = parted(saved)
        rows, values = of_target(workspace.source(run).rows, target), []
        for key in NARROWED:
            low, high, _ = slider_span(rows, key)
            span = spans.get(key, [low, high])
            values.append([min(max(span[0], low), high), max(min(span[1], high), low)])
        return *values, [each.token for each in locks]


def _weights(app: Dash, workspace: Any) -> None:
    @app.callback(
        *(Output(f"weight-part-{key}", "hidden") for key in WEIGHED),
        Input("base", "data"),
        State("run", "data"),
    )
    def which(base, run):
        keys = weighed_figures(workspace.source(run))
        return [key not in keys for key in WEIGHED]

    @app.callback(
        Output("ranks", "data"),
        Output("weighing-words", "children"),
        Input("narrowed", "data"),
        Input("weighed", "data"),
        *(Input(f"weight-{key}", "value") for key in WEIGHED),
        State("locks", "data"),
        State("run", "data"),
        State("target", "value"),
        *(State(f"slider-{key}", "value") for key in NARROWED),
        prevent_initial_call=True,
    )
    def rank(now, opened, *given):
        values, (tokens, run, target), ranges = given[: len(WEIGHED)], given[len(WEIGHED) :][:3], given[-3:]
        if not opened or now is None:
            return None, []
        source = workspace.source(run)
        whole = of_target(source.rows, target)
        rows = narrowed_rows(whole, spans_of(ranges), tokens, workspace, run)
        weights = weights_of(weighed_figures(source), values)
        found = weigh(rows, whole, weights)
        if found is None:
            return None, ["Nothing counts: give one of them a weight." if rows else "No wall is left to rank."]
        return found.rank, first_words(verdict(found, weights))

    for key in WEIGHED:
        app.clientside_callback(
            ClientsideFunction("deciding", "weight_words"),
            Output(f"weight-words-{key}", "children"),
            Input(f"weight-{key}", "value"),
        )
