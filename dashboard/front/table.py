"""The front as a table: columns, rows and a CSV that no spreadsheet runs as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from optimiser.search.numeric_front import misses
from optimiser.wall.scores import WHOLE_LIFE

from ..rows.choose import known_figures
from ..words import symbol

Row = Mapping[str, Any]
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def columns(
    currency: str,
    with_floor: bool,
    ranked: bool = False,
    with_hold: bool = False,
    proven: bool = False,
    missed: bool = False,
    asked: Sequence[str] = (),
) -> list[dict]:
    """Column definitions of the grid: the unit once in the heading, figures to the right.

    ranked: with the place of each wall under the weights; with_hold: with its share of scenarios on the front;
    proven: with U by conduction; missed: with room for the word where it misses the target; asked: figures besides the
    usual ones that have a column.
    """
    money = symbol(currency).strip()
    by_conduction = "U by conduction (ISO 10211), solved wall by wall"
    definitions = [
        {"field": "id", "headerName": "wall", "width": 62},
        *([_rank()] if ranked else []),
        _number("thickness_mm", "mm", ",.1~f", 54, "thickness"),
        _number("u_value", "U W/m²K", ".4f", 62, "U by the combined method (ISO 6946)"),
        *([_exact(by_conduction, missed)] if proven else []),
        _number("cost_per_m2", f"{money}/m²", ",.1f", 58, "cost"),
        _number("carbon_kgco2e_m2", "kgCO₂e/m²", ",.1f", 78, "carbon of the modules that the brief counts"),
    ]
    definitions += [each for each in (_weight(), _whole_life()) if each["field"] in asked]
    if with_floor:
        definitions.append(_number("floor_area_lost_m2", "floor lost m²", ",.2f", 62, "floor area that the wall takes"))
    if with_hold:
        definitions.append(_stays())
    return [*definitions, _in_short()]


def front_columns(rows: Sequence[Row], currency: str, ranked: bool, asked: Sequence[str] = ()) -> list[dict]:
    """The columns for the figures that a front has. asked: what its brief minimises or limits."""
    known = known_figures(rows, ("floor_area_lost_m2", "stability", "u_numeric"))
    asked = known_figures(rows, asked)
    with_floor, with_hold, proven = (key in known for key in ("floor_area_lost_m2", "stability", "u_numeric"))
    return columns(currency, with_floor, ranked, with_hold, proven, any(map(misses, rows)), asked)


def _in_short() -> dict:
    """What the wall is: all the room that the figures leave, and the whole of it under the pointer."""
    return {
        "field": "in_short",
        "headerName": "in short",
        "flex": 1,
        "minWidth": 170,
        "sortable": False,
        "tooltipField": "in_short",
    }


def _weight() -> dict:
    return _number("weight_kg_m2", "kg/m²", ",.1f", 58, "weight")


def _whole_life() -> dict:
    tip = "carbon built in, and that of the heat which the wall loses over the study period"
    return _number(WHOLE_LIFE, "whole life kgCO₂e/m²", ",.1f", 82, tip)


def _rank() -> dict:
    """The place of each wall; the table goes by it as long as it is there, and then as it did before."""
    by_rank = {"sort": "asc", "sortIndex": -1, "comparator": {"function": "rankOrder"}}
    return _number("rank", "rank", ",d", 66, "place under these weights") | by_rank


def _stays() -> dict:
    """The share of scenarios in which a wall stays on the front, in percent."""
    tip = "share of the scenarios of prices and carbon in which the wall stays on the front"
    shown = _number("stability", "stays on front, %", ".0f", 68, tip)
    return shown | {"valueFormatter": {"function": _spelt("100 * params.value", ".0f")}}


def _exact(tip: str, missed: bool) -> dict:
    """U by conduction; a wall that misses its target says so."""
    shown = _number("u_numeric", "U conducted W/m²K", ".4f", 106 if missed else 80, tip)
    words = shown["valueFormatter"]["function"]
    shown["valueFormatter"] = {"function": f"({words}) + (params.data.misses ? ' misses' : '')"}
    return shown


def _number(field: str, name: str, shown: str, width: int, tip: str) -> dict:
    """A column of figures, to the right; its heading takes the lines it needs, and says more under the pointer."""
    return {
        "field": field,
        "headerName": name,
        "headerTooltip": tip,
        "width": width,
        "type": "rightAligned",
        "wrapHeaderText": True,
        "autoHeaderHeight": True,
        "valueFormatter": {"function": _spelt("params.value", shown)},
    }


def _spelt(value: str, shown: str) -> str:
    return f"params.value == null ? '–' : spelt(d3.format('{shown}')({value}))"


def grid_rows(rows: Sequence[Row], ranks: Mapping[str, int] | None = None) -> list[dict]:
    """What the grid needs of each row, with its rank where walls are ranked."""
    keys = (
        "id",
        "thickness_mm",
        "u_value",
        "cost_per_m2",
        "carbon_kgco2e_m2",
        "weight_kg_m2",
        WHOLE_LIFE,
        "floor_area_lost_m2",
        "stability",
        "u_numeric",
        "in_short",
    )
    ranked = ranks or {}
    return [
        {key: row.get(key) for key in keys} | {"rank": ranked.get(row["id"]), "misses": misses(row)} for row in rows
    ]


def front_csv(rows: Sequence[Row]) -> str:
    """All columns of the rows as CSV, unrounded; a cell that a spreadsheet would run is made text."""
    if not rows:
        return ""
    names = list(dict.fromkeys(key for row in rows for key in row))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([harmless(name) for name in names])
    for row in rows:
        writer.writerow([harmless(row.get(name)) for name in names])
    return out.getvalue()


def harmless(value: object) -> object:
    """A text that starts like a formula gets an apostrophe in front; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, str) and value.lstrip(" \u00a0").startswith(FORMULA_STARTS):
        return f"'{value}"
    return value


def selected_id(selected: Any) -> str | None:
    """The wall that the grid reports as selected."""
    if isinstance(selected, dict):
        selected = selected.get("ids") or []
    if not selected:
        return None
    first = selected[0]
    return first.get("id") if isinstance(first, dict) else first
