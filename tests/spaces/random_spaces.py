"""Random small catalogues, prices and carbon of both signs, for the complete search against plain enumeration."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from materials.catalogue import Catalogue
from materials.models import Conversion, Declaration, DepthDensity, Material, Product
from optimiser.brief.brief import brief_from
from optimiser.brief.price_lists import terms_of
from optimiser.space import buildable as rules
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.wall.pricing import Pricing

DAMP = Conversion(moisture=1.03)
DENSER = tuple(DepthDensity(depth_mm=d, density_kg_m3=r) for d, r in ((120, 45), (200, 52), (320, 60)))
STEPS = {"thickness_mm": 100, "cost_per_m2": 10_000, "carbon_kgco2e_m2": 10_000, "weight_kg_m2": 1_000}  # a unit


def _made(key: str, kind: str, uses: tuple[str, ...], conductivity: float | None, density: float, **more) -> Material:
    values = {"conductivity_w_mk": conductivity, "density_kg_m3": density, "waste_fraction": 0.05}
    carbon = {"fossil_kgco2e_kg": 0.4, "biogenic_kgco2e_kg": -1.4}
    return Material(key=key, name=key, kind=kind, uses=uses, **(values | carbon | more))


MATERIALS = [
    _made("slats", "cladding", ("cladding",), 0.13, 480),
    _made("batten", "timber", ("batten", "service zone"), 0.12, 430),
    _made("stud", "timber", ("frame",), 0.13, 420),
    _made("fibre", "insulating board", ("outer board", "sheathing"), 0.05, 240, windtight=True),
    _made("slab", "insulating board", ("outer board",), 0.036, 110),
    _made("strand", "board", ("sheathing", "gap board"), 0.13, 620, racking=True),
    _made("soft", "board", ("gap board", "sheathing"), 0.06, 250),
    _made("paper", "membrane", ("wind-tight layer",), None, 1, mass_kg_m2=0.2, windtight=True),
    _made("foil", "membrane", ("airtight layer",), None, 1, mass_kg_m2=0.15, airtight=True),
    _made("gypsum", "board", ("lining",), 0.25, 800),
    _made("flock", "loose fill", ("fill",), 0.039, 55, density_by_depth=DENSER),
    _made("chips", "loose fill", ("fill",), 0.043, 60),
    _made("wool", "batt", ("fill", "service zone"), 0.035, 25),
    _made("plate", "board", ("tie",), 0.13, 500),
    _made("steel", "fixing", (), 50, 7800),
    Material(key="air", name="air", kind="air"),
]
CATALOGUE = Catalogue({each.key: each for each in MATERIALS}, {}, "random")
# product, material, thickness, width, price, unit: prices are drawn around these
GOODS = [
    ("slats-20", "slats", 20, None, 21.0, "m2"),
    ("batten-25", "batten", 25, 50, 0.5, "m"),
    ("batten-45", "batten", 45, 45, 0.9, "m"),
    ("batten-60", "batten", 60, 45, 1.1, "m"),
    ("stud-120", "stud", 120, 45, 2.3, "m"),
    ("stud-120-b", "stud", 120, 45, 2.5, "m"),
    ("stud-145", "stud", 145, 45, 2.9, "m"),
    ("stud-60", "stud", 60, 38, 1.0, "m"),
    ("fibre-22", "fibre", 22, None, 9.0, "m2"),
    ("fibre-60", "fibre", 60, None, 22.0, "m2"),
    ("slab-60", "slab", 60, None, 12.0, "m2"),
    ("strand-9", "strand", 9, None, 4.2, "m2"),
    ("strand-12", "strand", 12, None, 5.2, "m2"),
    ("strand-12-b", "strand", 12, None, 5.2, "m2"),
    ("soft-8", "soft", 8, None, 3.0, "m2"),
    ("paper-a", "paper", None, None, 1.2, "m2"),
    ("paper-b", "paper", None, None, 1.5, "m2"),
    ("foil-a", "foil", None, None, 1.4, "m2"),
    ("foil-b", "foil", None, None, 1.4, "m2"),
    ("gypsum-12", "gypsum", 12.5, None, 4.0, "m2"),
    ("flock-a", "flock", None, None, 1.0, "kg"),
    ("flock-b", "flock", None, None, 1.3, "kg"),
    ("chips", "chips", None, None, 55.0, "m3"),
    ("wool-45", "wool", 45, None, 3.4, "m2"),
    ("wool-60", "wool", 60, None, 4.0, "m2"),
    ("wool-100", "wool", 100, None, 6.4, "m2"),
    ("plate-12", "plate", 12, None, 14.0, "m2"),
    ("screw", "steel", None, None, 0.06, "piece"),
    ("nail", "steel", None, None, 4.0, "kg"),
    ("tape", "steel", None, None, 0.5, "m"),
]
OPEN = {
    "wind-tight layer": ["none", "paper-a", "paper-b"],
    "outer board": ["none", "fibre-60", "slab-60"],
    "sheathing": ["none", "fibre-22", "strand-9", "strand-12", "strand-12-b"],
    "outer frame": ["stud-120", "stud-120-b", "stud-145"],
    "outer gap board": ["none", "strand-12", "soft-8"],
    "inner gap board": ["none", "soft-8"],
    "inner frame": ["none", "stud-60", "stud-120"],
    "airtight layer": ["foil-a", "foil-b"],
    "service zone": ["none", "batten-45", "batten-60"],
    "fill": ["flock-a", "flock-b", "chips", "wool", "air"],
    "service fill": ["wool", "air"],
}
SINGLE = {
    "cladding": {"lock": "slats-20"},
    "ventilated space": {"lock": "batten-25"},
    "lining": {"lock": "gypsum-12"},
}
GAPS = (
    {"min_mm": 0, "max_mm": 0},
    {"min_mm": 0, "max_mm": 200, "step_mm": 40},
    {"min_mm": 60, "max_mm": 120, "step_mm": 20},
    {"min_mm": 0, "max_mm": 160, "step_mm": 80},
)
TIE = {"product": "plate-12", "height_mm": 200, "vertical_spacing_mm": 1200, "overlap_mm": 60}
OWN = ((None, None), (350, None), (None, None), (0, 0.2), (350, 0.2))  # delivery_km and waste_fraction of a product
FIXINGS = {
    "sheathing": [{"product": "screw", "per_m2": 20}],
    "outer board": [{"product": "screw", "per_m2": 9}, {"product": "tape", "per_m2": 0.8}],
    "airtight layer": [{"product": "tape", "per_m2": 1.1}],
    "outer frame": [{"product": "nail", "per_m": 0.04}],
    "inner frame": [{"product": "screw", "per_m": 3}],
    "service zone": [{"product": "screw", "per_m": 4}],
    "tie": [{"product": "screw", "per_tie": 8}, {"product": "nail", "per_tie": 0.02}],
}
MOST_ROWS = 400_000


@st.composite
def spaces(draw, signs: bool = True) -> Choices:
    """Choices of a random brief on random goods, small enough to list."""
    factor = st.sampled_from([-0.5, 0.0001, 0.5, 1.0, 1.0, 1.2, 2.0] if signs else [0.5, 1.0, 1.0, 1.2, 2.0])
    products = {}
    shift, step = draw(st.integers(0, len(OWN) - 1)), draw(st.integers(0, len(OWN) - 1))
    for number, (key, of, thickness, width, price, unit) in enumerate(GOODS):
        fossil = 0.4 * draw(factor)
        place = 0 if of == "wool" else number * step  # batts of one maker, so that they stack
        away, waste = OWN[(shift + place) % len(OWN)]
        products[key] = Product(
            key=key,
            name=key,
            material=of,
            supplier="Quillhaven Stores",
            thickness_mm=thickness,
            width_mm=width,
            price=price * draw(factor),
            unit=unit,
            currency="EUR",
            delivery_km=away,
            waste_fraction=waste,
            mass_kg=0.006 if unit == "piece" else 0.02 if key == "tape" else None,
            source="random",
            declaration=Declaration.of_product_stage(key, fossil, -1.4, "random"),
        )
    slots = dict(SINGLE)
    for name, options in OPEN.items():
        chosen = draw(st.lists(st.sampled_from(options), min_size=1, max_size=3, unique=True))
        slots[name] = {"allow": chosen}
    if slots["fill"]["allow"] == ["air"]:
        slots["fill"] = {"allow": ["air", "flock-a"]}
    slots["inner frame"] = dict(slots["inner frame"], offset_mm=draw(st.sampled_from([[0], [0], [0, 300]])))
    slots["inner frame"]["spacing_mm"] = draw(st.sampled_from([[600], [600], [400, 600]]))
    slots["service zone"] = dict(slots["service zone"], axis=draw(st.sampled_from(["horizontal", "vertical"])))
    raw = {
        "name": "random",
        "target": {"u_value": draw(st.sampled_from([0.1, 0.12, 0.14, 0.16, 0.2]))},
        "prices": {"lists": ["random.csv"]},
        "slots": slots,
        "gap": draw(st.sampled_from(GAPS)),
        "objectives": {"minimise": draw(st.lists(st.sampled_from(sorted(STEPS)), min_size=1, max_size=4, unique=True))},
        "limits": draw(
            st.sampled_from([{}, {}, {"max_thickness_mm": 420}, {"max_weight_kg_m2": 75}, {"max_cost_per_m2": 120}])
        ),
        "framing": draw(st.sampled_from([{}, {"openings_fraction": 0.02}, {"fraction": 0.14}])),
        "labour": draw(st.sampled_from([{}, {"rate_per_h": 40, "batt_h_per_m2": 0.06, "stud_h_per_m": 0.05}])),
        "corrections": draw(
            st.sampled_from(
                [
                    {},
                    {},
                    {"air_gap_level": 1, "air_gap_layer": "outer board"},
                    {"air_gap_level": 2, "air_gap_layer": "outer frame"},
                    {"point": [{"number_per_m2": 3, "chi_w_k": 0.001}]},
                ]
            )
        ),
    }
    raw["transport"] = draw(st.sampled_from([{}, {"rate_per_t_km": 0.3}, {"rate_per_t_km": 2.5, "distance_km": 120}]))
    raw["fixings"] = draw(st.sampled_from([{}, FIXINGS]))
    if draw(st.booleans()):
        raw["tie"] = TIE
    if "whole_life_kgco2e_m2" in raw["objectives"]["minimise"]:
        raw["operation"] = {"degree_hours_kkh": 80, "kgco2e_kwh": draw(st.sampled_from([0.005, 0.05, 0.3]))}
        limit = draw(st.sampled_from([None, None, 5.0, 40.0]))
        raw["limits"] = raw["limits"] | ({} if limit is None else {"max_whole_life_kgco2e_m2": limit})
    brief = brief_from(raw, "random")
    choices = Choices(brief, CATALOGUE, Pricing(products, terms_of(brief, CATALOGUE, products), "EUR"))
    while np.prod(choices.sizes.astype(float)) > MOST_ROWS:  # too large to list: close the widest slot a little
        name = max((n for n in OPEN if n in slots), key=lambda n: len(slots[n]["allow"]))
        slots[name] = dict(slots[name], allow=slots[name]["allow"][:-1])
        if slots["fill"]["allow"] == ["air"]:
            slots["fill"] = {"allow": ["flock-a"]}
        choices = Choices(brief_from(raw, "random"), CATALOGUE, choices.pricing)
        if all(len(slots[n]["allow"]) == 1 for n in OPEN):
            break
    return choices


@dataclass(frozen=True)
class Listed:
    """The front by plain enumeration: score vectors, the lowest row of each and how many rows share it."""

    steps: np.ndarray
    rows: list[tuple[int, ...]]
    counts: list[int]
    size: int


def listed(choices: Choices, target: float, also=None) -> Listed:
    """Go through every row there is; `also` tells which of them pass some further judgement."""
    every = np.unravel_index(np.arange(int(np.prod(choices.sizes))), choices.sizes)
    x = np.stack(every, axis=1).astype(np.int32)
    x = x[rules.buildable(choices, x)]
    size = len(x)
    scores = evaluate(choices, x)
    brief = choices.brief
    with np.errstate(invalid="ignore"):
        holds = scores.u_value <= target
    for key, limit in brief.limits.upper().items():
        holds = holds & (getattr(scores, key) <= limit)
    if also is not None:
        holds[holds] = also(choices, x[holds])
    x = x[holds]
    keys = brief.objectives.minimise
    steps = np.stack([np.rint(getattr(scores, key)[holds] * STEPS[key]) for key in keys], axis=1).astype(np.int64)
    best = {}
    for vector, row in sorted(zip(map(tuple, steps), map(tuple, x.tolist()), strict=True)):
        best.setdefault(vector, []).append(row)
    vectors = np.array(sorted(best), dtype=np.int64).reshape(-1, len(keys))
    kept = [not ((vectors <= v).all(axis=1) & (vectors < v).any(axis=1)).any() for v in vectors]
    front = [tuple(v) for v, keep in zip(vectors.tolist(), kept, strict=True) if keep]
    return Listed(
        np.array(front, np.int64).reshape(-1, len(keys)),
        [min(best[v]) for v in front],
        [len(best[v]) for v in front],
        size,
    )
