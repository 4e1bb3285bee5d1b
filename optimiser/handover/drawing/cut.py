"""A cut through a wall, plan or upright, as the shapes of a drawing: one model for screen, print and CAD."""

from __future__ import annotations

from . import shapes
from .dimensions import along, chain, number_shapes
from .hatch import HATCHED
from .paper import BREAK, Sheet
from .plan import Member, Plan, PlanLayer
from .shapes import Group, Point, Rect, Rectangle, Shape, Stroke, Words, segment

CAD = {"fill": shapes.OUTLINE, "empty": shapes.OUTLINE, "membrane": shapes.MEMBRANE}  # outlines of all else: boards


def body(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """Layers with their members, ties, control lines, chamber breaks and break lines."""
    return [
        *(_layer(place, drawn, sheet) for place in drawn.layers),
        *_plates(drawn, sheet),
        *_chamber_breaks(drawn, sheet),
        *_control_lines(drawn, sheet),
        *_breaks(drawn, sheet),
    ]


def sizes(drawn: Plan, sheet: Sheet) -> tuple[list[Shape], float, float]:
    """Layer numbers and dimensions; where the dimensions below the wall end [px, from the top of the wall], and the
    column [px] after the last dimension beside it."""
    beside, column = along(drawn, sheet)
    below, bottom = chain(drawn, sheet)
    return [number_shapes(drawn, sheet), *([beside] if beside else []), below], bottom / sheet.unit, column


def sides(drawn: Plan, sheet: Sheet, outside: float, inside: float) -> list[Shape]:
    """The words outside and inside, that far from the outer and from the inner face [px]."""
    y = (sheet.top + sheet.bottom) / 2
    left, right = sheet.left - sheet.px(outside), sheet.x(drawn.thickness) + sheet.px(inside)
    return [Words(left, y, "outside", "side", turned=True), Words(right, y, "inside", "side", turned=True)]


def _layer(place: PlanLayer, drawn: Plan, sheet: Sheet) -> Group:
    """One layer: its face, hatch, members and the edge that lights up."""
    parts: list[Shape] = []
    x0, x1, px = sheet.x(place.x0), sheet.x(place.x1), sheet.px
    cad = CAD.get(place.look, shapes.BOARD)
    hatch = place.look if place.look in HATCHED else None
    for index, (low, high) in enumerate(drawn.windows):
        y0, y1 = sheet.y(low, index), sheet.y(high, index)
        members = _within(drawn.members, place.number, low, high)
        if not place.thin:
            hatched = shapes.FILL if hatch == "fill" else shapes.BOARD_HATCH if hatch else ""
            holes = _holes(members, drawn, sheet, index) if hatch else ()
            parts.append(Rectangle(x0, y0, x1, y1, f"face f-{place.look}", hatched, hatch, holes))
            parts += [segment(x, y0, x, y1, "outline", cad) for x in (x0, x1)]
        for each in members:
            parts += _sawn(each, sheet, index)
        if place.number in drawn.behind:
            inset = min(px(3.5), (x1 - x0) / 4)
            parts.append(Rectangle(x0 + inset, y0 + px(3.5), x1 - inset, y1 - px(3.5), "hidden", shapes.BEHIND))
    top, bottom = sheet.top, sheet.bottom
    if place.thin:
        parts.append(segment(x0, top, x0, bottom, "outline", cad))
        parts.append(Rectangle(x0 - px(4), top, x0 + px(4), bottom, "catch"))
    parts.append(Rectangle(x0, top, max(x1, x0 + px(0.5)), bottom, "edge"))
    return Group(tuple(parts), f"layer {place.look}", place.number)


def _within(members: list[Member], layer: int, low: float, high: float) -> list[Member]:
    return [each for each in members if each.layer == layer and each.y0 < high and each.y1 > low]


def _shown(member: Member, sheet: Sheet, window: int) -> Rect:
    """What is seen of a member in a stretch of the wall."""
    low, high = sheet.windows[window]
    y0, y1 = sheet.y(max(member.y0, low), window), sheet.y(min(member.y1, high), window)
    return sheet.x(member.x0), y0, sheet.x(member.x1), y1


def _holes(members: list[Member], drawn: Plan, sheet: Sheet, window: int) -> tuple[Rect, ...]:
    low, high = sheet.windows[window]
    ties = [each for each in drawn.ties if drawn.view == "plan" and each.y0 < high and each.y1 > low]
    return tuple(_shown(each, sheet, window) for each in [*members, *ties])


def _sawn(member: Member, sheet: Sheet, window: int) -> list[Shape]:
    """Sawn timber in the cut: outline and crossing diagonals; a single one where it is not continuous."""
    x0, y0, x1, y1 = _shown(member, sheet, window)
    cad = shapes.TIMBER
    return [
        Rectangle(x0, y0, x1, y1, "f-timber stud"),
        segment(x0, y0, x1, y1, "cross", cad),
        *([segment(x0, y1, x1, y0, "cross", cad)] if member.continuous else []),
        Rectangle(x0, y0, x1, y1, "member", cad),
    ]


def _plates(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """Tie plates, drawn over the studs they are fixed to."""
    plates: list[Shape] = []
    for place in (each for each in drawn.layers if each.layer.tie):
        parts: list[Shape] = []
        for index, (low, high) in enumerate(drawn.windows):
            for each in _within(drawn.ties, place.number, low, high):
                corners = _shown(each, sheet, index)
                if drawn.view == "vertical":  # behind the fill: seen through it
                    parts += [Rectangle(*corners, "f-tie tie seen"), Rectangle(*corners, "hidden", shapes.TIE_BEHIND)]
                else:
                    parts += [Rectangle(*corners, "f-tie tie", shapes.TIE), Rectangle(*corners, "member", shapes.TIE)]
        if parts:
            plates.append(Group(tuple(parts), "ties", place.number))
    return plates


def _chamber_breaks(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """Where a void is broken into chambers: a heavy line of dashes and dots across it, and the words."""
    breaks: list[Shape] = []
    for each in drawn.breaks:
        y = sheet.place_of(each.y)
        if y is not None:
            x0, x1 = sheet.x(each.x0), sheet.x(each.x1)
            mark = segment(x0, y, x1, y, "chamber", shapes.CHAMBER)
            said = Words((x0 + x1) / 2, y - sheet.px(4), "chamber break", "said", shapes.CHAMBER)
            breaks.append(Group((mark, said), "chamber-of", each.layers[0]))
    return breaks


def _control_lines(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """The airtight layer as a solid heavy line, the wind-tight layer as a dashed one, a little proud of the wall."""
    marks: list[Shape] = []
    lines = ((drawn.windtight, "wind-line", shapes.WINDTIGHT), (drawn.airtight, "air-line", shapes.AIRTIGHT))
    for control, class_, cad in lines:
        if control:
            number, place = control
            x, proud = sheet.x(place), sheet.px(3)
            mark = segment(x, sheet.top - proud, x, sheet.bottom + proud, class_, cad)
            marks.append(Group((mark,), "control", number))
    return marks


def _breaks(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """Break lines between the stretches shown, and the ends of what is shown."""
    px = sheet.px
    x0, x1 = sheet.left - px(5), sheet.x(drawn.thickness) + px(5)
    middle = (x0 + x1) / 2

    def zigzag(y: float) -> list[Point]:
        near = [(middle - px(7), y), (middle - px(3), y - px(5)), (middle + px(3), y + px(5)), (middle + px(7), y)]
        return [(x0, y), *near, (x1, y)]

    cad = shapes.BREAKS
    parts: list[Shape] = []
    for index in range(1, len(drawn.windows)):
        y = sheet.y(drawn.windows[index][0], index)
        above, below = zigzag(y - px(BREAK)), zigzag(y)
        parts.append(Stroke((*above, *below[::-1]), "f-break", closed=True))
        parts += [Stroke(tuple(above), "break-line", cad), Stroke(tuple(below), "break-line", cad)]
    left, right = sheet.left, sheet.x(drawn.thickness)
    if drawn.open_ends:
        return [*parts, *(Stroke(tuple(zigzag(y)), "break-line", cad) for y in (sheet.top, sheet.bottom))]
    ends = shapes.OUTLINE if drawn.view == "vertical" else cad
    return [*parts, *(segment(left, y, right, y, "break-line", ends) for y in (sheet.top, sheet.bottom))]
