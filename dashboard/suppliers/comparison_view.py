"""What the view of the suppliers shows at each moment, part by part: its state, its fronts, its break-even values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dash import html

from optimiser.market.suppliers_worker import Comparison
from optimiser.search.landmarks import USUAL

from ..front.plot_axes import Look, valued
from ..rows.choose import Row, known_figures, of_target, targets
from ..source import FrontSource
from ..words import QUANTITIES, u_goal
from . import comparison_words as words
from . import part
from .comparisons import Compared
from .figure import suppliers_figure

FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "whole_life_kgco2e_m2", "u_value")
AXES = (*FIGURES, "floor_area_lost_m2")


def status_view(source: FrontSource, state: Comparison, compared: Compared, left: float | None) -> dict[str, Any]:
    """What is seen before, while and after the suppliers are compared. left: s that the part under way takes."""
    fronts = compared.fronts is not None
    able = source.study is not None and bool(source.rows)
    whole = fronts and "price" in compared.prices
    head, progress = part.status_parts(state, fronts, source.alive, able, left)
    return {
        "opening_hidden": fronts or not able,
        "head": head,
        "progress": progress,
        "status_hidden": whole and not state.alive and not (state.status == "failed" and compared.lacks(state.parts)),
        "start_hidden": state.alive or not able or source.alive or whole,
        "start": "Work out the rest" if fronts else "Compare the suppliers",
        "stop_hidden": not state.alive,
        "fronts_hidden": not fronts,
        "prices_hidden": not compared.prices,
        "stamp": compared.stamp,
        "tick_disabled": whole and not state.alive,
    }


def overview(source: FrontSource, compared: Compared, target: float | None, case: str | None) -> dict[str, Any]:
    """The table of cases, and how sure a place on the front is. case: the one that is chosen now."""
    sentences = words.hold_words(source.brief, of_target(source.rows, target))
    hold = [html.H2("How sure a place on the front is"), *map(html.P, sentences)] if sentences else []
    if compared.fronts is None:
        return {"options": [], "case": None, "rows": [], "columns": [], "same_place": "", "hold": hold}
    names = [words.case_name(each) for each in compared.fronts.fronts]
    return {
        "options": [{"label": each, "value": each} for each in names],
        "case": case if case in names else words.first_case(compared.fronts),
        "rows": words.case_rows(compared.fronts),
        "columns": part.case_columns(compared.fronts, source.currency),
        "same_place": words.same_place_words(compared.fronts),
        "hold": hold,
    }


def axis_options(source: FrontSource, target: float | None) -> list[dict[str, str]]:
    """The figures that both fronts have."""
    objectives = source.brief.objectives.minimise if source.brief else ()
    common = [key for key in AXES if key in objectives or key not in ("whole_life_kgco2e_m2",)]
    known = known_figures(of_target(source.rows, target), common)
    return [{"label": QUANTITIES[key].noun, "value": key} for key in known]


def case_view(
    source: FrontSource, compared: Compared, target: float | None, look: Look, case: str, wall: str | None, picked: Any
) -> dict[str, Any] | None:
    """One case against today's front, drawn and in words; None where there is no such case.

    wall: the chosen wall of today's front; picked: the wall of the other front that was clicked, as the page keeps it.
    """
    front = words.case_of(compared.fronts, case)
    if front is None:
        return None
    rows = of_target(source.rows, target)
    other = words.other_rows(front, source.brief)
    at = picked["at"] if picked and picked["case"] == case and picked["at"] < len(other) else None
    sentences = [html.P(line) for line in words.case_words(front, compared.fronts, source.currency)]
    if len(targets(source.rows)) > 1:
        goal = f"For U at most {u_goal(compared.fronts.target)}, the target of the front."
        sentences.append(html.P(goal, className="muted"))
    said = picked_words(other[at], words.case_name(front), source.currency, source.asked) if at is not None else []
    return {
        "figure": suppliers_figure(rows, other, case, look, wall, at),
        "words": sentences,
        "picked": said,
        "picked_hidden": not said,
    }


def picked_words(row: Row, name: str, currency: str, asked: Sequence[str] = USUAL) -> list:
    """A wall of the other front in short words: it is not in the study, so no drawing goes with it."""
    figures = [valued(key, row.get(key), currency) for key in (*asked, "u_value")]
    figures[-1] = f"U {figures[-1]}"
    return [html.B(f"A wall {name}: "), row["in_short"], html.Span(f" · {' · '.join(figures)}", className="muted")]


def break_even_view(compared: Compared, lever: str, supplier: str | None, currency: str) -> dict[str, Any]:
    """The values of one lever at which products would enter the front. supplier: of whom; None and "" of all."""
    sellers = sorted({each["supplier"] for values in compared.prices.values() for each in values})
    options = [{"label": part.EVERY, "value": ""}, *({"label": each, "value": each} for each in sellers)]
    supplier = supplier if supplier in sellers else ""
    of = {"options": options, "supplier": supplier}
    values = compared.prices.get(lever)
    if values is None:
        said = f"The {words.LEVER_NOUNS[lever]} is not worked out yet. It takes a minute or two, and is kept."
        nothing = {"table_hidden": True, "rows": [], "columns": [], "others": []}
        return {"words": said, "start_hidden": not compared.prices, **nothing, **of}
    levers = {name: each for name, each in compared.prices.items() if name != lever}
    prices = words.prices_of(values, lever, supplier or None, currency, levers)
    return {
        "words": words.prices_words(prices, lever, currency),
        "start_hidden": True,
        "table_hidden": not prices.rows,
        "rows": prices.rows,
        "columns": part.price_columns(prices.rows, lever, currency),
        "others": part.other_parts(prices, lever),
        **of,
    }


def changed(new: list, now: Any) -> bool:
    """Whether what is read out differs from what stands on the page."""
    return [_text(each) for each in new] != [_text(each) for each in now or []]


def _text(node: Any) -> str:
    if isinstance(node, str):
        return node
    children = node.get("props", {}).get("children") if isinstance(node, dict) else getattr(node, "children", "")
    return " ".join(map(_text, children)) if isinstance(children, list) else str(children or "")
