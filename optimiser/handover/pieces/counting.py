"""Timber and ties counted piece by piece round the house: studs, plates, noggings, battens, tie plates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from materials.errors import InputError

from ...brief.brief import Brief, Framing
from ...house.house import House
from ...template import STUDS
from ...wall.buildup import BuildUp, Frame, Tie, tie_frames
from .runs import Run, bays, by_storey, heights, members_along, runs

SHEETS_M = (  # width and length of the sheets sold [m]: common practice
    (1.25, 2.5),
    (1.25, 2.8),
    (1.25, 3.0),
    (1.2, 2.5),
    (1.2, 2.4),
    (1.2, 2.6),
    (1.2, 3.0),
    (1.25, 2.0),
    (1.25, 4.0),
    (0.6, 2.5),
    (0.6, 2.0),
    (0.625, 2.5),
    (0.625, 1.25),
)


@dataclass(frozen=True)
class CountingPractice:
    """How the site works, where neither brief nor price list says so: common practice, every value settable."""

    corner_studs: int = 1  # more at every corner, beside the end studs: something to fix the lining to
    stock_lengths_m: tuple[float, ...] = (3.0, 3.6, 4.2, 4.8, 5.4, 6.0)  # of timber sold by the metre
    kerf_mm: float = 4.0
    offcut_mm: float = 1200.0  # from this length on an offcut serves for members round openings
    lap_mm: float = 100.0  # of membranes
    roll_width_mm: float = 1500.0
    roll_length_m: float = 50.0  # where the list states no contents
    sheets_m: tuple[tuple[float, float], ...] = SHEETS_M


COMMON = CountingPractice()


@dataclass(frozen=True)
class Pieces:
    """Equal pieces of timber. spliced: of several, where the stock is shorter (each joint on a stud)."""

    what: str
    length_mm: float
    count: int
    splice_mm: float = 0.0  # joints lie on multiples of this; 0: in one piece or not at all


@dataclass(frozen=True)
class Counted:
    """What one framed layer holds: pieces to cut, metres that no length is known of, and what the score has of each."""

    pieces: tuple[Pieces, ...]
    loose_m: dict[str, float]
    score_m: dict[str, float]  # by the same words [m], from the shares of the area

    def metres(self, what: str) -> float:
        cut = math.fsum(each.count * each.length_mm for each in self.pieces if each.what == what) / 1000
        return cut + self.loose_m.get(what, 0.0)


@dataclass(frozen=True)
class Placed:
    """A wall round a house: every layer with its runs."""

    wall: BuildUp
    house: House
    runs: tuple[tuple[Run, ...], ...]  # by layer
    outer_m: tuple[float, ...]  # from the wall's outer face to that of each layer [m]

    @property
    def area_m2(self) -> float:
        """Outer faces less openings: what the score's figures per m2 are taken times."""
        return float(self.house.wall_area(self.wall.thickness_mm / 1000))

    def gross(self, layer: int) -> float:
        """Area of a layer as built, openings included [m2]."""
        return math.fsum(each.length for each in self.runs[layer]) * self.house.height_m

    def net(self, layer: int) -> float:
        """The same less openings [m2]."""
        return max(self.gross(layer) - self.house.openings_total_m2, 0.0)


def placed(wall: BuildUp, brief: Brief) -> Placed:
    """Every layer's runs round the brief's house. InputError where there is no house or such walls meet in it."""
    if brief.house is None:
        raise InputError("the brief has no [house]: what a house takes cannot be counted without its outline")
    thickness, outer, layer_runs, faces = wall.thickness_mm / 1000, 0.0, [], []
    for layer in wall.layers:
        depth = layer.thickness_mm / 1000
        layer_runs.append(runs(brief.house, thickness, outer, depth))
        faces.append(outer)
        outer = round(outer + depth, 9)
    return Placed(wall, brief.house, tuple(layer_runs), tuple(faces))


def bears(wall: BuildUp, layer: int) -> bool:
    """Whether a layer's members are studs between plates; battens otherwise."""
    frame = wall.layers[layer].frame
    upright = frame is not None and frame.axis == "vertical"
    return upright and (wall.layers[layer].role in STUDS or frame.extra_fraction > 0)


def slotted(wall: BuildUp) -> dict[int, tuple[int, ...]]:
    """Layers that ties pass through on their way to the studs, by the layer of the ties; indices of layers."""
    slots = {}
    for at in (at for at, layer in enumerate(wall.layers) if layer.tie is not None):
        framed = [
            n for n, layer in enumerate(wall.layers) if layer.frame is not None and layer.frame.axis == "vertical"
        ]
        outer = max((n for n in framed if n < at), default=at)
        inner = min((n for n in framed if n > at), default=at)
        between = tuple(n for n in range(outer + 1, inner) if n != at and wall.layers[n].thickness_mm)
        if between:
            slots[at] = between
    return slots


def stud_height(storey: float, frame: Frame, framing: Framing) -> float:
    """Length of the studs of a storey [m]: its height less the plates, which lie flat."""
    clear = storey - framing.plates * (frame.width_mm or 0) / 1000
    if clear <= 0:
        raise InputError(f"a storey {storey:g} m high leaves no room for studs between {framing.plates} plates")
    return clear


def timber(at: Placed, layer: int, framing: Framing, practice: CountingPractice = COMMON) -> Counted:
    """The members of a framed layer, counted. A frame given by its share alone is metres, not pieces."""
    frame = at.wall.layers[layer].frame
    if frame.fraction is not None:
        return Counted((), {"members": 0.0}, {"members": 0.0})
    if bears(at.wall, layer):
        return _frame(at, layer, frame, framing, practice)
    return _battens(at, layer, frame)


def _frame(at: Placed, layer: int, frame: Frame, framing: Framing, practice: CountingPractice) -> Counted:
    width, spacing = frame.width_mm / 1000, frame.spacing_mm / 1000
    pieces: list[Pieces] = []
    for _, height, run in by_storey(at.runs[layer], at.house):
        count = len(members_along(run.length, spacing, width))
        if not count:
            continue
        stud = round(stud_height(height, frame, framing) * 1000, 1)
        pieces += [Pieces("studs", stud, count), Pieces("corner studs", stud, practice.corner_studs)]
        pieces.append(Pieces("plates", round(run.length * 1000, 1), framing.plates, frame.spacing_mm))
        pieces += [
            Pieces("noggings", round(clear * 1000, 1), framing.nogging_rows)
            for clear in bays(run.length, spacing, width, practice.corner_studs)
        ]
    high = framing.height_mm / 1000
    area = at.area_m2
    plates, noggings = framing.plates / high, framing.nogging_rows / high * (1 - width / spacing)
    further = framing.further_fraction / width
    round_openings = frame.extra_fraction / width - plates - noggings - further
    score = {
        "studs": area / spacing,
        "corner studs": area * further,
        "plates": area * plates,
        "noggings": area * noggings,
    }
    score["round openings"] = area * round_openings
    loose = {"round openings": at.net(layer) * framing.openings_fraction / width}
    return Counted(_joined(pieces), loose, score)


def _battens(at: Placed, layer: int, frame: Frame) -> Counted:
    width, spacing = frame.width_mm / 1000, frame.spacing_mm / 1000
    pieces = []
    for _, height, run in by_storey(at.runs[layer], at.house):
        if frame.axis == "vertical":
            count = len(members_along(run.length, spacing, width))
            pieces.append(Pieces("battens", round(height * 1000, 1), count, splice_mm=1.0))  # on a stud all along
        else:
            rows = len(members_along(height, spacing, width))
            along = next((each.spacing_mm for each in _uprights(at.wall, layer)), frame.spacing_mm)
            pieces.append(Pieces("battens", round(run.length * 1000, 1), rows, along))
    return Counted(_joined(pieces), {}, {"battens": at.area_m2 * (1 / spacing + frame.extra_fraction / width)})


def _uprights(wall: BuildUp, layer: int) -> list[Frame]:
    """The upright frames with a spacing, those nearest to a layer first: battens across them are joined on them."""
    order = sorted(range(len(wall.layers)), key=lambda each: abs(each - layer))
    frames = [wall.layers[each].frame for each in order if each != layer]
    return [each for each in frames if each is not None and each.axis == "vertical" and each.spacing_mm]


def _joined(pieces: Sequence[Pieces]) -> tuple[Pieces, ...]:
    """Equal pieces together; those of no length or number left out. In the order they were first met."""
    counts: dict[tuple[str, float, float], int] = {}
    for each in pieces:
        key = (each.what, each.length_mm, each.splice_mm)
        counts[key] = counts.get(key, 0) + each.count
    return tuple(Pieces(what, mm, n, splice) for (what, mm, splice), n in counts.items() if n and mm > 0)


def tie_rows(height: float, tie: Tie) -> int:
    """Rows of ties along studs of a height [m]: floor(height / vertical spacing) + 1."""
    return math.floor(height / (tie.vertical_spacing_mm / 1000) + 1e-9) + 1


def ties(at: Placed, layer: int, framing: Framing, only: tuple[int, int] | None = None) -> int:
    """Tie plates of a layer: on every line with a stud on both sides, floor(height / vertical spacing) + 1 a storey.

    only: the run and storey (from 1) that are counted; all where None.
    """
    tie = at.wall.layers[layer].tie
    outer, inner = tie_frames(at.wall.layers, layer)
    numbers = [next(n for n, each in enumerate(at.wall.layers) if each.frame is frame) for frame in (outer, inner)]
    total = 0
    for storey, height in enumerate(heights(at.house), 1):
        rows = tie_rows(stud_height(height, outer, framing), tie)
        for each in zip(*(at.runs[number] for number in numbers), strict=True):
            if only not in (None, (each[0].number, storey)):
                continue
            lines = [
                len(members_along(run.length, frame.spacing_mm / 1000, frame.width_mm / 1000))
                for run, frame in zip(each, (outer, inner), strict=True)
            ]
            total += rows * min(lines)
    return total


def cut_lengths(pieces: Pieces, stock_mm: Sequence[float]) -> dict[float, int]:
    """The lengths that equal pieces are cut in [mm] -> number: whole, or spliced on studs where no stock is as long.

    InputError where they may not be spliced.
    """
    longest = max(stock_mm)
    if pieces.length_mm <= longest + 1e-6:
        return {pieces.length_mm: pieces.count}
    if not pieces.splice_mm:
        raise InputError(
            f"{pieces.what} of {pieces.length_mm:g} mm: longer than the longest stock, {longest:g} mm, and in one piece"
        )
    step = math.floor(longest / pieces.splice_mm + 1e-9) * pieces.splice_mm or longest
    whole = math.ceil(pieces.length_mm / step - 1e-9) - 1
    rest = round(pieces.length_mm - whole * step, 1)
    lengths = {step: whole * pieces.count}
    lengths[rest] = lengths.get(rest, 0) + pieces.count
    return lengths


def sheet_size(contents: float, practice: CountingPractice = COMMON) -> tuple[float, float] | None:
    """Width and length [m] of the usual sheet of that area [m2]; None where none is usual."""
    return next((each for each in practice.sheets_m if math.isclose(each[0] * each[1], contents, rel_tol=2e-3)), None)


def sheets_laid(at: Placed, layer: int, size: tuple[float, float]) -> int:
    """Sheets of a size [m] for a layer, upright, each run begun with a new one: columns, and strips above them.

    Of the strips as many are cut from a sheet as it holds; whole sheets are spared by the openings' area.
    """
    width, length = size
    whole, strips = 0, {}
    for _, height, run in by_storey(at.runs[layer], at.house):
        columns = math.ceil(run.length / width - 1e-9)
        full = math.floor(height / length + 1e-9)
        whole += columns * full
        left = round(height - full * length, 6)
        if left > 0:
            strips[left] = strips.get(left, 0) + columns
    cut = sum(math.ceil(count / math.floor(length / left + 1e-9)) for left, count in strips.items())
    return whole + cut - math.floor(at.house.openings_total_m2 / (width * length))


def joints(
    at: Placed, layer: int, membrane: bool, size: tuple[float, float] | None, practice: CountingPractice
) -> float:
    """Joints of an airtight layer [m]: laps between courses or sheets, and the edges above and below each storey.

    Those round openings are not among them, as only the openings' area is known.
    """
    total = 0.0
    for _, height, run in by_storey(at.runs[layer], at.house):
        total += 2 * run.length
        if membrane:
            lap, wide = practice.lap_mm / 1000, practice.roll_width_mm / 1000
            total += (math.ceil((height - lap) / (wide - lap) - 1e-9) - 1) * run.length
        elif size is not None:
            total += math.ceil(run.length / size[0] - 1e-9) * height
            total += max(math.ceil(height / size[1] - 1e-9) - 1, 0) * run.length
    return total


def laps(practice: CountingPractice, roll_m: float) -> float:
    """Membrane bought over membrane seen [-]: one lap along every roll and one at its end."""
    lap, wide = practice.lap_mm / 1000, practice.roll_width_mm / 1000
    return wide / (wide - lap) * roll_m / (roll_m - lap)
