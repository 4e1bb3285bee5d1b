"""What a wall holds and costs, reckoned by hand (exact) from the products' prices and the brief's hours.

The wall is a twin frame of the small invented catalogue: 45 x 120 and 38 x 60 studs at 600, tied across a gap of 60.
"""

from __future__ import annotations

import numpy as np
import pytest
from small_briefs import CATALOGUE, LABOUR, PRICING, TIE, choices_of, every_row

from optimiser import rules, walls
from optimiser.buildup import parse_buildup, to_toml
from optimiser.evaluate import evaluate
from optimiser.judge import judge

RATE, WASTE = LABOUR["rate_per_h"], 1.07
SLOTS = {
    "wind-tight layer": {"allow": ["none", "paper"]},
    "outer board": {"allow": ["none"]},
    "sheathing": {"allow": ["strand-12"]},
    "outer frame": {"allow": ["stud-45x120"]},
    "outer gap board": {"allow": ["none"]},
    "inner gap board": {"allow": ["none"]},
    "inner frame": {"allow": ["none", "stud-38x60"], "offset_mm": [0, 300]},
    "airtight layer": {"allow": ["foil"]},
    "service zone": {"allow": ["none", "batten-45x60"]},
    "fill": {"allow": ["flock", "wool"]},
    "service fill": {"allow": ["wool"]},
}


@pytest.fixture(scope="module")
def choices():
    return choices_of(SLOTS, gap={"max_mm": 60, "step_mm": 60}, framing={"plates": 0}, tie=TIE)


@pytest.fixture(scope="module")
def buildable(choices):
    x = every_row(choices)
    return x[rules.buildable(choices, x)]


@pytest.fixture(scope="module")
def layers(choices, buildable):
    """Role -> figures of the tied twin blown with flock, without a service zone."""
    for row in buildable:
        wall = walls.buildup(choices, row, "w")
        held = {layer.role: layer for layer in wall.layers}
        if "service zone" in held or "gap" not in held or held["gap"].tie is None:
            continue
        if {held[role].material for role in ("outer frame", "gap", "inner frame")} == {"flock"}:
            return {each.role: each for each in judge(wall, PRICING).layers}
    raise AssertionError("the tied twin is not among the walls")


def test_a_board(layers):
    """12 mm at 620 kg/m3; 5.20 per m2 with 7 % waste; 0.14 h; 0.3 kg CO2e fossil and 1.5 biogenic per kg."""
    board = layers["sheathing"]
    assert board.weight_kg_m2 == pytest.approx(0.012 * 620)
    assert board.cost_per_m2 == pytest.approx(5.2 * WASTE + 0.14 * RATE)
    assert board.carbon_kgco2e_m2 == pytest.approx(0.3 * 0.012 * 620)
    assert board.biogenic_kgco2e_m2 == pytest.approx(-1.5 * 0.012 * 620)


def test_a_membrane(layers):
    """0.15 kg/m2; 1.40 per m2; 0.05 h to lay and 0.06 h to tape."""
    foil = layers["airtight layer"]
    assert foil.thickness_mm == 0
    assert foil.weight_kg_m2 == pytest.approx(0.15)
    assert foil.cost_per_m2 == pytest.approx(1.4 * WASTE + (0.05 + 0.06) * RATE)


def test_a_frame_and_its_fill(layers):
    """45/600 is stud: per m2 1/0.6 m of stud at 2.30; the rest blown at 60 kg/m3, for the void is 240 mm deep."""
    frame = layers["outer frame"]
    studs, fill = 0.045 / 0.6, 1 - 0.045 / 0.6
    assert frame.weight_kg_m2 == pytest.approx(studs * 0.12 * 420 + fill * 0.12 * 60)
    blown = fill * (0.12 * 60 * 1.0 * WASTE + 0.12 * 0.35 * RATE)
    assert frame.cost_per_m2 == pytest.approx((2.3 * WASTE + 0.045 * RATE) / 0.6 + blown)


def test_ties(layers):
    """12 x 200 mm plates every 600 x 1200, cut 60 + 2 x 60 long from sheets of 12 mm at 14.00 per m2; 0.05 h each."""
    gap = layers["gap"]
    each_m2 = 1 / (0.6 * 1.2)
    share = 0.012 / 0.6 * 0.2 / 1.2
    assert gap.weight_kg_m2 == pytest.approx(each_m2 * 0.012 * 0.2 * 0.18 * 500 + (1 - share) * 0.06 * 60)
    plates = each_m2 * (0.2 * 0.18 * 14.0 * WASTE + 0.05 * RATE)
    blown = (1 - share) * (0.06 * 60 * 1.0 * WASTE + 0.06 * 0.35 * RATE)
    assert gap.cost_per_m2 == pytest.approx(plates + blown)


def test_battens_behind_the_cladding(layers):
    """50 x 25 at 600: 1/0.6 m at 0.50 and 0.03 h per m2; air weighs and costs nothing."""
    space = layers["ventilated space"]
    assert space.weight_kg_m2 == pytest.approx(0.05 / 0.6 * 0.025 * 430)
    assert space.cost_per_m2 == pytest.approx((0.5 * WASTE + 0.03 * RATE) / 0.6)


def test_every_wall_costs_in_its_file_what_it_costs_in_the_search(choices, buildable):
    """All walls of this brief: single, touching, tied, staggered, with and without service zone."""
    found = evaluate(choices, buildable)
    keys = ("u_value", "thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "biogenic_kgco2e_m2")
    own = []
    for row in buildable:
        text = to_toml(walls.buildup(choices, row, "w"), CATALOGUE)
        judged = judge(parse_buildup(text, CATALOGUE, "w.toml"), PRICING)
        own.append([getattr(judged, key) for key in keys])
    np.testing.assert_allclose(own, found.of(keys), rtol=1e-8)
    ties = [any(layer.tie for layer in walls.buildup(choices, row, "w").layers) for row in buildable]
    assert 0 < sum(ties) < len(ties)
