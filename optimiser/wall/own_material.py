"""A material of one's own, as `[materials.NAME]` of a build-up or of a brief writes it."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from materials.catalogue import Catalogue
from materials.errors import InputError, explain, nearest
from materials.models import Material
from materials.slips import MILLIWATTS, TENFOLD, TENTH, Bounds

CONDUCTIVITIES = {"conductivity_w_mk", "conductivity_declared_w_mk"}
BEYOND = (0.6, 1.6)  # of the least and largest of the catalogue's materials of the kind
SLIPS = (TENFOLD, TENTH, MILLIWATTS)
FIXING = "fixing"  # steel and tape: no range of one kind
HEAVY, MOST_OF_LIGHT = 1000.0, 2.0  # kg/m3, W/mK: what is lighter than water holds air and conducts less


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
        material = Material(**(base | values))
    except ValidationError as error:
        raise explain(error, f"{place}: [materials.{key}]") from None
    for name in CONDUCTIVITIES & values.keys():
        check_own(material, catalogue, f"{place}: [materials.{key}], {name} = {values[name]:g}")
    return material


def check_own(material: Material, catalogue: Catalogue, place: str) -> None:
    """InputError where a conductivity that a file states is none of the material's kind, nor of anything so light."""
    value = material.design_conductivity
    usual = [
        each.design_conductivity
        for each in catalogue.materials.values()
        if each.kind == material.kind and each.design_conductivity is not None and each.kind != FIXING
    ]
    if material.kind is not None and usual:
        low, high = BEYOND[0] * min(usual), BEYOND[1] * max(usual)
        bounds = Bounds(round(low, 4), round(high, 4), f"W/mK for a {material.kind}", SLIPS)
    elif (material.density_kg_m3 or HEAVY) < HEAVY:
        bounds = Bounds(0.0, MOST_OF_LIGHT, f"W/mK for {material.density_kg_m3:g} kg/m3", SLIPS)
    else:
        return
    if not bounds.holds(value):
        raise InputError(f"{place}: {bounds.words(value)}")
