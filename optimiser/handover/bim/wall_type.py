"""The chosen wall as a type for building models: an IFC4 file with its layers, materials and what was judged."""

from __future__ import annotations

import json
from uuid import UUID, uuid5

from materials.errors import InputError

from ...brief.brief import Brief
from ...checks.judge import Judged
from ...wall.buildup import BuildUp
from .read import read_wall_type
from .record import wall_type
from .write import written

__all__ = ["read_wall_type", "wall_type_ifc"]

FAMILY = UUID("6f6d2f0e-6b0b-5a53-9d3c-2f1f4f0f7a11")  # of all walls written here; fixed, so that identifiers are


def wall_type_ifc(judgement: Judged, brief: Brief | None = None, wall_id: str | None = None) -> bytes:
    """The judged wall as an IfcWallType in a file of its own (IFC4, ISO 16739-1; lengths in mm).

    brief: names the project and the frame that bears the load. wall_id: the type's tag and reference; its name where
    there is none. Identifiers follow from the build-up and wall_id alone: the same wall has the same, and equal input
    gives equal bytes. InputError for a roof or a floor, and where the library is missing (extra `bim`).
    """
    wall = judgement.wall
    if wall.element != "wall":
        raise InputError(f'{wall.name}: element = "{wall.element}"; a wall type can be written of a wall only')
    return written(wall_type(judgement, brief, wall_id), _seed(wall, wall_id))


def _seed(wall: BuildUp, wall_id: str | None) -> UUID:
    content = json.dumps([wall.model_dump(mode="json"), wall_id], sort_keys=True)
    return uuid5(FAMILY, content)
