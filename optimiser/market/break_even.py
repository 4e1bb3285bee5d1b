"""Break-even: how far a product's price (carbon, conductivity) must fall for some wall with it to enter the front.

What is found. F is the complete front as it is, the product q in none of its walls, nor in any of equal scores. With
q's figure at a value v, a wall with q enters when it holds target, limits and judgements and no wall of F is at least
as good in every objective and better in one, in the whole steps of the scores. The break-even is the largest v at which
one enters; just above it none does.

Why F is enough. Every wall without q keeps its scores whatever v is, and is equal to or beaten by one of F. A wall with
q that any wall without it beats is therefore beaten by one of F; and where another wall with q beats it, that one holds
q as well. So some wall with q is on the complete front at v exactly where some wall with q is beaten by none of F.

Why one value parts the two. Cost and carbon of a wall never rise when q's price or carbon falls, and R' and R'' never
fall when q conducts less: what enters at v enters below v. For a wall whose figures are a + b v the value where a wall
of F begins to beat it is in closed form: the last in which all objectives of the two have met. Its own break-even is
the least of these over F, and of the values where a limit is reached. For other walls (batts, whose stacks change with
their prices, and all walls where conductivity moves) two values, one that enters and one that does not, close in on it.

How it is proved. Walls of F with q put in give a first value p that some wall enters at. Then the complete search looks
through all walls that hold q (one search for each place where q may stand, the other slots open), with F as known
walls that bound, at a value just above p (RESOLUTION of today's). What it finds raises p, and it looks again, until
nothing enters. A place settled at a lower value is settled at all higher ones.

Tolerance: RESOLUTION of today's value. One thing is not monotone, and there the value is one at which a wall enters and
just above which none does, not surely the highest such: judgements of moisture read conductivities, and R'/R'' may
exceed what the method takes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..checks.common.search_judgement import Judgement
from ..search import bounds, front
from ..search.parallel import complete
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..space.judgements import judgements, passes_all
from ..space.walls import described, in_short
from ..stopping import NO_STOP, Stopped
from ..template import AT, FILL_VARIABLES, SLOTS, ZONE
from ..wall.scores import STEPS
from .break_even_space import entering, neighbours, swaps
from .levers import NEVER, Lever, ProductPlaces, checked_lever, let_in, lever_of, unit_of, why_not

RESOLUTION = 1e-7  # of today's value
U_STEPS = 1e6  # per W/m2K: what a step of U is worth where it is followed as a figure
AROUND = 20  # walls found whose neighbours are looked at, about
RECENT = 4  # choices with the lever moved that are kept
LEVEL = 1e-6  # steps; a figure that moves by less does not move
BLOCK = 2_000_000  # pairs of walls compared together
JUDGED = 64  # walls judged together, the best first
FITS_NOWHERE = "it fits none of the depths"


@dataclass(frozen=True)
class Front:
    """A complete front: rows of all its walls, those of equal scores among them, and its score vectors in steps."""

    x: Index
    steps: NDArray[np.int64]  # (n, objectives), of each row
    vectors: NDArray[np.int64] = field(init=False)  # each once
    walls: Index = field(init=False)  # one for each vector
    cut: bounds.Cut = field(init=False)
    shelf: dict = field(init=False, default_factory=dict)  # what searches of the same choices share

    def __post_init__(self) -> None:
        walls, vectors, _ = front.distinct(self.x, self.steps)
        for key, value in (("walls", walls), ("vectors", vectors), ("cut", bounds.Cut(vectors))):
            object.__setattr__(self, key, value)

    def beats(self, steps: NDArray[np.int64]) -> NDArray[np.bool_]:
        """(n,) whether some wall of the front strictly beats each score vector."""
        out = self.cut.beats(steps.astype(float))
        rest = np.flatnonzero(~out) if len(self.vectors) else np.empty(0, int)
        for rows in np.array_split(rest, max(1, len(rest) * len(self.vectors) // BLOCK)):
            mine = steps[rows][:, None]
            out[rows] = ((self.vectors <= mine).all(axis=2) & (self.vectors < mine).any(axis=2)).any(axis=1)
        return out


@dataclass(frozen=True)
class BreakEven:
    """What one product lacks to enter the front, in one figure.

    at: the value at which a wall with it enters, None where there is none or it is not asked; `reason` then says why.
    wall: what that wall's slots hold, its figures at that value, and `in_short`. slots: where the product stands in it,
    or may stand. moved: the products whose figure moves, more than one for batts of a line.
    """

    product: str
    name: str
    supplier: str
    lever: str
    unit: str
    today: float | None
    at: float | None = None
    slots: tuple[str, ...] = ()
    wall: dict[str, Any] | None = None
    row: tuple[int, ...] | None = None
    reason: str = ""
    moved: tuple[str, ...] = ()
    searches: int = 0
    seconds: float = 0.0

    @property
    def change(self) -> float | None:
        """What the figure must change by, as a share of today's (-0.1: a tenth less)."""
        return None if self.at is None or not self.today else self.at / self.today - 1.0

    @property
    def in_short(self) -> str:
        return self.wall["in_short"] if self.wall else ""


def complete_front(choices: Choices, target: float, stop: Callable[[], bool] = NO_STOP, workers: int = 1) -> Front:
    """The complete front of one target with all walls of equal scores, by the complete search; Stopped when stopped."""
    *_, (standing, search) = complete(choices, target, None, workers, stop)
    if standing.share < 1.0:
        raise Stopped
    return Front(search.x, search.steps)


def break_even(
    choices: Choices,
    target: float,
    known: Front,
    product: str,
    lever: str = "price",
    stop: Callable[[], bool] = NO_STOP,
) -> BreakEven:
    """What one product lacks to enter the complete front `known` of a target [W/m2K].

    product: a key of the choices' lists; lever: one of `levers.LEVERS`. InputError for other words; Stopped when
    `stop` says so on the way.
    """
    started = time.monotonic()
    sold = choices.pricing.named(product, "product")[0]
    moving = lever_of(checked_lever(lever), choices, product)
    record = BreakEven(product, sold.name, sold.supplier, lever, unit_of(lever, sold), _today(moving, sold, lever))
    reason = _exempt(choices, known, product, moving)
    if reason:
        slots = let_in(choices, {product})
        return _with(record, reason=reason, slots=slots)
    return _Quest(choices, target, known, moving, stop).run(record, started)


def on_front(choices: Choices, known: Front) -> set[str]:
    """Keys of the products on some wall of the front, or on one of equal scores."""
    keys = set(choices.pricing.products)
    return {key for key in keys if let_in(choices, {key}) and ProductPlaces.of(choices, {key}).by(known.x).any()}


def _today(moving: Lever | str, sold, lever: str) -> float | None:
    if isinstance(moving, Lever):
        return moving.today
    return sold.price if lever == "price" else None


def _with(record: BreakEven, **values) -> BreakEven:
    return BreakEven(**{key: getattr(record, key) for key in record.__dataclass_fields__} | values)


def _exempt(choices: Choices, known: Front, product: str, moving: Lever | str) -> str:
    """Why nothing is to be searched, or ""."""
    if not let_in(choices, {product}) or _not_a_choice(choices, product):
        return why_not(choices, choices.catalogue, product)
    for keys, who in (
        ({product}, "it"),
        ({each.key for each in moving.line} if isinstance(moving, Lever) else set(), "a batt of its line"),
    ):
        held = ProductPlaces.of(choices, keys)
        if held.by(known.walls).any():
            return f"{who} is on the front" if who != "it" else "on the front"
        if held.by(known.x).any():
            return "on the front in a wall of equal scores"
    return moving if isinstance(moving, str) else ""


def _not_a_choice(choices: Choices, product: str) -> bool:
    brief = choices.brief
    fixed = any(each.product == product for given in brief.fixings.values() for each in given)
    return fixed or (brief.tie is not None and brief.tie.product == product)


class _Quest:
    """The way up from the least value of one lever."""

    def __init__(self, choices: Choices, target: float, known: Front, lever: Lever, stop: Callable[[], bool]) -> None:
        self.choices, self.target, self.known, self.lever, self.stop = choices, target, known, lever, stop
        self.keys = {each.key for each in lever.line}
        self.judgements = judgements(choices)
        self.objectives = choices.brief.objectives.minimise
        self.fine = RESOLUTION * lever.today
        self.at: float | None = None
        self.row: Index | None = None
        self.searches = 0
        self._recent: dict[float, Choices] = {lever.today: choices}

    def run(self, record: BreakEven, started: float) -> BreakEven:
        low = self._at(self.lever.least)
        held = ProductPlaces.of(low, self.keys)
        places = tuple(each for each in let_in(self.choices, self.keys) if held.by_place(each))
        if not places:
            return _with(record, reason=FITS_NOWHERE, slots=let_in(self.choices, self.keys))
        self._raise(swaps(low, held, self.known.walls), self.lever.least)
        self._climb(low, held)
        for place in places:
            self._prove(place, low, held)
        record = _with(
            record,
            slots=places,
            moved=tuple(each.key for each in self.lever.line),
            searches=self.searches,
        )
        if self.at is None:
            return _with(record, reason=NEVER[self.lever.kind], seconds=time.monotonic() - started)
        held = held if self.lever.affine else ProductPlaces.of(self._at(self.at), self.keys)
        return _with(
            record,
            at=self.at,
            slots=_standing(held, self.row),
            wall=self._figures() | {"in_short": in_short(self.choices, self.row)} | described(self.choices, self.row),
            row=tuple(int(each) for each in self.row),
            seconds=time.monotonic() - started,
        )

    def _at(self, value: float) -> Choices:
        """The choices with the lever at a value; the last few are kept."""
        if value not in self._recent:
            self._recent[value] = self.lever.moved(self.choices, value)
            if len(self._recent) > RECENT:
                del self._recent[next(each for each in self._recent if each != self.lever.today)]
        return self._recent[value]

    def _climb(self, low: Choices, held: ProductPlaces) -> None:
        """Go from the wall found to the best one that differs in one choice, until none is better."""
        last = None
        while self.at is not None and self.at != last:
            last = self.at
            if self.at + self.fine < self.lever.today:
                self._raise(neighbours(low, held, self.row[None]), self.at + self.fine)

    def _prove(self, place: str, low: Choices, held: ProductPlaces) -> None:
        """Search one place just above what is known to enter, until nothing does."""
        while True:
            value = self.lever.least if self.at is None else self.at + self.fine
            if value >= self.lever.today:
                return
            rows = entering(self._at(value), self.keys, self.target, place, self.known, self.stop)
            if rows is None:
                raise Stopped
            self.searches += 1
            if not len(rows):
                return
            self.at, self.row = value, rows[0]
            self._raise(rows, value, judged=True)
            self._raise(neighbours(low, held, rows[:: -(-len(rows) // AROUND)]), self.at + self.fine)
            self._climb(low, held)

    def _raise(self, x: Index, least: float, judged: bool = False) -> None:
        """Take over the highest value from `least` on at which one of some walls enters, where it is higher."""
        if not len(x):
            return
        highest = self._in_closed_form(x, judged) if self.lever.affine else self._closing_in(x, least)
        if highest is not None and (self.at is None or highest[0] > self.at):
            self.at, self.row = highest

    def _figures(self) -> dict[str, float]:
        """Figures of the wall found, at its break-even."""
        if not self.lever.affine:
            return _figures_of(self._at(self.at), self.row)
        low, high = (_figures_of(self._at(each), self.row) for each in (self.lever.least, self.lever.today))
        share = (self.at - self.lever.least) / (self.lever.today - self.lever.least)
        return {key: low[key] + share * (high[key] - low[key]) for key in low}

    def _in_closed_form(self, x: Index, judged: bool) -> tuple[float, Index] | None:
        """For walls whose figures follow the lever along straight lines."""
        keys = (*self.objectives, *self.choices.brief.limits.upper())
        cheap, dear = (evaluate(self._at(each), x) for each in (self.lever.least, self.lever.today))
        keep = (excess(cheap, self.choices.brief, self.target) <= 0).all(axis=1)
        keep[keep] = ~self.known.beats(cheap.steps(self.objectives)[keep])
        x, base, top = x[keep], cheap.of(keys)[keep], dear.of(keys)[keep]
        scale = np.array([STEPS[key] for key in keys], float)
        slope = (top - base) * scale / (self.lever.today - self.lever.least)
        value = self.lever.least + last_unbeaten(base * scale, slope, self.known.vectors, self._limits(scale))
        order = np.argsort(-value, kind="stable")
        order = order[value[order] > (self.lever.least if self.at is None else self.at)]
        for rows in np.array_split(order, range(JUDGED, len(order), JUDGED)):
            passing = rows if judged else rows[passes_all(self.choices, self.judgements, x[rows])]
            if len(passing):
                return min(float(value[passing[0]]), self.lever.today), x[passing[0]]
        return None

    def _limits(self, scale: Array) -> Array:
        """(k,) limits in steps of the objectives, then of all that is limited."""
        upper = self.choices.brief.limits.upper()
        return np.array([np.inf] * len(self.objectives) + list(upper.values())) * scale

    def _closing_in(self, x: Index, first: float) -> tuple[float, Index] | None:
        """For all others: from a value up to today's, by straight lines through two values, or by halves."""
        last = self.lever.today
        x = self._entering(first, x)
        if not len(x):
            return None
        while last - first > self.fine / 2:
            guess = min(self._guess(first, first + (last - first) / 1000, x), last)
            for value in (guess - self.fine / 8, guess + self.fine / 8, (first + last) / 2):
                if not first < value < last or last - first <= self.fine / 2:
                    continue
                inside = self._entering(value, x)
                if len(inside):
                    first, x = value, inside
                else:
                    last = value
        return first, x[0]

    def _guess(self, first: float, second: float, x: Index) -> float:
        """Where the last of some walls would be beaten or too cold, were their figures straight lines."""
        keys = (*self.objectives, *self.choices.brief.limits.upper(), "u_value")
        scale = np.array([STEPS.get(key, U_STEPS) for key in keys], float)
        one, two = (evaluate(self._at(each), x).of(keys) * scale for each in (first, second))
        slope = (two - one) / (second - first)
        limits = np.append(self._limits(scale[:-1]), self.target * U_STEPS)
        lever_values = last_unbeaten(one - slope * first, slope, self.known.vectors, limits)
        return float(lever_values.max())

    def _entering(self, value: float, x: Index) -> Index:
        """Those of some walls that hold the product and enter with the lever at a value."""
        moved = self._at(value)
        x = x[ProductPlaces.of(moved, self.keys).by(x)]
        scores = evaluate(moved, x)
        keep = (excess(scores, moved.brief, self.target) <= 0).all(axis=1)
        keep[keep] = ~self.known.beats(scores.steps(self.objectives)[keep])
        x = x[keep]
        asked: tuple[Judgement, ...] = judgements(moved) if self.lever.kind == "conductivity" else self.judgements
        return x[passes_all(moved, asked, x)]


def last_unbeaten(base: Array, slope: Array, vectors: NDArray[np.int64], limits: Array) -> Array:
    """(n,) the largest v at which walls of figures base + slope v (n, k) hold the limits (k,) and are not beaten.

    All in steps; the first columns are the objectives, compared with the front's score vectors (m, objectives). A wall
    is beaten from the v on at which all its objectives have come to those of one of the front, and one has gone past.
    """
    moving = np.abs(slope) > LEVEL
    slope = np.where(moving, slope, 1.0)
    with np.errstate(invalid="ignore"):
        over = np.where(moving, (limits - base) / slope, np.where(base <= limits + bounds.NOISE, np.inf, -np.inf))
    best = over.min(axis=1, initial=np.inf)
    objectives = vectors.shape[1]
    for rows in np.array_split(np.arange(len(base)), max(1, len(base) * len(vectors) // BLOCK)):
        reached, passed = np.full((len(rows), len(vectors)), -np.inf), np.full((len(rows), len(vectors)), np.inf)
        for k in range(objectives):
            b, s, m, goal = base[rows, k, None], slope[rows, k, None], moving[rows, k, None], vectors[None, :, k]
            settled = np.rint(b)
            come = np.where(m, (goal - 0.5 - b) / s, np.where(settled >= goal, -np.inf, np.inf))
            gone = np.where(m, (goal + 0.5 - b) / s, np.where(settled > goal, -np.inf, np.inf))
            reached, passed = np.maximum(reached, come), np.minimum(passed, gone)
        if len(vectors):
            best[rows] = np.minimum(best[rows], np.maximum(reached, passed).min(axis=1))
    return best


def _standing(held: ProductPlaces, row: Index) -> tuple[str, ...]:
    """The slots and fills in which a wall holds one of some products."""
    slots = [name for name in SLOTS if name in held.slots and held.slots[name][row[AT[name]]]]
    return (*slots, *(name for name in FILL_VARIABLES if held.fills[name][row[AT[name]], row[AT[ZONE[name]]]]))


def _figures_of(choices: Choices, row: Index) -> dict[str, float]:
    scores = evaluate(choices, row[None])
    return {key: float(getattr(scores, key)[0]) for key in scores.__dataclass_fields__}
