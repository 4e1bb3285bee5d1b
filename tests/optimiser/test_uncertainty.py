"""Uncertainty of U against cases whose answer is known without sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest

from materials.errors import InputError
from materials.models import Material
from optimiser.brief.brief import parse_brief
from optimiser.checks.judge import judge
from optimiser.conduction.numeric_demand import USUAL_SPREAD, Uncertainty
from optimiser.conduction.uncertainty import chances, spread_of
from optimiser.conduction.wall_cell import numeric_heat
from optimiser.wall.buildup import BuildUp

STUD = {"material": "stud", "width_mm": 45, "spacing_mm": 600, "extra_fraction": 0.04}
MATERIALS = {
    each.key: each
    for each in (
        Material(key="slab", name="slab", kind="insulating board", conductivity_w_mk=0.036),
        Material(key="board", name="board", kind="board", conductivity_w_mk=0.13),
        Material(key="fill", name="fill", kind="loose fill", conductivity_w_mk=0.039),
        Material(key="stud", name="stud", kind="timber", conductivity_w_mk=0.13),
    )
}


def plain(*layers: tuple[str, float], **more) -> BuildUp:
    """Layers without members."""
    made = [{"role": f"layer {n}", "material": key, "thickness_mm": mm} for n, (key, mm) in enumerate(layers)]
    return BuildUp(name="plain", outside="exposed", layer=made, materials=MATERIALS, **more)


def framed(**tie) -> BuildUp:
    layers = [
        {"role": "sheathing", "material": "board", "thickness_mm": 12},
        {"role": "outer frame", "material": "fill", "thickness_mm": 145, "frame": STUD},
        {"role": "gap", "material": "fill", "thickness_mm": 100} | tie,
        {"role": "inner frame", "material": "fill", "thickness_mm": 95, "frame": STUD},
        {"role": "lining", "material": "board", "thickness_mm": 12.5},
    ]
    return BuildUp(name="framed", outside="vented", layer=layers, materials=MATERIALS)


def ranges(**change) -> Uncertainty:
    """Nothing uncertain but what is named."""
    still = Uncertainty.none()
    spreads = still.conductivity | change.get("conductivity", {})
    return Uncertainty(**(still.model_dump() | change | {"conductivity": spreads}))


def test_one_conductivity_has_the_mean_and_percentiles_of_its_integral():
    """U = 1 / (r + d / (lambda (1 + x))), x uniform: mean and quantiles in closed form."""
    wall = plain(("slab", 200))
    resistance, half = 0.2 / 0.036, 0.2
    found = spread_of(wall, ranges(conductivity={"insulating board": half}, samples=4096))
    surfaces = judge(wall).heat.r_si + judge(wall).heat.r_se

    def u_at(x: float) -> float:
        return 1 / (surfaces + resistance / (1 + x))

    # integral of (1+x) / (s (1+x) + R) over the range
    s, low, high = surfaces, 1 - half, 1 + half
    mean = ((high - low) - resistance / s * math.log((s * high + resistance) / (s * low + resistance))) / (s * 2 * half)
    assert found.mean == pytest.approx(mean, rel=1e-5)
    for value, part in ((found.p5, 0.05), (found.p50, 0.5), (found.p95, 0.95)):
        assert value == pytest.approx(u_at(-half + 2 * half * part), rel=2e-4)
    assert found.drivers[0] == ("conductivity of slab", pytest.approx(1.0, abs=1e-3))


def test_shares_of_an_additive_function_are_those_of_its_terms():
    """R = s + d1/(l1 (1+x1)) + d2/(l2 (1+x2)); small ranges make U additive: V_i goes as (dU/dx_i half_i)^2."""
    wall = plain(("slab", 120), ("fill", 150))
    halves = {"insulating board": 0.02, "loose fill": 0.015}
    found = dict(spread_of(wall, ranges(conductivity=halves, samples=4096)).drivers)
    terms = {"conductivity of slab": 0.12 / 0.036 * 0.02, "conductivity of fill": 0.15 / 0.039 * 0.015}
    whole = sum(term**2 for term in terms.values())
    for name, term in terms.items():
        assert found[name] == pytest.approx(term**2 / whole, abs=0.01)
    assert sum(found.values()) == pytest.approx(1.0, abs=0.01)


def test_many_causes_together_are_close_to_normal():
    """Twelve slabs of twelve materials: the sum of many small terms; the chance of the mean and one deviation."""
    kinds = [Material(key=f"m{n}", name=f"m{n}", kind="batt", conductivity_w_mk=0.035) for n in range(12)]
    layers = [{"role": f"layer {n}", "material": each.key, "thickness_mm": 20} for n, each in enumerate(kinds)]
    wall = BuildUp(name="w", outside="exposed", layer=layers, materials={each.key: each for each in kinds})
    half, resistance = 0.05, 0.02 / 0.035
    u_value, variance = judge(wall).u_value, half**2 / 3
    deviation = u_value**2 * resistance * math.sqrt(12 * variance)
    mean = u_value * (1 - 12 * resistance * u_value * variance + 12 * (resistance * u_value) ** 2 * variance)
    asked = ranges(conductivity={"batt": half}, samples=8192)
    found = spread_of(wall, asked, target=mean + deviation)
    assert found.mean == pytest.approx(mean, rel=2e-5)
    assert (found.p95 - found.p5) / (2 * 1.645) == pytest.approx(deviation, rel=0.03)
    assert found.chance == pytest.approx(0.8413, abs=0.01)
    assert all(share == pytest.approx(1 / 12, abs=0.02) for _, share in found.drivers)


def test_nothing_uncertain_is_the_wall_itself_and_chance_is_0_or_1():
    wall, still = framed(), Uncertainty.none()
    u_value = judge(wall).u_value
    below, above = u_value * (1 - 1e-9), u_value * (1 + 1e-9)
    found = spread_of(wall, still, above)
    assert found.mean == found.p5 == found.p95 == pytest.approx(u_value, rel=1e-12) and found.drivers == ()
    assert found.chance == 1.0 and spread_of(wall, still, below).chance == 0.0
    assert chances([wall, wall], [above, below], None, still).tolist() == [1.0, 0.0]
    assert spread_of(wall, still).chance is None


def test_the_wall_s_own_numerical_ratio_corrects_every_sample():
    wall = framed()
    layers = [
        each.model_copy(update={"frame": each.frame and each.frame.model_copy(update={"extra_fraction": 0.0})})
        for each in wall.layers
    ]
    wall = wall.model_copy(update={"layers": tuple(layers)})
    solved = numeric_heat(wall).u_value
    combined, exact = spread_of(wall), spread_of(wall, u_numeric=solved)
    factor = solved / judge(wall).u_value
    assert factor < 0.999
    assert exact.p50 - combined.p50 == pytest.approx(combined.p50 * (factor - 1), rel=0.05)
    assert chances([wall], [combined.p50], [solved])[0] > chances([wall], [combined.p50], [None])[0]
    still = Uncertainty.none()
    assert spread_of(wall, still, u_numeric=solved).mean == pytest.approx(solved, rel=1e-12)


def test_the_same_seed_gives_the_same_figures_and_walls_do_not_disturb_each_other():
    one, other = framed(), plain(("slab", 120), ("fill", 150))
    assert spread_of(one, seed=3) == spread_of(one, seed=3) != spread_of(one, seed=4)
    targets = [spread_of(one).p50, spread_of(other).p50]
    both = chances([one, other], targets)
    assert both.tolist() == [chances([each], [target])[0] for each, target in zip([one, other], targets, strict=True)]
    assert np.abs(both - 0.5).max() < 0.1


def test_every_cause_acts_as_it_says():
    tie = {"tie": {"material": "stud", "thickness_mm": 12, "height_mm": 200, "vertical_spacing_mm": 1200}}
    wall = framed(**tie)
    as_drawn = judge(wall).u_value

    def moved(**change) -> BuildUp:
        layers = [layer.model_dump(exclude_none=True) for layer in wall.layers]
        for layer in layers:
            if "gap_mm" in change and layer["role"] == "gap":
                layer["thickness_mm"] += change["gap_mm"]
            if "frame" in layer and "share" in change:
                layer["frame"]["width_mm"] *= change["share"]
                layer["frame"]["extra_fraction"] *= change["share"]
        materials = MATERIALS | {
            key: MATERIALS[key].model_copy(update={"conductivity_w_mk": value})
            for key, value in change.items()
            if key in MATERIALS
        }
        return BuildUp(name="moved", outside="vented", layer=layers, materials=materials)

    def ends(**change) -> tuple[float, float]:
        found = spread_of(wall, ranges(samples=16384, **change))
        return found.p5, found.p95

    def at(part: float, low: float, high: float) -> float:
        return low + part * (high - low)

    cases = [
        ({"gap_mm": 10.0}, lambda part: {"gap_mm": at(1 - part, -10, 10)}),
        ({"frame_fraction": 0.2}, lambda part: {"share": at(part, 0.8, 1.2)}),
        ({"conductivity": {"timber": 0.2}}, lambda part: {"stud": 0.13 * at(part, 0.8, 1.2)}),
        ({"conductivity": {"loose fill": 0.1}}, lambda part: {"fill": 0.039 * at(part, 0.9, 1.1)}),
        (
            {"fill_density": 0.2, "conductivity_by_density": 0.5},
            lambda part: {"fill": 0.039 * at(part, 0.9, 1.1)},
        ),
    ]
    for asked, moves in cases:
        low, high = ends(**asked)
        assert low < as_drawn < high
        assert low == pytest.approx(judge(moved(**moves(0.05))).u_value, rel=1e-4), asked
        assert high == pytest.approx(judge(moved(**moves(0.95))).u_value, rel=1e-4), asked


def test_density_alone_does_nothing_and_gaps_only_add():
    wall = framed()
    as_drawn = judge(wall).u_value
    flat = spread_of(wall, ranges(fill_density=0.3))
    assert flat.p5 == flat.p95 == pytest.approx(as_drawn, rel=1e-12)
    gaps = spread_of(wall, ranges(air_gaps=(0.0, 1.0), samples=4096))
    heat = judge(wall).heat
    unbridged = (
        heat.r_si
        + heat.r_se
        + sum(each.thickness_mm / 1000 / MATERIALS[each.material].conductivity_w_mk for each in wall.layers)
    )
    most = 0.01 * (0.145 / 0.039 / unbridged) ** 2
    assert gaps.p5 == pytest.approx(as_drawn + 0.05 * most, rel=1e-4)
    assert gaps.p95 == pytest.approx(as_drawn + 0.95 * most, rel=1e-4)
    stated = wall.model_copy(
        update={"corrections": wall.corrections.model_copy(update={"air_gap_level": 1, "air_gap_layer": "gap"})}
    )
    assert spread_of(stated, ranges(air_gaps=(0.0, 1.0))).drivers == ()


def test_a_brief_sets_the_ranges_and_says_what_is_wrong():
    usual = Uncertainty()
    assert {kind: usual.spread_of(kind) for kind in USUAL_SPREAD} == USUAL_SPREAD
    assert Uncertainty(conductivity={"timber": 0.2}).spread_of("timber") == 0.2
    for text, words in (
        ('[uncertainty.conductivity]\n"timbre" = 0.1', 'nearest: "timber"'),
        ("[uncertainty]\nair_gaps = [0.5, 0.1]", "smaller to the larger"),
        ("[uncertainty]\nsamples = 1000", "power of two"),
        ("[uncertainty]\ngap_mm = -1", "gap_mm"),
        ("[numeric]\ntolerance = 0.9", "tolerance"),
    ):
        with pytest.raises(InputError) as caught:
            parse_brief(f'name = "w"\n[target]\nu_value = 0.1\n[prices]\nlists = ["a.csv"]\n{text}\n', "brief.toml")
        assert words in str(caught.value)
