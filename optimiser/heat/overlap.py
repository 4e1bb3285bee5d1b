"""Members on one line: the shares of the wall in which they overlap, geometry alone.

Studs of an outer and an inner frame on one axis and spacing, and the ties between them, do not bridge the wall
independently: what lies behind what is known. This module turns widths and offsets into path fractions.
"""

from __future__ import annotations

import numpy as np

from ..batch import Array, Members


def overlaps(members: list[Members]) -> tuple[Array, np.ndarray]:
    """Shares of the area by which members are crossed together.

    members: k of them, on one line (same axis, same spacing).
    Returns fraction (paths, n), summing to 1, and inside (paths, k, n) of bool: whether the path runs through that
    member. Paths that no wall of the batch has may carry fraction 0.
    """
    spacing = members[0].spacing
    widths = np.stack([each.width for each in members])
    centres = np.stack([each.centre for each in members])
    length, inside = (_nested if (centres == centres[0]).all() else _staggered)(spacing, widths, centres)
    fraction, inside = _split_by_share(length / spacing, inside, members)
    return _add_extras(fraction, inside, members)


def _nested(spacing: Array, widths: Array, centres: Array) -> tuple[Array, np.ndarray]:
    """Lengths (segments, n) of the stretches between the edges of members on one centre, and who covers them."""
    edge = np.concatenate([np.zeros_like(spacing)[None], np.sort(widths, axis=0), spacing[None]])
    return np.diff(edge, axis=0), edge[:-1, None] < widths


def _staggered(spacing: Array, widths: Array, centres: Array) -> tuple[Array, np.ndarray]:
    """The same for members anywhere in the bay."""
    edge = np.sort(np.concatenate([centres - widths / 2, centres + widths / 2]) % spacing, axis=0)
    edge = np.concatenate([edge, edge[:1] + spacing])
    middle = (edge[1:] + edge[:-1]) / 2
    away = np.abs((middle[:, None] - centres + spacing / 2) % spacing - spacing / 2)
    return np.diff(edge, axis=0), away < widths / 2


def _split_by_share(fraction: Array, inside: np.ndarray, members: list[Members]) -> tuple[Array, np.ndarray]:
    """A tie fills part of the height only: split its stretches into with and without."""
    for number, each in enumerate(members):
        if (each.share >= 1).all():
            continue
        within = inside[:, number]
        absent = inside.copy()
        absent[:, number] = False
        with_it = np.where(within, fraction * each.share, fraction)
        without = np.where(within, fraction * (1 - each.share), 0.0)
        used = within.any(axis=1)  # stretches that the tie crosses in no wall need no second path
        fraction = np.concatenate([with_it, without[used]])
        inside = np.concatenate([inside, absent[used]])
    return fraction, inside


def _add_extras(fraction: Array, inside: np.ndarray, members: list[Members]) -> tuple[Array, np.ndarray]:
    """Plates and noggings lie in the clear bay; those of both frames line up, so they nest in each other."""
    extras = np.stack([each.extra for each in members])
    if not extras.any():
        return fraction, inside
    clear = np.where(inside.any(axis=1), 0.0, fraction)
    total = clear.sum(axis=0)
    fraction = fraction - clear * np.divide(extras.max(axis=0), total, out=np.zeros_like(total), where=total > 0)
    steps = np.concatenate([np.zeros_like(total)[None], np.sort(extras, axis=0)])
    added = np.diff(steps, axis=0)
    used = added.any(axis=1)  # members of one extra share a step
    return np.concatenate([fraction, added[used]]), np.concatenate([inside, (steps[:-1, None] < extras)[used]])
