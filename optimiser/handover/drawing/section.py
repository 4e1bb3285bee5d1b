"""The plan section of one wall, to scale, as an SVG that stands alone or inside a page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from ...wall.buildup import BuildUp
from ..pieces.counting import slotted
from . import cut, palette
from .cut import sides, sizes
from .dimensions import FIRST
from .hatch import patterns, style
from .paper import Sheet, model
from .plan import Plan, geometry, plan
from .shapes import Paper
from .svg import clean, element, line, millimetres, text, text_width

LEFT = 26.0  # px for the word outside
RIGHT = 46.0  # px for the stud spacing and the word inside
TOP = 30.0  # px for the layer numbers
NOTE = 10.5  # px, size of the notes


@dataclass(frozen=True)
class Beside:
    """How a drawing stands among others of one sheet width: one scale, the faces of one side in one line.

    span_mm: the thickness that the sheet has room for; faces: whose faces lie in one line; mark_mm: where a line is
    drawn through all of them, measured from those faces; bay_mm: the length of wall shown, one line of studs in it.
    """

    span_mm: float
    faces: Literal["outside", "inside"] = "outside"
    mark_mm: float | None = None
    bay_mm: float = 76.0


def section_svg(
    wall: BuildUp,
    *,
    width_px: float = 480,
    bays: float | None = None,
    dark: bool = False,
    plain: bool = False,
    prefix: str = "wf",
    beside: Beside | None = None,
) -> str:
    """The wall cut on plan, outside left, inside right, as SVG text.

    Arguments: width_px, the width of the sheet [px]; bays, how many whole bays to show (None shortens the wall
    between its studs with break lines); dark, the colours to fall back on where the page sets none; plain, colours
    written out for converters that know no custom properties; prefix, of the ids (two drawings on one page).
    Every layer is a group `class="layer" data-layer="N"`, numbered from 1, outside first.
    """
    drawn = plan(wall, bays) if beside is None else _shortest(plan(wall), beside.bay_mm)
    scale = (width_px - LEFT - RIGHT) / max(drawn.thickness if beside is None else beside.span_mm, 1.0)
    start = (beside.span_mm - drawn.thickness) * scale if beside is not None and beside.faces == "inside" else 0.0
    sheet = model(drawn.windows, scale)
    measured, ends, column = sizes(drawn, sheet)
    notes = notes_of(drawn, wall) if beside is None else []
    lines = wrapped(notes, width_px - 8)
    bottom = TOP + ends
    height = bottom + 8 + len(lines) * 14.5
    inside = RIGHT - 5 if beside is None or column > FIRST else 17.0
    put = Paper(scale, LEFT + start, TOP, prefix)
    body = [
        style(palette.DARK if dark else palette.LIGHT, plain=plain),
        patterns(prefix),
        put.svg(cut.body(drawn, sheet)),
        put.svg(sides(drawn, sheet, LEFT - 13, inside)),
        put.svg(measured),
        *_mark(put, sheet, drawn, start, height, beside),
        *(text(4, bottom + 16 + 14.5 * row, words, "quiet", "start") for row, words in enumerate(lines)),
    ]
    head = element("title", clean(f"{wall.name}: plan section")) + element("desc", clean(described(drawn, wall)))
    return element(
        "svg",
        head,
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="wf",
        role="img",
        viewBox=f"0 0 {width_px:g} {height:.0f}",
        width=f"{width_px:g}",
        height=f"{height:.0f}",
        data_scale=f"{scale:.6f}",
    )


def _shortest(drawn: Plan, bay_mm: float) -> Plan:
    """As little of a wall as shows every frame in it, at least that long where one stretch is enough."""
    framed, windows, seen = {each.layer for each in drawn.members}, [], set()
    while len(windows) < len(drawn.windows) and not (windows and seen >= framed):
        low, high = drawn.windows[len(windows)]
        seen |= {each.layer for each in drawn.members if low <= each.y0 and each.y1 <= high}
        windows.append((low, high))
    if len(windows) == 1:
        low, high = windows[0]
        more = max(bay_mm - (high - low), 0.0) / 2
        windows = [(low - more, high + more)]
    return replace(drawn, windows=windows)


def _mark(put: Paper, sheet: Sheet, drawn: Plan, start: float, height: float, beside: Beside | None) -> list[str]:
    """The line through all drawings of a comparison; where it is the wall's own face, not through its sizes."""
    if beside is None or beside.mark_mm is None:
        return []
    at = beside.mark_mm if beside.faces == "outside" else beside.span_mm - beside.mark_mm
    x = put.left - start + at * put.scale
    on_face = abs(x - (put.left if beside.faces == "inside" else put.point((drawn.thickness, 0.0))[0])) < 0.5
    return [line(x, 0, x, put.point((0.0, sheet.bottom))[1] + 4 if on_face else height, "hidden")]


def notes_of(drawn: Plan, wall: BuildUp) -> list[str]:
    """What the drawing's conventions mean on this wall, in words."""
    notes = []
    if drawn.airtight:
        notes.append(f"solid heavy line: airtight, layer {drawn.airtight[0]}")
    if drawn.windtight:
        notes.append(f"dashed line: wind-tight, layer {drawn.windtight[0]}")
    for place in drawn.layers:
        frame = place.layer.frame
        if frame and place.number in drawn.behind and drawn.view == "vertical":
            width, spacing, _ = geometry(frame)
            notes.append(
                f"layer {place.number}: upright battens {millimetres(width)} wide every {millimetres(spacing)} mm "
                "along the wall, behind the cut"
            )
        elif frame and frame.axis == "horizontal" and drawn.view == "plan":
            width, spacing, _ = geometry(frame)
            notes.append(
                f"layer {place.number}: horizontal battens {millimetres(width)} wide every {millimetres(spacing)} mm "
                "up the wall, below the cut"
            )
        if frame and frame.fraction is not None:
            width, spacing, _ = geometry(frame)
            notes.append(
                f"layer {place.number}: members given as {frame.fraction:.1%} of the area, "
                f"drawn as {millimetres(width)} in {millimetres(spacing)} mm"
            )
        if place.layer.tie and not drawn.ties and drawn.view == "plan":
            notes.append(f"layer {place.number}: tie plates not on this cut")
    for at, boards in slotted(wall).items() if drawn.ties else ():
        numbers = " and ".join(str(each + 1) for each in boards)
        notes.append(
            f"layer {numbers}: slots for the ties of layer {at + 1} cut on site and closed airtight with tape again"
        )
    if len(drawn.windows) > 1 and drawn.view == "plan":
        notes.append("shortened between the studs")
    return [*notes, *drawn.notes]


def wrapped(notes: list[str], width: float) -> list[str]:
    """Notes in lines no wider than that [px], parted by a middle dot."""
    lines: list[str] = []
    for note in notes:
        longer = f"{lines[-1]}  ·  {note}" if lines else note
        if lines and text_width(longer, NOTE) * 0.9 <= width:
            lines[-1] = longer
        else:
            lines.append(note)
    return lines


def described(drawn: Plan, wall: BuildUp) -> str:
    """The drawing read aloud, from outside to inside."""
    words = []
    for place in drawn.layers:
        layer = place.layer
        said = f"{place.number} {layer.role}, {wall.of(layer.material).name}"
        if layer.thickness_mm:
            said += f", {millimetres(layer.thickness_mm)} mm"
        if layer.frame:
            said += f", with {wall.of(layer.frame.material).name} members"
        words.append(said)
    return f"From outside to inside: {'; '.join(words)}. In all {millimetres(drawn.thickness)} mm."
