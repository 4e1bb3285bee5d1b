"""What heat asks of a skin, for the exact search: the plain resistance that a core and a service zone still need."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array, Index
from ..heat import required, steady
from ..heat.air_layers import R_SI
from ..space.choices import Choices
from ..template import CORE, SERVICE_ZONE
from .cores import paths
from .parts import Figures
from .service_zones import Services, joint_service
from .skins import SkinClass


class Unsafe(Exception):
    """The guard: a wall that displaces others might itself be refused."""


@dataclass(frozen=True)
class Warmth:
    """The needs of one target: what U may be before corrections, and both surface resistances."""

    choices: Choices
    follow: Figures
    services: Services
    joint: bool  # battens stand on the studs' line
    rule: required.Rule
    bare_target: float  # W/m2K
    surfaces: float  # m2K/W

    @classmethod
    def of(cls, choices: Choices, target: float, follow: Figures, services: Services) -> Warmth:
        rule = required.UPPER if choices.brief.numeric.constraint else required.COMBINED
        joint = joint_service(choices)
        return cls(choices, follow, services, joint, rule, bare_target(choices, target), surfaces(choices))

    def at_least(self, mean: Array, lower: Array) -> Array:
        """No less plain resistance, surfaces aside, will do for such resistances of core and zone together."""
        return self.rule.at_least(mean, lower, self.bare_target) - self.surfaces

    def needed(self, skin: SkinClass, x: Index, core: NDArray, zone: NDArray) -> Array:
        """Plain resistance, surfaces aside, that each pair of a core (a row of x) and a service zone needs."""
        if self.joint:  # battens on the studs' line: every pair is a geometry of its own
            x, core, zone = x[core] + self.services.part.x[zone], np.arange(len(core)), np.full(len(core), -1)
        zones = self.services
        need = np.empty(len(core))
        used, place = np.unique(core, return_inverse=True)
        slots = (*CORE, SERVICE_ZONE) if self.joint else CORE
        for rows, crossing, lower in paths(self.choices, x[used], (skin.first, skin.second), slots):
            local = np.full(len(used), -1)
            local[rows] = np.arange(len(rows))
            mine = np.flatnonzero(local[place] >= 0)
            at, z = local[place[mine]], zone[mine]
            both, low = [(f[at], r[at]) for f, r in crossing], lower[at]
            if not self.joint:
                share, fill, batten = zones.share[z], zones.part.resistance[z], zones.batten[z]
                both = [each for f, r in both for each in ((f * (1 - share), r + fill), (f * share, r + batten))]
                low = low + zones.lower[z]
            start = self.rule.at_least(sum(f * r for f, r in both), low, self.bare_target)
            need[mine] = self.rule.needed(both, low, self.bare_target, start)
        return need - self.surfaces

    def operating(self, skin: SkinClass, both: Array, stop: NDArray | int) -> Array | float:
        """The least that heat lost adds for cores and zones with the skins before stop; both: mean + lower of each."""
        return self.follow.operating(skin.part.resistance[np.maximum(stop, 1) - 1] + both / 2 + self.surfaces)

    def check(self, need: Array, mean: Array, lower: Array) -> None:
        """Unsafe where the method could refuse a wall with as much plain resistance as it needs, surfaces aside.

        R'/R'' <= (p + mean)/(p + lower), falling in p: safe where that holds at the least p that is warm enough.
        """
        p = need + self.surfaces
        if (p + mean > (steady.LARGEST_RATIO - 1e-9) * (p + lower)).any():
            raise Unsafe


def surfaces(choices: Choices) -> float:
    """Both surface resistances of the brief's climate [m2K/W]."""
    given = choices.brief.climate
    inside = R_SI["horizontal"] if given.surface_r_inside is None else given.surface_r_inside
    outside = R_SI["horizontal"] if given.surface_r_outside is None else given.surface_r_outside
    return inside + outside


def bare_target(choices: Choices, target: float) -> float:
    """What U may be before corrections: point bridges add a constant, the others never subtract."""
    fixed = sum(each.number_per_m2 * each.chi_w_k for each in choices.brief.corrections.point)
    return max(target - fixed, 1e-9)
