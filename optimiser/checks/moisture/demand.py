"""What a brief may ask of moisture."""

from __future__ import annotations

from typing import Literal

from materials.errors import Checked
from materials.models import NotNegative


class MoistureDemand(Checked):
    """Limits of the moisture checks. DIN 4108-3 and DIN 68800-2, from memory, unless the brief sets others."""

    max_condensate_g_m2: NotNegative = 500.0  # 1000 where every layer beside the wet plane takes up water
    min_drying_reserve_g_m2: float | None = None  # 100 for walls, 250 for roofs where nothing is given
    mould_inside: Literal["shown", "limit"] = "shown"
    least_sd_ratio: NotNegative = 5.0  # common practice; a flag, not a limit
