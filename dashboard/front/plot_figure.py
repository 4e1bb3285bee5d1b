"""The plot of the front as a plotly figure: plain dictionaries, nothing of Dash.

All walls of the front are always in it, each over a hollow point. What ranges and locks leave out the page makes clear,
so that it narrows by itself, without asking for the figure again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimiser.search.landmarks import missing, span, standing_out

from ..numbers import spelt
from ..rows.choose import Row
from ..words import QUANTITIES, u_goal
from .family import edges
from .place_labels import place
from .plot_axes import Axes, Look, axes_of, layout, pixels, placed, valued

SHORTLIST, EDGES, OTHERS, FAINT, OWN, FRONT = range(6)  # in the order of `front_figure`
SPOT = 2.5  # px
CLOUD_SPOT = 1.6  # px
WIDEST = 48  # letters of a line beside the pointer
# Cividis, its dark end lifted: every point stands at least 3 : 1 off the dark paper, and more is still lighter.
DARK_SCALE = [
    [0.0, "#526F9F"],
    [0.125, "#5E7DB2"],
    [0.25, "#6B7FA8"],
    [0.5, "#828B9B"],
    [0.625, "#929697"],
    [0.75, "#AFA888"],
    [0.875, "#D3C36A"],
    [1.0, "#FEE838"],
]


def front_figure(
    rows: Sequence[Row],
    shown: Sequence[Row],
    look: Look,
    mine: Row | None = None,
    others: Sequence[Row] = (),
) -> dict:
    """The front: marks of the shortlist, other targets' fronts, hollow points, one's own wall, the front.

    rows: the whole front, for axes and colours that hold still; shown: what ranges and locks leave, for the labels;
    others: fronts of other targets. The page itself places the marks of the shortlist.
    """
    my_walls = [mine] if mine and placed(mine, look) else []
    axes = axes_of([*rows, *others, *my_walls], look)
    apart = _apart(others, axes, look)
    data = [
        _shortlist(look),
        _edges(rows, others, look),
        _others(apart, look),
        _faint(rows, look),
        _my_wall(my_walls, look),
        _points(rows, look),
    ]
    around = layout(axes, look)
    around["annotations"] = _annotations(shown, my_walls, _ends(rows, others, look), (*rows, *apart), axes, look)
    if not rows and not my_walls:
        around["xaxis"]["visible"] = around["yaxis"]["visible"] = False
    return {"data": data, "layout": around}


def labels(
    rows: Sequence[Row], shown: Sequence[Row], look: Look, mine: Row | None = None, others: Sequence[Row] = ()
) -> list[dict]:
    """The direct labels of that figure alone."""
    my_walls = [mine] if mine and placed(mine, look) else []
    axes = axes_of([*rows, *others, *my_walls], look)
    apart = _apart(others, axes, look)
    return _annotations(shown, my_walls, _ends(rows, others, look), (*rows, *apart), axes, look)


@dataclass(frozen=True)
class Cloud:
    """Beaten walls behind the figure. spots: shares of its inside (x to the right, y downwards), each spot once; drawn
    and off: how many of them lie on it, and how many beyond its axes."""

    spots: list[list[float]]
    drawn: int = 0
    off: int = 0

    @property
    def words(self) -> str:
        """What to say of those that are not drawn."""
        if not self.off:
            return ""
        lie = "lies" if self.off == 1 else "lie"
        return f"{spelt(self.off, ',')} of {spelt(self.off + self.drawn, ',')} {lie} beyond the axes."


def cloud_points(
    cloud: Mapping[str, Sequence[float]], rows: Sequence[Row], look: Look, mine: Row | None, others: Sequence[Row]
) -> Cloud:
    """Where beaten walls lie on the figure."""
    xs, ys = cloud.get(look.x, ()), cloud.get(look.y, ())
    if not len(xs) or len(xs) != len(ys):
        return Cloud([])
    my_walls = [mine] if mine and placed(mine, look) else []
    axes = axes_of([*rows, *others, *my_walls], look)
    width, height = look.inside
    spots: dict[tuple[int, int], list[float]] = {}
    drawn = off = 0
    for x, y in zip(xs, ys, strict=True):
        if missing(x) or missing(y) or (axes[0].log and x <= 0) or (axes[1].log and y <= 0):
            continue
        across, down = axes[0].share(x), 1 - axes[1].share(y)
        if not (0 <= across <= 1 and 0 <= down <= 1):
            off += 1
            continue
        drawn += 1
        spot = round(across * width / CLOUD_SPOT), round(down * height / CLOUD_SPOT)
        spots.setdefault(spot, [round(across, 4), round(down, 4)])
    return Cloud(list(spots.values()), drawn, off)


def _xy(rows: Sequence[Row], look: Look) -> dict:
    return {"x": [row[look.x] for row in rows], "y": [row[look.y] for row in rows]}


def _markers(rows: Sequence[Row], look: Look, marker: dict, **more: object) -> dict:
    return {"type": "scatter", "mode": "markers", **_xy(rows, look), "marker": marker, **more}


def _edged(rows: Sequence[Row], others: Sequence[Row], look: Look) -> dict[float, list[Row]]:
    """The edge of every target's front, where there are several and less of both figures is better."""
    if not others or {"u_value", "stability"} & {look.x, look.y}:
        return {}
    known = [row for row in (*rows, *others) if placed(row, look)]
    return {target: lowest for target, lowest in edges(known, look.x, look.y).items() if len(lowest) > 1}


def _edges(rows: Sequence[Row], others: Sequence[Row], look: Look) -> dict:
    """Thin steps along the lower left of each front, parted by gaps."""
    xs: list[float | None] = []
    ys: list[float | None] = []
    for lowest in _edged(rows, others, look).values():
        xs += [*(row[look.x] for row in lowest), None]
        ys += [*(row[look.y] for row in lowest), None]
    line = {"width": 1, "color": look.colours["muted"], "shape": "hv"}
    return {"type": "scatter", "mode": "lines", "x": xs, "y": ys, "line": line, "opacity": 0.7, "hoverinfo": "skip"}


def _others(rows: Sequence[Row], look: Look) -> dict:
    """Walls on the fronts of other targets: smaller, without colour, but there to be chosen."""
    return _markers(
        rows,
        look,
        {"size": 4.5, "color": look.colours["muted"], "opacity": 0.5},
        ids=[row["id"] for row in rows],
        customdata=[[row["id"], row["target"]] for row in rows],
        text=[hover(row, look, f"U {u_goal(row['target'])}") for row in rows],
        hoverinfo="none",  # the page draws what stands beside the pointer (hover.js)
        name="fronts of other targets",
    )


def _ends(rows: Sequence[Row], others: Sequence[Row], look: Look) -> list[tuple[Row, str]]:
    """Where each front of a family is labelled: the middle of its edge."""
    return [(lowest[len(lowest) // 2], f"U {u_goal(target)}") for target, lowest in _edged(rows, others, look).items()]


def _shortlist(look: Look) -> dict:
    """A thin ring under the walls of the shortlist, which the page places."""
    marker = {"size": 14, "color": "rgba(0,0,0,0)", "line": {"width": 1.4, "color": look.colours["accent"]}}
    return _markers([], look, marker, hoverinfo="skip", name="shortlist")


def _faint(rows: Sequence[Row], look: Look) -> dict:
    line = {"width": 1, "color": look.colours["muted"]}
    marker = {"size": 4, "color": "rgba(0,0,0,0)", "line": line, "opacity": 0.55}
    return _markers([row for row in rows if placed(row, look)], look, marker, hoverinfo="skip")


def _my_wall(walls: Sequence[Row], look: Look) -> dict:
    line = {"width": 2, "color": look.colours["paper"]}
    marker = {"size": 13, "symbol": "diamond", "color": look.colours["accent"], "line": line}
    said = {"text": ["<b>my wall</b>"] * len(walls), "hoverinfo": "none", "name": "my wall"}
    return _markers(walls, look, marker, ids=["mine"] * len(walls), customdata=["mine"] * len(walls), **said)


def _points(rows: Sequence[Row], look: Look) -> dict:
    ends = span(rows, look.colour) or (0.0, 1.0)
    rows = [row for row in rows if placed(row, look)]
    values = [ends[1] if missing(row.get(look.colour)) else row[look.colour] for row in rows]
    marker = {
        "size": 8.5,
        "color": values,
        "colorscale": DARK_SCALE if look.theme == "dark" else "Cividis",
        "cmin": ends[0],
        "cmax": ends[1] if ends[1] > ends[0] else ends[0] + 1,
        "line": {"width": 1 if len(rows) < 200 else 0.6, "color": look.colours["paper"]},
        "opacity": 1,
    }
    return _markers(
        rows,
        look,
        marker,
        ids=[row["id"] for row in rows],
        customdata=[row["id"] for row in rows],
        text=[hover(row, look) for row in rows],
        hoverinfo="none",  # the page draws what stands beside the pointer (hover.js)
        name="front",
    )


def hover(row: Row, look: Look, beside: str = "") -> str:
    """What a wall is in a line, and its figures in another: those of the axes and the colour first, then U."""
    name = " · ".join(each for each in (f"<b>{row['id']}</b>", beside, _folded(str(row.get("in_short") or ""))) if each)
    keys = dict.fromkeys((look.x, look.y, look.colour, "thickness_mm", "u_value"))
    figures = [f"{QUANTITIES[key].short} {valued(key, row.get(key), look.currency)}" for key in keys]
    return f"{name}<br>{' · '.join(figures[:3])}<br>{' · '.join(figures[3:])}".removesuffix("<br>")


def _folded(text: str) -> str:
    """Words of a wall in lines that fit beside a pointer, as text: nothing in them is read as a tag."""
    lines = [""]
    for part in text.split(" · "):
        if lines[-1] and len(lines[-1]) + len(part) > WIDEST:
            lines.append(part)
        else:
            lines[-1] = " · ".join(each for each in (lines[-1], part) if each)
    plain = (line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;") for line in lines)
    return "<br>".join(plain)


def _annotations(
    shown: Sequence[Row],
    my_walls: Sequence[Row],
    named: Sequence[tuple[Row, str]],
    points: Sequence[Row],
    axes: Axes,
    look: Look,
) -> list[dict]:
    """Direct labels on the walls that stand out, on one's own and on each front of a family, clear of every point."""
    names = standing_out(shown, look.asked)
    marked = [(row, " · ".join(names[row["id"]])) for row in shown if row["id"] in names and placed(row, look)]
    marked += [(row, "my wall") for row in my_walls]
    marked += named
    taken = [pixels(row, axes, look) for row in (*points, *my_walls) if placed(row, look)]
    wanted = [(*pixels(row, axes, look), words) for row, words in marked]
    places = place(taken, wanted, look.inside)
    return [_annotation(row, at, axes, look) for (row, _), at in zip(marked, places, strict=True)]


def _apart(rows: Sequence[Row], axes: Axes, look: Look) -> list[Row]:
    """The rows that would not lie on a spot already taken: a screen shows no more of them."""
    spots: dict[tuple[int, int], Row] = {}
    for row in rows:
        if placed(row, look):
            x, y = pixels(row, axes, look)
            spots.setdefault((round(x / SPOT), round(y / SPOT)), row)
    return list(spots.values())


def _annotation(row: Row, at, axes: Axes, look: Look) -> dict:
    x, y = row[look.x], row[look.y]
    return {
        "name": row["id"],
        "x": math.log10(x) if axes[0].log else x,
        "y": math.log10(y) if axes[1].log else y,
        "text": at.words,
        "ax": at.dx,
        "ay": at.dy,
        "showarrow": True,
        "arrowhead": 0,
        "arrowwidth": 0.9,
        "arrowcolor": look.colours["ink"],
        "standoff": 6,
        "font": {"size": 11.5, "color": look.colours["ink"]},
        "captureevents": False,
    }
