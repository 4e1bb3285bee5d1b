"""Other products in each place of the chosen wall, and what each would change, in the wall panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dash import html

from optimiser.brief.brief import Brief
from optimiser.locales import many
from optimiser.market.swaps import NO_METHOD, Swap
from optimiser.search.landmarks import asked_of, missing
from optimiser.wall.scores import WHOLE_LIFE

from ..numbers import spelt
from ..words import listed, step_size, symbol, with_unit
from .comparison_words import plain_name, rule_words

FIGURES = ("thickness_mm", "u_value", "cost_per_m2", "carbon_kgco2e_m2")
DIGITS = {"thickness_mm": 1, "u_value": 4, "cost_per_m2": 2, "carbon_kgco2e_m2": 2, "weight_kg_m2": 2, WHOLE_LIFE: 2}
BESIDES = {"weight_kg_m2": "kg/m²", WHOLE_LIFE: "whole life"}  # heads of what a brief asks for besides
FIRST = 4  # others in a place shown before the rest is folded
TITLE = "Other products in each place"
FILLS = "fill"
WIDTHS = (50, 62, 62, 62)  # px of the columns of FIGURES; the products have the rest
WIDTH_BESIDES = 62


@dataclass(frozen=True)
class SwapLine:
    """One other product: its name, what it changes (by figure, "" where unknown), whether the wall still passes."""

    rival: str
    beside: str  # who sells it
    cells: tuple[str, ...]
    verdict: str
    passes: bool
    wall: str | None  # the wall of the front that it makes
    whole: str = ""  # a rule that is broken, in full


@dataclass(frozen=True)
class PlaceSwaps:
    """The other products in the places of one."""

    place: str
    product: str
    lines: tuple[SwapLine, ...]

    @property
    def passing(self) -> int:
        return sum(each.passes for each in self.lines)


def swap_groups(every: Sequence[Swap], row: Mapping[str, Any], brief: Brief | None, currency: str) -> list[PlaceSwaps]:
    """Swaps as groups in the order of the wall; within a group those that pass first, the same kind before others.

    row: figures of the wall as it is.
    """
    groups: dict[tuple, list[Swap]] = {}
    for each in every:
        groups.setdefault((each.places, each.product), []).append(each)
    return [
        PlaceSwaps(
            place_words(places),
            ", ".join(part for part in (plain_name(swaps[0].name), swaps[0].supplier) if part),
            tuple(_line(each, row, brief, currency) for each in swaps),
        )
        for (places, _), swaps in groups.items()
    ]


def place_words(places: Sequence[str]) -> str:
    """Where a product stands: 'sheathing', 'outer and inner fill'."""
    fills = [each.removesuffix(f" {FILLS}") for each in places if each.endswith(f" {FILLS}")]
    if len(fills) == len(places) and len(fills) > 1:
        return f"{listed(fills)} {FILLS}"
    return listed(list(places))


def _line(swap: Swap, row: Mapping[str, Any], brief: Brief | None, currency: str) -> SwapLine:
    cells = tuple(cell(key, swap.change.get(key)) for key in (*FIGURES, *besides(asked_of(brief))))
    if swap.rival_name == "left out":
        rival, beside = "left out", ""
    elif swap.same_kind:
        rival, beside = f"the same by {swap.rival_supplier}", ""
    else:
        rival, beside = plain_name(swap.rival_name), swap.rival_supplier
    said = verdict_words(swap, row, brief, currency)
    return SwapLine(rival, beside, cells, said, swap.passes, swap.wall, swap.reason or "")


def besides(asked: Sequence[str]) -> list[str]:
    """The figures that have a column besides the usual ones."""
    return [key for key in BESIDES if key in asked]


def cell(key: str, value: float | None) -> str:
    """A change with its sign, to the digits that mean something; '0' for none, '' where it is unknown."""
    if missing(value):
        return ""
    digits = DIGITS[key]
    if not round(value, digits):
        return "0"
    text = spelt(abs(value), f",.{digits}f")
    if key == "thickness_mm" and text[-1] == "0":
        text = text[:-2]
    return f"{'−' if value < 0 else '+'}{text}"


def verdict_words(swap: Swap, row: Mapping[str, Any], brief: Brief | None, currency: str) -> str:
    """Whether the wall still passes: 'passes', 'misses the target by 0.002', 'cannot be built: ...'."""
    if swap.reason is not None:
        return f"cannot be built: {rule_words(swap.reason)}"
    if not swap.fails:
        return "passes"
    judged = [each for each in swap.fails if each not in ("target", NO_METHOD) and not each.startswith("max_")]
    said = [words for each in swap.fails if (words := _missed(each, swap, row, brief, currency))]
    said += [f"fails {listed(judged)}"] if judged else []
    return ", ".join(said)


def _missed(name: str, swap: Swap, row: Mapping[str, Any], brief: Brief | None, currency: str) -> str:
    if name == NO_METHOD:
        return "its layers differ too much for the combined method of ISO 6946"
    if name == "target":
        over = row["u_value"] + swap.change["u_value"] - row["target"]
        digits = 3 if over >= 0.0005 else 5
        return f"misses the target by {spelt(over, f'.{digits}f')}"
    key = name.removeprefix("max_")
    limit = brief.limits.upper().get(key) if brief and name.startswith("max_") else None
    if limit is None:
        return ""
    value = row.get(key)
    over = None if missing(value) or key not in swap.change else value + swap.change[key] - limit
    beyond = f" by {step_size(key, over, currency)}" if over is not None else ""
    return f"over the limit of {with_unit(key, limit, currency, 0)}{beyond}"


# -- components ----------------------------------------------------------------------------------------------------


def swaps_fold() -> html.Details:
    """Where the swaps stand in the panel; they are worked out when it is first opened."""
    summary = html.Summary(
        [html.B(TITLE), " ", html.Span(id="swaps-words", className="muted")], id="swaps-head", n_clicks=0
    )
    return html.Details([summary, html.Div(id="swaps")], id="swaps-part", className="part", hidden=True)


def swap_parts(groups: Sequence[PlaceSwaps], currency: str, asked: Sequence[str] = ()) -> list:
    """The groups as tables. asked: the figures that count."""
    more = besides(asked)
    if not groups:
        return [html.P("The brief offers nothing else for any place of this wall.", className="muted")]
    parts = [
        html.P(
            "What another product in the same place adds to the wall, all else as it is. Those that pass come first, "
            "the same material and size before others.",
            className="muted small",
        )
    ]
    for number, each in enumerate(groups):
        first, rest = split(each)
        name = [html.B(each.place), " ", each.product]
        parts.append(_table(_heads(name, currency, more), _rows(first, number), more))
        if rest:
            unseen = html.Span(f"{each.place}, the others", className="unseen")
            table = _table(_heads(unseen, currency, more, "unseen"), _rows(rest, number, len(first)), more)
            parts.append(html.Details([html.Summary(rest_words(rest)), table], className="swaps-rest"))
    return parts


def _table(heads: html.Tr, rows: Sequence[html.Tr], more: Sequence[str]) -> html.Table:
    """One place. All tables have columns of the same widths, so that figures stand under each other."""
    widths = (*WIDTHS, *(WIDTH_BESIDES for _ in more))
    columns = [html.Col(), *(html.Col(style={"width": f"{each}px"}) for each in widths)]
    return html.Table([html.Colgroup(columns), html.Thead(heads), html.Tbody(rows)], className="swaps-table")


def _heads(name: Any, currency: str, more: Sequence[str], kind: str = "") -> html.Tr:
    """The place and what stands in it now, over the products, and the units over the figures."""
    units = ("mm", "U", f"{symbol(currency).strip()}/m²", "kgCO₂e", *(BESIDES[key] for key in more))
    shown = [html.Th(html.Span(each, className=kind), className="right", scope="col") for each in units]
    return html.Tr([html.Th(name, scope="col"), *shown], className=f"{kind}-heads" if kind else "")


def split(group: PlaceSwaps) -> tuple[list[SwapLine], list[SwapLine]]:
    """The lines shown at once and those that are folded: what passes first, and no fold for a single line."""
    passing = [each for each in group.lines if each.passes]
    first = list(passing[:FIRST]) or list(group.lines[:1])
    rest = [each for each in group.lines if each not in first]
    return (first + rest, []) if len(rest) == 1 else (first, rest)


def rest_words(rest: Sequence[SwapLine]) -> str:
    """What is folded away: 'and 8 more that pass, 3 that do not'."""
    passing = sum(each.passes for each in rest)
    failing = len(rest) - passing
    if not passing:
        return f"and {many(failing, 'other')} that {'does' if failing == 1 else 'do'} not pass"
    words = f"and {spelt(passing, ',')} more that {'passes' if passing == 1 else 'pass'}"
    return words + (f", {spelt(failing, ',')} that {'does' if failing == 1 else 'do'} not" if failing else "")


def _rows(lines: Sequence[SwapLine], group: int, start: int = 0) -> list:
    return [_row(each, f"swap-{group}-{start + number}") for number, each in enumerate(lines)]


def _row(line: SwapLine, key: str) -> html.Tr:
    beside = " · ".join(part for part in (line.beside, line.verdict) if part)
    under: list = [html.Span(beside, className="muted" if line.passes else "")]
    if line.wall:
        go = html.Button(
            line.wall,
            id={"type": "step", "wall": line.wall, "line": key},
            className="quiet",
            title=f"Go to {line.wall}",
        )
        under += [html.Span(": it is wall ", className="muted"), go]
    name = html.Th([line.rival, html.Div(under, className="small")], scope="row", title=line.whole)
    cells = [html.Td(each, className="right" + (" muted" if each == "0" else "")) for each in line.cells]
    return html.Tr([name, *cells], className="" if line.passes else "failing")
