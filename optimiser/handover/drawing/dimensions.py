"""Layer numbers, the chain of dimensions and the dimensions along the wall."""

from __future__ import annotations

from dataclasses import replace

from . import shapes
from .paper import Sheet
from .plan import Plan, Span
from .shapes import SIZE, Group, Measure, Shape, Stroke, Words
from .spread import spread
from .svg import millimetres, text_width

ROW = 15.0  # px from one row of dimensions to the next
COLUMN = 20.0  # px from one line of dimensions along the wall to the next
TAG_GAP = 8.0  # px between layer numbers: as wide as a digit, so that 3 and 4 are not read as 34
FIRST = 25.0  # px from the wall to the first of them


def number_shapes(drawn: Plan, sheet: Sheet) -> Group:
    """Layer numbers above the wall, moved apart where layers are thin, with a leader to the layer."""
    px = sheet.px
    centres = [sheet.x((each.x0 + each.x1) / 2) for each in drawn.layers]
    widths = [px(text_width(str(each.number), SIZE) + 2) for each in drawn.layers]
    room = (sheet.left - px(24), sheet.x(drawn.thickness) + px(24))
    spare = (room[1] - room[0] - sum(widths)) / max(len(widths) - 1, 1)
    places = spread(centres, widths, *room, gap=max(min(px(TAG_GAP), spare), px(3)))
    parts: list[Shape] = []
    for each, wish, place in zip(drawn.layers, centres, places, strict=True):
        mark = Words(place, sheet.top - px(16), str(each.number), "tag", shapes.TAG)
        end = sheet.top - px(4 if each.thin else 1)
        leader = Stroke(((place, sheet.top - px(13)), (wish, end)), "leader", shapes.TAG)
        parts.append(Group((mark, leader), "tag-of", each.number))
    return Group(tuple(parts), "numbers")


def numbers(drawn: Plan, sheet: Sheet) -> str:
    """The same as SVG, for a sheet in px."""
    return shapes.Paper().svg([number_shapes(drawn, sheet)])


def chain(drawn: Plan, sheet: Sheet) -> tuple[Group, float]:
    """Dimensions below the wall, every layer that has a thickness, then the total; and where they end."""
    px, bottom = sheet.px, sheet.bottom
    sized = [each for each in drawn.layers if not each.thin]
    y = bottom + px(13)
    words = [millimetres(each.x1 - each.x0) for each in sized]
    widths = [px(text_width(each, SIZE)) for each in words]
    crowded = [i for i, each in enumerate(sized) if widths[i] + px(4) > (each.x1 - each.x0) * sheet.scale]
    row = y + px(ROW)
    middles = [sheet.x((each.x0 + each.x1) / 2) for each in sized]
    places = {i: (middles[i], row - px(2)) for i in range(len(sized)) if i not in crowded}
    if crowded:
        row += px(ROW)
        room = (sheet.left - px(16), sheet.x(drawn.thickness) + px(16))
        apart = spread([middles[i] for i in crowded], [widths[i] for i in crowded], *room, gap=px(6))
        places |= {i: (place, row - px(2)) for i, place in zip(crowded, apart, strict=True)}
    parts: list[Shape] = []
    for i, each in enumerate(sized):
        a, b = (sheet.x(each.x0), bottom), (sheet.x(each.x1), bottom)
        label = Words(*places[i], words[i], "mm", shapes.DIMENSION)
        leader = ((middles[i], y + px(2)), (places[i][0], row - px(11))) if i in crowded else None
        measure = Measure(a, b, y, each.x1 - each.x0, label, leader=leader, tick=px(3))
        parts.append(Group((measure,), "dimension", each.number))
    row += px(6)
    left, right = sheet.left, sheet.x(drawn.thickness)
    total = Words((left + right) / 2, row + px(16), f"{millimetres(drawn.thickness)} mm", "total", shapes.DIMENSION)
    parts.append(Measure((left, bottom), (right, bottom), row, drawn.thickness, total, tick=px(3)))
    return Group(tuple(parts), "dimensions"), row + px(20)


def along(drawn: Plan, sheet: Sheet) -> tuple[Group | None, float]:
    """The true distances [mm] along the wall, right of it, a column for each kind; and the column after the last [px].

    A distance is left out where one of its ends is not shown.
    """
    by_column: dict[str, list[Measure]] = {}
    shown = [each for each in drawn.spans if None not in (sheet.place_of(each.low), sheet.place_of(each.high))]
    for span in shown:
        if span.caption and span.low == max(each.low for each in shown if each.column == span.column):
            span = span._replace(before=span.caption)
        ends = (sheet.place_of(span.low), sheet.place_of(span.high))
        column = FIRST + COLUMN * (len(by_column) if span.column not in by_column else [*by_column].index(span.column))
        by_column.setdefault(span.column, []).append(_span(span, ends, drawn, sheet, column))
    if not by_column:
        return None, FIRST
    placed = [each for measures in by_column.values() for each in _apart(measures, sheet)]
    return Group(tuple(placed), "spacing-of"), FIRST + COLUMN * len(by_column)


def _span(span: Span, ends: tuple[float, float], drawn: Plan, sheet: Sheet, column: float) -> Measure:
    px, wall = sheet.px, sheet.x(drawn.thickness)
    x, middle = wall + px(column), (ends[0] + ends[1]) / 2
    words = span.before + millimetres(span.high - span.low)
    label = Words(x - px(4), middle, words, "spacing", shapes.DIMENSION, turned=True)
    # The first column reaches back to the wall, the others keep clear of the figures before them.
    reach = (px(11 if column == FIRST else 4), px(3))
    value = span.high - span.low
    return Measure((wall, ends[0]), (wall, ends[1]), x, value, label, reach=reach, tick=px(3))


def _apart(measures: list[Measure], sheet: Sheet) -> list[Measure]:
    """The dimensions of one column, with figures that do not fit between their ticks moved along the line."""
    ordered = sorted(measures, key=lambda each: each.label.y)
    wishes = [each.label.y for each in ordered]
    widths = [sheet.px(text_width(each.label.words, SIZE)) for each in ordered]
    low, high = wishes[0] - widths[0] - sheet.px(30), wishes[-1] + widths[-1] + sheet.px(30)
    places = spread(wishes, widths, low, high, gap=sheet.px(5))
    return [
        replace(each, label=replace(each.label, y=place)) if abs(place - wish) > 1e-9 else each
        for each, wish, place in zip(ordered, wishes, places, strict=True)
    ]
