"""A weather file in pieces, for the tests of its reader: whole days of one temperature and humidity a month."""

from __future__ import annotations

import calendar
from collections.abc import Callable
from pathlib import Path

HEADER = [
    "LOCATION,Nowhere,-,-,invented,000000,50.0,5.0,1.0,10.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,invented",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
]
TEMPERATURES = [-6.0, -3.0, 1.0, 6.5, 11.0, 15.0, 18.0, 17.5, 12.0, 8.0, 3.0, -2.0]
HUMIDITIES = [85.0, 84.0, 80.0, 74.0, 70.0, 69.0, 72.0, 75.0, 79.0, 83.0, 88.0, 90.0]


def row(month: int, day: int, hour: int, temperature: float | str, humidity: float | str) -> str:
    cells = ["2001", str(month), str(day), str(hour), "60", "?9", str(temperature), "0.0", str(humidity), "101325"]
    return ",".join(cells + ["0"] * (35 - len(cells)))


def steady(month: int, day: int, hour: int) -> tuple[float, float]:
    """The same temperature and humidity in all hours of a month."""
    return TEMPERATURES[month - 1], HUMIDITIES[month - 1]


def weather_lines(hourly: Callable[[int, int, int], tuple] = steady, leap: bool = False) -> list[str]:
    year = 2004 if leap else 2001
    return HEADER + [
        row(month, day, hour, *hourly(month, day, hour))
        for month in range(1, 13)
        for day in range(1, calendar.monthrange(year, month)[1] + 1)
        for hour in range(1, 25)
    ]


def weather_file(folder: Path, lines: list[str], name: str = "town.epw") -> Path:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="latin-1")
    return path
