"""A wall type read back from its IFC4 file, so that what was written can be compared with what was meant."""

from __future__ import annotations

import re
from typing import Any

from materials.errors import InputError

from . import terms
from .record import Constituent, Substance, TypeLayer, WallType

SCHEMA_LINE = re.compile(rb"FILE_SCHEMA[^']*'([^']*)")
LONGEST_SCHEMA = 40  # letters


def read_wall_type(data: bytes) -> WallType:
    """The record in a file of `wall_type_ifc` (lengths in mm, the other units as written there).

    InputError where the bytes are no IFC4 file with one wall type made of material layers.
    """
    file = _opened(data)
    try:
        return _wall(file)
    except InputError:  # which is a ValueError, and says more
        raise
    except (AttributeError, TypeError, ValueError, RuntimeError, RecursionError):  # missing, or of another kind
        raise InputError("expected a wall type as this program writes it: the file is cut off or changed") from None


def _wall(file: Any) -> WallType:
    kind = _only(file, "IfcWallType")
    layers = _layer_set(kind)
    values = _values([(each.Name, each.HasProperties) for each in kind.HasPropertySets or ()], terms.WALL)
    return WallType(
        project=_only(file, "IfcProject").Name,
        name=kind.Name,
        tag=kind.Tag,
        framed=kind.PredefinedType == "ELEMENTEDWALL",
        layers=tuple(_layer(each) for each in layers.MaterialLayers),
        **values,
    )


def _opened(data: bytes) -> Any:
    ifc = terms.library()
    named = SCHEMA_LINE.search(data)
    if named and len(named[1]) > LONGEST_SCHEMA:  # the library comes down with the program on a name of some hundred
        raise InputError(f"a schema whose name has {len(named[1])} letters: expected {terms.SCHEMA}")
    try:
        file = ifc.file.from_string(data.decode("ascii"))
        schema = file.schema
    except (RuntimeError, ValueError, ifc.Error):
        raise InputError("expected an IFC4 file (ISO 10303-21): it cannot be read as one") from None
    if schema != terms.SCHEMA:
        raise InputError(f"schema {schema}: expected {terms.SCHEMA}")
    return file


def _only(file: Any, entity: str) -> Any:
    entities = file.by_type(entity)
    if len(entities) != 1:
        raise InputError(f"{len(entities)} entities {entity}: expected 1")
    return entities[0]


def _layer_set(kind: Any) -> Any:
    materials = [each.RelatingMaterial for each in kind.HasAssociations if each.is_a("IfcRelAssociatesMaterial")]
    if len(materials) != 1 or not materials[0].is_a("IfcMaterialLayerSet"):
        raise InputError("expected one IfcMaterialLayerSet with the IfcWallType")
    return materials[0]


def _values(sets: list[tuple[str, Any]], table: tuple[terms.Term, ...]) -> dict[str, Any]:
    held = {(name, each.Name): each for name, properties in sets for each in properties}
    by_field = {term.field: held.get((term.set, term.name)) for term in table}
    return {field: each.NominalValue.wrappedValue for field, each in by_field.items() if each is not None}


def _described(definition: Any) -> list[tuple[str, Any]]:
    return [(each.Name, each.Properties) for each in definition.HasProperties]


def _layer(layer: Any) -> TypeLayer:
    return TypeLayer(
        role=layer.Name,
        thickness_mm=layer.LayerThickness,
        category=layer.Category,
        ventilated=layer.IsVentilated if isinstance(layer.IsVentilated, bool) else None,
        material=_substance(layer.Material),
        **_values(_described(layer), terms.LAYER),
    )


def _substance(material: Any) -> Substance:
    sets = _described(material)
    links = [each for name, properties in sets if name == terms.COMPOSITE for each in properties]
    parts = [each for link in links for each in link.PropertyReference.MaterialConstituents]
    return Substance(
        name=material.Name,
        category=material.Category,
        constituents=tuple(_constituent(each) for each in parts),
        **_values(sets, terms.MATERIAL),
    )


def _constituent(part: Any) -> Constituent:
    sizes = [each for name, properties in _described(part) if name == terms.FRAMING for each in properties]
    return Constituent(
        name=part.Name,
        fraction=part.Fraction,
        material=_substance(part.Material),
        sizes=tuple((each.Name, each.NominalValue.wrappedValue) for each in sizes),
    )
