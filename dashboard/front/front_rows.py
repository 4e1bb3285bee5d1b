"""The rows of a front as the plot takes them: with the floor that each wall takes, target by target."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from optimiser.wall.scores import WHOLE_LIFE

from ..rows.choose import Row, by_id, histogram, known_figures, slider_span, with_percent
from ..source import FrontSource
from ..words import QUANTITIES
from .plot_axes import Look


@dataclass(frozen=True)
class PlotRows:
    """What one plot shows. whole: the front of its target; shown: what ranges and locks leave of it; others: the fronts
    of other targets; mine: one's own wall."""

    whole: list[Row]
    shown: list[Row]
    others: list[Row]
    mine: Row | None
    look: Look


def floor_m2(source: FrontSource) -> float | None:
    """Floor area within the reference walls of the brief's house [m2]; None without one whose outside is fixed."""
    house = source.brief.house if source.brief else None
    return float(house.floor_area(house.reference_m)) if house is not None and house.fixed == "outside" else None


def front_rows(source: FrontSource) -> list[Row]:
    """The rows of all targets with the figures that the page adds."""
    return with_percent(source.rows, floor_m2(source))


def my_row(mine: Mapping[str, Any] | None, source: FrontSource) -> Row | None:
    """One's own wall as a row beside those of the front; None where there is none."""
    return with_percent([mine["row"]], floor_m2(source))[0] if mine else None


def cloud_of(source: FrontSource, target: float | None) -> dict[str, list[float]]:
    """The walls behind the front of one target, with the floor that they take from the brief's house."""
    cloud = source.cloud
    if target is not None and cloud.get("target"):
        places = [number for number, each in enumerate(cloud["target"]) if abs(each - target) < 1e-9]
        cloud = {key: [values[number] for number in places] for key, values in cloud.items()}
    floor = floor_m2(source)
    if floor is None or not cloud.get("thickness_mm"):
        return cloud
    house, thicknesses = source.brief.house, [each / 1000 for each in cloud["thickness_mm"]]
    lost = {"floor_area_lost_m2": house.floor_area_lost, "floor_lost_percent": house.floor_area_lost_percent}
    return cloud | {key: figure(thicknesses).tolist() for key, figure in lost.items()}


def bar_heights(rows: Sequence[Row], key: str) -> list[int]:
    """A small histogram over a slider: heights of its bars [%]."""
    counts = histogram([row[key] for row in rows if row.get(key) is not None], slider_span(rows, key)[:2])
    top = max([*counts, 1])
    return [0 if count == 0 else max(8, round(100 * count / top)) for count in counts]


# -- what the question offers --------------------------------------------------------------------------------------


def noun_options(rows: Sequence[Row]) -> list[dict[str, str]]:
    """What the nouns of the question can be set to: the figures that the front has."""
    return [{"label": QUANTITIES[key].noun, "value": key} for key in known_figures(rows, QUANTITIES)]


def first_question(source: FrontSource) -> str:
    """What runs across at first: floor area lost on a plot that fixes the outside, else the thickness."""
    lost = floor_m2(source) is not None and known_figures(source.rows, ["floor_area_lost_m2"])
    return "floor_area_lost_m2" if lost else "thickness_mm"


def carbon_asked(source: FrontSource) -> str:
    """What runs up at first: embodied carbon, or whole-life carbon where the brief minimises that instead."""
    minimised = source.brief.objectives.minimise if source.brief else ()
    whole_life = WHOLE_LIFE in minimised and "carbon_kgco2e_m2" not in minimised
    return WHOLE_LIFE if whole_life else "carbon_kgco2e_m2"


def chosen_nouns(
    source: FrontSource, options: Sequence[Mapping[str, str]], values: Sequence[str], asked: Any
) -> list[str]:
    """What the three nouns are set to: as the reader has them; the usual ones where nothing was asked or known."""
    known = [each["value"] for each in options]
    usual = (first_question(source), carbon_asked(source), "cost_per_m2")
    return [
        value if asked and value in known else first if first in known else known[0]
        for value, first in zip(values, usual, strict=True)
    ]


def chosen_target(source: FrontSource, offered: Sequence[float], wall: str | None, value: float | None) -> float | None:
    """Which target is shown: the reader's, else that of the wall in the address, else the brief's first."""
    if value in offered:
        return value
    row = by_id(source.rows, wall)
    if row is not None and row.get("target") in offered:
        return row["target"]
    first = source.brief.target.u_value if source.brief else None
    return first if first in offered else (offered[0] if offered else None)
