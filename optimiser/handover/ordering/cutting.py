"""A cutting plan: which pieces are sawn from which stock lengths, so that little is wasted.

The one-dimensional cutting stock problem (Gilmore and Gomory 1961): patterns of pieces that fit a stock length, chosen
so that every piece is cut and the stock bought is shortest. Lengths are whole tenths of a millimetre.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from materials.errors import InputError

TENTHS = 10  # in a millimetre
MOST_PATTERNS = 600  # listed whole up to here; beyond, columns are generated
MOST_ROUNDS = 60  # of column generation
NODES, SECONDS = 200, 20.0  # of an integer programme; the clock is for the worst, the nodes end it before
SLACK = 1e-6

Pattern = tuple[int, tuple[int, ...]]  # stock length, number of each piece


@dataclass(frozen=True)
class Bar:
    """Stock lengths sawn alike: their length [mm], how many, and the pieces out of each [mm], longest first."""

    stock_mm: float
    count: int
    pieces_mm: tuple[float, ...]
    kerf_mm: float

    @property
    def offcut_mm(self) -> float:
        """What is left of one of them, saw cuts taken off [mm]."""
        left = self.stock_mm - sum(self.pieces_mm)
        return max(left - self.kerf_mm * len(self.pieces_mm), 0.0) if left > 0 else 0.0


@dataclass(frozen=True)
class CuttingPlan:
    """The plan of one section. proven: no plan buys less length."""

    bars: tuple[Bar, ...]
    proven: bool = False

    @property
    def count(self) -> int:
        return sum(each.count for each in self.bars)

    @property
    def stock_mm(self) -> float:
        return math.fsum(each.count * each.stock_mm for each in self.bars)

    @property
    def pieces_mm(self) -> float:
        return math.fsum(each.count * math.fsum(each.pieces_mm) for each in self.bars)

    @property
    def waste_mm(self) -> float:
        """Offcuts and saw cuts."""
        return self.stock_mm - self.pieces_mm

    @property
    def waste_share(self) -> float:
        """Waste over the stock bought [-]."""
        return self.waste_mm / self.stock_mm if self.bars else 0.0

    @property
    def stock(self) -> dict[float, int]:
        """Stock length [mm] -> how many to buy, shortest first."""
        counts: dict[float, int] = {}
        for each in sorted(self.bars, key=lambda bar: bar.stock_mm):
            counts[each.stock_mm] = counts.get(each.stock_mm, 0) + each.count
        return counts


def cutting_plan(demand: Mapping[float, int], stock_mm: Sequence[float], kerf_mm: float = 4.0) -> CuttingPlan:
    """The plan that buys the least length, and never more length or more bars than first-fit-decreasing.

    demand: piece length [mm] -> number; stock_mm: lengths offered; kerf_mm: a saw cut. Exact where the patterns can be
    listed and the integer programme ends; else from generated columns. Equal input gives an equal plan. InputError for
    a piece that is longer than every stock length.
    """
    task = _task(demand, stock_mm, kerf_mm)
    if not task.pieces:
        return CuttingPlan((), proven=True)
    plain = _first_fit(task)
    listed = _listed(task)
    patterns = _generated(task, plain) if listed is None else listed
    chosen, optimal = _chosen(task, sorted({*patterns, *plain}), plain)
    better = _trimmed(task, chosen) if chosen else plain
    if _figures(better) > _figures(plain) or sum(better.values()) > sum(plain.values()):
        better, optimal = plain, False
    full = sum(map(operator.mul, task.pieces, task.demand)) > _figures(better)[0] - math.gcd(*task.stock)
    return _plan(better, task, proven=full or (optimal and listed is not None))


@dataclass(frozen=True)
class _Task:
    """In tenths of a millimetre; a piece takes its length and a saw cut, a stock length has one cut to spare."""

    pieces: tuple[int, ...]  # longest first
    demand: tuple[int, ...]
    stock: tuple[int, ...]  # shortest first
    kerf: int

    def used(self, counts: Sequence[int]) -> int:
        total = sum(count * (piece + self.kerf) for count, piece in zip(counts, self.pieces, strict=True))
        return total - self.kerf if total else 0

    def shortest(self, counts: Sequence[int]) -> int:
        """The shortest stock length that holds these pieces."""
        used = self.used(counts)
        return next(each for each in self.stock if used <= each)


def _task(demand: Mapping[float, int], stock_mm: Sequence[float], kerf_mm: float) -> _Task:
    stock = sorted({round(each * TENTHS) for each in stock_mm if each > 0})
    if not stock:
        raise InputError("cutting plan: expected at least one stock length above 0")
    if not 0 <= kerf_mm < math.inf:
        raise InputError(f"cutting plan: a saw cut of {kerf_mm:g} mm: expected 0 or more")
    wanted: dict[int, int] = {}
    for length, number in demand.items():
        piece = round(length * TENTHS)
        if number < 0 or piece <= 0:
            raise InputError(f"cutting plan: {number} pieces of {length:g} mm: expected a length above 0")
        if number and piece > stock[-1]:
            raise InputError(
                f"cutting plan: a piece of {length:g} mm is longer than the longest stock, {stock[-1] / TENTHS:g} mm"
            )
        if number:
            wanted[piece] = wanted.get(piece, 0) + number
    pieces = tuple(sorted(wanted, reverse=True))
    return _Task(pieces, tuple(wanted[each] for each in pieces), tuple(stock), round(kerf_mm * TENTHS))


def _first_fit(task: _Task) -> dict[Pattern, int]:
    """The usual plan by hand, first-fit-decreasing: longest pieces first, each from the first bar that still holds it.

    Stock of the longest length is begun; what a bar holds is then sawn from the shortest length that is enough.
    """
    bars: list[list[int]] = []
    room: list[int] = []
    for at, (piece, number) in enumerate(zip(task.pieces, task.demand, strict=True)):
        first = 0  # equal pieces: none fits a bar that the one before did not fit
        for _ in range(number):
            while first < len(bars) and room[first] < piece + task.kerf:
                first += 1
            if first == len(bars):
                bars.append([0] * len(task.pieces))
                room.append(task.stock[-1] + task.kerf)
            bars[first][at] += 1
            room[first] -= piece + task.kerf
    return _counted((task.shortest(each), tuple(each)) for each in bars)


def _counted(bars: Iterator[Pattern]) -> dict[Pattern, int]:
    counts: dict[Pattern, int] = {}
    for each in bars:
        counts[each] = counts.get(each, 0) + 1
    return counts


def _figures(plan: Mapping[Pattern, int]) -> tuple[int, int]:
    """(length bought, bars): what is smaller is better."""
    return sum(stock * count for (stock, _), count in plan.items()), sum(plan.values())


def _listed(task: _Task) -> list[Pattern] | None:
    """Every pattern that holds no room for one more piece in demand; None where there are too many to list."""
    patterns: set[Pattern] = set()
    for stock in task.stock:
        for counts in _filled(task, stock + task.kerf, 0, ()):
            patterns.add((task.shortest(counts), counts))
            if len(patterns) > MOST_PATTERNS:
                return None
    return list(patterns)


def _filled(task: _Task, room: int, at: int, before: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Patterns from piece `at` on, filled so that no smaller piece in demand fits what is left."""
    size = task.pieces[at] + task.kerf
    most = min(room // size, task.demand[at])
    if at == len(task.pieces) - 1:
        if most or any(before):
            yield (*before, most)
        return
    for count in range(most, -1, -1):
        yield from _filled(task, room - count * size, at + 1, (*before, count))


def _generated(task: _Task, start: Mapping[Pattern, int]) -> list[Pattern]:
    """Patterns by column generation on the linear programme: the best new pattern by stock length, till none helps."""
    from scipy.optimize import linprog

    patterns = set(start)
    for at, piece in enumerate(task.pieces):
        most = min((task.stock[-1] + task.kerf) // (piece + task.kerf), task.demand[at])
        counts = tuple(most if other == at else 0 for other in range(len(task.pieces)))
        patterns.add((task.shortest(counts), counts))
    for _ in range(MOST_ROUNDS):
        columns = sorted(patterns)
        costs = np.array([stock for stock, _ in columns], float) / task.stock[-1]
        held = np.array([counts for _, counts in columns], float).T
        solved = linprog(costs, A_ub=-held, b_ub=-np.array(task.demand, float), method="highs")
        if solved.status != 0:
            break
        worth = -solved.ineqlin.marginals
        fresh = set()
        for stock in task.stock:
            counts = _fullest(task, stock + task.kerf, worth)
            gain = float(np.dot(counts, worth)) - stock / task.stock[-1]
            if gain > SLACK:
                fresh.add((task.shortest(counts), counts))
        if fresh <= patterns:
            break
        patterns |= fresh
    return list(patterns)


def _fullest(task: _Task, room: int, worth: np.ndarray) -> tuple[int, ...]:
    """The pattern of most worth in a room: bounded knapsack by dynamic programming over whole millimetres, upwards."""
    size = room // TENTHS
    best = np.zeros(size + 1)
    steps = []
    for at, piece in enumerate(task.pieces):
        need = math.ceil((piece + task.kerf) / TENTHS)
        taken = np.zeros(size + 1, int)
        before = best
        for count in range(1, min(size // need, task.demand[at]) + 1):
            offered = before[: size + 1 - count * need] + count * worth[at]
            better = offered > best[count * need :] + 1e-12
            best = best.copy()
            best[count * need :][better] = offered[better]
            taken[count * need :][better] = count
        steps.append((need, taken))
    left, counts = size, [0] * len(task.pieces)
    for at in range(len(task.pieces) - 1, -1, -1):
        need, taken = steps[at]
        counts[at] = int(taken[left])
        left -= counts[at] * need
    return tuple(counts)


def _chosen(task: _Task, patterns: list[Pattern], plain: Mapping[Pattern, int]) -> tuple[dict[Pattern, int], bool]:
    """How many bars of each pattern: least length, then fewest bars; neither more than the plain plan's.

    Two integer programmes with whole numbers for costs. ({}, False) where the first finds nothing.
    """
    step = math.gcd(*task.stock)
    lengths = np.array([stock // step for stock, _ in patterns], float)
    ones = np.ones(len(patterns))
    held = np.array([counts for _, counts in patterns], float).T
    length, bars = _figures(plain)
    shortest, proven = _solved(lengths, held, task.demand, (lengths, length // step), (ones, bars))
    if shortest is None:
        return {}, False
    fewest, _ = _solved(ones, held, task.demand, (lengths, float(lengths @ shortest)), (ones, float(shortest.sum())))
    counts = shortest if fewest is None else fewest
    return {pattern: int(count) for pattern, count in zip(patterns, counts, strict=True) if count}, proven


def _solved(
    costs: np.ndarray, held: np.ndarray, demand: Sequence[int], *most: tuple[np.ndarray, float]
) -> tuple[np.ndarray | None, bool]:
    """Whole numbers of least cost that cover a demand, each of some sums bounded; whether that is proven.

    Ended by the number of nodes, which is the same on every machine. What the clock ends is not used.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    limits = [LinearConstraint(held, lb=np.array(demand, float))]
    limits += [LinearConstraint(weights[None, :], ub=bound + SLACK) for weights, bound in most]
    solved = milp(
        costs,
        constraints=limits,
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, max(demand)),
        options={"node_limit": NODES, "time_limit": SECONDS, "mip_rel_gap": 0.0},
    )
    if solved.x is None or "time" in str(solved.message).lower():
        return None, False
    return np.round(solved.x).astype(int), solved.status == 0


def _trimmed(task: _Task, chosen: Mapping[Pattern, int]) -> dict[Pattern, int]:
    """The chosen bars without the pieces that are cut too many; bars that become shorter or empty with them."""
    bars = [list(counts) for (_, counts), number in sorted(chosen.items()) for _ in range(number)]
    for at, wanted in enumerate(task.demand):
        spare = sum(each[at] for each in bars) - wanted
        for each in sorted(bars, key=task.used):
            taken = min(spare, each[at])
            each[at] -= taken
            spare -= taken
    return _counted((task.shortest(each), tuple(each)) for each in bars if any(each))


def _plan(bars: Mapping[Pattern, int], task: _Task, proven: bool) -> CuttingPlan:
    made = []
    for (stock, counts), number in sorted(bars.items(), key=lambda each: (-each[0][0], [-n for n in each[0][1]])):
        pieces = [piece / TENTHS for piece, count in zip(task.pieces, counts, strict=True) for _ in range(count)]
        made.append(Bar(stock / TENTHS, number, tuple(pieces), task.kerf / TENTHS))
    return CuttingPlan(tuple(made), proven)
