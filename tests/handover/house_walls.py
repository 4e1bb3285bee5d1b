"""Houses, walls and products for the take-off, small enough to count by hand. Everything in them is invented."""

from __future__ import annotations

from typing import Any

from materials.models import DepthDensity, Material, Product
from optimiser.brief.brief import Brief
from optimiser.score.settings import Fixing, Labour, Transport
from optimiser.wall.buildup import BuildUp
from optimiser.wall.layers import Stock, Terms
from optimiser.wall.pricing import Pricing

RECTANGLE = {"length_m": 6.0, "width_m": 4.2, "storey_height_m": 2.7}
L_SHAPE = {"outline": [[0, 0], [6, 0], [6, 3], [3, 3], [3, 6], [0, 6]], "storey_height_m": 2.7}

MATERIALS = [
    Material(key="air", name="air", kind="air"),
    Material(key="slats", name="slats", kind="cladding", conductivity_w_mk=0.13, density_kg_m3=500, waste_fraction=0.1),
    Material(key="stud", name="stud", kind="timber", conductivity_w_mk=0.13, density_kg_m3=420, waste_fraction=0.1),
    Material(
        key="flock",
        name="flock",
        kind="loose fill",
        conductivity_w_mk=0.04,
        density_by_depth=(DepthDensity(depth_mm=250, density_kg_m3=50), DepthDensity(depth_mm=500, density_kg_m3=55)),
        density_min_kg_m3=45,
        density_max_kg_m3=65,
        waste_fraction=0.01,
    ),
    Material(
        key="glass",
        name="glass",
        kind="loose fill",
        conductivity_w_mk=0.034,
        density_by_depth=(DepthDensity(depth_mm=500, density_kg_m3=32),),
        waste_fraction=0.02,
    ),
    Material(key="strand", name="strand", kind="board", conductivity_w_mk=0.13, density_kg_m3=650, waste_fraction=0.1),
    Material(key="foil", name="foil", kind="membrane", sd_m=5, mass_kg_m2=0.2, waste_fraction=0.1, airtight=True),
    Material(key="wool", name="wool", kind="batt", conductivity_w_mk=0.036, density_kg_m3=40, waste_fraction=0.07),
    Material(key="plate", name="plate", kind="board", conductivity_w_mk=0.13, density_kg_m3=500, waste_fraction=0.1),
    Material(
        key="plaster", name="plaster", kind="board", conductivity_w_mk=0.25, density_kg_m3=900, waste_fraction=0.1
    ),
    Material(key="steel", name="steel", kind="fixing", waste_fraction=0.02),
]
LIBRARY = {each.key: each for each in MATERIALS}


def sold(key: str, of: str, price: float, unit: str = "m2", **more: Any) -> Product:
    values = {"supplier": "Quillhaven Stores", "source": "invented", "currency": "EUR", "lead_time_days": 9} | more
    return Product(key=key, name=key, material=of, price=price, unit=unit, **values)


PRODUCTS = [
    sold("slats-20", "slats", 30.0, thickness_mm=20),
    sold("stud-200", "stud", 5.0, "m", thickness_mm=200, width_mm=45, supplier="Tarn Timber"),
    sold("stud-100", "stud", 2.5, "m", thickness_mm=100, width_mm=45, supplier="Tarn Timber"),
    sold("batten-40", "stud", 1.0, "m", thickness_mm=40, width_mm=50, pack="piece", pack_contents=4.0),
    sold("flock-bag", "flock", 1.2, "kg", pack="bag", pack_contents=12.5, minimum_order=125),
    sold("glass-bag", "glass", 2.1, "kg", pack="bag", pack_contents=15),
    sold("strand-12", "strand", 6.0, thickness_mm=12, pack="sheet", pack_contents=3.125),
    sold("foil-roll", "foil", 0.8, pack="roll", pack_contents=75, minimum_order=75),
    sold("wool-40", "wool", 4.0, thickness_mm=40, pack="pack", pack_contents=8),
    sold("plate-12", "plate", 16.0, thickness_mm=12),
    sold("plaster-12", "plaster", 5.0, thickness_mm=12.5, pack="sheet", pack_contents=3.0),
    sold("screws", "steel", 0.05, "piece", mass_kg=0.004, pack="pack", pack_contents=200),
    sold("tape", "steel", 0.7, "m", mass_kg=0.012, pack="roll", pack_contents=25),
]
FIXED = {
    "airtight layer": ("tape", {"per_m2": 0.5}),
    "lining": ("screws", {"per_m2": 20}),
    "tie": ("screws", {"per_tie": 8}),
}


def pricing(*without: str) -> Pricing:
    """All products but some, with labour, delivery and fixings."""
    offered = {each.key: each for each in PRODUCTS if each.key not in without}
    fixings = {
        place: ((Fixing(product=key, **rate), Stock.of(LIBRARY["steel"], offered[key])),)
        for place, (key, rate) in FIXED.items()
    }
    labour = Labour(rate_per_h=40, stud_h_per_m=0.04, board_h_per_m2=0.2, lining_h_per_m2=0.2, blown_h_per_m3=0.3)
    return Pricing(offered, Terms(labour, Transport(distance_km=100, rate_per_t_km=0.2), fixings), "EUR")


def brief(house: dict[str, Any] | None = None, **more: Any) -> Brief:
    """A brief with a house and its framing; what else it must say says nothing here."""
    locked = {name: {"lock": "none"} for name in ("cladding", "ventilated space", "lining")}
    values = {
        "name": "counted",
        "target": {"u_value": 0.2},
        "prices": {"lists": ["none.csv"]},
        "slots": locked,
        "transport": {"distance_km": 100.0, "rate_per_t_km": 0.2},
        "framing": {"height_mm": 2700.0, "plates": 2},
    } | more
    if house is not None:
        values["house"] = house
    return Brief(**values)


def frame(depth: float = 200, fill: str = "flock", role: str = "outer frame", **more: Any) -> dict[str, Any]:
    """A layer of 45 mm studs at 600 mm with two plates in 2.7 m."""
    across = {"material": "stud", "width_mm": 45.0, "spacing_mm": 600.0, "extra_fraction": 2 * 45 / 2700} | more
    return {"role": role, "material": fill, "thickness_mm": depth, "frame": across}


def wall(*layers: dict[str, Any], name: str = "counted", outside: str = "exposed") -> BuildUp:
    return BuildUp(name=name, outside=outside, layer=layers, materials=LIBRARY)


def single(**more: Any) -> BuildUp:
    """One frame of 200 mm, foil and lining: its outer face is the frame's."""
    foil = {"role": "airtight layer", "material": "foil", "thickness_mm": 0.0}
    return wall(frame(**more), foil, {"role": "lining", "material": "plaster", "thickness_mm": 12.5})


def parted() -> BuildUp:
    """Two frames with two fills, a board at the gap between them, and ties through that board."""
    tie = {
        "material": "plate",
        "thickness_mm": 12.0,
        "height_mm": 200.0,
        "vertical_spacing_mm": 1200.0,
        "overlap_mm": 60.0,
    }
    return wall(
        frame(200),
        {"role": "outer gap board", "material": "strand", "thickness_mm": 12.0},
        {"role": "gap", "material": "glass", "thickness_mm": 90.0, "tie": tie},
        frame(100, fill="glass", role="inner frame"),
        {"role": "airtight layer", "material": "foil", "thickness_mm": 0.0},
        {"role": "lining", "material": "plaster", "thickness_mm": 12.5},
        name="parted",
    )


def twin(**inner: Any) -> BuildUp:
    """Cladding, battens, board, two frames with a gap and ties, foil, service zone with batts, lining: 514.5 mm."""
    tie = {
        "material": "plate",
        "thickness_mm": 12.0,
        "height_mm": 200.0,
        "vertical_spacing_mm": 1200.0,
        "overlap_mm": 60.0,
    }
    batten = {"material": "stud", "width_mm": 50.0, "spacing_mm": 600.0}
    return wall(
        {"role": "cladding", "material": "slats", "thickness_mm": 20.0},
        {"role": "ventilated space", "material": "air", "thickness_mm": 40.0, "frame": batten},
        {"role": "sheathing", "material": "strand", "thickness_mm": 12.0},
        frame(200),
        {"role": "gap", "material": "flock", "thickness_mm": 90.0, "tie": tie | {"overlap_mm": 60.0}},
        frame(100, role="inner frame", **inner),
        {"role": "airtight layer", "material": "foil", "thickness_mm": 0.0},
        {"role": "service zone", "material": "wool", "thickness_mm": 40.0, "frame": batten | {"axis": "horizontal"}},
        {"role": "lining", "material": "plaster", "thickness_mm": 12.5},
        name="twin",
        outside="vented",
    )
