"""Single changes to a wall that could mend a check it fails: another sheet, stud, spacing or gap, each as a new wall.

From the products of the price lists, or without lists from the catalogue in the same thickness and in stock sizes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from materials.catalogue import Catalogue
from materials.models import Material

from ...batch import WallBatch
from ...template import AIRTIGHT, MEMBER_SLOTS, OUTER_FRAME, SERVICE_ZONE, SHEETS, USE_OF
from ...wall.buildup import BuildUp, Frame, Layer
from ...wall.layers import Stock, sawn, shelve, vapour
from ...wall.offered import candidates
from ...wall.pricing import Pricing, batt_lines, stacked

STOCK_DEPTHS_MM = (45, 60, 70, 95, 120, 145, 170, 195, 220, 245, 300)  # common practice, where no price list tells
STOCK_WIDTHS_MM = (38, 45, 60, 80)
SPACINGS_MM = (600.0, 400.0, 300.0)  # common practice
GAP_STEP_MM = 10.0
SAME = 1e-6  # mm


@dataclass(frozen=True)
class Change:
    """One change in words, and the wall with it made. Changes of one `like` differ only in who sells the thing."""

    words: str
    wall: BuildUp
    like: tuple[str | float, ...]


@dataclass(frozen=True)
class Candidate:
    """A change with its wall as a batch of one. cost: per m2 of the layers whose cost is known; 0 without lists."""

    change: Change
    batch: WallBatch
    cost: float


@dataclass(frozen=True)
class Shelf:
    """Where other layers come from: price lists, or (pricing None) the catalogue."""

    catalogue: Catalogue
    pricing: Pricing | None

    def sheets(self, slot: str, like: Layer | None, held: Material | None) -> Iterator[tuple[Stock, float]]:
        """What else a slot could hold, with its thickness [mm]; like, held: the layer it holds now."""
        if self.pricing is not None:
            for product in candidates(slot, self.catalogue, self.pricing):
                yield Stock.of(self.catalogue.get(product.material), product), product.thickness_mm or 0.0
            return
        thin = held is None or held.kind == "membrane" or like.thickness_mm == 0
        for material in self.catalogue.for_use(USE_OF[slot]):
            if (material.kind == "membrane") == thin:
                yield Stock(material), 0.0 if thin else like.thickness_mm

    def studs(self, slot: str, depth_mm: float, width_mm: float) -> Iterator[tuple[Stock, float, float]]:
        """Members on offer with depth and width [mm]; without lists those of one size changed."""
        slot = slot if slot in MEMBER_SLOTS else OUTER_FRAME
        if self.pricing is not None:
            for product in candidates(slot, self.catalogue, self.pricing):
                stock = Stock.of(self.catalogue.get(product.material), product)
                yield stock, product.thickness_mm, product.width_mm
            return
        for material in self.catalogue.for_use(USE_OF[slot]):
            sizes = {(float(depth), width_mm) for depth in STOCK_DEPTHS_MM}
            sizes |= {(depth_mm, float(width)) for width in STOCK_WIDTHS_MM} | {(depth_mm, width_mm)}
            for depth, width in sorted(sizes):
                if material.kind == "timber":
                    yield Stock(material), depth, width


def other_sheets(wall: BuildUp, shelf: Shelf) -> list[Change]:
    """Another airtight or wind-tight layer, sheathing or outer board; an airtight layer where the wall has none."""
    changes = []
    sheets = [(number, layer) for number, layer in enumerate(wall.layers) if layer.role in SHEETS]
    for number, layer in sorted(sheets, key=lambda each: SHEETS.index(each[1].role)):
        held = wall.of(layer.material)
        for stock, thickness in shelf.sheets(layer.role, layer, held):
            if (stock.material.key, thickness) == (layer.material, layer.thickness_mm):
                continue
            now = f"{layer.thickness_mm:g} mm {held.name}" if layer.thickness_mm else held.name
            words = f"{layer.role}: {_named(stock, thickness)} instead of {now}"
            changed = _with(wall, number, _sheet(layer, stock, thickness), shelf, stock)
            changes.append(Change(words, changed, (number, stock.material.key, thickness)))
    if not any(layer.role == AIRTIGHT for layer in wall.layers) and not _numbered(wall):
        place = _inside(wall)
        for stock, thickness in shelf.sheets(AIRTIGHT, None, None):
            layer = _sheet(Layer(role=AIRTIGHT, material="", thickness_mm=0), stock, thickness)
            words = f"{AIRTIGHT}: add {_named(stock, thickness)}"
            changed = _with(wall, place, layer, shelf, stock, insert=True)
            changes.append(Change(words, changed, (place, stock.material.key, thickness)))
    return changes


def _inside(wall: BuildUp) -> int:
    """Where an airtight layer goes: before the service zone or lining, else innermost."""
    inner = [number for number, layer in enumerate(wall.layers) if layer.role in (SERVICE_ZONE, "lining")]
    return min(inner, default=len(wall.layers))


def _sheet(layer: Layer, stock: Stock, thickness: float) -> Layer:
    product = stock.products[0] if stock.products else None
    bought = {"product": product and product.key, "supplier": product and product.supplier}
    return layer.model_copy(update={"thickness_mm": thickness} | bought)


def other_studs(
    wall: BuildUp, number: int, shelf: Shelf, least_mm: float, most_mm: float = math.inf, least_width_mm: float = 0.0
) -> list[Change]:
    """Members of another size or material in one frame, their depth and width within limits [mm].

    extra_fraction stays as it was written.
    """
    layer = wall.layers[number]
    frame = layer.frame
    if frame is None or frame.width_mm is None:
        return []
    held = (frame.material, layer.thickness_mm, frame.width_mm)
    changes = []
    for stock, depth, width in shelf.studs(layer.role, layer.thickness_mm, frame.width_mm):
        fits = least_mm - SAME <= depth <= most_mm + SAME and width >= least_width_mm - SAME
        filled = _refilled(wall, layer, depth, shelf) if fits and (stock.material.key, depth, width) != held else None
        if filled is None:
            continue
        product = stock.products[0] if stock.products else None
        bought = {"product": product and product.key, "supplier": product and product.supplier}
        members = frame.model_copy(update={"width_mm": width} | bought)
        words = f"{layer.role}: {_member(stock, depth, width)} instead of {_size(wall, layer)}"
        changed = _with(wall, number, filled.model_copy(update={"frame": members}), shelf, stock)
        changes.append(Change(words, changed, (number, stock.material.key, depth, width)))
    return changes


def _refilled(wall: BuildUp, layer: Layer, depth: float, shelf: Shelf) -> Layer | None:
    """The layer at another depth [mm]; None where its batts in stock thicknesses do not add up to it."""
    filled = layer.model_copy(update={"thickness_mm": depth})
    named = (layer.product,) if isinstance(layer.product, str) else layer.product or ()
    batts = wall.of(layer.material).kind == "batt" and shelf.pricing is not None and named
    if not batts or abs(depth - layer.thickness_mm) < SAME:
        return filled
    lines = [line for line in batt_lines(shelf.pricing.products.values()) if named[0] in {each.key for each in line}]
    laying = shelf.pricing.terms.laying(wall.of(layer.material).waste_fraction)
    stack = tuple(each.key for each in stacked(lines[0], depth, laying)) if lines else ()
    return filled.model_copy(update={"product": stack[0] if len(stack) == 1 else stack}) if stack else None


def other_spacings(wall: BuildUp, number: int, spacings: list[float]) -> list[Change]:
    """The members of one frame, and all that stand on their line, at other spacings [mm]; staggered ones stay so."""
    frame = wall.layers[number].frame
    if frame is None or frame.spacing_mm is None:
        return []
    changes = []
    for spacing in spacings:
        layers = tuple(_spaced(layer, frame, spacing) for layer in wall.layers)
        words = f"{wall.layers[number].role}: members at {spacing:g} mm instead of {frame.spacing_mm:g} mm"
        changes.append(Change(words, wall.model_copy(update={"layers": layers}), (number, "spacing", spacing)))
    return changes


def _spaced(layer: Layer, like: Frame, spacing: float) -> Layer:
    frame = layer.frame
    if frame is None or layer.well_ventilated or (frame.axis, frame.spacing_mm) != (like.axis, like.spacing_mm):
        return layer
    offset = frame.offset_mm * spacing / like.spacing_mm
    return layer.model_copy(update={"frame": frame.model_copy(update={"spacing_mm": spacing, "offset_mm": offset})})


def other_gap(wall: BuildUp, number: int, by_mm: float, shelf: Shelf) -> list[Change]:
    """A layer without members made deeper (by_mm above 0) or shallower by at least so much, in whole steps."""
    layer = wall.layers[number]
    wanted = (layer.thickness_mm + by_mm) / GAP_STEP_MM
    depth = GAP_STEP_MM * (math.ceil(wanted - SAME) if by_mm > 0 else math.floor(wanted + SAME))
    if layer.frame is not None or depth < 0 or (depth == 0 and _numbered(wall, layer.role)):
        return []
    if depth == 0:
        other_layers = (*wall.layers[:number], *wall.layers[number + 1 :])
        words = f"{layer.role}: none instead of {layer.thickness_mm:g} mm"
        return [Change(words, _of(wall, other_layers, {}), (number, "depth", depth))]
    filled = _refilled(wall, layer, depth, shelf)
    words = f"{layer.role}: {depth:g} mm instead of {layer.thickness_mm:g} mm"
    layers = (*wall.layers[:number], filled, *wall.layers[number + 1 :])
    return [Change(words, wall.model_copy(update={"layers": layers}), (number, "depth", depth))] if filled else []


def _numbered(wall: BuildUp, role: str | None = None) -> bool:
    """Whether the corrections name a layer by number, or by this role: then none can be put in or taken out."""
    named = [each.layer for each in wall.corrections.fastener]
    named += [] if wall.corrections.air_gap_layer is None else [wall.corrections.air_gap_layer]
    return any(isinstance(each, int) or each == role for each in named)


def _with(wall: BuildUp, number: int, layer: Layer, shelf: Shelf, stock: Stock, insert: bool = False) -> BuildUp:
    """The wall with one layer exchanged or put in, and `stock` as its material: of its members, where it has such."""
    library: dict[str, Material] = {}
    key = shelve(shelf.catalogue, stock, library)
    if wall.materials.get(key, library[key]) != library[key]:  # the file's own material of that name stays as it is
        material = library.pop(key)
        key = f"{key}-catalogue"
        library[key] = material.model_copy(update={"key": key})
    if layer.frame is None:
        layer = layer.model_copy(update={"material": key})
    else:
        layer = layer.model_copy(update={"frame": layer.frame.model_copy(update={"material": key})})
    return _of(wall, (*wall.layers[:number], layer, *wall.layers[number + (not insert) :]), library)


def _of(wall: BuildUp, layers: tuple[Layer, ...], library: dict[str, Material]) -> BuildUp:
    """The wall with other layers, and the materials that they name."""
    named = {layer.material for layer in layers}
    named |= {member.material for layer in layers for member in (layer.frame, layer.tie) if member is not None}
    known = {**wall.materials, **library}
    materials = {key: material for key, material in known.items() if key in named}
    return wall.model_copy(update={"layers": layers, "materials": materials})


def _named(stock: Stock, thickness: float) -> str:
    """A sheet as it is bought or called, with its supplier and its sd."""
    dry, humid = vapour(stock.material, thickness / 1000)
    sd = f"sd {dry:.3g} m" if dry == humid else f"sd {min(dry, humid):.3g} to {max(dry, humid):.3g} m"
    if not stock.products:
        return f"{f'{thickness:g} mm ' if thickness else ''}{stock.material.name} ({sd})"
    return f"{stock.products[0].name} ({stock.products[0].supplier}, {sd})"


def _member(stock: Stock, depth: float, width: float) -> str:
    if not stock.products:
        return f"{stock.material.name} {sawn(width, depth, ' x ')}"
    return f"{stock.products[0].name} ({stock.products[0].supplier})"


def _size(wall: BuildUp, layer: Layer) -> str:
    return f"{wall.of(layer.frame.material).name} {sawn(layer.frame.width_mm, layer.thickness_mm, ' x ')}"
