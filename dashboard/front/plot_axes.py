"""The axes of the plot: where they start, what they say of themselves, and where a wall lies between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimiser.handover.drawing.sheet import palette
from optimiser.search.landmarks import USUAL, missing, span

from ..numbers import around, separators, written
from ..rows.choose import Row
from ..wall.carbon_part import modules_words
from ..words import MONEY, QUANTITIES, figure, money, symbol, unit

MARGIN = {"l": 62, "r": 18, "t": 14, "b": 50}
FONT = "-apple-system, 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"


@dataclass(frozen=True)
class Look:
    """What the reader asked to see."""

    x: str = "thickness_mm"
    y: str = "carbon_kgco2e_m2"
    colour: str = "cost_per_m2"
    log: tuple[str, ...] = ()  # "x", "y", and "zero" for axes that start there
    theme: str = "light"
    width: float = 760.0  # px of the whole plot
    height: float = 385.0
    currency: str = "EUR"
    modules: tuple[str, ...] = ("A1-A3",)  # of embodied carbon that the brief counts
    asked: tuple[str, ...] = USUAL  # figures that walls are narrowed and compared by

    @property
    def colours(self) -> dict[str, str]:
        return palette.DARK if self.theme == "dark" else palette.LIGHT

    @property
    def inside(self) -> tuple[float, float]:
        """Width and height between the axes [px]."""
        width, height = self.width - MARGIN["l"] - MARGIN["r"], self.height - MARGIN["t"] - MARGIN["b"]
        return max(width, 200), max(height, 120)


@dataclass(frozen=True)
class Axis:
    """Ends of an axis in its figure's unit, and whether it is logarithmic."""

    low: float
    high: float
    log: bool

    def share(self, value: float) -> float:
        """Where a value lies between the ends, 0 to 1."""
        low, high, value = (math.log10(each) if self.log else each for each in (self.low, self.high, value))
        return (value - low) / (high - low)


Axes = tuple[Axis, Axis]


def placed(row: Row, look: Look) -> bool:
    """Whether a wall has both figures of the axes, and ones that a logarithm can show."""
    values = {"x": row.get(look.x), "y": row.get(look.y)}
    return not any(missing(value) or (axis in look.log and value <= 0) for axis, value in values.items())


def axes_of(rows: Sequence[Row], look: Look) -> Axes:
    """Both axes for these rows."""
    zero = "zero" in look.log
    return _axis(rows, look.x, "x" in look.log, zero), _axis(rows, look.y, "y" in look.log, zero)


def _axis(rows: Sequence[Row], key: str, log: bool, from_zero: bool) -> Axis:
    """An axis that starts where the front does; at zero when zero is near or asked for."""
    low, high = span([row for row in rows if not log or (row.get(key) or 0) > 0], key) or (1.0, 10.0)
    if log:
        room = (high / low) ** 0.06 if high > low else 1.1
        return Axis(low / room, high * room, True)
    room = (high - low) * 0.06 or abs(high) * 0.05 or 1.0
    near_zero = 0 <= low < (high - low) * 0.35
    if from_zero and high < 0:
        return Axis(low - room, 0.0, False)
    if near_zero or (from_zero and low >= 0):
        return Axis(0.0, high + room, False)
    return Axis(low - room, high + room, False)


def pixels(row: Row, axes: Axes, look: Look) -> tuple[float, float]:
    """Where a wall lies between the axes [px], y downwards."""
    width, height = look.inside
    return axes[0].share(row[look.x]) * width, (1 - axes[1].share(row[look.y])) * height


def layout(axes: Axes, look: Look) -> dict:
    """The plot around its points."""
    colours = look.colours
    return {
        "margin": MARGIN,
        "separators": separators(),
        "height": look.height,
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "showlegend": False,
        "hovermode": "closest",
        "hoverdistance": 12,
        "dragmode": False,
        "clickmode": "event",
        "uirevision": f"{look.x} {look.y} {look.log}",
        "font": {"family": FONT, "size": 12, "color": colours["ink"]},
        "hoverlabel": {
            "bgcolor": colours["paper"],
            "bordercolor": colours["muted"],
            "align": "left",
            "font": {"color": colours["ink"], "size": 12.5},
        },
        "xaxis": _axis_layout(look.x, axes[0], look),
        "yaxis": _axis_layout(look.y, axes[1], look),
    }


def _axis_layout(key: str, axis: Axis, look: Look) -> dict:
    colours = look.colours
    ends = [math.log10(each) for each in (axis.low, axis.high)] if axis.log else [axis.low, axis.high]
    return {
        "title": {"text": axis_title(key, axis, look), "font": {"size": 12.5, "color": colours["ink"]}, "standoff": 10},
        "type": "log" if axis.log else "linear",
        "range": ends,
        "gridcolor": colours["hairline"],
        "linecolor": colours["hairline"],
        "zeroline": False,
        "tickfont": {"size": 11.5, "color": colours["muted"]},
        "ticks": "",
        "nticks": 9,
        "fixedrange": True,
    }


def axis_title(key: str, axis: Axis, look: Look) -> str:
    """What an axis shows, and that it does not start at zero where it does not."""
    words = f"{named(key, look.modules)}, {unit(key, look.currency)}"
    if axis.log:
        return f"{words} (logarithmic)"
    return words if axis.low <= 0 <= axis.high else f"{words} (not from zero)"


def named(key: str, modules: Sequence[str], narrow: bool = False) -> str:
    """A figure by its full name, carbon with the modules that count; narrow: by its short one."""
    if key == "cost_per_m2":
        return "cost"
    if key == "carbon_kgco2e_m2":
        words = modules_words(modules)
        short = narrow or len(words) >= 8  # or it runs off the plot
        return f"{QUANTITIES[key].short if short else QUANTITIES[key].noun} {words}"
    return QUANTITIES[key].short if narrow else QUANTITIES[key].noun


def colour_words(rows: Sequence[Row], key: str, currency: str) -> str:
    """The range of the colour scale in words: '(€142 dark to €231 light)'."""
    ends = span(rows, key)
    if not ends:
        return ""
    digits = 0 if ends[1] - ends[0] > 20 else None
    if key == "cost_per_m2":
        low, high = (money(each, currency, 1 if digits is None else 0) for each in ends)
        return f"({low} dark to {high} light)"
    low, high = (figure(key, each, digits) for each in ends)
    return f"({low} dark to {high} light, {unit(key, currency)})"


def valued(key: str, value: float | None, currency: str) -> str:
    """A figure with its unit, short: '€171.7/m²', '476.5 mm'."""
    if key == "cost_per_m2":
        return f"{money(value, currency, 1)}{QUANTITIES[key].unit.removeprefix(MONEY)}"
    if key == "thickness_mm" and not missing(value):
        return written(f"{value:,.1f}".removesuffix(".0")) + " mm"
    return f"{figure(key, value)} {unit(key, currency)}"


def form(key: str, currency: str) -> dict[str, str]:
    """What stands before and after a figure, for the page to write ranges with."""
    if key == "cost_per_m2":
        before, after = around(symbol(currency))
        return {"before": before, "after": f"{after} per m²"}
    return {"before": "", "after": f" {unit(key, currency)}"}
