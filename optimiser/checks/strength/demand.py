"""What a brief may ask of the load-bearing studs."""

from __future__ import annotations

from typing import Literal

from materials.errors import Checked
from materials.models import NotNegative, Positive


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
