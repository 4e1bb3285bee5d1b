"""The plot, what the question's nouns offer, and the sentence beside it. Narrowing itself happens in the page."""

from __future__ import annotations

import time
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, State, html, no_update
from dash.exceptions import PreventUpdate

from ..choosing.locking import held, read_locks
from ..front.choose import (
    by_id,
    histogram,
    kept_span,
    known_figures,
    narrowed,
    of_target,
    slider_span,
    targets,
    with_percent,
)
from ..front.family import Price, others, price_of
from ..front.figures import cloud_points, front_figure, labels
from ..front.none import nothing_words
from ..front.parallel_figure import parallel_lines
from ..front.plot_axes import Look, colour_words, form
from ..words import NARROWED, QUANTITIES, u_goal

NOUNS = ("x", "y", "colour")
LOOKS = ("x", "y", "colour", "log")
LINES = "lines"


def bar_heights(rows: list, key: str) -> list[int]:
    """A small histogram over a slider: heights of its bars [%]."""
    counts = histogram([row[key] for row in rows if row.get(key) is not None], slider_span(rows, key)[:2])
    top = max([*counts, 1])
    return [0 if count == 0 else max(8, round(100 * count / top)) for count in counts]


def look_of(values: tuple, theme: str, screen: dict | None, source: Any) -> Look:
    """The reader's choices as the figure takes them."""
    x, y, colour, log = values
    modules = tuple(source.brief.carbon.modules) if source.brief else ("A1-A3",)
    width = float((screen or {}).get("width") or 760)
    return Look(x, y, colour, tuple(log or ()), theme or "light", width, currency=source.currency, modules=modules)


def spans_of(values: tuple) -> dict[str, tuple[float, float] | None]:
    """Slider values by figure."""
    return {key: tuple(value) if value else None for key, value in zip(NARROWED, values, strict=True)}


def floor_m2(source: Any) -> float | None:
    """Floor area within the reference walls of the brief's house [m2]; None without one whose outside is fixed."""
    house = source.brief.house if source.brief else None
    return float(house.floor_area(house.reference_m)) if house is not None and house.fixed == "outside" else None


def front_rows(source: Any) -> list:
    """The rows of all targets with the figures that the page adds."""
    return with_percent(source.rows, floor_m2(source))


def narrowed_rows(rows: list, spans: dict, tokens: Any, workspace: Any, run: str | None) -> list:
    """The rows of one target that the ranges and the locks leave."""
    locks = read_locks(tokens)
    found = narrowed(rows, spans)
    return held(found, locks, workspace.contents(run)) if locks else found


def noun_options(rows: list) -> list[dict[str, str]]:
    """What the nouns of the question can be set to: the figures that the front has."""
    return [{"label": QUANTITIES[key].noun, "value": key} for key in known_figures(rows, QUANTITIES)]


def first_question(source: Any) -> str:
    """What runs across at first: floor area lost on a plot that fixes the outside, else the thickness."""
    lost = floor_m2(source) is not None and known_figures(source.rows, ["floor_area_lost_m2"])
    return "floor_area_lost_m2" if lost else "thickness_mm"


def register(app: Dash, workspace: Any) -> None:
    """Tie plot and controls to the rows."""
    sliders = [State(f"slider-{key}", "value") for key in NARROWED]

    @app.callback(
        Output("target", "options"),
        Output("target", "value"),
        Output("target-part", "hidden"),
        Input("version", "data"),
        State("run", "data"),
        State("wall", "data"),
        State("target", "value"),
    )
    def target_choice(version, run, wall, value):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        found = targets(source.rows)
        options = [{"label": u_goal(each), "value": each} for each in found]
        return options, chosen_target(source, found, wall, value), len(found) < 2

    @app.callback(
        *(Output(noun, "options") for noun in NOUNS),
        *(Output(noun, "value") for noun in NOUNS),
        Output("nouns", "data"),
        Input("version", "data"),
        State("nouns", "data"),
        State("run", "data"),
        *(State(noun, "value") for noun in NOUNS),
    )
    def nouns(version, asked, run, *values):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        if not source.rows:
            raise PreventUpdate
        options = noun_options(front_rows(source))
        known = [each["value"] for each in options]
        if options == asked:
            raise PreventUpdate
        usual = (first_question(source), "carbon_kgco2e_m2", "cost_per_m2")
        kept = [
            value if asked and value in known else first if first in known else known[0]
            for value, first in zip(values, usual, strict=True)
        ]
        new = [each if each != value else no_update for each, value in zip(kept, values, strict=True)]
        return *[options] * 3, *new, options

    @app.callback(
        *(Output(f"slider-{key}", name) for key in NARROWED for name in ("min", "max", "step", "value")),
        Output("spans", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
        State("spans", "data"),
        *sliders,
    )
    def slider_ends(_, target, run, before, *values):
        rows = of_target(workspace.source(run).rows, target)
        out, now = [], {}
        for key, value in zip(NARROWED, values, strict=True):
            low, high, step = slider_span(rows, key)
            old = (before or {}).get(key)
            now[key] = [low, high]
            out += [low, high, step, kept_span(value if old else None, old, (low, high))]
        return *out, now

    @app.callback(
        Output("canvas", "data"),
        Output("colour-words", "children"),
        Output("target-price", "children"),
        Output("nothing", "children"),
        Output("nothing", "hidden"),
        Output("front", "hidden"),
        Output("front-more", "hidden"),
        Output("wall-panel", "hidden"),
        Output("strips", "hidden"),
        Input("version", "data"),
        Input("target", "value"),
        *(Input(each, "value") for each in LOOKS),
        Input("drawn-as", "value"),
        Input("mine", "data"),
        Input("theme", "data"),
        Input("screen", "data"),
        State("run", "data"),
        State("locks", "data"),
        State("spans", "data"),
        *sliders,
    )
    def plot(version, target, x, y, colour, log, drawn, mine, theme, screen, run, tokens, spans, *values):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        look = look_of((x, y, colour, log), theme, screen, source)
        whole = front_rows(source)
        rows = of_target(whole, target)
        ranges = spans_of(values) if spans else {}  # before the sliders know this front they narrow nothing
        shown = narrowed_rows(rows, ranges, tokens, workspace, run)
        own = with_percent([mine["row"]], floor_m2(source))[0] if mine else None
        none = nothing_words(source, run)
        canvas = {
            "stamp": f"{version} {time.time_ns()}",
            "figure": front_figure(rows, shown, look, own, others(whole, target)),
            "ids": [row["id"] for row in rows],
            "figures": {key: [row.get(key) for row in rows] for key in NARROWED},
            "bars": {key: bar_heights(rows, key) for key in NARROWED},
            "forms": {key: form(key, source.currency) for key in NARROWED},
            "lines": parallel_lines(rows, look) if drawn == LINES else None,
        }
        return (
            canvas,
            colour_words(rows, colour, source.currency),
            price_words(price_of(source.rows, target, source.currency)),
            none,
            not none,
            bool(none),
            bool(none),
            bool(none) and not source.alive,
            source.brief is None,
        )

    @app.callback(
        Output("labels", "data"),
        Input("narrowed", "data"),
        State("canvas", "data"),
        State("run", "data"),
        State("target", "value"),
        State("mine", "data"),
        State("screen", "data"),
        State("locks", "data"),
        State("theme", "data"),
        *(State(each, "value") for each in LOOKS),
        *sliders,
        prevent_initial_call=True,
    )
    def label(now, canvas, run, target, mine, screen, tokens, theme, x, y, colour, log, *values):
        if not canvas or now.get("fresh"):  # a figure that is new has its labels
            raise PreventUpdate
        source = workspace.source(run)
        whole = front_rows(source)
        rows = of_target(whole, target)
        look = look_of((x, y, colour, log), theme, screen, source)
        shown = narrowed_rows(rows, spans_of(values), tokens, workspace, run)
        own = with_percent([mine["row"]], floor_m2(source))[0] if mine else None
        return {"stamp": now["stamp"], "annotations": labels(rows, shown, look, own, others(whole, target))}

    @app.callback(
        Output("cloud", "data"),
        Output("beaten-words", "children"),
        Input("beaten", "value"),
        Input("version", "data"),
        Input("target", "value"),
        *(Input(each, "value") for each in LOOKS),
        Input("mine", "data"),
        Input("screen", "data"),
        State("run", "data"),
    )
    def beaten(asked, version, target, x, y, colour, log, mine, screen, run):
        if version is None or not asked:
            return [], ""
        source = workspace.source(run)
        whole = front_rows(source)
        look = look_of((x, y, colour, log), "light", screen, source)
        own = with_percent([mine["row"]], floor_m2(source))[0] if mine else None
        rows = of_target(whole, target)
        found = cloud_points(cloud_of(source, target), rows, look, own, others(whole, target))
        return found.spots, found.words

    _in_the_page(app)


def _in_the_page(app: Dash) -> None:
    """What the page does by itself: narrowing, the ring, labels and the cloud behind."""
    app.clientside_callback(
        ClientsideFunction("front", "show"),
        Output("plot", "figure"),
        Input("canvas", "data"),
        Input("kept", "data"),
    )
    app.clientside_callback(
        ClientsideFunction("front", "narrow"),
        Output("veiled", "data"),
        Input("canvas", "data"),
        Input("held", "data"),
        *(Input(f"slider-{key}", "value") for key in NARROWED),
        Input("kept", "data"),
        State("spans", "data"),
    )
    for name, store, given in (
        ("ring", "ringed", Input("wall", "data")),
        ("label", "labelled", Input("labels", "data")),
        ("behind", "clouded", Input("cloud", "data")),
        ("drawn", "shape", Input("drawn-as", "value")),
    ):
        app.clientside_callback(ClientsideFunction("front", name), Output(store, "data"), given)


def chosen_target(source: Any, found: list[float], wall: str | None, value: float | None) -> float | None:
    """Which target is shown: the reader's, else that of the wall in the address, else the brief's first."""
    if value in found:
        return value
    row = by_id(source.rows, wall)
    if row is not None and row.get("target") in found:
        return row["target"]
    first = source.brief.target.u_value if source.brief else None
    return first if first in found else (found[0] if found else None)


def price_words(price: Price | None) -> list:
    """What the chosen target costs, in a line; nothing where there is one target."""
    if price is None:
        return []
    said: list = [f"{'' if price.words.startswith(';') else ' '}{price.words}: "]
    for number, end in enumerate(price.ends):
        rest = [html.Span(f" ({end.rest})", className="muted small")] if end.rest else []
        said += [" · " if number else "", html.Span([f"{end.name} ", html.B(end.own), *rest], className="end")]
    return said


def cloud_of(source: Any, target: float | None) -> dict[str, list[float]]:
    """The walls behind the front of one target, with the floor that they take from the brief's house."""
    cloud = source.cloud
    if target is not None and cloud.get("target"):
        kept = [number for number, each in enumerate(cloud["target"]) if abs(each - target) < 1e-9]
        cloud = {key: [values[number] for number in kept] for key, values in cloud.items()}
    floor = floor_m2(source)
    if floor is None or not cloud.get("thickness_mm"):
        return cloud
    house, thicknesses = source.brief.house, [each / 1000 for each in cloud["thickness_mm"]]
    lost = {"floor_area_lost_m2": house.floor_area_lost, "floor_lost_percent": house.floor_area_lost_percent}
    return cloud | {key: figure(thicknesses).tolist() for key, figure in lost.items()}
