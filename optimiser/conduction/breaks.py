""" "Completely thermally broken" as a number: what the members of one wall cost in heat, and what others would.

U is that of conduction through the wall as drawn (ISO 10211), corrections included; beside it stands the combined
method's (ISO 6946) where that applies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass

from materials.catalogue import Catalogue, load_catalogue
from materials.errors import InputError

from ..heat import steady
from ..template import GAP, SERVICE_ZONE
from ..wall import scores
from ..wall.assemble import batch_of, last_vented, metal_bridge, parts_of
from ..wall.buildup import BuildUp, Layer
from .u_value import numeric_u
from .wall_cell import NumericHeat, name_of, numeric_heat

PLYWOOD, PLYWOOD_MM = "tie-plywood", 12.0
TOLERANCE = 0.001  # of U: other ties change little
STEEL, STEEL_MM = "galvanised-fixings", 2.0  # common practice for nailing plates, from memory


@dataclass(frozen=True)
class Through:
    """What passes through one kind of thing in one layer."""

    layer: int  # from 1, outside first
    role: str
    what: str  # studs | battens | ties | fill | layer
    of_area: float  # share of the layer's area in the cell; plates and openings are not in it
    of_heat: float  # share of the cell's heat


@dataclass(frozen=True)
class Other:
    """The same wall with other members; U in W/m2K, None (and a reason) where it cannot be told."""

    name: str
    u_value: float | None
    u_error: float | None
    difference: float | None  # to the wall as drawn
    u_combined: float | None  # by the combined method; None where that is refused
    reason: str | None = None


@dataclass(frozen=True)
class Breaks:
    """What breaks what in one wall."""

    u_value: float
    u_error: float
    u_unbridged: float  # without any member, plate or opening
    by_members: float  # part of the heat loss that is due to members: 0 is completely thermally broken
    through: tuple[Through, ...]
    others: tuple[Other, ...]

    def as_json(self) -> dict:
        """For `check --json`, under numeric.breaks."""
        return asdict(self)


def breaks(
    wall: BuildUp,
    heat: NumericHeat | None = None,
    catalogue: Catalogue | None = None,
    tolerance: float = TOLERANCE,
) -> Breaks:
    """Shares of heat by member, and U with other members.

    heat: of this wall, where it is at hand; catalogue: that plywood and steel ties are taken from, the shipped one.
    InputError where the wall itself cannot be solved.
    """
    heat = numeric_heat(wall, tolerance=tolerance) if heat is None else heat
    bare = heat.u_unbridged + heat.correction
    variants = [_variant("as drawn", heat.u_value, heat.u_error, heat.u_value, wall)]
    for name, other in others(wall, catalogue or load_catalogue()):
        try:
            variants.append(_variant(name, *numeric_u(other, tolerance), heat.u_value, other))
        except InputError as error:
            reason = str(error).removeprefix(f"{wall.name}: ")
            variants.append(Other(name, None, None, None, _combined(other), reason))
    unbridged = _without(wall, lambda layer: True)
    variants.append(_variant("no members at all", bare, 0.0, heat.u_value, unbridged))
    return Breaks(heat.u_value, heat.u_error, bare, 1 - bare / heat.u_value, _through(wall, heat), tuple(variants))


def _variant(name: str, u_value: float, error: float, drawn: float, wall: BuildUp) -> Other:
    return Other(name, u_value, error, u_value - drawn, _combined(wall))


def _combined(wall: BuildUp) -> float | None:
    parts = parts_of(wall)
    batch = batch_of(wall, parts)
    transmittance = steady.transmittance(batch)
    if metal_bridge(wall, parts) or transmittance.refused[0]:
        return None
    return float(transmittance.u_bare[0] + scores.correction(wall.corrections, batch, wall.index_of)[0])


def _through(wall: BuildUp, heat: NumericHeat) -> tuple[Through, ...]:
    batch = batch_of(wall, parts_of(wall))
    flows = []
    for number, layer in enumerate(wall.layers):
        plain, member = heat.shares.get(name_of(wall, number)), heat.shares.get(name_of(wall, number, True))
        crossed = batch.member_of(number)
        if member is not None:
            area = float((crossed.fraction - crossed.extra)[0])
            flows.append(Through(number + 1, layer.role, _kind(layer), area, member))
            if plain is not None:
                flows.append(Through(number + 1, layer.role, "fill", 1 - area, plain))
        elif plain is not None:
            flows.append(Through(number + 1, layer.role, "layer", 1.0, plain))
    return tuple(flows)


def _kind(layer: Layer) -> str:
    if layer.tie is not None:
        return "ties"
    return "studs" if layer.frame.axis == "vertical" and layer.role != SERVICE_ZONE else "battens"


# -- other walls ----------------------------------------------------------------------------------------------


def others(wall: BuildUp, catalogue: Catalogue) -> Iterator[tuple[str, BuildUp]]:
    """The same wall with other members, each with its name; only what differs from the wall as drawn."""
    inside = wall.layers[last_vented(wall) + 1 :]
    solid = _solid_studs(wall)
    if solid is not None:
        yield "solid studs of equal depth", solid
    if any(layer.tie for layer in inside):
        yield "no ties", _without(wall, lambda layer: layer.tie is not None)
        yield from _other_ties(wall, catalogue)
    if any(layer.frame and _kind(layer) == "battens" for layer in inside):
        yield "no battens", _without(wall, lambda layer: layer.frame is not None and _kind(layer) == "battens")
    if any(layer.frame and layer.frame.extra_fraction for layer in inside):
        yield "no plates or openings", _each(wall, _without_extra)


def _each(wall: BuildUp, change: Callable[[Layer], Layer]) -> BuildUp:
    """A wall whose layers that carry heat are changed."""
    first = last_vented(wall) + 1
    layers = (*wall.layers[:first], *(change(layer) for layer in wall.layers[first:]))
    return wall.model_copy(update={"layers": layers})


def _without(wall: BuildUp, which: Callable[[Layer], bool]) -> BuildUp:
    """Fill in place of the members of some layers. Ties go with the frames that they stand between."""
    return _each(wall, lambda layer: layer.model_copy(update={"frame": None, "tie": None}) if which(layer) else layer)


def _without_extra(layer: Layer) -> Layer:
    if layer.frame is None or not layer.frame.extra_fraction:
        return layer
    return layer.model_copy(update={"frame": layer.frame.model_copy(update={"extra_fraction": 0.0})})


def _solid_studs(wall: BuildUp) -> BuildUp | None:
    """The outer frame's studs through all that lies between the frames, boards aside; None where there is one frame."""
    first = last_vented(wall) + 1
    studs = [
        number
        for number, layer in enumerate(wall.layers)
        if number >= first and layer.frame is not None and layer.frame.fraction is None and _kind(layer) == "studs"
    ]
    if len(studs) < 2:
        return None
    frame = wall.layers[studs[0]].frame
    layers = list(wall.layers)
    for number in range(studs[0], studs[-1] + 1):
        layer = layers[number]
        if number in studs or layer.tie is not None or layer.role == GAP:
            layers[number] = layer.model_copy(update={"frame": frame, "tie": None})
    return wall.model_copy(update={"layers": tuple(layers)})


def _other_ties(wall: BuildUp, catalogue: Catalogue) -> Iterator[tuple[str, BuildUp]]:
    tie = next(layer.tie for layer in wall.layers if layer.tie)
    yield "half as many ties", _with_ties(wall, vertical_spacing_mm=2 * tie.vertical_spacing_mm)
    if 2 * tie.height_mm < tie.vertical_spacing_mm:
        yield "twice as many ties", _with_ties(wall, vertical_spacing_mm=tie.vertical_spacing_mm / 2)
    yield "ties half as thick", _with_ties(wall, thickness_mm=tie.thickness_mm / 2)
    yield "ties twice as thick", _with_ties(wall, thickness_mm=2 * tie.thickness_mm)
    for words, key, thickness in (("plywood", PLYWOOD, PLYWOOD_MM), ("steel", STEEL, STEEL_MM)):
        material = catalogue.get(key)
        if wall.of(tie.material).design_conductivity != material.design_conductivity:
            library = wall.model_copy(update={"materials": wall.materials | {key: material}})
            yield f"{words} ties, {thickness:g} mm", _with_ties(library, material=key, thickness_mm=thickness)


def _with_ties(wall: BuildUp, **change: float | str) -> BuildUp:
    """Other ties throughout; products named for the old ones no longer are."""
    change = change | {"product": None, "supplier": None}
    return _each(
        wall,
        lambda layer: layer.model_copy(update={"tie": layer.tie.model_copy(update=change)}) if layer.tie else layer,
    )
