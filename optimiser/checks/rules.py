"""Rules of building, wall by wall: what a build-up must have besides warmth, dryness and strength (common practice)."""

from __future__ import annotations

from dataclasses import dataclass

from materials.models import Material

from ..batch import WallBatch
from ..template import AIRTIGHT, MEMBRANES, RACKING
from ..wall.places import Places
from .common.check import OneWall

RULES = (
    "one airtight layer",
    "a wind-tight layer outside",
    "at most a third of the insulation inside the airtight layer",
    "a racking board fixed to the load-bearing frame",
)
MOST_INSIDE = 1 / 3  # of the insulation's resistance inside the airtight layer


@dataclass(frozen=True)
class BuildingRule:
    """One rule: whether the wall keeps it (None: its materials do not say), and why in words."""

    rule: str
    passes: bool | None
    words: str


def rules(one: OneWall, dry: bool | None) -> list[BuildingRule]:
    """Every rule for one wall that has an airtight layer.

    dry: whether the monthly moisture check passes; None where it was not made.
    """
    wall, batch, places = one.wall, one.batch, one.places
    named = [(layer.role, wall.of(layer.material)) for layer in wall.layers[places.first :]]
    count = sum(role == AIRTIGHT for role, _ in named)
    if not count:  # a list of layers that is no whole wall yet
        return [BuildingRule(rule, None, "no layer is called the airtight layer") for rule in RULES]
    known = all(material.kind is not None for _, material in named)
    words = "one airtight layer" if count == 1 else f"{count} airtight layers"
    return [
        BuildingRule(RULES[0], count == 1, words),
        _windtight(named, known),
        _inside(batch, places, dry),
        _racking(named, known),
    ]


def _windtight(named: list[tuple[str, Material]], known: bool) -> BuildingRule:
    membrane = any(role in MEMBRANES for role, _ in named)
    board = bool(named) and named[0][1].windtight
    if not membrane and not board and not known:
        return BuildingRule(RULES[1], None, "the outermost layer does not say whether it is wind-tight")
    words = "a membrane" if membrane else "the outermost board" if board else "nothing outside is wind-tight"
    return BuildingRule(RULES[1], membrane or board, words)


def _inside(batch: WallBatch, places: Places, dry: bool | None) -> BuildingRule:
    rule = RULES[2]
    total = float(batch.resistance[0].sum())
    share = float(batch.resistance[0, places.airtight + 1 :].sum()) / total if total else 0.0
    words = f"{share:.0%} inside"
    if share <= MOST_INSIDE:
        return BuildingRule(rule, True, words)
    endings = {
        True: ", but the monthly check passes",
        False: ", and the monthly check fails",
        None: ", monthly check open",
    }
    return BuildingRule(rule, dry, words + endings[dry])


def _racking(named: list[tuple[str, Material]], known: bool) -> BuildingRule:
    rule = RULES[3]
    boards = [material for role, material in named if role in RACKING and material.racking]
    if not boards and not known:
        return BuildingRule(rule, None, "no board says that it racks")
    return BuildingRule(rule, bool(boards), boards[0].name if boards else "no racking board on the outer frame")
