"""A drawing as shapes: made once from a build-up, in millimetres of the wall, x inward and y down the sheet.

Every shape carries the class that it is styled by on a screen or in print, and the CAD layer that it lies on.
Sizes that belong to the paper (text, gaps) are already in millimetres of the wall at the drawing's scale.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from . import svg

Point = tuple[float, float]
Rect = tuple[float, float, float, float]  # x0, y0, x1, y1

# Layers of a CAD file, named plainly; "" lies on none (what only a screen needs).
OUTLINE, TIMBER, BOARD, MEMBRANE = "outline", "timber cut", "board", "membrane"
FILL, BOARD_HATCH, TIE = "fill hatch", "board hatch", "tie"
BEHIND, TIE_BEHIND = "behind the cut", "tie behind the cut"
AIRTIGHT, WINDTIGHT, BREAKS, CHAMBER = "airtight line", "wind-tight line", "break line", "chamber break"
DIMENSION, TAG, TEXT, TITLE = "dimension", "tag", "text", "title block"

SIZES = {"total": 12.5, "heading": 13.0, "name": 15.0, "small": 10.0}  # px of text by class
SIZE = 11.0  # px, of all other text


@dataclass(frozen=True)
class Rectangle:
    """A rectangle; hatch: the look it is hatched as; holes: what lies in front of the hatch."""

    x0: float
    y0: float
    x1: float
    y1: float
    class_: str
    cad: str = ""
    hatch: str | None = None
    holes: tuple[Rect, ...] = ()


@dataclass(frozen=True)
class Stroke:
    """A line through points."""

    points: tuple[Point, ...]
    class_: str
    cad: str = ""
    closed: bool = False


@dataclass(frozen=True)
class Words:
    """A line of text, its baseline at a point; turned: read from the right-hand side of the sheet."""

    x: float
    y: float
    words: str
    class_: str
    cad: str = TEXT
    anchor: str = "middle"
    turned: bool = False


@dataclass(frozen=True)
class Measure:
    """A dimension. a, b: the points measured; at: where its line lies; value: the true length [mm].

    label: the figure's place; leader: from the line to a figure moved away.
    reach: how far extension lines stick out on the wall's side and beyond (0: only ticks).
    """

    a: Point
    b: Point
    at: float
    value: float
    label: Words
    leader: tuple[Point, Point] | None = None
    reach: tuple[float, float] = (0.0, 0.0)
    tick: float = 3.0

    @property
    def along(self) -> str:
        """The axis that it measures along."""
        return "x" if self.a[1] == self.b[1] else "y"

    @property
    def ends(self) -> tuple[Point, Point]:
        """The ends of the dimension line."""
        if self.along == "x":
            return (self.a[0], self.at), (self.b[0], self.at)
        return (self.at, self.a[1]), (self.at, self.b[1])


@dataclass(frozen=True)
class Group:
    """Shapes that belong together; layer: the number of the wall's layer that they show."""

    shapes: tuple[Shape, ...]
    class_: str
    layer: int | None = None


Shape = Rectangle | Stroke | Words | Measure | Group


def segment(x0: float, y0: float, x1: float, y1: float, class_: str, cad: str = "") -> Stroke:
    """A straight line."""
    return Stroke(((x0, y0), (x1, y1)), class_, cad)


def flat(shapes: Sequence[Shape]) -> Iterator[Rectangle | Stroke | Words | Measure]:
    """Every shape that is drawn, in the order of drawing."""
    for each in shapes:
        if isinstance(each, Group):
            yield from flat(each.shapes)
        else:
            yield each


def moved(shape: Shape, dx: float, dy: float, factor: float = 1.0) -> Shape:
    """The same shape, made larger by a factor and then moved on the sheet."""

    def at(point: Point) -> Point:
        return (point[0] * factor + dx, point[1] * factor + dy)

    def corners(rect: Rect) -> Rect:
        return (*at(rect[:2]), *at(rect[2:]))

    if isinstance(shape, Group):
        return replace(shape, shapes=tuple(moved(each, dx, dy, factor) for each in shape.shapes))
    if isinstance(shape, Stroke):
        return replace(shape, points=tuple(at(each) for each in shape.points))
    if isinstance(shape, Words):
        x, y = at((shape.x, shape.y))
        return replace(shape, x=x, y=y)
    if isinstance(shape, Measure):
        line = shape.at * factor + (dy if shape.along == "x" else dx)
        reach = (shape.reach[0] * factor, shape.reach[1] * factor)
        leader = None if shape.leader is None else (at(shape.leader[0]), at(shape.leader[1]))
        moves = {"a": at(shape.a), "b": at(shape.b), "label": moved(shape.label, dx, dy, factor), "leader": leader}
        return replace(shape, at=line, reach=reach, tick=shape.tick * factor, **moves)
    x0, y0, x1, y1 = corners((shape.x0, shape.y0, shape.x1, shape.y1))
    return replace(shape, x0=x0, y0=y0, x1=x1, y1=y1, holes=tuple(corners(each) for each in shape.holes))


@dataclass(frozen=True)
class Paper:
    """Where millimetres of the wall lie on a sheet [px], and the prefix of the hatches' ids."""

    scale: float = 1.0
    left: float = 0.0
    top: float = 0.0
    prefix: str = "wf"

    def point(self, point: Point) -> Point:
        return self.left + point[0] * self.scale, self.top + point[1] * self.scale

    def svg(self, shapes: Sequence[Shape]) -> str:
        """Shapes as SVG elements."""
        return "".join(self._one(each) for each in shapes)

    def _one(self, shape: Shape) -> str:
        if isinstance(shape, Group):
            return svg.element("g", self.svg(shape.shapes), class_=shape.class_, data_layer=shape.layer)
        if isinstance(shape, Rectangle):
            return self._box(shape)
        if isinstance(shape, Words):
            return self._words(shape)
        if isinstance(shape, Measure):
            return self._measure(shape)
        points = [self.point(each) for each in shape.points]
        if len(points) == 2 and shape.class_ != "leader":
            return svg.line(*points[0], *points[1], shape.class_)
        return svg.path(points, shape.class_, closed=shape.closed)

    def _box(self, box: Rectangle) -> str:
        corners = (*self.point((box.x0, box.y0)), *self.point((box.x1, box.y1)))
        drawn = svg.rect(*corners, box.class_)
        if box.hatch is not None:
            drawn += svg.rect(*corners, "hatch", fill=f"url(#{self.prefix}-{box.hatch})")
        return drawn

    def _words(self, words: Words) -> str:
        x, y = self.point((words.x, words.y))
        turn = f"rotate(-90 {x:.2f} {y:.2f})" if words.turned else None
        return svg.text(x, y, words.words, words.class_, words.anchor, transform=turn)

    def _measure(self, measure: Measure) -> str:
        a, b = (self.point(each) for each in measure.ends)
        parts = [svg.line(*a, *b, "dim")]
        near, far = (each * self.scale for each in measure.reach)
        if near or far:
            parts += [svg.line(x - near, y, x + far, y, "dim") for x, y in (a, b)]
        tick = measure.tick * self.scale
        parts += [svg.line(x - tick, y + tick, x + tick, y - tick, "tick") for x, y in (a, b)]
        if measure.leader is not None:
            parts.append(svg.path([self.point(each) for each in measure.leader], "leader"))
        return "".join(parts) + self._words(measure.label)
