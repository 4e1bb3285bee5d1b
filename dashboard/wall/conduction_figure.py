"""The temperatures inside a wall as a picture: one bay cut on plan, its isotherms over the section's own lines."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimiser.handover.drawing import palette
from optimiser.handover.drawing.hatch import HATCHED, patterns, style
from optimiser.handover.drawing.plan import Plan, PlanLayer
from optimiser.handover.drawing.svg import clean, element, line, path, rect, text
from optimiser.wall.buildup import BuildUp

from ..numbers import spelt
from .conduction_field import Field, bands, bay, isotherms, reached

# The scale cividis (Nunez, Anderton and Renslow 2018) at ten even places: as dark to eyes of every kind.
CIVIDIS = ("#00224e", "#123570", "#3b496c", "#575d6d", "#707173", "#8a8678", "#a59c74", "#c3b369", "#e1cc55", "#fee838")
LIGHT_LINES, DARK_LINES = "#FBFAF7", "#1F2421"  # over the dark and over the light half of the scale, in either theme
TURNING = 0.5  # of the scale: above it lines are dark
LEFT, TOP, FOOT = 28.0, 34.0, 34.0  # px: the word outside, the isotherms' values, the layers' numbers
LEGEND = 148.0  # px for the scale beside the wall
TALLEST = 370.0  # px of a bay
SHORTEST = 132.0  # px that the scale needs
FAR_ENOUGH = 21.0  # px between two values above the picture


def colour_of(share: float) -> str:
    """The colour of cividis at a share of its range."""
    place = min(max(share, 0.0), 1.0) * (len(CIVIDIS) - 1)
    number = min(int(place), len(CIVIDIS) - 2)
    one, two = ([int(CIVIDIS[each][start : start + 2], 16) for start in (1, 3, 5)] for each in (number, number + 1))
    mixed = (round(a + (b - a) * (place - number)) for a, b in zip(one, two, strict=True))
    return "#" + "".join(f"{each:02x}" for each in mixed)


def degrees(value: float, digits: int = 1) -> str:
    """A temperature with its unit."""
    return f"{spelt(value, f'.{digits}f')} °C".replace("-", "−")


# -- the picture -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _PictureSheet:
    """Millimetres of the wall on the sheet [px]."""

    scale: float
    low: float
    high: float
    thickness: float

    def x(self, mm: float) -> float:
        return LEFT + mm * self.scale

    def y(self, mm: float) -> float:
        return TOP + (mm - self.low) * self.scale

    @property
    def right(self) -> float:
        return self.x(self.thickness)

    @property
    def bottom(self) -> float:
        return self.y(self.high)


def picture_svg(wall: BuildUp, field: Field, *, width_px: float = 520, month: str = "") -> str:
    """The bay, outside left and inside right, to scale, as SVG text."""
    drawn = bay(wall)
    low, high = drawn.windows[0]
    scale = min((width_px - LEFT - LEGEND) / max(drawn.thickness, 1.0), TALLEST / (high - low))
    sheet = _PictureSheet(scale, low, high, drawn.thickness)
    height = max(sheet.bottom, TOP + SHORTEST) + FOOT
    body = [
        style(palette.LIGHT, plain=False),
        element("style", _style()),
        element("g", patterns("heat-cold"), class_="cold"),
        element("g", patterns("heat-warm"), class_="warm"),
        *(_ground(place, sheet) for place in drawn.layers),
        *_fills(field, sheet),
        *(_section(place, drawn, field, sheet) for place in drawn.layers),
        *_ties(drawn, field, sheet),
        *_controls(drawn, field, sheet),
        *_lines(field, sheet),
        *_coldest(field, sheet),
        *_numbers(drawn, sheet),
        *_sides(sheet),
        *_scale(field, sheet),
    ]
    head = element("title", clean(title(wall, month))) + element("desc", clean(described(wall, field)))
    return element(
        "svg",
        head,
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="wf heat",
        role="img",
        viewBox=f"0 0 {width_px:g} {height:.0f}",
        width=f"{width_px:g}",
        height=f"{height:.0f}",
        data_scale=f"{scale:.6f}",
    )


def title(wall: BuildUp, month: str) -> str:
    """What the picture shows."""
    return f"{wall.name}: temperatures inside the wall{f' in {month}' if month else ''}"


def described(wall: BuildUp, field: Field) -> str:
    """The picture read aloud: the airs, the surfaces, and where each isotherm lies."""
    _, coldest = field.coldest
    said = [
        f"Plan section of one bay, {field.where}: {degrees(field.outside)} outside, {degrees(field.inside)} inside",
        f"coldest place of the inside surface {degrees(coldest)}",
    ]
    for each in isotherms(field):
        at = reached(field, each)
        ends = sorted({f"{at.min():.0f}", f"{at.max():.0f}"}, key=float)
        said.append(f"{degrees(each, 0)} at {' to '.join(ends)} mm from the outer face")
    return "; ".join(said) + "."


def _style() -> str:
    def colour(role: str) -> str:
        return f"var(--{role},{palette.LIGHT[role]})"

    rules = []
    for name, stroke in (("cold", LIGHT_LINES), ("warm", DARK_LINES)):
        lines = ",".join(f".heat .{name} .{each}" for each in ("outline", "member", "cross", "wind-line", "air-line"))
        hatches = ",".join(f".heat .{name} .{each}" for each in ("hatch-line", "hatch-fine"))
        rules += [
            f"{lines}{{stroke:{stroke}}}",
            f"{hatches}{{stroke:{stroke};opacity:.3;stroke-width:.7}}",
            f".heat .isotherm.{name}{{fill:none;stroke:{stroke};stroke-width:1.2}}",
            f".heat .ring.{name}{{fill:{colour('paper')};stroke:{colour('ink')};stroke-width:1.6}}",
        ]
    rules += [
        ".heat .outline,.heat .member{stroke-width:.7}.heat .cross{stroke-width:.45;opacity:.8}",
        ".heat .air-line{stroke-width:2.4}.heat .wind-line{stroke-width:1.8}",
        f".heat .plate{{fill:none;stroke:{DARK_LINES};stroke-width:.8}}",
        f".heat .plate.cased{{stroke:{LIGHT_LINES};stroke-width:2.2;opacity:.75}}",
        ".heat .band{stroke:none}.heat .ground{opacity:.55}",
        f".heat .frame-of{{fill:none;stroke:{colour('hairline')};stroke-width:1}}",
        f".heat .tick-of{{stroke:{colour('muted')};stroke-width:.8}}",
    ]
    return "".join(rules)


def _tone(share: float) -> str:
    return "warm" if share > TURNING else "cold"


def _mean(place: PlanLayer, field: Field) -> float | None:
    """The mean temperature of a layer as a share of the scale; None where it takes no part."""
    if place.x1 <= field.through[0] + 1e-6 and place.x0 < field.through[0] - 1e-6:
        return None
    middle = (place.x0 + place.x1) / 2
    temperatures = [np.interp(middle, field.through, values) for values in field.temperature.T]
    return field.share(float(np.mean(temperatures)))


def _ground(place: PlanLayer, sheet: _PictureSheet) -> str:
    """The face of a layer, seen where no temperature is drawn over it."""
    if place.thin:
        return ""
    corners = sheet.x(place.x0), sheet.y(sheet.low), sheet.x(place.x1), sheet.bottom
    return rect(*corners, f"ground f-{place.look}")


def _fills(field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """Bands of colour, each over all that is at least as warm: the next covers its warmer part."""
    ys = [sheet.y(each) for each in field.along]
    face = sheet.x(float(field.through[-1]))
    starts = bands(field)
    if field.inside < field.outside:
        starts = starts[::-1]
    for number, start in enumerate(starts):
        edge = reached(field, start) if number else np.full(len(ys), field.through[0])
        after = starts[number + 1] if number + 1 < len(starts) else float(field.temperature[-1].mean())
        points = [(sheet.x(float(mm)), y) for mm, y in zip(edge, ys, strict=True)]
        d = " L".join(f"{x:.1f} {y:.1f}" for x, y in [*points, (face, ys[-1]), (face, ys[0])])
        yield element("path", d=f"M{d}Z", class_="band", fill=colour_of(field.share((start + after) / 2)))


def _section(place: PlanLayer, drawn: Plan, field: Field, sheet: _PictureSheet) -> str:
    """One layer's own lines: hatch between the members, outlines, sawn timber."""
    mean = _mean(place, field)
    tone = "" if mean is None else _tone(mean)
    x0, x1 = sheet.x(place.x0), sheet.x(place.x1)
    y0, y1 = sheet.y(sheet.low), sheet.bottom
    members = [each for each in drawn.members if each.layer == place.number]
    parts, at = [], y0
    if place.look in HATCHED and not place.thin:
        fill = f"url(#heat-{tone or 'warm'}-{place.look})"
        for each in sorted(members, key=lambda member: member.y0):
            low, high = sheet.y(each.y0), sheet.y(each.y1)
            if at < low < y1:
                parts.append(rect(x0, at, x1, low, "hatch", fill=fill))
            at = max(at, min(high, y1)) if low < y1 else at
        if at < y1:
            parts.append(rect(x0, at, x1, y1, "hatch", fill=fill))
    for each in members:
        low, high = max(sheet.y(each.y0), y0), min(sheet.y(each.y1), y1)
        if low < high:
            parts += [rect(x0, low, x1, high, "f-timber ground")] if mean is None else []
            parts += [line(x0, low, x1, high, "cross"), line(x0, high, x1, low, "cross")]
            parts.append(rect(x0, low, x1, high, "member"))
    parts += [line(x, y0, x, y1, "outline") for x in ((x0,) if place.thin else (x0, x1))]
    return element("g", *parts, class_=f"layer {tone}".strip(), data_layer=place.number)


def _ties(drawn: Plan, field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """Tie plates where the cut goes through them."""
    for each in drawn.ties if field.ties else ():
        y0, y1 = sheet.y(max(each.y0, sheet.low)), sheet.y(min(each.y1, sheet.high))
        if y0 < y1:
            corners = sheet.x(each.x0), y0, sheet.x(each.x1), y1
            plate = rect(*corners, "plate cased") + rect(*corners, "plate")  # from the dark to the light of the scale
            yield element("g", plate, class_="ties", data_layer=each.layer)


def _controls(drawn: Plan, field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """The wind-tight layer dashed, the airtight one solid."""
    for control, class_ in ((drawn.windtight, "wind-line"), (drawn.airtight, "air-line")):
        if control:
            number, mm = control
            tone = _tone(field.share(float(np.interp(mm, field.through, field.temperature.mean(axis=1)))))
            mark = line(sheet.x(mm), sheet.y(sheet.low), sheet.x(mm), sheet.bottom, class_)
            yield element("g", mark, class_=f"control {tone}", data_layer=number)


def _lines(field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """Isotherms, and what they stand for above the picture where there is room."""
    ys = [sheet.y(each) for each in field.along]
    last = -math.inf
    for each in isotherms(field):
        at = reached(field, each)
        yield path(
            [(sheet.x(float(mm)), y) for mm, y in zip(at, ys, strict=True)], f"isotherm {_tone(field.share(each))}"
        )
        x = sheet.x(float(at[0]))
        if abs(x - last) >= FAR_ENOUGH:
            yield line(x, TOP - 5, x, TOP, "tick-of")
            yield text(x, TOP - 8, spelt(each, ".0f").replace("-", "−"), "quiet")
            last = x
    yield text(sheet.right + 8, TOP - 8, "°C", "quiet", "start")


def _coldest(field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """A ring at the coldest place of the inside surface."""
    mm, _ = field.coldest
    x, y = sheet.x(float(field.through[-1])), min(max(sheet.y(mm), TOP + 4), sheet.bottom - 4)
    yield element("path", d=f"M{x - 4:.2f} {y:.2f}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0Z", class_="ring warm")


def _numbers(drawn: Plan, sheet: _PictureSheet) -> Iterator[str]:
    """The layers' numbers below the wall, those of thin layers a line lower where they would meet."""
    rows = [-math.inf, -math.inf]
    for place in drawn.layers:
        x = sheet.x((place.x0 + place.x1) / 2)
        room = 7 + 3 * len(str(place.number))
        row = next((row for row, last in enumerate(rows) if x - last >= room), None)
        if row is not None:
            yield text(x, sheet.bottom + 14 + 13 * row, place.number, "quiet", data_layer=place.number)
            rows[row] = x


def _sides(sheet: _PictureSheet) -> Iterator[str]:
    y = (TOP + sheet.bottom) / 2
    for x, words in ((LEFT - 12, "outside"), (sheet.right + 16, "inside")):
        yield text(x, y, words, "side", transform=f"rotate(-90 {x:.2f} {y:.2f})")


def _scale(field: Field, sheet: _PictureSheet) -> Iterator[str]:
    """The colours from the colder to the warmer air, their ends and the coldest surface in words."""
    x, top = sheet.right + 44, TOP + 12
    tall = max(min(sheet.bottom - TOP, 240.0), SHORTEST) - 34
    low, high = field.ends
    count = 40
    for number in range(count):
        y = top + tall * (1 - (number + 1) / count)
        yield rect(x, y, x + 12, y + tall / count + 0.4, "band", fill=colour_of((number + 0.5) / count))
    yield rect(x, top, x + 12, top + tall, "frame-of")
    warm, cold = ("inside", "outside") if field.inside >= field.outside else ("outside", "inside")
    yield text(x, top - 6, f"{degrees(high)} air {warm}", "said-of", "start")
    yield text(x, top + tall + 15, f"{degrees(low)} air {cold}", "said-of", "start")
    step = 5.0 if high - low <= 30 else 10.0
    for each in np.arange(step * math.ceil(low / step), high, step):
        y = top + tall * (1 - field.share(float(each)))
        if top + 8 < y < top + tall - 8:
            yield line(x + 12, y, x + 16, y, "tick-of")
            yield text(x + 20, y + 4, spelt(float(each), ".0f").replace("-", "−"), "quiet", "start")
    y = top + tall + 34
    if y + 16 < max(sheet.bottom, TOP + SHORTEST) + FOOT:
        yield element("path", d=f"M{x:.2f} {y - 4:.2f}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0Z", class_="ring warm")
        yield text(x + 14, y, f"{degrees(field.coldest[1])}, coldest", "said-of", "start")
        yield text(x + 14, y + 14, "inside surface of this cut", "quiet", "start")
