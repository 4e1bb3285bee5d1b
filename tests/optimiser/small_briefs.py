"""A small invented catalogue with its products, and small briefs on it, whose spaces can be listed row by row."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from materials.catalogue import Catalogue
from materials.models import Conversion, DepthDensity, Material, Product
from optimiser.brief.brief import Brief, brief_from
from optimiser.score.settings import Labour
from optimiser.space.choices import Choices
from optimiser.wall.layers import Terms
from optimiser.wall.pricing import Pricing

CARBON = {"fossil_kgco2e_kg": 0.3, "biogenic_kgco2e_kg": -1.5}
DAMP = Conversion(moisture=1.02)
DENSER = tuple(DepthDensity(depth_mm=d, density_kg_m3=r) for d, r in ((120, 45), (200, 50), (400, 60)))


def material(
    key: str, kind: str, uses: tuple[str, ...], conductivity: float | None, density: float, **more
) -> Material:
    values = {"conductivity_w_mk": conductivity, "density_kg_m3": density, "waste_fraction": 0.07} | CARBON | more
    return Material(key=key, name=key, kind=kind, uses=uses, **values)


MATERIALS = [
    material("slats", "cladding", ("cladding",), 0.13, 480),
    material("batten", "timber", ("batten", "service zone"), 0.12, 430),
    material("stud", "timber", ("frame",), 0.13, 420),
    material("fibre", "insulating board", ("outer board", "sheathing"), 0.05, 240, windtight=True),
    material("foam", "insulating board", ("outer board",), 0.025, 32, rigid_foam=True),
    material("strand", "board", ("sheathing", "gap board", "airtight layer"), 0.13, 620, racking=True, airtight=True),
    material("soft", "board", ("gap board",), 0.06, 250),
    material("paper", "membrane", ("wind-tight layer",), None, 1, sd_m=0.1, mass_kg_m2=0.2, windtight=True),
    material("foil", "membrane", ("airtight layer",), None, 1, sd_m=3, mass_kg_m2=0.15, airtight=True),
    material("gypsum", "board", ("lining",), 0.25, 800),
    material("flock", "loose fill", ("fill",), 0.039, 55, density_by_depth=DENSER),
    material("chips", "loose fill", ("fill",), 0.042, 60),
    material("wool", "batt", ("fill", "service zone"), 0.035, 25),
    material("hemp", "batt", ("fill", "service zone"), 0.042, 35),
    material("slab", "batt", ("fill",), 0.022, 32, rigid_foam=True),
    material("plate", "board", ("tie",), 0.13, 500),
    Material(key="air", name="air", kind="air"),
]
CATALOGUE = Catalogue({each.key: each for each in MATERIALS}, {}, "small")


def sold(key: str, of: str, thickness: float | None, price: float, unit: str = "m2", **more) -> Product:
    values = {"supplier": "Quillhaven Stores", "source": "invented", "currency": "EUR"} | more
    return Product(key=key, name=key, material=of, thickness_mm=thickness, price=price, unit=unit, **values)


PRODUCTS = [
    sold("slats-20", "slats", 20, 21.0),
    sold("batten-50x20", "batten", 20, 0.4, "m", width_mm=50),  # too thin to ventilate behind
    sold("batten-50x25", "batten", 25, 0.5, "m", width_mm=50),
    sold("batten-45x60", "batten", 60, 1.1, "m", width_mm=45),
    sold("stud-45x120", "stud", 120, 2.3, "m", width_mm=45),
    sold("stud-45x145", "stud", 145, 2.9, "m", width_mm=45),
    sold("stud-38x60", "stud", 60, 1.0, "m", width_mm=38),
    sold("fibre-22", "fibre", 22, 9.0),
    sold("fibre-60", "fibre", 60, 22.0),
    sold("foam-40", "foam", 40, 11.0),
    sold("strand-12", "strand", 12, 5.2),
    sold("soft-8", "soft", 8, 3.0),
    sold("paper", "paper", None, 1.2),
    sold("foil", "foil", None, 1.4),
    sold("gypsum-12.5", "gypsum", 12.5, 4.0),
    sold("flock", "flock", None, 1.0, "kg"),
    sold("flock-fine", "flock", None, 1.3, "kg", conductivity_w_mk=0.037),
    sold("chips", "chips", None, 55.0, "m3"),
    sold("wool-60", "wool", 60, 4.0),
    sold("wool-80", "wool", 80, 5.2),
    sold("wool-120", "wool", 120, 7.5),
    sold("wool-b-40", "wool", 40, 3.1, supplier="Underledge Goods", conductivity_declared_w_mk=0.033, conversion=DAMP),
    sold(
        "wool-b-145", "wool", 145, 9.9, supplier="Underledge Goods", conductivity_declared_w_mk=0.033, conversion=DAMP
    ),
    sold("hemp-60", "hemp", 60, 6.6, density_kg_m3=40),
    sold("hemp-85", "hemp", 85, 9.1, density_kg_m3=40),
    sold("slab-60", "slab", 60, 12.0),
    sold("plate-12", "plate", 12, 14.0),
]
LABOUR = {
    "rate_per_h": 44,
    "cladding_h_per_m2": 0.5,
    "membrane_h_per_m2": 0.05,
    "taping_h_per_m2": 0.06,
    "board_h_per_m2": 0.14,
    "lining_h_per_m2": 0.2,
    "batt_h_per_m2": 0.06,
    "blown_h_per_m3": 0.35,
    "stud_h_per_m": 0.045,
    "batten_h_per_m": 0.03,
    "tie_h_per_piece": 0.05,
}
PRICING = Pricing({each.key: each for each in PRODUCTS}, Terms(Labour(**LABOUR)), "EUR")
BASE = {
    "name": "small",
    "target": {"u_value": 0.15},
    "prices": {"lists": ["small.csv"]},
    "labour": LABOUR,
    "limits": {"min_load_bearing_depth_mm": 100},
}
LOCKED = {
    "cladding": {"lock": "slats-20"},
    "ventilated space": {"lock": "batten-50x25"},
    "lining": {"lock": "gypsum-12.5"},
}
OPEN = {
    "wind-tight layer": ["none", "paper"],
    "outer board": ["none", "fibre-60", "foam"],
    "sheathing": ["none", "fibre-22", "strand-12"],
    "outer frame": ["stud-45x120", "stud-45x145"],
    "outer gap board": ["none", "strand-12", "soft-8"],
    "inner gap board": ["none", "soft-8"],
    "inner frame": ["none", "stud-38x60", "stud-45x120"],
    "airtight layer": ["foil", "strand-12"],
    "service zone": ["none", "batten-45x60"],
    "fill": ["flock", "flock-fine", "chips", "wool", "hemp", "air"],
    "service fill": ["wool", "hemp", "air"],
}
GAPS = (
    {"min_mm": 0, "max_mm": 0},
    {"min_mm": 0, "max_mm": 60, "step_mm": 60},
    {"min_mm": 60, "max_mm": 80, "step_mm": 20},
    {"min_mm": 0, "max_mm": 320, "step_mm": 160},
)
TIE = {"product": "plate-12", "height_mm": 200, "vertical_spacing_mm": 1200, "overlap_mm": 60}
FRAMINGS = ({}, {"openings_fraction": 0.02, "nogging_rows": 1}, {"fraction": 0.14})


def brief_of(slots: dict, **more) -> Brief:
    return brief_from(BASE | {"slots": LOCKED | slots} | more, "small.toml")


def choices_of(slots: dict, **more) -> Choices:
    return Choices(brief_of(slots, **more), CATALOGUE, PRICING)


CORRECTIONS = (
    {"air_gap_level": 1, "air_gap_layer": "outer board"},
    {
        "fastener": [
            {"layer": "outer board", "number_per_m2": 4, "conductivity_w_mk": 17, "diameter_mm": 5},
            {"layer": "gap", "number_per_m2": 1, "conductivity_w_mk": 50, "diameter_mm": 4},
        ],
        "point": [{"number_per_m2": 0.5, "chi_w_k": 0.002}],
    },
)


@st.composite
def small_choices(draw, most_rows: int = 60_000) -> Choices:
    """Choices whose rows can all be listed: most options of every slot, fewer where the rows grow too many."""
    held = {}
    for name, keys in OPEN.items():
        out = draw(st.sets(st.sampled_from(keys), max_size=len(keys) // 2))
        held[name] = [key for key in keys if key not in out]
    held["fill"] = held["fill"] if held["fill"] != ["air"] else ["wool"]
    order = draw(st.permutations(list(OPEN)))
    gap = draw(st.sampled_from(GAPS))
    spacings = draw(st.sampled_from([[600], [400], [600, 400]]))
    offsets = draw(st.sampled_from([[0], [0, 300], [300]]))
    while rows(held, gap, len(spacings) * len(offsets)) > most_rows:
        name = max(order, key=lambda each: len(held[each]))
        solid = [key for key in held[name] if key != "air"]
        held[name].remove(draw(st.sampled_from(solid)) if len(solid) > 1 else "air")
    slots = {name: {"allow": keys} for name, keys in held.items()}
    slots["inner frame"] |= {"offset_mm": offsets, "spacing_mm": spacings}
    slots["service zone"]["axis"] = draw(st.sampled_from(["horizontal", "vertical"]))
    slots["service zone"]["spacing_mm"] = draw(st.sampled_from([[600], [400]]))
    more = {"gap": gap, "framing": draw(st.sampled_from(FRAMINGS))}
    if draw(st.booleans()):
        more["tie"] = TIE
    if draw(st.booleans()):
        more["corrections"] = draw(st.sampled_from(CORRECTIONS))
    return choices_of(slots, **more)


def rows(held: dict[str, list[str]], gap: dict, frames: int) -> float:
    """At most how many rows there are: batts of two makers are two fills."""
    total = frames * (gap["max_mm"] / gap.get("step_mm", 10) + 1)
    for name, keys in held.items():
        makers = len(keys) + ("wool" in keys)
        total *= makers**3 if name == "fill" else makers if name == "service fill" else len(keys)
    return total


def every_row(choices: Choices) -> np.ndarray:
    """The full product of all indices, buildable or not."""
    grid = np.meshgrid(*[np.arange(size) for size in choices.sizes], indexing="ij")
    return np.stack([each.ravel() for each in grid], axis=1)
