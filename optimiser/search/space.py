"""What the space of a brief holds: how many options of each slot no other beats."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..space.choices import Choices
from ..template import FILL_VARIABLES, GAP, MEMBER_SLOTS, MEMBRANES, SLOTS
from .front import nondominated

REFERENCE_DEPTH = 300  # mm; the void in which blown fills are compared


def undominated(choices: Choices) -> dict[str, int]:
    """Options of every variable that no other beats in resistance, thickness, cost and carbon together.

    Members are compared within one spacing and offset, their width counting too; fills per m3 in a void of 300 mm.
    """
    counts = {name: _count(_slot_figures(choices, name)) for name in SLOTS}
    return counts | {name: _count(_fill_figures(choices, name)) for name in FILL_VARIABLES}


def _count(figures: NDArray) -> int:
    """Rows of minimised figures that no other row beats; equal rows count once."""
    steps = np.unique(np.rint(figures * 1e6).astype(np.int64), axis=0)
    return int(nondominated(steps).sum())


def _slot_figures(choices: Choices, name: str) -> NDArray:
    column = choices.column[name]
    fraction = column["width"] / column["spacing"] + column["extra"] if name in MEMBER_SLOTS else 1.0
    cost = fraction * (column["price"] + column["labour"])
    figures = [-column["resistance"], column["thickness"], cost, fraction * column["carbon"]]
    if name == GAP:  # the fill makes its cost: every width stands for itself
        return np.stack([column["thickness"], -column["thickness"]], axis=1)
    # What the building rules read of an option counts as well: a membrane where no board is wind-tight, racking.
    figures += [-1.0 * column["racking"], -1.0 * column["windtight"], -1.0 * (column["present"] & (name in MEMBRANES))]
    if name in MEMBER_SLOTS:
        # A deeper frame saves gap of the same fill, so depth is for the better as well as for the worse.
        figures += [fraction * np.ones_like(cost), -column["thickness"], column["spacing"], -column["spacing"]]
        figures += [column["offset"], -column["offset"]]
    return np.stack(figures, axis=1)


def _fill_figures(choices: Choices, name: str) -> NDArray:
    rows = []
    kinds, fills = choices.kinds[name], choices.fills[name]
    for number, fill in enumerate(fills):
        density = kinds.density[number, min(REFERENCE_DEPTH, kinds.density.shape[1] - 1)]
        price = kinds.price_per_kg[number] * density + kinds.price_per_m3[number] + kinds.labour_per_m3[number]
        if fill.line:
            price = min(1000 * each.price / each.thickness_mm for each in fill.line)
        conductivity = fill.stock.material.design_conductivity or 1.0
        rows.append([conductivity, price, kinds.carbon_per_kg[number] * density])
    return np.array(rows)
