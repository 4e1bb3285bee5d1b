"""What a brief may say of blowing in."""

from __future__ import annotations

from typing import Annotated

from materials.errors import Checked
from materials.slips import GRAMS, METRES, within


class FillDemand(Checked):
    """How blown fills are installed (common practice); a supplier's own values go before."""

    chamber_height_mm: Annotated[float, within(300, 30_000, "mm", METRES)] = 3000.0
    narrowest_mm: Annotated[float, within(1, 1000, "mm", METRES)] = 50.0
    deepest_mm: Annotated[float, within(10, 5000, "mm", METRES)] = 500.0
    widest_mm: Annotated[float, within(10, 10_000, "mm", METRES)] = 1000.0
    bag_kg: Annotated[float, within(0.5, 2000, "kg", GRAMS)] = 12.5
