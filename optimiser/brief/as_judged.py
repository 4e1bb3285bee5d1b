"""One brief judges every wall: a build-up takes what it does not state itself from the brief that it is held to."""

from __future__ import annotations

from collections.abc import Collection

from materials.catalogue import Catalogue

from ..checks.check_table import Demands
from ..checks.judge import Judged, judge
from ..wall.as_bought import as_bought
from ..wall.buildup import BuildUp, Conditions, Corrections
from ..wall.pricing import Pricing
from ..wall.storey_framing import StoreyFraming
from .brief import Brief

ROOM = {"indoor_humidity_class", "indoor_rh_percent"}  # one in place of the other
OF_WALLS = ("surface_r_inside", "surface_r_outside")  # a roof or floor has others


def as_judged(wall: BuildUp, brief: Brief, pricing: Pricing, catalogue: Catalogue) -> BuildUp:
    """The wall as the brief judges it: its climate, loads, corrections and framing where the file gives none.

    What the file states wins. Products bring their own values (`as_bought`). A wall of the search's own comes back with
    equal figures. InputError where a product cannot stand where the file names it.
    """
    change: dict[str, object] = {"conditions": _conditions(wall, brief.climate)}
    if wall.loads is None and wall.element == "wall":
        change["loads"] = brief.loads
    if "corrections" not in wall.model_fields_set:
        change["corrections"] = corrections_of(brief.corrections, {each.role for each in wall.layers})
    if wall.framing is None:
        change["framing"] = _framing(wall, brief)
    return as_bought(wall.model_copy(update=change), pricing, catalogue)


def judge_by(brief: Brief, wall: BuildUp, pricing: Pricing, catalogue: Catalogue) -> Judged:
    """The wall judged as the brief judges every wall: in the command, the explorer and on paper."""
    return judge(as_judged(wall, brief, pricing, catalogue), pricing, Demands.of(brief), brief.operation)


def _conditions(wall: BuildUp, climate: Conditions) -> Conditions:
    """The file's conditions, key by key before the brief's."""
    own, asked = wall.conditions, climate
    left = set(ROOM) if own.model_fields_set & ROOM else set()
    if wall.element != "wall":
        left |= set(OF_WALLS)
    elif wall.outside != "vented":
        left.add("surface_r_outside")  # the brief's walls are vented
    taken = {key: getattr(asked, key) for key in asked.model_fields_set - left}
    return Conditions(**taken | {key: getattr(own, key) for key in own.model_fields_set})


def corrections_of(given: Corrections, roles: Collection[str]) -> Corrections:
    """The corrections of a brief less those of layers that a wall does not have."""
    gaps = given.air_gap_layer in roles
    return Corrections(
        air_gap_level=given.air_gap_level if gaps else 0,
        air_gap_layer=given.air_gap_layer if gaps else None,
        fastener=tuple(each for each in given.fastener if each.layer in roles),
        point=given.point,
    )


def framing_of(brief: Brief) -> StoreyFraming | None:
    """Where plates and noggings stand, for a brief that has such."""
    given = brief.framing
    if given.fraction is not None or not (given.plates or given.nogging_rows):
        return None
    return given.placed


def _framing(wall: BuildUp, brief: Brief) -> StoreyFraming | None:
    """The brief's, where the file's frames count that much timber besides their studs: nothing is added to them."""
    framing = framing_of(brief) if wall.element == "wall" else None
    frames = [each.frame for each in wall.layers if each.frame is not None and each.frame.extra_fraction]
    upright = [each for each in frames if each.axis == "vertical"]
    if framing is None or not upright:
        return None
    fits = all(framing.share(each.width_mm, each.spacing_mm) <= each.extra_fraction + 1e-9 for each in upright)
    return framing if fits else None
