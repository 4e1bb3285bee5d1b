"""The plan section of a wall as rectangles in millimetres: x from outside to inside, y along the wall.

`Plan` also holds the section upright (`vertical.py`): there y runs down from the top of the storey.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

from materials.models import Material

from ...template import AIRTIGHT, MEMBRANES, SLOT, VENTILATED_SPACE
from ...wall.buildup import AIR, BuildUp, Frame, Layer

PAD_MM = 20.0  # what is shown of the fill beside a member where the drawing is shortened
PLAIN_MM = 150.0  # the length shown of a wall without members
ASSUMED_SPACING_MM = 600.0  # a frame given by its share alone is drawn at this spacing


class Member(NamedTuple):
    """A stud, batten or plate in the cut; a nogging, which ends at its studs, is no continuous one."""

    layer: int
    x0: float
    x1: float
    y0: float
    y1: float
    continuous: bool = True


class Span(NamedTuple):
    """A distance along the wall that is dimensioned [mm]; those of one column stand in one line."""

    low: float
    high: float
    column: str
    before: str = ""  # words before the figure
    caption: str = ""  # of the column: words before the lowest figure that is shown


class ChamberBreak(NamedTuple):
    """Where a void is broken into chambers: across it, at that place along the cut [mm]."""

    layers: tuple[int, ...]
    x0: float
    x1: float
    y: float


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
    """Everything a drawing of a cut shows [mm]."""

    layers: list[PlanLayer]
    members: list[Member]
    ties: list[Member]
    windows: list[tuple[float, float]]  # the stretches of wall that are shown
    airtight: tuple[int, float] | None  # layer number and place of the line
    windtight: tuple[int, float] | None
    spans: tuple[Span, ...] = ()
    view: Literal["plan", "vertical"] = "plan"
    breaks: tuple[ChamberBreak, ...] = ()
    behind: tuple[int, ...] = ()  # layers whose members run along the cut, behind it
    notes: tuple[str, ...] = ()  # what else must be said of this cut
    open_ends: bool = False  # drawn with break lines: the wall goes on

    @property
    def thickness(self) -> float:
        return self.layers[-1].x1


def plan(wall: BuildUp, bays: float | None = None, lines: int = 2, pad_mm: float = PAD_MM) -> Plan:
    """Lay the wall out; `bays` shows that many whole bays, None shortens between the studs.

    lines: of studs that are shown at least where it is shortened; with more than two every distance between lines of
    the frames is dimensioned, else the first one; and the ends have break lines. pad_mm: of fill shown beside members.
    """
    layers = laid(wall)
    windows = _windows(layers, bays, lines, pad_mm)
    members = [each for place in layers for each in _members(place, windows[-1][1])]
    shown = [each for each in members if any(each.y0 < y1 and each.y1 > y0 for y0, y1 in windows)]
    ties = [each for place in layers if place.layer.tie for each in _ties(place, layers, shown)]
    behind = tuple(each.number for each in layers if each.layer.frame and each.layer.frame.axis == "horizontal")
    lined = [*control_lines(wall, layers), _spacings(layers, shown, windows, every=lines > 2)]
    return Plan(layers, shown, ties, windows, *lined, behind=behind, open_ends=lines > 2)


def laid(wall: BuildUp) -> list[PlanLayer]:
    """The layers one after another, from outside."""
    layers, x = [], 0.0
    for number, layer in enumerate(wall.layers, 1):
        look = look_of(layer, wall.of(layer.material))
        layers.append(PlanLayer(number, layer, x, x + layer.thickness_mm, look))
        x += layer.thickness_mm
    return layers


def look_of(layer: Layer, material: Material) -> str:
    """The hatch and tint a layer's material is drawn with."""
    if layer.material == AIR or material.kind == "air":
        return "empty"
    kind = material.kind or _guess(material)
    if kind == "membrane":
        return "membrane"
    slot = SLOT.get(layer.role)
    if slot is not None and slot.drawn:
        return slot.drawn
    if kind == "cladding":
        return kind
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


def _windows(layers: list[PlanLayer], bays: float | None, lines: int, pad: float) -> list[tuple[float, float]]:
    """The stretches of wall [mm] that are shown, without cutting a member in two."""
    framed = _vertical(layers)
    if not framed:
        return [(0.0, PLAIN_MM)]
    bay = max(geometry(place.layer.frame)[1] for place in framed)
    reach = bay * (bays or lines - 1.0)
    members = [each for place in framed for each in _members(place, reach + 1.0)]
    if bays is not None:
        low = min(each.y0 for each in members if each.y0 <= 0 or each.y1 > 0)
        return [(low - pad, max(reach, max(each.y1 for each in members)) + pad)]
    windows: list[tuple[float, float]] = []
    for member in sorted(members, key=lambda each: each.y0):
        low, high = member.y0 - pad, member.y1 + pad
        if windows and low <= windows[-1][1] + pad:
            windows[-1] = (windows[-1][0], max(windows[-1][1], high))
        else:
            windows.append((low, high))
    return windows[: _enough(windows, members, {place.number for place in framed}, lines)]


def _enough(windows: list[tuple[float, float]], members: list[Member], wanted: set[int], lines: int) -> int:
    """How many stretches show every framed layer and that many lines of studs, if there are as many."""
    seen: set[int] = set()
    for count, (low, high) in enumerate(windows, 1):
        seen |= {each.layer for each in members if low <= each.y0 and each.y1 <= high}
        if seen >= wanted and count >= lines:
            return count
    return len(windows)


def _ties(place: PlanLayer, layers: list[PlanLayer], members: list[Member]) -> list[Member]:
    """Plates across a gap, against one face of each line of studs with a stud on both sides; none leaves its studs."""
    tie = place.layer.tie
    outer = [each for each in _vertical(layers[: place.number - 1]) if each.layer.role != VENTILATED_SPACE]
    inner = _vertical(layers[place.number :])
    if tie is None or not outer or not inner:
        return []
    plates = []
    for stud in (each for each in members if each.layer == outer[-1].number):
        facing = [each for each in members if each.layer == inner[0].number and each.y0 < stud.y1 and each.y1 > stud.y0]
        if facing:
            face = min(stud.y1, facing[0].y1)
            x0 = max(stud.x1 - tie.overlap_mm, stud.x0)
            x1 = min(facing[0].x0 + tie.overlap_mm, facing[0].x1)
            plates.append(Member(place.number, x0, x1, face - tie.thickness_mm, face))
    return plates


def _spacings(
    layers: list[PlanLayer], members: list[Member], windows: list[tuple[float, float]], every: bool
) -> tuple[Span, ...]:
    """The distances between lines of members: the first one, or every one between those of the frames."""
    if every:
        ventilated = {place.number for place in layers if place.layer.role == VENTILATED_SPACE}
        members = [each for each in members if each.layer not in ventilated] or members
    centres: list[float] = []
    for low, high in windows:
        centres += sorted({(each.y0 + each.y1) / 2 for each in members if low <= each.y0 and each.y1 <= high})
    spans = [Span(one, two, "studs") for one, two in pairwise(centres)]
    return tuple(spans if every else spans[:1])


def control_lines(wall: BuildUp, layers: list[PlanLayer]) -> tuple[tuple[int, float] | None, tuple[int, float] | None]:
    """The airtight and the wind-tight layer, as number and place of the line."""
    return _airtight(wall, layers), _windtight(wall, layers)


def _airtight(wall: BuildUp, layers: list[PlanLayer]) -> tuple[int, float] | None:
    """The airtight layer: by its role, else the innermost material that declares it; line on the room side."""
    named = [each for each in layers if each.layer.role == AIRTIGHT]
    candidates = named or [each for each in layers if wall.of(each.layer.material).airtight]
    return (candidates[-1].number, (candidates[-1].x1)) if candidates else None


def _windtight(wall: BuildUp, layers: list[PlanLayer]) -> tuple[int, float] | None:
    """The wind-tight layer: by its role, else the outermost material that declares it; line on the weather side."""
    named = [each for each in layers if each.layer.role in MEMBRANES]
    candidates = named or [each for each in layers if wall.of(each.layer.material).windtight]
    return (candidates[0].number, candidates[0].x0) if candidates else None
