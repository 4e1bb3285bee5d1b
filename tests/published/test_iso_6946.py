"""ISO 6946: surface resistances, air layers, slight ventilation, the combined method and its corrections.

Status: the standard's figures are recalled (memory), not read from paper; formulas and worked figures marked exact
follow from the formula in closed form; own = recomputed by an independent script.
"""

from pathlib import Path

import numpy as np
import pytest

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.models import Material
from optimiser.checks.judge import judge
from optimiser.heat import air_layers, corrections
from optimiser.heat.steady import Steady
from optimiser.wall.buildup import BuildUp, buildup_from, read_buildup

THICKNESSES_MM = (5, 7, 10, 15, 25, 50, 100, 300)
AIR_LAYERS = {  # ISO 6946, table of unventilated air layers, emissivity 0.9 on both sides (memory)
    "up": (0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16),
    "horizontal": (0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18),
    "down": (0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23),
}
CELLS = [
    (direction, d, value) for direction, row in AIR_LAYERS.items() for d, value in zip(THICKNESSES_MM, row, strict=True)
]
MATERIALS = {
    "air": Material(key="air", name="air", kind="air"),
    "brick": Material(key="brick", name="brick", resistance_m2k_w=0.1),
    "board": Material(key="board", name="board", conductivity_w_mk=0.05),
    "fill": Material(key="fill", name="fill", conductivity_w_mk=0.04),
    "stud": Material(key="stud", name="stud", conductivity_w_mk=0.13),
    "heavy": Material(key="heavy", name="heavy", conductivity_w_mk=2.0),
}


def wall(*layers: dict, **more) -> BuildUp:
    return BuildUp(name="w", layer=layers, materials=MATERIALS, **({"outside": "exposed"} | more))


def layer(material: str, thickness_mm: float, **more) -> dict:
    return {"role": material, "material": material, "thickness_mm": thickness_mm} | more


# Surface resistances


@pytest.mark.parametrize(("element", "r_si"), [("roof", 0.10), ("wall", 0.13), ("floor", 0.17)])
def test_surface_resistances(element, r_si):
    """Rsi 0.10 up, 0.13 horizontal, 0.17 down; Rse 0.04 (memory)."""
    heat = judge(wall(layer("board", 100), element=element)).heat
    assert (heat.r_si, heat.r_se) == (r_si, 0.04)
    assert heat.r_total == pytest.approx(r_si + 2.0 + 0.04, rel=1e-12)


@pytest.mark.parametrize(("convective", "rounded"), [(5.0, 0.10), (2.5, 0.13), (0.7, 0.17)])
def test_inside_by_the_exact_rule(convective, rounded):
    """1 / (hc + eps hr0), hc 5.0 / 2.5 / 0.7 W/m2K, eps 0.9, surfaces at 20 C (memory): the table after rounding."""
    assert round(float(air_layers.surface_resistance(convective)), 2) == rounded


def test_outside_by_the_exact_rule():
    """hc = 4 + 4 v at v = 4 m/s, 10 C: 0.04 after rounding (memory)."""
    assert round(float(air_layers.surface_resistance(4 + 4 * 4.0, temperature_c=10.0)), 2) == 0.04


@pytest.mark.parametrize(("element", "r_si"), [("roof", 0.10), ("wall", 0.13), ("floor", 0.17)])
@pytest.mark.parametrize("how", ["a well-ventilated layer", "vented"])
def test_behind_a_well_ventilated_layer(how, element, r_si):
    """The layer and all outside it are left out; the outer surface resists as the inner one (memory)."""
    inside = [layer("board", 60), layer("fill", 200)]
    if how == "vented":
        found = judge(wall(*inside, element=element, outside="vented"))
    else:
        found = judge(wall(layer("brick", 100), layer("air", 40, ventilation="well"), *inside, element=element))
    assert found.heat.r_total == pytest.approx(r_si + 0.06 / 0.05 + 0.2 / 0.04 + r_si, rel=1e-12)


# Air layers


@pytest.mark.parametrize(("direction", "d", "expected"), CELLS)
def test_unventilated_air_layers(direction, d, expected):
    """The 24 values of the table (memory), by the formula of the annex after rounding."""
    assert round(float(air_layers.unventilated(d / 1000, direction)), 2) == expected


@pytest.mark.parametrize(("element", "direction"), [("roof", "up"), ("wall", "horizontal"), ("floor", "down")])
def test_a_wall_takes_the_air_layer_of_its_direction(element, direction):
    found = judge(wall(layer("air", 50), layer("board", 50), element=element)).heat
    expected = AIR_LAYERS[direction][THICKNESSES_MM.index(50)]
    assert found.r_total - found.r_si - found.r_se - 1.0 == pytest.approx(expected, abs=0.005)


def test_a_reflecting_face():
    """Emissivity 0.05 on one face, 25 mm, horizontal: 1/(1.25 + E hr0), E = 1/(1/.05 + 1/.9 - 1) (exact)."""
    hr0 = 4 * 5.67e-8 * 283.15**3
    expected = 1 / (1.25 + hr0 / (1 / 0.05 + 1 / 0.9 - 1))
    found = judge(wall(layer("air", 25, emissivities=(0.05, 0.9)))).heat
    assert found.r_total - 0.17 == pytest.approx(expected, rel=1e-12)
    assert expected > 0.6


def test_deep_air_is_refused():
    """The table ends at 300 mm: deeper spaces need a heat balance (memory)."""
    judge(wall(layer("air", 300), layer("board", 50)))
    with pytest.raises(InputError, match=r"layer 1 \(air\): thickness_mm = 301: .*deeper than 300 mm"):
        judge(wall(layer("air", 301), layer("board", 50)))


# Slightly ventilated layers: R_T = (1500 - Av)/1000 R_T,unventilated + (Av - 500)/1000 R_T,well (memory)


def slight(opening: float, **more) -> BuildUp:
    frame = {"material": "stud", "width_mm": 45, "spacing_mm": 600}
    return wall(
        layer("brick", 100),
        layer("air", 50, ventilation="slight", opening_mm2_per_m=opening),
        layer("board", 60),
        layer("fill", 200, frame=frame),
        **more,
    )


@pytest.mark.parametrize("opening", [500, 700, 1000, 1499])
def test_slight_ventilation_lies_between(opening):
    frame = {"material": "stud", "width_mm": 45, "spacing_mm": 600}
    inside = [layer("board", 60), layer("fill", 200, frame=frame)]
    still = judge(wall(layer("brick", 100), layer("air", 50), *inside)).heat
    well = judge(wall(layer("brick", 100), layer("air", 50, ventilation="well"), *inside)).heat
    expected = (1500 - opening) / 1000 * still.r_total + (opening - 500) / 1000 * well.r_total
    found = judge(slight(opening)).heat
    assert found.r_total == pytest.approx(expected, rel=1e-12)
    assert found.u_value == pytest.approx(1 / expected, rel=1e-12)


@pytest.mark.parametrize(("opening", "as_if"), [(0, "none"), (400, "none"), (1500, "well"), (5000, "well")])
def test_beyond_the_bounds_of_slight_ventilation(opening, as_if):
    """Up to 500 mm2/m unventilated, from 1500 on well ventilated (memory)."""
    frame = {"material": "stud", "width_mm": 45, "spacing_mm": 600}
    other = wall(
        layer("brick", 100),
        layer("air", 50, ventilation=as_if),
        layer("board", 60),
        layer("fill", 200, frame=frame),
    )
    assert judge(slight(opening)).u_value == pytest.approx(judge(other).u_value, rel=1e-12)


def test_slight_ventilation_by_hand():
    """Exact: brick .1, air .18 (its own formula), board 1.2; Av 1000 halves the way to 1.2 + 2 x .13."""
    still = 0.13 + 0.04 + 0.1 + float(air_layers.unventilated(0.05)) + 1.2
    found = judge(
        wall(layer("brick", 1), layer("air", 50, ventilation="slight", opening_mm2_per_m=1000), layer("board", 60))
    )
    assert found.heat.r_total == pytest.approx((still + 1.2 + 0.26) / 2, rel=1e-12)


# The combined method


@pytest.mark.parametrize(("ratio", "percent"), [(1.5, 20), (1.25, 11), (1.10, 5)])
def test_relative_error(ratio, percent):
    """R'/R'' 1.5 / 1.25 / 1.10 gives e = 20 / 11 / 5 % (memory); e = (R' - R'') / (2 R_T) = (q - 1)/(q + 1) (exact)."""
    upper, lower = np.array([4.0 * ratio]), np.array([4.0])
    found = Steady(upper, lower, (upper + lower) / 2, 2 / (upper + lower))
    assert found.relative_error[0] == pytest.approx((ratio - 1) / (ratio + 1), rel=1e-12)
    assert round(100 * found.relative_error[0]) == percent
    assert not found.refused[0]


def crossed(width_mm: float) -> BuildUp:
    """Heavy ribs, 2 W/mK, across 200 mm of fill."""
    frame = {"material": "heavy", "width_mm": width_mm, "spacing_mm": 600}
    return wall(layer("board", 120), layer("fill", 200, frame=frame), layer("board", 120))


def test_refusal_above_1_5():
    """Where R'/R'' exceeds 1.5 the method is refused (memory): words instead of a U-value."""
    kept, refused = judge(crossed(5)).heat, judge(crossed(100)).heat
    assert kept.r_upper / kept.r_lower < 1.5 < refused.r_upper / refused.r_lower
    assert kept.refused is None
    assert kept.u_value == pytest.approx(2 / (kept.r_upper + kept.r_lower), rel=1e-12)
    assert np.isnan(refused.u_value)
    assert "above 1.5" in refused.refused
    assert "numerical calculation (ISO 10211)" in refused.refused
    assert judge(crossed(100)).as_json()["heat"]["u_value"] is None


def test_the_bound_itself_is_still_allowed():
    limits = np.array([[1.5, 1.0], [1.5000001, 1.0]])
    assert Steady(limits[:, 0], limits[:, 1], limits.mean(axis=1), limits[:, 0]).refused.tolist() == [False, True]


def test_single_300_mm_stud():
    """Own: U 0.13357 by the combined method (0.13360 by the exact 2D solution); Rsi = Rse = 0.13."""
    path = Path(__file__).parent / "walls" / "single_300_stud.toml"
    heat = judge(read_buildup(path, load_catalogue())).heat
    assert (heat.r_si, heat.r_se) == (0.13, 0.13)
    assert heat.u_value == pytest.approx(0.13357, abs=5e-6)
    assert 1 / heat.r_upper < 0.13360 < 1 / heat.r_lower  # bounds theorem: the exact solution lies between


def test_metal_is_sent_to_a_numerical_calculation():
    """The combined method does not apply where metal bridges insulation (memory)."""
    steel = Material(key="steel", name="steel", conductivity_w_mk=50, origin="metal")
    frame = {"material": "steel", "width_mm": 1.5, "spacing_mm": 600}
    own = BuildUp(
        name="w",
        outside="exposed",
        layer=[layer("fill", 200, frame=frame)],
        materials=MATERIALS | {"steel": steel},
    )
    heat = judge(own).heat
    assert np.isnan(heat.u_value)
    assert heat.refused.startswith("layer 1 (fill): the frame")
    assert "ISO 10211" in heat.refused


# Corrections


def test_fastener_example():
    """Exact: 4.1 per m2, 5 mm, 50 W/mK, d0 0.10 m, R1/R_T,h 2.5/2.9, alpha 0.8 give 0.02393 W/m2K."""
    found = corrections.fasteners(4.1, 50, np.pi / 4 * 0.005**2, 0.10, 2.5, 2.9)
    assert float(found) == pytest.approx(0.02393, abs=5e-6)


def fastened(**more) -> BuildUp:
    given = {"layer": "fill", "number_per_m2": 4.1, "conductivity_w_mk": 50, "diameter_mm": 5} | more
    surfaces = {"surface_r_inside": 0.13, "surface_r_outside": 0.07}
    return wall(layer("board", 10), layer("fill", 100), corrections={"fastener": [given]}, conditions=surfaces)


def test_fasteners_of_a_wall():
    """The same example as a build-up: R1 2.5, R_T,h 2.5 + 0.2 + 0.2 = 2.9; added to U."""
    heat = judge(fastened()).heat
    assert heat.correction == pytest.approx(0.02393, abs=5e-6)
    assert heat.u_value == pytest.approx(1 / 2.9 + heat.correction, rel=1e-12)


def test_recessed_fasteners():
    """Recessed to d1 = 60 of 100 mm: alpha = 0.8 d1/d0 (memory)."""
    assert judge(fastened(length_mm=60)).heat.correction == pytest.approx(0.6 * 0.0239275, abs=5e-6)


@pytest.mark.parametrize(("conductivity", "counts"), [(0.99, False), (1.0, True)])
def test_fasteners_that_conduct_little_are_left_out(conductivity, counts):
    """No correction below 1 W/mK (memory)."""
    assert (judge(fastened(conductivity_w_mk=conductivity)).heat.correction > 0) is counts


@pytest.mark.parametrize(("level", "more"), [(0, 0.0), (1, 0.01), (2, 0.04)])
def test_air_gaps(level, more):
    """dU = dU'' (R1/R_T,h)^2, dU'' 0 / 0.01 / 0.04 W/m2K at levels 0 / 1 / 2 (memory)."""
    given = {"air_gap_level": level, "air_gap_layer": "fill"}
    found = judge(wall(layer("board", 10), layer("fill", 100), corrections=given)).heat
    assert found.correction == pytest.approx(more * (2.5 / (2.5 + 0.2 + 0.17)) ** 2, rel=1e-12, abs=0)


def test_point_fasteners_of_known_chi():
    """dU = n chi (memory)."""
    given = {"point": [{"number_per_m2": 6, "chi_w_k": 0.002}]}
    assert judge(wall(layer("fill", 100), corrections=given)).heat.correction == pytest.approx(0.012, rel=1e-12)


def test_corrections_leave_bridges_out_of_account():
    """R_T,h is the total resistance without the bridges: studs in the layer do not change dU (memory)."""
    frame = {"material": "stud", "width_mm": 45, "spacing_mm": 600}
    given = {"air_gap_level": 2, "air_gap_layer": 1}
    plain = judge(wall(layer("fill", 100), corrections=given)).heat
    framed = judge(wall(layer("fill", 100, frame=frame), corrections=given)).heat
    assert framed.correction == pytest.approx(plain.correction, rel=1e-12)
    assert framed.u_value > plain.u_value


def test_a_cladding_before_a_vented_wall_carries_nothing_even_without_its_space():
    """ISO 6946, well-ventilated air layers: the layers between them and the outside are left out (memory)."""
    sheltered = {"role": "sheathing", "material": "board", "thickness_mm": 20}
    cladding = {"role": "cladding", "material": "board", "thickness_mm": 24}
    own = {"board": {"conductivity_w_mk": 0.13}}
    walls = [
        buildup_from({"name": "w", "outside": "vented", "materials": own, "layer": layers}, load_catalogue(), "w")
        for layers in ([sheltered], [cladding, sheltered])
    ]
    assert judge(walls[0]).u_value == judge(walls[1]).u_value == pytest.approx(1 / (0.26 + 0.02 / 0.13), rel=1e-12)
