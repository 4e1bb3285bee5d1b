"""Walls for the drawing tests, small enough to reckon by hand."""

from __future__ import annotations

from materials.models import Material
from optimiser.buildup import BuildUp

MATERIALS = {
    each.key: each
    for each in (
        Material(key="boards", name="larch boards", kind="cladding", conductivity_w_mk=0.13),
        Material(key="air", name="air", kind="air"),
        Material(key="stud", name="softwood", kind="timber", conductivity_w_mk=0.13),
        Material(key="fibre", name="wood-fibre board", kind="insulating board", conductivity_w_mk=0.05, windtight=True),
        Material(key="blown", name="blown cellulose", kind="loose fill", conductivity_w_mk=0.039),
        Material(key="ply", name="plywood", kind="board", conductivity_w_mk=0.13),
        Material(key="osb", name="OSB", kind="board", conductivity_w_mk=0.13, airtight=True),
        Material(key="foil", name="vapour control", kind="membrane", sd_m=5, airtight=True),
        Material(key="plaster", name="gypsum board", kind="board", conductivity_w_mk=0.25),
    )
}


def stud(spacing_mm: float = 600, offset_mm: float = 0, **more) -> dict:
    return {"material": "stud", "width_mm": 45, "spacing_mm": spacing_mm, "offset_mm": offset_mm} | more


def layer(role: str, material: str, thickness_mm: float, **more) -> dict:
    return {"role": role, "material": material, "thickness_mm": thickness_mm} | more


def tie(**more) -> dict:
    return {"material": "ply", "thickness_mm": 12, "height_mm": 200, "vertical_spacing_mm": 1200} | more


def twin(*, offset_mm: float = 0, tied: bool = True, name: str = "twin") -> BuildUp:
    """A twin frame: 22 + 38 + 22 + 120 + 80 + 70 + foil + 45 + 12.5 mm."""
    gap = layer("gap", "blown", 80) | ({"tie": tie(overlap_mm=40)} if tied else {})
    return BuildUp(
        name=name,
        outside="vented",
        layer=[
            layer("cladding", "boards", 22),
            layer("ventilated space", "air", 38, frame=stud()),
            layer("sheathing", "fibre", 22),
            layer("outer frame", "blown", 120, frame=stud()),
            gap,
            layer("inner frame", "blown", 70, frame=stud(offset_mm=offset_mm)),
            layer("airtight layer", "foil", 0),
            layer("service zone", "air", 45, frame=stud(axis="horizontal")),
            layer("lining", "plaster", 12.5),
        ],
        materials=MATERIALS,
    )


def single(**frame) -> BuildUp:
    """One frame between a board and an airtight board."""
    return BuildUp(
        name="single",
        outside="vented",
        layer=[
            layer("sheathing", "fibre", 22),
            layer("frame", "blown", 300, frame=frame or stud()),
            layer("board", "osb", 12),
            layer("lining", "plaster", 12.5),
        ],
        materials=MATERIALS,
    )
