"""The view in which walls stand side by side, as Dash components made from its facts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from dash import dcc, html

from optimiser.handover.drawing.section import Beside, section_svg
from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import WHOLE_LIFE

from ..words import listed, millimetres
from .columns import FEWEST, MOST, WallColumn
from .compare import (
    Cell,
    ComparedContents,
    Figure,
    at_a_glance,
    contents,
    for_the_house,
    house_words,
    judgement_rows,
    per_m2,
)
from .decisions import LONGEST_NOTE

SHEET = 560  # px; the page scales all drawings alike
HOW_TO = (
    "Choose a wall on the front, by a point of the plot or a row of the table, and press “Keep in shortlist” above its "
    "drawing. Two to four kept walls are drawn here to one scale, with every figure against the first."
)
CAUTION = (
    "Preliminary: structure, moisture and fire belong to licensed practice, and local codes govern. Not for "
    "construction until a licensed person has checked it."
)
ENDS = {  # of a front, by the figure that is least there
    "thickness_mm": "the thinnest",
    "cost_per_m2": "the cheapest",
    "carbon_kgco2e_m2": "the lowest in carbon",
    "weight_kg_m2": "the lightest",
    WHOLE_LIFE: "the lowest over its life",
}


def compare_part() -> list:
    """What the view is made of; callbacks fill it."""
    return [
        _empty(),
        html.Div(
            [
                _head(),
                html.Div([_wall(number) for number in range(MOST)], className="compare-drawings"),
                html.P(id="compare-line", className="muted small compare-line"),
                html.Div(id="compare-table", className="compare-scroll"),
                html.P(CAUTION, className="muted small compare-caution"),
            ],
            id="compare-body",
            hidden=True,
        ),
    ]


def _empty() -> html.Div:
    """What is seen before there is anything to compare."""
    return html.Div(
        [
            html.H2(id="compare-empty-head"),
            html.P(HOW_TO),
            html.Div(
                [
                    html.Button("Go to the front", id="compare-front", className="main-button"),
                    html.Button(keep_words(), id="keep-standing-out", className="quiet"),
                ],
                className="buttons",
            ),
            html.P(id="compare-empty-words", role="status", className="fault"),
        ],
        id="compare-empty",
        className="compare-empty",
        hidden=True,
    )


def _head() -> html.Div:
    chooser = html.Div(
        [
            html.Span("Side by side, four at most: ", className="muted"),
            dcc.Checklist([], [], id="compare-choose", inline=True, className="compare-choose"),
        ],
        id="compare-chooser",
        role="group",
        hidden=True,
        **{"aria-label": "which walls stand side by side"},
    )
    links = [
        html.Button("", id="undo-compare", className="quiet", hidden=True),
        html.Button("Print on one sheet", id="compare-print", className="quiet"),
    ]
    return html.Div(
        [
            html.Div([html.P(id="compare-sentence", className="sentence"), html.Div(links, className="buttons")]),
            chooser,
            html.P(id="compare-words", role="status", className="fault"),
        ],
        className="compare-head",
    )


def _wall(number: int) -> html.Section:
    """The place of one wall: its name, its drawing and its note."""
    note = html.Label(
        [
            html.Span("note", className="muted small"),
            dcc.Textarea(
                id=f"compare-note-{number}",
                className="note",
                maxLength=LONGEST_NOTE,
                placeholder="Why this one, or why not",
                rows=4,
            ),
        ],
        id=f"compare-note-part-{number}",
        className="compare-note",
    )
    keep = html.Button("Keep in shortlist", id=f"compare-keep-{number}", className="quiet", hidden=True)
    return html.Section(
        [
            html.Div(id=f"compare-name-{number}", className="compare-name"),
            html.Div(id=f"compare-drawing-{number}", className="compare-drawing"),
            html.Div([note, keep]),
        ],
        id=f"compare-wall-{number}",
        className="compare-wall",
        hidden=True,
    )


def empty_words(count: int) -> str:
    """What the view is headed before there is anything to compare."""
    return "Nothing is kept yet" if count == 0 else "One wall is kept: keep another to compare it with"


def keep_words(asked: Sequence[str] = USUAL) -> str:
    """What the button keeps: the ends of the front in the figures that count."""
    return f"Or keep {listed([ENDS[key] for key in asked])} now"


def sentence(walls: Sequence[WallColumn], gone: str) -> list:
    """What everything is measured against. gone: what there is to say of walls that cannot be drawn."""
    others = listed([each.name for each in walls[1:]])
    does = "does" if len(walls) == FEWEST else "do"
    beside = html.Span(f" {gone}" if gone else "", className="muted")
    return [f"How {does} {others} compare with ", html.B(walls[0].name), "?", beside]


def line_words(walls: Sequence[WallColumn]) -> str:
    """What the drawings have in common, and what the dashed line is."""
    fixed = fixed_side(walls)
    scale = "All drawn to one scale, horizontal cut, one line of studs."
    first = walls[0].name
    if fixed == "inside":
        return f"{scale} Inside faces in one line, as the rooms are fixed. Dashed: the outside face of {first}."
    return f"{scale} Outside faces in one line, as the outside is fixed. Dashed: where the room begins with {first}."


def fixed_side(walls: Sequence[WallColumn]) -> str:
    """The side whose faces the house fixes; the outside without a house."""
    house = getattr(walls[0].brief, "house", None)
    return house.fixed if house is not None else "outside"


def drawings(walls: Sequence[WallColumn]) -> list[str]:
    """The sections as SVG, one scale, the fixed faces in one line, marked where the first wall ends."""
    plain = Beside(span_mm=max(each.judged.thickness_mm for each in walls), faces=fixed_side(walls))
    marked = replace(plain, mark_mm=walls[0].judged.thickness_mm)
    # The first wall ends at its own face: a mark there would only run through its tags.
    return [
        section_svg(each.judged.wall, width_px=SHEET, prefix=f"beside{number}", beside=marked if number else plain)
        for number, each in enumerate(walls)
    ]


def name(wall: WallColumn, first: WallColumn, currency: str) -> list:
    """Which wall a drawing shows, and how it differs from the first in a sentence."""
    is_first = wall is first
    said = "the others are measured against it" if is_first else at_a_glance(wall, first, currency)
    return [
        html.B(wall.name),
        html.Span(f"{millimetres(wall.judged.thickness_mm)} mm", className="compare-size"),
        html.P(wall.row.get("in_short") or "", className="muted small"),
        html.P(said, className="muted" if is_first else ""),
    ]


def table(walls: Sequence[WallColumn], currency: str) -> html.Table:
    """Figures, judgements and contents, a column for each wall."""
    count = len(walls)
    head = html.Tr([html.Td(""), *(html.Th(each.name, scope="col") for each in walls)])
    house = for_the_house(walls, currency)
    return html.Table(
        [
            html.Thead(head),
            _group("The wall", "", count, [_figure_row(each) for each in per_m2(walls, currency)]),
            _group("The house", house_words(walls[0].brief), count, [_figure_row(each) for each in house]),
            _group("Judgements", "", count, [_contents_row(each, verdict=True) for each in judgement_rows(walls)]),
            _group(
                "Layers, outside first",
                "Bold and underlined: differs from the first. Pale: the same.",
                count,
                [_contents_row(each) for each in contents(walls)],
            ),
        ],
        className=f"compare of-{count}",
    )


def _group(title: str, beside: str, count: int, rows: list) -> html.Tbody:
    """Some lines under a heading of their own."""
    words = [title, html.Span(f" {beside}", className="muted small")] if beside else title
    heading = html.Tr(html.Th(words, colSpan=count + 1, scope="rowgroup"), className="group")
    return html.Tbody([heading, *rows])


def _figure_row(figure: Figure) -> html.Tr:
    cells = [
        html.Td(
            [html.Span(value, className="value"), html.Span(_spoken(less), className=_kind(less))],
        )
        for value, less in zip(figure.values, figure.differences, strict=True)
    ]
    heading = html.Th([figure.name, html.Span(f" {figure.unit}", className="muted")], scope="row")
    return html.Tr([heading, *cells], className="figures-of")


def _spoken(less: str) -> str:
    return less or "\u00a0"


def _kind(less: str) -> str:
    return "less muted" if less in ("same", "–", "") else "less"


def _contents_row(row: ComparedContents, verdict: bool = False) -> html.Tr:
    heading = html.Th(row.name, scope="row")
    return html.Tr([heading, *(_cell(each, verdict) for each in row.cells)], className="contents-of")


def _cell(cell: Cell, verdict: bool) -> html.Td:
    words: Any = html.U(html.B(cell.words)) if cell.state == "differs" else cell.words
    said = [html.Span(f" {cell.said}", className="said")] if cell.said else []
    beside = html.Div(cell.beside, className="beside") if cell.beside else None
    return html.Td([words, *said, beside], className=f"{cell.state}{' verdict' if verdict else ''}")
