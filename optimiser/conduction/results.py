"""What a solved domain tells: heat flow and its bounds, temperatures, shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..batch import Array
from .grid import ROOM, Grid, along
from .networks import pick


@dataclass(frozen=True, repr=False)
class Solution:
    """Conduction through a domain. Arrays of corners follow `grid.lines`, arrays of cells lie between them."""

    grid: Grid
    heat: Array  # W from every air into the domain
    heat_low: float  # W, between which the flow between two airs lies
    heat_high: float
    temperature: Array  # degrees C at the corners; NaN inside air
    low_flow: tuple[Array, ...]  # W through the low face of every cell along every axis, positive along the axis
    high_flow: tuple[Array, ...]

    @property
    def error(self) -> float:
        """Largest relative error of the heat flow."""
        return abs(self.heat_high - self.heat_low) / (self.heat_high + self.heat_low)  # rounding may swap them

    @property
    def balance(self) -> float:
        """Heat that goes in and does not come out, against what goes in."""
        return float(abs(self.heat.sum()) / self.heat[self.heat > 0].sum())

    @property
    def flow(self) -> float:
        """Heat flow between the warmest and the coldest air [W]; of a plan section per metre of height."""
        return (self.heat_low + self.heat_high) / 2

    @property
    def conductance(self) -> float:
        """The same per kelvin [W/K]."""
        return self.flow / self.span

    @property
    def span(self) -> float:
        """Difference of the airs [K]."""
        return float(np.ptp([air.temperature for air in self.grid.domain.airs]))

    def face_temperatures(self, axis: int, end: int) -> Array:
        """Temperatures [degrees C] at the corners on one side of the domain."""
        return self.temperature[pick(self.temperature.ndim, axis, 0 if end == 0 else -1)]

    def unfolded(self, axis: int, start: float, length: float) -> tuple[Array, Array]:
        """The wall's temperatures over a stretch of it, the cell mirrored or repeated as often as that takes.

        start, length: of the stretch along an axis that mirrors or repeats, in the wall's own measure [m]. Returns the
        positions of the grid lines in it [m] and the temperatures there, corners of the other axes as they were.
        """
        domain, line = self.grid.domain, self.grid.lines[axis]
        size, repeats = domain.size[axis], axis in domain.periodic
        origin = domain.origin[axis] if domain.origin else 0.0
        whole = line if repeats else np.concatenate([line, 2 * size - line[-2::-1]])
        period = size if repeats else 2 * size
        turns = np.arange(np.floor((start - origin) / period), np.ceil((start + length - origin) / period))
        at = np.concatenate([[start, start + length], *(origin + turn * period + whole for turn in turns)])
        at = np.unique(np.round(at[(at >= start) & (at <= start + length)], 9))
        within = (at - origin) % period
        within = within if repeats else np.minimum(within, period - within)
        upper = np.clip(np.searchsorted(line, within), 1, len(line) - 1)
        share = along((within - line[upper - 1]) / (line[upper] - line[upper - 1]), axis, self.temperature.ndim)
        low, high = (self.temperature.take(each, axis) for each in (upper - 1, upper))
        return at, (1 - share) * low + share * high

    def shares(self, axis: int) -> dict[str, float]:
        """Part of the heat flow that passes through every named material, as a mean over its own depth along an axis.

        Materials side by side in one layer together pass all of it: their shares add up to 1.
        """
        passing = (self.low_flow[axis] + self.high_flow[axis]) / 2 * self.grid.steps[axis]
        total: dict[str, float] = {}
        depth: dict[str, float] = {}
        for number, box in enumerate(self.grid.domain.boxes):
            inside = self.grid.box == number
            if inside.any():
                total[box.name] = total.get(box.name, 0.0) + float(passing[inside].sum())
                depth[box.name] = box.high[axis] - box.low[axis]
        whole = self.heat[self.heat > 0].sum()
        return {name: float(abs(value) / depth[name] / whole) for name, value in total.items()}


def without_air(grid: Grid, temperature: Array) -> Array:
    """Corner temperatures with NaN where no material touches the corner."""
    if (grid.air == ROOM).all():
        return temperature
    touched = np.zeros(temperature.shape, bool)
    axes = temperature.ndim
    for corner in np.ndindex(*(2,) * axes):
        touched[tuple(slice(each, size + each) for each, size in zip(corner, grid.shape, strict=True))] |= (
            grid.air == ROOM
        )
    return np.where(touched, temperature, np.nan)
