"""The U-value by hand (ISO 6946): every resistance, area and limit of one wall, as steps for a pocket calculator."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ...batch import WallBatch
from ...brief.brief import Brief
from ...checks.judge import Judged, words
from ...document import NONE, DocumentPart, DocumentTable, Heading, Section, SumStep, Text, exact, listed, number
from ...heat import air_layers, corrections, steady
from ...wall.assemble import LayerParts, batch_of, last_vented, parts_of
from ...wall.buildup import AIR, BuildUp
from .areas import MemberLine, lines_of, member_noun

UNIT = "m²K/W"


@dataclass(frozen=True)
class HeatCase:
    """One way of counting the wall: as it is, or with a slightly ventilated space open to the outside."""

    wall: BuildUp
    batch: WallBatch
    lines: tuple[MemberLine, ...]

    def plain(self, layer: int) -> float:
        return float(self.batch.resistance[0, layer])

    def member(self, layer: int) -> float:
        return float(self.batch.member_of(layer).resistance[0])

    @property
    def crossed(self) -> frozenset[int]:
        return frozenset(layer for line in self.lines for layer in line.layers)

    @property
    def r_si(self) -> float:
        return float(self.batch.r_si[0])

    @property
    def r_se(self) -> float:
        return float(self.batch.r_se[0])


@dataclass(frozen=True)
class Path:
    """A path: its share of the area as a product, the layers whose members it meets, its resistance [m2K/W]."""

    factors: tuple[tuple[str, float], ...]
    inside: frozenset[int]
    resistance: float

    @property
    def share(self) -> float:
        return math.prod(value for _, value in self.factors)


def case_of(wall: BuildUp, batch: WallBatch, brief: Brief | None = None) -> HeatCase:
    """What a hand needs to work a batch of one through."""
    return HeatCase(wall, batch, lines_of(wall, batch, brief))


def paths_of(case: HeatCase) -> list[Path]:
    """Every path that carries area, largest share first."""
    ways = [((), frozenset())]
    for line in case.lines:
        ways = [
            ((*factors, (each.key, each.share)), inside | each.inside)
            for factors, inside in ways
            for each in line.shares
        ]
    paths = [Path(factors, inside, _resistance(case, inside)) for factors, inside in ways]
    return sorted((each for each in paths if each.share > 1e-12), key=lambda each: -each.share)


def _resistance(case: HeatCase, inside: frozenset[int]) -> float:
    layers = range(len(case.wall.layers))
    return case.r_si + case.r_se + sum(case.member(n) if n in inside else case.plain(n) for n in layers)


def heat_section(judged: Judged, brief: Brief | None) -> Section:
    """The whole calculation, from thickness and conductivity to U."""
    wall, heat = judged.wall, judged.heat
    layers = parts_of(wall)
    batch = batch_of(wall, layers)
    case = case_of(wall, batch, brief)
    parts: list[DocumentPart] = [Text(_opening(heat.r_si, heat.r_se)), _layer_table(case, layers)]
    parts += _air_steps(case)
    if heat.ventilated_share is None:
        parts += _limits(case, "")
    else:
        opened = case_of(wall, steady.as_well_ventilated(batch), brief)
        parts += [Heading("First: the slightly ventilated space counted as closed"), *_limits(case, ", closed")]
        parts += [Heading("Then: that space counted as open to the outside"), *_limits(opened, ", open")]
        parts += _mixed(case, opened, heat.ventilated_share)
    parts += _together(judged, batch)
    return Section("The U-value by hand", tuple(parts), fresh=True)


def _opening(r_si: float, r_se: float) -> str:
    return (
        "Combined method of ISO 6946. Every resistance is thickness in metres over design conductivity; design "
        "conductivity is the declared one times the factors for temperature, moisture and ageing of ISO 10456, in that "
        f"order. Surfaces: Rse = {number(r_se, 4)} outside, Rsi = {number(r_si, 4)} inside. Resistances in {UNIT}, "
        "shown to four decimals and carried on unrounded; areas are shares of 1 m² of wall."
    )


def _label(case: HeatCase, layer: int, member: bool) -> str:
    """What a resistance is called in a sum: '4', '4 fill', '4 studs'."""
    wall_layer = case.wall.layers[layer]
    if layer not in case.crossed:
        return str(layer + 1)
    return f"{layer + 1} {member_noun(wall_layer) if member else 'air' if wall_layer.material == AIR else 'fill'}"


def _layer_table(case: HeatCase, layers: list[LayerParts]) -> DocumentTable:
    heads = ("part", "layer", "what it is", "d", "λ declared", "factors", "λ design", "R")
    rows = []
    for number_, part in enumerate(layers):
        for member in (False, True) if part.member is not None else (False,):
            rows.append(_layer_row(case, number_, part, member))
    return DocumentTable(
        f"Layers, from outside to inside: d in mm, λ in W/mK, R in {UNIT}",
        heads,
        tuple(rows),
        words=3,
        widths=(1.5, 2.3, 4.6, 1.1, 1.4, 2.2, 1.4, 1.6),
    )


def _layer_row(case: HeatCase, at: int, part: LayerParts, member: bool) -> tuple[str, ...]:
    layer = case.wall.layers[at]
    said = words(case.wall, at, member) if part.member is not None else words(case.wall, at)
    counts = at > last_vented(case.wall)
    name = _label(case, at, member) if counts else str(at + 1)
    head = (name, layer.role, said, exact(layer.thickness_mm))
    if not counts:
        return (*head, NONE, NONE, NONE, "not counted")
    material = (part.member_stock if member else part.stock).material
    value = case.member(at) if member else case.plain(at)
    if layer.material == AIR and not member:
        return (*head, NONE, NONE, "air layer", number(value, 4))
    if material.resistance_m2k_w is not None:
        return (*head, NONE, NONE, "R stated", number(value, 4))
    if not value:
        return (*head, NONE, NONE, NONE, number(0.0, 4))
    if material.conductivity_declared_w_mk is None or material.conversion is None:
        return (*head, NONE, NONE, exact(material.design_conductivity), number(value, 4))
    given = material.conversion
    factors = " × ".join(exact(each) for each in (given.temperature, given.moisture, given.ageing))
    declared = exact(material.conductivity_declared_w_mk)
    return (*head, declared, factors, exact(material.design_conductivity), number(value, 4))


def _air_steps(case: HeatCase) -> list[DocumentPart]:
    """The resistance of each air layer that counts."""
    steps: list[DocumentPart] = []
    direction = air_layers.DIRECTION[case.wall.element]
    for at, layer in enumerate(case.wall.layers):
        if layer.material != AIR or at <= last_vented(case.wall) or not layer.thickness_mm:
            continue
        one, two = layer.emissivities or (0.9, 0.9)
        exchange = 1.0 / (1.0 / one + 1.0 / two - 1.0)
        radiation = float(air_layers.radiative_coefficient())
        convection = 1.0 / case.plain(at) - exchange * radiation
        shown = f"1 / ({number(convection, 4)} + {number(exchange, 4)} × {number(radiation, 4)})"
        title = f"Air in layer {at + 1}, heat flow {direction}: R = 1 / (ha + E hr0)"
        note = (
            f"ha: convection and conduction; E: from emissivities {exact(one)} and {exact(two)}; hr0: radiation at "
            "10 °C (ISO 6946, airspaces)"
        )
        steps.append(SumStep(title, shown, f"{number(case.plain(at), 4)} {UNIT}", note=note))
    return steps


def _limits(case: HeatCase, which: str) -> list[DocumentPart]:
    """Areas, paths, upper limit; layers, lower limit."""
    paths = paths_of(case)
    parts: list[DocumentPart] = []
    if case.lines:
        parts.append(Heading(f"Areas{which}"))
        for each in case.lines:
            parts += [Text(each.sizes, kept=True), each.table] if each.sizes else [each.table]
        if len(case.lines) > 1:
            letters = listed([each.letter for each in case.lines])
            parts.append(Text(f"Members of {letters} stand independently of each other: their shares multiply.", True))
    parts.append(Heading(f"Upper limit R′{which}: path by path"))
    parts += [_path_step(case, at, each) for at, each in enumerate(paths, 1)]
    parts += [_upper(paths, which), Heading(f"Lower limit R″{which}: layer by layer")]
    parts += [_layer_step(case, layer) for layer in sorted(case.crossed)]
    parts.append(_lower(case, which))
    return parts


def _path_step(case: HeatCase, at: int, path: Path) -> SumStep:
    met = [f"{member_noun(case.wall.layers[layer])} in {layer + 1}" for layer in sorted(path.inside)]
    name = f"through {listed(met)}" if met else "beside all members" if case.lines else "straight through"
    area = ""
    if path.factors:
        area = f", f{at} = {' × '.join(key for key, _ in path.factors)}"
        if len(path.factors) > 1:
            area += f" = {' × '.join(number(value, 5) for _, value in path.factors)}"
        area += f" = {number(path.share, 5)}"
    terms = [f"{number(case.r_se, 4)} (Rse)"]
    for layer in range(len(case.wall.layers)):
        inside = layer in path.inside
        value = case.member(layer) if inside else case.plain(layer)
        if value or inside:
            terms.append(f"{number(value, 4)} ({_label(case, layer, inside)})")
    terms.append(f"{number(case.r_si, 4)} (Rsi)")
    return SumStep(f"Path {at}, {name}{area}", " + ".join(terms), f"R{at} = {number(path.resistance, 4)} {UNIT}")


def _upper(paths: list[Path], which: str) -> SumStep:
    value = 1.0 / sum(each.share / each.resistance for each in paths)
    if len(paths) == 1:
        return SumStep(f"Upper limit R′{which}, the one path", "", f"R′ = {number(value, 4)} {UNIT}")
    below = " + ".join(f"{number(each.share, 5)} / {number(each.resistance, 4)}" for each in paths)
    parts = " + ".join(number(each.share / each.resistance, 6) for each in paths)
    title = f"Upper limit R′{which} = 1 / (f1 / R1 + f2 / R2 + …)"
    return SumStep(title, f"1 / ({below}) = 1 / ({parts})", f"R′ = {number(value, 4)} {UNIT}")


def _layer_step(case: HeatCase, layer: int) -> SumStep:
    """A layer's fill and members side by side."""
    share = float(case.batch.member_of(layer).fraction[0])
    plain, member = case.plain(layer), case.member(layer)
    wall_layer = case.wall.layers[layer]
    nouns = "air" if wall_layer.material == AIR else "fill", member_noun(wall_layer)
    sum_ = f"1 / ({number(1 - share, 5)} / {number(plain, 4)} + {number(share, 5)} / {number(member, 4)})"
    return SumStep(
        f"Layer {layer + 1}, {nouns[0]} and {nouns[1]} side by side, {number(share, 5)} of it {nouns[1]}",
        sum_,
        f"{number(_side_by_side(case, layer), 4)} {UNIT}",
    )


def _side_by_side(case: HeatCase, layer: int) -> float:
    return float(steady.parallel(case.batch.resistance[:, layer], case.batch.member_of(layer))[0])


def _lower(case: HeatCase, which: str) -> SumStep:
    values = [(case.r_se, "Rse")]
    for layer in range(len(case.wall.layers)):
        value = _side_by_side(case, layer) if layer in case.crossed else case.plain(layer)
        if value:
            values.append((value, str(layer + 1)))
    values.append((case.r_si, "Rsi"))
    sum_ = " + ".join(f"{number(value, 4)} ({name})" for value, name in values)
    return SumStep(f"Lower limit R″{which}", sum_, f"R″ = {number(sum(each for each, _ in values), 4)} {UNIT}")


def _mixed(closed: HeatCase, opened: HeatCase, share: float) -> list[DocumentPart]:
    """The interpolation between both ways of counting."""
    opening = float(closed.batch.slight.opening[0])
    steps: list[DocumentPart] = [
        Heading("Both together"),
        SumStep(
            "Weight of the open case (Av − 500) / 1000",
            f"({exact(opening)} − 500) / 1000",
            number(share, 5),
            note="from 0 to 1; Av: openings in mm² per m (ISO 6946, slightly ventilated air layers)",
        ),
    ]
    one = steady.transmittance(replace(closed.batch, slight=None))
    two = steady.transmittance(opened.batch)
    for sign, words_, low, high in (
        ("R′", "Upper limit", float(one.r_upper[0]), float(two.r_upper[0])),
        ("R″", "Lower limit", float(one.r_lower[0]), float(two.r_lower[0])),
    ):
        sum_ = f"{number(1 - share, 5)} × {number(low, 4)} + {number(share, 5)} × {number(high, 4)}"
        value = (1 - share) * low + share * high
        steps.append(SumStep(f"{words_} {sign}, both cases weighed", sum_, f"{sign} = {number(value, 4)} {UNIT}"))
    return steps


def _together(judged: Judged, batch: WallBatch) -> list[DocumentPart]:
    """Total resistance, error, corrections, U and its rounding."""
    heat = judged.heat
    r_upper, r_lower, r_total = (number(each, 4) for each in (heat.r_upper, heat.r_lower, heat.r_total))
    parts: list[DocumentPart] = [
        Heading("Total resistance and U"),
        SumStep("Total resistance R = (R′ + R″) / 2", f"({r_upper} + {r_lower}) / 2", f"R = {r_total} {UNIT}"),
        SumStep(
            "Largest relative error e = (R′ − R″) / (2 R)",
            f"({r_upper} − {r_lower}) / (2 × {r_total})",
            f"e = {number(100 * heat.relative_error, 2)} %",
            note="the true value for this geometry lies between both limits",
        ),
    ]
    parts += _correction_steps(judged.wall, batch, heat.correction)
    parts = [each if isinstance(each, Heading) else replace(each, kept=True) for each in parts]
    if heat.refused:
        parts.append(Text(f"U is not given: {heat.refused}."))
        return parts
    shown = f"1 / {r_total} + {number(heat.correction, 5)}" if heat.correction else f"1 / {r_total}"
    title = "Thermal transmittance U = 1 / R + ΔU"
    parts.append(SumStep(title, shown, f"U = {number(heat.u_value, 5)} W/m²K", strong=True))
    parts.append(Text(rounding(heat.u_value)))
    return parts


def rounding(u_value: float) -> str:
    """How U is rounded, in words."""
    digits = max(1 - math.floor(math.log10(u_value)), 0)
    return (
        f"Rounded: {number(u_value, 3)} W/m²K to three decimals; {number(u_value, digits)} W/m²K to two significant "
        "figures, as ISO 6946 asks of a final result (rule from memory). Limits are compared with the unrounded value."
    )


def _correction_steps(wall: BuildUp, batch: WallBatch, total: float) -> list[DocumentPart]:
    """Each correction of ISO 6946 with its figures."""
    given = wall.corrections
    if not (given.air_gap_level or given.fastener or given.point):
        return [Text("Corrections ΔU (ISO 6946): none are given for this wall, ΔU = 0.")]
    unbridged = float(steady.unbridged_resistance(batch)[0])
    terms = [float(batch.r_se[0]), *(float(each) for each in batch.resistance[0] if each), float(batch.r_si[0])]
    steps: list[DocumentPart] = [
        SumStep(
            "For the corrections: resistance without any bridges, R without bridges",
            " + ".join(number(each, 4) for each in terms),
            f"{number(unbridged, 4)} {UNIT}",
        )
    ]
    values = []
    if given.air_gap_level:
        at = wall.index_of(given.air_gap_layer)
        r_layer = float(batch.resistance[0, at])
        value = float(corrections.air_gap(given.air_gap_level, r_layer, unbridged))
        base = corrections.AIR_GAP[given.air_gap_level]
        sum_ = f"{exact(base)} × ({number(r_layer, 4)} / {number(unbridged, 4)})²"
        title = f"Air gaps of level {given.air_gap_level} in layer {at + 1}"
        note = "ΔU″ (R of the layer / R without bridges)²"
        steps.append(SumStep(title, sum_, f"{number(value, 5)} W/m²K", note=note))
        values.append(value)
    for each in given.fastener:
        step, value = _fastener(wall, batch, each, unbridged)
        steps.append(step)
        values.append(value)
    for each in given.point:
        value = float(corrections.point_bridges(each.number_per_m2, each.chi_w_k))
        sum_ = f"{exact(each.number_per_m2)} × {exact(each.chi_w_k)}"
        steps.append(SumStep("Point bridges: number per m² times χ, W/K", sum_, f"{number(value, 5)} W/m²K"))
        values.append(value)
    sum_ = " + ".join(number(each, 5) for each in values)
    return [*steps, SumStep("Corrections ΔU (ISO 6946)", sum_, f"ΔU = {number(total, 5)} W/m²K")]


def _fastener(wall: BuildUp, batch: WallBatch, each, unbridged: float) -> tuple[SumStep, float]:
    at = wall.index_of(each.layer)
    depth, r_layer = wall.layers[at].thickness_mm / 1000, float(batch.resistance[0, at])
    if not depth:
        return SumStep(f"Fasteners in layer {at + 1}: the layer is empty", "", f"{number(0.0, 5)} W/m²K"), 0.0
    area = math.pi / 4 * (each.diameter_mm / 1000) ** 2
    length = None if each.length_mm is None else each.length_mm / 1000
    value = float(
        corrections.fasteners(each.number_per_m2, each.conductivity_w_mk, area, depth, r_layer, unbridged, length)
    )
    if not value:
        title = f"Fasteners in layer {at + 1}: conductivity below {exact(corrections.LEAST_METAL)} W/mK, none counted"
        return SumStep(title, "", f"{number(0.0, 5)} W/m²K"), 0.0
    alpha = exact(corrections.FASTENER_ALPHA)
    if length is not None:
        alpha += f" × {exact(length)} / {exact(depth)}"
    sum_ = (
        f"{alpha} × {exact(each.conductivity_w_mk)} × {exact(area * 1e6)} × 10⁻⁶ × {exact(each.number_per_m2)} / "
        f"{exact(depth)} × ({number(r_layer, 4)} / {number(unbridged, 4)})²"
    )
    title = f"Fasteners in layer {at + 1}, {exact(each.diameter_mm)} mm across"
    note = "α λ A n / d0 (R of the layer / R without bridges)², A in m²"
    return SumStep(title, sum_, f"{number(value, 5)} W/m²K", note=note), value
