"""Carbon of whole walls: the figures by module and layer agree with what the search adds up, whatever counts."""

from __future__ import annotations

import json

import numpy as np
import pytest

from materials.catalogue import load_catalogue
from materials.models import MODULES, Declaration, ModuleCarbon
from optimiser.brief.brief import read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.checks.judge import judge
from optimiser.command.cli import demo_brief
from optimiser.score.carbon_figures import stored_words
from optimiser.score.embodied_carbon import counted
from optimiser.score.operation import operational_per_u
from optimiser.score.settings import CarbonDemand, Operation, Transport
from optimiser.space import buildable as rules
from optimiser.space import walls
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.wall.buildup import parse_buildup, to_toml
from optimiser.wall.pricing import Pricing

CATALOGUE = load_catalogue()
COUNTABLE = tuple(each for each in MODULES if each != "D")
DEMANDS = {
    "made": CarbonDemand(),
    "delivered": CarbonDemand(modules=("A1-A3", "A4", "A5")),
    "whole": CarbonDemand(modules=COUNTABLE, study_years=60),
    "land filled": CarbonDemand(
        modules=COUNTABLE, end_of_life={"renewable": "land filling", "fossil": "reuse"}, installation_kgco2e_kg=0.01
    ),
}
DECLARED = Declaration(
    key="flock",
    source="invented",
    modules={
        "A1-A3": ModuleCarbon(fossil=0.11, biogenic=-1.3, land_use=0.01),
        "A5": ModuleCarbon(fossil=0.02),
        "C3": ModuleCarbon(fossil=0.05, biogenic=1.35),
        "D": ModuleCarbon(fossil=-0.3),
    },
)


def demo(demand: CarbonDemand, operation: Operation | None = None) -> Choices:
    """The demo's choices under other demands, one blown fill with a declaration of its own."""
    brief = read_brief(demo_brief())
    change = {"carbon": demand, "transport": Transport(distance_km=120, vehicle="light lorry"), "operation": operation}
    prices = brief.prices.model_copy(update={"declarations": ()})  # the lists' own figures of A1-A3 alone
    brief = brief.model_copy(update=change | {"prices": prices})
    pricing = pricing_of(brief, demo_brief().parent, CATALOGUE)[0]
    products = {
        key: each.model_copy(update={"declaration": DECLARED, "delivery_km": 310.0})
        if each.material == "blown-cellulose"
        else each
        for key, each in pricing.products.items()
    }
    return Choices(brief, CATALOGUE, Pricing(products, pricing.terms, pricing.currency))


def some_rows(choices: Choices, count: int, seed: int = 5) -> np.ndarray:
    rng = np.random.default_rng(seed)
    x = rng.integers(0, choices.sizes, size=(4000, len(choices.sizes)))
    return x[rules.buildable(choices, x)][:count]


@pytest.fixture(scope="module", params=DEMANDS, ids=list(DEMANDS))
def judged(request):
    choices = demo(DEMANDS[request.param])
    x = some_rows(choices, 12)
    assert len(x) == 12
    found = [judge(walls.buildup(choices, row, "w"), choices.pricing) for row in x]
    return choices.brief.carbon, evaluate(choices, x), found


def test_the_figures_of_a_wall_are_those_of_the_search(judged):
    demand, scores, found = judged
    for number, each in enumerate(found):
        assert each.carbon.score == pytest.approx(scores.carbon_kgco2e_m2[number], rel=1e-12)
        assert each.carbon.stored == pytest.approx(scores.biogenic_kgco2e_m2[number], rel=1e-12)
        assert each.carbon_kgco2e_m2 == pytest.approx(each.carbon.score, rel=1e-12)
        assert each.carbon.counted == demand.modules


def test_every_layer_is_the_sum_of_its_modules(judged):
    demand, _, found = judged
    for wall in found:
        for figures, layer in zip(wall.layers, wall.carbon.layers, strict=True):
            assert layer.score == pytest.approx(figures.carbon_kgco2e_m2, rel=1e-12, abs=1e-12)
            assert layer.stored == pytest.approx(figures.biogenic_kgco2e_m2, rel=1e-12, abs=1e-12)
            assert counted(layer.modules, demand) == pytest.approx(layer.score, rel=1e-9, abs=1e-12)


def test_the_wall_is_the_sum_of_its_layers(judged):
    for wall in judged[2]:
        for name in COUNTABLE:
            for flow in ("fossil", "biogenic", "land_use", "total"):
                parts = [getattr(each.modules[name], flow) for each in wall.carbon.layers]
                assert getattr(wall.carbon.modules[name], flow) == pytest.approx(sum(parts), rel=1e-12, abs=1e-12)


def test_biogenic_carbon_balances_but_for_declared_methane(judged):
    """The declared fill gives off 0.05 more than it takes up; nothing else in the wall does."""
    for wall in judged[2]:
        filled = [each for each in wall.carbon.layers if "D" in each.modules]
        rest = [each for each in wall.carbon.layers if "D" not in each.modules]
        for layer in rest:
            assert sum(value.biogenic for value in layer.modules.values()) == pytest.approx(0, abs=1e-9)
        for layer in filled:
            assert sum(layer.modules[name].biogenic for name in COUNTABLE) > 0
            assert layer.modules["D"].fossil < 0


def test_what_is_declared_and_what_is_generic_is_told(judged):
    told = [each for wall in judged[2] for each in wall.carbon.layers]
    assert not any(each.missing for each in told)
    fills = {key: names for each in told for key, names in each.declared.items() if "cellulose" in key}
    assert fills and set(fills.values()) == {("A1-A3", "A5", "C3", "D")}
    others = {names for each in told for key, names in each.declared.items() if key not in fills}
    assert others == {("A1-A3",)}, "the price lists state A1-A3 alone"
    for layer in told:
        for key, names in layer.generic.items():
            assert set(names) | set(layer.declared.get(key, ())) >= set(COUNTABLE)


def test_the_object_of_check_speaks_json(judged):
    demand, _, found = judged
    told = json.loads(json.dumps(found[0].as_json()))
    assert set(told["carbon"]) == {
        *("counted", "scope", "study_years", "score_kgco2e_m2", "stored_kgco2_m2"),
        *("stored_words", "modules", "layers"),
    }
    assert set(COUNTABLE) <= set(told["carbon"]["modules"])
    assert told["carbon"]["modules"]["A1-A3"]["total"] < told["carbon"]["modules"]["A1-A3"]["fossil"]
    assert told["carbon"]["score_kgco2e_m2"] == pytest.approx(told["carbon_kgco2e_m2"], rel=1e-12)
    whole = "balanced" in told["carbon"]["scope"]
    assert whole == (demand.modules == COUNTABLE)


def test_whole_life_adds_the_heat_that_the_wall_loses():
    operation = Operation(heat_source="gas", yearly_change=-0.02)
    choices = demo(DEMANDS["whole"], operation)
    x = some_rows(choices, 3)
    scores = evaluate(choices, x)
    for number, row in enumerate(x):
        wall = walls.buildup(choices, row, "w")
        found = judge(wall, choices.pricing, operation=operation)
        factor = operational_per_u(choices.brief.climate, operation, 60)
        assert found.carbon.operational == pytest.approx(factor * found.u_value, rel=1e-12)
        assert found.carbon.whole_life == pytest.approx(scores.whole_life_kgco2e_m2[number], rel=1e-9)
        told = found.carbon.as_json()
        assert told["whole_life_kgco2e_m2"] == told["score_kgco2e_m2"] + told["operational_kgco2e_m2"]


def test_a_declaration_survives_the_file_of_its_wall():
    choices = demo(DEMANDS["whole"])
    row = some_rows(choices, 40)
    wall = next(
        wall
        for wall in (walls.buildup(choices, each, "w") for each in row)
        if any(wall.of(layer.material).declaration for layer in wall.layers)
    )
    again = parse_buildup(to_toml(wall, CATALOGUE), CATALOGUE, "w.toml")
    before, after = (judge(each, choices.pricing).carbon for each in (wall, again))
    for one, other in zip(before.layers, after.layers, strict=True):
        assert (one.declared, one.generic, one.missing) == (other.declared, other.generic, other.missing)
    for name, value in before.modules.items():
        assert after.modules[name].total == pytest.approx(
            value.total, rel=1e-8
        )  # shares of frames are rounded in files
    assert {each.material: again.of(each.material).declaration for each in again.layers} == {
        each.material: wall.of(each.material).declaration for each in wall.layers
    }


PLAIN = """
name = "plain"
outside = "exposed"
[materials.unknown]
conductivity_w_mk = 0.04
density_kg_m3 = 50
[[layer]]
role = "board"
material = "osb"
thickness_mm = 15
[[layer]]
role = "fill"
material = "FILL"
thickness_mm = 200
[[layer]]
role = "air"
material = "air"
thickness_mm = 20
"""


def plain(fill: str, operation: Operation | None = None):
    return judge(parse_buildup(PLAIN.replace("FILL", fill), CATALOGUE, "plain.toml"), operation=operation).carbon


def test_a_wall_by_itself_is_told_by_module_too():
    found = plain("blown-cellulose")
    assert found.counted == ("A1-A3",) and found.scope == "A1-A3: fossil carbon and land use"
    assert found.score == pytest.approx(0.45 * 9.75 + 0.2 * 52 * 0.2, rel=1e-12)
    assert found.stored == pytest.approx(-1.63 * 9.75 - 1.45 * 52 * 0.2, rel=1e-12)
    assert found.layers[2].score == 0.0 and not any(each.total for each in found.layers[2].modules.values())
    assert found.operational is None and found.whole_life is None


def test_an_unknown_material_leaves_the_wall_s_carbon_open():
    found = plain("unknown")
    assert found.score is None and found.stored is None
    assert found.layers[1].missing == {"unknown": ("A1-A3", "A5", "B4")}
    told = found.as_json()
    assert told["modules"]["A1-A3"] is None and told["modules"]["C2"]["fossil"] > 0
    assert told["layers"][0]["modules"]["A1-A3"]["fossil"] == pytest.approx(0.45 * 9.75)


def test_heat_lost_is_told_where_the_climate_is_known():
    assert plain("blown-cellulose", Operation()).operational is None
    given = plain("blown-cellulose", Operation(degree_hours_kkh=80))
    assert given.whole_life == given.score + given.operational and given.operational > 0


def test_stored_carbon_is_told_with_its_end_and_against_the_trade_s_rule():
    cellulose = CATALOGUE.get("blown-cellulose")
    assert stored_words(cellulose) == (
        "a kg of blown cellulose holds 1.45 kg CO2 until it is burnt at the end of life, when all of it goes to the "
        "air; common practice reckons with about 1.2 kg, this figure is 21% more"
    )
    filled = stored_words(cellulose, CarbonDemand(end_of_life={"renewable": "land filling"}))
    assert "put to land fill" in filled and "methane" in filled
    declared = cellulose.model_copy(update={"declaration": DECLARED})
    assert "holds 1.30 kg" in stored_words(declared) and "as its declaration states" in stored_words(declared)
    assert "8% more" in stored_words(declared)
    same = cellulose.model_copy(update={"biogenic_kgco2e_kg": -1.2})
    assert stored_words(same).endswith("this figure is the same")
    assert "common practice" not in stored_words(CATALOGUE.get("softwood-c24"))
    assert stored_words(CATALOGUE.get("stone-wool-batt")) is None
    assert stored_words(CATALOGUE.get("air")) is None
