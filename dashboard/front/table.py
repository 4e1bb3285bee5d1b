"""The front as a table: columns, rows and a CSV that no spreadsheet runs as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from optimiser.search.numeric_front import misses

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
) -> list[dict]:
    """Column definitions of the grid: the unit once in the heading, figures to the right.

    ranked: with the place of each wall under the weights; with_hold: with its share of scenarios on the front;
    proven: with U by conduction; missed: with room for the word where it misses the target.
    """
    money = symbol(currency).strip()
    found = [
        {"field": "id", "headerName": "wall", "width": 84},
        *([_number("rank", "rank", ",d", 64)] if ranked else []),
        _number("thickness_mm", "mm", ",.1~f", 70),
        _number("u_value", "U W/m²K", ".4f", 92),
        *([_exact(missed)] if proven else []),
        _number("cost_per_m2", f"{money}/m²", ",.1f", 76),
        _number("carbon_kgco2e_m2", "kgCO₂e/m²", ",.1f", 104),
    ]
    if with_floor:
        found.append(_number("floor_area_lost_m2", "floor lost m²", ",.2f", 108))
    if with_hold:
        found.append(_number("stability", "hold of 1", ".2f", 86))
    found.append(
        {
            "field": "in_short",
            "headerName": "in short",
            "flex": 1,
            "minWidth": 290,
            "sortable": False,
            "tooltipField": "in_short",
        }
    )
    return found


def _exact(missed: bool) -> dict:
    """U by conduction; a wall that misses its target says so."""
    shown = _number("u_numeric", "exact U", ".4f", 118 if missed else 78)
    words = shown["valueFormatter"]["function"]
    shown["valueFormatter"] = {"function": f"({words}) + (params.data.misses ? ' misses' : '')"}
    return shown


def _number(field: str, name: str, shown: str, width: int) -> dict:
    return {
        "field": field,
        "headerName": name,
        "width": width,
        "type": "rightAligned",
        "valueFormatter": {"function": f"params.value == null ? '–' : spelt(d3.format('{shown}')(params.value))"},
    }


def grid_rows(rows: Sequence[Row], ranks: Mapping[str, int] | None = None) -> list[dict]:
    """What the grid needs of each row, with its rank where walls are ranked."""
    keys = (
        "id",
        "thickness_mm",
        "u_value",
        "cost_per_m2",
        "carbon_kgco2e_m2",
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
