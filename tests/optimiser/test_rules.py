"""The space of buildable walls: counted, listed and checked against the rules of the trade by other code."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_briefs import CATALOGUE, PRICING, choices_of, every_row, small_choices

from optimiser.checks.judge import judge
from optimiser.space import buildable as rules
from optimiser.space import walls
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.template import AT, SLOTS
from optimiser.wall.buildup import BuildUp, parse_buildup, to_toml

several = settings(max_examples=25, deadline=None)
ZONES = ("outer frame", "gap", "inner frame")


def faults(wall: BuildUp, choices: Choices) -> list[str]:
    """What is wrong with a wall by the trade's rules, read from the wall alone and the brief's limits."""
    brief, at = choices.brief, {layer.role: number for number, layer in enumerate(wall.layers)}
    layers = dict(zip(at, wall.layers, strict=True))
    material = {role: wall.of(layer.material) for role, layer in layers.items()}
    found = []
    for role, layer in layers.items():
        kind = material[role].kind
        if role in ZONES and kind == "loose fill":
            found += _loose(wall, at[role])
        if kind == "batt":
            keys = (layer.product,) if isinstance(layer.product, str) else layer.product
            stock = [PRICING.products[key].thickness_mm for key in keys]
            if abs(sum(stock) - layer.thickness_mm) > 1e-6:
                found.append(f"{role}: batts of {stock} do not make {layer.thickness_mm}")
        if role in ZONES and material[role].rigid_foam:
            found.append(f"{role}: rigid foam")
        if role in (*ZONES, "service zone") and kind == "air" and layer.thickness_mm > 300:
            found.append(f"{role}: air too deep")
    if layers["ventilated space"].thickness_mm < 25:
        found.append("ventilated space too thin")
    if not material["airtight layer"].airtight:
        found.append("no airtight layer")
    board = next((role for role in ("outer board", "sheathing") if role in layers), None)
    tight_board = bool(board and material[board].windtight)
    if ("wind-tight layer" in layers) == tight_board:
        found.append("not exactly one wind-tight layer")
    racking = [role for role in layers if role in ("sheathing", "outer gap board") and material[role].racking]
    if not any(abs(at[role] - at["outer frame"]) == 1 for role in racking):
        found.append("load-bearing frame not racked")
    if layers["outer frame"].thickness_mm < brief.limits.min_load_bearing_depth_mm:
        found.append("load-bearing frame too shallow")
    found += _gap(layers, brief.gap.min_mm)
    return found


def _loose(wall: BuildUp, number: int) -> list[str]:
    """A loose fill: a solid layer or the same fill on both sides, no air, no other fill."""
    own, found = wall.layers[number], []
    for step, side in ((-1, "outside"), (1, "inside")):
        beside = wall.layers[number + step]
        if beside.role in ZONES:
            if beside.material != own.material or beside.product != own.product:
                found.append(f"{own.role}: another fill or air {side}, and no board between")
        elif beside.thickness_mm == 0 and side == "outside":
            found.append(f"{own.role}: nothing holds the fill {side}")
    return found


def _gap(layers: dict, least: float) -> list[str]:
    found = []
    if "inner frame" not in layers and ("gap" in layers or "inner gap board" in layers):
        found.append("gap or its inner board without an inner frame")
    if "inner frame" in layers and (layers["gap"].thickness_mm if "gap" in layers else 0) < least:
        found.append("gap narrower than asked")
    if "inner gap board" in layers and "gap" not in layers:
        found.append("board on the inner side of no gap")
    if "gap" in layers and layers["gap"].tie and "inner frame" in layers:
        outer, inner = layers["outer frame"].frame, layers["inner frame"].frame
        if outer.fraction is not None or (outer.spacing_mm, outer.offset_mm) != (inner.spacing_mm, inner.offset_mm):
            found.append("tie between studs that do not line up")
    return found


def some(x: np.ndarray, count: int, seed: int) -> np.ndarray:
    """Up to `count` rows, picked at random."""
    return x[np.random.default_rng(seed).permutation(len(x))[:count]]


SEEDS = st.integers(0, 1000)


@several
@given(small_choices())
def test_the_space_is_counted_as_it_is_listed(choices):
    assert rules.space_size(choices) == int(rules.buildable(choices, every_row(choices)).sum())


@several
@given(small_choices())
def test_canonical_twice_is_canonical_once(choices):
    x = every_row(choices)
    once = rules.canonical(choices, x)
    assert (rules.canonical(choices, once) == once).all()
    assert (once >= 0).all()
    assert (once < choices.sizes).all()


@several
@given(small_choices(), SEEDS)
def test_buildable_is_what_the_trade_would_build(choices, seed):
    """Both ways: a buildable wall has no fault, and a canonical row that is not buildable has one."""
    x = every_row(choices)
    canonical = x[(rules.canonical(choices, x) == x).all(axis=1)]
    for row in some(canonical, 60, seed):
        buildable = bool(rules.buildable(choices, row[None])[0])
        found = faults(walls.buildup(choices, row, "w"), choices)
        assert (not found) == buildable, found


@several
@given(small_choices(), SEEDS)
def test_every_wall_stands_once_in_the_space(choices, seed):
    x = every_row(choices)
    picked = some(x[rules.buildable(choices, x)], 300, seed)
    files = [to_toml(walls.buildup(choices, row, "w"), CATALOGUE) for row in picked]
    assert len(set(files)) == len(files)


@several
@given(small_choices(), SEEDS)
def test_search_and_file_judge_alike(choices, seed):
    """Row -> build-up -> file -> reader -> judgement gives the figures that the search compares."""
    x = every_row(choices)
    x = some(x[rules.buildable(choices, x)], 25, seed)
    found = evaluate(choices, x)
    for number, row in enumerate(x):
        text = to_toml(walls.buildup(choices, row, "w"), CATALOGUE)
        own = judge(parse_buildup(text, CATALOGUE, "w.toml"), PRICING)
        assert own.u_value == pytest.approx(found.u_value[number], rel=1e-9, nan_ok=True)
        for key in ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "biogenic_kgco2e_m2"):
            assert getattr(own, key) == pytest.approx(getattr(found, key)[number], rel=1e-8), key


@several
@given(small_choices(), SEEDS)
def test_rows_do_not_lean_on_their_neighbours(choices, seed):
    """Walls of a mixed matrix, split by topology and joined again, score as each does alone."""
    x = every_row(choices)
    x = some(x[rules.buildable(choices, x)], 40, seed)
    keys = ("u_value", "cost_per_m2", "carbon_kgco2e_m2")
    together = evaluate(choices, x).of(keys)
    for number in range(len(x)):
        np.testing.assert_allclose(evaluate(choices, x[number : number + 1]).of(keys)[0], together[number], rtol=1e-12)


# One template, many systems

TEMPLATE = {
    "wind-tight layer": {"allow": ["none", "paper"]},
    "outer board": {"allow": ["none", "fibre-60"]},
    "sheathing": {"allow": ["none", "strand-12"]},
    "outer frame": {"allow": ["stud-45x120"]},
    "outer gap board": {"allow": ["none", "strand-12"]},
    "inner gap board": {"allow": ["none", "soft-8"]},
    "inner frame": {"allow": ["none", "stud-38x60"]},
    "airtight layer": {"allow": ["foil"]},
    "service zone": {"allow": ["none", "batten-45x60"]},
    "fill": {"allow": ["flock"]},
    "service fill": {"allow": ["wool"]},
}
SINGLE = ["cladding", "ventilated space", "wind-tight layer", "sheathing", "outer frame", "airtight layer", "lining"]
SYSTEMS = {
    "single stud": SINGLE,
    "single stud with an insulating board outside": [
        *["cladding", "ventilated space", "outer board", "sheathing", "outer frame", "airtight layer", "lining"]
    ],
    "twin stud": [*SINGLE[:5], "gap", "inner frame", *SINGLE[5:]],
    "twin stud with a board in the middle": [
        *["cladding", "ventilated space", "outer board", "outer frame", "outer gap board", "gap", "inner frame"],
        *["airtight layer", "lining"],
    ],
    "twin stud with boards on both sides of the gap": [
        *[*SINGLE[:5], "outer gap board", "gap", "inner gap board", "inner frame", *SINGLE[5:]]
    ],
    "frames that touch": [*SINGLE[:5], "inner frame", *SINGLE[5:]],
}
SYSTEMS |= {f"{name}, service zone": [*roles[:-1], "service zone", "lining"] for name, roles in SYSTEMS.items()}


@pytest.fixture(scope="module")
def template():
    """Every buildable row of one brief, by the roles that it fills."""
    choices = choices_of(TEMPLATE, gap={"max_mm": 60, "step_mm": 60})
    x = every_row(choices)
    x = x[rules.buildable(choices, x)]
    found = {tuple(layer.role for layer in walls.buildup(choices, row, "w").layers): row for row in x}
    return choices, found


@pytest.mark.parametrize("name", SYSTEMS)
def test_a_wall_system_is_which_slots_are_filled(template, name):
    choices, found = template
    row = found[tuple(SYSTEMS[name])]
    wall = walls.buildup(choices, row, name)
    assert faults(wall, choices) == []
    assert 0.05 < judge(wall, PRICING).u_value < 0.4


def test_layers_run_from_outside_to_inside(template):
    for roles in template[1]:
        assert [SLOTS.index(role) for role in roles] == sorted(SLOTS.index(role) for role in roles)


def test_more_of_a_system_insulates_better(template):
    """Physical sanity: each step adds insulation or a bridge-free layer, so U falls."""
    choices, found = template
    x = np.array([found[tuple(SYSTEMS[name])] for name in ("single stud", "frames that touch", "twin stud")])
    x = np.vstack([x, found[tuple(SYSTEMS["twin stud, service zone"])]])
    u = evaluate(choices, x).u_value
    assert (np.diff(u) < 0).all()


# Rules one by one, by hand


def row_of(choices: Choices, held: dict[str, str]) -> np.ndarray:
    """A row by the options' keys; slots not named hold their first option."""
    row = np.zeros(len(AT), int)
    for name, key in held.items():
        options = choices.options.get(name) or choices.fills[name]
        row[AT[name]] = [each.key for each in options].index(key)
    return row


WIDE = {
    "wind-tight layer": {"allow": ["none", "paper"]},
    "outer board": {"allow": ["none", "fibre-60", "foam-40"]},
    "sheathing": {"allow": ["none", "fibre-22", "strand-12"]},
    "outer frame": {"allow": ["stud-45x120"]},
    "outer gap board": {"allow": ["none", "strand-12", "soft-8"]},
    "inner gap board": {"allow": ["none", "soft-8"]},
    "inner frame": {"allow": ["none", "stud-38x60"]},
    "airtight layer": {"allow": ["foil"]},
    "service zone": {"allow": ["none"]},
    "fill": {"allow": ["flock", "chips", "wool", "air"]},
    "service fill": {"allow": ["air"]},
}
WOOL = "wool / Quillhaven Stores"
GOOD = {
    "wind-tight layer": "paper",
    "sheathing": "strand-12",
    "outer frame": "stud-45x120 @600",
    "inner frame": "stud-38x60 @600",
    "gap": "60",
    "outer fill": "flock",
    "gap fill": "flock",
    "inner fill": "flock",
}
BY_HAND = {
    "as it should be": ({}, True),
    "two wind-tight layers": ({"outer board": "fibre-60"}, False),
    "a wind-tight board instead of the membrane": ({"outer board": "fibre-60", "wind-tight layer": "none"}, True),
    "foam outside under the membrane": ({"outer board": "foam-40"}, True),
    "no wind-tight layer": ({"wind-tight layer": "none"}, False),
    "no racking": ({"sheathing": "fibre-22", "wind-tight layer": "none"}, False),
    "racking on the gap's side": (
        {"sheathing": "fibre-22", "wind-tight layer": "none", "outer gap board": "strand-12"},
        True,
    ),
    "a soft board does not rack": (
        {"sheathing": "fibre-22", "wind-tight layer": "none", "outer gap board": "soft-8"},
        False,
    ),
    "an open void": ({"sheathing": "none", "outer gap board": "strand-12"}, False),
    "batts need no closed void": (
        {"sheathing": "none", "outer gap board": "strand-12", "outer fill": WOOL},
        True,
    ),
    "two fills in one void": ({"gap fill": "chips"}, False),
    "a batt beside loose fill": ({"gap fill": WOOL}, False),
    "two fills parted by a board": ({"outer fill": "chips", "outer gap board": "soft-8"}, True),
    "air beside loose fill": ({"gap fill": "air"}, False),
    "air between boards": (
        {"gap fill": "air", "outer gap board": "soft-8", "inner gap board": "soft-8"},
        True,
    ),
    "air beside batts": ({"gap fill": "air", "outer fill": WOOL, "inner fill": WOOL}, True),
    "batts that do not add up": ({"gap": "70", "outer fill": WOOL, "gap fill": WOOL, "inner fill": WOOL}, False),
    "a gap without an inner frame": ({"inner frame": "none"}, False),
}


@pytest.mark.parametrize(("change", "buildable"), BY_HAND.values(), ids=BY_HAND)
def test_rules_by_hand(change, buildable):
    choices = choices_of(WIDE, gap={"max_mm": 70, "step_mm": 10})
    row = row_of(choices, GOOD | change)
    assert bool(rules.buildable(choices, row[None])[0]) is buildable


def test_the_smallest_load_bearing_depth_holds():
    choices = choices_of(WIDE | {"outer frame": {"allow": ["stud"]}})
    assert {option.thickness for option in choices.options["outer frame"]} == {0.120, 0.145}


def test_rigid_foam_never_comes_between_studs():
    """Not even where the catalogue calls it a fill."""
    wide = {name: slot for name, slot in WIDE.items() if name != "fill"}
    assert not any(fill.stock.material.rigid_foam for fill in choices_of(wide).fills["gap fill"])
