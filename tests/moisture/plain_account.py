"""The monthly method once more, wall by wall in plain Python: other code to compare with, and random walls for it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from hypothesis import strategies as st

from optimiser.moisture.diffusion import Construction, construction
from optimiser.moisture.monthly import Climate, climate


def saturated(t: float) -> float:
    return 610.5 * math.exp(17.269 * t / (237.3 + t) if t >= 0 else 21.875 * t / (265.5 + t))


def planes_of(resistance: list[float], sd: list[float]) -> list[tuple[float, float, int]]:
    """(R from outside, sd from outside, place) of every plane that can condense; R without the outer surface."""
    found, r, s = [], 0.0, 0.0
    for number, (own_r, own_s) in enumerate(zip(resistance, sd, strict=True)):
        parts = max(1, math.ceil(own_r / 0.25 - 1e-9))
        if own_s == 0:
            continue
        for part in range(1, parts + 1):
            place = 2 * number + (1 if part == parts else 0)
            found.append((r + own_r * part / parts, s + own_s * part / parts, place))
        r, s = r + own_r, s + own_s
    return found[:-1]  # the last is the inner surface


def hull(points: list[tuple[float, float]], held: set[int]) -> list[int]:
    """Lower convex hull between held points (monotone chain); positions of its corners."""
    stops = [0, *sorted(held), len(points) - 1]
    corners = [0]
    for first, last in pairwise(stops):
        chain = [first]
        for number in range(first + 1, last + 1):
            while len(chain) > 1 and turn(points, chain[-2], chain[-1], number) <= 0:
                chain.pop()
            chain.append(number)
        corners += chain[1:]
    return corners


def turn(points, one, two, three) -> float:
    (x1, y1), (x2, y2), (x3, y3) = points[one], points[two], points[three]
    return (y3 - y2) * (x2 - x1) - (y2 - y1) * (x3 - x2)


def gains(points: list[tuple[float, float]], held: set[int]) -> dict[int, float]:
    """Corner -> change of slope there [Pa/m]."""
    corners = hull(points, held)
    slopes = [(points[b][1] - points[a][1]) / (points[b][0] - points[a][0]) for a, b in pairwise(corners)]
    return {corner: after - before for corner, (before, after) in zip(corners[1:-1], pairwise(slopes), strict=True)}


def year(resistance: list[float], sd: list[float], given: Climate, r_si: float = 0.25, r_se: float = 0.04):
    """Start and the amounts by month and place [g/m2] of one wall with fixed sd."""
    planes = planes_of(resistance, sd)
    total = r_se + sum(resistance) + r_si
    months = []
    for month in range(len(given)):
        t_e, t_i = given.outdoor_temperature[month], given.indoor_temperature[month]
        every = [(0.0, 0.0), *((r, s) for r, s, _ in planes), (sum(resistance), sum(sd))]
        points = [(s, saturated(t_e + (t_i - t_e) * (r_se + r) / total)) for r, s in every]
        outer, inner = float(given.outdoor_pressure[month]), float(given.indoor_pressure[month])
        points[0] = (0.0, min(outer, points[0][1]))
        points[-1] = (sum(sd), min(inner, points[-1][1]))
        months.append(points)
    wet = [bool(exceeded(points)) for points in months]
    if not any(wet):
        return -1, np.zeros((2 * len(sd) - 1, len(months)))
    start = first_month(wet)
    water = [0.0] * (len(planes) + 2)
    found = np.zeros((2 * len(sd) - 1, len(months)))
    for number in range(len(months)):
        month = (start + number) % len(months)
        before = list(water)
        advance(months[month], water, float(given.seconds[month]))
        for plane, (_, _, place) in enumerate(planes, start=1):
            found[place, month] += (water[plane] - before[plane]) * 1000
    return start, found


def exceeded(points: list[tuple[float, float]]) -> list[int]:
    (_, p_e), (s_i, p_i) = points[0], points[-1]
    return [n for n, (s, p) in enumerate(points[1:-1], 1) if p_e + (p_i - p_e) * s / s_i > p * (1 + 1e-9)]


def first_month(wet: list[bool]) -> int:
    """The wet month with most dry ones before it, the earliest of them."""
    size = len(wet)

    def spell(month: int) -> int:
        return next((back for back in range(size) if wet[(month - 1 - back) % size]), size)

    return max((month for month in range(size) if wet[month]), key=lambda month: (spell(month), -month))


def advance(points: list[tuple[float, float]], water: list[float], seconds: float) -> None:
    """One month; it is divided where a plane dries."""
    while seconds > 0:
        held = {plane for plane, amount in enumerate(water) if amount > 0}
        rate = {plane: 2e-10 * change for plane, change in gains(points, held).items()}
        rate = {plane: value if plane in held else max(value, 0.0) for plane, value in rate.items()}
        spent = min([seconds, *(water[n] / -rate[n] for n in held if rate[n] < 0)])
        for plane, value in rate.items():
            dries = value < 0 and water[plane] / -value <= spent
            water[plane] += value * spent
            if dries or water[plane] < 1e-9:
                water[plane] = 0.0
        seconds -= spent


# Random walls and climates

LAMBDAS = (0.025, 0.04, 0.05, 0.13, 0.25)
MUS = (1.0, 2.0, 5.0, 10.0, 50.0, 200.0)


@st.composite
def layers(draw, least: int = 1, most: int = 6):
    """(R, sd) lists of one wall, outside to inside: layers, membranes, and some that are empty."""
    resistance, sd = [], []
    for _ in range(draw(st.integers(least, most))):
        kind = draw(st.sampled_from(["layer", "layer", "layer", "membrane", "empty"]))
        d = draw(st.integers(5, 300)) / 1000 if kind == "layer" else 0.0
        resistance.append(d / draw(st.sampled_from(LAMBDAS)))
        own = {"layer": d * draw(st.sampled_from(MUS)), "membrane": draw(st.sampled_from([0.02, 0.2, 2.0, 20.0]))}
        sd.append(own.get(kind, 0.0))
    if not any(sd):
        resistance[0], sd[0] = 0.1, 0.5
    return resistance, sd


@st.composite
def climates(draw, coldest: int = -20, warmest: int = 24, least_rh: int = 40, most_indoors: int = 85):
    """Twelve months of any weather."""
    t_e = [draw(st.integers(coldest, warmest)) for _ in range(12)]
    rh_e = [draw(st.integers(least_rh, 100)) / 100 for _ in range(12)]
    t_i = draw(st.integers(18, 25))
    indoors = [saturated(t_i) * draw(st.integers(30, most_indoors)) / 100 for _ in range(12)]
    return climate(t_e, rh_e, float(t_i), indoors)


def wall(resistance, sd, **more) -> Construction:
    return construction([resistance], [sd], **more)


def batch(several: list[tuple[list[float], list[float]]]) -> Construction:
    """Walls of different numbers of layers as one batch: the shorter ones get empty layers inside."""
    most = max(len(resistance) for resistance, _ in several)
    padded = [[np.pad(each, (0, most - len(each))) for each in one] for one in several]
    return construction([one[0] for one in padded], [one[1] for one in padded])
