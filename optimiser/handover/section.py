"""The plan section of one wall, to scale, as an SVG that stands alone or inside a page."""

from __future__ import annotations

from optimiser.buildup import BuildUp

from . import palette
from .dimensions import chain, numbers, stud_spacing
from .hatch import HATCHED, patterns, style
from .paper import BREAK, Sheet
from .plan import Member, Plan, PlanLayer, geometry, plan
from .svg import clean, element, line, millimetres, path, rect, text, text_width

LEFT = 26.0  # px for the word outside
RIGHT = 46.0  # px for the stud spacing and the word inside
TOP = 30.0  # px for the layer numbers
NOTE = 10.5  # px, size of the notes


def section_svg(
    wall: BuildUp,
    *,
    width_px: float = 480,
    bays: float | None = None,
    dark: bool = False,
    plain: bool = False,
    prefix: str = "wf",
) -> str:
    """The wall cut on plan, outside left, inside right, as SVG text.

    Arguments: width_px, the width of the sheet [px]; bays, how many whole bays to show (None shortens the wall
    between its studs with break lines); dark, the colours to fall back on where the page sets none; plain, colours
    written out for converters that know no custom properties; prefix, of the ids (two drawings on one page).
    Every layer is a group `class="layer" data-layer="N"`, numbered from 1, outside first.
    """
    drawn = plan(wall, bays)
    scale = (width_px - LEFT - RIGHT) / max(drawn.thickness, 1.0)
    sheet = Sheet(scale, LEFT, TOP, tuple(drawn.windows))
    dims, bottom = chain(drawn, sheet)
    notes = _notes(drawn, wall, bays)
    lines = _wrapped(notes, width_px - 8)
    height = bottom + 8 + len(lines) * 14.5
    body = [
        style(palette.DARK if dark else palette.LIGHT, plain=plain),
        patterns(prefix),
        *(_layer(place, drawn, sheet, prefix) for place in drawn.layers),
        *_plates(drawn, sheet),
        *_control_lines(drawn, sheet),
        *_breaks(drawn, sheet),
        _outside_inside(sheet, width_px),
        numbers(drawn, sheet),
        stud_spacing(drawn, sheet),
        dims,
        *(text(4, bottom + 16 + 14.5 * row, words, "quiet", "start") for row, words in enumerate(lines)),
    ]
    head = element("title", clean(f"{wall.name}: plan section")) + element("desc", clean(_described(drawn, wall)))
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


def _layer(place: PlanLayer, drawn: Plan, sheet: Sheet, prefix: str) -> str:
    """One layer: its face, hatch, members, ties and the edge that lights up."""
    parts = []
    x0, x1 = sheet.x(place.x0), sheet.x(place.x1)
    for index, (low, high) in enumerate(drawn.windows):
        y0, y1 = sheet.y(low, index), sheet.y(high, index)
        if not place.thin:
            parts.append(rect(x0, y0, x1, y1, f"face f-{place.look}"))
            if place.look in HATCHED:
                parts.append(rect(x0, y0, x1, y1, "hatch", fill=f"url(#{prefix}-{place.look})"))
            parts += [line(x0, y0, x0, y1, "outline"), line(x1, y0, x1, y1, "outline")]
        parts += [_sawn(each, sheet, index) for each in _within(drawn.members, place.number, low, high)]
        parts += _horizontal(place, x0, x1, y0, y1)
    top, bottom = sheet.top, sheet.bottom
    if place.thin:
        parts.append(line(x0, top, x0, bottom, "outline"))
        parts.append(rect(x0 - 4, top, x0 + 4, bottom, "catch"))
    parts.append(rect(x0, top, max(x1, x0 + 0.5), bottom, "edge"))
    return element("g", *parts, class_=f"layer {place.look}", data_layer=place.number)


def _within(members: list[Member], layer: int, low: float, high: float) -> list[Member]:
    return [each for each in members if each.layer == layer and each.y0 < high and each.y1 > low]


def _sawn(member: Member, sheet: Sheet, window: int) -> str:
    """Sawn timber in the cut: outline and crossing diagonals."""
    low, high = sheet.windows[window]
    x0, x1 = sheet.x(member.x0), sheet.x(member.x1)
    y0, y1 = sheet.y(max(member.y0, low), window), sheet.y(min(member.y1, high), window)
    return (
        rect(x0, y0, x1, y1, "f-timber stud")
        + line(x0, y0, x1, y1, "cross")
        + line(x0, y1, x1, y0, "cross")
        + rect(x0, y0, x1, y1, "member")
    )


def _plates(drawn: Plan, sheet: Sheet) -> list[str]:
    """Tie plates, drawn over the studs they are fixed to."""
    found = []
    for place in (each for each in drawn.layers if each.layer.tie):
        parts = [
            _plate(each, sheet, index)
            for index, (low, high) in enumerate(drawn.windows)
            for each in _within(drawn.ties, place.number, low, high)
        ]
        if parts:
            found.append(element("g", *parts, class_="ties", data_layer=place.number))
    return found


def _plate(member: Member, sheet: Sheet, window: int) -> str:
    """One tie plate."""
    x0, x1 = sheet.x(member.x0), sheet.x(member.x1)
    y0, y1 = sheet.y(member.y0, window), sheet.y(member.y1, window)
    return rect(x0, y0, x1, y1, "f-tie tie") + rect(x0, y0, x1, y1, "member")


def _horizontal(place: PlanLayer, x0: float, x1: float, y0: float, y1: float) -> list[str]:
    """Battens that run along the wall, below the cut: a dashed outline."""
    frame = place.layer.frame
    if frame is None or frame.axis != "horizontal":
        return []
    inset = min(3.5, (x1 - x0) / 4)
    return [rect(x0 + inset, y0 + 3.5, x1 - inset, y1 - 3.5, "hidden")]


def _control_lines(drawn: Plan, sheet: Sheet) -> list[str]:
    """The airtight layer as a solid heavy line, the wind-tight layer as a dashed one, a little proud of the wall."""
    found = []
    for control, class_ in ((drawn.windtight, "wind-line"), (drawn.airtight, "air-line")):
        if control:
            number, place = control
            x = sheet.x(place)
            mark = line(x, sheet.top - 3, x, sheet.bottom + 3, class_)
            found.append(element("g", mark, class_="control", data_layer=number))
    return found


def _breaks(drawn: Plan, sheet: Sheet) -> list[str]:
    """Break lines between the stretches shown, and the free ends of the wall above and below."""
    x0, x1 = sheet.left - 5, sheet.x(drawn.thickness) + 5
    middle = (x0 + x1) / 2

    def zigzag(y: float) -> list[tuple[float, float]]:
        return [(x0, y), (middle - 7, y), (middle - 3, y - 5), (middle + 3, y + 5), (middle + 7, y), (x1, y)]

    parts = []
    for index in range(1, len(drawn.windows)):
        y = sheet.y(drawn.windows[index][0], index)
        above, below = zigzag(y - BREAK), zigzag(y)
        parts.append(path(above + below[::-1], "f-break", closed=True))
        parts += [path(above, "break-line"), path(below, "break-line")]
    left, right = sheet.left, sheet.x(drawn.thickness)
    parts += [line(left, y, right, y, "break-line") for y in (sheet.top, sheet.bottom)]
    return parts


def _outside_inside(sheet: Sheet, width_px: float) -> str:
    y = (sheet.top + sheet.bottom) / 2
    return text(13, y, "outside", "side", transform=f"rotate(-90 13 {y:.2f})") + text(
        width_px - 5, y, "inside", "side", transform=f"rotate(-90 {width_px - 5:g} {y:.2f})"
    )


def _notes(drawn: Plan, wall: BuildUp, bays: float | None) -> list[str]:
    """What the drawing's conventions mean on this wall, in words."""
    notes = []
    if drawn.airtight:
        notes.append(f"solid heavy line: airtight, layer {drawn.airtight[0]}")
    if drawn.windtight:
        notes.append(f"dashed line: wind-tight, layer {drawn.windtight[0]}")
    for place in drawn.layers:
        frame = place.layer.frame
        if frame and frame.axis == "horizontal":
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
        if place.layer.tie and not drawn.ties:
            notes.append(f"layer {place.number}: tie plates not on this cut")
    if len(drawn.windows) > 1:
        notes.append("shortened between the studs")
    return notes


def _wrapped(notes: list[str], width: float) -> list[str]:
    """Notes in lines no wider than that [px], parted by a middle dot."""
    lines: list[str] = []
    for note in notes:
        longer = f"{lines[-1]}  ·  {note}" if lines else note
        if lines and text_width(longer, NOTE) * 0.9 <= width:
            lines[-1] = longer
        else:
            lines.append(note)
    return lines


def _described(drawn: Plan, wall: BuildUp) -> str:
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
