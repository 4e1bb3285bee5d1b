"""Every judgement of one wall, readable: what `check` prints, the explorer shows and the worked sheet explains."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass

import numpy as np

from materials.errors import InputError
from materials.models import Material

from ..batch import WallBatch
from ..conduction.figures import NumericFigures, Unsolved
from ..heat import steady
from ..heat.air_layers import ventilated_share
from ..score import area, cost
from ..score.carbon_figures import CarbonFigures, HeldMaterial, carbon_figures
from ..score.cost_parts import CostFigures, CostParts, cost_figures
from ..score.operation import operational_per_u
from ..score.settings import Operation
from ..wall import scores
from ..wall.assemble import NO_PRICING, LayerParts, batch_of, last_vented, metal_bridge, parts_of
from ..wall.buildup import AIR, BuildUp, Layer
from ..wall.layers import Terms, sawn
from ..wall.places import places_of
from ..wall.pricing import Pricing
from .check_table import Demands
from .common.check import OneWall
from .verdicts import Verdicts, verdicts

LEAST_RESISTANCE = 1e-3  # m2K/W of a path; less is a slip of the input


@dataclass(frozen=True)
class HeatPath:
    """One path through the wall: its share of the area, its resistance [m2K/W] and that of each layer on it."""

    fraction: float
    resistance: float
    parts: list[tuple[int, str, float]]  # layer number from 1, words, resistance


@dataclass(frozen=True)
class HeatPaths:
    """The combined method of ISO 6946, written out. Resistances in m2K/W, U in W/m2K."""

    u_value: float  # corrections included
    r_total: float
    r_upper: float
    r_lower: float
    r_si: float
    r_se: float
    correction: float
    relative_error: float
    paths: list[HeatPath]
    lower: list[tuple[int, str, float, float]]  # layer number, words, share that is member, resistance
    refused: str | None = None
    ventilated_share: float | None = None  # of a slightly ventilated layer: how far it counts as well ventilated


@dataclass(frozen=True)
class LayerFigures:
    """What one layer is and brings, per m2 of wall; None where a value is unknown."""

    number: int
    role: str
    text: str
    product: str
    supplier: str
    thickness_mm: float
    resistance_m2k_w: float
    weight_kg_m2: float | None
    cost_per_m2: float | None
    carbon_kgco2e_m2: float | None
    biogenic_kgco2e_m2: float | None
    cost_parts: CostParts | None = None  # where there is a brief


@dataclass(frozen=True)
class Judged:
    """One wall, judged."""

    wall: BuildUp
    thickness_mm: float
    weight_kg_m2: float | None
    cost_per_m2: float | None
    carbon_kgco2e_m2: float | None
    biogenic_kgco2e_m2: float | None
    unpriced: list[str]
    u_value: float
    heat: HeatPaths
    layers: list[LayerFigures]
    verdicts: Verdicts
    carbon: CarbonFigures
    cost: CostFigures | None = None  # where there is a brief
    numeric: NumericFigures | Unsolved | None = None  # where it was asked for

    def as_json(self) -> dict:
        """The object of `check --json`; values unrounded, null where unknown."""
        heat = {key: value for key, value in asdict(self.heat).items() if key not in ("paths", "lower")}
        for key in ("refused", "ventilated_share"):
            if heat[key] is None:
                del heat[key]
        heat = {key: _finite(value) for key, value in heat.items()}
        heat["paths"] = [{"fraction": each.fraction, "resistance": each.resistance} for each in self.heat.paths]
        out = {
            "name": self.wall.name,
            "thickness_mm": self.thickness_mm,
            "weight_kg_m2": self.weight_kg_m2,
            "cost_per_m2": self.cost_per_m2,
            "carbon_kgco2e_m2": self.carbon_kgco2e_m2,
            "biogenic_kgco2e_m2": self.biogenic_kgco2e_m2,
            "heat": heat,
            "layers": [asdict(layer) for layer in self.layers],
        } | self.verdicts.as_json()
        out["carbon"] = self.carbon.as_json()
        if self.cost is not None:
            out["cost"] = self.cost.as_json()
        if self.numeric is not None:
            out["numeric"] = self.numeric.as_json()
        return out | ({"unpriced": self.unpriced} if self.unpriced else {})


def _finite(value: float | str | None) -> float | str | None:
    return None if isinstance(value, float) and not math.isfinite(value) else value


def judge(
    wall: BuildUp,
    pricing: Pricing | None = None,
    demands: Demands | None = None,
    operation: Operation | None = None,
) -> Judged:
    """Judge one wall: a batch of one through the same functions as a search over millions.

    demands: what a brief asks besides heat; the defaults where there is none. operation: the brief's heat source, for
    the carbon of the heat that the wall loses; told where a climate or degree hours are given.
    InputError where a value is missing or impossible; a wall that the method refuses has u_value NaN and says why.
    """
    parts = parts_of(wall, pricing or NO_PRICING)
    batch = batch_of(wall, parts)
    heat = _heat(wall, parts, batch)
    costs = None if pricing is None else cost_figures(batch, [_bills(part) for part in parts])
    figures = _layers(wall, parts, batch, costs)
    places = places_of(wall, last_vented(wall))
    unpriced = [f"layer {each.number} ({each.role})" for each in figures if each.cost_per_m2 is None]
    return Judged(
        wall=wall,
        thickness_mm=wall.thickness_mm,
        weight_kg_m2=_sum(figures, "weight_kg_m2"),
        cost_per_m2=_sum(figures, "cost_per_m2"),
        carbon_kgco2e_m2=_sum(figures, "carbon_kgco2e_m2"),
        biogenic_kgco2e_m2=_sum(figures, "biogenic_kgco2e_m2"),
        unpriced=unpriced if pricing else [],
        u_value=heat.u_value,
        heat=heat,
        layers=figures,
        verdicts=verdicts(OneWall(wall, parts, batch, places, heat.u_value), demands or Demands.of()),
        carbon=_carbon(wall, parts, batch, (pricing or NO_PRICING).terms, operation, heat.u_value),
        cost=costs,
    )


def _carbon(wall, parts: list[LayerParts], batch: WallBatch, terms: Terms, operation, u_value: float) -> CarbonFigures:
    plain = batch.plain_share()[0]
    held: list[list[HeldMaterial]] = []
    for number, part in enumerate(parts):
        held.append([each.times(float(plain[number])) for each in part.plain.held])
        if part.member is not None:
            share = float(batch.member_of(number).fraction[0])
            held[-1] += [each.times(share) for each in part.member.held]
    known = wall.conditions.outdoor_temperature_c or (operation and operation.degree_hours_kkh)
    factor = operational_per_u(wall.conditions, operation, terms.carbon.study_years) if operation and known else None
    roles = [layer.role for layer in wall.layers]
    return carbon_figures(
        list(zip(roles, held, strict=True)), terms.carbon, terms.transport, factor and factor * u_value
    )


def _bills(part: LayerParts) -> tuple[cost.Bill, cost.Bill | None]:
    return part.plain.bill, None if part.member is None else part.member.bill


def _sum(figures: list[LayerFigures], key: str) -> float | None:
    values = [getattr(each, key) for each in figures]
    return None if None in values else sum(values)


def _heat(wall: BuildUp, parts: list[LayerParts], batch: WallBatch) -> HeatPaths:
    _check_room(wall, batch)
    _check_resistance(batch)
    result = steady.transmittance(batch)
    correction = float(scores.correction(wall.corrections, batch, wall.index_of)[0])
    reason = metal_bridge(wall, parts)
    ratio = float(result.ratio[0])
    if reason is None and result.refused[0]:
        reason = (
            f"R'/R'' is {ratio:.2f}, above {steady.LARGEST_RATIO:g}: the combined method of ISO 6946 does not apply; "
            "a numerical calculation (ISO 10211) is needed"
        )
    return HeatPaths(
        u_value=math.nan if reason else float(result.u_bare[0]) + correction,
        r_total=float(result.r_total[0]),
        r_upper=float(result.r_upper[0]),
        r_lower=float(result.r_lower[0]),
        r_si=float(batch.r_si[0]),
        r_se=float(batch.r_se[0]),
        correction=correction,
        relative_error=float(result.relative_error[0]),
        paths=_paths(wall, batch),
        lower=_lower(wall, batch),
        refused=reason,
        ventilated_share=float(ventilated_share(batch.slight.opening[0])) if batch.slight else None,
    )


def _check_room(wall: BuildUp, batch: WallBatch) -> None:
    """Plates and noggings must find room beside the studs."""
    paths = steady.paths(batch)
    fractions = [fraction[0] for fraction, _, _ in paths]
    if min(fractions) < -1e-12 or abs(sum(fractions) - 1) > 1e-9:
        layers = sorted({layer for _, _, through in paths for layer in through})
        names = ", ".join(f"{layer + 1} ({wall.layers[layer].role})" for layer in layers)
        raise InputError(f"layers {names}: studs and extra_fraction together take more than the whole area")


def _check_resistance(batch: WallBatch) -> None:
    """Every path through the wall resists something."""
    for each in [batch, steady.as_well_ventilated(batch)] if batch.slight else [batch]:
        shared = each.r_si + each.r_se + steady.uncrossed(each)
        if min((shared + resistance)[0] for _, resistance, _ in steady.paths(each)) < LEAST_RESISTANCE:
            raise InputError("the wall resists nothing: its layers and both surface resistances are 0")


def _paths(wall: BuildUp, batch: WallBatch) -> list[HeatPath]:
    """Paths that carry area, largest share first; the unventilated wall where a layer is slightly ventilated."""
    surfaces = float(batch.r_si[0] + batch.r_se[0])
    paths = []
    for fraction, _, through in steady.paths(batch):
        if fraction[0] <= 1e-12:
            continue
        parts = []
        for number in range(len(wall.layers)):
            member = batch.member_of(number) if number in through and through[number][0] else None
            resistance = float((member.resistance if member else batch.resistance[:, number])[0])
            if resistance or number in through:
                parts.append((number + 1, words(wall, number, member is not None), resistance))
        paths.append(HeatPath(float(fraction[0]), surfaces + sum(part[2] for part in parts), parts))
    return sorted(paths, key=lambda path: -path.fraction)


def _lower(wall: BuildUp, batch: WallBatch) -> list[tuple[int, str, float, float]]:
    lined = {batch.members[number].layer for line in batch.lines for number in line}
    rows = []
    for number in range(len(wall.layers)):
        member = batch.member_of(number) if number in lined else None
        plain = batch.resistance[:, number]
        resistance = float((steady.parallel(plain, member) if member else plain)[0])
        if resistance:
            rows.append((number + 1, words(wall, number), float(member.fraction[0]) if member else 0.0, resistance))
    return rows


def words(wall: BuildUp, number: int, member: bool | None = None) -> str:
    """A layer in words: its fill (member False), its members (True), or both (None)."""
    layer = wall.layers[number]
    plain = wall.of(layer.material).name
    if layer.material == AIR and layer.well_ventilated:
        plain = "ventilated air"
    if layer.frame is None and layer.tie is None:
        return plain
    if member is False:
        return plain
    if layer.tie is not None:
        name = wall.of(layer.tie.material).name
        crossing = f"{name if 'tie' in name else name + ' tie'} {layer.tie.thickness_mm:g} mm"
    else:
        crossing = _frame_words(wall.of(layer.frame.material), layer)
    return crossing if member else f"{plain}, {crossing}"


def _frame_words(material: Material, layer: Layer) -> str:
    frame = layer.frame
    if frame.fraction is not None:
        return f"{material.name}, {frame.fraction:.1%} of the area"
    return f"{material.name} {sawn(frame.width_mm, layer.thickness_mm)} @ {frame.spacing_mm:g}"


def _layers(wall: BuildUp, parts: list[LayerParts], batch: WallBatch, costs: CostFigures | None) -> list[LayerFigures]:
    held = {
        "weight_kg_m2": area.per_layer(batch, "mass"),
        "cost_per_m2": cost.cost_by_layer(batch),
        "carbon_kgco2e_m2": area.per_layer(batch, "carbon"),
        "biogenic_kgco2e_m2": area.per_layer(batch, "biogenic"),
    }
    lower = {row[0]: row[3] for row in _lower(wall, batch)}
    return [
        LayerFigures(
            number=number + 1,
            role=layer.role,
            text=words(wall, number),
            product=_joined(part, lambda each: each.name),
            supplier=_joined(part, lambda each: each.supplier),
            thickness_mm=layer.thickness_mm,
            resistance_m2k_w=lower.get(number + 1, 0.0),
            cost_parts=costs and costs.by_layer[number],
            **{key: _known(values[0, number]) for key, values in held.items()},
        )
        for number, (layer, part) in enumerate(zip(wall.layers, parts, strict=True))
    ]


def _joined(part: LayerParts, what) -> str:
    stocks = [part.stock, part.member_stock] if part.member_stock else [part.stock]
    labels = [what(product) for stock in stocks for product in stock.products]
    return " + ".join(dict.fromkeys(labels))


def _known(value: np.floating) -> float | None:
    return float(value) if math.isfinite(value) else None
