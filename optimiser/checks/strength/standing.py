"""Whether the load-bearing studs stand: loads of a wall or a brief into the preliminary check of EN 1995-1-1."""

from __future__ import annotations

import numpy as np

from ...batch import Array
from ...strength import loads as actions
from ...strength import stud
from ...strength.classes import timber
from ...strength.national_parameters import Settings
from ...template import OUTER_FRAME
from ...wall.buildup import Loads
from ...wall.places import Places
from .demand import StrengthDemand

KILO = 1000.0


def wall_loads(given: Loads) -> actions.WallLoads:
    """Characteristic loads at the foot of the studs: as given per metre, and what storeys and spans bring besides."""
    per_metre = actions.WallLoads(
        permanent=given.permanent_kn_m * KILO,
        imposed=given.imposed_kn_m * KILO,
        snow=given.snow_kn_m * KILO,
        wind=given.wind_kn_m2 * KILO,
    )
    if given.storeys is None:
        return per_metre
    carried = actions.carried(
        storeys=given.storeys,
        storey_height=height(given),
        floor_span=given.floor_span_m,
        floor_permanent=given.floor_permanent_kn_m2 * KILO,
        floor_imposed=given.floor_imposed_kn_m2 * KILO,
        roof_span=given.roof_span_m,
        roof_permanent=given.roof_permanent_kn_m2 * KILO,
        snow=given.roof_snow_kn_m2 * KILO,
        wall_permanent=given.wall_permanent_kn_m2 * KILO,
        eaves=given.eaves_m,
    )
    names = ("permanent", "imposed", "snow")
    return actions.WallLoads(
        **{name: getattr(per_metre, name) + getattr(carried, name) for name in names}, wind=per_metre.wind
    )


def height(given: Loads) -> float:
    """Stud length between the plates [m]; 2.7 m where nothing is given (common practice)."""
    return (given.height_mm or 2700.0) / 1000


def settings_of(demand: StrengthDemand) -> Settings:
    return Settings(**demand.model_dump(exclude={"load_bearing"}))


def service_class(given: Loads, demand: StrengthDemand) -> int:
    """Service class of the studs (EN 1995-1-1): as given, or 2 in the outer frame and 1 further in."""
    return given.service_class or (2 if demand.load_bearing == OUTER_FRAME else 1)


def bearing_layer(places: Places, demand: StrengthDemand) -> int | None:
    """Position of the layer whose studs bear the load; None where a wall has no such frame."""
    return places.outer_frame if demand.load_bearing == OUTER_FRAME else places.inner_frame


def check(
    depth: Array, width: Array, spacing: Array, classes: list[str], given: Loads, demand: StrengthDemand
) -> stud.Strength:
    """The preliminary check of n studs: depth, width, spacing (n,) [m], strength classes (n)."""
    size = stud.Stud(
        depth=np.asarray(depth, float),
        width=np.asarray(width, float),
        spacing=np.asarray(spacing, float),
        length=height(given),
        timber=timber(classes),
        service_class=service_class(given, demand),
        restrained=given.weak_axis_restrained,
    )
    return stud.check(size, wall_loads(given), settings_of(demand))
