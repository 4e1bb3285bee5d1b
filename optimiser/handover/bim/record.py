"""What a wall type says in a building model, as plain records: the wall, its layers, their materials and shares."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from materials.models import Material

from ...batch import WallBatch
from ...brief.brief import Brief
from ...checks.judge import Judged
from ...checks.strength import standing
from ...checks.strength.demand import StrengthDemand
from ...template import SLOT
from ...wall.assemble import LayerParts, batch_of, last_vented, parts_of, void_depths
from ...wall.buildup import AIR, BuildUp, Frame, Layer, Tie
from ...wall.places import places_of
from ..drawing.title import CAUTION
from ..filling.sheet import digest_of

LONGEST = 255  # characters of an IfcLabel or IfcIdentifier (ISO 16739-1)
INSULATION = ("loose fill", "batt", "insulating board")

Sizes = tuple[tuple[str, float | str], ...]


@dataclass(frozen=True)
class Constituent:
    """One part of a mixed layer: its share of the layer's volume, and the sizes of members or ties [mm]."""

    name: str  # "fill", "members" or "ties"
    fraction: float
    material: Substance
    sizes: Sizes = ()


@dataclass(frozen=True)
class Substance:
    """A material as it is in a layer; None where a value is not known.

    A mixed layer is a substance with constituents. Its conductivity is that of its parts by area, as the lower limit of
    ISO 6946 takes them; its density and specific heat are those of the mixture.
    """

    name: str
    category: str | None = None
    conductivity_w_mk: float | None = None
    specific_heat_j_kgk: float | None = None
    density_kg_m3: float | None = None
    vapour_mu_dry: float | None = None
    vapour_mu_wet: float | None = None
    sd_m_dry: float | None = None
    sd_m_humid: float | None = None
    mass_kg_m2: float | None = None
    reaction_to_fire: str | None = None
    strength_class: str | None = None
    constituents: tuple[Constituent, ...] = ()


@dataclass(frozen=True)
class TypeLayer:
    """One layer, outside first. ventilated: None for an air layer that does not exchange air with the outside.

    resistance_m2k_w: as counted in the lower limit, 0 outside of a well-ventilated space.
    """

    role: str
    thickness_mm: float
    category: str
    ventilated: bool | None
    material: Substance
    resistance_m2k_w: float | None = None
    product: str | None = None
    supplier: str | None = None


@dataclass(frozen=True)
class WallType:
    """A wall as a type of a building model; None where a value is not known. U [W/m2K], resistances [m2K/W]."""

    project: str
    name: str
    tag: str | None
    framed: bool
    layers: tuple[TypeLayer, ...]
    reference: str | None = None
    u_value: float | None = None
    load_bearing: bool | None = None
    external: bool | None = None
    combustible: bool | None = None
    method: str | None = None
    r_total: float | None = None
    r_upper: float | None = None
    r_lower: float | None = None
    r_si: float | None = None
    r_se: float | None = None
    correction: float | None = None
    carbon_kgco2e_m2: float | None = None
    carbon_unit: str | None = None
    carbon_scope: str | None = None
    study_years: float | None = None
    stored_kgco2_m2: float | None = None
    outside: str | None = None
    weight_kg_m2: float | None = None
    mark: str | None = None
    caution: str | None = None


def wall_type(judgement: Judged, brief: Brief | None = None, wall_id: str | None = None) -> WallType:
    """The record of a judged wall. brief: names the project and the frame that bears the load."""
    wall, heat, carbon = judgement.wall, judgement.heat, judgement.carbon
    u_value, method = _transmittance(judgement)
    bears = bears_load(wall)
    score = _known(carbon.score)
    return WallType(
        project=label(brief.name if brief is not None else wall.name),
        name=label(wall.name),
        tag=None if wall_id is None else label(wall_id),
        framed=any(layer.frame is not None for layer in wall.layers),
        layers=_layers(judgement, brief.strength if brief is not None else StrengthDemand()),
        reference=label(wall.name if wall_id is None else wall_id),
        u_value=u_value,
        load_bearing=bears,
        external=True,  # the walls judged here all part a heated room from the outdoor climate
        combustible=combustible(wall),
        method=method,
        **{
            name: _known(getattr(heat, name))
            for name in ("r_total", "r_upper", "r_lower", "r_si", "r_se", "correction")
        },
        carbon_kgco2e_m2=score,
        carbon_unit=None if score is None else "m2",
        carbon_scope=None if score is None else text(carbon.scope),
        study_years=None if score is None else float(carbon.study_years),
        stored_kgco2_m2=_known(carbon.stored),
        outside=wall.outside,
        weight_kg_m2=_known(judgement.weight_kg_m2),
        mark=digest_of(wall),
        caution=CAUTION,
    )


def label(words: str) -> str:
    """Words that fit an IfcLabel: at most 255 characters; U+FFFD for the character 0, which no reader lets through."""
    clean = text(words)
    return clean if len(clean) <= LONGEST else clean[: LONGEST - 1] + "…"


def text(words: str) -> str:
    """Words that fit an IfcText."""
    return words.replace("\0", "�")


def bears_load(wall: BuildUp) -> bool | None:
    """Whether the wall carries more than itself and the wind; None where no loads are given."""
    if wall.loads is None:
        return None
    loads = standing.wall_loads(wall.loads)
    return bool(loads.permanent + loads.imposed + loads.snow > 0)


def combustible(wall: BuildUp) -> bool | None:
    """Whether any material is of class B or less (EN 13501-1); None where none is stated so and some state nothing."""
    used = {key for layer in wall.layers for key in _keys(layer) if key != AIR}
    stated = [wall.of(key).reaction_to_fire for key in used]
    if any(words and not words.strip().startswith(("A1", "A2")) for words in stated):
        return True
    return False if all(stated) else None


def _keys(layer: Layer) -> list[str]:
    return [each.material for each in (layer, layer.frame, layer.tie) if each is not None]


def _known(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _transmittance(judgement: Judged) -> tuple[float | None, str]:
    """U and how it was found: by conduction only where the combined method refuses the wall."""
    if _known(judgement.u_value) is not None:
        return float(judgement.u_value), "combined method (ISO 6946)"
    if judgement.numeric is not None:
        return _known(judgement.numeric.heat.u_value), "numerical calculation (ISO 10211)"
    return None, "not known: the combined method (ISO 6946) does not apply"


def _layers(judgement: Judged, demand: StrengthDemand) -> tuple[TypeLayer, ...]:
    wall = judgement.wall
    parts = parts_of(wall)
    batch = batch_of(wall, parts)
    depths = void_depths(wall)
    places = places_of(wall, last_vented(wall))
    bearing = standing.bearing_layer(places, demand)
    names = _Names()
    layers = []
    for number, (layer, figures) in enumerate(zip(wall.layers, judgement.layers, strict=True)):
        resistance = _known(figures.resistance_m2k_w)
        substance = _substance(wall, number, parts[number], depths[number])
        if parts[number].member is not None:
            plain = replace(substance, name=label(substance.name))
            substance = _mixed(wall, number, plain, parts[number], batch, figures.text, resistance)
        layers.append(
            TypeLayer(
                role=label(layer.role),
                thickness_mm=layer.thickness_mm,
                category="LoadBearing" if bears_load(wall) and number == bearing else _category(wall, layer),
                ventilated=_ventilated(layer),
                material=names.unique(substance),
                resistance_m2k_w=resistance,
                product=text(figures.product or _named(layer, "product")) or None,
                supplier=text(figures.supplier or _named(layer, "supplier")) or None,
            )
        )
    return tuple(layers)


def _category(wall: BuildUp, layer: Layer) -> str:
    """The keyword of a layer where the schema has one, else what kind of material it is of."""
    kind = wall.of(layer.material).kind
    slot = SLOT.get(layer.role)
    if slot is not None and slot.finish:
        return slot.finish
    return "Insulation" if kind in INSULATION else (kind or "layer").capitalize()


def _ventilated(layer: Layer) -> bool | None:
    if layer.material != AIR:
        return False
    return True if layer.well_ventilated or layer.ventilation == "slight" else None


def _named(layer: Layer, what: str) -> str:
    """Products or suppliers as the build-up names them, where no price list stands behind the judgement."""
    names: list[str] = []
    for each in (layer, layer.frame, layer.tie):
        given = each and getattr(each, what)
        names += [given] if isinstance(given, str) else list(given or ())
    return " + ".join(dict.fromkeys(names))


def _substance(wall: BuildUp, number: int, part: LayerParts, void_depth: float) -> Substance:
    """What fills a layer, or makes it up."""
    layer = wall.layers[number]
    material = part.stock.material
    if layer.material == AIR and _ventilated(layer):
        name = "ventilated air" if layer.well_ventilated else "slightly ventilated air"
        return replace(_of(material, None), name=name)  # has no resistance of its own (ISO 6946)
    made = _of(material, _conductivity(material, layer.thickness_mm, part.plain.resistance))
    if layer.material == AIR:
        return replace(made, name=f"{material.name}, {layer.thickness_mm:g} mm")
    if material.kind == "loose fill":
        return replace(made, density_kg_m3=material.installed_density(void_depth * 1000))
    return made


def _conductivity(material: Material, thickness_mm: float, resistance: float) -> float | None:
    """The design value, or what the layer's resistance comes to where the material states that instead."""
    if material.design_conductivity is not None and material.resistance_m2k_w is None:
        return material.design_conductivity
    return thickness_mm / 1000 / resistance if thickness_mm and resistance > 0 else None


def _of(material: Material, conductivity: float | None) -> Substance:
    humid = material.sd_m if material.sd_m_humid is None else material.sd_m_humid
    timber = material.kind == "timber"
    return Substance(
        name=material.name,
        category="wood" if timber else material.kind,
        conductivity_w_mk=_known(conductivity),
        specific_heat_j_kgk=material.specific_heat_j_kgk,
        density_kg_m3=material.density_kg_m3,
        vapour_mu_dry=material.vapour_mu if material.vapour_mu_dry is None else material.vapour_mu_dry,
        vapour_mu_wet=material.vapour_mu if material.vapour_mu_wet is None else material.vapour_mu_wet,
        sd_m_dry=material.sd_m if material.sd_m_dry is None else material.sd_m_dry,
        sd_m_humid=humid,
        mass_kg_m2=material.mass_kg_m2,
        reaction_to_fire=material.reaction_to_fire and label(material.reaction_to_fire),
        strength_class=label(material.strength_class) if timber and material.strength_class else None,
    )


def _mixed(
    wall: BuildUp,
    number: int,
    plain: Substance,
    part: LayerParts,
    batch: WallBatch,
    words: str,
    resistance: float | None,
) -> Substance:
    layer = wall.layers[number]
    share = float(batch.member_of(number).fraction[0])
    material = part.member_stock.material
    member = _of(material, _conductivity(material, layer.thickness_mm, part.member.resistance))
    member = replace(member, name=label(member.name))
    what, sizes = ("ties", _tie_sizes(layer.tie)) if layer.tie is not None else ("members", _frame_sizes(layer.frame))
    one, other = Constituent("fill", 1 - share, plain), Constituent(what, share, member, sizes)
    conductivity = None
    if resistance and layer.thickness_mm and layer.ventilation != "slight":
        conductivity = layer.thickness_mm / 1000 / resistance
    density, specific_heat = _mixture(one, other)
    return Substance(
        name=words,
        category="composite",
        conductivity_w_mk=conductivity,
        specific_heat_j_kgk=specific_heat,
        density_kg_m3=density,
        constituents=(one, other),
    )


def _mixture(*parts: Constituent) -> tuple[float | None, float | None]:
    """Density by volume and specific heat by mass of a mixed layer."""
    if any(each.material.density_kg_m3 is None for each in parts):
        return None, None
    masses = [each.fraction * each.material.density_kg_m3 for each in parts]
    if any(each.material.specific_heat_j_kgk is None for each in parts):
        return sum(masses), None
    heat = sum(mass * each.material.specific_heat_j_kgk for mass, each in zip(masses, parts, strict=True))
    return sum(masses), heat / sum(masses)


def _frame_sizes(frame: Frame) -> Sizes:
    if frame.fraction is not None:
        return (("Axis", frame.axis),)
    return (
        ("Axis", frame.axis),
        ("ExtraFraction", frame.extra_fraction),
        ("Offset", frame.offset_mm),
        ("Spacing", frame.spacing_mm),
        ("Width", frame.width_mm),
    )


def _tie_sizes(tie: Tie) -> Sizes:
    return (
        ("Height", tie.height_mm),
        ("Overlap", tie.overlap_mm),
        ("Thickness", tie.thickness_mm),
        ("VerticalSpacing", tie.vertical_spacing_mm),
    )


class _Names:
    """Gives every substance a name of its own, as programs that sort materials by name need it."""

    def __init__(self) -> None:
        self.given: dict[Substance, Substance] = {}
        self.taken: set[str] = set()

    def unique(self, one: Substance) -> Substance:
        """The substance under its own name, or with a number behind it where another has that."""
        parts = tuple(replace(each, material=self.unique(each.material)) for each in one.constituents)
        one = replace(one, name=label(one.name), constituents=parts)
        if one not in self.given:
            name, number = one.name, 2
            while name in self.taken:
                ending = f" ({number})"
                name, number = one.name[: LONGEST - len(ending)] + ending, number + 1
            self.taken.add(name)
            self.given[one] = replace(one, name=name)
        return self.given[one]
