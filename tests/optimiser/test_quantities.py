"""What a wall holds and costs, reckoned by hand (exact) from the products' prices and the brief's hours.

The wall is a twin frame of the small invented catalogue: 45 x 120 and 38 x 60 studs at 600, tied across a gap of 60.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_briefs import CATALOGUE, LABOUR, PRICING, PRODUCTS, TIE, brief_of, choices_of, every_row, material, sold

from materials.catalogue import Catalogue
from optimiser.brief.price_lists import terms_of
from optimiser.checks.judge import judge
from optimiser.command import printing
from optimiser.score.cost_parts import PARTS
from optimiser.space import buildable as rules
from optimiser.space import walls
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.wall.buildup import parse_buildup, to_toml
from optimiser.wall.pricing import Pricing

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
    assert_alike(choices, buildable, CATALOGUE)


FIGURES = ("u_value", "thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "biogenic_kgco2e_m2")


def assert_alike(choices, buildable, catalogue):
    """Every wall read back from its file has the figures of the search; some have ties."""
    found = evaluate(choices, buildable)
    own = []
    for row in buildable:
        text = to_toml(walls.buildup(choices, row, "w"), catalogue)
        judged = judge(parse_buildup(text, catalogue, "w.toml"), choices.pricing)
        own.append([getattr(judged, key) for key in FIGURES])
    np.testing.assert_allclose(own, found.of(FIGURES), rtol=1e-8)
    ties = [any(layer.tie for layer in walls.buildup(choices, row, "w").layers) for row in buildable]
    assert 0 < sum(ties) < len(ties)


# The same walls delivered, screwed, nailed and taped.
STEEL = material("steel", "fixing", (), 50, 7800, waste_fraction=0.02)
FIXED_CATALOGUE = Catalogue({**CATALOGUE.materials, "steel": STEEL}, {}, "small, fixed")
FIXING_PRODUCTS = [
    sold("screw", "steel", None, 0.06, "piece", mass_kg=0.004, supplier="Pennfold Fixings", delivery_km=0),
    sold("nail", "steel", None, 4.0, "kg", supplier="Pennfold Fixings", delivery_km=300),
    sold("tape", "steel", None, 0.5, "m", mass_kg=0.03, supplier="Pennfold Fixings"),
]
AWAY = {  # delivery_km and waste_fraction of products that state their own
    "strand-12": {"delivery_km": 400},
    "stud-45x120": {"waste_fraction": 0.12},
    "flock": {"delivery_km": 80, "waste_fraction": 0.01},
    "wool-60": {"delivery_km": 700},
    "plate-12": {"delivery_km": 40},
}
RATE_PER_T_KM, DISTANCE_KM = 0.2, 120
FIXED = {
    "sheathing": [{"product": "screw", "per_m2": 20}],
    "airtight layer": [{"product": "tape", "per_m2": 1.1}],
    "outer frame": [{"product": "nail", "per_m": 0.04}, {"product": "screw", "per_m": 2}],
    "service zone": [{"product": "screw", "per_m": 4}],
    "ventilated space": [{"product": "nail", "per_m": 0.02}],
    "tie": [{"product": "screw", "per_tie": 8}],
}
OFFERED = {each.key: each.model_copy(update=AWAY.get(each.key, {})) for each in (*PRODUCTS, *FIXING_PRODUCTS)}


def delivered_choices(transport: dict, fixings: dict, **slots) -> Choices:
    """Choices of the brief with the small goods and fixings, carried as `transport` says."""
    more = {"gap": {"max_mm": 60, "step_mm": 60}, "framing": {"plates": 0, "openings_fraction": 0.02}, "tie": TIE}
    brief = brief_of(SLOTS | slots, transport=transport, fixings=fixings, **more)
    return Choices(brief, FIXED_CATALOGUE, Pricing(OFFERED, terms_of(brief, FIXED_CATALOGUE, OFFERED), "EUR"))


def rows_of(choices):
    x = every_row(choices)
    return x[rules.buildable(choices, x)]


@pytest.fixture(scope="module")
def delivered():
    """Fills sold by kg and by m3, batts stacked from stock, ties, studs by geometry."""
    transport = {"rate_per_t_km": RATE_PER_T_KM, "distance_km": DISTANCE_KM}
    fill = {"allow": ["flock", "chips", "wool"]}
    return delivered_choices(transport, FIXED, fill=fill, **{"wind-tight layer": {"allow": ["paper"]}})


@pytest.fixture(scope="module")
def judged(delivered):
    return [judge(walls.buildup(delivered, row, "w"), delivered.pricing) for row in rows_of(delivered)]


def test_every_wall_delivered_and_fixed_costs_in_its_file_what_it_costs_in_the_search(delivered):
    rows = rows_of(delivered)
    held = {layer.material for row in rows for layer in walls.buildup(delivered, row, "w").layers}
    assert {"flock", "chips", "wool"} <= held
    assert_alike(delivered, rows, FIXED_CATALOGUE)


def test_studs_given_as_a_fraction_are_delivered_and_fixed_alike():
    brief = {"rate_per_t_km": RATE_PER_T_KM}
    choices = delivered_choices(brief, FIXED)
    given = choices.brief.model_copy(update={"framing": choices.brief.framing.model_copy(update={"fraction": 0.14})})
    choices = Choices(given, FIXED_CATALOGUE, choices.pricing)
    rows = rows_of(choices)
    own = [judge(walls.buildup(choices, row, "w"), choices.pricing).cost_per_m2 for row in rows]
    np.testing.assert_allclose(own, evaluate(choices, rows).cost_per_m2, rtol=1e-8)


def test_parts_suppliers_and_hours_add_up_to_the_cost_of_the_wall(judged):
    """By layer, by part, by supplier with labour, and hours at their rate: the same money, whichever way."""
    assert len(judged) > 20
    for each in judged:
        told = each.cost
        cost = pytest.approx(each.cost_per_m2, abs=1e-9)
        assert sum(getattr(told.by_part, part) for part in PARTS) == told.by_part.total == cost
        assert sum(layer.total for layer in told.by_layer) == cost
        assert sum(told.by_supplier.values()) + told.by_part.labour == cost
        assert told.labour_h_per_m2 * RATE == pytest.approx(told.by_part.labour, abs=1e-9)
        assert sum(told.labour_hours.values()) == told.labour_h_per_m2
        for layer, parts in zip(each.layers, told.by_layer, strict=True):
            assert layer.cost_parts == parts
            assert parts.total == pytest.approx(layer.cost_per_m2, abs=1e-9)


@pytest.fixture(scope="module")
def by_role(judged):
    """Role -> figures of the tied twin filled with chips."""
    for each in judged:
        held = {layer.role: layer for layer in each.wall.layers}
        if "gap" in held and held["gap"].tie and held["outer frame"].material == held["gap"].material == "chips":
            return {layer.role: layer for layer in each.layers}
    raise AssertionError("the tied twin is not among the walls")


def test_a_board_delivered_and_screwed(by_role):
    """7.44 kg/m2 with 7 % waste over 400 km; 20 screws of 4 g with 2 % waste, brought for nothing."""
    board = by_role["sheathing"].cost_parts
    assert board.material == pytest.approx(5.2)
    assert board.waste == pytest.approx(5.2 * 0.07)
    assert board.delivery == pytest.approx(0.012 * 620 * WASTE * 400 * RATE_PER_T_KM / 1000)
    assert board.fixings == pytest.approx(20 * 0.06 * 1.02)
    assert board.labour == pytest.approx(0.14 * RATE)
    assert by_role["sheathing"].weight_kg_m2 == pytest.approx(0.012 * 620 + 20 * 0.004)
    assert by_role["sheathing"].carbon_kgco2e_m2 == pytest.approx(0.3 * (0.012 * 620 + 20 * 0.004))


def test_a_membrane_taped(by_role):
    """1.1 m of tape of 30 g a metre, brought over the brief's 120 km with the membrane's 150 g."""
    foil = by_role["airtight layer"]
    assert foil.cost_parts.fixings == pytest.approx(1.1 * 0.5 * 1.02)
    carried = 0.15 * WASTE + 1.1 * 0.03 * 1.02
    assert foil.cost_parts.delivery == pytest.approx(carried * DISTANCE_KM * RATE_PER_T_KM / 1000)
    assert foil.weight_kg_m2 == pytest.approx(0.15 + 1.1 * 0.03)


def test_ties_delivered_and_screwed(by_role):
    """1/0.6/1.2 ties per m2 with 8 screws each; chips at 60 kg/m3, sold by m3 but carried by mass."""
    gap = by_role["gap"]
    each_m2, share = 1 / (0.6 * 1.2), 0.012 / 0.6 * 0.2 / 1.2
    assert gap.cost_parts.fixings == pytest.approx(each_m2 * 8 * 0.06 * 1.02)
    plates = each_m2 * 0.012 * 0.2 * 0.18 * 500
    chips = (1 - share) * 0.06 * 60
    assert gap.weight_kg_m2 == pytest.approx(plates + chips + each_m2 * 8 * 0.004)
    carried = (plates * 40 + chips * DISTANCE_KM) * WASTE
    assert gap.cost_parts.delivery == pytest.approx(carried * RATE_PER_T_KM / 1000)
    assert gap.cost_parts.material == pytest.approx(each_m2 * 0.2 * 0.18 * 14.0 + (1 - share) * 0.06 * 55.0)


def test_studs_nailed(by_role):
    """1/0.6 m of studs per m2 and 2 % of the area more, each metre 45 mm wide, with 40 g of nails and 2 screws."""
    metres = 1 / 0.6 + 0.02 / 0.045
    parts = by_role["outer frame"].cost_parts
    assert parts.fixings == pytest.approx(metres * (0.04 * 4.0 + 2 * 0.06) * 1.02)
    studs = metres * 2.3
    chips = (1 - metres * 0.045) * 0.12 * 55.0
    assert parts.material == pytest.approx(studs + chips)
    assert parts.waste == pytest.approx(studs * 0.12 + chips * 0.07)


@given(
    st.sampled_from(["rate_per_t_km", "distance_km"]),
    st.floats(0, 5, allow_subnormal=False),
    st.floats(0, 5, allow_subnormal=False),
)
def test_carrying_further_or_dearer_never_makes_a_wall_cheaper(what, one, other):
    near, far = sorted((one, other))
    usual = {"rate_per_t_km": 0.2, "distance_km": 100.0}
    costs = []
    for factor in (0.0, near, far):
        choices = delivered_choices(
            usual | {what: usual[what] * factor}, {}, fill={"allow": ["flock", "chips", "wool"]}
        )
        costs.append(evaluate(choices, rows_of(choices)).cost_per_m2)
    assert (costs[0] <= costs[1] + 1e-9).all() and (costs[1] <= costs[2] + 1e-9).all()


def test_no_rate_and_no_fixings_leave_every_figure_as_it_was(choices, buildable):
    """Distances cost nothing where a t km costs nothing."""
    brief = brief_of(SLOTS, gap={"max_mm": 60, "step_mm": 60}, framing={"plates": 0}, tie=TIE)
    free = brief_of(
        SLOTS, gap={"max_mm": 60, "step_mm": 60}, framing={"plates": 0}, tie=TIE, transport={"distance_km": 9000}
    )
    near, far = (
        Choices(each, CATALOGUE, Pricing(PRICING.products, terms_of(each, CATALOGUE, PRICING.products), "EUR"))
        for each in (brief, free)
    )
    usual = evaluate(choices, buildable)
    for each in (near, far):
        assert (evaluate(each, buildable).of(FIGURES) == usual.of(FIGURES)).all()


def test_check_shows_the_parts_in_its_object_and_in_its_table(judged, capsys):
    each = judged[-1]
    told = each.as_json()["cost"]
    assert set(told) == {"by_part", "by_layer", "by_supplier", "labour_h_per_m2", "labour_hours"}
    assert list(told["by_part"]) == list(PARTS)
    assert told["by_layer"] == pytest.approx([layer["cost_per_m2"] for layer in each.as_json()["layers"]])
    printing.judgement(each, "EUR")
    printed = capsys.readouterr().out
    wall = next(line for line in printed.splitlines() if line.split()[:1] == ["wall"])
    assert wall.split()[1:] == [f"{getattr(each.cost.by_part, part):.2f}" for part in PARTS] + [
        f"{each.cost_per_m2:.2f}"
    ]
    assert f"labour {each.cost.labour_h_per_m2:.2f} h/m2" in printed
    assert "Pennfold Fixings" in printed


def test_a_layer_on_no_list_leaves_its_parts_unknown_and_tells_the_rest(delivered, capsys):
    """Without gypsum on the lists the wall has no cost, but hours, fixings and what the others bring."""
    wall = walls.buildup(delivered, rows_of(delivered)[-1], "w")
    unnamed = tuple(each.model_copy(update={"product": None}) for each in wall.layers)
    bare = wall.model_copy(update={"layers": unnamed})
    products = {key: each for key, each in OFFERED.items() if each.material != "gypsum"}
    told = judge(bare, Pricing(products, delivered.pricing.terms, "EUR"))
    lining = told.cost.by_layer[-1]
    assert (lining.material, lining.waste, lining.delivery, lining.total) == (None, None, None, None)
    assert lining.labour == pytest.approx(0.2 * RATE)
    assert told.cost.by_part.material is None and told.cost.by_part.total is None and told.cost_per_m2 is None
    assert told.cost.by_part.labour > 0 and told.cost.by_part.fixings > 0
    assert told.as_json()["cost"]["by_part"]["material"] is None
    printing.judgement(told, "EUR")
    assert "?" in capsys.readouterr().out


def test_without_a_brief_there_is_no_cost(judged):
    found = judge(judged[0].wall)
    assert found.cost is None and "cost" not in found.as_json()
    assert all(each.cost_parts is None for each in found.layers)
