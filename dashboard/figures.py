"""The plot of the front as a plotly figure: plain dictionaries, nothing of Dash."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.handover import palette

from .choose import Row, span, standing_out
from .family import edges
from .place_labels import place
from .words import QUANTITIES, figure, missing, money, u_goal, unit

EDGES, OTHERS, FRONT, RING = 1, 2, 5, 6  # in the order of `front_figure`
CLOUD_MOST = 1000  # dominated walls drawn at most
SPOT = 2.5  # px
MARGIN = {"l": 62, "r": 18, "t": 14, "b": 50}
PALE_RING = "#8FA3C4"  # round the darkest points on dark paper, which would vanish otherwise


@dataclass(frozen=True)
class Look:
    """What the reader asked to see."""

    x: str = "thickness_mm"
    y: str = "carbon_kgco2e_m2"
    colour: str = "cost_per_m2"
    log: tuple[str, ...] = ()  # "x", "y"
    theme: str = "light"
    width: float = 760.0  # px of the whole plot
    height: float = 385.0
    currency: str = "EUR"


def front_figure(
    rows: Sequence[Row],
    shown: Sequence[Row],
    cloud: Mapping[str, Sequence[float]],
    look: Look,
    chosen: str | None = None,
    mine: Row | None = None,
    others: Sequence[Row] = (),
) -> dict:
    """The front: beaten walls, other targets' fronts, walls outside the sliders, one's own, the front, and a ring.

    rows: the whole front, for axes that hold still; shown: what the sliders leave; others: fronts of other targets.
    """
    kept = {row["id"] for row in shown}
    outside = [row for row in rows if row["id"] not in kept]
    own = [mine] if mine and _placed(mine, look) else []
    axes = _axes([*rows, *others, *own], look)
    apart = _apart(others, axes, look)
    data = [
        _cloud(cloud, look),
        _edges(rows, others, look),
        _others(apart, look),
        _faint(outside, look),
        _own(own, look),
        _points(shown, look),
        _ring(_chosen(rows, mine, chosen), look),
    ]
    layout = _layout(axes, look)
    layout["annotations"] = _annotations(shown, own, _ends(rows, others, look), apart, axes, look)
    if not rows and not own:
        layout["xaxis"]["visible"] = layout["yaxis"]["visible"] = False
    return {"data": data, "layout": layout}


def chosen_patch(rows: Sequence[Row], mine: Row | None, chosen: str | None, look: Look) -> dict:
    """The x and y of the mark round the chosen wall."""
    ring = _ring(_chosen(rows, mine, chosen), look)
    return {"x": ring["x"], "y": ring["y"]}


def _chosen(rows: Sequence[Row], mine: Row | None, chosen: str | None) -> list[Row]:
    pool = [*rows, *([mine] if mine else [])]
    return [row for row in pool if row["id"] == chosen]


def _placed(row: Row, look: Look) -> bool:
    """Whether a wall has both figures of the axes, and ones that a logarithm can show."""
    values = {"x": row.get(look.x), "y": row.get(look.y)}
    return not any(missing(value) or (axis in look.log and value <= 0) for axis, value in values.items())


def _xy(rows: Sequence[Row], look: Look) -> dict:
    rows = [row for row in rows if _placed(row, look)]
    return {"x": [row[look.x] for row in rows], "y": [row[look.y] for row in rows]}


def _colours(look: Look) -> dict[str, str]:
    return palette.DARK if look.theme == "dark" else palette.LIGHT


def _cloud(cloud: Mapping[str, Sequence[float]], look: Look) -> dict:
    xs, ys = cloud.get(look.x, ()), cloud.get(look.y, ())
    step = max(1, math.ceil(len(xs) / CLOUD_MOST)) if len(xs) == len(ys) else 1
    pairs = list(zip(xs, ys, strict=False))[::step]
    marker = {"size": 2.6, "color": _colours(look)["muted"], "opacity": 0.3}
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [pair[0] for pair in pairs],
        "y": [pair[1] for pair in pairs],
        "marker": marker,
        "hoverinfo": "skip",
        "name": "walls that another beats",
    }


def _edged(rows: Sequence[Row], others: Sequence[Row], look: Look) -> dict[float, list[Row]]:
    """The edge of every target's front, where there are several and less of both figures is better."""
    if not others or "u_value" in (look.x, look.y):
        return {}
    placed = [row for row in (*rows, *others) if _placed(row, look)]
    return {target: found for target, found in edges(placed, look.x, look.y).items() if len(found) > 1}


def _edges(rows: Sequence[Row], others: Sequence[Row], look: Look) -> dict:
    """Thin steps along the lower left of each front, parted by gaps."""
    xs: list[float | None] = []
    ys: list[float | None] = []
    for found in _edged(rows, others, look).values():
        xs += [*(row[look.x] for row in found), None]
        ys += [*(row[look.y] for row in found), None]
    line = {"width": 1, "color": _colours(look)["muted"], "shape": "hv"}
    return {"type": "scatter", "mode": "lines", "x": xs, "y": ys, "line": line, "opacity": 0.7, "hoverinfo": "skip"}


def _others(rows: Sequence[Row], look: Look) -> dict:
    """Walls on the fronts of other targets: smaller, without colour, but there to be chosen."""
    return {
        "type": "scatter",
        "mode": "markers",
        **_xy(rows, look),
        "ids": [row["id"] for row in rows],
        "customdata": [row["id"] for row in rows],
        "marker": {"size": 4.5, "color": _colours(look)["muted"], "opacity": 0.5},
        "text": [f"U {u_goal(row['target'])}<br>{_hover(row, look)}" for row in rows],
        "hovertemplate": "%{text}<extra></extra>",
        "name": "fronts of other targets",
    }


def _ends(rows: Sequence[Row], others: Sequence[Row], look: Look) -> list[tuple[Row, str]]:
    """Where each front of a family is labelled: the middle of its edge."""
    return [(found[len(found) // 2], f"U {u_goal(target)}") for target, found in _edged(rows, others, look).items()]


def _faint(rows: Sequence[Row], look: Look) -> dict:
    marker = {
        "size": 4,
        "color": "rgba(0,0,0,0)",
        "line": {"width": 1, "color": _colours(look)["muted"]},
        "opacity": 0.55,
    }
    return {"type": "scatter", "mode": "markers", **_xy(rows, look), "marker": marker, "hoverinfo": "skip"}


def _own(own: Sequence[Row], look: Look) -> dict:
    colours = _colours(look)
    line = {"width": 2, "color": colours["paper"]}
    marker = {"size": 13, "symbol": "diamond", "color": colours["accent"], "line": line}
    return {
        "type": "scatter",
        "mode": "markers",
        **_xy(own, look),
        "ids": ["mine"] * len(own),
        "customdata": ["mine"] * len(own),
        "marker": marker,
        "hovertemplate": "my wall<extra></extra>",
        "name": "my wall",
    }


def _ring(rows: Sequence[Row], look: Look) -> dict:
    line = {"width": 2, "color": _colours(look)["ink"]}
    marker = {"size": 18, "symbol": "circle", "color": "rgba(0,0,0,0)", "line": line}
    return {"type": "scatter", "mode": "markers", **_xy(rows, look), "marker": marker, "hoverinfo": "skip"}


def _points(rows: Sequence[Row], look: Look) -> dict:
    rows = [row for row in rows if _placed(row, look)]
    ends = span(rows, look.colour) or (0.0, 1.0)
    values = [ends[1] if missing(row.get(look.colour)) else row[look.colour] for row in rows]
    marker = {
        "size": 8.5,
        "color": values,
        "colorscale": "Cividis",
        "cmin": ends[0],
        "cmax": ends[1] if ends[1] > ends[0] else ends[0] + 1,
        "line": {"width": 1 if len(rows) < 200 else 0.6, "color": _rings(values, ends, look)},
        "opacity": 1,
    }
    return {
        "type": "scatter",
        "mode": "markers",
        **_xy(rows, look),
        "ids": [row["id"] for row in rows],
        "customdata": [row["id"] for row in rows],
        "marker": marker,
        "text": [_hover(row, look) for row in rows],
        "hovertemplate": "%{text}<extra></extra>",
        "name": "front",
    }


def _rings(values: Sequence[float], ends: tuple[float, float], look: Look) -> str | list[str]:
    """The ring round each point: paper, but a pale one round dark points on dark paper."""
    paper = _colours(look)["paper"]
    if look.theme != "dark":
        return paper
    limit = ends[0] + 0.3 * (ends[1] - ends[0])
    return [PALE_RING if value <= limit else paper for value in values]


def _hover(row: Row, look: Look) -> str:
    parts = [f"<b>{row['id']}</b>"]
    for key in dict.fromkeys((look.x, look.y, look.colour)):
        parts.append(f"{QUANTITIES[key].short} {_valued(key, row.get(key), look.currency)}")
    return "<br>".join(parts)


def _valued(key: str, value: float | None, currency: str) -> str:
    if key == "cost_per_m2":
        return money(value, currency, 1)
    return f"{figure(key, value)} {unit(key, currency)}"


@dataclass(frozen=True)
class Axis:
    """Ends of an axis in its figure's unit, and whether it is logarithmic."""

    low: float
    high: float
    log: bool

    def share(self, value: float) -> float:
        """Where a value lies between the ends, 0 to 1."""
        low, high, value = (math.log10(each) if self.log else each for each in (self.low, self.high, value))
        return (value - low) / (high - low)


def _axes(rows: Sequence[Row], look: Look) -> tuple[Axis, Axis]:
    return tuple(_axis(rows, key, name in look.log) for key, name in ((look.x, "x"), (look.y, "y")))


def _axis(rows: Sequence[Row], key: str, log: bool) -> Axis:
    """An axis that starts where the front does; at zero when zero is near."""
    low, high = span([row for row in rows if not log or (row.get(key) or 0) > 0], key) or (1.0, 10.0)
    if log:
        room = (high / low) ** 0.06 if high > low else 1.1
        return Axis(low / room, high * room, True)
    room = (high - low) * 0.06 or abs(high) * 0.05 or 1.0
    near_zero = 0 <= low < (high - low) * 0.35
    return Axis(0.0 if near_zero else low - room, high + room, False)


def _layout(axes: tuple[Axis, Axis], look: Look) -> dict:
    colours = _colours(look)
    return {
        "margin": MARGIN,
        "height": look.height,
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "showlegend": False,
        "hovermode": "closest",
        "hoverdistance": 12,
        "dragmode": False,
        "clickmode": "event",
        "uirevision": f"{look.x} {look.y} {look.log}",
        "font": {
            "family": "-apple-system, 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif",
            "size": 12,
            "color": colours["ink"],
        },
        "hoverlabel": {
            "bgcolor": colours["paper"],
            "bordercolor": colours["hairline"],
            "font": {"color": colours["ink"]},
        },
        "xaxis": _axis_layout(look.x, axes[0], look),
        "yaxis": _axis_layout(look.y, axes[1], look),
    }


def _axis_layout(key: str, axis: Axis, look: Look) -> dict:
    colours = _colours(look)
    ends = [math.log10(each) for each in (axis.low, axis.high)] if axis.log else [axis.low, axis.high]
    return {
        "title": {
            "text": axis_title(key, axis, look.currency),
            "font": {"size": 12.5, "color": colours["ink"]},
            "standoff": 10,
        },
        "type": "log" if axis.log else "linear",
        "range": ends,
        "gridcolor": colours["hairline"],
        "linecolor": colours["hairline"],
        "zeroline": False,
        "tickfont": {"size": 11.5, "color": colours["muted"]},
        "ticks": "",
        "nticks": 9,
        "fixedrange": True,
    }


def axis_title(key: str, axis: Axis, currency: str) -> str:
    """What an axis shows, and that it does not start at zero where it does not."""
    noun = QUANTITIES[key].noun
    words = f"{noun}, {unit(key, currency)}"
    if key == "cost_per_m2":
        words = f"cost, {unit(key, currency)}"
    if key == "carbon_kgco2e_m2":
        words = f"{noun} A1–A3, {unit(key, currency)}"
    if axis.log:
        return f"{words} (logarithmic)"
    return words if axis.low <= 0 else f"{words} (not from zero)"


def _annotations(
    shown: Sequence[Row],
    own: Sequence[Row],
    named: Sequence[tuple[Row, str]],
    others: Sequence[Row],
    axes: tuple[Axis, Axis],
    look: Look,
) -> list[dict]:
    """Direct labels on the walls that stand out, on one's own and on each front of a family, clear of every point."""
    rows = [row for row in shown if _placed(row, look)]
    size = _inside(look)
    names = standing_out(shown)
    marked = [(row, " · ".join(names[row["id"]])) for row in rows if row["id"] in names]
    marked += [(row, "my wall") for row in own]
    marked += named
    points = [_pixels(row, axes, look, size) for row in (*rows, *own, *others) if _placed(row, look)]
    wanted = [(*_pixels(row, axes, look, size), words) for row, words in marked]
    placed = place(points, wanted, size)
    return [_annotation(row, at, axes, look) for (row, _), at in zip(marked, placed, strict=True)]


def _inside(look: Look) -> tuple[float, float]:
    """Width and height between the axes [px]."""
    return max(look.width - MARGIN["l"] - MARGIN["r"], 200), max(look.height - MARGIN["t"] - MARGIN["b"], 120)


def _apart(rows: Sequence[Row], axes: tuple[Axis, Axis], look: Look) -> list[Row]:
    """The rows that would not lie on a spot already taken: a screen shows no more of them."""
    spots: dict[tuple[int, int], Row] = {}
    for row in rows:
        if _placed(row, look):
            x, y = _pixels(row, axes, look, _inside(look))
            spots.setdefault((round(x / SPOT), round(y / SPOT)), row)
    return list(spots.values())


def _pixels(row: Row, axes: tuple[Axis, Axis], look: Look, size: tuple[float, float]) -> tuple[float, float]:
    return axes[0].share(row[look.x]) * size[0], (1 - axes[1].share(row[look.y])) * size[1]


def _annotation(row: Row, at, axes: tuple[Axis, Axis], look: Look) -> dict:
    colours = _colours(look)
    x, y = row[look.x], row[look.y]
    return {
        "x": math.log10(x) if axes[0].log else x,
        "y": math.log10(y) if axes[1].log else y,
        "text": at.words,
        "ax": at.dx,
        "ay": at.dy,
        "showarrow": True,
        "arrowhead": 0,
        "arrowwidth": 0.9,
        "arrowcolor": colours["ink"],
        "standoff": 6,
        "font": {"size": 11.5, "color": colours["ink"]},
        "captureevents": False,
    }


def colour_words(rows: Sequence[Row], key: str, currency: str) -> str:
    """The range of the colour scale in words: '(€142 dark to €231 light)'."""
    ends = span(rows, key)
    if not ends:
        return ""
    digits = 0 if ends[1] - ends[0] > 20 else None
    if key == "cost_per_m2":
        low, high = (money(each, currency, 1 if digits is None else 0) for each in ends)
        return f"({low} dark to {high} light)"
    low, high = (figure(key, each, digits) for each in ends)
    return f"({low} dark to {high} light, {unit(key, currency)})"
