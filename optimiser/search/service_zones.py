"""Service zones for the exact search: battens and fill together, and groups of them that are bounded at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..batch import Array
from ..heat.steady import side_by_side
from ..space.choices import Choices
from ..template import AT, FILL_OF, SERVICE_FILL, SERVICE_ZONE, VARIABLES
from .bounds import worth_combining
from .parts import Figures, WallPart, figures_of


@dataclass(frozen=True)
class Services:
    """Service zones: battens' share of the area (m,), resistance through fill (in `part`) and through batten (m,)."""

    part: WallPart
    share: Array
    batten: Array
    lower: Array  # (m,) resistance of the layer, fill and batten side by side
    raw: int

    @property
    def mean(self) -> Array:
        """(m,) resistance averaged by area."""
        return (1 - self.share) * self.part.resistance + self.share * self.batten


def services(choices: Choices, follow: Figures, thin: bool = True) -> Services:
    """All service zones; none at all is one of them."""
    zone, fill = AT[SERVICE_ZONE], AT[FILL_OF[SERVICE_ZONE]]
    table = choices.tables[SERVICE_FILL]
    present = choices.column[SERVICE_ZONE]["present"]
    pairs = [(z, f) for z in range(len(present)) for f in range(len(choices.fills[SERVICE_FILL]))]
    pairs = [(z, f) for z, f in pairs if (table.fits[f, z] if present[z] else f == 0)]
    x = np.zeros((len(pairs), len(VARIABLES)), np.int32)
    x[:, zone], x[:, fill] = np.array(pairs).T
    figures, properties = np.empty((len(x), len(follow.keys))), np.empty((len(x), 5))
    for rows, batch in choices.batches(x, (SERVICE_ZONE,)):
        member = batch.member_of(zone)
        figures[rows] = figures_of(batch, follow, (zone,))
        columns = (member.fraction, member.resistance, side_by_side(batch), batch.resistance[:, zone], member.width)
        properties[rows] = np.stack(columns, axis=1)
    share, batten, lower, fill, width = properties.T
    part = WallPart(x, figures, fill)
    alive = np.ones(len(x), bool)
    if thin:  # battens displace each other within one width and spacing
        groups = np.unique(np.stack([share, width], axis=1), axis=0, return_inverse=True)[1].ravel()
        alive = worth_combining(figures, np.stack([fill, batten], axis=1), len(follow.objectives), groups)
    return Services(part.rows(alive), share[alive], batten[alive], lower[alive], len(x))


@dataclass(frozen=True)
class Groups:
    """Service zones of one depth taken together: the best that any of them offers."""

    of: NDArray[np.integer]  # (m,) group of each service zone
    size: NDArray[np.integer]  # (g,)
    figures: Array  # (g, k) least
    mean: Array  # (g,) largest
    lower: Array  # (g,) largest


def grouped(zones: Services) -> Groups:
    """Group service zones by their resistance, about six groups."""
    order = np.argsort(zones.mean, kind="stable")
    of = np.empty(len(order), int)
    of[order] = np.arange(len(order)) * min(6, len(order)) // len(order)
    count = of.max() + 1
    rows = [np.flatnonzero(of == group) for group in range(count)]
    return Groups(
        of,
        np.array([len(each) for each in rows]),
        np.array([zones.part.figures[each].min(axis=0) for each in rows]),
        np.array([zones.mean[each].max() for each in rows]),
        np.array([zones.lower[each].max() for each in rows]),
    )


def joint_service(choices: Choices) -> bool:
    """Whether battens of the service zone may stand on a frame's line: then they are part of the core."""
    return choices.brief.slot(SERVICE_ZONE).axis == "vertical" and choices.brief.framing.fraction is None
