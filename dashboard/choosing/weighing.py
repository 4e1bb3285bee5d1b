"""Weighing the objectives of a front: which wall comes first, how firmly, which would be next. Nothing of Dash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimiser.search.landmarks import missing, span

from ..numbers import written
from ..rows.choose import Row
from ..words import QUANTITIES, listed

MOST = 10.0  # the heaviest weight
WEIGHTINGS = 8192  # tried to see how often each wall comes first
EVEN = 1e-9  # sums as close as this are equal


@dataclass(frozen=True)
class Weighed:
    """A front under one weighting, best first.

    ids and sums: every wall that has all figures, by its sum; within: objective -> the least and the most weight
    (0 to 10) that leaves the first wall first while the others stay; shares: wall -> the share of all weightings under
    which it comes first, most first.
    """

    ids: tuple[str, ...]
    sums: tuple[float, ...]
    within: dict[str, tuple[float, float]]
    shares: dict[str, float]

    @property
    def first(self) -> str:
        return self.ids[0]

    @property
    def rank(self) -> dict[str, int]:
        """Wall -> its place, 1 for the first; walls of equal sums share one."""
        places: dict[str, int] = {}
        before, place = None, 0
        for number, (wall, total) in enumerate(zip(self.ids, self.sums, strict=True), 1):
            if before is None or total > before + EVEN:
                place, before = number, total
            places[wall] = place
        return places

    @property
    def rival(self) -> tuple[str, float] | None:
        """The wall besides the first that comes first under most weightings, and their share."""
        return next(((wall, share) for wall, share in self.shares.items() if wall != self.first), None)


def weigh(rows: Sequence[Row], whole: Sequence[Row], weights: Mapping[str, float]) -> Weighed | None:
    """Rank rows by the weighted sum of their figures, each scaled from the least (0) to the most (1) of the front.

    rows: those that compete; weights: figure -> 0 to 10. None where no row has all figures or nothing is weighed.
    """
    keys = [key for key in weights if span(whole, key)]
    known = [row for row in rows if not any(missing(row.get(key)) for key in keys)]
    if not known or not keys or not any(weights[key] > 0 for key in keys):
        return None
    scaled = scale(known, whole, keys)
    given = np.array([float(weights[key]) for key in keys])
    sums = scaled @ given
    order = np.lexsort((np.arange(len(known)), np.round(sums, 12)))
    names = [str(row["id"]) for row in known]
    first = int(order[0])
    within = {key: stays_first(scaled, first, given, at) for at, key in enumerate(keys)}
    counts = np.bincount(winners(scaled), minlength=len(names)) / WEIGHTINGS
    by_share = sorted(np.flatnonzero(counts), key=lambda at: (-counts[at], names[at]))
    return Weighed(
        tuple(names[at] for at in order),
        tuple(float(sums[at]) for at in order),
        within,
        {names[at]: float(counts[at]) for at in by_share},
    )


def scale(rows: Sequence[Row], whole: Sequence[Row], keys: Sequence[str]) -> np.ndarray:
    """Figures (rows, keys) scaled so that the least of the whole front is 0 and the most is 1."""
    figures = np.array([[float(row[key]) for key in keys] for row in rows]).reshape(len(rows), len(keys))
    low, high = np.array([span(whole, key) for key in keys]).T
    wide = np.where(high > low, high - low, 1.0)
    return (figures - low) / wide


def stays_first(scaled: np.ndarray, first: int, weights: np.ndarray, at: int) -> tuple[float, float]:
    """The least and the most weight of one objective under which a wall that is first stays so. Exact.

    scaled: (walls, objectives). Against each other wall the margin is a + w b, linear in the weight w of objective
    `at`, with b its gain there and a its gain in all others, weighted; the interval is where no margin is below 0.
    """
    gain = scaled - scaled[first]
    slope = gain[:, at]
    rest = gain @ np.where(np.arange(len(weights)) == at, 0.0, weights)
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = -rest / slope
    low = np.max(turn[slope > EVEN], initial=0.0)
    high = np.min(turn[slope < -EVEN], initial=MOST)
    return float(min(low, weights[at])), float(max(high, weights[at]))


def winners(scaled: np.ndarray, count: int = WEIGHTINGS) -> np.ndarray:
    """The first wall under each of `count` weightings (count,): all weightings count alike, drawn quasi-randomly."""
    weights = weightings(scaled.shape[1], count)
    firsts = [np.argmin(part @ scaled.T, axis=1) for part in np.array_split(weights, max(1, count // 1024))]
    return np.concatenate(firsts)


def weightings(objectives: int, count: int) -> np.ndarray:
    """Weightings (count, objectives) that sum to 1, spread evenly over all there are; the same ones every time.

    The spacings of sorted uniform points are uniform on the simplex (Dirichlet with all parameters 1); the points
    are an additive recurrence on the powers of the root of x^(d+1) = x + 1.
    """
    free = objectives - 1
    if free == 0:
        return np.ones((count, 1))
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (free + 1))
    steps = root ** -np.arange(1, free + 1)
    points = np.sort((0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0, axis=1)
    edges = np.column_stack([np.zeros(count), points, np.ones(count)])
    return np.diff(edges, axis=1)


@dataclass(frozen=True)
class WeighingWords:
    """What a weighting says, in words that go on from the first wall and from its rival."""

    first: str
    stays: str
    rival: str | None
    besides: str


def verdict(weighed: Weighed, weights: Mapping[str, float]) -> WeighingWords:
    """Who comes first, how far each weight can move, and how often it would win under any weighting."""
    moved = [
        f"{QUANTITIES[key].short} counts {_weight(low)} to {_weight(high)}"
        for key, (low, high) in weighed.within.items()
        if key in weights
    ]
    wins = _share(weighed.shares.get(weighed.first, 0.0))
    firm = f"It stays first while {listed(moved)}, one moved at a time; of all weightings it wins {wins}"
    stays = f" comes first. {firm}"
    rival = weighed.rival
    if rival is None:
        return WeighingWords(weighed.first, f"{stays}.", None, "")
    wall, share = rival
    more = "more often" if share > weighed.shares.get(weighed.first, 0.0) else "most often of the others"
    return WeighingWords(weighed.first, f"{stays}, ", wall, f" {more}: {_share(share)}.")


def _weight(value: float) -> str:
    return written(f"{value:.1f}".removesuffix(".0"))


def _share(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"
