"""Mould inside the wall: monthly humidity at a boundary of layers against the one from which it grows on wood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .humid_air import Array, critical_humidity
from .monthly import Monthly


@dataclass(frozen=True)
class Mould:
    """Humidity against critical humidity for n walls, by month."""

    temperature: Array  # (n, M) degrees C
    humidity: Array  # (n, M) share
    critical: Array  # (n, M) share, infinite in months of frost

    @property
    def margins(self) -> Array:
        """(n, M) critical less actual humidity (share): negative where mould can grow."""
        return self.critical - self.humidity

    @property
    def margin(self) -> Array:
        """(n,) the least of the year; infinite where it freezes in every month."""
        return self.margins.min(axis=1)

    @property
    def month(self) -> np.ndarray:
        """(n,) the month of the least margin (0 = January)."""
        return self.margins.argmin(axis=1)


def at_boundary(account: Monthly, boundary: ArrayLike) -> Mould:
    """Mould at one boundary of layers of every wall: as a rule the inner face of the sheathing.

    account: results of the monthly method; boundary: b (n,) or one value, the boundary between layers b - 1 and b,
    counted OUTSIDE TO INSIDE, so that the inner face of layer k is k + 1. A plane that begins a month wet counts as
    saturated in it. Source: Hukka and Viitanen 1999 for the critical humidity; monthly means of ISO 13788.
    """
    every = np.arange(len(account.start))
    chosen = np.broadcast_to(np.asarray(boundary, int), every.shape)
    temperature = account.temperature[every, chosen]
    return Mould(temperature, account.humidity[every, chosen], critical_humidity(temperature))
