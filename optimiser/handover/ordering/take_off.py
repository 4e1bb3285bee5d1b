"""The take-off of a wall round the brief's house: what is built in, counted, beside what the score reckons per m2.

The score takes every figure per m2 times the outer faces less openings. The take-off counts: each layer on its own
faces, studs and plates one by one, chambers of fill, sheets as laid, rolls with laps, timber as cut. `score` of an item
is the score's own net quantity, so that both can be laid side by side and told apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...brief.brief import Brief
from ...score.cost_parts import CostFigures, cost_figures
from ...wall.assemble import batch_of, parts_of
from ...wall.buildup import BuildUp
from ...wall.pricing import Pricing
from ..filling.sheet import FillingSheet, digest_of, filling_sheet
from ..pieces.counting import COMMON, CountingPractice, placed, slotted
from .items import Counting, Item, TimberSection

RULES = (
    "Walls are counted as straight runs on the outline of the plan, each layer on its own faces; a corner belongs to "
    "the run that starts there. Openings are known by their area only: it is taken off areas, not off studs.",
    "Studs: floor(run / spacing) + 1 in each run and storey, one more where the run does not end on a stud, and one "
    "more at every corner. Plates run through; studs stand between them. Common practice.",
    "Members round openings: the brief's share of the area, as metres; from offcuts of 1.2 m or more, the rest bought "
    "in the shortest stock length. Plates and battens may be joined on a stud; no other piece is.",
    "Ties: on every line with a stud on both sides, floor(stud / vertical spacing) + 1 in each storey.",
    "Sheets stand upright, of a usual size with the area that the list states; strips above them are cut from whole "
    "sheets. Rolls lap along one edge and at their ends. Bought is the greater of this and the net area with the "
    "waste of list or catalogue. Common practice.",
    "Tape of the airtight layer: its joints and edges, but no less than the brief's rate, which also covers openings.",
    "Fill: the chambers of the filling sheet, openings taken off by their share of the face.",
)


@dataclass(frozen=True)
class TakeOff:
    """Everything that the wall takes, and the score that it must tie to."""

    wall: str
    digest: str
    currency: str
    thickness_mm: float
    area_m2: float  # outer faces less openings, the score's
    openings_m2: float
    items: tuple[Item, ...]
    sections: tuple[TimberSection, ...]
    filling: FillingSheet
    roles: tuple[str, ...]
    figures: CostFigures  # per m2
    faces_m2: tuple[float, ...]  # by layer: its own face as built, less openings
    whole_faces_m2: tuple[float, ...]  # with them
    rules: tuple[str, ...] = RULES


def take_off(
    wall: BuildUp, brief: Brief, pricing: Pricing, practice: CountingPractice = COMMON, wall_id: str | None = None
) -> TakeOff:
    """Count a wall round the brief's house.

    InputError where the brief has no house, such walls meet in it, or a piece is longer than every stock length and
    may not be spliced.
    """
    at = placed(wall, brief)
    parts = parts_of(wall, pricing)
    batch = batch_of(wall, parts)
    costs = cost_figures(batch, [(each.plain.bill, each.member and each.member.bill) for each in parts])
    sheet = filling_sheet(wall, brief, practice, wall_id)
    counting, shares = Counting(at, brief.framing, pricing.terms, practice, parts, sheet), batch.plain_share()[0]
    items = [each for layer, share in enumerate(shares) for each in counting.of(layer, float(share))]
    sections = tuple(counting.sections())
    bought = {each.key: each.bought_m / each.net_m for each in sections if each.net_m}
    items = [replace(each, gross=each.net * bought[each.section]) if each.section in bought else each for each in items]
    return TakeOff(
        wall=wall_id or wall.name,
        digest=digest_of(wall),
        currency=pricing.currency,
        thickness_mm=wall.thickness_mm,
        area_m2=at.area_m2,
        openings_m2=at.house.openings_total_m2,
        items=tuple(each for each in items if each.net or each.score),
        sections=sections,
        filling=sheet,
        roles=tuple(each.role for each in wall.layers),
        figures=costs,
        faces_m2=tuple(at.net(layer) for layer in range(len(wall.layers))),
        whole_faces_m2=tuple(at.gross(layer) for layer in range(len(wall.layers))),
        rules=(*RULES, *_slots(wall, items)),
    )


def _slots(wall: BuildUp, items: list[Item]) -> list[str]:
    """What is cut where ties pass through a board: common practice."""
    rules = []
    for at, boards in slotted(wall).items():
        count = sum(each.count or 0 for each in items if each.what == "ties" and each.layer == at + 1)
        for board in boards:
            rules.append(
                f"Layer {board + 1} ({wall.layers[board].role}): the ties of layer {at + 1} pass through it. {count} "
                "slots are cut into it on site and closed airtight with tape again; that tape is not counted. Common "
                "practice."
            )
    return rules
