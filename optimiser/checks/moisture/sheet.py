"""Moisture in the calculation sheet: surface, condensation and drying by month, drying reserve, mould."""

from __future__ import annotations

import numpy as np

from ...document import NONE, DocumentPart, DocumentTable, Facts, Text, exact, in_print, number, passed, percent
from ...moisture import humid_air, surface
from ...wall.buildup import BuildUp
from ...wall.climate import MONTHS, climate_of, surface_r
from .demand import MoistureDemand
from .dryness import least_reserve
from .verdict import MoistureVerdict
from .water import water_tables
from .words import CAUTION


def _asked_of_the_surface(verdict: MoistureVerdict) -> str:
    least = verdict.f_rsi_required
    return "no month asks for any" if least is None else f"at least {number(least, 3)} in {verdict.month}"


def moisture_parts(wall: BuildUp, verdict: MoistureVerdict, demand: MoistureDemand) -> tuple[DocumentPart, ...]:
    """What was judged, with its limits; the climate, the surface and the water by month."""
    limit = verdict.margins.condensate + verdict.peak_g_m2
    least = least_reserve(demand, wall.element)
    points = verdict.mould_margin_percent
    ratio = verdict.sd_ratio
    climate = "" if verdict.climate_given else ", under the shipped climate, which nobody gave for this wall"
    pairs = (
        ("verdict", f"{passed(verdict.passes)}{climate}"),
        (
            "temperature factor of the inside surface",
            f"fRsi = {number(verdict.f_rsi, 3)}, {_asked_of_the_surface(verdict)} (ISO 13788)",
        ),
        ("condensate when wettest", f"{number(verdict.peak_g_m2, 1)} g/m², at most {number(limit, 0)} (DIN 4108-3)"),
        ("condensate left after the year", f"{number(verdict.left_g_m2, 1)} g/m², none allowed (ISO 13788)"),
        (
            "drying reserve",
            f"{number(verdict.drying_reserve_g_m2, 0)} g/m², at least {number(least, 0)} (DIN 68800-2)",
        ),
        (
            "vapour resistance inside to outside",
            NONE if ratio is None else f"{number(ratio, 1)} : 1, shown, not a limit",
        ),
        (
            "mould at the sheathing",
            "too cold for it in every month"
            if points is None
            else f"{number(abs(points), 1)} points of relative humidity {'below' if points >= 0 else 'above'} the "
            f"critical one in {verdict.mould_month} (Hukka and Viitanen 1999)"
            + ("" if verdict.mould_limited else ", shown, not a limit"),
        ),
    )
    parts: list[DocumentPart] = [
        Facts(pairs),
        Text(CAUTION),
        *(Text(f"Take note: {in_print(each)}.") for each in verdict.flags),
    ]
    parts += [*_surface_table(wall, verdict), *water_tables(wall, verdict)]
    return tuple(parts)


def _surface_table(wall: BuildUp, verdict: MoistureVerdict) -> list[DocumentPart]:
    """The climate and what it asks of the inside surface; the surface with the wall's own U."""
    conditions = wall.conditions
    climate = climate_of(conditions)
    required = surface.required_factor(climate.outdoor_temperature, climate.indoor_temperature, climate.indoor_pressure)
    factor = verdict.f_rsi
    rows = []
    for month, name in enumerate(MONTHS):
        t_out, t_in = float(climate.outdoor_temperature[month]), float(climate.indoor_temperature[month])
        p_out, p_in = float(climate.outdoor_pressure[month]), float(climate.indoor_pressure[month])
        at_surface = t_out + factor * (t_in - t_out)
        asked = float(required[month])
        rows.append(
            (
                name,
                number(t_out, 1),
                percent(p_out / float(humid_air.saturation_pressure(t_out)), 0),
                number(t_in, 1),
                percent(p_in / float(humid_air.saturation_pressure(t_in)), 0),
                number(p_in, 0),
                number(at_surface, 1),
                percent(p_in / float(humid_air.saturation_pressure(at_surface)), 0),
                NONE if not np.isfinite(asked) else number(asked, 3),
            )
        )
    heads = (
        "month",
        "outside, °C",
        "humidity outside",
        "inside, °C",
        "humidity inside",
        "vapour inside, Pa",
        "surface, °C",
        "humidity at it",
        "fRsi needed",
    )
    words = (
        f"Below, the surface has fRsi = {number(factor, 3)} with Rsi = {exact(surface_r(conditions))} m²K/W; needed is "
        f"what keeps the humidity at it at or below {percent(surface.LIMIT, 0)}."
    )
    return [Text(words, quiet=True, kept=True), DocumentTable("Climate and inside surface", heads, tuple(rows))]
