"""From build-ups to arrays: the WallBatch of one wall, and of many walls split by topology."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from materials.errors import InputError
from materials.models import Material

from ..batch import Members, SlightVentilation, WallBatch
from ..heat import air_layers
from ..heat.steady import METAL_CONDUCTIVITY
from ..template import CLADDING
from . import layers as amounts
from .buildup import AIR, BuildUp, Frame, Layer, tie_frames
from .layers import NO_TERMS, Amount, Stock
from .pricing import Pricing

LARGEST_RESISTANCE = 1000.0  # m2K/W of one layer; 5 m of the best insulation stay below it
NO_PRICING = Pricing({}, NO_TERMS, "")


@dataclass(frozen=True)
class LayerParts:
    """What stands in one layer: its plain part, and its members if any."""

    plain: Amount
    stock: Stock
    member: Amount | None = None
    member_stock: Stock | None = None


def parts_of(wall: BuildUp, pricing: Pricing = NO_PRICING) -> list[LayerParts]:
    """Amounts and products layer by layer; products the file does not name are the cheapest that fit."""
    depths = void_depths(wall)
    return [_part(wall, number, depths[number], pricing) for number in range(len(wall.layers))]


def void_depths(wall: BuildUp) -> list[float]:
    """For every layer the depth of the void its fill belongs to [m]: neighbours with one loose fill share it."""
    depths = [layer.thickness_mm / 1000 for layer in wall.layers]
    start = 0
    for number in range(1, len(wall.layers) + 1):
        run_ends = number == len(wall.layers) or wall.layers[number].material != wall.layers[start].material
        if run_ends or wall.of(wall.layers[start].material).kind != "loose fill":
            total = sum(layer.thickness_mm for layer in wall.layers[start:number]) / 1000
            depths[start:number] = [total] * (number - start)
            start = number
    return depths


def _part(wall: BuildUp, number: int, void_depth: float, pricing: Pricing) -> LayerParts:
    layer = wall.layers[number]
    place = f"layer {number + 1} ({layer.role})"
    thickness = layer.thickness_mm / 1000
    stock = _stock(wall.of(layer.material), layer.product, layer.thickness_mm, None, pricing, place)
    if layer.material == AIR:
        plain = _air(wall, layer, place)
    elif stock.material.kind == "loose fill":
        plain = amounts.blown(stock, thickness, void_depth, pricing.terms)
    else:
        plain = amounts.sheet(stock, layer.role, thickness, pricing.terms)
    _check_resistance(plain, stock.material, place)
    if layer.frame is None and layer.tie is None:
        return LayerParts(plain, stock)
    member, member_stock = _member(wall, layer, pricing, place)
    _check_resistance(member, member_stock.material, f"{place}, members")
    return LayerParts(plain, stock, member, member_stock)


def _member(wall: BuildUp, layer: Layer, pricing: Pricing, place: str) -> tuple[Amount, Stock]:
    thickness = layer.thickness_mm / 1000
    if layer.tie is not None:
        tie = layer.tie
        stock = _stock(wall.of(tie.material), tie.product, tie.thickness_mm, None, pricing, f"{place}, tie")
        width, height, overlap = tie.thickness_mm / 1000, tie.height_mm / 1000, tie.overlap_mm / 1000
        return amounts.ties(stock, thickness, width, height, overlap, pricing.terms), stock
    frame = layer.frame
    material = wall.of(frame.material)
    stock = _stock(material, frame.product, layer.thickness_mm, frame.width_mm, pricing, f"{place}, frame")
    width = (frame.width_mm or frame_width(stock)) / 1000
    return amounts.members(stock, thickness, width, layer.role, pricing.terms), stock


def frame_width(stock: Stock) -> float:
    """Width [mm] for labour where a frame is given by fraction: the product's, or the usual 45 mm (common practice)."""
    return (stock.products[0].width_mm if stock.products else None) or 45.0


def _stock(
    material: Material,
    keys: str | tuple[str, ...] | None,
    thickness_mm: float,
    width_mm: float | None,
    pricing: Pricing,
    place: str,
) -> Stock:
    """Products as the file names them. The file's own values of the material stand; prices come from the lists."""
    if not pricing.products:
        return Stock(material)
    if keys is not None:
        return Stock(material, pricing.named(keys, place))
    return Stock(material, pricing.cheapest(material.key, thickness_mm, width_mm))


def _air(wall: BuildUp, layer: Layer, place: str) -> Amount:
    thickness = layer.thickness_mm / 1000
    if thickness > air_layers.DEEPEST_AIR_LAYER and not layer.well_ventilated:
        raise InputError(
            f"{place}: thickness_mm = {layer.thickness_mm:g}: an air layer deeper than 300 mm needs a heat balance"
        )
    direction = air_layers.DIRECTION[wall.element]
    resistance = float(air_layers.unventilated(thickness, direction, layer.emissivities or (0.9, 0.9)))
    return Amount(resistance, 0.0, 0.0, 0.0, 0.0, 0.0, amounts.AIR_SD, amounts.AIR_SD)


def _check_resistance(amount: Amount, material: Material, place: str) -> None:
    if np.isnan(amount.resistance):
        raise InputError(f'{place}: material "{material.key}" has neither conductivity_w_mk nor resistance_m2k_w')
    if amount.resistance > LARGEST_RESISTANCE:
        raise InputError(
            f'{place}: material "{material.key}" resists {amount.resistance:.3g} m2K/W: no layer of a wall does; '
            "check its conductivity_w_mk (W/mK) and thickness_mm"
        )


def last_vented(wall: BuildUp) -> int:
    """The innermost layer that carries no resistance, being well ventilated or outside of what is; -1 when none is.

    A cladding before a vented wall is one, whether the file lists the space behind it or not.
    """
    cladding = wall.outside == "vented"
    return max(
        (
            number
            for number, layer in enumerate(wall.layers)
            if layer.well_ventilated or (cladding and layer.role == CLADDING)
        ),
        default=-1,
    )


def batch_of(wall: BuildUp, parts: Sequence[LayerParts]) -> WallBatch:
    """The batch of one wall."""
    count = len(wall.layers)
    vented = last_vented(wall)
    columns = {
        field.name: np.array([[getattr(part.plain, field.name) for part in parts]], order="F")
        for field in fields(Amount)
    }
    columns["resistance"][:, : vented + 1] = 0.0
    framed = [number for number in range(count) if parts[number].member is not None]
    members = [_members(wall, number, parts[number]) for number in framed]
    lines: dict[object, list[int]] = {}
    for position, number in enumerate(framed):
        if number > vented:
            lines.setdefault(_line(wall, number), []).append(position)
    r_si, r_se = surface_resistances(wall, vented >= 0)
    slight = [number for number, layer in enumerate(wall.layers) if layer.ventilation == "slight" and number > vented]
    if len(slight) > 1:
        raise InputError(
            f"layers {slight[0] + 1} and {slight[1] + 1}: only one slightly ventilated layer can be judged"
        )
    opening = [np.array([wall.layers[number].opening_mm2_per_m]) for number in slight]
    return WallBatch(
        thickness=np.array([[layer.thickness_mm / 1000 for layer in wall.layers]], order="F"),
        members=tuple(members),
        lines=tuple(tuple(line) for line in lines.values()),
        r_si=np.array([r_si]),
        r_se=np.array([r_se]),
        slight=SlightVentilation(slight[0], opening[0]) if slight else None,
        **columns,
    )


def surface_resistances(wall: BuildUp, vented_layer: bool) -> tuple[float, float]:
    """Rsi and Rse [m2K/W]: the standard's, or as the conditions override them."""
    given = wall.conditions
    direction = air_layers.DIRECTION[wall.element]
    r_si = air_layers.R_SI[direction] if given.surface_r_inside is None else given.surface_r_inside
    sheltered = wall.outside == "vented" or vented_layer
    r_se = air_layers.R_SI[direction] if sheltered else air_layers.R_SE
    return r_si, r_se if given.surface_r_outside is None else given.surface_r_outside


def _line(wall: BuildUp, number: int) -> object:
    """What members must share to stand on one line: axis and spacing; a fraction stands for itself."""
    frame = _frame_at(wall, number)
    return number if frame.fraction is not None else (frame.axis, frame.spacing_mm)


def _frame_at(wall: BuildUp, number: int) -> Frame:
    layer = wall.layers[number]
    if layer.tie is None:
        return layer.frame
    return tie_frames(wall.layers, number)[0]


def _members(wall: BuildUp, number: int, part: LayerParts) -> Members:
    layer = wall.layers[number]
    frame = _frame_at(wall, number)
    if layer.tie is not None:
        tie = layer.tie
        geometry = (
            tie.thickness_mm / 1000,
            frame.spacing_mm / 1000,
            frame.offset_mm / 1000,
            tie.height_mm / tie.vertical_spacing_mm,
            0.0,
        )
    elif frame.fraction is not None:
        geometry = (frame.fraction, 1.0, 0.0, 1.0, 0.0)
    else:
        geometry = (
            frame.width_mm / 1000,
            frame.spacing_mm / 1000,
            frame.offset_mm / 1000,
            1.0,
            frame.extra_fraction,
        )
    names = ("width", "spacing", "centre", "share", "extra")
    arrays = {name: np.array([value]) for name, value in zip(names, geometry, strict=True)}
    arrays |= {field.name: np.array([getattr(part.member, field.name)]) for field in fields(Amount)}
    return Members(layer=number, **arrays)


def metal_bridge(wall: BuildUp, parts: Sequence[LayerParts]) -> str | None:
    """Why the combined method does not apply, where metal members bridge a layer; None where none does."""
    for number, (layer, part) in enumerate(zip(wall.layers, parts, strict=True), 1):
        material = part.member_stock.material if part.member_stock else None
        if material and ((material.design_conductivity or 0.0) >= METAL_CONDUCTIVITY or material.origin == "metal"):
            what = "tie" if layer.tie else "frame"
            return (
                f'layer {number} ({layer.role}): the {what} of "{material.key}" is metal; the combined method of '
                "ISO 6946 does not apply where metal bridges a layer: a numerical calculation (ISO 10211) is needed"
            )
    return None
