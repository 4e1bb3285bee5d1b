"""Two fronts laid over each other: today's in ink, that of a case of suppliers in the accent. Nothing of Dash."""

from __future__ import annotations

from collections.abc import Sequence

from ..front.family import edge
from ..front.place_labels import place
from ..front.plot_axes import Axes, Look, axes_of, layout, pixels, placed
from ..front.plot_figure import hover
from ..rows.choose import Row

LOWER_IS_NO_BETTER = ("u_value", "stability")  # no edge is drawn for them
TODAY = "all suppliers"


def suppliers_figure(
    rows: Sequence[Row], other: Sequence[Row], name: str, look: Look, wall: str | None = None, picked: int | None = None
) -> dict:
    """Today's front and the other one. other: rows with `wall`, the id of today's wall of the same figures or "".

    wall: the chosen wall of today's front, ringed; picked: number of the chosen row of the other front, ringed too.
    """
    axes = axes_of([*rows, *other], look)
    new = [(number, row) for number, row in enumerate(other) if not row["wall"]]
    stay = {row["wall"] for row in other if row["wall"]}
    chosen = [row for row in rows if row["id"] == wall]
    if picked is not None and 0 <= picked < len(other):
        chosen.append(other[picked])
    data = [
        _edge(rows, look, look.colours["muted"], 1.0),
        _edge(other, look, look.colours["accent"], 1.4),
        _today(rows, look),
        _staying([row for row in rows if row["id"] in stay], look),
        _new(new, look),
        _ring(chosen, look),
    ]
    around = layout(axes, look)
    around["annotations"] = _labels(rows, other, name, axes, look)
    return {"data": data, "layout": around}


def plain(text: str) -> str:
    """A supplier's name as text: nothing in it is read as a tag."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _marks(rows: Sequence[Row], look: Look, marker: dict, **more: object) -> dict:
    spots = {"x": [row[look.x] for row in rows], "y": [row[look.y] for row in rows]}
    return {"type": "scatter", "mode": "markers", **spots, "marker": marker, **more}


def _edge(rows: Sequence[Row], look: Look, colour: str, width: float) -> dict:
    lowest = [] if {look.x, look.y} & set(LOWER_IS_NO_BETTER) else edge(rows, look.x, look.y)
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [row[look.x] for row in lowest],
        "y": [row[look.y] for row in lowest],
        "line": {"width": width, "color": colour, "shape": "hv"},
        "hoverinfo": "skip",
    }


def _today(rows: Sequence[Row], look: Look) -> dict:
    known = [row for row in rows if placed(row, look)]
    marker = {"size": 5.5, "color": look.colours["ink"], "opacity": 0.8}
    return _marks(
        known,
        look,
        marker,
        ids=[row["id"] for row in known],
        customdata=[["wall", row["id"]] for row in known],
        text=[hover(row, look) for row in known],
        hovertemplate="%{text}<extra></extra>",
        name=TODAY,
    )


def _staying(rows: Sequence[Row], look: Look) -> dict:
    """A ring in the accent round the walls that are on both fronts."""
    line = {"width": 1.5, "color": look.colours["accent"]}
    known = [row for row in rows if placed(row, look)]
    return _marks(known, look, {"size": 10, "color": "rgba(0,0,0,0)", "line": line}, hoverinfo="skip", name="on both")


def _new(rows: Sequence[tuple[int, Row]], look: Look) -> dict:
    known = [(number, row) for number, row in rows if placed(row, look)]
    line = {"width": 1, "color": look.colours["paper"]}
    return _marks(
        [row for _, row in known],
        look,
        {"size": 8.5, "color": look.colours["accent"], "line": line},
        customdata=[["other", number] for number, _ in known],
        text=[hover({**row, "id": plain(row["id"])}, look) for _, row in known],
        hovertemplate="%{text}<extra></extra>",
        name="on the other front",
    )


def _ring(rows: Sequence[Row], look: Look) -> dict:
    line = {"width": 2, "color": look.colours["ink"]}
    known = [row for row in rows if placed(row, look)]
    return _marks(known, look, {"size": 17, "color": "rgba(0,0,0,0)", "line": line}, hoverinfo="skip", name="chosen")


def _labels(rows: Sequence[Row], other: Sequence[Row], name: str, axes: Axes, look: Look) -> list[dict]:
    """Each front named on its edge, clear of every point."""
    wanted, colours = [], []
    for front, words, colour in ((rows, TODAY, "ink"), (other, name, "accent")):
        known = [row for row in front if placed(row, look)]
        ends = edge(known, look.x, look.y) or known
        if ends:
            at = ends[len(ends) // 2 if words == TODAY else (2 * len(ends)) // 3 if len(ends) > 2 else len(ends) // 2]
            wanted.append((at, words))
            colours.append(look.colours[colour])
    points = [pixels(row, axes, look) for row in (*rows, *other) if placed(row, look)]
    put = place(points, [(*pixels(row, axes, look), words) for row, words in wanted], look.inside)
    return [
        {
            "x": row[look.x],
            "y": row[look.y],
            "text": plain(at.words),
            "ax": at.dx,
            "ay": at.dy,
            "showarrow": True,
            "arrowhead": 0,
            "arrowwidth": 0.9,
            "arrowcolor": colour,
            "standoff": 5,
            "font": {"size": 11.5, "color": colour},
            "captureevents": False,
        }
        for (row, _), at, colour in zip(wanted, put, colours, strict=True)
    ]
