"""Validation cases 1, 2 and 4 of ISO 10211 (annex A; the published figures are from memory).

`pytest -s tests/published/test_iso_10211.py` prints every figure beside its tolerance.
"""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.conduction.blocks import solve, solve_on
from optimiser.conduction.grid import Air, Block, Domain, Face, laid
from optimiser.conduction.results import Solution

MM = 0.001
TABLE = """
9.7 13.4 14.7 15.1
5.3 8.6 10.3 10.8
3.2 5.6 7.0 7.5
2.0 3.6 4.7 5.0
1.3 2.3 3.0 3.2
.7 1.4 1.8 1.9
.3 .6 .8 .9
"""  # case 1: degrees C at unit spacing, from the top; memory


def temperature_at(found: Solution, *position: float) -> float:
    """Temperature [degrees C] at the grid corner nearest to a position [m]."""
    nearest = (np.abs(line - at).argmin() for line, at in zip(found.grid.lines, position, strict=True))
    return float(found.temperature[tuple(nearest)])


def told(case: str, what: str, found: float, expected: float, tolerance: float, unit: str) -> None:
    """Print a figure and hold it to its tolerance."""
    off = found - expected
    print(f"\n{case}: {what:<28} {found:9.4f} {unit}, published {expected:g}, off {off:+.4f} of {tolerance:g}", end="")
    assert abs(off) <= tolerance


def column() -> Domain:
    """Case 1: half of a square column, 4 x 8 units: top 20, left and bottom 0 degrees, right adiabatic."""
    return Domain(
        size=(8.0, 4.0),
        boxes=(Block("column", (0.0, 0.0), (8.0, 4.0), 1.0),),
        airs=(Air(0.0, 0.0), Air(20.0, 0.0)),
        faces=(Face(0, 0, 1), Face(0, 1, 0), Face(1, 0, 0)),
    )


def series(x: float, y: float) -> float:
    """The Fourier series of case 1 (exact); x from the left, y from the top."""
    odd = np.arange(1, 400, 2)
    wave, depth = odd * np.pi / 8, 8.0 - y
    fall = np.exp(-wave * y) * (1 - np.exp(-2 * wave * depth)) / (1 - np.exp(-16 * wave))  # sinh(w depth) / sinh(8 w)
    return float((80 / (odd * np.pi) * fall * np.sin(wave * x)).sum())


def test_case_1():
    found = solve_on(laid(column(), (np.linspace(0, 8, 129), np.linspace(0, 4, 65))))
    expected = [[float(each) for each in row.split()] for row in TABLE.split("\n") if row]
    off, exact = [], []
    for y, row in enumerate(expected, 1):
        for x, value in enumerate(row, 1):
            temperature = temperature_at(found, y, x)
            off.append(abs(temperature - value))
            exact.append(abs(temperature - series(x, y)))
            assert round(series(x, y), 1) == pytest.approx(value, abs=1e-9)
    assert len(off) == 28
    print(
        f"\ncase 1: 28 temperatures, farthest off {max(off):.3f} K of 0.1 (from the series {max(exact):.4f} K)", end=""
    )
    assert max(off) <= 0.1
    assert max(exact) <= 0.005


def roof() -> Domain:
    """Case 2: sheet metal, a web and a flange of aluminium, wood, concrete, insulation; y from the inside."""

    def block(name: str, x: tuple, y: tuple, conductivity: float) -> Block:
        return Block(name, (y[0] * MM, x[0] * MM), (y[1] * MM, x[1] * MM), conductivity)

    return Domain(
        size=(47.5 * MM, 500 * MM),
        boxes=(
            block("insulation", (0, 500), (0, 47.5), 0.029),
            block("sheet", (0, 500), (0, 1.5), 230),
            block("web", (0, 1.5), (1.5, 36.5), 230),
            block("flange", (0, 15), (35, 36.5), 230),
            block("wood", (0, 15), (36.5, 41.5), 0.12),
            block("concrete", (0, 500), (41.5, 47.5), 1.15),
        ),
        airs=(Air(0.0, 0.06), Air(20.0, 0.11)),
        faces=(Face(0, 0, 1), Face(0, 1, 0)),
    )


def test_case_2():
    found = solve(roof())
    points = {
        "A": (0, 47.5, 7.1),
        "B": (500, 47.5, 0.8),
        "C": (0, 41.5, 7.9),
        "D": (15, 41.5, 6.3),
        "E": (500, 41.5, 0.8),
        "F": (0, 36.5, 16.4),
        "G": (15, 36.5, 16.3),
        "H": (0, 0, 16.8),
        "I": (500, 0, 18.3),
    }
    for name, (x, y, expected) in points.items():
        told("case 2", f"temperature at {name}", temperature_at(found, y * MM, x * MM), expected, 0.1, "C")
    told("case 2", "heat flow", found.flow, 9.5, 0.1, "W/m")
    assert found.error <= 0.001
    assert found.balance < 1e-6


def bar() -> Domain:
    """Case 4, a quarter: a bar of iron 100 x 50 mm through a panel 1 x 1 m, flush outside, 400 mm out inside."""

    def block(name: str, up: float, y: tuple, along: float, conductivity: float = 0.0, air: int | None = None) -> Block:
        return Block(name, (0.0, y[0], 0.0), (up, y[1], along), conductivity, air)

    return Domain(
        size=(0.5, 0.6, 0.5),
        boxes=(
            block("panel", 0.5, (0.0, 0.2), 0.5, 0.1),
            block("room", 0.5, (0.2, 0.6), 0.5, air=1),
            block("bar", 0.025, (0.0, 0.6), 0.05, 50.0),
        ),
        airs=(Air(0.0, 0.10), Air(1.0, 0.10)),
        faces=(Face(1, 0, 0), Face(1, 1, 1)),
    )


def test_case_4():
    found = solve(bar())
    told("case 4", "heat flow", 4 * found.flow, 0.540, 0.0054, "W")
    told("case 4", "highest outer temperature", float(found.face_temperatures(1, 0).max()), 0.805, 0.005, "C")
    print()
    assert found.error <= 0.005
    assert found.balance < 1e-6
