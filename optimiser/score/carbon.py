"""Embodied carbon of what is built in: EN 15978, modules A1-A3, fossil and land use.

Biogenic carbon stored is kept apart and never netted off: over A to C it goes in and comes out again.
"""

from __future__ import annotations

from materials.models import Material

from ..batch import Array, WallBatch
from .area import per_layer

CARBON_STEPS_PER_KG = 10_000  # the search compares whole steps of 0.1 g


def embodied(batch: WallBatch) -> Array:
    """Embodied carbon per m2 of wall over the modules that count (n,) [kgCO2e/m2]."""
    return per_layer(batch, "carbon").sum(axis=1)


def biogenic(batch: WallBatch) -> Array:
    """Biogenic carbon stored per m2 of wall (n,) [kgCO2/m2], negative."""
    return per_layer(batch, "biogenic").sum(axis=1)


def per_kg(material: Material) -> tuple[float, float]:
    """Fossil and biogenic carbon of a material [kgCO2e/kg]; NaN where nothing is known."""
    known = material.fossil_kgco2e_kg
    unknown = float("nan")
    stored = material.biogenic_kgco2e_kg
    return (
        unknown if known is None else known,
        (0.0 if known is not None else unknown) if stored is None else stored,
    )
