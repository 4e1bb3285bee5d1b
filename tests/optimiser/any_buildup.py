"""Build-up files at random, as they come out of the TOML parser: sound in form, often not in sense."""

from __future__ import annotations

from broken_files import anything
from hypothesis import strategies as st

NUMBERS = st.one_of(
    st.integers(-5, 2000),
    st.integers(),
    st.floats(),
    st.sampled_from([0, 0.0, -0.0, 1e308, -1e308, 5e-324, 10**400, float("nan"), float("inf"), 2**63, True]),
)
WORDS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        ["wall", "roof", "vented", "exposed", "air", "osb", "mine", "slight", "well", "vertical", "horizontal", "22,5"]
    ),
)
VALUES = anything(NUMBERS, WORDS)


def table(keys: dict, *optional: str) -> st.SearchStrategy[dict]:
    """A table with all keys but the optional ones, which may be there."""
    needed = {key: value for key, value in keys.items() if key not in optional}
    return st.fixed_dictionaries(needed, optional={key: keys[key] for key in optional})


SIZE = st.one_of(st.integers(1, 200), st.floats(0.1, 300))
EXTREME = st.sampled_from([1e-320, 1e-30, 1e-9, 1e9, 1e30, 1e308])
MATERIAL = st.sampled_from(["osb", "air", "mine", "softwood-c24", "blown-cellulose", "steel-screws"])
STUDS = table(
    {
        "material": MATERIAL,
        "width_mm": SIZE,
        "spacing_mm": st.sampled_from([400, 600, 625]),
        "axis": st.sampled_from(["vertical", "horizontal"]),
        "offset_mm": SIZE,
        "extra_fraction": st.floats(0, 0.5),
    },
    *("axis", "offset_mm", "extra_fraction"),
)
FRAMES = st.one_of(STUDS, STUDS, st.fixed_dictionaries({"material": MATERIAL, "fraction": st.floats(0, 0.99)}))
TIES = table(
    {
        "material": MATERIAL,
        "thickness_mm": SIZE,
        "height_mm": SIZE,
        "vertical_spacing_mm": st.just(1200),
        "overlap_mm": SIZE,
    },
    "overlap_mm",
)
LAYERS = table(
    {
        "role": st.sampled_from(["gap", "outer frame", "inner frame", "ventilated space", "x"]),
        "material": MATERIAL,
        "thickness_mm": SIZE,
        "frame": FRAMES,
    },
    "frame",
)
AIR_LAYERS = st.builds(
    lambda layer, air: layer | air,
    table(
        {
            "role": st.just("space"),
            "material": st.just("air"),
            "thickness_mm": SIZE,
            "emissivities": st.lists(st.floats(0.01, 1), min_size=2, max_size=2),
        },
        "emissivities",
    ),
    st.one_of(
        st.fixed_dictionaries({}, optional={"ventilation": st.sampled_from(["none", "well"])}),
        st.fixed_dictionaries({"ventilation": st.just("slight"), "opening_mm2_per_m": st.floats(0, 2000)}),
    ),
)
TWINS = st.builds(
    lambda one, two, tie, gap: [
        one | {"frame": {"material": "softwood-c24", "width_mm": 45, "spacing_mm": 600}},
        gap | {"tie": tie},
        two | {"frame": {"material": "softwood-c16", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.04}},
    ],
    *[LAYERS, LAYERS, TIES, LAYERS],
).map(lambda layers: [layers[0], {k: v for k, v in layers[1].items() if k != "frame"}, layers[2]])
OWN_MATERIALS = table(
    {
        "conductivity_w_mk": st.one_of(st.floats(0.02, 3), EXTREME),
        "resistance_m2k_w": st.one_of(st.floats(0, 5), EXTREME),
        "density_kg_m3": st.one_of(st.floats(1, 3000), EXTREME),
        "like": MATERIAL.filter("mine".__ne__),
        "fossil_kgco2e_kg": st.floats(-2, 5),
        "kind": st.sampled_from(["loose fill", "batt", "membrane"]),
    },
    *("resistance_m2k_w", "density_kg_m3", "like", "fossil_kgco2e_kg", "kind"),
)
FASTENERS = {"layer": st.just(1), "number_per_m2": SIZE, "conductivity_w_mk": SIZE, "diameter_mm": SIZE}
CORRECTIONS = table(
    {
        "air_gap_level": st.sampled_from([0, 1, 2]),
        "air_gap_layer": st.just(1),
        "fastener": st.lists(table(FASTENERS), max_size=2),
        "point": st.lists(table({"number_per_m2": SIZE, "chi_w_k": st.one_of(SIZE, EXTREME)}), max_size=2),
    },
    *("fastener", "point"),
)
SURFACE = st.one_of(st.floats(0, 1), EXTREME)
CONDITIONS = table({"surface_r_inside": SURFACE, "surface_r_outside": SURFACE}, "surface_r_inside", "surface_r_outside")
FILES = table(
    {
        "name": st.text(max_size=5),
        "element": st.sampled_from(["wall", "roof", "floor"]),
        "outside": st.sampled_from(["vented", "exposed"]),
        "layer": st.one_of(st.lists(st.one_of(LAYERS, LAYERS, AIR_LAYERS), min_size=1, max_size=4), TWINS),
        "materials": st.fixed_dictionaries({"mine": OWN_MATERIALS}),
        "corrections": CORRECTIONS,
        "conditions": CONDITIONS,
    },
    *("element", "corrections", "conditions"),
)
