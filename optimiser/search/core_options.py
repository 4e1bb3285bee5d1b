"""What cores are laid of, for the exact search: the frames and main fills that no other makes superfluous."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..checks.common.search_judgement import Reads
from ..space.choices import Choices
from ..stopping import ask
from ..template import CORE, GAP_FILL, MAIN_FILLS, ZONE
from ..wall.scores import WHOLE_LIFE
from .bounds import MARGIN, worth_combining
from .parts import QUANTITY, Figures

LEAST_SHARE = 0.3  # of a zone's area that is fill, at the very least: what a difference of fills is sure to count
SAME_FRAME = ("thickness", "width", "spacing", "offset", "extra", "resistance", "sd", "sd_humid")


def frames(choices: Choices, name: str, follow: Figures, reads: Reads | None = None) -> NDArray:
    """Options of a frame slot (their numbers) without those that another of the very same geometry displaces."""
    column = choices.column[name]
    geometry = np.nan_to_num(np.stack([column[key] for key in SAME_FRAME], axis=1), nan=-1.0)
    code = np.zeros(len(geometry)) if reads is None else reads.code
    groups = np.unique(np.column_stack([np.round(geometry, 12), code]), axis=0, return_inverse=True)[1].ravel()
    better = np.zeros((len(groups), 1)) if reads is None or not reads.larger.size else reads.larger
    share = column["width"] / column["spacing"] + column["extra"]
    values = [
        np.zeros(len(share)) if key == "thickness_mm" else share * sum(column[each] for each in QUANTITY[key])
        for key in follow.keys
    ]
    figures = np.stack(values, axis=1) * follow.scale
    return np.flatnonzero(worth_combining(figures, better, len(follow.objectives), groups))


def fills(choices: Choices, follow: Figures) -> NDArray:
    """Numbers of the main fills without those that another displaces at every depth, in every zone.

    Only a fill of the same behaviour (loose, batt, air) that fits wherever this one does can displace it.
    """
    count = len(choices.fills[GAP_FILL])
    curves = []
    for number in range(count):
        ask()
        curves.append(_fill_curves(choices, number, follow))
    dropped: set[int] = set()
    for number in range(count):
        ask()
        for other in range(count):
            if (
                other != number
                and other not in dropped
                and _displaces(curves[other], curves[number], len(follow.objectives))
            ):
                dropped.add(number)
                break
    return np.array([number for number in range(count) if number not in dropped])


def _fill_curves(choices: Choices, number: int, follow: Figures) -> tuple:
    """(behaviour, fits, resistances, figures by place (places, k), least depth of each place) of one fill."""
    kinds = choices.kinds[GAP_FILL]
    fits, resistance, figures, depths = [], [], [], []
    for name in MAIN_FILLS:
        if number >= len(choices.fills[name]):
            continue  # air stands on the gap's list only
        table, thickness = choices.tables[name], choices.column[ZONE[name]]["thickness"]
        fits.append(table.fits[number])
        resistance.append(table.resistance[number])
        if kinds.loose[number]:
            continue
        mass = kinds.density[number, 0] * thickness
        by_key = {
            "thickness_mm": np.zeros(len(thickness)),
            "cost_per_m2": table.price[number] + table.labour[number],
            "carbon_kgco2e_m2": kinds.carbon_per_kg[number] * mass,
            WHOLE_LIFE: kinds.carbon_per_kg[number] * mass,
            "weight_kg_m2": mass,
        }
        figures.append(np.stack([by_key[key] for key in follow.keys], axis=1)[thickness > 0])
        depths.append(thickness[thickness > 0])
    if kinds.loose[number]:
        used = [choices.column[name]["thickness"] for name in CORE]
        least = min(float(each[each > 0].min()) for each in used if (each > 0).any())
        figures = [per_m3(choices, number, follow) * least / follow.scale]
    behaviour = (bool(kinds.loose[number]), bool(kinds.air[number]))
    return behaviour, np.concatenate(fits), np.concatenate(resistance), np.concatenate(figures) * follow.scale


def per_m3(choices: Choices, number: int, follow: Figures) -> Array:
    """What a m3 of a loose main fill brings (whole mm of void depth, k) in steps; 0 for other fills."""
    kinds = choices.kinds[GAP_FILL]
    density = kinds.density[number]
    if not kinds.loose[number]:
        return np.zeros((len(density), len(follow.keys)))
    by_key = {
        "thickness_mm": np.zeros(len(density)),
        "cost_per_m2": kinds.price_per_kg[number] * density + kinds.price_per_m3[number] + kinds.labour_per_m3[number],
        "carbon_kgco2e_m2": kinds.carbon_per_kg[number] * density,
        WHOLE_LIFE: kinds.carbon_per_kg[number] * density,
        "weight_kg_m2": density,
    }
    return np.stack([by_key[key] for key in follow.keys], axis=1) * follow.scale


def _displaces(other: tuple, one: tuple, objectives: int) -> bool:
    if other[0] != one[0] or other[0][1] or len(other[1]) != len(one[1]):
        return False
    fits = (other[1] | ~one[1]).all()
    warmer = (other[2] >= one[2]).all()
    if not (fits and warmer and (other[3] <= one[3]).all()):
        return False
    return bool((other[3] * LEAST_SHARE <= one[3] * LEAST_SHARE - MARGIN)[:, :objectives].all(axis=0).any())
