"""Moisture inside the wall as tables: the coldest month layer by layer, and what condenses and dries by month."""

from __future__ import annotations

import numpy as np

from ...document import NONE, DocumentPart, DocumentTable, Text, number, percent
from ...moisture import humid_air, monthly
from ...wall.assemble import batch_of, last_vented, parts_of
from ...wall.buildup import BuildUp
from ...wall.climate import MONTHS, climate_of
from ...wall.places import places_of
from .verdict import WAYS, MoistureVerdict, Way

PLACES = 3  # places side by side in a table


def water_tables(wall: BuildUp, verdict: MoistureVerdict) -> list[DocumentPart]:
    """By path: temperatures and pressures in the coldest month, then the account of every place that gets wet."""
    names = _names(wall)
    month = int(np.argmin(climate_of(wall.conditions).outdoor_temperature))
    tables: list[DocumentPart] = []
    for way, account in verdict.accounts.items():
        tables.append(_coldest(wall, way, account, names, month))
        wet = [at for at in range(account.monthly.shape[1]) if np.any(account.monthly[0, at])]
        if not wet:
            tables.append(Text(f"Through {WAYS[way]}: nothing condenses in any month."))
        for first in range(0, len(wet), PLACES):
            tables.append(_account(way, account, names, wet[first : first + PLACES]))
    return tables


def _names(wall: BuildUp) -> list[str]:
    """The layers that take part, as people know them."""
    places = places_of(wall, last_vented(wall))
    return list(places.names[places.first :])


def _sd(wall: BuildUp, way: Way) -> list[float]:
    """Vapour resistance in dry air of each layer that takes part [m]."""
    batch = batch_of(wall, parts_of(wall))
    places = places_of(wall, last_vented(wall))
    values = batch.sd[0].copy()
    if way == "studs":
        for at in places.frames:
            member = batch.member_of(at)
            if member is not None and member.sd is not None:
                values[at] = member.sd[0]
    return [float(each) for each in values[places.first :]]


def _coldest(wall: BuildUp, way: Way, account: monthly.Monthly, names: list[str], month: int) -> DocumentTable:
    """Boundaries from outside to inside in one month."""
    sd = _sd(wall, way)
    rows = []
    for at in range(len(names) + 1):
        temperature, pressure = float(account.temperature[0, at, month]), float(account.pressure[0, at, month])
        saturated = float(humid_air.saturation_pressure(temperature))
        where = _boundary(names, at)
        below = number(sd[at], 3) if at < len(sd) else NONE
        figures = (number(temperature, 1), number(saturated, 0), number(pressure, 0), percent(pressure / saturated, 0))
        rows.append((where, below, *figures))
    heads = (
        "place, from outside to inside",
        "sd of the layer inside it, m",
        "temperature, °C",
        "saturation, Pa",
        "vapour, Pa",
        "humidity",
    )
    caption = f"{MONTHS[month]}, the coldest month, through {WAYS[way]}"
    return DocumentTable(caption, heads, tuple(rows), widths=(3, 1.5, 1, 1, 1, 1))


def _boundary(names: list[str], at: int) -> str:
    if at == 0:
        return f"outside face of {names[0]}"
    if at == len(names):
        return f"inside face of {names[-1]}"
    return f"between {names[at - 1]} and {names[at]}"


def _account(way: Way, account: monthly.Monthly, names: list[str], wet: list[int]) -> DocumentTable:
    """Twelve months of some places: condensed (drying negative) and held at the month's end, g/m2."""
    sides = monthly.places(len(names))
    heads = ["month"]
    for at in wet:
        one, two = sides[at]
        place = f"within {names[one]}" if one == two else f"between {names[one]} and {names[two]}"
        heads += [f"{place}: in the month", "at its end"]
    rows = []
    for month, name in enumerate(MONTHS):
        row = [name]
        for at in wet:
            row += [number(float(values[0, at, month]), 1) for values in (account.monthly, account.accumulated)]
        rows.append(tuple(row))
    left = ["left after the year"]
    for at in wet:
        left += ["", number(float(account.left[0, at]), 1)]
    begins = MONTHS[int(account.start[0])]
    caption = f"Condensation and drying through {WAYS[way]}, g/m²; the account begins with {begins}"
    return DocumentTable(caption, tuple(heads), (*rows, tuple(left)), totals=1)
