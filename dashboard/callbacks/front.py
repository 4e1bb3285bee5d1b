"""The plot, the sliders that narrow it and the sentence above it."""

from __future__ import annotations

from typing import Any

from dash import Dash, Input, Output, Patch, State, ctx, html, no_update
from dash.exceptions import PreventUpdate

from ..choose import by_id, histogram, kept_span, narrowed, of_target, slider_span, targets
from ..family import Price, others, price_of
from ..figures import RING, Look, chosen_patch, colour_words, front_figure
from ..words import NARROWED, QUANTITIES, many, money, u_goal

LOOK = [State(each, "value") for each in ("x", "y", "colour", "log")]

WAY_OUT = "Loosen what binds, or switch more on under “Change what each slot may hold”, and search again."


def range_words(key: str, value: list[float], currency: str) -> str:
    """Where a slider stands: '330–460 mm'."""
    digits = 0 if all(float(each).is_integer() for each in value) else 1
    if key == "cost_per_m2":
        return f"{money(value[0], currency, digits)} – {money(value[1], currency, digits)} per m²"
    unit = QUANTITIES[key].unit
    return f"{value[0]:.{digits}f} – {value[1]:.{digits}f} {unit}"


def histogram_bars(values: list[float], ends: tuple[float, float], kept: list[float]) -> list[html.Span]:
    """A small histogram; what lies outside the slider is paler."""
    counts = histogram(values, ends)
    top, step = max([*counts, 1]), (ends[1] - ends[0]) / len(counts)
    bars = []
    for index, count in enumerate(counts):
        middle = ends[0] + (index + 0.5) * step
        inside = kept[0] - step / 2 <= middle <= kept[1] + step / 2
        height = 0 if count == 0 else max(8, round(100 * count / top))
        bars.append(html.Span(style={"height": f"{height}%"}, className="" if inside else "out"))
    return bars


def look_of(values: tuple, theme: str, screen: dict | None, currency: str) -> Look:
    """The reader's choices as the figure takes them."""
    x, y, colour, log = values
    screen = screen or {}
    return Look(x, y, colour, tuple(log or ()), theme or "light", float(screen.get("width") or 760), currency=currency)


def spans_of(values: tuple) -> dict[str, tuple[float, float] | None]:
    """Slider values by figure."""
    return {key: tuple(value) if value else None for key, value in zip(NARROWED, values, strict=True)}


def register(app: Dash, workspace: Any) -> None:
    """Tie plot and controls to the rows."""
    sliders = [Input(f"slider-{key}", "value") for key in NARROWED]

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

    ends = [Output(f"slider-{key}", name) for key in NARROWED for name in ("min", "max", "step", "value")]

    @app.callback(
        *ends,
        Output("spans", "data"),
        Input("version", "data"),
        Input("target", "value"),
        State("run", "data"),
        State("spans", "data"),
        *(State(f"slider-{key}", "value") for key in NARROWED),
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
        *(Output(f"bars-{key}", "children") for key in NARROWED),
        *(Output(f"range-{key}", "children") for key in NARROWED),
        *sliders,
        Input("spans", "data"),
        State("target", "value"),
        State("run", "data"),
    )
    def slider_words(*given):
        values, (spans, target, run) = given[:3], given[3:]
        if not spans:
            raise PreventUpdate
        source = workspace.source(run)
        rows = of_target(source.rows, target)
        bars, words = [], []
        for key, value in zip(NARROWED, values, strict=True):
            figures = [row[key] for row in rows if row.get(key) is not None]
            bars.append(histogram_bars(figures, tuple(spans[key]), value))
            words.append(range_words(key, value, source.currency) if figures else "")
        return *bars, *words

    @app.callback(
        Output("plot", "figure"),
        Output("colour-words", "children"),
        Output("count", "children"),
        Output("plot-message", "children"),
        Output("plot-message", "hidden"),
        Output("plotted", "data"),
        Output("narrowing", "hidden"),
        Output("table-part", "hidden"),
        Output("target-price", "children"),
        Input("version", "data"),
        Input("target", "value"),
        *sliders,
        *(Input(each, "value") for each in ("x", "y", "colour", "log")),
        Input("mine", "data"),
        Input("theme", "data"),
        Input("screen", "data"),
        State("wall", "data"),
        State("run", "data"),
    )
    def plot(version, target, thickness, cost, carbon, x, y, colour, log, mine, theme, screen, chosen, run):
        if version is None:
            raise PreventUpdate
        source = workspace.source(run)
        look = look_of((x, y, colour, log), theme, screen, source.currency)
        rows = of_target(source.rows, target)
        shown = narrowed(rows, spans_of((thickness, cost, carbon)))
        family, own = others(source.rows, target), (mine or {}).get("row")
        figure = front_figure(rows, shown, cloud_of(source, target), look, chosen, own, family)
        count = f"{len(shown):,} of {many(len(rows), 'wall')}." if rows else ""
        message = plot_message(source, len(rows), len(shown))
        return (
            figure,
            colour_words(shown, colour, source.currency),
            count,
            message,
            not message,
            version,
            not rows,
            not rows,
            price_words(price_of(source.rows, target, source.currency)),
        )

    @app.callback(
        Output("plot", "figure", allow_duplicate=True),
        Input("wall", "data"),
        Input("plotted", "data"),
        State("mine", "data"),
        State("run", "data"),
        State("target", "value"),
        *LOOK,
        prevent_initial_call=True,
    )
    def mark(chosen, plotted, mine, run, target, *values):
        if plotted is None:
            raise PreventUpdate
        source = workspace.source(run)
        rows = of_target(source.rows, target)
        ring = chosen_patch(rows, (mine or {}).get("row"), chosen, look_of(values, "light", None, source.currency))
        patch = Patch()
        patch["data"][RING]["x"], patch["data"][RING]["y"] = ring["x"], ring["y"]
        return patch

    @app.callback(
        Output("wall", "data", allow_duplicate=True),
        Output("target", "value", allow_duplicate=True),
        Input("plot", "clickData"),
        State("run", "data"),
        State("target", "value"),
        prevent_initial_call=True,
    )
    def choose(clicked, run, target):
        points = (clicked or {}).get("points") or []
        chosen = next((point.get("customdata") for point in points if point.get("customdata")), None)
        if chosen is None or not ctx.triggered_id:
            raise PreventUpdate
        chosen = chosen[0] if isinstance(chosen, list) else chosen
        row = by_id(workspace.source(run).rows, chosen)
        moves = row is not None and target is not None and row["target"] != target
        return chosen, row["target"] if moves else no_update


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
    """The walls behind the front of one target."""
    cloud = source.cloud
    if target is None or not cloud.get("target"):
        return cloud
    kept = [number for number, each in enumerate(cloud["target"]) if abs(each - target) < 1e-9]
    return {key: [values[number] for number in kept] for key, values in cloud.items()}


def plot_message(source: Any, rows: int, shown: int) -> list:
    """What stands in the plot when it has no points."""
    if shown:
        return []
    if rows:
        return [html.B("No wall lies within these ranges."), html.Span("Widen a slider below.")]
    if source.alive:
        return [
            html.B("Looking for walls that meet the brief"),
            html.Span("The first ones appear here as they are found."),
        ]
    if source.status == "infeasible":
        return [
            html.B("No wall meets this brief"),
            *(html.Span(line) for line in source.message.splitlines()),
            html.Span(WAY_OUT, className="muted"),
        ]
    if source.status in ("failed", "missing"):
        return [html.B("There is no front to show"), html.Span(source.message)]
    return [html.B("No front yet"), html.Span("Start a search to see one.")]
