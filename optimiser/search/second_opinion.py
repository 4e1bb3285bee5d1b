"""A second opinion on a study: its rows rebuilt and judged, and its front held against walls that it may miss.

Shares no code with the searches. What both ask is how a wall is evaluated and checked, and what can be built: one
formula each. A small space is gone through whole; of a larger one every change of one and of two choices of every wall
of the front is tried, walls drawn at random from the whole space, and walls drawn near the front.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from materials.errors import InputError

from ..batch import Index
from ..brief.brief import read_brief
from ..brief.own_materials import catalogue_of
from ..brief.price_lists import pricing_of
from ..checks.common.search_judgement import Judgement
from ..space.buildable import space_size
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.judgements import judgements
from ..verification import candidates
from ..verification.account import account
from ..verification.equal_rows import equal_rows
from ..verification.front_rows import Standing, beaten_rows, holding_rows, lacking, standing_rows, strange_files
from ..verification.missed import MissedWalls
from ..verification.rebuilding import rebuilding
from ..verification.refusal import SUMMARY, Refusal
from ..verification.study_tables import read_equals, read_front, read_summary

MOST_LISTED = 1_000_000  # walls of a space that is gone through whole
MOST_TRIES = 100  # chunks drawn for each that is asked for, where hardly any row can be built
SMALLEST_DRAW = 5_000  # rows at a time: fewer would only be slower


@dataclass
class SecondOpinion:
    """What of a study does not hold, how many walls were tried, by kind, and those that should have been on the front.

    whole: every wall of the space was tried, so that nothing missed is a proof.
    """

    rows: int = 0  # of the front
    whole: bool = False
    refused: list[Refusal] = field(default_factory=list)
    tried: dict[str, int] = field(default_factory=dict)
    missed: list[dict[str, Any]] = field(default_factory=list)

    @property
    def total(self) -> int:
        return sum(self.tried.values())

    @property
    def agrees(self) -> bool:
        return not self.refused and not self.missed


def verify(
    folder: Path,
    draws: int = 1_000_000,
    seed: int = 1,
    watch: Callable[[str, int], None] | None = None,
    most_listed: int = MOST_LISTED,
) -> SecondOpinion:
    """Verify a study folder.

    draws: walls drawn from the whole space, and as many near the front, where the space has more than most_listed.
    InputError where the folder is no study, or its brief, lists or tables cannot be read at all.
    """
    if not (folder / SUMMARY).is_file():
        raise InputError(f"{folder}: is no study (expected a folder with study.json, front.csv and buildups/)")
    summary, rows = read_summary(folder), read_front(folder)
    brief = read_brief(folder / "brief.toml")
    catalogue = catalogue_of(brief)
    pricing, digests = pricing_of(brief, folder, catalogue)
    choices = Choices(brief, catalogue, pricing)
    size = space_size(choices)
    verdict = SecondOpinion(len(rows), size <= most_listed)
    standing, unfit = standing_rows(choices, rows)
    verdict.refused = account(summary, choices, digests, size, len(rows)) + strange_files(folder, rows) + unfit
    with rebuilding(folder, choices, standing) as refused:
        asked = judgements(choices)
        fronts = {each: [row for row in standing if row.target == each] for each in brief.target.all}
        holds = {target: holding_rows(choices, asked, of, target) for target, of in fronts.items()}
        walls = {target: _walls(choices, of, holds[target]) for target, of in fronts.items()}
        rng = np.random.default_rng(seed)
        tries = _listed(choices) if verdict.whole else _drawn(choices, walls, draws, rng)
        verdict.tried, verdict.missed = _tried(choices, asked, walls, tries, watch or (lambda kind, total: None))
        if watch is not None:
            watch("the rows of the front, each rebuilt from its build-up file", verdict.total)
        verdict.refused += refused()
    named = {each.row for each in verdict.refused}
    for target, of in fronts.items():
        verdict.refused += lacking(of, holds[target], named) + beaten_rows(choices, of, holds[target])
    verdict.refused += equal_rows(choices, asked, standing, read_equals(folder))
    if verdict.whole and verdict.total != size:
        verdict.refused.append(Refusal(SUMMARY, None, "space_size", f"{size}; listed one by one {verdict.total}"))
    return verdict


def _walls(choices: Choices, rows: list[Standing], holds: np.ndarray) -> Index:
    """The choices of the rows that hold what the brief asks: what a front may rest on."""
    x = [each.x for each, ok in zip(rows, holds, strict=True) if ok]
    return np.array(x, np.int32).reshape(len(x), len(choices.sizes))


def _tried(
    choices: Choices,
    asked: tuple[Judgement, ...],
    fronts: dict[float, Index],
    tries: Iterator[tuple[str, Index]],
    watch: Callable[[str, int], None],
) -> tuple[dict[str, int], list[dict[str, Any]]]:
    """Hold walls against the front of every target: how many by kind, and those that it misses."""
    keys = tuple(choices.brief.objectives.minimise)
    comparing = MissedWalls(choices, asked, {each: evaluate(choices, x).steps(keys) for each, x in fronts.items()})
    tried: dict[str, int] = {}
    for kind, x in tries:
        tried[kind] = tried.get(kind, 0) + len(x)
        comparing.look(x)
        watch(kind, sum(tried.values()))
    return tried, comparing.missed


def _listed(choices: Choices) -> Iterator[tuple[str, Index]]:
    for chunk in candidates.every(choices):
        yield "walls, all of the space", chunk


def _drawn(
    choices: Choices, fronts: dict[float, Index], draws: int, rng: np.random.Generator
) -> Iterator[tuple[str, Index]]:
    """Buildable walls to try, each once, in chunks, by kind."""
    once = candidates.Once(choices, rng)
    front = once.fresh(np.concatenate(list(fronts.values())))
    for chunk in candidates.changes(choices, front):
        yield "changes of one or two choices", once.fresh(chunk)
    size = min(candidates.CHUNK, max(SMALLEST_DRAW, 2 * draws))
    for x in _until(draws, lambda: candidates.anywhere(choices, rng, size)):
        yield "drawn from the whole space", once.fresh(x)
    if len(front):
        for x in _until(draws, lambda: candidates.nearby(choices, front, rng, size)):
            yield "drawn near the front", once.fresh(x)


def _until(draws: int, draw: Callable[[], Index]) -> Iterator[Index]:
    """Chunks until so many buildable walls are drawn, or too many rows that cannot be built."""
    done = tried = 0
    while done < draws and tried < MOST_TRIES * (1 + draws // candidates.CHUNK):
        x = draw()
        done, tried = done + len(x), tried + 1
        yield x
