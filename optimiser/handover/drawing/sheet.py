"""One wall's drawing on a sheet of paper that prints to scale: plan section or upright section, layers, title block."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

from materials.errors import InputError, nearest

from ...brief.brief import Brief
from ...wall.buildup import BuildUp
from . import cut, palette
from .hatch import patterns, style
from .paper import PX_PER_MM, Sheet, model
from .plan import PAD_MM, Plan, plan
from .section import described, notes_of
from .shapes import Paper, Shape, Words, moved
from .svg import clean, element
from .title import BLOCK, Title, layer_list, note_lines, title_block
from .vertical import vertical

View = Literal["plan", "vertical"]
VIEWS = {"plan": "plan section", "vertical": "vertical section"}
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0)}  # mm, upright (ISO 216)
SCALES = (5.0, 10.0)  # tried where no scale is asked for; then the next
SMALLER = (20.0, 50.0)
MARGIN = 10.0  # mm of paper
LEFT, TOP = 26.0, 52.0  # px beside the wall for the word outside; above it for the heading and the layer numbers
WORD = 17.0  # px for the word inside
MORE_MM = 60.0  # of fill shown beside the studs where the paper has room for it


@dataclass(frozen=True)
class Laid:
    """One cut laid out at a scale: shapes in mm of the wall from its outer upper corner; sizes in px of paper."""

    drawn: Plan
    shapes: tuple[Shape, ...]
    width: float  # px, with the words on either side
    height: float  # px, with heading and dimensions
    px_per_mm: float


def cut_of(wall: BuildUp, brief: Brief | None, view: View, detail: int) -> Plan:
    """The cut that a view shows. detail: 0 whole (two bays, a storey); 1 and 2 shortened by break lines."""
    if view == "vertical":
        return vertical(wall, brief, detail)
    if view == "plan":
        return plan(wall, 2.0 if detail == 0 else None, 3, PAD_MM if detail == 2 else MORE_MM)
    raise InputError(f'view "{view}": expected plan or vertical{nearest(view, VIEWS)}')


def check_scale(scale: float) -> None:
    """InputError for a scale that nothing is drawn at."""
    if not 1 <= scale <= 1000:
        raise InputError(f"scale = {scale!r}: expected 5 for 1:5, between 1 and 1000")


def laid_out(drawn: Plan, scale: float) -> Laid:
    """A cut as the shapes of a drawing at 1:scale, the wall's outer upper corner at (0, 0)."""
    px_per_mm = PX_PER_MM / scale
    sheet = model(drawn.windows, px_per_mm)
    measured, ends, column = cut.sizes(drawn, sheet)
    said = f"{VIEWS[drawn.view].capitalize()} 1:{scale:g}"
    heading = Words(sheet.x(0.0), sheet.top - sheet.px(38), said, "heading", anchor="start")
    words = cut.sides(drawn, sheet, LEFT - 13, column + 4)
    parts = (*cut.body(drawn, sheet), *words, *measured, *_ends(drawn, sheet), heading)
    wide = drawn.thickness * px_per_mm + LEFT + column + WORD
    return Laid(drawn, parts, wide, TOP + ends, px_per_mm)


def _ends(drawn: Plan, sheet: Sheet) -> list[Shape]:
    """The words at head and foot of an upright section, where it is high enough for them."""
    if drawn.view == "plan" or sheet.bottom - sheet.top < sheet.px(170):
        return []
    x = sheet.left - sheet.px(8)
    return [
        Words(x, sheet.top + sheet.px(30), "head", "quiet", turned=True),
        Words(x, sheet.bottom - sheet.px(30), "foot", "quiet", turned=True),
    ]


def drawing_svg(
    wall: BuildUp,
    brief: Brief | None = None,
    view: View = "plan",
    scale: float | None = None,
    title: Title | None = None,
    paper: str | None = None,
    prefix: str = "wf",
) -> str:
    """A wall's drawing as SVG text that prints to scale: its width and height are those of the paper, in mm.

    brief: gives storey, plates, noggings and chambers (common practice without one, and said so); scale: 5 for 1:5
    (None: the largest of 1:5 and 1:10 that fits, whole rather than shortened); paper: "A4" or "A3" (None: the smaller
    one that it fits on); prefix: of the ids (two drawings on one page). Equal bytes for equal input. InputError where
    it fits on no sheet, or for a view or paper that there is not.
    """
    title = title or Title()
    for name, laid, furniture in _choices(wall, brief, view, scale, title, paper):
        if furniture is not None:
            return _sheet(wall, view, PAPERS[name], laid, furniture, prefix)
    fits = next(
        (each for each in (*SCALES, *SMALLER) if each > (scale or 0) and _fits(wall, brief, view, each, paper)), 0
    )
    advice = f"; 1:{fits:g} does" if fits else ""
    raise InputError(
        f"{wall.name}: the {VIEWS[view]} at 1:{scale or SMALLER[-1]:g} fits on no {paper or 'A4 or A3'} sheet{advice}"
    )


def _fits(wall: BuildUp, brief: Brief | None, view: View, scale: float, paper: str | None) -> bool:
    return any(furniture is not None for _, _, furniture in _choices(wall, brief, view, scale, Title(), paper))


def _choices(
    wall: BuildUp, brief: Brief | None, view: View, scale: float | None, title: Title, paper: str | None
) -> Iterator[tuple[str, Laid, list[Shape] | None]]:
    """Sheets from the best on, each with what stands on it besides the cut [px], None where the cut does not fit."""
    if paper is not None and paper not in PAPERS:
        raise InputError(f'paper "{paper}": expected {" or ".join(PAPERS)}')
    if scale is not None:
        check_scale(scale)
    cuts = [cut_of(wall, brief, view, detail) for detail in range(3)]
    papers = [paper] if paper else [*PAPERS]
    for scales in ([scale],) if scale is not None else (SCALES, SMALLER):
        # A larger sheet goes before a cut that leaves ties out.
        for name, drawn in [*product(papers, cuts[:2]), *product(papers, cuts[2:])]:
            for each in scales:
                laid = laid_out(drawn, each)
                yield name, laid, _furniture(wall, laid, title, f"1:{each:g} on {name}", PAPERS[name])


def _furniture(wall: BuildUp, laid: Laid, title: Title, scale: str, size: tuple[float, float]) -> list[Shape] | None:
    """Notes, layers and title block below a cut [px, from the inside corner of the margin]; None without the room."""
    width, height = ((each - 2 * MARGIN) * PX_PER_MM for each in size)
    notes, notes_high = note_lines(notes_of(laid.drawn, wall), width)
    layers, layers_high = layer_list(wall, width)
    block = height - BLOCK
    layers_at = block - 14 - layers_high
    notes_at = layers_at - 14 - notes_high
    if laid.width > width or laid.height > notes_at - 6:
        return None
    return [
        *(moved(each, 0.0, notes_at) for each in notes),
        *(moved(each, 0.0, layers_at) for each in layers),
        *(moved(each, 0.0, block) for each in title_block(wall, title, scale, width)),
    ]


def _sheet(
    wall: BuildUp, view: View, size: tuple[float, float], laid: Laid, furniture: list[Shape], prefix: str
) -> str:
    """The whole sheet as SVG: px inside, millimetres of paper outside."""
    width, height = (each * PX_PER_MM for each in size)
    margin = MARGIN * PX_PER_MM
    left = margin + max((width - 2 * margin - laid.width) / 2, 0.0) + LEFT
    put = Paper(laid.px_per_mm, left, margin + TOP, prefix)
    head = element("title", clean(f"{wall.name}: {VIEWS[view]}")) + element("desc", clean(described(laid.drawn, wall)))
    return element(
        "svg",
        head,
        style(palette.LIGHT | {"paper": "#FFFFFF"}, plain=True),
        patterns(prefix),
        put.svg(laid.shapes),
        Paper(1.0, margin, margin).svg(furniture),
        xmlns="http://www.w3.org/2000/svg",
        class_="wf",
        role="img",
        viewBox=f"0 0 {width:.2f} {height:.2f}",
        width=f"{size[0]:g}mm",
        height=f"{size[1]:g}mm",
        data_scale=f"{laid.px_per_mm:.6f}",
    )
