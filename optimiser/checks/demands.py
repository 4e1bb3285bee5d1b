"""What a brief asks of a wall besides heat, and under which climate: records read from files."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from materials.errors import Checked

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]


class MoistureDemand(Checked):
    """Limits of the moisture checks. DIN 4108-3 and DIN 68800-2, from memory, unless the brief sets others."""

    max_condensate_g_m2: NotNegative = 500.0  # 1000 where every layer beside the wet plane takes up water
    min_drying_reserve_g_m2: float | None = None  # 100 for walls, 250 for roofs where nothing is given
    mould_inside: Literal["shown", "limit"] = "shown"
    least_sd_ratio: NotNegative = 5.0  # common practice; a flag, not a limit


class StrengthDemand(Checked):
    """Which frame bears the load, and what a national annex may choose (EN 1990, EN 1995-1-1)."""

    load_bearing: Literal["outer frame", "inner frame"] = "outer frame"
    gamma_g: Positive = 1.35
    gamma_q: Positive = 1.5
    gamma_m: Positive = 1.3
    psi0_imposed: NotNegative = 0.7
    psi0_snow: NotNegative = 0.5
    psi0_wind: NotNegative = 0.6
    k_sys: Positive = 1.0
    k_c90: Positive = 1.25
    deflection_limit: Positive = 300.0


class FillDemand(Checked):
    """How blown fills are installed (common practice); a supplier's own values go before."""

    chamber_height_mm: Positive = 3000.0
    narrowest_mm: Positive = 50.0
    deepest_mm: Positive = 500.0
    widest_mm: Positive = 1000.0
    bag_kg: Positive = 12.5


class Checks(Checked):
    """Which checks rule walls out in a search. What is off is not checked, and said to be so."""

    moisture: bool = False
    strength: bool = False
    fill: bool = False
