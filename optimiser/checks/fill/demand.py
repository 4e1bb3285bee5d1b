"""What a brief may say of blowing in."""

from __future__ import annotations

from materials.errors import Checked
from materials.models import Positive


class FillDemand(Checked):
    """How blown fills are installed (common practice); a supplier's own values go before."""

    chamber_height_mm: Positive = 3000.0
    narrowest_mm: Positive = 50.0
    deepest_mm: Positive = 500.0
    widest_mm: Positive = 1000.0
    bag_kg: Positive = 12.5
