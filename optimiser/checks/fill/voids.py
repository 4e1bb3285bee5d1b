"""Whether blown fills can be filled so that they do not settle: every void of a wall against common practice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from materials.models import Material

from ...batch import WallBatch
from ...fill import practice as fill
from ...template import GAP
from ...wall.assemble import LayerParts
from ...wall.buildup import BuildUp, Layer
from .demand import FillDemand


@dataclass(frozen=True)
class Void:
    """One void of one wall: depth through the wall, volume between its members per m2, clear bay, all in m."""

    layers: tuple[int, ...]
    depth: float
    volume: float
    bay: float
    density: float  # kg/m3, against settling at this depth


def practice(demand: FillDemand) -> fill.Practice:
    """How a brief wants fills blown, in SI units."""
    return fill.Practice(
        chamber_height=demand.chamber_height_mm / 1000,
        narrowest=demand.narrowest_mm / 1000,
        deepest=demand.deepest_mm / 1000,
        widest=demand.widest_mm / 1000,
        bag_mass=demand.bag_kg,
    )


def needs(voids: list[Void], height: float, demand: FillDemand) -> fill.FillNeeds:
    """What the voids of a wall need, one after another. height: between plates [m]."""
    columns = [[getattr(each, name) for each in voids] for name in ("depth", "volume", "bay", "density")]
    depth, volume, bay, density = (np.array(column, float) for column in columns)
    return fill.needs(depth, volume, height, bay, density, practice(demand))


def voids_of(wall: BuildUp, parts: list[LayerParts], batch: WallBatch) -> list[Void]:
    """The voids that are blown full: neighbouring layers of one loose fill are one void.

    A material of the file's own that stands between members or in the gap and does not say what it is counts as one.
    """
    voids: list[Void] = []
    run: list[int] = []
    for number in range(len(wall.layers) + 1):
        loose = number < len(wall.layers) and _is_blown(wall.layers[number], parts[number].stock.material)
        if run and (not loose or wall.layers[number].material != wall.layers[run[0]].material):
            voids.append(_void(wall, parts, batch, run))
            run = []
        if loose:
            run.append(number)
    return voids


def _is_blown(layer: Layer, material: Material) -> bool:
    fills = layer.frame is not None or layer.role == GAP
    unsaid = material.kind is None and fills and bool(material.density_kg_m3)
    return layer.thickness_mm > 0 and (material.kind == "loose fill" or unsaid)


def _void(wall: BuildUp, parts: list[LayerParts], batch: WallBatch, run: list[int]) -> Void:
    share = batch.plain_share()[0]
    depth = sum(wall.layers[number].thickness_mm for number in run) / 1000
    volume = sum(wall.layers[number].thickness_mm / 1000 * share[number] for number in run)
    frames = [wall.layers[number].frame for number in run if wall.layers[number].frame]
    bays = [(each.spacing_mm - each.width_mm) / 1000 for each in frames if each.width_mm and each.spacing_mm]
    density = parts[run[0]].stock.material.installed_density(depth * 1000) or 0.0
    return Void(tuple(run), depth, float(volume), min(bays, default=0.5), density)
