"""What a complete search has still open, and the least figures that any wall among it could have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from .bounds import Cut
from .cores import Cores
from .skins import SkinClass


@dataclass(frozen=True)
class Open:
    """Cores still open behind one class of skins, with the least figures each could come to and its open groups."""

    skin: SkinClass
    cores: Cores
    least: Array  # (n, k) steps
    groups: NDArray[np.bool_]  # (n, g)

    def rows(self, chosen: NDArray) -> Open:
        return Open(self.skin, self.cores.rows(chosen), self.least[chosen], self.groups[chosen])

    @staticmethod
    def joined(many: list[Open]) -> Open | None:
        """Some of one class of skins together; None where there are none."""
        if len(many) < 2:
            return many[0] if many else None
        least, groups = (np.concatenate([getattr(each, key) for each in many]) for key in ("least", "groups"))
        return Open(many[0].skin, Cores.joined([each.cores for each in many]), least, groups)


class StillOpen:
    """The least figures [steps] of all that is open.

    Nothing is known of it at first; once its parts are prepared, no wall is below a floor; once every core has been
    looked at, none is below the least figures of those that are open.
    """

    def __init__(self) -> None:
        self._floor: Array | None = None  # (k,)
        self._least: Array | None = None  # (n, k)

    def begin(self, floor: Array | None) -> None:
        """Cores are being looked at; floor (k,): figures that no wall is below."""
        self._floor, self._least = floor, None

    def of(self, least: Array) -> None:
        """Every core has been looked at; least (n, k): the least figures of each that is open."""
        self._least = least

    def bound(self, front: Cut, objectives: int) -> Array | None:
        """(k,) no wall yet to come is below these figures.

        What the front beats is as good as settled: infinite where nothing else is open. None while nothing is known.
        """
        if self._least is None:
            return self._floor
        rest = self._least[~front.beats(self._least[:, :objectives])]
        return rest.min(axis=0) if len(rest) else np.full(self._least.shape[1], np.inf)


def promise(least: Array) -> Array:
    """An order in which to look (n,): figures weighed by their own spread, the lowest sum first."""
    if not len(least):
        return np.zeros(0)
    finite = np.where(np.isfinite(least), least, 0.0)
    return (finite / np.maximum(finite.std(axis=0), 1.0)).sum(axis=1)
