"""Strength classes of structural softwood: EN 338."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from ..batch import Array

MPA, GPA = 1e6, 1e9


@dataclass(frozen=True)
class Timber:
    """Properties of a strength class, or of n studs as arrays (n,). Stresses and moduli in Pa.

    Characteristic values unless named mean. Source: EN 338:2016 (from memory; consistent with EN 384).
    """

    bending: float | Array  # f_m,k
    tension: float | Array  # f_t,0,k
    compression: float | Array  # f_c,0,k
    compression_across: float | Array  # f_c,90,k
    shear: float | Array  # f_v,k
    modulus: float | Array  # E_0,mean
    modulus_05: float | Array  # E_0,05
    modulus_across: float | Array  # E_90,mean
    shear_modulus: float | Array  # G_mean
    density_k: float | Array  # rho_k, kg/m3
    density: float | Array  # rho_mean, kg/m3


CLASSES = {
    "C16": Timber(
        16 * MPA, 8.5 * MPA, 17 * MPA, 2.2 * MPA, 3.2 * MPA, 8 * GPA, 5.4 * GPA, 0.27 * GPA, 0.50 * GPA, 310, 370
    ),
    "C18": Timber(
        18 * MPA, 10 * MPA, 18 * MPA, 2.2 * MPA, 3.4 * MPA, 9 * GPA, 6.0 * GPA, 0.30 * GPA, 0.56 * GPA, 320, 380
    ),
    "C24": Timber(
        24 * MPA, 14.5 * MPA, 21 * MPA, 2.5 * MPA, 4.0 * MPA, 11 * GPA, 7.4 * GPA, 0.37 * GPA, 0.69 * GPA, 350, 420
    ),
}


def timber(names: Sequence[str]) -> Timber:
    """The properties of n studs (n,), each of a named class. ValueError names a class that is not here."""
    unknown = sorted(set(names) - CLASSES.keys())
    if unknown:
        raise ValueError(f"no values for strength class {unknown[0]!r}; expected one of {', '.join(CLASSES)}")
    rows = [CLASSES[name] for name in names]
    return Timber(*(np.array([getattr(row, each.name) for row in rows], float) for each in fields(Timber)))
