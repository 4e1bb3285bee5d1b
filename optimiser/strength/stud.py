"""Preliminary check of a wall's studs: EN 1995-1-1, over arrays. One wall is a batch of one.

Axes: y is bent by wind, through the depth of the wall (the stud's depth h); z lies along the wall (its width b).
A stud is held at both ends and loaded in its axis; floors hung on its face need an engineer.
See settings.CAUTION for what is not checked.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..batch import Array
from .classes import Timber
from .loads import Combination, StudLoads, WallLoads, combinations, stud_loads
from .national_parameters import RECOMMENDED, Settings, k_mod

BETA_C = 0.2  # straightness of solid timber
K_M = 0.7  # redistribution in rectangular sections
STOCKY = 0.3  # relative slenderness below which nothing buckles
SIZE_DEPTH, SIZE_MOST = 0.150, 1.3  # m, -
SPREAD = 0.030  # m by which the bearing length grows on either side

STRENGTH_CHECKS = (
    "buckling through the wall (6.23)",
    "buckling along the wall (6.24)",
    "lateral-torsional buckling (6.35)",
    "bearing on the plate",
    "shear",
)
DEFLECTION = "horizontal deflection"
WIND_ALONE = "wind (characteristic)"


@dataclass(frozen=True)
class Stud:
    """The load-bearing studs of n walls; every value a number or (n,)."""

    depth: ArrayLike  # h [m], through the wall
    width: ArrayLike  # b [m], along the wall
    spacing: ArrayLike  # [m]
    length: ArrayLike  # [m] between the plates: buckling length through the wall
    timber: Timber  # of stud and plate
    service_class: ArrayLike = 2
    restrained: ArrayLike = True  # sheathing holds the stud along the wall over its whole length
    length_along: ArrayLike | None = None  # [m] buckling length along the wall: less than length with braced noggings
    end_distance: ArrayLike = np.inf  # [m] from the stud's face to the nearer end of the plate


@dataclass(frozen=True)
class LoadCase:
    """One check under one combination."""

    combination: str
    check: str

    @property
    def words(self) -> str:
        return f"{self.check} under {self.combination}"


@dataclass(frozen=True)
class Strength:
    """What the check found for n walls and m cases."""

    cases: tuple[LoadCase, ...]  # (m)
    utilisation: Array  # (n, m), 0 where a case does not apply
    applies: Array  # (n, m) bool: the combination's actions are there, and the check has a meaning
    k_c_y: Array  # (n,) buckling through the wall
    k_c_z: Array  # (n,) buckling along the wall, 1 where restrained
    k_crit: Array  # (n,) lateral-torsional buckling, 1 where restrained

    @property
    def largest(self) -> Array:
        """(n,) the largest utilisation; the stud passes at 1 or less."""
        return self.utilisation.max(axis=1)

    @property
    def governing(self) -> np.ndarray:
        """(n,) index of the case with the largest utilisation."""
        return np.where(self.applies, self.utilisation, -1.0).argmax(axis=1)

    @property
    def passes(self) -> np.ndarray:
        return self.largest <= 1.0

    def governing_words(self, wall: int = 0) -> str:
        """The governing case of one wall, in words."""
        return self.cases[self.governing[wall]].words

    def of(self, wall: int = 0) -> list[tuple[LoadCase, float]]:
        """The cases that apply to one wall, with their utilisation."""
        rows = zip(self.cases, self.utilisation[wall], self.applies[wall], strict=True)
        return [(case, float(value)) for case, value, applies in rows if applies]


def slenderness(length: ArrayLike, side: ArrayLike) -> Array:
    """lambda = L / i, i = side / sqrt(12) of a rectangle [-]; side: across the axis of buckling [m]."""
    return np.asarray(length, float) * np.sqrt(12.0) / np.asarray(side, float)


def relative_slenderness(lam: ArrayLike, timber: Timber) -> Array:
    """lambda_rel = lambda / pi sqrt(f_c,0,k / E_0,05) [-]. Source: EN 1995-1-1, (6.21), (6.22)."""
    return np.asarray(lam, float) / np.pi * np.sqrt(np.asarray(timber.compression) / np.asarray(timber.modulus_05))


def instability(relative: ArrayLike) -> Array:
    """k = 0.5 (1 + beta_c (lambda_rel - 0.3) + lambda_rel^2) [-]. Source: EN 1995-1-1, (6.27), (6.28)."""
    rel = np.asarray(relative, float)
    return 0.5 * (1 + BETA_C * (rel - STOCKY) + rel**2)


def buckling_factor(relative: ArrayLike) -> Array:
    """k_c = 1 / (k + sqrt(k^2 - lambda_rel^2)), 1 up to lambda_rel 0.3 [-]. Source: EN 1995-1-1, (6.25), (6.26)."""
    rel = np.maximum(np.asarray(relative, float), STOCKY)
    k = instability(rel)
    return 1 / (k + np.sqrt(k**2 - rel**2))


def size_factor(depth: ArrayLike) -> Array:
    """k_h = min((150 mm / h)^0.2, 1.3), 1 from 150 mm on: small sections of solid timber bend better [-].

    depth: h in bending [m]; for rho_k up to 700 kg/m3. Source: EN 1995-1-1, (3.1).
    """
    return np.clip((SIZE_DEPTH / np.asarray(depth, float)) ** 0.2, 1.0, SIZE_MOST)


def lateral_slenderness(depth: ArrayLike, width: ArrayLike, effective_length: ArrayLike, timber: Timber) -> Array:
    """lambda_rel,m = sqrt(f_m,k / sigma_m,crit), sigma_m,crit = 0.78 b^2 E_0,05 / (h l_ef) [-].

    All [m]; rectangular softwood. Source: EN 1995-1-1, (6.30), (6.32).
    """
    h, b, l_ef = (np.asarray(each, float) for each in (depth, width, effective_length))
    return np.sqrt(np.asarray(timber.bending) * h * l_ef / (0.78 * b**2 * np.asarray(timber.modulus_05)))


def lateral_factor(relative: ArrayLike) -> Array:
    """k_crit: 1 up to lambda_rel,m 0.75, 1.56 - 0.75 lambda_rel,m up to 1.4, 1 / lambda_rel,m^2 beyond [-].

    Source: EN 1995-1-1, (6.34).
    """
    rel = np.asarray(relative, float)
    return np.where(rel <= 0.75, 1.0, np.where(rel <= 1.4, 1.56 - 0.75 * rel, 1 / np.maximum(rel, 1.0) ** 2))


def lateral_length(depth: ArrayLike, length: ArrayLike, length_along: ArrayLike) -> Array:
    """l_ef of a stud under wind: 0.9 of the length between restraints, and 2 h for load on its compressed edge [m].

    With more than one row of restraints the moment between two of them is nearly even: then 1.0 of the length.
    Source: EN 1995-1-1, table of effective lengths; Porteous and Kermani, example 5.7.7, for restraint at mid-height.
    """
    between = np.asarray(length_along, float)
    share = np.where(between < 0.5 * np.asarray(length, float) - 1e-9, 1.0, 0.9)
    return share * between + 2 * np.asarray(depth, float)


def bearing_length(width: ArrayLike, spacing: ArrayLike, end_distance: ArrayLike = np.inf) -> Array:
    """Bearing length of a stud along its plate: b and on either side 30 mm, at most b, half the clear spacing, and
    towards the plate's end the distance to it [m]. Source: EN 1995-1-1, 6.1.5.
    """
    b = np.asarray(width, float)
    side = np.minimum(np.minimum(SPREAD, b), np.maximum(np.asarray(spacing, float) - b, 0.0) / 2)
    return b + side + np.minimum(side, end_distance)


def check(stud: Stud, loads: WallLoads, settings: Settings = RECOMMENDED) -> Strength:
    """Utilisation of n studs by every check under every combination.

    Compression with buckling about both axes and wind bending, (6.23) and (6.24), kept for stocky studs too, where
    (6.19) and (6.20) would allow more; lateral-torsional buckling (6.35) where the sheathing does not hold the stud;
    bearing on the plate; shear; horizontal deflection 5 w L^4 / (384 E I) under characteristic wind, instantaneous.
    k_sys raises bending and compression along the grain, k_h bending. Source: EN 1995-1-1, EN 1990.
    """
    size, acting, load_combinations = _columns(stud, loads, settings)
    stability = k_c_y, k_c_z, k_crit = _stability(size)
    k_mods = np.stack([k_mod(size.service_class[:, 0], each.duration) for each in load_combinations], axis=1)
    strength = _strength(size, acting, k_mods, stability, settings)
    bow = _deflection(size, acting, settings)
    windy = acting.wind > 0
    meaning = (True, True, ~size.restrained & windy, True, windy)  # in the order of STRENGTH_CHECKS
    applies = np.stack([acting.present & each for each in meaning], axis=2).reshape(len(windy), -1)
    applies = np.concatenate([applies, bow > 0], axis=1)
    utilisation = np.where(applies, np.concatenate([strength, bow], axis=1), 0.0)
    cases = (
        *(LoadCase(each.name, name) for each in load_combinations for name in STRENGTH_CHECKS),
        LoadCase(WIND_ALONE, DEFLECTION),
    )
    return Strength(cases, utilisation, applies, k_c_y[:, 0], k_c_z[:, 0], k_crit[:, 0])


def _stability(size: Stud) -> tuple[Array, Array, Array]:
    """k_c,y, k_c,z and k_crit (n, 1)."""
    timber, held = size.timber, size.restrained
    k_c_y = buckling_factor(relative_slenderness(slenderness(size.length, size.depth), timber))
    k_c_z = buckling_factor(relative_slenderness(slenderness(size.length_along, size.width), timber))
    l_ef = lateral_length(size.depth, size.length, size.length_along)
    k_crit = lateral_factor(lateral_slenderness(size.depth, size.width, l_ef, timber))
    return k_c_y, np.where(held, 1.0, k_c_z), np.where(held, 1.0, k_crit)


def _strength(size: Stud, acting: StudLoads, k_mods: Array, stability: tuple, settings: Settings) -> Array:
    """Utilisation (n, cases) at the ultimate limit state: STRENGTH_CHECKS within each combination; k_mods (n, c)."""
    k_c_y, k_c_z, k_crit = stability
    timber, area, modulus = size.timber, size.depth * size.width, size.width * size.depth**2 / 6
    design = k_mods / settings.gamma_m
    shared = design * settings.k_sys
    along = acting.axial / area / (shared * timber.compression)
    bent = acting.wind * size.length**2 / 8 / modulus / (shared * size_factor(size.depth) * timber.bending)
    sheared = 1.5 * acting.wind * size.length / 2 / (settings.k_cr * area) / (design * timber.shear)
    ratios = (
        along / k_c_y + bent,
        along / k_c_z + K_M * bent,
        (bent / k_crit) ** 2 + along / k_c_z,
        acting.axial / (design * _bearing(size, settings)),
        sheared,
    )
    return np.stack(ratios, axis=2).reshape(len(area), -1)


def _bearing(size: Stud, settings: Settings) -> Array:
    """Characteristic resistance (n, 1) of the plate under a stud [N]: k_c,90 f_c,90,k on the spread length."""
    clear = size.spacing - size.width >= 2 * settings.plate_thickness - 1e-9
    k_c90 = np.where(clear, settings.k_c90, np.minimum(settings.k_c90, 1.0))
    length = bearing_length(size.width, size.spacing, size.end_distance)
    return k_c90 * size.timber.compression_across * size.depth * length


def _deflection(size: Stud, acting: StudLoads, settings: Settings) -> Array:
    """Deflection (n, 1) over its limit [-]."""
    inertia = size.width * size.depth**3 / 12
    bow = 5 * acting.wind_characteristic[:, None] * size.length**4 / (384 * size.timber.modulus * inertia)
    return bow / (size.length / settings.deflection_limit)


def _columns(stud: Stud, loads: WallLoads, settings: Settings) -> tuple[Stud, StudLoads, tuple[Combination, ...]]:
    """The studs' values as columns (n, 1), their loads (n, c), and the combinations."""
    along = stud.length if stud.length_along is None else stud.length_along
    sizes = (stud.depth, stud.width, stud.spacing, stud.length, along, stud.end_distance)
    given = [*sizes, stud.service_class, stud.restrained, stud.timber.bending]
    given += [loads.permanent, loads.imposed, loads.snow, loads.wind]
    columns = [each[:, None] for each in np.broadcast_arrays(*(np.atleast_1d(np.asarray(each)) for each in given))]
    depth, width, spacing, length, along, end, service, held = columns[:8]
    if not all((each > 0).all() and np.isfinite(each).all() for each in (depth, width, spacing, length, along)):
        raise ValueError("a stud's depth, width, spacing and lengths must be above 0")
    if not (end >= 0).all():
        raise ValueError("end_distance must not be negative")
    timber = Timber(*(np.asarray(value, float).reshape(-1, 1) for value in vars(stud.timber).values()))
    size = Stud(depth, width, spacing, length, timber, service, held.astype(bool), along, end)
    load_combinations = combinations(settings)
    return size, stud_loads(loads, spacing[:, 0], load_combinations), load_combinations
