"""The drawing as a CAD file (DXF R2010, millimetres): the same shapes, with real hatches and real dimensions.

Plan and upright section stand side by side in model space, whole and in full size; text is sized for a print at the
scale asked for. Needs the package ezdxf (the extra `cad`).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import atan2, degrees, hypot
from typing import TYPE_CHECKING, Any

from materials.errors import InputError

from ...brief.brief import Brief
from ...locales import marks
from ...wall.buildup import BuildUp
from . import shapes
from .section import notes_of
from .shapes import Measure, Rect, Rectangle, Shape, Words, flat, moved
from .sheet import Laid, check_scale, cut_of, laid_out
from .svg import millimetres
from .title import BLOCK, Title, layer_list, note_lines, title_block

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace

# CAD layer -> (colour by index, line type, line weight in 1/100 mm)
LAYERS = {
    shapes.OUTLINE: (7, "Continuous", 35),
    shapes.TIMBER: (32, "Continuous", 25),
    shapes.BOARD: (7, "Continuous", 35),
    shapes.MEMBRANE: (7, "Continuous", 35),
    shapes.FILL: (8, "Continuous", 13),
    shapes.BOARD_HATCH: (8, "Continuous", 13),
    shapes.TIE: (34, "Continuous", 25),
    shapes.TIE_BEHIND: (34, "dashes", 25),
    shapes.BEHIND: (7, "dashes", 18),
    shapes.AIRTIGHT: (134, "Continuous", 80),
    shapes.WINDTIGHT: (7, "long dashes", 60),
    shapes.BREAKS: (7, "Continuous", 18),
    shapes.CHAMBER: (1, "dashes and dots", 50),
    shapes.DIMENSION: (7, "Continuous", 18),
    shapes.TAG: (7, "Continuous", 18),
    shapes.TEXT: (7, "Continuous", 18),
    shapes.TITLE: (7, "Continuous", 25),
}
LINE_TYPES = {  # px of paper: dash, gap (negative), ...
    "dashes": (5.0, -3.0),
    "long dashes": (9.0, -6.0),
    "dashes and dots": (12.0, -3.0, 2.0, -3.0),
}
WAVE = (5.5, 11.0)  # px: half a wave along, its height
PATTERNS = {  # look -> name, lines as (angle, a point, the step to the next line, dashes), in px of paper
    "rigid": ("RIGID BOARD", [(45.0, (0.0, 0.0), (7.0, 0.0), ())]),
    "cladding": ("GRAIN", [(0.0, (0.0, 0.0), (0.0, 8.0), ()), (0.0, (0.0, 4.0), (0.0, 8.0), (20.0, -4.0))]),
}
CAPITALS = 0.72  # height of capitals, which CAD text is sized by, over the size of type
GAP = 60.0  # px of paper between the views
FIXED_DATE, FIXED_ID = "2451544.5", "{00000000-0000-0000-0000-000000000000}"  # no clock and no dice in the file
STYLE = "wall"


def drawing_dxf(wall: BuildUp, brief: Brief | None = None, scale: float = 10.0, title: Title | None = None) -> bytes:
    """A wall's plan and upright section as the bytes of a DXF file.

    brief: gives storey, plates, noggings and chambers; scale: 10 for text that prints well at 1:10. Equal bytes for
    equal input. InputError without the package ezdxf, and for a storey that leaves no room for studs.
    """
    check_scale(scale)
    ezdxf = _ezdxf()
    document = ezdxf.new("R2010", setup=False, units=4)
    laid = [laid_out(cut_of(wall, brief, view, 0), scale) for view in ("plan", "vertical")]
    unit = 1 / laid[0].px_per_mm
    _prepare(document, unit)
    space = document.modelspace()
    for shape in flat(_placed(wall, laid, title or Title(), scale, unit)):
        if isinstance(shape, Words):
            _text(space, shape, unit)
        elif isinstance(shape, Measure):
            _dimension(space, shape, unit)
        elif isinstance(shape, Rectangle):
            _box(space, shape, unit)
        elif shape.cad:
            _line(space, shape.points, shape.cad, shape.closed)
    stream = io.StringIO()
    document.write(stream)
    return _steady(stream.getvalue()).encode("utf-8")


def _ezdxf() -> Any:
    try:
        import ezdxf
    except ImportError:
        raise InputError("a DXF drawing needs the package ezdxf: pip install 'wallfront[cad]'") from None
    return ezdxf


def _placed(wall: BuildUp, laid: Sequence[Laid], title: Title, scale: float, unit: float) -> Iterator[Shape]:
    """The views side by side, heads in line, and below them notes, layers and title block."""
    left = 0.0
    for each in laid:
        yield from (moved(shape, left, 0.0) for shape in each.shapes)
        left += (each.width + GAP) * unit
    width = max(left / unit - GAP, 560.0)
    top = max(each.height for each in laid) * unit
    notes: list[str] = []
    for each in laid:
        notes += [note for note in notes_of(each.drawn, wall) if note not in notes]
    said, said_high = note_lines(notes, width)
    layers, layers_high = layer_list(wall, width)
    block = title_block(wall, title, f"1:{scale:g}", width)
    y = 0.0
    for parts, high in ((said, said_high), (layers, layers_high), (block, BLOCK)):
        yield from (moved(shape, -26.0 * unit, top + y * unit, unit) for shape in parts)
        y += high + 14.0


def _prepare(document: Drawing, unit: float) -> None:
    """Layers, line types, the style of text and that of dimensions."""
    for name, dashes in LINE_TYPES.items():
        sized = [each * unit for each in dashes]
        document.linetypes.add(name, [sum(abs(each) for each in sized), *sized], description=name)
    for name, (colour, line, weight) in LAYERS.items():
        document.layers.add(name, color=colour, linetype=line, lineweight=weight)
    document.styles.add(STYLE, font="arial.ttf")
    height = shapes.SIZE * CAPITALS * unit
    document.dimstyles.new(
        STYLE,
        dxfattribs={
            "dimtxsty": STYLE,
            "dimtxt": height,
            "dimtsz": 3.0 * unit,
            "dimasz": 3.0 * unit,
            "dimgap": 1.5 * unit,
            "dimexe": 3.0 * unit,
            "dimexo": 0.0,
            "dimfxlon": 1,
            "dimfxl": 4.0 * unit,
            "dimtad": 1,
            "dimtih": 0,
            "dimtoh": 0,
            "dimlunit": 2,
            "dimdec": 1,
            "dimzin": 8,
            "dimdsep": ord(marks().decimal),
            "dimscale": 1.0,
        },
    )
    document.header["$LUNITS"] = 2
    document.header["$MEASUREMENT"] = 1
    document.header["$DIMSTYLE"] = STYLE


def _at(point: shapes.Point) -> tuple[float, float]:
    """A point of the drawing in model space, where y runs up."""
    return round(point[0], 6), round(-point[1], 6) + 0.0


def plain(words: str) -> str:
    """Words that are text and nothing else in a CAD file: one line, no control codes."""
    line = "".join(sign if sign.isprintable() else " " for sign in words)
    return line.replace("%%", "% %").replace("^", "^ ").replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")


def _text(space: Modelspace, words: Words, unit: float) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[words.anchor]
    size = shapes.SIZES.get(words.class_, shapes.SIZE) * CAPITALS * unit
    turn = 90.0 if words.turned else 0.0
    attributes = {"layer": words.cad, "style": STYLE, "rotation": turn}
    entity = space.add_text(plain(words.words), height=size, dxfattribs=attributes)
    entity.set_placement(_at((words.x, words.y)), align=align)


def _dimension(space: Modelspace, measure: Measure, unit: float) -> None:
    """A real dimension, its figure where the drawing has it."""
    label, figure = measure.label, millimetres(measure.value)
    before, _, after = label.words.rpartition(figure)
    half = shapes.SIZES.get(label.class_, shapes.SIZE) * CAPITALS * unit / 2
    middle = (label.x - half, label.y) if label.turned else (label.x, label.y - half)
    dimension = space.add_linear_dim(
        base=_at(measure.ends[0]),
        p1=_at(measure.a),
        p2=_at(measure.b),
        text=f"{before}<>{after}",
        angle=0.0 if measure.along == "x" else 90.0,
        dimstyle=STYLE,
        dxfattribs={"layer": shapes.DIMENSION},
    )
    dimension.set_location(_at(middle), leader=False)
    dimension.render()
    if measure.leader is not None:
        _line(space, measure.leader, shapes.DIMENSION)


def _line(space: Modelspace, points: Sequence[shapes.Point], layer: str, closed: bool = False) -> None:
    attributes = {"layer": layer}
    if len(points) == 2:
        space.add_line(_at(points[0]), _at(points[1]), dxfattribs=attributes)
    else:
        space.add_lwpolyline([_at(each) for each in points], close=closed, dxfattribs=attributes)


def _box(space: Modelspace, box: Rectangle, unit: float) -> None:
    """A hatched face, a solid tie, or an outline; what only a screen needs lies on no layer."""
    if not box.cad:
        return
    rect = (box.x0, box.y0, box.x1, box.y1)
    if box.hatch is not None:
        name, lines = PATTERNS.get(box.hatch) or ("SOFT FILL", _wave())
        _hatch(space, open_parts(rect, box.holes), box.cad).set_pattern_fill(
            name, color=256, scale=unit, style=0, pattern_type=2, definition=lines
        )
    elif "f-tie" in box.class_:
        _hatch(space, [rect], box.cad).set_solid_fill(color=256)
    else:
        _line(space, _corners(rect), box.cad, closed=True)


def _hatch(space: Modelspace, parts: Sequence[Rect], layer: str) -> Any:
    hatch = space.add_hatch(dxfattribs={"layer": layer})
    for each in parts:
        hatch.paths.add_polyline_path([_at(point) for point in _corners(each)], is_closed=True)
    return hatch


def _corners(rect: Rect) -> list[shapes.Point]:
    x0, y0, x1, y1 = rect
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _wave() -> list[tuple]:
    """The wave of soft fill in straight strokes, up and down, as many rows as there are gaps between them."""
    along, high = WAVE
    stroke, slope = hypot(along, high), degrees(atan2(high, along))
    step, dashes = (2 * along, 0.0), (stroke, -stroke)
    return [(slope, (0.0, 0.0), step, dashes), (-slope, (along, high), step, dashes)]


def open_parts(rect: Rect, holes: Sequence[Rect]) -> list[Rect]:
    """What is left of a rectangle behind others, as rectangles that do not overlap."""
    x0, y0, x1, y1 = rect
    inside = [(max(a, x0), max(b, y0), min(c, x1), min(d, y1)) for a, b, c, d in holes]
    inside = [each for each in inside if each[2] - each[0] > 1e-9 and each[3] - each[1] > 1e-9]
    rows = sorted({y0, y1, *(y for each in inside for y in (each[1], each[3]))})
    parts: list[Rect] = []
    for low, high in pairwise(rows):
        crossing = [each for each in inside if each[1] < high and each[3] > low]
        place = x0
        for a, _, c, _ in [*sorted(crossing), (x1, low, x1, high)]:
            if a - place > 1e-9:
                if parts and parts[-1][3] == low and (parts[-1][0], parts[-1][2]) == (place, a):
                    low_before = parts.pop()[1]
                    parts.append((place, low_before, a, high))
                else:
                    parts.append((place, low, a, high))
            place = max(place, c)
    return parts


def _steady(text: str) -> str:
    """The file without the moment it was written and without random identifiers."""
    text = re.sub(r"(\$TDU?(?:CREATE|UPDATE)\n *40\n)[^\n]+", rf"\g<1>{FIXED_DATE}", text)
    text = re.sub(r"(\$(?:FINGERPRINT|VERSION)GUID\n *2\n)[^\n]+", rf"\g<1>{FIXED_ID}", text)
    return re.sub(r"(\n *1\n\d+\.\d+[\w.]* @ )\d{4}-\d\d-\d\dT[^\n]+", r"\g<1>2000-01-01T00:00:00+00:00", text)
