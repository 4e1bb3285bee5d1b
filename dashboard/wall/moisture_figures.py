"""Temperature and vapour pressure through a wall in one month, drawn over the section's own layer widths."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimiser.checks.judge import Judged
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.moisture.verdict import WAYS, Way
from optimiser.handover.drawing.dimensions import numbers
from optimiser.handover.drawing.hatch import FONTS, style
from optimiser.handover.drawing.paper import Sheet
from optimiser.handover.drawing.plan import Plan, PlanLayer, plan
from optimiser.handover.drawing.section import LEFT, RIGHT
from optimiser.handover.drawing.sheet import palette
from optimiser.handover.drawing.svg import clean, element, line, path, rect, text
from optimiser.moisture.humid_air import saturation_pressure
from optimiser.template import VENTILATED_SPACE
from optimiser.wall.buildup import BuildUp
from optimiser.wall.climate import climate_of

from ..numbers import spelt

STUB = 10.0  # px of air drawn beside the wall
WARM, WET = (46.0, 130.0), (160.0, 290.0)  # px, top and bottom of the two strips
HEIGHT = 310.0
STEPS = 10  # points of the curved line within a layer
AT_SATURATION = 0.999

Point = tuple[float, float]


@dataclass(frozen=True)
class SideAir:
    """Air on one side of a wall."""

    temperature: float  # degrees C
    pressure: float  # Pa

    @property
    def humidity(self) -> float:
        return self.pressure / float(saturation_pressure(self.temperature))


@dataclass(frozen=True)
class Profile:
    """One path through one wall in one month: values at the boundaries of the layers that take part, outside first."""

    at: list[float]  # mm from the outer face of the wall
    temperature: list[float]  # degrees C
    pressure: list[float]  # Pa
    outside: SideAir
    inside: SideAir


def profile(judged: Judged, path: str, month: int) -> Profile | None:
    """The profile of a path in a month (0 = January); None where moisture was not judged."""
    verdict = judged.verdicts.known(MOISTURE)
    computed = None if verdict is None else verdict.accounts.get(path)
    if computed is None:
        return None
    edges = np.concatenate([[0.0], np.cumsum([layer.thickness_mm for layer in judged.wall.layers])])
    climate = climate_of(judged.wall.conditions)
    return Profile(
        at=edges[-computed.temperature.shape[1] :].tolist(),
        temperature=computed.temperature[0, :, month].tolist(),
        pressure=computed.pressure[0, :, month].tolist(),
        outside=SideAir(float(climate.outdoor_temperature[month]), float(climate.outdoor_pressure[month])),
        inside=SideAir(float(climate.indoor_temperature[month]), float(climate.indoor_pressure[month])),
    )


def ways_of(judged: Judged) -> tuple[Way, ...]:
    """The paths through the wall that were judged; none where moisture was not."""
    verdict = judged.verdicts.known(MOISTURE)
    return () if verdict is None else tuple(verdict.accounts)


def coldest(judged: Judged) -> int:
    """The coldest month outside (0 = January)."""
    return int(np.argmin(climate_of(judged.wall.conditions).outdoor_temperature))


def temperature_line(profile: Profile) -> list[Point]:
    """(mm, degrees C), straight within each layer."""
    return list(zip(profile.at, profile.temperature, strict=True))


def saturation_line(profile: Profile) -> list[Point]:
    """(mm, Pa) of saturation at the temperatures of the wall, curved within each layer."""
    at, warmth = _finely(profile.at), _finely(profile.temperature)
    return list(zip(at, saturation_pressure(warmth).tolist(), strict=True))


def vapour_line(profile: Profile) -> list[Point]:
    """(mm, Pa) of vapour, straight within each layer and nowhere above saturation."""
    at, pressure = _finely(profile.at), _finely(profile.pressure)
    most = [limit for _, limit in saturation_line(profile)]
    return [(mm, min(value, limit)) for mm, value, limit in zip(at, pressure, most, strict=True)]


def _finely(values: Sequence[float]) -> list[float]:
    """Values at the boundaries, and evenly between them."""
    parts = [np.linspace(low, high, STEPS, endpoint=False) for low, high in itertools.pairwise(values)]
    return np.concatenate([*parts, [values[-1]]]).tolist()


def saturated(profile: Profile) -> list[int]:
    """Boundaries at which the vapour pressure reaches saturation."""
    limits = saturation_pressure(profile.temperature)
    return [number for number, limit in enumerate(limits) if profile.pressure[number] >= AT_SATURATION * limit]


def air_words(profile: Profile) -> str:
    """The air on both sides."""
    out, room = profile.outside, profile.inside
    return (
        (
            f"{spelt(out.temperature, '.1f')} °C and {spelt(out.humidity, '.0%')} relative humidity outside, "
            f"{spelt(room.temperature, '.1f')} °C and {spelt(room.humidity, '.0%')} inside"
        )
        .replace("%", " %")
        .replace("-", "−")
    )


@dataclass(frozen=True)
class Strip:
    """One diagram: where it lies [px], and the values at its ends."""

    top: float
    bottom: float
    low: float
    high: float
    step: float

    def y(self, value: float) -> float:
        """Place of a value [px]."""
        return self.bottom - (value - self.low) / (self.high - self.low) * (self.bottom - self.top)

    @property
    def ticks(self) -> list[float]:
        return np.arange(self.low, self.high + self.step / 2, self.step).tolist()


def warm_strip(profile: Profile) -> Strip:
    """The strip of temperatures, ends on whole fives or tens."""
    values = [*profile.temperature, profile.outside.temperature, profile.inside.temperature]
    step = 5.0 if max(values) - min(values) <= 22 else 10.0
    low, high = step * math.floor(min(values) / step), step * math.ceil(max(values) / step)
    return Strip(*WARM, low, max(high, low + step), step)


def wet_strip(profile: Profile) -> Strip:
    """The strip of pressures, from nothing."""
    most = max(*(value for _, value in saturation_line(profile)), profile.inside.pressure, profile.outside.pressure)
    return Strip(*WET, 0.0, 500.0 * math.ceil(most / 500.0), 500.0)


def profile_svg(wall: BuildUp, profile: Profile, *, width_px: float = 520, month: str = "", way: str = "fill") -> str:
    """The lines through the section as SVG text, layers as wide and placed as in the section drawing."""
    drawn = plan(wall)
    scale = (width_px - LEFT - RIGHT) / max(drawn.thickness, 1.0)
    sheet = Sheet(scale, LEFT, WARM[0], ((0.0, (WET[1] - WARM[0]) / scale),))
    warm, wet = warm_strip(profile), wet_strip(profile)
    title = f"{month}: temperature and vapour pressure through {WAYS[way]}"
    body = [
        style(palette.LIGHT, plain=False),
        element("style", _style()),
        *(_layer(each, drawn, sheet, profile, way) for each in range(len(drawn.layers))),
        _grid(warm, sheet, drawn),
        _grid(wet, sheet, drawn),
        numbers(drawn, sheet),
        _legends(bool(saturated(profile))),
        _curve(
            temperature_line(profile), profile.outside.temperature, profile.inside.temperature, warm, sheet, "warmth"
        ),
        path([(sheet.x(mm), wet.y(value)) for mm, value in saturation_line(profile)], "saturation"),
        _curve(vapour_line(profile), profile.outside.pressure, profile.inside.pressure, wet, sheet, "vapour"),
        *(_ring(sheet.x(profile.at[number]), wet.y(profile.pressure[number])) for number in saturated(profile)),
        text(sheet.left, HEIGHT - 6, "outside", "quiet", "start"),
        text(sheet.x(drawn.thickness), HEIGHT - 6, "inside", "quiet", "end"),
    ]
    head = element("title", clean(title)) + element("desc", clean(described(wall, profile)))
    return element(
        "svg",
        head,
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="wf lines",
        role="img",
        viewBox=f"0 0 {width_px:g} {HEIGHT:g}",
        width=f"{width_px:g}",
        height=f"{HEIGHT:g}",
    )


def _style() -> str:
    def colour(role: str) -> str:
        return f"var(--{role},{palette.LIGHT[role]})"

    return (
        f".lines .face{{opacity:.55}} .lines .grid{{stroke:{colour('hairline')};stroke-width:1;fill:none}}"
        f".lines .edge-of{{stroke:{colour('hatch')};stroke-width:.7;fill:none}}"
        f".lines .warmth{{stroke:{colour('ink')};stroke-width:1.8;fill:none;stroke-linejoin:round}}"
        f".lines .vapour{{stroke:{colour('accent')};stroke-width:1.8;fill:none;stroke-linejoin:round}}"
        f".lines .saturation{{stroke:{colour('muted')};stroke-width:1.3;fill:none;stroke-dasharray:4 3}}"
        f".lines .ring{{stroke:{colour('accent')};stroke-width:1.6;fill:{colour('paper')}}}"
        f".wf.lines .said{{stroke:{colour('paper')}}} .lines text{{font-family:{FONTS}}}"
    )


def _layer(number: int, drawn: Plan, sheet: Sheet, profile: Profile, way: str) -> str:
    """One layer in both strips, with its values to read on pointing at it."""
    place = drawn.layers[number]
    x0, x1 = sheet.x(place.x0), sheet.x(place.x1)
    look = "timber" if way == "studs" and _upright(place) else place.look
    parts = [element("title", clean(layer_words(number, drawn, profile)))]
    for top, bottom in (WARM, WET):
        if place.thin:
            parts += [line(x0, top, x0, bottom, "edge-of"), rect(x0 - 3, top, x0 + 3, bottom, "catch")]
        else:
            parts += [rect(x0, top, x1, bottom, f"face f-{look}"), line(x0, top, x0, bottom, "edge-of")]
            parts += [line(x1, top, x1, bottom, "edge-of"), rect(x0, top, x1, bottom, "edge")]
    return element("g", *parts, class_="layer", data_layer=place.number)


def _upright(place: PlanLayer) -> bool:
    """Whether studs stand in a layer."""
    frame = place.layer.frame
    return frame is not None and frame.axis == "vertical" and place.layer.role != VENTILATED_SPACE


def layer_words(number: int, drawn: Plan, profile: Profile) -> str:
    """Temperature, vapour pressure and humidity at the two faces of a layer (counted from 0)."""
    place = drawn.layers[number]
    at = number - (len(drawn.layers) - len(profile.at) + 1)
    name = f"{place.number} {place.layer.role}"
    if at < 0:
        return f"{name}: as the air outside"
    faces = [SideAir(profile.temperature[each], profile.pressure[each]) for each in (at, at + 1)]
    warmth = " to ".join(spelt(each.temperature, ".1f") for each in faces)
    vapour = " to ".join(spelt(each.pressure, ".0f") for each in faces)
    humid = " to ".join(f"{min(each.humidity, 1.0):.0%}".replace("%", " %") for each in faces)
    return f"{name}: {warmth} °C, {vapour} Pa, {humid} relative humidity"


def described(wall: BuildUp, profile: Profile) -> str:
    """The lines read aloud, layer by layer from the outside."""
    drawn = plan(wall)
    return "; ".join(layer_words(number, drawn, profile) for number in range(len(drawn.layers))) + "."


def _grid(strip: Strip, sheet: Sheet, drawn: Plan) -> str:
    """Lines of equal value, and what they stand for, right of the wall."""
    right = sheet.x(drawn.thickness)
    parts = []
    for value in strip.ticks:
        parts.append(line(sheet.left, strip.y(value), right, strip.y(value), "grid"))
        shown = spelt(value, ",.0f").replace("-", "−")
        parts.append(text(right + 44, strip.y(value) + 4, shown, "quiet", "end"))
    return element("g", *parts, class_="axis")


def _legends(ringed: bool) -> str:
    """What the lines are and their units, above each strip."""
    parts = [line(LEFT, 8, LEFT + 16, 8, "warmth"), text(LEFT + 22, 12, "temperature, °C", "said", "start")]
    y = WET[0] - 11
    for x, class_, words in ((0, "vapour", "vapour pressure, Pa"), (146, "saturation", "saturation pressure, Pa")):
        parts += [line(LEFT + x, y, LEFT + x + 16, y, class_), text(LEFT + x + 22, y + 4, words, "said", "start")]
    if ringed:
        parts += [_ring(LEFT + 320, y), text(LEFT + 330, y + 4, "at saturation", "said", "start")]
    return element("g", *parts, class_="legend")


def _curve(points: list[Point], outside: float, inside: float, strip: Strip, sheet: Sheet, class_: str) -> str:
    """A line through the wall, from the air outside to the air in the room."""
    first, last = sheet.x(points[0][0]), sheet.x(points[-1][0])
    start = min(sheet.left, first - STUB)
    shown = [(start, strip.y(outside)), (first - 4, strip.y(outside))]
    shown += [(sheet.x(mm), strip.y(value)) for mm, value in points]
    shown += [(last + 4, strip.y(inside)), (last + STUB, strip.y(inside))]
    return path(shown, class_)


def _ring(x: float, y: float) -> str:
    """A mark where the vapour pressure reaches saturation."""
    return element("path", d=f"M{x - 4:.2f} {y:.2f}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0Z", class_="ring")
