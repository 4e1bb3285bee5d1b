"""The view of the suppliers: comparing them, the fronts laid over each other, break-even values, and swaps."""

from __future__ import annotations

import time
from typing import Any

from dash import Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from materials.errors import InputError
from optimiser.market.suppliers_worker import USUAL

from ..front.choose import by_id, known_figures, of_target, targets
from ..front.plot_axes import valued
from ..front.table import front_csv
from ..suppliers import part, words
from ..suppliers.figure import suppliers_figure
from ..suppliers.kept import LEVERS
from ..suppliers.swaps_part import swap_groups, swap_parts
from ..views import SUPPLIERS
from ..words import NARROWED, QUANTITIES, many, u_goal
from .front import look_of
from .table import selected_id

FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "whole_life_kgco2e_m2", "u_value")
AXES = (*FIGURES, "floor_area_lost_m2")


def register(app: Dash, workspace: Any) -> None:
    """Tie the view to what is kept with the study."""
    _following(app, workspace)
    _fronts(app, workspace)
    _choosing(app, workspace)
    _prices(app, workspace)
    _swaps(app, workspace)


def _following(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-opening", "hidden"),
        Output("suppliers-head", "children"),
        Output("suppliers-progress", "children"),
        Output("suppliers-status", "hidden"),
        Output("suppliers-start", "hidden"),
        Output("suppliers-start", "children"),
        Output("suppliers-stop", "hidden"),
        Output("suppliers-fronts", "hidden"),
        Output("suppliers-prices", "hidden"),
        Output("suppliers-stamp", "data"),
        Output("suppliers-tick", "disabled"),
        Input("suppliers-tick", "n_intervals"),
        Input("view", "data"),
        Input("base", "data"),
        Input("target", "value"),
        Input("suppliers-acted", "data"),
        State("run", "data"),
        State("suppliers-stamp", "data"),
        State("suppliers-head", "children"),
    )
    def follow(_, view, base, target, __, run, stamp, head_now):
        if view != SUPPLIERS or base is None:
            return *[no_update] * 10, True
        source = workspace.source(run)
        state = workspace.comparing.state(source)
        found = workspace.comparing.compared(source, target)
        able = source.study is not None and bool(source.rows)
        whole = found.fronts is not None and "price" in found.prices
        head, progress = part.status_parts(
            state, found.fronts is not None, source.alive, able, workspace.comparing.left(source, state)
        )
        quiet = whole and not state.alive and not (state.status == "failed" and found.lacks(state.parts))
        again = "Compare the suppliers" if found.fronts is None else "Work out the rest"
        return (
            found.fronts is not None or not able,
            head if _changed(head, head_now) else no_update,
            progress,
            quiet,
            state.alive or not able or source.alive or whole,
            again,
            not state.alive,
            found.fronts is None,
            not found.prices,
            found.stamp if found.stamp != stamp else no_update,
            whole and not state.alive,
        )

    @app.callback(
        Output("suppliers-acted", "data"),
        Output("suppliers-fault", "children"),
        Input("suppliers-start", "n_clicks"),
        Input("suppliers-lever-start", "n_clicks"),
        Input("suppliers-stop", "n_clicks"),
        State("suppliers-lever", "value"),
        State("target", "value"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def act(start, more, stop, lever, target, run):
        if not any((start, more, stop)):
            raise PreventUpdate
        source = workspace.source(run)
        try:
            if ctx.triggered_id == "suppliers-stop":
                workspace.comparing.cancel(source)
            else:
                parts = USUAL if ctx.triggered_id == "suppliers-start" else (lever,)
                workspace.comparing.start(source, target, parts)
        except InputError as error:
            return time.time_ns(), str(error)
        return time.time_ns(), ""


def _changed(new: list, now: Any) -> bool:
    """Whether what is read out differs from what stands there."""
    return [_text(each) for each in new] != [_text(each) for each in now or []]


def _text(node: Any) -> str:
    if isinstance(node, str):
        return node
    children = node.get("props", {}).get("children") if isinstance(node, dict) else getattr(node, "children", "")
    return " ".join(map(_text, children)) if isinstance(children, list) else str(children or "")


def _found(workspace: Any, run: str | None, target: float | None) -> tuple[Any, Any]:
    source = workspace.source(run)
    return source, workspace.comparing.compared(source, target)


def axis_options(source: Any, target: float | None) -> list[dict[str, str]]:
    """The figures that both fronts have."""
    objectives = source.brief.objectives.minimise if source.brief else ()
    common = [key for key in AXES if key in objectives or key not in ("whole_life_kgco2e_m2",)]
    known = known_figures(of_target(source.rows, target), common)
    return [{"label": QUANTITIES[key].noun, "value": key} for key in known]


def _fronts(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-case", "options"),
        Output("suppliers-case", "value"),
        Output("suppliers-table", "rowData"),
        Output("suppliers-table", "columnDefs"),
        Output("suppliers-kept", "children"),
        Output("suppliers-hold", "children"),
        Input("suppliers-stamp", "data"),
        State("target", "value"),
        State("run", "data"),
        State("suppliers-case", "value"),
    )
    def overview(stamp, target, run, case):
        if stamp is None:
            raise PreventUpdate
        source, found = _found(workspace, run, target)
        told = words.hold_words(source.brief, of_target(source.rows, target))
        hold = [html.H2("How sure a place on the front is"), *map(html.P, told)] if told else []
        if found.fronts is None:
            return [], None, [], [], "", hold
        names = [words.case_name(each) for each in found.fronts.fronts]
        return (
            [{"label": each, "value": each} for each in names],
            case if case in names else words.first_case(found.fronts),
            words.case_rows(found.fronts),
            part.case_columns(found.fronts, source.currency),
            words.kept_words(found.fronts),
            hold,
        )

    @app.callback(
        Output("suppliers-x", "options"),
        Output("suppliers-x", "value"),
        Output("suppliers-y", "options"),
        Output("suppliers-y", "value"),
        Input("suppliers-stamp", "data"),
        Input("x", "value"),
        Input("y", "value"),
        State("target", "value"),
        State("run", "data"),
        State("suppliers-x", "value"),
        State("suppliers-y", "value"),
    )
    def axes(stamp, front_x, front_y, target, run, x, y):
        if stamp is None:
            raise PreventUpdate
        options = axis_options(workspace.source(run), target)
        known = [each["value"] for each in options]
        followed = ctx.triggered_id in ("x", "y") or x not in known or y not in known
        across = front_x if followed and front_x in known else x if x in known else "thickness_mm"
        up = front_y if followed and front_y in known else y if y in known else "cost_per_m2"
        return options, across, options, up

    @app.callback(
        Output("suppliers-plot", "figure"),
        Output("suppliers-words", "children"),
        Output("suppliers-picked-words", "children"),
        Output("suppliers-picked-words", "hidden"),
        Input("suppliers-case", "value"),
        Input("suppliers-x", "value"),
        Input("suppliers-y", "value"),
        Input("suppliers-picked", "data"),
        Input("wall", "data"),
        Input("theme", "data"),
        Input("screen", "data"),
        Input("suppliers-stamp", "data"),
        Input("view", "data"),
        State("target", "value"),
        State("run", "data"),
    )
    def draw(case, x, y, picked, wall, theme, screen, stamp, view, target, run):
        if stamp is None or not x or not y or view != SUPPLIERS:
            raise PreventUpdate
        source, found = _found(workspace, run, target)
        front = words.case_of(found.fronts, case)
        if front is None:
            raise PreventUpdate
        rows = of_target(source.rows, target)
        other = words.other_rows(front, source.brief)
        look = look_of((x, y, "cost_per_m2", []), theme, screen, source)
        at = picked["at"] if picked and picked["case"] == case and picked["at"] < len(other) else None
        told = [html.P(line) for line in words.case_words(front, found.fronts, source.currency)]
        if len(targets(source.rows)) > 1:
            told.append(
                html.P(f"For U at most {u_goal(found.fronts.target)}, the target of the front.", className="muted")
            )
        said = picked_words(other[at], words.case_name(front), source.currency) if at is not None else []
        return suppliers_figure(rows, other, case, look, wall, at), told, said, not said


def picked_words(row: dict, name: str, currency: str) -> list:
    """A wall of the other front in short words: it is not in the study, so no drawing goes with it."""
    figures = [valued(key, row.get(key), currency) for key in (*NARROWED, "u_value")]
    figures[-1] = f"U {figures[-1]}"
    return [html.B(f"A wall {name}: "), row["in_short"], html.Span(f" · {' · '.join(figures)}", className="muted")]


def _choosing(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Output("suppliers-picked", "data"),
        Input("suppliers-plot", "clickData"),
        State("suppliers-case", "value"),
        prevent_initial_call=True,
    )
    def click(clicked, case):
        point = next((each for each in (clicked or {}).get("points", ()) if each.get("customdata")), None)
        if point is None:
            raise PreventUpdate
        kind, which = point["customdata"]
        if kind == "wall":
            return str(which), None
        return no_update, {"case": case, "at": int(which)}

    @app.callback(
        Output("suppliers-case", "value", allow_duplicate=True),
        Input("suppliers-table", "selectedRows"),
        State("suppliers-case", "value"),
        prevent_initial_call=True,
    )
    def row(selected, case):
        found = selected_id(selected)
        if found is None or found == case:
            raise PreventUpdate
        return found

    @app.callback(
        Output("suppliers-table", "selectedRows"),
        Input("suppliers-case", "value"),
        Input("suppliers-table", "rowData"),
        State("suppliers-table", "selectedRows"),
    )
    def select(case, rows, selected):
        if not rows or case is None or selected_id(selected) == case:
            raise PreventUpdate
        return {"ids": [case]}

    @app.callback(
        Output("suppliers-file", "data"),
        Input("suppliers-csv", "n_clicks"),
        State("suppliers-case", "value"),
        State("target", "value"),
        State("run", "data"),
        prevent_initial_call=True,
    )
    def download(clicks, case, target, run):
        source, found = _found(workspace, run, target)
        front = words.case_of(found.fronts, case) if clicks else None
        if front is None:
            raise PreventUpdate
        rows = [{"case": case} | row | {"id": row["wall"]} for row in words.other_rows(front, source.brief)]
        rows = [{key: value for key, value in row.items() if key != "wall"} for row in rows]
        return dcc.send_string("\ufeff" + front_csv(rows), "front-of-the-case.csv", type="text/csv")


def _prices(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("suppliers-lever-words", "children"),
        Output("suppliers-lever-start", "hidden"),
        Output("suppliers-price-part", "hidden"),
        Output("suppliers-price-table", "rowData"),
        Output("suppliers-price-table", "columnDefs"),
        Output("suppliers-others", "children"),
        Output("suppliers-of", "options"),
        Output("suppliers-of", "value"),
        Input("suppliers-stamp", "data"),
        Input("suppliers-lever", "value"),
        Input("suppliers-of", "value"),
        State("target", "value"),
        State("run", "data"),
    )
    def prices(stamp, lever, supplier, target, run):
        if stamp is None or lever not in LEVERS:
            raise PreventUpdate
        source, kept = _found(workspace, run, target)
        sellers = sorted({each["supplier"] for found in kept.prices.values() for each in found})
        options = [{"label": part.EVERY, "value": ""}, *({"label": each, "value": each} for each in sellers)]
        supplier = supplier if supplier in sellers else ""
        found = kept.prices.get(lever)
        if found is None:
            said = f"The {words.LEVER_NOUNS[lever]} is not worked out yet. It takes a minute or two, and is kept."
            return said, not kept.prices, True, [], [], [], options, supplier
        others = {name: values for name, values in kept.prices.items() if name != lever}
        told = words.prices_of(found, lever, supplier or None, source.currency, others)
        columns = part.price_columns(told.rows, lever, source.currency)
        said = words.prices_words(told, lever, source.currency)
        return said, True, not told.rows, told.rows, columns, part.other_parts(told, lever), options, supplier


def _swaps(app: Dash, workspace: Any) -> None:
    @app.callback(
        Output("swaps-part", "hidden"),
        Output("swaps", "children"),
        Output("swaps-words", "children"),
        Input("settled", "data"),
        Input("base", "data"),
        Input("swaps-head", "n_clicks"),
        State("run", "data"),
    )
    def swaps(chosen, base, opened, run):
        source = workspace.source(run)
        row = by_id(source.rows, chosen) if source.study else None
        if row is None:
            return True, [], ""
        if not (opened or 0) % 2:
            return False, [], "and what each would change"
        try:
            groups = swap_groups(workspace.comparing.swaps(source, chosen), row, source.brief, source.currency)
        except InputError as error:
            return False, [html.P(str(error))], ""
        every = [line for each in groups for line in each.lines]
        passing = sum(line.passes for line in every)
        return False, swap_parts(groups, source.currency), f"{passing} of {many(len(every), 'other')} pass"
