"""What a blown fill needs so that it fills the void and does not settle: common practice, over arrays.

No standard: practice among installers, from memory, +-5 kg/m3. The fill's supplier has the last word.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from ..batch import Array

CAUTION = (
    "Fire must not run through continuous voids: separate them as local codes ask. Blowing raises dust: wear a dust "
    "mask. Cables in the void need room and a check by an electrician."
)

LOW_VOID, HIGHEST_VOID = 3.0, 6.0  # m; densities by depth hold up to the first, practice ends at the second
EPSILON = 1e-9  # m; depths are sums of sizes


@dataclass(frozen=True)
class Practice:
    """How blown fills are installed; every value may be set to what the supplier states."""

    chamber_height: float = LOW_VOID  # m; higher voids are broken into chambers
    high_void_density: float = 4.0  # kg/m3 more (3 to 5) in chambers above 3 m
    narrowest: float = 0.05  # m, depth and clear width: the usual hose of about 50 mm must reach in
    deepest: float = 0.50  # m through the wall: beyond it even density is hard to reach
    widest: float = 1.00  # m clear between studs
    bag_mass: float = 12.5  # kg; 10 to 15 are sold

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            least = 0.0 if each.name == "high_void_density" else np.nextafter(0, 1)
            if not least <= value < np.inf:
                raise ValueError(f"{each.name} = {value!r}: expected a number above 0")
        if self.chamber_height > HIGHEST_VOID:
            raise ValueError(f"chamber_height must not exceed {HIGHEST_VOID:g} m: practice ends there")


COMMON = Practice()

LIMITS = (  # in the order of `FillNeeds.excess_by_limit`
    "the void is too shallow to fill",
    "the void is too deep to fill evenly",
    "the bay is too narrow to fill",
    "the bay is too wide to fill evenly",
)


@dataclass(frozen=True)
class FillNeeds:
    """What n walls need."""

    density: Array  # (n,) kg/m3 to be blown in
    kg_m2: Array  # (n,) kg per m2 of wall
    bags_m2: Array  # (n,) bags per m2 of wall, unrounded
    chambers: np.ndarray  # (n,) int: parts that the void's height is broken into
    chamber_height: Array  # (n,) m
    excess_by_limit: Array  # (n, 4) m by which each of LIMITS is missed; 0 or less: kept

    @property
    def excess(self) -> Array:
        """(n,) m by which the worst limit is missed; 0 or less: the void can be filled."""
        return self.excess_by_limit.max(axis=1)

    @property
    def passes(self) -> np.ndarray:
        return self.excess <= EPSILON

    def reason(self, wall: int = 0) -> str | None:
        """Why one wall can't be filled, in words."""
        return None if self.passes[wall] else LIMITS[int(self.excess_by_limit[wall].argmax())]


def needs(
    depth: ArrayLike,
    volume: ArrayLike,
    height: ArrayLike,
    bay: ArrayLike,
    density: ArrayLike,
    practice: Practice = COMMON,
) -> FillNeeds:
    """Density, amount and chambers of a blown fill in n walls, each value a number or (n,).

    chambers = ceil(height / chamber height), kg/m2 = density volume, bags/m2 = kg/m2 / mass of a bag.

    depth: of the whole void through the wall, frames and gap filled as one [m]; volume: what is left of it between the
    members [m3 per m2 of wall]; height: of the void between plates [m]; bay: clear width between studs [m]; density:
    against settling in a void of that depth, up to 3 m high [kg/m3] (`Material.installed_density`).
    Source: common practice.
    """
    given = (np.atleast_1d(np.asarray(each, float)) for each in (depth, volume, height, bay, density))
    depth, volume, height, bay, density = np.broadcast_arrays(*given)
    if not all((each >= 0).all() and np.isfinite(each).all() for each in (depth, volume, bay)):
        raise ValueError("depth, volume and bay must not be negative")
    if not all((each > 0).all() and np.isfinite(each).all() for each in (height, density)):
        raise ValueError("height and density must be above 0")
    chambers = np.ceil(height / practice.chamber_height - EPSILON).astype(int)
    high = height / chambers
    blown = density + np.where(high > LOW_VOID + EPSILON, practice.high_void_density, 0.0)
    kg_m2 = blown * volume
    return FillNeeds(blown, kg_m2, kg_m2 / practice.bag_mass, chambers, high, excess_by_limit(depth, bay, practice))


def excess_by_limit(depth: ArrayLike, bay: ArrayLike, practice: Practice = COMMON) -> Array:
    """By how much n voids miss each of LIMITS (n, 4) [m]; 0 or less: kept.

    depth: through the wall [m]; bay: clear width between studs [m], NaN where no studs bound it.
    Source: common practice.
    """
    depth, bay = np.broadcast_arrays(np.asarray(depth, float), np.asarray(bay, float))
    missed = [practice.narrowest - depth, depth - practice.deepest, practice.narrowest - bay, bay - practice.widest]
    return np.nan_to_num(np.stack(missed, axis=1), nan=-np.inf, posinf=np.inf, neginf=-np.inf)


def can_be_filled(depth: ArrayLike, bay: ArrayLike, practice: Practice = COMMON) -> np.ndarray:
    """(n,) whether n voids keep every limit; arguments as of `excess_by_limit`."""
    return excess_by_limit(depth, bay, practice).max(axis=1) <= EPSILON


def membrane_holds(batten_spacing: ArrayLike, support: ArrayLike) -> np.ndarray:
    """(n,) whether a membrane with battens behind it bears the blowing of a fill that presses on it.

    batten_spacing [m]; support: the widest spacing that its maker states, infinite for what needs none [m].
    """
    return np.asarray(batten_spacing, float) <= np.asarray(support, float) + EPSILON


def laid_evenly(batts: ArrayLike, tied: ArrayLike) -> np.ndarray:
    """(n,) whether what fills a gap lies without hollows: not batts about tie plates (common practice)."""
    return ~(np.asarray(batts, bool) & np.asarray(tied, bool))
