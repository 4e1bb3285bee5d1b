"""What locks cost, what weights say and what can be saved of both, for the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html

from materials.errors import InputError
from optimiser.locales import many
from optimiser.search.landmarks import USUAL
from optimiser.wall.scores import OBJECTIVES

from ..front.deciding_parts import chips
from ..numbers import spelt
from ..rows.choose import Row, known_figures, slider_span
from ..source import FrontSource
from ..wall.steps import Names
from .locking import CellContents, Lock, costs, held, lock_words, offered, parted, with_locks
from .weighing import WeighingWords


def lock_parts(
    rows: list[Row], locks: Sequence[Lock], contents: CellContents, names: Names, source: FrontSource
) -> dict[str, Any]:
    """What is said of the locks that are set, and which walls hold them. rows: the front of one target."""
    if not locks:
        return {"held": None, "chips": [], "cost": [], "beside": "", "search_hidden": True, "part_hidden": True}
    holding = held(rows, locks, contents)
    return {
        "held": {"ids": [row["id"] for row in holding]},
        "chips": chips([(each.token, lock_words(each, names, source.currency)) for each in locks]),
        "cost": cost_words(rows, holding, source.currency, source.asked),
        "beside": beside_words(rows, holding),
        "search_hidden": source.alive or len(holding) == len(rows),
        "part_hidden": False,
    }


def lock_options(
    wall: Row | None, rows: list[Row], locks: Sequence[Lock], contents: CellContents, names: Names, currency: str
) -> list[dict[str, str]]:
    """The locks to choose from, each with how many walls would be left. wall: the chosen one."""
    offers = offered(wall, held(rows, locks, contents), locks, contents, names, currency)
    return [{"label": f"{each.words} ({many(each.count, 'wall')})", "value": each.lock.token} for each in offers]


def recalled(saved: Mapping[str, Sequence[float]], rows: Sequence[Row]) -> tuple[list[list[float]], list[str]]:
    """A saved set of limits on this front: where each slider stands, and its locks as the page keeps them."""
    spans, locks = parted(saved)
    values = []
    for key in OBJECTIVES:
        low, high, _ = slider_span(rows, key)
        span = spans.get(key, [low, high])
        values.append([min(max(span[0], low), high), max(min(span[1], high), low)])
    return values, [each.token for each in locks]


def cost_words(whole: list[Row], holding: list[Row], currency: str, asked: Sequence[str] = USUAL) -> list:
    """What the locks cost at each end of the front, or that nothing holds them."""
    if not holding:
        return ["No wall of this front holds all of these."]
    if len(holding) == len(whole):
        return ["Every wall of this front holds them: that costs nothing."]
    said: list = ["That costs: "]
    for number, each in enumerate(costs(whole, holding, currency, asked)):
        said += [" · " if number else "", f"{each.name} ", html.B(each.change), html.Span(f" ({each.left})")]
    return [*said, "."]


def beside_words(whole: list[Row], holding: list[Row]) -> str:
    """How many walls are left, and that a search of its own may find more."""
    if len(holding) in (0, len(whole)):
        return " "
    return (
        f" {many(len(holding), 'wall')} of {spelt(len(whole), ',')} left; under these locks the front may hold more. "
    )


def first_words(words: WeighingWords) -> list:
    """The first wall and its rival as links, with what is said of each."""
    said: list = [_go(words.first), words.stays]
    return [*said, _go(words.rival), words.besides] if words.rival else said


def _go(wall: str) -> html.Button:
    return html.Button(wall, id={"type": "go", "wall": wall}, className="quiet")


def weights_of(keys: list[str], values: tuple) -> dict[str, float]:
    """Figure -> weight, for the figures that are weighed."""
    return {key: float(value or 0) for key, value in zip(OBJECTIVES, values, strict=True) if key in keys}


def weighed_figures(source: Any) -> list[str]:
    """The objectives of the front that its rows have figures for."""
    asked = source.brief.objectives.minimise if source.brief else USUAL
    return [key for key in known_figures(source.rows, OBJECTIVES) if key in asked]


def set_to_save(spans: dict, ends: dict | None, locks: list[Lock]) -> dict[str, list[float]]:
    """The ranges that are narrowed, and the locks; InputError where there is nothing to save."""
    narrowed = {
        key: list(span)
        for key, span in spans.items()
        if span and ends and (span[0] > ends[key][0] or span[1] < ends[key][1])
    }
    if not narrowed and not locks:
        raise InputError("Nothing is narrowed or locked: there is nothing to save.")
    return with_locks(narrowed, locks)
