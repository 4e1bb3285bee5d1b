"""Walls for the tests of the wall type, and how its file is opened and looked at."""

from __future__ import annotations

import ifcopenshell
import ifcopenshell.validate as validator
from drawn_walls import MATERIALS, layer, single, tie, twin

from materials.catalogue import load_catalogue
from materials.models import Material
from optimiser.wall.buildup import BuildUp, Loads

LOADED = Loads(permanent_kn_m=8, imposed_kn_m=4, wind_kn_m2=0.6)


def catalogue_twin() -> BuildUp:
    """A twin frame of materials as the catalogue has them, with loads."""
    studs = {"material": "softwood-c24", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.03}
    battens = {"material": "softwood-batten", "width_mm": 45, "spacing_mm": 400}
    return BuildUp(
        name="twin of the catalogue",
        outside="vented",
        layer=[
            layer("cladding", "larch-cladding", 22),
            layer("ventilated space", "air", 30, frame=battens | {"spacing_mm": 600}),
            layer("wind-tight layer", "breather-membrane", 0),
            layer("outer board", "wood-fibre-board", 35),
            layer("outer frame", "blown-cellulose", 145, frame=studs),
            layer("gap", "blown-cellulose", 120, tie=tie(material="tie-plywood")),
            layer("inner frame", "blown-cellulose", 95, frame=studs),
            layer("airtight layer", "variable-membrane", 0),
            layer("service zone", "air", 45, frame=battens | {"axis": "horizontal"}),
            layer("lining", "plasterboard", 12.5),
        ],
        loads=LOADED,
        materials=load_catalogue().materials,
    )


def steel_tied() -> BuildUp:
    steel = Material(key="ply", name="steel", origin="metal", conductivity_w_mk=50, density_kg_m3=7850)
    return twin(name="steel ties").model_copy(update={"materials": MATERIALS | {"ply": steel}})


def unframed(ventilation: str = "none", **more: object) -> BuildUp:
    """Boards with an air layer between them."""
    return BuildUp(
        name="boards",
        outside="exposed",
        layer=[
            layer("outer board", "fibre", 60),
            layer("cavity", "air", 20, ventilation=ventilation, **more),
            layer("board", "osb", 15),
        ],
        materials=MATERIALS,
    )


WALLS = {
    "catalogue": catalogue_twin(),
    "staggered": twin(offset_mm=300, tied=False),
    "steel": steel_tied(),
    "slight": unframed("slight", opening_mm2_per_m=900),
    "fraction": single(material="stud", fraction=0.15),
}


def opened(data: bytes) -> ifcopenshell.file:
    return ifcopenshell.file.from_string(data.decode("ascii"))


def faults(file: ifcopenshell.file) -> list[str]:
    log = validator.json_logger()
    validator.validate(file, log, express_rules=True)
    return [str(each) for each in log.statements]


def type_of(file: ifcopenshell.file):
    (found,) = file.by_type("IfcWallType")
    return found
