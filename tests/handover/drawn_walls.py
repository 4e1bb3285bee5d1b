"""Walls for the drawing tests, small enough to reckon by hand."""

from __future__ import annotations

from materials.models import Material
from optimiser.wall.buildup import BuildUp

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


def serviced() -> BuildUp:
    """One frame of 240 mm behind a rigid board, with an airtight board and battens along the wall: 356.5 mm."""
    return BuildUp(
        name="serviced",
        outside="vented",
        layer=[
            layer("cladding", "boards", 22),
            layer("sheathing", "fibre", 25),
            layer("outer frame", "blown", 240, frame=stud(625, width_mm=60)),
            layer("airtight layer", "osb", 12),
            layer("service zone", "air", 45, frame=stud(400, axis="horizontal")),
            layer("lining", "plaster", 12.5),
        ],
        materials=MATERIALS,
    )


def uneven() -> BuildUp:
    """A twin frame of studs of two widths with a wide gap and ties that the shallow studs cut short: 436.5 mm."""
    return BuildUp(
        name="uneven",
        outside="vented",
        layer=[
            layer("cladding", "boards", 24),
            layer("ventilated space", "air", 38, frame=stud(width_mm=50)),
            layer("sheathing", "osb", 9),
            layer("outer frame", "blown", 120, frame=stud()),
            layer("gap", "blown", 170, tie=tie(height_mm=220, vertical_spacing_mm=1250, overlap_mm=60)),
            layer("inner frame", "blown", 63, frame=stud(width_mm=38)),
            layer("airtight layer", "foil", 0),
            layer("lining", "plaster", 12.5),
        ],
        materials=MATERIALS,
    )


ALL = {
    "twin": twin(),
    "staggered": twin(offset_mm=300, tied=False),
    "single": single(),
    "shared": single(material="stud", fraction=0.15),
    "serviced": serviced(),
    "uneven": uneven(),
    "board": BuildUp(name="board", outside="exposed", layer=[layer("any", "osb", 12)], materials=MATERIALS),
}
EVIL = '</title><script>alert(1)</script>"&\x00\x0b\n  0\nEOF\n%%c^J\\U+000A\u2028'


def hostile() -> BuildUp:
    """A wall whose every name tries to be more than a name."""
    bad = MATERIALS["plaster"].model_copy(update={"name": EVIL})
    return BuildUp(
        name=EVIL,
        outside="vented",
        layer=[layer(EVIL, "plaster", 20), layer("frame", "blown", 100, frame=stud())],
        materials=MATERIALS | {"plaster": bad},
    )
