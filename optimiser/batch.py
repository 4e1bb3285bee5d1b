"""WallBatch: n walls of one topology as arrays. One wall is a batch of one.

Layers run from outside to inside along the second axis; a slot that is empty is zero thick. All quantities in SI,
per m2 of wall. Arrays of shape (n, layers) are column-major, so that one layer of all walls lies together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.integer]  # (n, variables) rows of choices


@dataclass(frozen=True)
class Members:
    """The members across one layer (studs, battens, ties) of n walls.

    Their share of the area is width / spacing * share + extra. Quantities per m2 are those of a solid layer of
    members, so that share times quantity is what the wall holds.
    """

    layer: int
    resistance: Array  # (n,) m2K/W of the member through its layer
    width: Array  # (n,) m, along the line
    spacing: Array  # (n,) m
    centre: Array  # (n,) m, offset of the first member from the line's origin
    share: Array  # (n,) of the line's height that carries the member: 1, or a tie's height over its spacing
    extra: Array  # (n,) of the area on top of the geometry: plates, noggings, openings
    mass: Array  # (n,) kg/m2 of a solid layer
    price: Array  # (n,) currency/m2
    labour: Array  # (n,) currency/m2
    carbon: Array  # (n,) kgCO2e/m2
    biogenic: Array  # (n,) kgCO2e/m2
    sd: Array | None = None  # (n,) m through the member, in dry air; NaN where unknown
    sd_humid: Array | None = None  # (n,) m, in humid air

    @property
    def fraction(self) -> Array:
        """(n,) share of the layer's area that is member."""
        return self.width / self.spacing * self.share + self.extra


@dataclass(frozen=True)
class SlightVentilation:
    """A slightly ventilated air layer: its position and its openings [mm2 per m], (n,)."""

    layer: int
    opening: Array


@dataclass(frozen=True)
class WallBatch:
    """n walls of one topology.

    `lines` groups the members (by position in `members`) that stand on one axis at one spacing and so meet as their
    true overlap; members of different lines are independent. Members in no line take no part in heat flow (battens
    of the ventilated space).
    """

    thickness: Array  # (n, L) m
    resistance: Array  # (n, L) m2K/W of the plain part; 0 for layers that carry none
    members: tuple[Members, ...]
    lines: tuple[tuple[int, ...], ...]
    r_si: Array  # (n,) m2K/W
    r_se: Array  # (n,)
    mass: Array  # (n, L) kg/m2 of the layer were it without members
    price: Array  # (n, L) currency/m2, material with waste
    labour: Array  # (n, L) currency/m2
    carbon: Array  # (n, L) kgCO2e/m2 over the modules that the brief counts
    biogenic: Array  # (n, L) kgCO2e/m2, stored (negative)
    sd: Array | None = None  # (n, L) vapour diffusion-equivalent thickness of the plain part in dry air, m
    sd_humid: Array | None = None  # (n, L) in humid air, m
    slight: SlightVentilation | None = None

    def __len__(self) -> int:
        return self.thickness.shape[0]

    def rows(self, chosen: slice | NDArray) -> WallBatch:
        """The batch of the chosen walls alone."""
        members = tuple(_take(each, chosen) for each in self.members)
        slight = self.slight and replace(self.slight, opening=self.slight.opening[chosen])
        return replace(_take(self, chosen), members=members, slight=slight)

    def member_of(self, layer: int) -> Members | None:
        """The members that cross a layer, if any."""
        return next((each for each in self.members if each.layer == layer), None)

    def plain_share(self) -> Array:
        """(n, L) share of each layer's area that is not member."""
        share = np.ones_like(self.thickness)
        for each in self.members:
            share[:, each.layer] = 1.0 - each.fraction
        return share


def joined(batches: Sequence[WallBatch]) -> WallBatch:
    """The walls of several batches of one topology as one batch, in their order."""
    first = batches[0]
    members = tuple(_join(each) for each in zip(*(batch.members for batch in batches), strict=True))
    slight = first.slight and replace(first.slight, opening=np.concatenate([batch.slight.opening for batch in batches]))
    return replace(_join(batches), members=members, slight=slight)


def _join(records):
    change = {
        field.name: np.concatenate([getattr(each, field.name) for each in records])
        for field in fields(records[0])
        if isinstance(getattr(records[0], field.name), np.ndarray)
    }
    return replace(records[0], **change)


def _take(record, chosen):
    change = {
        field.name: value[chosen]
        for field in fields(record)
        if isinstance(value := getattr(record, field.name), np.ndarray)
    }
    return replace(record, **change)
