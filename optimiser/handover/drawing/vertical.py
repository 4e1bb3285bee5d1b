"""The section upright through a bay of a wall, one storey high: plates, noggings, ties, battens cut, chamber breaks.

In the terms of `plan.Plan`: x from outside to inside, y from the top of the storey down [mm]. Plates, ties and battens
stand where the take-off counts them: plates as thick as the studs are wide, ties every vertical spacing from the sole
plate up with one under the top plates, battens from the foot of the wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from ...brief.brief import Brief, Framing
from ...checks.fill.demand import FillDemand
from ...checks.fill.voids import practice
from ...fill.practice import needs
from ...template import BATTENS, CLADDING
from ...wall.buildup import BuildUp
from ..pieces.counting import bears, stud_height
from ..pieces.runs import heights, members_along
from .plan import ChamberBreak, Member, Plan, PlanLayer, Span, control_lines, geometry, laid, plan
from .svg import millimetres

ASSUMED = Framing(height_mm=2700.0, plates=3)  # where no brief says more: common practice
BATTENED = (*BATTENS, CLADDING)  # whose upright members run past the plates
PAD_MM = 60.0  # what is shown beyond what is cut, where the height is shortened


@dataclass(frozen=True)
class Storey:
    """What a brief says of the height of a wall [mm]; demand: of the chambers of a blown fill."""

    height: float
    framing: Framing
    demand: FillDemand
    given: bool  # by a brief

    @property
    def sole(self) -> int:
        """Plates at the foot: one of all there are."""
        return min(self.framing.plates, 1)


def storey_of(brief: Brief | None) -> Storey:
    """The lowest storey of the brief's house; without a house its framing height, without a brief common practice."""
    if brief is None:
        return Storey(ASSUMED.height_mm, ASSUMED, FillDemand(), given=False)
    height = round(heights(brief.house)[0] * 1000, 6) if brief.house is not None else brief.framing.height_mm
    return Storey(height, brief.framing, brief.filling, given=True)


def vertical(wall: BuildUp, brief: Brief | None = None, detail: int = 0) -> Plan:
    """Lay the upright section out. detail: 0 whole; 1 shortened to plates, noggings, ties and the lowest battens; 2
    shortened to foot and head with a tie each, and the chamber breaks.

    InputError where the storey leaves no room between the plates.
    """
    storey, layers = storey_of(brief), laid(wall)
    frames = [_Frame(place, storey) for place in layers if _stands(wall, place) and _sized(place)]
    plates = [each for frame in frames for each in frame.plates()]
    noggings = [each for frame in frames for each in frame.noggings()]
    battens = [each for place in layers for each in _battens(place, storey.height)]
    ties = [each for place in layers for each in _ties(wall, place, frames, storey)]
    voids = _voids(wall, layers, frames, storey)
    breaks = [each for void in voids for each in void.breaks()]
    members = [*plates, *noggings, *battens]
    few = [plates, [each for each in ties if each.y0 in (ties[0].y0, ties[-1].y0)]]
    wanted = few if detail > 1 else [plates, ties, noggings, *(_lowest(place, battens) for place in layers)]
    places = [(each.y0, each.y1) for group in wanted for each in group] + [(each.y, each.y) for each in breaks]
    windows = [(0.0, storey.height)] if detail == 0 else _windows(places, members, storey.height)
    spans = (*_tie_spans(ties), *_batten_spans(layers, battens), *_frame_spans(frames, voids, storey))
    return Plan(
        layers,
        members,
        ties,
        windows,
        *control_lines(wall, layers),
        spans=(*spans, Span(0.0, storey.height, "storey", "storey ")),
        view="vertical",
        breaks=tuple(breaks),
        behind=tuple(each.number for each in layers if _upright(each) and not _stands(wall, each)),
        notes=tuple(_notes(wall, layers, storey, ties, noggings, len(windows) > 1)),
    )


@dataclass(frozen=True)
class _Frame:
    """One frame between its plates."""

    place: PlanLayer
    storey: Storey

    @property
    def thick(self) -> float:
        """Of a plate [mm]: as the studs are wide."""
        return self.place.layer.frame.width_mm

    @property
    def clear(self) -> float:
        """Length of the studs [mm]."""
        return round(stud_height(self.storey.height / 1000, self.place.layer.frame, self.storey.framing) * 1000, 6)

    @property
    def top(self) -> float:
        """The upper end of the studs [mm from the top of the storey]."""
        return (self.storey.framing.plates - self.storey.sole) * self.thick

    def plates(self) -> list[Member]:
        uppers = [index * self.thick for index in range(self.storey.framing.plates - self.storey.sole)]
        feet = [self.storey.height - self.thick] * self.storey.sole
        return [self._member(y, continuous=True) for y in (*uppers, *feet)]

    def noggings(self) -> list[Member]:
        """Rows at equal distances between the plates."""
        rows = self.storey.framing.nogging_rows
        step = self.clear / (rows + 1)
        return [self._member(self.top + step * (row + 1) - self.thick / 2, continuous=False) for row in range(rows)]

    def _member(self, y: float, continuous: bool) -> Member:
        return Member(self.place.number, self.place.x0, self.place.x1, y, y + self.thick, continuous)


def _upright(place: PlanLayer) -> bool:
    return place.layer.frame is not None and place.layer.frame.axis == "vertical"


def _stands(wall: BuildUp, place: PlanLayer) -> bool:
    """Whether a layer's members are studs between plates."""
    return bears(wall, place.number - 1) or (_upright(place) and place.layer.role not in BATTENED)


def _sized(place: PlanLayer) -> bool:
    """Whether the width of a frame's members is known, and so how thick its plates are."""
    return place.layer.frame.fraction is None


def _battens(place: PlanLayer, height: float) -> list[Member]:
    """Members along the wall, cut."""
    frame = place.layer.frame
    if frame is None or frame.axis != "horizontal":
        return []
    width, spacing, _ = geometry(frame)
    feet = [round(each * 1000, 6) for each in members_along(height / 1000, spacing / 1000, width / 1000)]
    return [Member(place.number, place.x0, place.x1, height - foot - width, height - foot) for foot in feet[::-1]]


def _ties(wall: BuildUp, place: PlanLayer, frames: list[_Frame], storey: Storey) -> list[Member]:
    """Tie plates behind the cut, on the next line of studs; none where no line has a stud on both sides."""
    tie = place.layer.tie
    across = next((each for each in plan(wall, 1.0).ties if each.layer == place.number), None)
    outer = next((each for each in reversed(frames) if each.place.number < place.number), None)
    if tie is None or across is None or outer is None:
        return []
    rows = math.floor(outer.clear / tie.vertical_spacing_mm + 1e-9) + 1
    foot, head = storey.height - storey.sole * outer.thick, outer.top
    lows = [max(foot - row * tie.vertical_spacing_mm - tie.height_mm, head) for row in range(rows)]
    by_height = {y: Member(place.number, across.x0, across.x1, y, y + tie.height_mm) for y in lows}
    return [by_height[y] for y in sorted(by_height)]


@dataclass(frozen=True)
class _Void:
    """Neighbouring layers of one loose fill, blown full as one. top, clear: where it begins and how high it is [mm]."""

    places: tuple[PlanLayer, ...]
    top: float
    clear: float
    chambers: int

    @property
    def edges(self) -> list[float]:
        """Where its chambers begin and end [mm from the top of the storey]."""
        return [self.top + self.clear * part / self.chambers for part in range(self.chambers + 1)]

    def breaks(self) -> list[ChamberBreak]:
        numbers = tuple(each.number for each in self.places)
        return [ChamberBreak(numbers, self.places[0].x0, self.places[-1].x1, y) for y in self.edges[1:-1]]


def _voids(wall: BuildUp, layers: list[PlanLayer], frames: list[_Frame], storey: Storey) -> list[_Void]:
    """The voids, each broken into equal chambers between the plates that come closest."""
    runs: list[list[PlanLayer]] = [[]]
    for place in layers:
        loose = wall.of(place.layer.material).kind == "loose fill" and not place.thin
        if not loose or (runs[-1] and runs[-1][0].layer.material != place.layer.material):
            runs.append([])
        if loose:
            runs[-1].append(place)
    voids = []
    for run in filter(None, runs):
        lowest = min((each for each in frames if each.place in run), key=lambda each: each.clear, default=None)
        top, clear = (lowest.top, lowest.clear) if lowest else (0.0, storey.height)
        count = int(needs(0.0, 0.0, clear / 1000, 0.0, 1.0, practice(storey.demand)).chambers[0])
        voids.append(_Void(tuple(run), top, clear, count))
    return voids


def _lowest(place: PlanLayer, battens: list[Member]) -> list[Member]:
    """The two lowest battens of a layer, with the spacing between them."""
    return [each for each in battens if each.layer == place.number][-2:]


def _windows(places: list[tuple[float, float]], members: list[Member], height: float) -> list[tuple[float, float]]:
    """Stretches of the height that show those places, head and foot, and cut no member in two."""
    wanted = [(0.0, PAD_MM), (height - PAD_MM, height), *places]
    windows = [(max(low - PAD_MM, 0.0), min(high + PAD_MM, height)) for low, high in sorted(wanted)]
    while True:
        grown = []
        for low, high in windows:
            crossing = [each for each in members if each.y0 < high and each.y1 > low]
            low = min([low, *(max(each.y0 - 5.0, 0.0) for each in crossing if each.y0 < low)])
            high = max([high, *(min(each.y1 + 5.0, height) for each in crossing if each.y1 > high)])
            if grown and low <= grown[-1][1] + PAD_MM:
                grown[-1] = (grown[-1][0], max(grown[-1][1], high))
            else:
                grown.append((low, high))
        if grown == windows:
            return windows
        windows = grown


def _middles(members: list[Member]) -> list[float]:
    return sorted({(each.y0 + each.y1) / 2 for each in members})


def _steps(places: list[float], column: str, caption: str) -> list[Span]:
    """The distances between neighbours."""
    return [Span(low, high, column, caption=caption) for low, high in pairwise(places)]


def _tie_spans(ties: list[Member]) -> list[Span]:
    return [
        span
        for number in sorted({each.layer for each in ties})
        for span in _steps(
            _middles([each for each in ties if each.layer == number]), f"ties {number}", f"{number}: ties "
        )
    ]


def _batten_spans(layers: list[PlanLayer], battens: list[Member]) -> list[Span]:
    spans: list[Span] = []
    for place in layers:
        places = _middles([each for each in battens if each.layer == place.number])
        spans += _steps(places, f"battens {place.number}", f"{place.number}: battens ")
    return spans


def _frame_spans(frames: list[_Frame], voids: list[_Void], storey: Storey) -> list[Span]:
    """Plates and studs of every frame that differs, noggings and chambers."""
    spans: list[Span] = []
    for thick in sorted({each.thick for each in frames}, reverse=True):
        alike = [each for each in frames if each.thick == thick]
        column = f"{' and '.join(str(each.place.number) for each in alike)}: "
        one = alike[0]
        plates = [Span(each.y0, each.y1, column) for each in one.plates()]
        spans += [*plates, Span(one.top, one.top + one.clear, column, f"{column}studs ")]
        rows = _middles(one.noggings())
        spans += _steps([*rows, storey.height], f"noggings {column}", f"{column}nogging ") if rows else []
    for void in voids:
        numbers = [each.number for each in void.places]
        label = " and ".join(map(str, numbers)) if len(numbers) < 3 else f"{numbers[0]} to {numbers[-1]}"
        spans += _steps(void.edges, f"chambers {numbers[0]}", f"{label}: chamber ")
    return spans


def _notes(
    wall: BuildUp, layers: list[PlanLayer], storey: Storey, ties: list[Member], noggings: list[Member], short: bool
) -> list[str]:
    """What must be said of this cut in words."""
    head = storey.framing.plates - storey.sole
    plate_words = f"{storey.sole} sole plate and {head} top plate{'s' if head != 1 else ''} per frame"
    assumed = f"assumed, as no brief is given: storey {millimetres(storey.height)} mm, {plate_words}"
    notes = [plate_words if storey.given else assumed]
    for place in layers:
        if _stands(wall, place) and not _sized(place):
            notes.append(f"layer {place.number}: plates not drawn, its members are given as a share")
        tie = place.layer.tie
        if tie and any(each.layer == place.number for each in ties):
            most = millimetres(tie.vertical_spacing_mm)
            notes.append(
                f"layer {place.number}: tie plates behind the cut, at most {most} mm apart, from the sole plate up"
            )
        elif tie:
            notes.append(f"layer {place.number}: tie plates not on this cut")
    if noggings:
        notes.append("one diagonal: nogging between the studs")
    if any(wall.of(place.layer.material).kind == "loose fill" for place in layers):
        chambers = millimetres(storey.demand.chamber_height_mm)
        notes.append(f"blown fill: chambers no higher than {chambers} mm")
    if short:
        notes.append("height shortened at the break lines; the figures are true")
    return notes
