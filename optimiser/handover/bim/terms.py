"""Which value of a wall type stands in which property set, and the units they are in: one table, read both ways."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from materials.errors import InputError

SCHEMA = "IFC4"


@dataclass(frozen=True)
class Term:
    """A field of a record, the property set and property it is written to, its measure; in metres instead of mm."""

    field: str
    set: str
    name: str
    measure: str
    metres: bool = False


# Sets named Pset_ are those of the schema (ISO 16739-1); sets named Wallfront_ are our own.
MATERIAL = (
    Term("specific_heat_j_kgk", "Pset_MaterialThermal", "SpecificHeatCapacity", "IfcSpecificHeatCapacityMeasure"),
    Term("conductivity_w_mk", "Pset_MaterialThermal", "ThermalConductivity", "IfcThermalConductivityMeasure"),
    Term("density_kg_m3", "Pset_MaterialCommon", "MassDensity", "IfcMassDensityMeasure"),
    Term("vapour_mu_wet", "Pset_MaterialHygroscopic", "UpperVaporResistanceFactor", "IfcPositiveRatioMeasure"),
    Term("vapour_mu_dry", "Pset_MaterialHygroscopic", "LowerVaporResistanceFactor", "IfcPositiveRatioMeasure"),
    Term("strength_class", "Pset_MaterialWood", "StrengthGrade", "IfcLabel"),
    Term("sd_m_dry", "Wallfront_Material", "DiffusionThicknessDryAir", "IfcPositiveLengthMeasure", metres=True),
    Term("sd_m_humid", "Wallfront_Material", "DiffusionThicknessHumidAir", "IfcPositiveLengthMeasure", metres=True),
    Term("mass_kg_m2", "Wallfront_Material", "MassPerArea", "IfcAreaDensityMeasure"),
    Term("reaction_to_fire", "Wallfront_Material", "ReactionToFire", "IfcLabel"),
)

LAYER = (
    Term("resistance_m2k_w", "Wallfront_Layer", "ThermalResistance", "IfcThermalResistanceMeasure"),
    Term("product", "Wallfront_Product", "Product", "IfcText"),
    Term("supplier", "Wallfront_Product", "Supplier", "IfcText"),
)

WALL = (
    Term("reference", "Pset_WallCommon", "Reference", "IfcIdentifier"),
    Term("u_value", "Pset_WallCommon", "ThermalTransmittance", "IfcThermalTransmittanceMeasure"),
    Term("load_bearing", "Pset_WallCommon", "LoadBearing", "IfcBoolean"),
    Term("external", "Pset_WallCommon", "IsExternal", "IfcBoolean"),
    Term("combustible", "Pset_WallCommon", "Combustible", "IfcBoolean"),
    Term("carbon_unit", "Pset_EnvironmentalImpactIndicators", "Unit", "IfcText"),
    Term("carbon_kgco2e_m2", "Pset_EnvironmentalImpactIndicators", "ClimateChangePerUnit", "IfcMassMeasure"),
    Term("method", "Wallfront_Heat", "Method", "IfcText"),
    Term("r_total", "Wallfront_Heat", "TotalResistance", "IfcThermalResistanceMeasure"),
    Term("r_upper", "Wallfront_Heat", "UpperLimit", "IfcThermalResistanceMeasure"),
    Term("r_lower", "Wallfront_Heat", "LowerLimit", "IfcThermalResistanceMeasure"),
    Term("r_si", "Wallfront_Heat", "InsideSurfaceResistance", "IfcThermalResistanceMeasure"),
    Term("r_se", "Wallfront_Heat", "OutsideSurfaceResistance", "IfcThermalResistanceMeasure"),
    Term("correction", "Wallfront_Heat", "Correction", "IfcThermalTransmittanceMeasure"),
    Term("carbon_scope", "Wallfront_Carbon", "Scope", "IfcText"),
    Term("study_years", "Wallfront_Carbon", "StudyYears", "IfcReal"),
    Term("stored_kgco2_m2", "Wallfront_Carbon", "StoredPerArea", "IfcAreaDensityMeasure"),
    Term("outside", "Wallfront_Wall", "Outside", "IfcLabel"),
    Term("mark", "Wallfront_Wall", "MarkOfTheBuildUp", "IfcLabel"),
    Term("caution", "Wallfront_Wall", "Caution", "IfcText"),
    Term("weight_kg_m2", "Wallfront_Wall", "MassPerArea", "IfcAreaDensityMeasure"),
)

FRAMING = "Wallfront_Framing"
COMPOSITE = "Wallfront_Composite"
CONSTITUENTS = "Constituents"

SI = (  # type, prefix, name: what the file's plain measures are in
    ("LENGTHUNIT", "MILLI", "METRE"),
    ("AREAUNIT", None, "SQUARE_METRE"),
    ("VOLUMEUNIT", None, "CUBIC_METRE"),
    ("PLANEANGLEUNIT", None, "RADIAN"),
    ("MASSUNIT", "KILO", "GRAM"),
    ("TIMEUNIT", None, "SECOND"),
    ("THERMODYNAMICTEMPERATUREUNIT", None, "KELVIN"),
    ("ENERGYUNIT", None, "JOULE"),
    ("POWERUNIT", None, "WATT"),
)

DERIVED = (  # type, powers of metre, kilogram, kelvin, joule, watt
    ("THERMALTRANSMITTANCEUNIT", {"WATT": 1, "METRE": -2, "KELVIN": -1}),
    ("THERMALRESISTANCEUNIT", {"METRE": 2, "KELVIN": 1, "WATT": -1}),
    ("THERMALCONDUCTANCEUNIT", {"WATT": 1, "METRE": -1, "KELVIN": -1}),  # the schema's name for W/mK
    ("SPECIFICHEATCAPACITYUNIT", {"JOULE": 1, "GRAM": -1, "KELVIN": -1}),
    ("MASSDENSITYUNIT", {"GRAM": 1, "METRE": -3}),
    ("AREADENSITYUNIT", {"GRAM": 1, "METRE": -2}),
)


def library() -> Any:
    """The module `ifcopenshell`, imported only here; InputError names the extra to install where it is missing."""
    try:
        import ifcopenshell
        import ifcopenshell.guid
    except ImportError:
        raise InputError(
            "a wall type for building models (IFC) needs the library ifcopenshell: pip install 'wallfront[bim]'"
        ) from None
    return ifcopenshell
