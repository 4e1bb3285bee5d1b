"""Where things are in a wall: the positions that the judgements besides heat need to know."""

from __future__ import annotations

from dataclasses import dataclass

from ..template import AIRTIGHT, AT, INNER_FRAME, OUTER_FRAME, SLOTS, STUDS, VENTED
from .buildup import BuildUp


@dataclass(frozen=True)
class Places:
    """Positions in a list of layers, outside first; None where a wall has no such layer."""

    first: int  # outermost layer that takes part: layers further out are well ventilated
    names: tuple[str, ...]  # of all layers, as people know them
    frames: tuple[int, ...]  # layers with vertical members that stand in the wall, outside first
    outer_frame: int | None
    inner_frame: int | None
    airtight: int | None

    @property
    def sheathing_boundary(self) -> int:
        """Boundary (counted among the layers that take part) at the outer face of the insulated frame: the inner face
        of the sheathing."""
        insulated = self.outer_frame if self.outer_frame is not None else self.first
        return max(insulated - self.first, 1)


OF_SLOTS = Places(
    first=len(VENTED),
    names=SLOTS,
    frames=tuple(AT[name] for name in STUDS),
    outer_frame=AT[OUTER_FRAME],
    inner_frame=AT[INNER_FRAME],
    airtight=AT[AIRTIGHT],
)


def places_of(wall: BuildUp, last_vented: int) -> Places:
    """The places of a build-up. last_vented: its innermost well-ventilated layer, or -1."""
    roles = [layer.role for layer in wall.layers]
    first = last_vented + 1
    framed = [
        number
        for number, layer in enumerate(wall.layers)
        if number >= first and layer.frame is not None and layer.frame.axis == "vertical"
    ]

    def at(role: str, otherwise: int | None) -> int | None:
        return roles.index(role) if role in roles else otherwise

    outer = at(OUTER_FRAME, framed[0] if framed else None)
    inner = at(INNER_FRAME, framed[1] if len(framed) > 1 else None)
    names = tuple(f"{number} {role}" for number, role in enumerate(roles, 1))
    return Places(first, names, tuple(framed), outer, inner, at(AIRTIGHT, None))
