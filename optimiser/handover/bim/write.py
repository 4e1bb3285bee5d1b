"""The records of a wall type as an IFC4 file (ISO 16739-1, written as ISO 10303-21): equal bytes for equal records."""

from __future__ import annotations

from typing import Any
from uuid import UUID, uuid5

from . import terms
from .record import Constituent, Substance, TypeLayer, WallType
from .terms import Term

WRITTEN = "2000-01-01T00:00:00"  # a fixed day: the same wall gives the same file


def written(record: WallType, seed: UUID) -> bytes:
    """The file. seed: of the wall; every identifier in the file follows from it."""
    ifc = terms.library()
    return _Writer(ifc, seed).wall(record).to_string().encode("ascii")


class _Writer:
    """One file in the making."""

    def __init__(self, ifc: Any, seed: UUID) -> None:
        self.ifc, self.seed = ifc, seed
        self.file = ifc.file(schema=terms.SCHEMA)
        self.metre: Any = None
        self.made: dict[Substance, Any] = {}

    def wall(self, record: WallType) -> Any:
        self._header()
        project = self._project(record)
        sets = [
            self._rooted("IfcPropertySet", name, Name=name, HasProperties=properties)
            for name, properties in self._properties(record, terms.WALL)
        ]
        kind = self._rooted(
            "IfcWallType",
            "wall type",
            Name=record.name,
            Description=record.caution,
            HasPropertySets=sets,
            Tag=record.tag,
            PredefinedType="ELEMENTEDWALL" if record.framed else "STANDARD",
        )
        layers = self.file.create_entity(
            "IfcMaterialLayerSet",
            MaterialLayers=[self._layer(each) for each in record.layers],
            LayerSetName=record.name,
            Description="from outside to inside",
        )
        self._rooted("IfcRelAssociatesMaterial", "layers", RelatedObjects=[kind], RelatingMaterial=layers)
        self._rooted("IfcRelDeclares", "declares", RelatingContext=project, RelatedDefinitions=[kind])
        return self.file

    def _header(self) -> None:
        header = self.file.header
        header.file_description.description = ("ViewDefinition [NotAssigned]",)
        name = header.file_name
        name.name, name.time_stamp, name.author, name.organization = "wall type", WRITTEN, ("",), ("",)
        name.preprocessor_version, name.originating_system, name.authorization = "ifcopenshell", "wallfront", ""

    def _rooted(self, entity: str, what: str, **values: Any) -> Any:
        """An entity with an identifier of its own."""
        identifier = self.ifc.guid.compress(uuid5(self.seed, what).hex)
        return self.file.create_entity(entity, GlobalId=identifier, **values)

    def _project(self, record: WallType) -> Any:
        make = self.file.create_entity
        origin = make("IfcAxis2Placement3D", Location=make("IfcCartesianPoint", Coordinates=(0.0, 0.0, 0.0)))
        context = make(
            "IfcGeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-5,
            WorldCoordinateSystem=origin,
        )
        units = self._units()
        return self._rooted(
            "IfcProject", "project", Name=record.project, RepresentationContexts=[context], UnitsInContext=units
        )

    def _units(self) -> Any:
        make = self.file.create_entity
        simple = [make("IfcSIUnit", UnitType=kind, Prefix=prefix, Name=name) for kind, prefix, name in terms.SI]
        named = {unit.Name: unit for unit in simple}
        self.metre = named["METRE"] = make("IfcSIUnit", UnitType="LENGTHUNIT", Name="METRE")  # not the file's mm
        derived = [
            make(
                "IfcDerivedUnit",
                Elements=[make("IfcDerivedUnitElement", Unit=named[name], Exponent=n) for name, n in powers.items()],
                UnitType=kind,
            )
            for kind, powers in terms.DERIVED
        ]
        return make("IfcUnitAssignment", Units=simple + derived)

    def _layer(self, layer: TypeLayer) -> Any:
        made = self.file.create_entity(
            "IfcMaterialLayer",
            Material=self._material(layer.material),
            LayerThickness=layer.thickness_mm,
            IsVentilated="UNKNOWN" if layer.ventilated is None else layer.ventilated,
            Name=layer.role,
            Category=layer.category,
        )
        self._describe(made, layer, terms.LAYER)
        return made

    def _material(self, substance: Substance) -> Any:
        if substance not in self.made:
            made = self.file.create_entity("IfcMaterial", Name=substance.name, Category=substance.category)
            self.made[substance] = made
            self._describe(made, substance, terms.MATERIAL)
            if substance.constituents:
                self._compose(made, substance)
        return self.made[substance]

    def _compose(self, whole: Any, substance: Substance) -> None:
        """Tie a mixed layer's one material to its parts.

        A layer names one IfcMaterial and no constituent set. So the material is a composite: IfcMaterialRelationship
        names what it is made of, and a property of it refers to the IfcMaterialConstituentSet with the fractions.
        """
        make = self.file.create_entity
        parts = [self._constituent(each) for each in substance.constituents]
        shares = make("IfcMaterialConstituentSet", Name=substance.name, MaterialConstituents=parts)
        related = list(dict.fromkeys(self._material(each.material) for each in substance.constituents))
        make(
            "IfcMaterialRelationship",
            RelatingMaterial=whole,
            RelatedMaterials=related,
            Expression=", ".join(f"{each.name} {each.fraction:.6g}" for each in substance.constituents),
        )
        link = make("IfcPropertyReferenceValue", Name=terms.CONSTITUENTS, PropertyReference=shares)
        make("IfcMaterialProperties", Name=terms.COMPOSITE, Properties=[link], Material=whole)

    def _constituent(self, part: Constituent) -> Any:
        material = self._material(part.material)
        made = self.file.create_entity(
            "IfcMaterialConstituent", Name=part.name, Material=material, Fraction=part.fraction
        )
        if part.sizes:
            sizes = [self._property(name, value, _measure(name, value)) for name, value in part.sizes]
            self.file.create_entity("IfcMaterialProperties", Name=terms.FRAMING, Properties=sizes, Material=made)
        return made

    def _describe(self, made: Any, record: Any, table: tuple[Term, ...]) -> None:
        for name, properties in self._properties(record, table):
            self.file.create_entity("IfcMaterialProperties", Name=name, Properties=properties, Material=made)

    def _properties(self, record: Any, table: tuple[Term, ...]) -> list[tuple[str, list[Any]]]:
        """What is known of a record, by property set; a set of which nothing is known is left out."""
        sets: dict[str, list[Any]] = {}
        for term in table:
            value = getattr(record, term.field)
            if value is not None:
                unit = self.metre if term.metres else None
                sets.setdefault(term.set, []).append(self._property(term.name, value, term.measure, unit))
        return list(sets.items())

    def _property(self, name: str, value: Any, measure: str, unit: Any = None) -> Any:
        make = self.file.create_entity
        return make("IfcPropertySingleValue", Name=name, NominalValue=make(measure, value), Unit=unit)


def _measure(name: str, value: float | str) -> str:
    """The measure of a size of members or ties."""
    if isinstance(value, str):
        return "IfcLabel"
    return "IfcNormalisedRatioMeasure" if name.endswith("Fraction") else "IfcNonNegativeLengthMeasure"
