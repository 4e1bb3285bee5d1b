"""What stands on a drawing's sheet besides the drawing: list of layers, notes, title block. Sizes in px of paper."""

from __future__ import annotations

from dataclasses import dataclass

from ...locales import spelt
from ...wall.buildup import BuildUp, Frame, Layer
from . import shapes
from .plan import geometry
from .shapes import Rectangle, Shape, Words, segment
from .svg import millimetres, text_width

CAUTION = "Not for construction until checked by a licensed person."
NARROW = 0.86  # of `text_width`: what a line of mixed words takes of that upper estimate
LINE, ROW = 14.0, 17.0  # px from line to line, and what a row of the list takes with its first line
NUMBER, THICKNESS = 26.0, 62.0  # px of the list's first and last column
BLOCK = 78.0  # px, height of the title block


@dataclass(frozen=True)
class Title:
    """What the title block says besides the wall's thickness and the scale.

    wall: its id in the study; name: in words, the build-up's own where empty; u_value: [W/m2K]; date: as it is to be
    printed, none where empty: a drawing never asks the clock; mark: of the build-up, as on the wall's other documents.
    """

    wall: str = ""
    name: str = ""
    u_value: float | None = None
    date: str = ""
    mark: str = ""


def fitted(words: str, width: float, size: float = shapes.SIZE) -> str:
    """Words cut with an ellipsis where they are wider than that [px]."""
    words = " ".join(words.split())
    most = int(width / (NARROW * text_width("n", size)))
    return words if len(words) <= most else words[: max(most - 1, 0)].rstrip() + "…"


def folded(words: str, width: float, size: float = shapes.SIZE) -> list[str]:
    """Words in lines no wider than that [px]; a word that is wider alone is cut."""
    lines: list[str] = []
    for word in words.split():
        word = fitted(word, width, size)
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and fitted(longer, width, size) == longer:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines or [""]


def layer_words(wall: BuildUp, layer: Layer) -> str:
    """A layer as the list says it: place, material, members and ties."""
    said = f"{layer.role}: {wall.of(layer.material).name}"
    if layer.frame is not None:
        said += f"; {_frame_words(wall, layer, layer.frame)}"
    if layer.tie is not None:
        tie = layer.tie
        sizes = f"{millimetres(tie.thickness_mm)} x {millimetres(tie.height_mm)}"
        said += (
            f"; tie plates, {wall.of(tie.material).name}, {sizes} every {millimetres(tie.vertical_spacing_mm)} mm up "
        )
        said += f"the studs, {millimetres(tie.overlap_mm)} mm onto them on either side"
    return said


def _frame_words(wall: BuildUp, layer: Layer, frame: Frame) -> str:
    width, spacing, offset = geometry(frame)
    name = wall.of(frame.material).name
    if frame.fraction is not None:
        share = spelt(100 * frame.fraction, ".1f")
        return f"members, {name}, {share} % of the area"
    way = "along the wall, " if frame.axis == "horizontal" else ""
    small, large = sorted((width, layer.thickness_mm))
    said = f"{name} {millimetres(small)} × {millimetres(large)} {way}every {millimetres(spacing)} mm"
    return said + (f", {millimetres(offset)} mm off the line" if offset else "")


def layer_list(wall: BuildUp, width: float, most_lines: int = 3) -> tuple[list[Shape], float]:
    """The layers by number, from outside; and how high the list is."""
    parts: list[Shape] = [
        Words(0.0, 10.0, "Layers, outside first", "bold", anchor="start"),
        Words(width, 10.0, "mm", "bold", anchor="end"),
    ]
    y = 16.0
    for number, layer in enumerate(wall.layers, 1):
        parts.append(segment(0.0, y, width, y, "rule", shapes.TITLE))
        lines = folded(layer_words(wall, layer), width - NUMBER - THICKNESS)
        if len(lines) > most_lines:
            rest = " ".join(lines[most_lines - 1 :])
            lines = [*lines[: most_lines - 1], fitted(rest, width - NUMBER - THICKNESS)]
        thick = millimetres(layer.thickness_mm) if layer.thickness_mm else "-"
        parts.append(Words(0.0, y + 12.5, str(number), "list", anchor="start"))
        parts += [Words(NUMBER, y + 12.5 + LINE * i, each, "list", anchor="start") for i, each in enumerate(lines)]
        parts.append(Words(width, y + 12.5, thick, "list", anchor="end"))
        y += ROW + LINE * (len(lines) - 1)
    parts.append(segment(0.0, y, width, y, "rule", shapes.TITLE))
    return parts, y


def note_lines(notes: list[str], width: float) -> tuple[list[Shape], float]:
    """Notes one after another, and how high they are."""
    lines = folded("  ·  ".join(notes).replace("  ·  ", " \u00b7 "), width) if notes else []
    return [Words(0.0, 11.0 + LINE * i, each, "quiet", anchor="start") for i, each in enumerate(lines)], LINE * len(
        lines
    )


def title_block(wall: BuildUp, title: Title, scale: str, width: float) -> list[Shape]:
    """The title block, its upper left corner at (0, 0) and BLOCK high."""
    cells = [("thickness", f"{millimetres(wall.thickness_mm)} mm")]
    if title.u_value is not None:
        cells.append(("U", f"{spelt(title.u_value, '.3f')} W/m²K"))
    cells.append(("scale", scale))
    if title.date:
        cells.append(("date", title.date))
    cell = min(width / (len(cells) + 1.6), 130.0)
    named = width - cell * len(cells)
    low = BLOCK - 24.0
    parts: list[Shape] = [
        Rectangle(0.0, 0.0, width, BLOCK, "frame", shapes.TITLE),
        segment(0.0, low, width, low, "rule", shapes.TITLE),
        Words(8.0, BLOCK - 8.5, CAUTION, "list", anchor="start"),
    ]
    if title.mark:
        parts.append(Words(width - 8.0, BLOCK - 8.5, f"Mark of the build-up: {title.mark}", "quiet", anchor="end"))
    name = title.name or wall.name
    key, said = (title.wall, name) if title.wall and title.wall != name else (name, "")
    parts.append(Words(8.0, 15.0, "wall", "quiet", anchor="start"))
    parts.append(Words(8.0, 33.0, fitted(key, named - 16, 15.0), "name", anchor="start"))
    if said:
        parts.append(Words(8.0, 48.0, fitted(said, named - 16), "list", anchor="start"))
    for index, (what, value) in enumerate(cells):
        x = named + cell * index
        parts.append(segment(x, 0.0, x, low, "rule", shapes.TITLE))
        parts.append(Words(x + 8, 15.0, what, "quiet", anchor="start"))
        parts.append(Words(x + 8, 33.0, fitted(value, cell - 12), "bold", anchor="start"))
    return parts
