"""The limits of ISO 6946 read off a grid: what the drawn geometry itself says, without the combined method's code."""

from __future__ import annotations

import numpy as np

from optimiser.conduction.cell import area
from optimiser.conduction.results import Solution


def limits(found: Solution) -> tuple[float, float]:
    """1/R' and 1/R'' of the drawn geometry, from the grid itself: paths side by side, planes one behind the other."""
    grid, axes = found.grid, len(found.grid.shape)
    through = axes - 2
    surfaces = sum(air.resistance for air in grid.domain.airs)
    depth = grid.steps[through]
    paths = surfaces + (depth / grid.conductivity).sum(axis=through)
    share = np.squeeze(grid.area(through), through) / area(grid.domain)
    across = tuple(each for each in range(axes) if each != through)
    planes = (grid.conductivity * grid.area(through)).sum(axis=across) / area(grid.domain)
    return float((share / paths).sum()), 1 / (surfaces + float((depth.ravel() / planes).sum()))
