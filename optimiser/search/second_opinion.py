"""A second opinion on a study's front, by plain evaluation; shares no code with the searches.

Tries every change of one and of two choices of every wall of the front, walls drawn at random from the whole space, and
walls drawn near the front, and names any that passes and that the front does not match.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from materials.catalogue import load_catalogue
from materials.errors import InputError

from ..batch import Index
from ..brief.brief import Brief, read_brief
from ..brief.price_lists import pricing_of
from ..checks.common.search_judgement import Judgement
from ..space.buildable import buildable, canonical
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.judgements import judgements, passes_all
from ..space.walls import in_short
from ..template import AT, FILL_VARIABLES, SLOTS, ZONE

STEPS = {
    "thickness_mm": 100,
    "cost_per_m2": 10_000,
    "carbon_kgco2e_m2": 10_000,
    "weight_kg_m2": 1_000,
    "whole_life_kgco2e_m2": 10_000,
}
CHUNK = 200_000
MOST_TRIES = 100  # chunks drawn for each that is asked for, where hardly any row can be built
NAMED = 20  # walls named at the most


@dataclass
class SecondOpinion:
    """How many walls were tried, by kind, and those that should have been on the front."""

    tried: dict[str, int] = field(default_factory=dict)
    missed: list[dict[str, Any]] = field(default_factory=list)

    @property
    def total(self) -> int:
        return sum(self.tried.values())


def verify(
    folder: Path, draws: int = 1_000_000, seed: int = 1, watch: Callable[[str, int], None] | None = None
) -> SecondOpinion:
    """Verify a study folder. draws: walls drawn from the whole space, and as many near the front, for each target."""
    if not (folder / "study.json").is_file():
        raise InputError(f"{folder}: is no study (expected a folder with study.json, front.csv and buildups/)")
    brief = read_brief(folder / "brief.toml")
    catalogue = load_catalogue()
    choices = Choices(brief, catalogue, pricing_of(brief, folder, catalogue)[0])
    rng, asked = np.random.default_rng(seed), judgements(choices)
    verdict, known = SecondOpinion(), set()
    for target, rows in _fronts(folder).items():
        x = np.array([_row(choices, row, folder) for row in rows], np.int32)
        ours = np.array([[_step(row, key) for key in brief.objectives.minimise] for row in rows], np.int64)
        for kind, drawn in _candidates(choices, x, draws, rng):
            verdict.tried[kind] = verdict.tried.get(kind, 0) + len(drawn)
            for wall in _better(choices, asked, drawn, ours, target):
                key = (target, tuple(wall.values()))
                if key not in known and len(known) < NAMED:
                    known.add(key)
                    verdict.missed.append(wall)
            if watch is not None:
                watch(kind, verdict.total)
    return verdict


def _fronts(folder: Path) -> dict[float, list[dict[str, str]]]:
    try:
        with (folder / "front.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
    except OSError as error:
        raise InputError(f"{folder}: is no study ({error.strerror})") from None
    fronts: dict[float, list[dict[str, str]]] = {}
    for row in rows:
        fronts.setdefault(float(row["target"]), []).append(row)
    return fronts


def _step(row: dict[str, str], key: str) -> int:
    return int(np.rint(float(row[key]) * STEPS[key]))


def _row(choices: Choices, row: dict[str, str], folder: Path) -> list[int]:
    """A row of `front.csv` back as choices."""
    numbers = [0] * len(choices.sizes)
    for name in (*SLOTS, *FILL_VARIABLES):
        options = choices.options[name] if name in choices.options else choices.fills[name]
        keys = [each.key for each in options]
        if name in ZONE and row[name] == "":
            continue
        if row[name] not in keys:
            raise InputError(f'{folder / "front.csv"}: {row["id"]}, column {name}: "{row[name]}" is not in the brief')
        numbers[AT[name]] = keys.index(row[name])
    return numbers


def _candidates(choices: Choices, front: Index, draws: int, rng: np.random.Generator) -> Iterator[tuple[str, Index]]:
    """Buildable walls to try, in chunks, by kind."""
    for wall in front:
        for chunk in _changes(choices, wall):
            yield "changes of one or two choices", chunk
    size = min(CHUNK, 8 * draws)
    yield from _drawn("drawn from the whole space", draws, lambda: _anywhere(choices, rng, size))
    if len(front):
        yield from _drawn("drawn near the front", draws, lambda: _nearby(choices, front, rng, size))


def _drawn(kind: str, draws: int, draw: Callable[[], Index]) -> Iterator[tuple[str, Index]]:
    """Chunks until so many buildable walls are drawn, or too many rows that cannot be built."""
    done = tried = 0
    while done < draws and tried < MOST_TRIES * (1 + draws // CHUNK):
        x = draw()
        done, tried = done + len(x), tried + 1
        yield kind, x


def _anywhere(choices: Choices, rng: np.random.Generator, size: int) -> Index:
    return _sound(choices, rng.integers(0, choices.sizes, size=(size, len(choices.sizes)), dtype=np.int32))


def _nearby(choices: Choices, front: Index, rng: np.random.Generator, size: int) -> Index:
    """Walls of the front with some choices, two to six on average, changed to anything."""
    x = front[rng.integers(0, len(front), size)]
    changed = rng.random(x.shape) < rng.integers(2, 7, size=(size, 1)) / x.shape[1]
    return _sound(choices, np.where(changed, rng.integers(0, choices.sizes, size=x.shape, dtype=np.int32), x))


def _changes(choices: Choices, wall: Index) -> Iterator[Index]:
    """Every row that differs from a wall in one or two choices and can be built."""
    single = {name: np.arange(size) for name, size in enumerate(choices.sizes) if size > 1}
    rows = []
    for one, other in combinations(single, 2):
        first, second = np.meshgrid(single[one], single[other], indexing="ij")
        x = np.repeat(wall[None], first.size, axis=0)
        x[:, one], x[:, other] = first.ravel(), second.ravel()
        rows.append(x)
    if rows:
        yield _sound(choices, np.concatenate(rows))


def _sound(choices: Choices, x: Index) -> Index:
    """The rows in their one form that can be built, each once."""
    x = np.unique(canonical(choices, x), axis=0)
    return x[buildable(choices, x)]


def _better(
    choices: Choices, asked: tuple[Judgement, ...], x: Index, front: NDArray[np.int64], target: float
) -> list[dict[str, Any]]:
    """Walls that hold target and limits and that no wall of the front equals or beats.

    Where the numerical U decides, the target is held by what R' alone reaches, and a judgement solves the rest.
    """
    if not len(x):
        return []
    brief: Brief = choices.brief
    scores = evaluate(choices, x)
    with np.errstate(invalid="ignore"):
        holds = (scores.u_least if brief.numeric.constraint else scores.u_value) <= target
    for key, limit in brief.limits.upper().items():
        holds &= getattr(scores, key) <= limit
    keys = brief.objectives.minimise
    rows = np.flatnonzero(holds)
    ours = np.stack([np.rint(getattr(scores, key)[rows] * STEPS[key]) for key in keys], axis=1)
    for wall in front:
        left = ~(wall <= ours).all(axis=1)
        rows, ours = rows[left], ours[left]
        if not len(rows):
            break
    rows = rows[passes_all(choices, asked, x[rows])] if len(rows) else rows
    return [
        {"target": target, "u_value": float(scores.u_value[row]), "in_short": in_short(choices, x[row])}
        | {key: float(getattr(scores, key)[row]) for key in keys}
        for row in rows[:NAMED]
    ]
