"""Monthly climate from an hourly weather file in the open EPW format: 8 header lines, then 35 columns hour by hour."""

from __future__ import annotations

import calendar
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from materials.errors import InputError
from materials.untrusted import read_within

from ..moisture import humid_air

LARGEST_FILE = 8_000_000  # bytes; a year by the hour has some 1.6 million
HEADER_LINES, COLUMNS = 8, 35
FIRST_WORDS = {1: "LOCATION", HEADER_LINES: "DATA PERIODS"}
YEARS = (8760, 8784)
MONTH, DRY_BULB, HUMIDITY = 1, 6, 8  # columns, counted from 0
LEAST_SHARE = 0.9  # of a month's hours that must carry a value
# What a column holds: its name, its unit, the least and largest value, and the marker of a missing one.
HOLDS = {
    DRY_BULB: ("dry-bulb temperature", "degrees C", -70.0, 70.0, 99.9),
    HUMIDITY: ("relative humidity", "%", 0.0, 110.0, 999.0),
}
FILLED = ("outdoor_temperature_c", "outdoor_rh_percent")


def with_weather(conditions: Any, folder: Path | None, place: str) -> Any:
    """The conditions of a file with `epw` read and replaced by the twelve values it stands for; others untouched.

    folder: that the weather file stands beside; None where a text has none. place: for messages. InputError.
    """
    if not isinstance(conditions, Mapping) or "epw" not in conditions:
        return conditions
    rest = {key: value for key, value in conditions.items() if key != "epw"}
    name = conditions["epw"]
    if not isinstance(name, str) or not name:
        raise InputError(f'{place}, epw = {name!r}: expected the name of a weather file, as "town.epw"')
    beside = [key for key in FILLED if key in rest]
    if beside:
        raise InputError(f"{place}, epw: gives the outdoor air by month; leave out {' and '.join(beside)}")
    if folder is None:
        raise InputError(f'{place}, epw = "{name}": a text by itself has no weather file beside it; give twelve values')
    return rest | dict(zip(FILLED, monthly_means(folder / name), strict=True))


def monthly_means(path: Path) -> tuple[list[float], list[float]]:
    """Twelve means of the dry-bulb temperature [degrees C] and the relative humidity [%] that goes with them.

    The humidity is that of the month's mean vapour pressure at its mean temperature, not the mean of the hourly
    humidities, and at most 100 %; fog above 100 % counts as 100 %. Hours without a value are left out. Source: ISO
    13788, climate of the location. InputError names file, line, value and what was expected.
    """
    hours: list[list[tuple[float, float]]] = [[] for _ in range(12)]
    counts = [0] * 12
    lines = _lines(path)
    for number, line in enumerate(lines[HEADER_LINES:], HEADER_LINES + 1):
        cells = line.split(",")
        if len(cells) != COLUMNS:
            raise InputError(f"{path}: line {number} has {len(cells)} columns; expected {COLUMNS}")
        month = _month(cells[MONTH], f"{path}: line {number}") - 1
        counts[month] += 1
        values = [_value(cells[column], column, f"{path}: line {number}") for column in HOLDS]
        if None not in values:
            hours[month].append(tuple(values))
    _check_months(path, counts, [len(each) for each in hours])
    temperatures, humidities = [], []
    for month in hours:
        temperature, humidity = np.array(month).T
        mean = float(temperature.mean())
        pressure = humid_air.pressure_at_humidity(temperature, np.minimum(humidity, 100.0) / 100).mean()
        temperatures.append(mean)
        humidities.append(min(100.0, float(100 * pressure / humid_air.saturation_pressure(mean))))
    return temperatures, humidities


def _lines(path: Path) -> list[str]:
    """The lines of the file, of which the first eight are headers; names of places may be in any encoding."""
    raw = read_within(path, LARGEST_FILE, "a weather file (EPW)")
    lines = raw.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").rstrip("\n").split("\n")
    lines[0] = lines[0].removeprefix("\xef\xbb\xbf")
    for number, words in FIRST_WORDS.items():
        header = lines[number - 1] if number <= len(lines) else ""
        if not header.upper().startswith(words):
            raise InputError(
                f"{path}: line {number} = {header[:40]!r}: expected {words}; a weather file (EPW) has "
                f"{HEADER_LINES} header lines, {FIRST_WORDS[1]} first and {FIRST_WORDS[HEADER_LINES]} last"
            )
    if len(lines) - HEADER_LINES not in YEARS:
        raise InputError(
            f"{path}: {len(lines) - HEADER_LINES} lines after the header; expected a whole year by the hour, "
            f"{' or '.join(map(str, YEARS))}"
        )
    return lines


def _month(cell: str, place: str) -> int:
    word = cell.strip()
    if not (word.isascii() and word.isdigit() and len(word) <= 2 and 1 <= int(word) <= 12):
        raise InputError(f"{place}, month = {cell[:40]!r}: expected 1 to 12 (column {MONTH + 1})")
    return int(word)


def _value(cell: str, column: int, place: str) -> float | None:
    """The number in a column of an hour; None where it is marked as missing."""
    name, unit, least, largest, missing = HOLDS[column]
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if value == missing:
        return None
    if not least <= value <= largest:
        raise InputError(
            f"{place}, {name} = {cell[:40]!r}: expected {least:g} to {largest:g} {unit}, or {missing:g} where it is "
            f"missing (column {column + 1})"
        )
    return value


def _check_months(path: Path, counts: list[int], known: list[int]) -> None:
    """Every month is whole, February with 28 or 29 days as the lines make up, and has a value for most hours."""
    leap = sum(counts) == max(YEARS)
    for month, (count, there) in enumerate(zip(counts, known, strict=True), 1):
        name = calendar.month_name[month]
        days = 29 if leap and month == 2 else calendar.monthrange(2001, month)[1]
        if count != 24 * days:
            raise InputError(f"{path}: {name} has {count} hours; expected {24 * days}")
        if there < LEAST_SHARE * count:
            raise InputError(
                f"{path}: {name} has temperature and humidity in {there} of {count} hours; expected at least "
                f"{LEAST_SHARE:.0%} of them"
            )
