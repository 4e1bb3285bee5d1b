"""Walls for the tests of the calculation sheet: every way in which areas and limits come about."""

from __future__ import annotations

from drawn_walls import MATERIALS, layer, single, stud, tie, twin

from materials.models import Conversion, Material
from optimiser.wall.buildup import BuildUp, Corrections, Fastener, PointBridge

DECLARED = Material(
    key="blown",
    name="blown cellulose",
    kind="loose fill",
    conductivity_declared_w_mk=0.0371,
    conversion=Conversion(temperature=0.99, moisture=1.05, ageing=1.01),
    density_kg_m3=50,
    vapour_mu=2,
)


def built(*layers: dict, name: str = "wall", outside: str = "exposed", **more) -> BuildUp:
    materials = MATERIALS | {"blown": DECLARED}
    return BuildUp(name=name, outside=outside, layer=list(layers), materials=materials, **more)


def plain() -> BuildUp:
    return built(layer("sheathing", "fibre", 60), layer("insulation", "blown", 240), layer("lining", "plaster", 12.5))


def plated() -> BuildUp:
    """A twin frame of unequal studs, with plates, ties and a service zone of battens across."""
    return built(
        layer("sheathing", "fibre", 22),
        layer("outer frame", "blown", 145, frame=stud(extra_fraction=0.06)),
        layer("gap", "blown", 83, tie=tie(thickness_mm=15, overlap_mm=40)),
        layer("inner frame", "blown", 70, frame=stud(extra_fraction=0.045) | {"width_mm": 38}),
        layer("airtight layer", "foil", 0),
        layer("service zone", "blown", 45, frame=stud(400, axis="horizontal")),
        layer("lining", "plaster", 12.5),
    )


def slightly_ventilated() -> BuildUp:
    return built(
        layer("cladding", "boards", 24),
        layer("space", "air", 30, ventilation="slight", opening_mm2_per_m=815, frame=stud()),
        layer("frame", "blown", 245, frame=stud(extra_fraction=0.05)),
        layer("board", "osb", 12),
    )


def corrected() -> BuildUp:
    return built(
        layer("outer board", "fibre", 100),
        layer("frame", "blown", 200, frame=stud()),
        layer("board", "osb", 12),
        corrections=Corrections(
            air_gap_level=1,
            air_gap_layer="outer board",
            fastener=(
                Fastener(layer="outer board", number_per_m2=4.1, conductivity_w_mk=50, diameter_mm=5),
                Fastener(layer=2, number_per_m2=2, conductivity_w_mk=17, diameter_mm=6, length_mm=80),
            ),
            point=(PointBridge(number_per_m2=2.5, chi_w_k=0.0012),),
        ),
    )


def by_fraction() -> BuildUp:
    return built(
        layer("frame", "blown", 200, frame={"material": "stud", "fraction": 0.137}),
        layer("inner frame", "blown", 60, frame=stud(450)),
        layer("lining", "plaster", 15),
    )


WALLS = {
    "plain": plain,
    "single": single,
    "twin with ties, battens across": twin,
    "staggered": lambda: twin(offset_mm=300, tied=False),
    "staggered, overlapping": lambda: twin(offset_mm=20, tied=False),
    "plates, ties, battens of another spacing": plated,
    "slightly ventilated": slightly_ventilated,
    "corrected": corrected,
    "by fraction": by_fraction,
}
