"""The filling sheet for the installer: every chamber of blown fill with its size, target density, mass and bags.

The model is that of the check (`checks/fill/voids.py`): neighbouring layers of one loose fill are one void; its height
between the plates is broken into equal parts no higher than the brief's chambers; its density is that of the whole
depth. Between studs that close the void's whole depth every bay is a chamber. Where the void runs on from bay to bay
(a gap between the frames, staggered studs, other spacings), the chamber is the whole run from corner to corner.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from materials.errors import InputError

from ...brief.brief import Brief
from ...checks.fill.voids import Void, voids_of
from ...checks.fill.voids import needs as needs_of
from ...fill import practice as fill
from ...wall.assemble import batch_of, parts_of
from ...wall.buildup import BuildUp, Frame, Layer
from ..pieces.counting import COMMON, CountingPractice, Placed, placed, stud_height, ties
from ..pieces.runs import Run, bays, by_storey, members_along, openings

HOSE = (
    "Fill from the bottom up: lead the hose to the bottom of the chamber, draw it up as the fill packs, and close the "
    "hole behind it. Keep others out of the dust. Weigh or count what goes into each chamber."
)
KEY = (
    "F void, from outside; W run of wall, in the order of the outline; S storey, from below; B bay along the run (none "
    "where the chamber is the whole run); C part, from the bottom"
)
MODEL = (
    "Chambers: every bay where studs close the void's whole depth; the whole run between two corners where the void "
    "runs on from bay to bay. A run ends at its corners with a break of cloth or board. Parts of a bay that is higher "
    "than a chamber may be are parted by a break at each height given. Volumes are net of studs, plates, noggings and "
    "ties; openings are known by their area only and spread evenly: correct what is not so (0 in a bay without)."
)


@dataclass(frozen=True)
class Chamber:
    """One chamber as printed; figures rounded as the sheet shows them.

    face: of the wall that it stands for [m2]; opening: of openings expected in it [m2]; volume: without openings [m3];
    kg and bags: for the volume less the openings'; kg_whole: were there none.
    """

    key: str
    order: int
    void: int  # from 1, outside first
    fill: str
    run: int
    faces: str
    storey: int
    bay: int  # 0: the whole run
    part: int  # from the bottom
    parts: int
    width_mm: float
    depth_mm: float
    height_mm: float
    face_m2: float
    opening_m2: float
    volume_m3: float
    density_kg_m3: float
    kg: float
    bags: float
    kg_whole: float

    @property
    def sizes(self) -> tuple[float, ...]:
        """What the sheet coming back must not have changed: depth, face, volume, density."""
        return self.depth_mm, self.face_m2, self.volume_m3, self.density_kg_m3

    @property
    def broken(self) -> str:
        """Where the chamber ends, in words; what no hose reaches into is said here, where the installer looks."""
        if self.width_mm < 1000 * fill.COMMON.narrowest:
            return "too narrow for a hose: pack by hand"
        if self.parts == 1:
            return "plate to plate"
        low, high = ("plate" if self.part == 1 else "break"), ("plate" if self.part == self.parts else "break")
        at = f", break at {self.part * self.height_mm:.0f} mm" if high == "break" else ""
        return f"{low} to {high}{at}"


def net_volume(volume: float, face: float, opening: float) -> float:
    """Volume [m3] of a chamber less its openings: by their share of its face."""
    return volume * max(1.0 - opening / face, 0.0)


@dataclass(frozen=True)
class Ordered:
    """What the order brings of a fill: packs (None where it is sold by the unit), and the order in words."""

    fill: str
    packs: int | None
    words: str


@dataclass(frozen=True)
class FillTotal:
    """One fill over all its chambers. bags: whole ones; words: those of the order, whose bags they are; or ''."""

    fill: str
    kg: float
    bags: int
    words: str


@dataclass(frozen=True)
class FillingSheet:
    """The whole sheet. digest: of the build-up; fills: what each void is filled with; layers: their numbers by void."""

    wall: str
    digest: str
    bag_kg: float
    fills: tuple[str, ...]
    layers: tuple[tuple[int, ...], ...]
    chambers: tuple[Chamber, ...]
    cautions: tuple[str, ...]
    score_kg: tuple[float, ...]  # by void, from the kg per m2 that the wall is judged with
    model: str = ""  # how chambers and volumes come about
    ordered: tuple[Ordered, ...] = ()  # by fill, where there is an order
    refused: tuple[str, ...] = ()  # why a void cannot be filled, where one cannot
    volume_by_layer: tuple[tuple[int, float], ...] = ()  # layer number (from 1), net of openings [m3]

    @property
    def kg(self) -> float:
        return math.fsum(each.kg for each in self.chambers)

    @property
    def totals(self) -> tuple[FillTotal, ...]:
        """By fill, outside first: what is left of a bag goes into the next chamber of the same fill."""
        orders, fill_totals = {each.fill: each for each in self.ordered}, []
        for name in dict.fromkeys(self.fills):
            kg = math.fsum(each.kg for each in self.chambers if each.fill == name)
            order = orders.get(name)
            packs = None if order is None else order.packs
            bags = math.ceil(kg / self.bag_kg - 1e-9) if packs is None else packs
            fill_totals.append(FillTotal(name, kg, bags, "" if order is None else order.words))
        return tuple(fill_totals)

    @property
    def bags(self) -> int:
        """Whole bags of all fills."""
        return sum(each.bags for each in self.totals)

    @property
    def given(self) -> dict[str, str]:
        """What each chamber's printed sizes are held to when the sheet comes back: a mark by chamber."""
        return {each.key: chamber_mark(self.digest, self.bag_kg, each.key, *each.sizes) for each in self.chambers}

    def kg_of(self, void: int) -> float:
        return math.fsum(each.kg for each in self.chambers if each.void == void)


def digest_of(wall: BuildUp) -> str:
    """A mark of a build-up's layers and materials, however it was read; letters, so that no spreadsheet alters it."""
    fields = wall.model_dump(
        mode="json", by_alias=True, exclude={"name", "conditions", "loads", "corrections", "framing"}
    )
    used = {each for layer in wall.layers for each in _materials(layer)}
    fields["materials"] = {
        key: {name: value for name, value in material.items() if name != "sources"}
        for key, material in fields["materials"].items()
        if key in used
    }
    return mark(fields)


def _materials(layer: Layer) -> list[str]:
    return [layer.material, *(each.material for each in (layer.frame, layer.tie) if each)]


def mark(value: object) -> str:
    """Twelve letters that stand for a value, numbers to nine digits."""
    text = json.dumps(_steady(value), sort_keys=True, separators=(",", ":"))
    digits = hashlib.sha256(text.encode("utf-8")).hexdigest()[:12]
    return "".join("abcdefghijklmnop"[int(each, 16)] for each in digits)


def chamber_mark(digest: str, bag_kg: float, key: str, *sizes: float) -> str:
    """The mark of one row of a sheet: of the build-up, the bag, the chamber and its sizes."""
    return mark([digest, bag_kg, key, *sizes])


def _steady(value: object) -> object:
    if isinstance(value, dict):
        return {key: _steady(each) for key, each in value.items() if each is not None}
    if isinstance(value, list | tuple):
        return [_steady(each) for each in value]
    return f"{value:.9g}" if isinstance(value, int | float) and not isinstance(value, bool) else value


def filling_sheet(
    wall: BuildUp, brief: Brief, practice: CountingPractice = COMMON, wall_id: str | None = None
) -> FillingSheet:
    """The sheet of a wall round the brief's house; no chambers where nothing is blown in.

    InputError where the brief has no house, or no density is known of a fill.
    """
    at = placed(wall, brief)
    parts = parts_of(wall)
    voids = voids_of(wall, parts, batch_of(wall, parts))
    for each in voids:
        if each.density <= 0:
            number = each.layers[0]
            raise InputError(f"layer {number + 1} ({wall.layers[number].role}): no density is known of its fill")
    chambers: list[Chamber] = []
    volumes: dict[int, float] = {}
    refused: list[str] = []
    for number, void in enumerate(voids, 1):
        chambers += _chambers(at, brief, number, void, practice, volumes, refused)
    chambers.sort(key=lambda each: (each.storey, each.void, each.run, each.bay, each.part))
    fills = fill_names(wall, voids)
    return FillingSheet(
        wall=wall_id or wall.name,
        digest=digest_of(wall),
        bag_kg=brief.filling.bag_kg,
        fills=fills,
        layers=tuple(tuple(n + 1 for n in each.layers) for each in voids),
        chambers=tuple(replace(each, order=n, fill=fills[each.void - 1]) for n, each in enumerate(chambers, 1)),
        cautions=(fill.CAUTION, HOSE) if voids else (),
        model=MODEL if voids else "",
        score_kg=tuple(each.density * each.volume * at.area_m2 for each in voids),
        refused=tuple(dict.fromkeys(refused)),
        volume_by_layer=tuple(sorted(volumes.items())),
    )


def fill_names(wall: BuildUp, voids: list[Void]) -> tuple[str, ...]:
    """What each void is filled with; of two fills of one name, each with the product or material that it is."""
    names = [_fill(wall, each) for each in voids]
    alike = {name: {key for other, key in names if other == name} for name, _ in names}
    return tuple(name if len(alike[name]) == 1 else f"{name}, {key}" for name, key in names)


def _fill(wall: BuildUp, void: Void) -> tuple[str, str]:
    """Name of a void's fill, and what tells it from others of that name."""
    layer = wall.layers[void.layers[0]]
    return wall.of(layer.material).name, layer.product if isinstance(layer.product, str) else layer.material


def _chambers(
    at: Placed,
    brief: Brief,
    number: int,
    void: Void,
    practice: CountingPractice,
    volumes: dict[int, float],
    refused: list[str],
) -> Iterator[Chamber]:
    """The chambers of one void. volumes: by layer, added to; refused: words of what the check refuses, added to."""
    outer = at.runs[void.layers[0]]
    given = openings(at.house, outer)
    for storey, height, run in by_storey(outer, at.house):
        if run.length <= 0:
            continue
        by_layer = {
            layer: max(_volume(at, brief, layer, run.number, storey, height, practice), 0.0) for layer in void.layers
        }
        clear = _clear_height(at, brief, void, height)
        needs = needs_of([void], clear, brief.filling)
        if (reason := needs.reason()) is not None:
            refused.append(f"void {number}: {reason}")
        face = run.length * height
        opening = given[run.number] * height / at.house.height_m
        for layer, volume in by_layer.items():
            volumes[layer + 1] = volumes.get(layer + 1, 0.0) + net_volume(volume, face, opening)
        density, count = float(needs.density[0]), int(needs.chambers[0])
        spaces = _spaces(at, void, run, practice)
        whole = math.fsum(spaces)
        for bay, width in enumerate(spaces, 1):
            share = width / whole / count
            sizes = (width, void.depth, float(needs.chamber_height[0]))
            amounts = (share * face, share * opening, share * math.fsum(by_layer.values()), density)
            for part in range(1, count + 1):
                place = (number, run.number, run.orientation, storey, bay if len(spaces) > 1 else 0, part, count)
                yield _chamber(place, sizes, amounts, brief.filling.bag_kg)


def _chamber(place: tuple, sizes: tuple, amounts: tuple, bag_kg: float) -> Chamber:
    """One chamber, rounded as it is printed; mass upwards, so that it is never below the settling limit."""
    void, run, faces, storey, bay, part, parts = place
    face, opening, volume = round(amounts[0], 4), round(amounts[1], 4), round(amounts[2], 5)
    density = round(amounts[3], 2)
    kg = _upwards(density * net_volume(volume, face, opening))
    where = [f"F{void}", f"W{run}", f"S{storey}", f"B{bay}" if bay else "", f"C{part}"]
    return Chamber(
        key="-".join(each for each in where if each),
        order=0,
        void=void,
        fill="",
        run=run,
        faces=faces,
        storey=storey,
        bay=bay,
        part=part,
        parts=parts,
        width_mm=round(sizes[0] * 1000, 1),
        depth_mm=round(sizes[1] * 1000, 1),
        height_mm=round(sizes[2] * 1000, 1),
        face_m2=face,
        opening_m2=opening,
        volume_m3=volume,
        density_kg_m3=density,
        kg=kg,
        bags=_upwards(kg / bag_kg),
        kg_whole=_upwards(density * volume),
    )


def _upwards(kg: float) -> float:
    return math.ceil(round(kg * 100, 6)) / 100


def _frames(at: Placed, void: Void) -> list[tuple[int, Frame]]:
    return [(layer, at.wall.layers[layer].frame) for layer in void.layers if at.wall.layers[layer].frame]


def _closed(at: Placed, void: Void) -> bool:
    """Whether studs close the void's whole depth: a frame in every layer, all upright and on one line."""
    frames = [frame for _, frame in _frames(at, void)]
    if len(frames) < len(void.layers) or any(each.fraction is not None for each in frames):
        return False
    lines = {(each.axis, each.spacing_mm, each.offset_mm % each.spacing_mm) for each in frames}
    return len(lines) == 1 and frames[0].axis == "vertical"


def _spaces(at: Placed, void: Void, run: Run, practice: CountingPractice) -> tuple[float, ...]:
    """Clear widths [m] of the chambers of a run: its bays, or the run as a whole."""
    if not _closed(at, void):
        return (run.length,)
    frame = _frames(at, void)[0][1]
    clear = bays(run.length, frame.spacing_mm / 1000, frame.width_mm / 1000, practice.corner_studs)
    return clear or (run.length,)


def _clear_height(at: Placed, brief: Brief, void: Void, height: float) -> float:
    """Height of a void between the plates [m]; the storey's where no frame stands in it."""
    frames = [frame for _, frame in _frames(at, void) if frame.axis == "vertical"]
    return min((stud_height(height, each, brief.framing) for each in frames), default=height)


def _volume(
    at: Placed, brief: Brief, layer: int, run: int, storey: int, height: float, practice: CountingPractice
) -> float:
    """What is left of a layer in one run and storey between its members [m3], openings not yet taken off."""
    depth = at.wall.layers[layer].thickness_mm / 1000
    length = at.runs[layer][run - 1].length
    face = length * height
    frame, tie = at.wall.layers[layer].frame, at.wall.layers[layer].tie
    if tie is not None:
        number = ties(at, layer, brief.framing, only=(run, storey))
        face -= number * tie.thickness_mm * tie.height_mm * 1e-6
    elif frame is not None and frame.fraction is not None:
        face *= 1 - frame.fraction
    elif frame is not None and frame.axis == "vertical":
        face = _between_studs(length, height, frame, brief, practice)
    elif frame is not None:
        rows = len(members_along(height, frame.spacing_mm / 1000, frame.width_mm / 1000))
        face -= rows * length * frame.width_mm / 1000
    return face * depth


def _between_studs(length: float, height: float, frame: Frame, brief: Brief, practice: CountingPractice) -> float:
    """Face [m2] of a frame that is neither stud, plate, nogging nor member round an opening."""
    width, spacing = frame.width_mm / 1000, frame.spacing_mm / 1000
    stud = stud_height(height, frame, brief.framing)
    count = len(members_along(length, spacing, width))
    if not count:
        return 0.0
    clear = bays(length, spacing, width, practice.corner_studs)
    noggings = brief.framing.nogging_rows * width * math.fsum(clear)
    studs = (count + practice.corner_studs) * width
    return (length - studs) * stud - noggings - brief.framing.openings_fraction * length * height
