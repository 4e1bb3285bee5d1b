"""Layer numbers, the chain of dimensions and the stud spacing of a section drawing."""

from __future__ import annotations

from .paper import Sheet
from .plan import Plan
from .spread import spread
from .svg import element, line, millimetres, path, text, text_width

SIZE = 11.0  # px, of numbers and dimensions
ROW = 15.0  # px from one row of dimensions to the next


def numbers(drawn: Plan, sheet: Sheet) -> str:
    """Layer numbers above the wall, moved apart where layers are thin, with a leader to the layer."""
    centres = [sheet.x((each.x0 + each.x1) / 2) for each in drawn.layers]
    widths = [text_width(str(each.number), SIZE) + 2 for each in drawn.layers]
    places = spread(centres, widths, sheet.left - 16, sheet.x(drawn.thickness) + 16)
    parts = []
    for each, wish, place in zip(drawn.layers, centres, places, strict=True):
        mark = text(place, sheet.top - 16, each.number, "tag")
        end = sheet.top - (4 if each.thin else 1)
        leader = path([(place, sheet.top - 13), (wish, end)], "leader")
        parts.append(element("g", mark, leader, class_="tag-of", data_layer=each.number))
    return element("g", *parts, class_="numbers")


def chain(drawn: Plan, sheet: Sheet) -> tuple[str, float]:
    """Dimensions below the wall, every layer that has a thickness, then the total; and where they end [px]."""
    sized = [each for each in drawn.layers if not each.thin]
    y = sheet.bottom + 13
    ticks = [sheet.x(each.x0) for each in sized] + [sheet.x(drawn.thickness)]
    parts = [line(sheet.left, y, ticks[-1], y, "dim"), *(_tick(x, y) for x in ticks)]
    words = [millimetres(each.x1 - each.x0) for each in sized]
    widths = [text_width(each, SIZE) for each in words]
    crowded = [index for index, each in enumerate(sized) if widths[index] + 4 > (each.x1 - each.x0) * sheet.scale]
    row = y + ROW
    for index, each in enumerate(sized):
        if index not in crowded:
            middle = sheet.x((each.x0 + each.x1) / 2)
            parts.append(_dimension(middle, row - 2, words[index], each.number))
    if crowded:
        row += ROW
        wishes = [sheet.x((sized[index].x0 + sized[index].x1) / 2) for index in crowded]
        room = (sheet.left - 16, sheet.x(drawn.thickness) + 16)
        places = spread(wishes, [widths[index] for index in crowded], *room, gap=6)
        for index, wish, place in zip(crowded, wishes, places, strict=True):
            leader = path([(wish, y + 2), (place, row - 11)], "leader")
            parts.append(_dimension(place, row - 2, words[index], sized[index].number, leader))
    row += 6
    parts += [line(sheet.left, row, ticks[-1], row, "dim"), _tick(sheet.left, row), _tick(ticks[-1], row)]
    total = f"{millimetres(drawn.thickness)} mm"
    parts.append(text((sheet.left + ticks[-1]) / 2, row + 16, total, "total"))
    return element("g", *parts, class_="dimensions"), row + 20


def _dimension(x: float, y: float, words: str, number: int, *more: str) -> str:
    return element("g", text(x, y, words, "mm"), *more, class_="dimension", data_layer=number)


def _tick(x: float, y: float) -> str:
    """The oblique stroke of a dimension line."""
    return line(x - 3, y + 3, x + 3, y - 3, "tick")


def stud_spacing(drawn: Plan, sheet: Sheet) -> str:
    """The true distance [mm] between the first two lines of studs, drawn right of the wall."""
    lines: list[tuple[float, float]] = []  # centre in mm, place in px
    for index, (low, high) in enumerate(drawn.windows):
        centres = {(each.y0 + each.y1) / 2 for each in drawn.members if low <= each.y0 and each.y1 <= high}
        lines += [(centre, sheet.y(centre, index)) for centre in sorted(centres)]
    if len(lines) < 2:
        return ""
    (one, y0), (two, y1) = lines[0], lines[1]
    x = sheet.x(drawn.thickness) + 25
    middle = (y0 + y1) / 2
    parts = [
        line(x, y0, x, y1, "dim"),
        *(line(x - 11, y, x + 3, y, "dim") for y in (y0, y1)),
        *(_tick(x, y) for y in (y0, y1)),
        text(
            x - 4,
            middle,
            millimetres(two - one),
            "spacing",
            transform=f"rotate(-90 {x - 4:.2f} {middle:.2f})",
        ),
    ]
    return element("g", *parts, class_="spacing-of")
