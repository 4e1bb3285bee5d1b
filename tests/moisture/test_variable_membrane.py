"""A membrane that follows the humidity, month by month in closed form: sd settled with the planes that begin wet.

Rule of the monthly method here: once a month the membrane's sd settles at the humidities on its two sides. They hang on
the planes that hold water when the month begins; those stand at saturation (ISO 13788), all others at what passes them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from plain_account import saturated

from optimiser.moisture.diffusion import construction
from optimiser.moisture.monthly import DAY, MONTH_DAYS, climate, condensation

# Climate of the standard's example (from memory), 20 C inside, humidity class 3 x 1.10.
OUTDOOR_C = (-1, 0, 4, 9, 14, 18, 19, 19, 15, 10, 5, 1)
OUTDOOR_RH = (0.85, 0.84, 0.78, 0.72, 0.68, 0.69, 0.73, 0.75, 0.79, 0.83, 0.88, 0.88)
INSIDE = (1369, 1404, 1347, 1316, 1354, 1512, 1648, 1692, 1569, 1464, 1435, 1424)
BOARD, FILL, LINING = 3.0, 0.6, 0.125  # sd [m], outside to inside; the membrane lies between fill and lining
DRY, HUMID = 8.0, 0.3  # sd [m] of the membrane
R = (0.1154, 0.3 / 0.039, 0.0, 0.05)
R_SI, R_SE = 0.25, 0.04
BEHIND_BOARD = 1  # the place between board and fill


def by_month(wet: bool) -> list[tuple[float, float]]:
    """(gain [g], pressure behind the board [Pa]) of each month that begins with that plane wet, or with a dry wall."""
    return [month(number, wet) for number in range(12)]


def month(number: int, wet: bool) -> tuple[float, float]:
    from scipy.optimize import brentq

    cold, warm = OUTDOOR_C[number], 20.0
    total = R_SE + sum(R) + R_SI

    def at(resistance: float) -> float:
        return saturated(cold + (warm - cold) * (R_SE + resistance) / total)

    behind, both_sides = at(R[0]), at(R[0] + R[1])  # a membrane has no resistance: one temperature on both sides
    outside, inside = OUTDOOR_RH[number] * saturated(cold), float(INSIDE[number])

    def held(sd: float) -> float:
        """Pressure behind the board: saturated where it is wet, and nowhere above it."""
        straight = outside + (inside - outside) * BOARD / (BOARD + FILL + sd + LINING)
        return behind if wet else min(straight, behind)

    def humidity(sd: float) -> float:
        slope = (inside - held(sd)) / (FILL + sd + LINING)
        return (2 * inside - 2 * slope * LINING - slope * sd) / 2 / both_sides

    def asked(sd: float) -> float:
        """Straight in the logarithm, from 25 % to 71.5 % (common practice)."""
        share = min(max((humidity(sd) - 0.25) / (0.715 - 0.25), 0.0), 1.0)
        return DRY * (HUMID / DRY) ** share

    sd = math.exp(brentq(lambda log: math.log(asked(math.exp(log))) - log, math.log(HUMID), math.log(DRY)))
    pressure = held(sd)
    rate = (inside - pressure) / (FILL + sd + LINING) - (pressure - outside) / BOARD
    return 2e-10 * DAY * MONTH_DAYS[number] * (rate if wet else max(rate, 0.0)) * 1000, pressure


def test_the_membrane_settles_with_the_planes_that_begin_the_month_wet():
    sd = [[BOARD, FILL, DRY, LINING]]
    humid = [[BOARD, FILL, HUMID, LINING]]
    wall = construction([R], sd, humid, r_si=R_SI, r_se=R_SE)
    found = condensation(wall, climate(OUTDOOR_C, OUTDOOR_RH, 20.0, INSIDE))
    assert found.start[0] == 9
    assert [place for place in range(7) if found.monthly[0, place].any()] == [BEHIND_BOARD]
    wet, dry = by_month(wet=True), by_month(wet=False)
    water, counted = 0.0, {True: 0, False: 0}
    for turn in range(12):
        number = (found.start[0] + turn) % 12
        begins_wet = water > 0
        gain, pressure = (wet if begins_wet else dry)[number]
        counted[begins_wet] += 1
        assert found.pressure[0, 1, number] == pytest.approx(pressure, rel=1e-4), number
        assert found.monthly[0, BEHIND_BOARD, number] == pytest.approx(max(gain, -water), rel=2e-3, abs=1e-3), number
        water = found.accumulated[0, BEHIND_BOARD, number]
    assert min(counted.values()) >= 2
    drying = [number for number in range(12) if wet[number][0] < 0]
    assert np.abs([wet[number][0] - dry[number][0] for number in drying]).min() > 1.0  # g: the two rules differ
