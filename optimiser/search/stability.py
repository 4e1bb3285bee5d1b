"""How often each wall of a front stays on it while prices, labour and carbon move within the brief's ranges.

A scenario moves all prices of a supplier together, each article's by itself, the hourly rate, and the carbon per kg of
each article that declares its own, or else of its generic material. Thickness, U and the checks stay as they are.

The walls against which the front must stand in each scenario: the front, its equals, and every one of them with one
product swapped for a rival, as far as they hold target and limits and pass the checks today. Walls further away than
one product are not tried, so the share is an upper bound. Limits are asked of today's figures alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..score import scenarios as maths
from ..score.embodied_carbon import by_range
from ..space.buildable import buildable
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.judgements import holding
from ..space.rivals import swapped
from ..stopping import NO_STOP, Stopped, ask, pieces, stoppable
from ..wall.layers import carbon_per_kg
from ..wall.scores import STEPS
from .archive import Archive
from .articles import Apart, Article, Shares, shares

MOST_WALLS = 20_000  # against which a front stands; of more, those that come nearest to beating it today
TRIED = 4_000  # swaps tried between two chances to stop
TOGETHER = 32  # scenarios whose figures are held at once
NOISE = 1e-9  # of a currency or kgCO2e; sums of the same numbers in another order
CARBON = ("carbon_kgco2e_m2", "whole_life_kgco2e_m2")


def stability(archive: Archive, stop: Callable[[], bool] = NO_STOP) -> Array | None:
    """Share of the brief's scenarios in which each wall of an archive's front stays on it (n,); None when stopped.

    The brief's [ranges] and seed say what they are; the same brief gives the same shares.
    """
    choices = archive.choices
    if not len(archive.best_x):
        return np.zeros(0)
    x, scores, missed = archive.all()
    equal = (missed <= 0).all(axis=1)
    equal[equal] = _among(scores.steps(archive.objectives)[equal], archive.best_steps)
    return of_front(choices, archive.best_x, archive.target, x[equal], stop)


def of_front(
    choices: Choices,
    front: Index,
    target: float,
    also: Index | None = None,
    stop: Callable[[], bool] = NO_STOP,
) -> Array | None:
    """The same for rows of choices that hold the target; also: rows that they must stand against besides."""

    try:
        with stoppable(stop):
            apart = Apart.of(choices)
            x = pool(choices, front, target, also, apart)
            return maths.share_undominated(len(front), scenarios(choices, x, apart))
    except Stopped:
        return None


# -- scenarios ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ScenarioFactors:
    """What moves, by scenario (s) and article (a): price (s, a) [-], carbon (s, a) [kgCO2e/kg] on top, labour (s,)."""

    price: Array
    carbon: Array
    labour: Array


def factors(choices: Choices, held: Shares) -> ScenarioFactors:
    """The scenarios of the brief's [ranges], drawn with its seed."""
    ranges, articles = choices.brief.ranges, held.articles
    suppliers, keys, carbon = (
        sorted({getattr(each, name) for each in articles}) for name in ("supplier", "key", "carbon_of")
    )
    at = maths.draws(ranges.scenarios, 1 + len(suppliers) + len(keys) + len(carbon), choices.brief.seed.value)
    labour, by_supplier, by_key, by_carbon = np.split(at, np.cumsum([1, len(suppliers), len(keys)]), axis=1)
    of = {
        name: [known.index(getattr(each, name)) for each in articles]
        for name, known in (("supplier", suppliers), ("key", keys), ("carbon_of", carbon))
    }
    low, high = carbon_ranges(choices, articles)
    return ScenarioFactors(
        maths.about_one(by_supplier[:, of["supplier"]], ranges.supplier_price)
        * maths.about_one(by_key[:, of["key"]], ranges.product_price),
        maths.about_zero(by_carbon[:, of["carbon_of"]], low, high),
        maths.about_one(labour[:, 0], ranges.labour),
    )


def carbon_ranges(choices: Choices, articles: Sequence[Article]) -> tuple[Array, Array]:
    """How far the carbon per kg of each article may lie below and above its score (articles,) [kgCO2e/kg].

    Where the article declares its own: the brief's share of it; else the range that the catalogue gives its material.
    """
    terms, declared = choices.pricing.terms, choices.brief.ranges.declared_carbon
    ranges = []
    for each in articles:
        typical = carbon_per_kg(each.stock, terms)[0]
        distance = each.stock.products[0].delivery_km
        ends = by_range(each.stock.material, terms.carbon, terms.transport, distance, declared)
        ranges.append([end - typical for end in ends])
    low, high = np.nan_to_num(np.array(ranges).reshape(-1, 2)).T  # nothing is known of what no wall may hold
    return np.minimum(low, 0.0), np.maximum(high, 0.0)


def scenarios(choices: Choices, x: Index, apart: Apart | None = None) -> Iterator[NDArray[np.int64]]:
    """For each scenario the objectives of rows of choices in whole steps (n, objectives)."""
    held, scores = shares(choices, x, apart), evaluate(choices, x)
    moved = factors(choices, held)
    keys = choices.brief.objectives.minimise
    scale = np.array([STEPS[key] for key in keys])
    today = scores.of(keys)
    for start in range(0, len(moved.labour), TOGETHER):
        some = slice(start, start + TOGETHER)
        # On top of today's figures, so that a scenario in which nothing moves is today to the last step.
        cost = held.price @ (moved.price[some] - 1.0).T + held.labour[:, None] * (moved.labour[some] - 1.0)
        carbon = held.mass @ moved.carbon[some].T
        for number in range(cost.shape[1]):
            ask()
            added = [
                cost[:, number] if key == "cost_per_m2" else carbon[:, number] if key in CARBON else np.zeros(len(x))
                for key in keys
            ]
            yield np.rint((today + np.stack(added, axis=1)) * scale).astype(np.int64)


# -- the walls that a front must stand against ----------------------------------------------------------------


def pool(choices: Choices, front: Index, target: float, also: Index | None = None, apart: Apart | None = None) -> Index:
    """The front first, then the rows it must stand against: others given, and one product swapped in any of them.

    Left out are swaps that no scenario makes better in any objective than the wall they came from.
    """
    first = np.asarray(front, np.int32)
    known = np.unique(first if also is None else np.concatenate([first, also]).astype(np.int32), axis=0)
    others = known[~_among(known, first)]
    made, x = swapped(choices, known)
    if not made:
        return np.concatenate([first, others])
    x, at = np.unique(x.astype(np.int32), axis=0, return_index=True)
    fresh = buildable(choices, x) & ~_among(x, known)
    x, parents = x[fresh], np.array([number for number, _, _ in made])[at[fresh]]
    worth = [_worth(choices, x[some], known[parents[some]], target, apart) for some in pieces(len(x), TRIED)]
    x = x[np.concatenate([np.zeros(0, bool), *worth])]
    room = max(MOST_WALLS - len(known), 0)
    return np.concatenate([first, others, _nearest(choices, x, room)]) if len(x) else np.concatenate([first, others])


def _worth(choices: Choices, x: Index, than: Index, target: float, apart: Apart | None) -> NDArray[np.bool_]:
    """(n,) rows that some scenario makes better than others in an objective, and that pass target, limits, checks."""
    worth = could_be_better(choices, x, than, apart)
    rows = np.flatnonzero(worth)
    scores = evaluate(choices, x[rows])
    finite = np.isfinite(scores.of(choices.brief.objectives.minimise)).all(axis=1)
    worth[rows] = holding(choices, x[rows], scores, target) & finite
    return worth


def _nearest(choices: Choices, x: Index, most: int) -> Index:
    """So many rows at the most: those of the least figures today, each weighed by its own spread."""
    if len(x) <= most:
        return x
    figures = evaluate(choices, x).of(choices.brief.objectives.minimise)
    spread = figures.std(axis=0)
    order = np.argsort((figures / np.where(spread > 0, spread, 1.0)).sum(axis=1), kind="stable")
    return x[np.sort(order[:most])]


def could_be_better(choices: Choices, x: Index, than: Index, apart: Apart | None = None) -> NDArray[np.bool_]:
    """(n,) whether some factors within the ranges make a row better than another in some objective."""
    both = shares(choices, np.concatenate([x, than]), apart)
    scores = evaluate(choices, np.concatenate([x, than]))
    ranges, many = choices.brief.ranges, len(x)
    swing = np.array([[-1.0], [1.0]])
    prices = (1.0 + swing * ranges.supplier_price) * (1.0 + swing * ranges.product_price)
    low, high = carbon_ranges(choices, both.articles)
    price, mass = both.price[:many] - both.price[many:], both.mass[:many] - both.mass[many:]
    labour = both.labour[:many] - both.labour[many:]
    cost = np.minimum(price * prices[0], price * prices[1]).sum(axis=1)
    cost += np.minimum(labour * (1.0 - ranges.labour), labour * (1.0 + ranges.labour))
    carbon = np.minimum(mass * low, mass * high).sum(axis=1)
    better = np.zeros(many, bool)
    for key in choices.brief.objectives.minimise:
        today = getattr(scores, key)[:many] - getattr(scores, key)[many:]
        least = cost if key == "cost_per_m2" else today + carbon if key in CARBON else today
        better |= least < -NOISE
    return better


def _among(rows: NDArray, known: NDArray) -> NDArray[np.bool_]:
    """(n,) whether each row is one of the known rows."""
    there = {row.tobytes() for row in np.ascontiguousarray(known)}
    return np.array([row.tobytes() in there for row in np.ascontiguousarray(rows)], bool)
