"""The right side of the screen: one wall as Dash components, made from its facts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from dash import html

from materials.models import Product
from optimiser.checks.judge import Judged
from optimiser.search.landmarks import USUAL, standing_out
from optimiser.wall.pricing import Pricing

from ..numbers import spelt
from ..rows.choose import by_id
from ..words import listed, with_unit
from . import carbon_part, cost_part
from .facts import FactRow, FactTable, LayerBar, bars, key_figures, layer_lines, layer_words
from .steps import StepLine

ROOM_FOR_WORDS = 0.075  # share of a bar from which a number fits into it


def title(words: str, in_short: str | None) -> list:
    """The head of the panel: which wall, and what it is made of in a line."""
    return [html.Span(words), *([html.Span(in_short, className="in-short")] if in_short else [])]


def best_so_far(rows: Sequence[Mapping[str, Any]], currency: str, asked: Sequence[str] = USUAL) -> list:
    """While a search runs: the walls that stand out up to now."""
    parts = []
    for wall, names in standing_out(rows, asked).items():
        row = by_id(rows, wall)
        figures = ", ".join(with_unit(key, row.get(key), currency) for key in asked)
        parts += [
            html.Dt(f"{listed(names)} so far".capitalize()),
            html.Dd([figures, html.Br(), row.get("in_short") or ""]),
        ]
    return [html.Dl(parts, className="so-far")] if parts else []


def figures(judged: Judged, floor_lost: float | None, currency: str, asked: Sequence[str] = USUAL) -> list:
    """The key figures."""
    return [
        html.Div([html.Span(value, className="value"), html.Span(label, className="label")], className="figure")
        for value, label in key_figures(judged, floor_lost, currency, asked)
    ]


def layers(
    judged: Judged, currency: str, offered: Mapping[str, Product] | None = None, today: date | None = None
) -> html.Table:
    """The layer list, outside first; every row lights its layer. offered: the products on the lists by key."""
    said = {each.number: layer_words(judged, each, currency) for each in judged.layers}
    head = html.Thead(
        html.Tr(
            [
                html.Td(""),  # over the numbers, which head nothing
                *(html.Th(words, scope="col") for words in ("layer", "product", "supplier")),
                html.Th("mm", className="right", scope="col"),
            ]
        )
    )
    rows = [
        html.Tr(
            [
                html.Td(each.number, className="muted"),
                html.Td(each.role),
                html.Td(
                    [each.what, *([html.Span(each.mark, className="mark")] if each.mark else [])],
                    title=each.hint or None,
                ),
                html.Td(each.supplier, className="muted"),
                html.Td(each.shown_mm, className="right"),
            ],
            **{"data-layer": str(each.number), "data-words": said[each.number]},
        )
        for each in layer_lines(judged, offered, today)
    ]
    return html.Table([head, html.Tbody(rows)], className="layers")


def table(facts: FactTable, name: str = "") -> html.Table:
    """A table with its numbers set right, and its sum and what stands apart below a line."""
    heads = [html.Th(word, className=facts.kind_of(at), scope="col") for at, word in enumerate(facts.heads)]
    return html.Table(
        [html.Thead(html.Tr(heads)), html.Tbody([_line(facts, row) for row in facts.rows])],
        className=f"part-table {name}".strip(),
    )


def _line(facts: FactTable, row: FactRow) -> html.Tr:
    cells = [html.Td(cell, className=facts.kind_of(at)) for at, cell in enumerate(row.cells)]
    lights = {"data-layer": str(row.layer)} if row.layer is not None else {}
    return html.Tr(cells, className=row.kind or None, title=row.hint or None, **lights)


def carbon(judged: Judged, brief: Any, pricing: Pricing | None) -> list:
    """Carbon by module, what is stored and how it ends, the heat lost, and what each value rests on."""
    life = carbon_part.life_words(judged, brief)
    return [
        table(carbon_part.module_table(judged), "modules"),
        html.P(carbon_part.score_words(judged), className="muted small"),
        *(html.P(words) for words in carbon_part.stored_lines(judged)),
        *([html.P(life)] if life else []),
        html.H3("What each value rests on, kgCO₂e per kg"),
        table(carbon_part.basis_table(judged, pricing), "basis"),
        html.P(carbon_part.basis_words(judged, pricing), className="muted small"),
    ]


def cost(judged: Judged, currency: str) -> list:
    """Cost by layer and part, by supplier, and the hours by operation."""
    lines = [cost_part.supplier_words(judged, currency), cost_part.hours_words(judged)]
    return [table(cost_part.cost_table(judged, currency), "parts"), *(html.P(each) for each in lines if each)]


def folded(head: str, body: str, whole: str, title: str) -> html.Details:
    """A part that opens: its name, its sum in a line, and what is under it."""
    summary = html.Summary([html.B(title), " ", html.Span(id=head, className="muted")])
    return html.Details([summary, html.Div(id=body)], id=whole, className="part", hidden=True)


def by_layer(judged: Judged, currency: str) -> list:
    """Thickness, cost and carbon by layer as bars in the order of the wall."""
    caption = "Point at a layer, in the drawing, the list or a bar, for its share."
    return [
        *(_bar(each) for each in bars(judged, currency)),
        html.P(caption, id="lit-words", className="muted lit-words", **{"data-idle": caption}),
    ]


def _bar(bar: LayerBar) -> html.Div:
    segments = [
        html.Div(
            each.words if each.share >= ROOM_FOR_WORDS else "",
            className=f"segment t-{each.look}",
            style={"flexGrow": f"{each.share:.6f}"},
            **{"data-layer": str(each.layer)},
        )
        for each in bar.segments
    ]
    note = html.Span(bar.unknown, className="muted unknown") if bar.unknown else None
    return html.Div(
        [
            html.Span(bar.name, className="bar-name"),
            html.Div(segments, className="bar"),
            html.Span([bar.total, note], className="bar-total"),
        ],
        className="bar-row",
    )


def steps(lines: Sequence[StepLine]) -> list:
    """What a step along the front costs: a line for each, which leads to the wall at its end."""
    return [
        html.Button(
            [
                html.Span(each.gain, className="gain"),
                html.Span(each.price, className="price"),
                html.Span(each.changes, className="changes"),
            ],
            id={"type": "step", "wall": each.to, "line": number},
            className="step",
            title=f"Go to wall {each.to}: {each.whole}",
        )
        for number, each in enumerate(lines)
    ]


def equal_walls(lines: Sequence[str], most: int = 40) -> list:
    """In which slots each wall of equal figures differs from the one shown."""
    left = (
        [html.Li(f"and {spelt(len(lines) - most, ',')} more, in equals.csv of the study")] if len(lines) > most else []
    )
    return [
        html.P("Each differs in this from the wall above:"),
        html.Ul([*map(html.Li, lines[:most]), *left]),
    ]
