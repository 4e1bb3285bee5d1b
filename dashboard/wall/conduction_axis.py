"""U on one axis: between its bounds, and under what is not known exactly, both against the target."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optimiser.conduction.figures import NumericFigures, error_bound
from optimiser.handover.drawing import palette
from optimiser.handover.drawing.hatch import style
from optimiser.handover.drawing.svg import clean, element, line, rect, text

from ..numbers import spelt
from ..words import u_goal

WIDTH = 520.0  # px
SIDE = 12.0  # px left free at both ends
LETTER = 6.1  # px of a letter, at most
ROW = 15.0  # px between lines of words


@dataclass(frozen=True)
class Mark:
    """A value on the axis: what it is called, how it is drawn, and whether its words stand above the axis."""

    name: str
    value: float  # W/m2K
    kind: str  # bound | combined | solved | target | percentile
    above: bool = False

    @property
    def words(self) -> str:
        return f"{self.name} {u_goal(self.value) if self.kind == 'target' else spelt(self.value, '.4f')}"


@dataclass(frozen=True)
class Scale:
    """Ends of the axis [W/m2K]."""

    low: float
    high: float

    def x(self, value: float) -> float:
        """Place of a value [px]."""
        return SIDE + (WIDTH - 2 * SIDE) * (value - self.low) / (self.high - self.low)


def scale_of(solved: NumericFigures) -> Scale:
    """One axis for both pictures of a wall, so that they can be laid one over the other."""
    values = [solved.u_least, solved.u_most, solved.heat.u_value, solved.spread.p5, solved.spread.p95]
    values += [solved.spread.target] if solved.spread.target is not None else []
    room = 0.05 * (max(values) - min(values)) or 0.05 * max(values)
    return Scale(min(values) - room, max(values) + room)


def alike(solved: NumericFigures) -> bool:
    """Whether the bounds are one value to four decimals: nothing crosses the insulation."""
    return solved.u_most - solved.u_least < 5e-5


def bound_marks(solved: NumericFigures) -> list[Mark]:
    """The bounds, the combined method, U by conduction and the target."""
    marks = [
        Mark("R′", solved.u_least, "bound"),
        Mark("combined", solved.u_combined, "combined"),
        Mark("R″", solved.u_most, "bound"),
        Mark("by conduction", solved.heat.u_value, "solved", True),
    ]
    return marks + _target(solved)


def spread_marks(solved: NumericFigures) -> list[Mark]:
    """5, 50 and 95 % of U, and the target."""
    spread = solved.spread
    marks = [Mark(f"{name} %:", value, "percentile") for name, value in (("5", spread.p5), ("95", spread.p95))]
    return [*marks, Mark("50 %:", spread.p50, "solved", True), *_target(solved)]


def _target(solved: NumericFigures) -> list[Mark]:
    return [] if solved.spread.target is None else [Mark("target", solved.spread.target, "target", True)]


def bounds_svg(solved: NumericFigures) -> str:
    """R'' and R' as ends of a bar, the combined method hollow, U by conduction with its limits, the target dashed.

    Empty where nothing crosses the insulation: all of them are one value.
    """
    if alike(solved):
        return ""
    scale = scale_of(solved)
    error = solved.heat.u_value - solved.heat.u_error, solved.heat.u_value + solved.heat.u_error
    said = ", ".join(each.words for each in sorted(bound_marks(solved), key=lambda each: each.value))
    return _svg(
        bound_marks(solved),
        scale,
        (solved.u_least, solved.u_most),
        error,
        "U between the bounds of the combined method",
        f"{said}; U by conduction is at most {spelt(error_bound(solved.heat.u_error), '.4f')} W/m²K more or less.",
    )


def spread_svg(solved: NumericFigures) -> str:
    """Nine of ten walls built lie in the bar; the target dashed."""
    spread = solved.spread
    said = ", ".join(each.words for each in sorted(spread_marks(solved), key=lambda each: each.value))
    words = "U with what is not known exactly"
    return _svg(spread_marks(solved), scale_of(solved), (spread.p5, spread.p95), None, words, f"{said}.")


def _svg(
    marks: list[Mark],
    scale: Scale,
    bar: tuple[float, float],
    error: tuple[float, float] | None,
    title: str,
    said: str,
) -> str:
    above, below = (_rows([each for each in marks if each.above is up], scale) for up in (True, False))
    middle = 6 + ROW * (1 + max(row for _, _, row in above)) + 10
    body = [
        style(palette.LIGHT, plain=False),
        element("style", _style()),
        line(SIDE, middle, WIDTH - SIDE, middle, "axis-of"),
        rect(scale.x(bar[0]), middle - 5, scale.x(bar[1]), middle + 5, "range-of"),
        *(_one(each, x, row, scale, middle) for each, x, row in (*above, *below)),
    ]
    if error is not None:  # at least as wide as can be seen
        low, high = scale.x(error[0]), scale.x(error[1])
        more = max(3.0 - (high - low), 0.0) / 2
        body.append(rect(low - more, middle - 8, high + more, middle + 8, "exact-of"))
    height = middle + 12 + ROW * (1 + max(row for _, _, row in below))
    head = element("title", clean(title)) + element("desc", clean(said))
    return element(
        "svg",
        head,
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="wf u-axis",
        role="img",
        viewBox=f"0 0 {WIDTH:g} {height:.0f}",
        width=f"{WIDTH:g}",
        height=f"{height:.0f}",
    )


def _rows(marks: list[Mark], scale: Scale) -> list[tuple[Mark, float, int]]:
    """(mark, middle of its words [px], row from the axis), none over another."""
    placed: list[tuple[Mark, float, int]] = []
    for each in sorted(marks, key=lambda mark: (mark.kind == "combined", mark.kind == "target", mark.value)):
        half = LETTER * len(each.words) / 2
        x = min(max(scale.x(each.value), half), WIDTH - half)
        row = next(row for row in range(len(marks)) if all(_clear(x, half, other, row) for other in placed))
        placed.append((each, x, row))
    return placed


def _clear(x: float, half: float, other: tuple[Mark, float, int], row: int) -> bool:
    mark, middle, taken = other
    return taken != row or abs(x - middle) > half + LETTER * len(mark.words) / 2 + 6


def _one(mark: Mark, x: float, row: int, scale: Scale, middle: float) -> str:
    """One mark and its words."""
    at = scale.x(mark.value)
    y = middle - 14 - ROW * row if mark.above else middle + 20 + ROW * row
    reach = (y + 3, middle + 9) if mark.above else (middle - 9, y - 10)
    if math.isclose(at, x, abs_tol=60) and row:
        words_end = y + 3 if mark.above else y - 10
        reach = (min(words_end, middle - 9), max(words_end, middle + 9))
    parts = [line(at, reach[0], at, reach[1], f"{mark.kind}-line")]
    if mark.kind == "combined":
        parts.append(element("path", d=f"M{at - 4:.2f} {middle:.2f}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0Z", class_="ring"))
    parts.append(text(x, y, mark.words, "bold" if mark.kind == "solved" else "said-of"))
    return element("g", *parts, class_=f"mark {mark.kind}")


def _style() -> str:
    def colour(role: str) -> str:
        return f"var(--{role},{palette.LIGHT[role]})"

    return (
        f".u-axis .axis-of{{stroke:{colour('hairline')};stroke-width:1}}"
        f".u-axis .range-of{{fill:{colour('accent')};opacity:.2}}"
        f".u-axis .exact-of{{fill:{colour('accent')}}}"
        f".u-axis .bound-line,.u-axis .percentile-line{{stroke:{colour('accent')};stroke-width:1.4}}"
        f".u-axis .exact-line{{stroke:{colour('accent')};stroke-width:2.2}}"
        f".u-axis .target-line{{stroke:{colour('ink')};stroke-width:1.2;stroke-dasharray:4 3}}"
        f".u-axis .combined-line{{stroke:{colour('muted')};stroke-width:.8}}"
        f".u-axis .ring{{fill:{colour('paper')};stroke:{colour('ink')};stroke-width:1.4}}"
        f".u-axis .combined text,.u-axis .bound text,.u-axis .percentile text{{fill:{colour('muted')}}}"
    )


def drivers(solved: NumericFigures, least: float = 0.005) -> Iterator[tuple[str, float]]:
    """What drives the spread, the largest first; what matters too little to tell is left out."""
    return ((name, share) for name, share in solved.spread.drivers if share >= least)
