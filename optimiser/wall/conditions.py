"""What stands around a wall: its climate and surfaces, `[conditions]`, and what it bears, `[loads]`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from materials.errors import Checked

from .quantities import (
    AreaLoad,
    Humidity,
    IndoorMonths,
    Indoors,
    LineLoad,
    Margin,
    OutdoorMonths,
    Span,
    Surface,
    Tall,
)


class Conditions(Checked):
    """Climate and surface resistances for a wall judged by itself."""

    indoor_temperature_c: Indoors | IndoorMonths = 20.0
    indoor_humidity_class: Literal[1, 2, 3, 4] | None = None
    indoor_rh_percent: Humidity | Annotated[tuple[Humidity, ...], Field(min_length=12, max_length=12)] | None = None
    humidity_margin: Margin = 1.1
    outdoor_temperature_c: OutdoorMonths | None = None
    outdoor_rh_percent: Annotated[tuple[Humidity, ...], Field(min_length=12, max_length=12)] | None = None
    surface_r_inside: Surface | None = None
    surface_r_outside: Surface | None = None
    surface_r_inside_moisture: Surface | None = None


class Loads(Checked):
    """Characteristic loads on the load-bearing frame: per metre of wall, or from storeys and spans, or both added."""

    height_mm: Tall | None = None
    permanent_kn_m: LineLoad = 0.0
    imposed_kn_m: LineLoad = 0.0
    snow_kn_m: LineLoad = 0.0
    wind_kn_m2: AreaLoad = 0.0
    service_class: Literal[1, 2, 3] | None = None
    weak_axis_restrained: bool = True
    storeys: Annotated[int, Field(ge=1, le=6)] | None = None  # that stand on the wall, its own included
    floor_span_m: Span = 0.0
    floor_permanent_kn_m2: AreaLoad = 0.0
    floor_imposed_kn_m2: AreaLoad = 0.0
    roof_span_m: Span = 0.0
    roof_permanent_kn_m2: AreaLoad = 0.0
    roof_snow_kn_m2: AreaLoad = 0.0  # on plan, shape coefficient included
    eaves_m: Span = 0.0
    wall_permanent_kn_m2: AreaLoad = 0.0  # the wall's own weight, per m2 of its face
