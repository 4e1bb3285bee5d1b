"""A row of a front rebuilt from its build-up file and judged as `check` does, held to what the row says."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from materials.errors import InputError
from materials.untrusted import read_within

from ..batch import Index
from ..brief.as_judged import judge_by
from ..checks.check_table import switched_on
from ..checks.judge import Judged
from ..space.choices import Choices
from ..space.walls import buildup, in_short
from ..wall.buildup import BuildUp, parse_buildup
from ..wall.scores import WHOLE_LIFE
from .refusal import BUILDUPS, FRONT, Refusal
from .study_tables import FIGURES, Cells, number

ROUNDING = 1e-7  # relative, and absolute near 0, of figures: a build-up file carries ten decimals
TEN_DECIMALS = 1e-9  # of the numbers in a build-up file
SHARES = ("stability", "chance")
MOST_BYTES = 1_000_000  # of a build-up file


def rebuilt(folder: Path, choices: Choices, cells: Cells, x: Index, target: float | None) -> list[Refusal]:
    """What does not hold of one row: its build-up file against its choices x, its figures against the file's wall.

    target [W/m2K]: None where the row's own is none of the brief.
    """
    wall, refused = _wall(folder, choices, cells["id"], x)
    faults: list[tuple[str | None, str]] = []
    if cells["in_short"] != in_short(choices, x):
        faults.append(("in_short", f'expected "{in_short(choices, x)}"'))
    try:
        judged = judge_by(choices.brief, wall, choices.pricing, choices.catalogue)
    except InputError as error:
        faults.append((None, f"its build-up cannot be judged: {error}"))
    else:
        faults += [*_differing(choices, cells, judged), *_numeric(cells, judged)]
        faults += [] if target is None else _lacking(choices, judged, target)
    return refused + [Refusal(FRONT, cells["id"], column, reason) for column, reason in faults]


def _wall(folder: Path, choices: Choices, wall: str, x: Index) -> tuple[BuildUp, list[Refusal]]:
    """The wall of the build-up file; the one that the row's choices give where there is none to be read."""
    ours, place = buildup(choices, x, wall), f"{BUILDUPS}/{wall}.toml"
    try:
        text = read_within(folder / place, MOST_BYTES, "a build-up").decode("utf-8")
        there = parse_buildup(text, choices.catalogue, place)
    except UnicodeDecodeError:
        return ours, [Refusal(place, wall, None, "cannot be read as UTF-8 text")]
    except InputError as error:
        reason = str(error).removeprefix(f"{folder / place}: ").removeprefix(f"{place}: ")
        return ours, [Refusal(place, wall, None, reason if (folder / place).exists() else "is missing")]
    return there, [Refusal(place, wall, column, reason) for column, reason in differences(there, ours)]


def _differing(choices: Choices, cells: Cells, judged: Judged) -> Iterator[tuple[str, str]]:
    """Columns that are not what the wall's build-up gives."""
    house, thickness = choices.brief.house, judged.thickness_mm
    lost = math.nan if house is None else float(house.floor_area_lost(thickness / 1000))
    gives = {key: getattr(judged, key) for key in FIGURES} | {"floor_area_lost_m2": None if math.isnan(lost) else lost}
    if WHOLE_LIFE in cells:
        gives[WHOLE_LIFE] = whole_life(judged) if choices.brief.operation else None  # as the column is written
    for column, figure in gives.items():
        if not fits(cells[column], figure):
            expected = "no figure" if figure is None else f"{figure:.10g}"
            yield column, f'"{cells[column]}" where the build-up gives {expected}'
    for column in SHARES:
        share = number(cells.get(column, ""))
        if cells.get(column) and not (share is not None and 0 <= share <= 1):
            yield column, f'"{cells[column]}" is no share; expected 0 to 1'


def _numeric(cells: Cells, judged: Judged) -> Iterator[tuple[str, str]]:
    """The solved U, where it is there, lies between the bounds of ISO 6946: it is not solved again."""
    if not cells.get("u_numeric"):
        return
    u_value, error = number(cells["u_numeric"]), number(cells.get("u_numeric_error", ""))
    if error is None or error < 0:
        yield "u_numeric_error", f'"{cells.get("u_numeric_error", "")}" is no error of a solved U'
    least, most = (1.0 / each + judged.heat.correction for each in (judged.heat.r_upper, judged.heat.r_lower))
    if u_value is None or not least <= u_value + (error or 0.0) or not u_value - (error or 0.0) <= most:
        yield "u_numeric", f'"{cells["u_numeric"]}" where the wall lies between {least:.6g} and {most:.6g}'


def _lacking(choices: Choices, judged: Judged, target: float) -> Iterator[tuple[str | None, str]]:
    """What the wall of the file misses of target, limits and checks."""
    brief = choices.brief
    if not brief.numeric.constraint and not judged.u_value <= target * (1 + ROUNDING):
        yield "u_value", f"misses the target: {judged.heat.refused or f'{judged.u_value:.6g}, at most {target:g}'}"
    for key, limit in brief.limits.upper().items():
        figure = whole_life(judged) if key == WHOLE_LIFE else getattr(judged, key)
        if figure is None or figure > limit + ROUNDING * abs(limit):
            yield key, f"{'unknown' if figure is None else f'{figure:.6g}'} is above the limit of {limit:g}"
    for check in switched_on(brief):
        if check.name in judged.verdicts.failed:
            yield None, f"fails the check of {check.label}"


def fits(cell: str, figure: float | None) -> bool:
    """Whether a cell says a figure, to rounding; an empty one that there is none."""
    if figure is None or math.isnan(figure):
        return cell == ""
    value = number(cell)
    return value is not None and math.isclose(value, figure, rel_tol=ROUNDING, abs_tol=ROUNDING)


def whole_life(judged: Judged) -> float | None:
    """Whole-life carbon as a search counts it: the embodied alone where no heat source is given [kgCO2e/m2]."""
    return judged.carbon_kgco2e_m2 if judged.carbon.operational is None else judged.carbon.whole_life


def differences(there: BuildUp, expected: BuildUp) -> Iterator[tuple[str, str]]:
    """Where a build-up file is not the one that the row's choices give: layer or key, and what it has instead."""
    roles = [[layer.role for layer in each.layers] for each in (there, expected)]
    for role in dict.fromkeys(roles[0] + roles[1]):
        counts = [each.count(role) for each in roles]
        if counts[0] != counts[1]:
            yield role, f"stands in the file {counts[0]} times; by the row's choices {counts[1]} times"
    if roles[0] != roles[1]:
        if sorted(roles[0]) == sorted(roles[1]):
            yield "layer", "the layers do not stand in the order of the row's choices"
        return
    for layer, other in zip(there.layers, expected.layers, strict=True):
        for key in type(layer).model_fields:
            one, two = getattr(layer, key), getattr(other, key)
            if not alike(one, two):
                yield layer.role, f"{key} is {in_words(one)}; the row's choices give {in_words(two)}"
    for key, material in there.materials.items():
        if key in expected.materials and not alike(material, expected.materials[key]):
            yield f"materials.{key}", "its values are not those of the catalogue and lists"
    for key in ("name", "element", "outside", "conditions", "loads", "corrections"):
        if not alike(getattr(there, key), getattr(expected, key)):
            yield key, "is not what the brief and the row give"


def alike(one: Any, two: Any) -> bool:
    """Whether two parts of build-ups say the same, numbers to the decimals of a file; sources are told by none."""
    if isinstance(one, float | int) and isinstance(two, float | int):
        return abs(one - two) <= TEN_DECIMALS
    if isinstance(one, BaseModel) and type(one) is type(two):
        return one is two or all(
            alike(getattr(one, key), getattr(two, key)) for key in type(one).model_fields if key != "sources"
        )
    if isinstance(one, tuple) and isinstance(two, tuple):
        return len(one) == len(two) and all(map(alike, one, two))
    if isinstance(one, dict) and isinstance(two, dict):
        return one.keys() == two.keys() and all(alike(one[key], two[key]) for key in one)
    return one == two


def in_words(part: Any) -> str:
    """A part of a layer for a message: its value, or the values of a frame or tie."""
    if isinstance(part, BaseModel):
        return ", ".join(f"{key} {value}" for key, value in part.model_dump(exclude_defaults=True).items())
    return "nothing" if part is None else str(part)
