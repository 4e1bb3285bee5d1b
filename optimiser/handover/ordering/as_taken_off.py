"""The wall as taken off: the timber and ties that the order counts, and the U-value of the wall with them.

The search counts members by shares: studs at their spacing, plates, noggings and members round openings as the brief's
framing spreads them, a tie for every spacing of the studs and of the ties. The take-off counts pieces: studs at ends
and corners, plates of every storey, whole rows of ties. Here its counts go back into the build-up, `extra_fraction` of
a frame and `vertical_spacing_mm` of a tie, and the wall is judged as any other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from materials.errors import InputError

from ...brief.brief import Brief
from ...checks.judge import judge
from ...wall.assemble import batch_of, last_vented, parts_of
from ...wall.buildup import BuildUp, Frame, tie_frames
from ..pieces.counting import bears, stud_height, tie_rows
from ..pieces.runs import heights
from .take_off import TakeOff

SHARE_STEP, TIE_STEP, TARGET_STEP = 0.001, 5.0, 0.0005  # -, mm, W/m2K: to what a proposal is rounded
MOST_FURTHER = 0.4
TOLERANCE = 1e-9

THROUGHOUT = ("studs", "noggings", "battens", "ties")  # counted as if there were no openings: as dense beside them

FURTHER, TIE_SPACING, TARGET = "[framing] further_fraction", "[tie] vertical_spacing_mm", "[target] u_value"


@dataclass(frozen=True)
class CountedMembers:
    """The members of one layer: timber as a share of its face [-], or ties as a number per m2 of it.

    face_m2: the layer's own face, its runs from corner to corner times the storeys' heights, less openings; whole_m2:
    with them. counted: by item of the take-off, m2 of timber; of ties their number. What is counted throughout the
    whole face is as dense beside the openings; the rest stands in the face that is left. key: of the build-up, with
    what it holds and what it would hold as taken off; None for a frame given by its share, which counts as given.
    """

    layer: int  # number from 1, outside first
    role: str
    ties: bool
    face_m2: float
    whole_m2: float
    counted: tuple[tuple[str, float], ...]
    declared: float
    key: tuple[str, float, float] | None = None

    @property
    def taken(self) -> float:
        if not self.face_m2:
            return math.inf
        return math.fsum(
            value / (self.whole_m2 if self.throughout(what) else self.face_m2) for what, value in self.counted
        )

    @staticmethod
    def throughout(what: str) -> bool:
        """Whether an item is counted through the openings too."""
        return what in THROUGHOUT


@dataclass(frozen=True)
class CountedChange:
    """A key of the brief: what it holds, and with what the search counts the members that are ordered."""

    key: str
    now: float
    then: float


@dataclass(frozen=True)
class AsTakenOff:
    """A wall with what the order counts in it. U in W/m2K; None where the method refuses it, and `reason` says why.

    wall: the build-up with those counts. changes: of the brief, told where the target is missed.
    """

    name: str
    digest: str
    wall: BuildUp
    members: tuple[CountedMembers, ...]
    u_declared: float | None
    u_taken: float | None
    target: float | None
    reason: str | None = None
    changes: tuple[CountedChange, ...] = ()

    @property
    def missed(self) -> bool:
        """Whether the wall as taken off is known to miss the target."""
        return self.u_taken is not None and self.target is not None and self.u_taken > self.target


def as_taken_off(wall: BuildUp, brief: Brief, taken: TakeOff, target: float | None = None) -> AsTakenOff:
    """Feed the counts of a take-off back into its wall. target: U that is asked for [W/m2K].

    Members outside of a ventilated space take no part in U and are left out.
    """
    members = _members(wall, taken)
    counted = _counted(wall, members)
    declared, reason = _u_of(wall)
    crowded = _crowded(wall, members)
    u_taken, why = (None, crowded) if crowded else _u_of(counted)
    as_taken = AsTakenOff(taken.wall, taken.digest, counted, members, declared, u_taken, target, reason or why)
    if as_taken.missed and declared is not None:
        return replace(as_taken, changes=_changes(wall, brief, as_taken))
    return as_taken


# What is counted


def _members(wall: BuildUp, taken: TakeOff) -> tuple[CountedMembers, ...]:
    batch = batch_of(wall, parts_of(wall))
    members = []
    for at in range(last_vented(wall) + 1, len(wall.layers)):
        layer, face, whole = wall.layers[at], taken.faces_m2[at], taken.whole_faces_m2[at]
        items = [each for each in taken.items if each.layer == at + 1]
        if layer.tie is not None:
            number = float(sum(each.count or 0 for each in items if each.what == "ties"))
            spacing, given = tie_frames(wall.layers, at)[0].spacing_mm, layer.tie.vertical_spacing_mm
            key = ("vertical_spacing_mm", given, 1e6 * whole / (number * spacing)) if number else None
            members.append(
                CountedMembers(at + 1, layer.role, True, face, whole, (("ties", number),), 1e6 / (spacing * given), key)
            )
        elif layer.frame is not None:
            counted = tuple((each.what, each.face_m2) for each in items if each.face_m2)
            share = float(batch.member_of(at).fraction[0])
            timber = CountedMembers(at + 1, layer.role, False, face, whole, counted, share)
            members.append(replace(timber, key=_extra(layer.frame, timber)))
    return tuple(members)


def _extra(frame: Frame, timber: CountedMembers) -> tuple[str, float, float] | None:
    """What stands besides the studs at their spacing. Of a run too short for a stud none is counted: never below 0."""
    if frame.fraction is not None:
        return None
    return "extra_fraction", frame.extra_fraction, max(timber.taken - frame.width_mm / frame.spacing_mm, 0.0)


def _counted(wall: BuildUp, members: tuple[CountedMembers, ...]) -> BuildUp:
    """The build-up that holds what is counted."""
    layers = list(wall.layers)
    for each in members:
        layer = layers[each.layer - 1]
        part = "tie" if each.ties else "frame"
        if each.key is not None:
            key, _, value = each.key
            layer = layer.model_copy(update={part: getattr(layer, part).model_copy(update={key: value})})
        elif each.ties:
            layer = layer.model_copy(update={"tie": None})  # none are placed
        layers[each.layer - 1] = layer
    return wall.model_copy(update={"layers": tuple(layers)})


def _crowded(wall: BuildUp, members: tuple[CountedMembers, ...]) -> str | None:
    """Why what is counted makes no wall: nothing is left of a face, or ties stand closer than they are high."""
    for each in members:
        place = f"layer {each.layer} ({each.role})"
        if not each.face_m2:
            return f"{place}: the openings are as large as its own face"
        tie = wall.layers[each.layer - 1].tie
        if tie is not None and each.key is not None and each.key[2] < tie.height_mm:
            return f"{place}: the ties that are counted stand closer than they are high"
        if tie is None and each.taken >= 1:
            return f"{place}: the timber that is counted leaves no room between openings"
    return None


def _u_of(wall: BuildUp) -> tuple[float | None, str | None]:
    """U [W/m2K] as every wall is judged, or why there is none."""
    try:
        heat = judge(wall).heat
    except InputError as error:
        return None, str(error)
    return (None, heat.refused) if heat.refused else (heat.u_value, None)


# What the brief may say, so that the search counts it


def _changes(wall: BuildUp, brief: Brief, as_taken: AsTakenOff) -> tuple[CountedChange, ...]:
    """Ties as close as they come without another row; then the framing's further share of timber.

    Neither changes what the take-off counts. Where they do not suffice, a target that leaves room.
    """
    changes, tied = [], wall
    for at, layer in enumerate(wall.layers):
        closest = None if layer.tie is None else _closest(wall, at, brief)
        if closest is not None:
            changes.append(CountedChange(TIE_SPACING, layer.tie.vertical_spacing_mm, closest))
            tied = _with_layer(tied, at, "tie", vertical_spacing_mm=closest)
    further = _further(tied, brief, as_taken.u_taken)
    if further is None:
        target = as_taken.target * as_taken.u_declared / as_taken.u_taken
        then = math.floor(target / TARGET_STEP + TOLERANCE) * TARGET_STEP
        return (CountedChange(TARGET, as_taken.target, round(then, 6)),)
    if further > brief.framing.further_fraction:
        changes.append(CountedChange(FURTHER, brief.framing.further_fraction, further))
    return tuple(changes)


def _with_layer(wall: BuildUp, at: int, part: str, **values: float) -> BuildUp:
    layers, layer = list(wall.layers), wall.layers[at]
    layers[at] = layer.model_copy(update={part: getattr(layer, part).model_copy(update=values)})
    return wall.model_copy(update={"layers": tuple(layers)})


def _closest(wall: BuildUp, at: int, brief: Brief) -> float | None:
    """The closest spacing of ties [mm] with the same rows in every storey; None where it is no closer than given."""
    tie, outer = wall.layers[at].tie, tie_frames(wall.layers, at)[0]
    studs = [stud_height(each, outer, brief.framing) for each in heights(brief.house)]
    bounds = [1000 * each / tie_rows(each, tie) for each in studs]  # one more row from here on
    closest = max((math.floor(each / TIE_STEP + TOLERANCE) + 1) * TIE_STEP for each in bounds)
    closest = max(closest, tie.height_mm)
    return closest if closest < tie.vertical_spacing_mm else None


def _further(wall: BuildUp, brief: Brief, u_value: float) -> float | None:
    """The least further share of timber [-] with which U is no less than a value; None where none is."""
    framing = brief.framing
    frames = [
        at
        for at, layer in enumerate(wall.layers)
        if layer.frame is not None and layer.frame.fraction is None and bears(wall, at)
    ]
    if _reaches(wall, u_value):
        return framing.further_fraction
    if framing.fraction is not None or not frames:
        return None

    def with_more(steps: int) -> BuildUp:
        changed = wall
        for at in frames:
            extra = wall.layers[at].frame.extra_fraction + steps * SHARE_STEP
            changed = _with_layer(changed, at, "frame", extra_fraction=extra)
        return changed

    steps = 1 + _last(lambda steps: not _reaches(with_more(steps), u_value), round(MOST_FURTHER / SHARE_STEP))
    if _u_of(with_more(steps))[0] is None or not _reaches(with_more(steps), u_value):
        return None
    return round(framing.further_fraction + steps * SHARE_STEP, 6)


def _reaches(wall: BuildUp, u_value: float) -> bool:
    """Whether U is no less than a value; a wall without room for its timber holds more of it than any other."""
    u_wall = _u_of(wall)[0]
    return u_wall is None or u_wall >= u_value - TOLERANCE


def _last(holds: Callable[[int], bool], most: int) -> int:
    """The last of 1 ... most for which it holds, that holds up to there; 0 where it holds for none."""
    least, beyond = 0, most + 1
    while beyond - least > 1:
        middle = (least + beyond) // 2
        least, beyond = (middle, beyond) if holds(middle) else (least, middle)
    return least
