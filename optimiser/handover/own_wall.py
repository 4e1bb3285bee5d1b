"""A wall of one's own to be handed over: what the documents read of a study, from a build-up file and a brief."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from materials.catalogue import Catalogue
from materials.errors import InputError

from ..brief.brief import Brief
from ..wall.buildup import BuildUp
from ..wall.pricing import Pricing

MOST_LETTERS = 80  # of what a wall is called


@dataclass(frozen=True)
class OwnWall:
    """A wall as its brief judges it, in place of a study's front. digests: of the brief's lists."""

    name: str
    wall: BuildUp
    brief: Brief
    pricing: Pricing
    catalogue: Catalogue
    digests: Mapping[str, str]

    @property
    def wall_id(self) -> str:
        """What its documents call it: the file's name, in letters that a study's ids have."""
        return re.sub(r"[^A-Za-z0-9._-]+", "-", self.name).strip("-._")[:MOST_LETTERS] or "wall"

    @property
    def summary(self) -> dict[str, Any]:
        return {"price_lists": dict(self.digests)}

    def row(self, wall: str) -> dict[str, Any]:
        """What a row of a front would say that documents read: the target; InputError for another wall."""
        if wall != self.wall_id:
            raise InputError(f'no wall "{wall}" here; expected "{self.wall_id}"')
        return {"id": wall, "target": self.brief.target.u_value}

    def buildup(self, wall: str) -> BuildUp:
        """The wall."""
        self.row(wall)
        return self.wall
