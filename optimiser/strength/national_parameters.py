"""What a national annex or an engineer may choose: partial factors, combination factors, load durations, limits."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from ..batch import Array

CAUTION = (
    "Preliminary: this check belongs to a licensed engineer. Racking, uplift, lintels, connections and fire resistance "
    "are not checked; local codes govern."
)

DURATIONS = ("permanent", "long", "medium", "short", "instantaneous")  # load-duration classes, longest first

# k_mod of solid timber by service class, in the order of DURATIONS. Source: EN 1995-1-1, table of k_mod (from memory).
K_MOD = {
    1: (0.60, 0.70, 0.80, 0.90, 1.10),
    2: (0.60, 0.70, 0.80, 0.90, 1.10),
    3: (0.50, 0.55, 0.65, 0.70, 0.90),
}


@dataclass(frozen=True)
class Settings:
    """The choices of the check; the defaults are the recommended values of EN 1990 and EN 1995-1-1 (from memory).

    Every one may be set by a brief. psi0 of imposed loads is that of dwellings and offices, of snow that of sites
    below 1000 m.
    """

    gamma_g: float = 1.35  # permanent actions, unfavourable (EN 1990, 6.10)
    gamma_q: float = 1.5  # variable actions
    gamma_m: float = 1.30  # solid timber
    psi0_imposed: float = 0.7
    psi0_snow: float = 0.5
    psi0_wind: float = 0.6
    duration_imposed: str = "medium"
    duration_snow: str = "short"
    duration_wind: str = "short"
    k_sys: float = 1.0  # system strength of bending and compression along the grain; 1.1 where load is shared
    k_c90: float = 1.25  # bearing of softwood on a continuous plate
    k_cr: float = 0.67  # share of the width that carries shear
    plate_thickness: float = 0.045  # m; k_c90 holds where the studs stand clear of each other by twice this
    deflection_limit: float = 300.0  # the stud's length over its largest horizontal deflection

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if each.name.startswith("duration"):
                if value not in DURATIONS:
                    raise ValueError(f"{each.name} = {value!r}: expected one of {', '.join(DURATIONS)}")
            elif each.name.startswith("psi0"):
                if not 0 <= value <= 1:
                    raise ValueError(f"{each.name} = {value!r}: expected a share from 0 to 1")
            elif not 0 < value < np.inf:
                raise ValueError(f"{each.name} = {value!r}: expected a number above 0")


RECOMMENDED = Settings()


def k_mod(service_class: Array, duration: str) -> Array:
    """Modification factor k_mod (n,) of solid timber [-].

    service_class: (n,) 1, 2 or 3; duration: the shortest load-duration class among the actions that act together.
    Source: EN 1995-1-1 (from memory).
    """
    given = np.asarray(service_class)
    if not np.isin(given, tuple(K_MOD)).all():
        raise ValueError(f"service class must be one of {', '.join(map(str, K_MOD))}")
    column = np.array([row[DURATIONS.index(duration)] for row in K_MOD.values()])
    return column[given.astype(int) - 1]
