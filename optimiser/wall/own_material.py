"""A material of one's own, as `[materials.NAME]` of a build-up or of a brief writes it."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from materials.catalogue import Catalogue
from materials.errors import InputError, explain, nearest
from materials.models import Material


def own_material(key: str, values: Any, catalogue: Catalogue, place: str) -> Material:
    """A material of a file's own, from its table: its values, and those of the material that it is `like`."""
    if not isinstance(values, dict):
        raise InputError(f"{place}: materials.{key} must be a table of values, e.g. conductivity_w_mk = 0.038")
    values = dict(values)
    like = values.pop("like", None)
    base: dict[str, Any] = {}
    if like is not None:
        if str(like) not in catalogue.materials:
            hint = nearest(str(like), catalogue.materials)
            raise InputError(f"{place}: materials.{key}, like = {like!r} is not in the catalogue{hint}")
        base = catalogue.materials[str(like)].model_dump(exclude={"sources"})
        if "conductivity_declared_w_mk" in values:
            base["conductivity_w_mk"] = None
        if "density_kg_m3" in values:
            base["density_by_depth"] = ()
    base["key"] = key
    base.setdefault("name", key.replace("-", " "))
    try:
        return Material(**(base | values))
    except ValidationError as error:
        raise explain(error, f"{place}: [materials.{key}]") from None
