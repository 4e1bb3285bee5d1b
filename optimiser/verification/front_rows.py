"""The rows of a front as a table of walls: each of the brief, with a file of its own, and beaten by no other."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..batch import Index
from ..checks.common.search_judgement import Judgement
from ..space.buildable import RULES, canonical, violations
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..space.judgements import passes_all
from ..space.rivals import number_of
from ..template import VARIABLES
from .refusal import BUILDUPS, FRONT, Refusal
from .study_tables import Cells, number

ID = re.compile(r"W[0-9.e-]*-[0-9]{3,9}")


@dataclass(frozen=True)
class Standing:
    """A row of the front that is a wall of the brief: its choices, and the target that it is for (None: of none)."""

    id: str
    cells: Cells
    x: Index
    target: float | None


def standing_rows(choices: Choices, rows: list[Cells | None]) -> tuple[list[Standing], list[Refusal]]:
    """The rows that are walls which can be built from the brief, and what is to be said of the others."""
    out: list[Standing] = []
    refused: list[Refusal] = []
    ids: set[str] = set()
    for at, cells in enumerate(rows, 1):
        if cells is None:
            refused.append(Refusal(FRONT, f"row {at}", None, "has not as many cells as the header"))
            continue
        if not ID.fullmatch(cells["id"]):
            words = f'"{cells["id"]}" is no id that a search gives'
            refused.append(Refusal(FRONT, cells["id"] or f"row {at}", "id", words))
        elif cells["id"] in ids:
            refused.append(Refusal(FRONT, cells["id"], "id", "stands there twice"))
        else:
            ids.add(cells["id"])
            target, x, unfit = number(cells["target"]), *_choices(choices, cells)
            refused += unfit
            if target not in choices.brief.target.all:
                asked = ", ".join(f"{each:g}" for each in choices.brief.target.all)
                words = f'"{cells["target"]}" is no target of the brief; expected {asked}'
                refused.append(Refusal(FRONT, cells["id"], "target", words))
                target = None
            if x is not None:
                out.append(Standing(cells["id"], cells, x, target))
    return out, refused


def _choices(choices: Choices, cells: Cells) -> tuple[Index | None, list[Refusal]]:
    """A row as choices; None where the brief does not offer one of them, or no wall can be built of them."""
    faults: list[tuple[str | None, str]] = []
    numbers = [number_of(choices, name, cells) for name in VARIABLES]
    if None in numbers:
        missing = [name for name, at in zip(VARIABLES, numbers, strict=True) if at is None]
        faults = [(name, f'"{cells[name]}" is not among the choices of the brief') for name in missing]
    else:
        x = np.array([numbers], np.int32)
        moved = np.flatnonzero((canonical(choices, x) != x)[0])
        faults += [
            (VARIABLES[at], f'"{cells[VARIABLES[at]]}" cannot stand beside the rest of the wall') for at in moved
        ]
        broken = np.flatnonzero(violations(choices, x)[0])
        faults += [(None, f"cannot be built; expected {list(RULES.values())[at]}") for at in broken]
    refused = [Refusal(FRONT, cells["id"], column, reason) for column, reason in faults]
    return (None if faults else x[0]), refused


def strange_files(folder: Path, rows: list[Cells | None]) -> list[Refusal]:
    """What lies among the build-up files and belongs to no row."""
    place = folder / BUILDUPS
    known = {f"{cells['id']}.toml" for cells in rows if cells is not None}
    names = sorted(each.name for each in place.iterdir()) if place.is_dir() else []
    strange = [name for name in names if name not in known]
    return [Refusal(f"{BUILDUPS}/{name}", None, None, f"belongs to no row of {FRONT}") for name in strange]


def holding_rows(
    choices: Choices, asked: tuple[Judgement, ...], standing: list[Standing], target: float
) -> NDArray[np.bool_]:
    """(n,) which of the rows of a target hold it, the limits and the checks of the brief, by their choices."""
    if not standing:
        return np.zeros(0, bool)
    x = np.stack([each.x for each in standing])
    holds = (excess(evaluate(choices, x), choices.brief, target) <= 0).all(axis=1)
    holds[holds] = passes_all(choices, asked, x[holds])
    return holds


def lacking(standing: list[Standing], holds: NDArray[np.bool_], named: Collection[str]) -> list[Refusal]:
    """The rows that do not hold what the brief asks, less those of which something is told already."""
    words = "does not hold the target, limits and checks of the brief"
    rows = [each for each, ok in zip(standing, holds, strict=True) if not ok and each.id not in named]
    return [Refusal(FRONT, each.id, None, words) for each in rows]


def beaten_rows(choices: Choices, standing: list[Standing], holds: NDArray[np.bool_]) -> list[Refusal]:
    """Rows of one target that another, which holds all that is asked, beats or equals in every objective."""
    if not standing:
        return []
    x = np.stack([each.x for each in standing])
    steps = evaluate(choices, x).steps(tuple(choices.brief.objectives.minimise))
    out = []
    for at, row in enumerate(standing):
        no_worse = holds & (steps <= steps[at]).all(axis=1)
        equal = no_worse & (steps == steps[at]).all(axis=1)
        for other in np.flatnonzero(no_worse & ~equal)[:1]:
            out.append(Refusal(FRONT, row.id, None, f"is beaten by {standing[other].id}"))
        for other in np.flatnonzero(equal[:at])[:1]:
            words = "is the same wall as" if (x[other] == x[at]).all() else "equals in every objective"
            out.append(Refusal(FRONT, row.id, None, f"{words} {standing[other].id}"))
    return out
