"""A wall at a glance: its name, key figures and drawing, for the page to show before the whole panel has come."""

from __future__ import annotations

from typing import Any

from optimiser.handover.drawing.section import section_svg
from optimiser.search.landmarks import standing_out

from ..rows.choose import by_id, of_target
from ..wall.facts import key_figures
from ..wall.shown import DRAWING_WIDTH, wall_title


def glance(workspace: Any, run: str | None, wall: str) -> dict[str, Any] | None:
    """What the head of the panel says of a wall of the front, word for word; None where there is none of that name.

    `name` and `in_short` are plain text, `figures` pairs of value and label, `svg` the section.
    """
    judged = workspace.wall(run, wall)
    if judged is None:
        return None
    source = workspace.source(run)
    row = by_id(source.rows, wall)
    names = standing_out(of_target(source.rows, row.get("target")), source.asked)
    lost = workspace.floor_lost(judged.thickness_mm, source.brief)
    return {
        "name": wall_title(row, names),
        "in_short": row.get("in_short") or "",
        "figures": key_figures(judged, lost, source.currency, source.asked),
        "svg": section_svg(judged.wall, width_px=DRAWING_WIDTH, prefix="wall"),
    }
