"""Materials of a brief's own, `[materials.NAME]`: as in a build-up, for all that is read with the brief."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from pydantic import Field, SerializerFunctionWrapHandler, model_serializer, model_validator

from materials.catalogue import Catalogue, load_catalogue
from materials.errors import Checked, InputError, nearest
from materials.models import Material

from ..template import NONE, USE_OF
from ..wall.buildup import AIR
from ..wall.own_material import own_material

KEY = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
MOST_OWN = 500
USES = tuple(dict.fromkeys((*USE_OF.values(), "tie")))


class OwnMaterials(Checked):
    """The tables of `[materials]`; a table is a material, by its name, and keeps what was stated of it."""

    own: dict[str, dict[str, Any]] = Field(default_factory=dict)

    @model_validator(mode="before")
    @classmethod
    def _tables(cls, value: Any) -> Any:
        if not isinstance(value, Mapping):
            return value
        tables = {key: each for key, each in value.items() if isinstance(each, Mapping)}
        keys = {key: each for key, each in value.items() if key not in tables}
        return keys | ({"own": {key: dict(each) for key, each in tables.items()}} if tables else {})

    @model_serializer(mode="wrap")
    def _as_written(self, write: SerializerFunctionWrapHandler) -> dict[str, Any]:
        out = write(self)
        return {key: each for key, each in out.items() if key != "own"} | out.get("own", {})


def own_of(tables: Mapping[str, Mapping[str, Any]], place: str) -> dict[str, Material]:
    """The materials of a brief's tables by name. InputError names table, key and what was expected."""
    if len(tables) > MOST_OWN:
        raise InputError(f"{place}: {len(tables)} materials of its own; expected at most {MOST_OWN}")
    shipped, materials = load_catalogue(), {}
    for key, table in tables.items():
        if not KEY.fullmatch(key) or key in (AIR, NONE):
            raise InputError(f"{place}: [materials.{key}]: expected a name of letters, digits and . _ - (not {AIR})")
        material = own_material(key, table, shipped, place)
        if material.kind is None or not material.uses:
            lacking = "kind" if material.kind is None else "uses"
            raise InputError(
                f"{place}: [materials.{key}]: {lacking} is missing; say what it is and where it may stand "
                '(kind = "membrane", uses = ["airtight layer"]), or like = "..." a material of the catalogue'
            )
        for use in material.uses:
            if use not in USES:
                raise InputError(
                    f'{place}: [materials.{key}], uses: "{use}" is no place in a wall{nearest(use, USES)}; '
                    f"choose among {', '.join(USES)}"
                )
        materials[key] = material
    return materials


def catalogue_of(brief: Any) -> Catalogue:
    """The catalogue that a brief is read with: the shipped one, with the materials of its own."""
    tables = {} if brief is None else brief.materials.own
    return load_catalogue().extended(own_of(tables, "the brief")) if tables else load_catalogue()
