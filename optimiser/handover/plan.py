"""The plan section of a wall as rectangles in millimetres: x from outside to inside, y along the wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from materials.models import Material
from optimiser.buildup import AIR, VENTILATED_SPACE, BuildUp, Frame, Layer

PAD_MM = 20.0  # what is shown of the fill beside a member where the drawing is shortened
PLAIN_MM = 150.0  # the length shown of a wall without members
ASSUMED_SPACING_MM = 600.0  # a frame given by its share alone is drawn at this spacing


class Member(NamedTuple):
    """A stud or batten in the cut."""

    layer: int
    x0: float
    x1: float
    y0: float
    y1: float


@dataclass(frozen=True)
class PlanLayer:
    """A layer's place [mm] and how it is drawn."""

    number: int
    layer: Layer
    x0: float
    x1: float
    look: str  # timber | fill | rigid | wood-board | mineral-board | cladding | empty | membrane

    @property
    def thin(self) -> bool:
        """Whether it is drawn as a line only."""
        return self.x1 - self.x0 < 1.0


@dataclass(frozen=True)
class Plan:
    """Everything the drawing shows [mm]."""

    layers: list[PlanLayer]
    members: list[Member]
    ties: list[Member]
    windows: list[tuple[float, float]]  # the stretches of wall that are shown
    airtight: tuple[int, float] | None  # layer number and place of the line
    windtight: tuple[int, float] | None

    @property
    def thickness(self) -> float:
        return self.layers[-1].x1


def plan(wall: BuildUp, bays: float | None = None) -> Plan:
    """Lay the wall out; `bays` shows that many whole bays, None shortens between the studs."""
    layers, x = [], 0.0
    for number, layer in enumerate(wall.layers, 1):
        look = look_of(layer, wall.of(layer.material))
        layers.append(PlanLayer(number, layer, x, x + layer.thickness_mm, look))
        x += layer.thickness_mm
    windows = _windows(layers, bays)
    members = [each for place in layers for each in _members(place, windows[-1][1])]
    shown = [each for each in members if any(each.y0 < y1 and each.y1 > y0 for y0, y1 in windows)]
    ties = [each for place in layers if place.layer.tie for each in _ties(place, layers, shown)]
    return Plan(layers, shown, ties, windows, _airtight(wall, layers), _windtight(wall, layers))


def look_of(layer: Layer, material: Material) -> str:
    """The hatch and tint a layer's material is drawn with."""
    if layer.material == AIR or material.kind == "air":
        return "empty"
    kind = material.kind or _guess(material)
    if kind == "membrane":
        return "membrane"
    if layer.role == "cladding" or kind == "cladding":
        return "cladding"
    if kind in ("loose fill", "batt"):
        return "fill"
    if kind == "insulating board":
        return "rigid"
    if kind == "timber":
        return "wood-board"
    return "wood-board" if material.origin == "renewable" else "mineral-board"


def _guess(material: Material) -> str:
    """The kind of a material that a file describes by its numbers alone."""
    conductivity = material.design_conductivity
    if conductivity is None:
        return "membrane" if material.resistance_m2k_w is None else "board"
    return "batt" if conductivity < 0.07 else "board"


def geometry(frame: Frame) -> tuple[float, float, float]:
    """Width, spacing and offset [mm] as drawn; a share alone becomes a width at the assumed spacing."""
    if frame.width_mm is not None and frame.spacing_mm is not None and frame.fraction is None:
        return frame.width_mm, frame.spacing_mm, frame.offset_mm % frame.spacing_mm
    spacing = frame.spacing_mm or ASSUMED_SPACING_MM
    return frame.width_mm or (frame.fraction or 0.0) * spacing, spacing, 0.0


def _vertical(layers: list[PlanLayer]) -> list[PlanLayer]:
    return [place for place in layers if place.layer.frame and place.layer.frame.axis == "vertical"]


def _members(place: PlanLayer, until: float) -> list[Member]:
    """The upright members of one layer from y = 0 until there [mm]."""
    frame = place.layer.frame
    if frame is None or frame.axis != "vertical":
        return []
    width, spacing, offset = geometry(frame)
    centres = [offset + step * spacing for step in range(int(max(until - offset, 0) // spacing) + 2)]
    centres = [each for each in centres if each - width / 2 < until]
    return [Member(place.number, place.x0, place.x1, y - width / 2, y + width / 2) for y in centres]


def _windows(layers: list[PlanLayer], bays: float | None) -> list[tuple[float, float]]:
    """The stretches of wall [mm] that are shown, without cutting a member in two."""
    framed = _vertical(layers)
    if not framed:
        return [(0.0, PLAIN_MM)]
    bay = max(geometry(place.layer.frame)[1] for place in framed)
    reach = bay * (bays or 1.0)
    members = [each for place in framed for each in _members(place, reach + 1.0)]
    if bays is not None:
        low = min(each.y0 for each in members if each.y0 <= 0 or each.y1 > 0)
        return [(low - PAD_MM, max(reach, max(each.y1 for each in members)) + PAD_MM)]
    windows: list[tuple[float, float]] = []
    for member in sorted(members, key=lambda each: each.y0):
        low, high = member.y0 - PAD_MM, member.y1 + PAD_MM
        if windows and low <= windows[-1][1] + PAD_MM:
            windows[-1] = (windows[-1][0], max(windows[-1][1], high))
        else:
            windows.append((low, high))
    return windows[: _enough(windows, members, {place.number for place in framed})]


def _enough(windows: list[tuple[float, float]], members: list[Member], wanted: set[int]) -> int:
    """How many stretches show every framed layer and, if there are two lines of studs, both."""
    seen: set[int] = set()
    for count, (low, high) in enumerate(windows, 1):
        seen |= {each.layer for each in members if low <= each.y0 and each.y1 <= high}
        if seen >= wanted and count >= 2:
            return count
    return len(windows)


def _ties(place: PlanLayer, layers: list[PlanLayer], members: list[Member]) -> list[Member]:
    """Plates across a gap, against one face of each line of studs with a stud on both sides; none leaves its studs."""
    tie = place.layer.tie
    outer = [each for each in _vertical(layers[: place.number - 1]) if each.layer.role != VENTILATED_SPACE]
    inner = _vertical(layers[place.number :])
    if tie is None or not outer or not inner:
        return []
    found = []
    for stud in (each for each in members if each.layer == outer[-1].number):
        facing = [each for each in members if each.layer == inner[0].number and each.y0 < stud.y1 and each.y1 > stud.y0]
        if facing:
            face = min(stud.y1, facing[0].y1)
            x0 = max(stud.x1 - tie.overlap_mm, stud.x0)
            x1 = min(facing[0].x0 + tie.overlap_mm, facing[0].x1)
            found.append(Member(place.number, x0, x1, face - tie.thickness_mm, face))
    return found


def _airtight(wall: BuildUp, layers: list[PlanLayer]) -> tuple[int, float] | None:
    """The airtight layer: by its role, else the innermost material that declares it; line on the room side."""
    named = [each for each in layers if each.layer.role == "airtight layer"]
    found = named or [each for each in layers if wall.of(each.layer.material).airtight]
    return (found[-1].number, (found[-1].x1)) if found else None


def _windtight(wall: BuildUp, layers: list[PlanLayer]) -> tuple[int, float] | None:
    """The wind-tight layer: by its role, else the outermost material that declares it; line on the weather side."""
    named = [each for each in layers if each.layer.role == "wind-tight layer"]
    found = named or [each for each in layers if wall.of(each.layer.material).windtight]
    return (found[0].number, found[0].x0) if found else None
