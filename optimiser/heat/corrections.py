"""Corrections to the thermal transmittance: ISO 6946, annex on corrections."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

AIR_GAP = (0.0, 0.01, 0.04)  # W/m2K by level 0, 1, 2
FASTENER_ALPHA = 0.8
LEAST_METAL = 1.0  # W/mK; fasteners that conduct less are not corrected for


def air_gap(level: int, r_layer: ArrayLike, r_unbridged: ArrayLike) -> NDArray:
    """dU_g = dU'' (R1 / R_T,h)^2 [W/m2K] for gaps in an insulation layer.

    level: 0, 1 or 2; r_layer: R1 of the layer with the gaps [m2K/W]; r_unbridged: R_T,h [m2K/W].
    """
    return AIR_GAP[level] * (np.asarray(r_layer, float) / np.asarray(r_unbridged, float)) ** 2


def fasteners(
    number: ArrayLike,
    conductivity: ArrayLike,
    area: ArrayLike,
    thickness: ArrayLike,
    r_layer: ArrayLike,
    r_unbridged: ArrayLike,
    length: ArrayLike | None = None,
) -> NDArray:
    """dU_f = alpha lambda A n / d0 (R1 / R_T,h)^2 [W/m2K] for metal fasteners through an insulation layer.

    number: n [1/m2]; conductivity [W/mK]; area: A of one [m2]; thickness: d0 of the layer [m]; length: d1 in the
    layer [m] when recessed (alpha = 0.8 d1/d0). None below 1 W/mK.
    """
    d0 = np.asarray(thickness, float)
    alpha = FASTENER_ALPHA * (1.0 if length is None else np.asarray(length, float) / d0)
    lam = np.asarray(conductivity, float)
    ratio = np.asarray(r_layer, float) / np.asarray(r_unbridged, float)
    return np.where(lam < LEAST_METAL, 0.0, alpha * lam * np.asarray(area) * np.asarray(number) / d0 * ratio**2)


def point_bridges(number: ArrayLike, chi: ArrayLike) -> NDArray:
    """dU = n chi [W/m2K] for point fasteners of point transmittance chi [W/K]."""
    return np.asarray(number, float) * np.asarray(chi, float)
