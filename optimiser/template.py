"""The template of slots: every wall of a search is these slots filled, outside to inside, and nothing else.

The one place where slots are listed. A slot that is empty is zero thick; a wall system is which slots are filled. What
the search lays and proves, the checks read, the drawings show and the order counts follows from the records here and
from where they stand: adding a plain layer is one more entry in `TEMPLATE` (and materials of its use).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from materials.errors import InputError

NONE = "none"  # what a brief calls an empty slot


@dataclass(frozen=True)
class Slot:
    """One slot of the template.

    use: that a material must be made for (`Material.uses`); "" for the gap, which a fill takes as it is.
    may_be_empty: it may hold nothing. named: a brief must say what it holds (else the cheapest always wins).
    vented: it stands outside the wind-tight layer, where well-ventilated air carries off its heat and vapour.
    members: what stands in it, studs or battens; None for a plain layer. least_depth_mm: of its members.
    fill, filled_from: the variable that says what fills it, and the list of the brief that this is chosen from.
    offset, axis: whether a brief may stagger its members, or turn them.
    racks: a racking board in it stiffens the load-bearing frame. tight: the layer that it is for wind or air.
    exchange: its turn when another sheet is tried to mend a wall that stays wet; 0: never.
    work: the hours its plain layer takes, where they are not those of its material's kind. drawn: its hatch, likewise.
    finish: what a building model calls it.
    """

    name: str
    use: str = ""
    may_be_empty: bool = False
    named: bool = False
    vented: bool = False
    members: Literal["studs", "battens"] | None = None
    least_depth_mm: float = 0.0
    fill: str | None = None
    filled_from: str | None = None
    offset: bool = False
    axis: bool = False
    racks: bool = False
    tight: Literal["wind", "air"] | None = None
    exchange: int = 0
    work: str | None = None
    drawn: str | None = None
    finish: str | None = None

    @property
    def plain(self) -> bool:
        """Whether it is one layer of one thing, without members and without a fill of its own."""
        return self.members is None and self.fill is None


CLADDING, VENTILATED_SPACE, WIND_TIGHT, AIRTIGHT = "cladding", "ventilated space", "wind-tight layer", "airtight layer"
OUTER_FRAME, GAP, INNER_FRAME, SERVICE_ZONE, LINING = "outer frame", "gap", "inner frame", "service zone", "lining"
OUTER_FILL, GAP_FILL, INNER_FILL, SERVICE_FILL = "outer fill", "gap fill", "inner fill", "service fill"
FILL = "fill"  # the list of a brief that the fills of frames and gap are chosen from; SERVICE_FILL is the other

TEMPLATE = (
    Slot(CLADDING, "cladding", named=True, vented=True, work="cladding", drawn="cladding", finish="Outer finish"),
    Slot(VENTILATED_SPACE, "batten", named=True, vented=True, members="battens", least_depth_mm=25.0),
    Slot(WIND_TIGHT, "wind-tight layer", may_be_empty=True, tight="wind", exchange=2),
    Slot("outer board", "outer board", may_be_empty=True, exchange=4),
    Slot("sheathing", "sheathing", may_be_empty=True, racks=True, exchange=3),
    Slot(OUTER_FRAME, "frame", members="studs", fill=OUTER_FILL, filled_from=FILL),
    Slot("outer gap board", "gap board", may_be_empty=True, racks=True),
    Slot(GAP, fill=GAP_FILL, filled_from=FILL),
    Slot("inner gap board", "gap board", may_be_empty=True),
    Slot(INNER_FRAME, "frame", may_be_empty=True, members="studs", fill=INNER_FILL, filled_from=FILL, offset=True),
    Slot(AIRTIGHT, "airtight layer", tight="air", exchange=1),
    Slot(
        SERVICE_ZONE,
        "service zone",
        may_be_empty=True,
        members="battens",
        fill=SERVICE_FILL,
        filled_from=SERVICE_FILL,
        axis=True,
    ),
    Slot(LINING, "lining", named=True, work="lining", finish="Inner finish"),
)

# What follows is derived, so that nothing is listed twice.

SLOT = {each.name: each for each in TEMPLATE}
SLOTS = tuple(SLOT)
ZONE = {each.fill: each.name for each in TEMPLATE if each.fill}  # variable of a fill -> the slot that it fills
FILL_OF = {zone: fill for fill, zone in ZONE.items()}
FILL_VARIABLES = tuple(ZONE)
VARIABLES = (*SLOTS, *FILL_VARIABLES)  # the columns of a row of choices
AT = {name: number for number, name in enumerate(VARIABLES)}

FILLS = tuple(dict.fromkeys(each.filled_from for each in TEMPLATE if each.filled_from))  # the brief's lists of fills
FILL_USES = {FILL: "fill", SERVICE_FILL: SLOT[SERVICE_ZONE].use}
USE_OF = {each.name: each.use for each in TEMPLATE if each.use} | FILL_USES
MAIN_FILLS = tuple(each.fill for each in TEMPLATE if each.filled_from == FILL)  # of frames and gap: blown as one void
MAY_BE_EMPTY = tuple(each.name for each in TEMPLATE if each.may_be_empty)
MUST_BE_NAMED = tuple(each.name for each in TEMPLATE if each.named)
CHOSEN = tuple(
    name for name in SLOTS if name != GAP
)  # slots that a brief fills from its lists; of the gap it says how wide

MEMBER_SLOTS = tuple(each.name for each in TEMPLATE if each.members)
STUDS = tuple(each.name for each in TEMPLATE if each.members == "studs")
BATTENS = tuple(each.name for each in TEMPLATE if each.members == "battens")
SLOT_KEYS = {  # keys of a slot in a brief that speak of its members, and the slots that have such
    "spacing_mm": MEMBER_SLOTS,
    "offset_mm": tuple(each.name for each in TEMPLATE if each.offset),
    "axis": tuple(each.name for each in TEMPLATE if each.axis),
}

VENTED = tuple(each.name for each in TEMPLATE if each.vented)
CORE = (OUTER_FRAME, GAP, INNER_FRAME)
# A wall of the search is a core, a service zone and a skin of all the rest.
SKIN = tuple(name for name in SLOTS if name not in (*CORE, SERVICE_ZONE))
PLAIN = tuple(
    each.name for each in TEMPLATE if each.plain and not each.vented
)  # plain layers that hinder heat and vapour
SHEETS = tuple(name for name in sorted(PLAIN, key=lambda name: SLOT[name].exchange) if SLOT[name].exchange)
RACKING = tuple(each.name for each in TEMPLATE if each.racks)


def _between(first: str | None, last: str | None) -> tuple[str, ...]:
    """The plain layers from one slot to another, both left out."""
    start = 0 if first is None else AT[first] + 1
    return tuple(name for name in SLOTS[start : AT[last] if last else None] if name in PLAIN)


MEMBRANES = tuple(each.name for each in TEMPLATE if each.tight == "wind")
BEFORE_FRAME = tuple(
    name for name in _between(None, OUTER_FRAME) if name not in MEMBRANES
)  # boards that close the void
BEFORE_GAP = _between(OUTER_FRAME, GAP)  # boards that part the outer frame's void from the gap's
BEHIND_GAP = _between(GAP, INNER_FRAME)  # boards that part the gap's void from the inner frame's
INSIDE = _between(INNER_FRAME, None)
BEFORE_AIRTIGHT = tuple(name for name in INSIDE if AT[name] < AT[AIRTIGHT])  # what takes a blown fill off its membrane
MENDS_RULES = tuple(name for name in SKIN if name in (*MEMBRANES, *BEFORE_FRAME, *RACKING))  # wind-tightness, racking


def slot_index(name: int | str) -> int:
    """Position of a slot that a brief's corrections name."""
    if name in SLOTS:
        return SLOTS.index(name)
    raise InputError(f"corrections: layer {name!r} is no slot; name one of {', '.join(SLOTS)}")
