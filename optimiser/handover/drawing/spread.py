"""Labels on one line that must not collide: moved apart as little as possible."""

from __future__ import annotations

import itertools


def spread(centres: list[float], widths: list[float], low: float, high: float, gap: float = 3.0) -> list[float]:
    """New centres [px], in the same order, so that labels of those widths keep `gap` and stay in low..high.

    `centres` must rise. Neighbours that collide form a block that sits at the mean of what its labels want.
    """
    blocks: list[tuple[list[int], float]] = []  # the labels in a block, the centre of its first label
    for index, wish in enumerate(centres):
        members, start = [index], wish
        while True:
            half = widths[members[0]] / 2
            room = sum(widths[each] + gap for each in members) - gap
            start = min(max(start, low + half), high - room + half)
            if not blocks or _end(*blocks[-1], widths, gap) + gap <= start - half + 1e-9:
                break
            members = blocks.pop()[0] + members
            wishes = [centres[each] - step for each, step in zip(members, _steps(members, widths, gap), strict=True)]
            start = sum(wishes) / len(wishes)
        blocks.append((members, start))
    placed = [0.0] * len(centres)
    for members, start in blocks:
        for each, step in zip(members, _steps(members, widths, gap), strict=True):
            placed[each] = start + step
    return placed


def _steps(members: list[int], widths: list[float], gap: float) -> list[float]:
    """Distances [px] of a block's labels from its first one."""
    steps = [0.0]
    for left, right in itertools.pairwise(members):
        steps.append(steps[-1] + (widths[left] + widths[right]) / 2 + gap)
    return steps


def _end(members: list[int], start: float, widths: list[float], gap: float) -> float:
    return start + _steps(members, widths, gap)[-1] + widths[members[-1]] / 2
