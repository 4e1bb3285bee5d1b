"""Carbon per kg by module: reckoned by hand (exact) from invented materials, and laws for every material shipped."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from materials.catalogue import load_catalogue
from materials.factors import load_factors
from materials.models import MODULES, Declaration, Material, ModuleCarbon, Product, as_sold
from optimiser.score import embodied_carbon
from optimiser.score.embodied_carbon import by_range, modules_per_kg, per_kg
from optimiser.score.settings import CarbonDemand, Transport

CATALOGUE = [each for each in load_catalogue().materials.values() if each.key != "air"]
COUNTABLE = tuple(each for each in MODULES if each != "D")
ALL = CarbonDemand(modules=COUNTABLE)
LORRY = load_factors().vehicles["lorry"].kgco2e_t_km
ENDINGS = {key: each.kgco2e_kg for key, each in load_factors().endings.items()}
BEAM = Material(
    key="beam",
    name="beam",
    origin="renewable",
    fossil_kgco2e_kg=0.15,
    fossil_low_kgco2e_kg=0.07,
    fossil_high_kgco2e_kg=0.26,
    biogenic_kgco2e_kg=-1.64,
    waste_fraction=0.1,
    service_life_years=100,
)
FOAM = BEAM.model_copy(
    update={
        "origin": "fossil",
        "fossil_kgco2e_kg": 3.8,
        "biogenic_kgco2e_kg": 0.0,
        "burnt_fossil_kgco2e_kg": 2.4,
        "service_life_years": 40,
    }
)
materials = st.sampled_from(CATALOGUE)


def declared(material=BEAM, **modules):
    """The material with a declaration: A1-A3 as A1_A3, each (fossil, biogenic, land use)."""
    named = {key.replace("A1_A3", "A1-A3"): value for key, value in modules.items()}
    given_ = {
        key: ModuleCarbon(fossil=each[0], biogenic=each[1], land_use=each[2] if len(each) > 2 else 0.0)
        for key, each in named.items()
    }
    return material.model_copy(update={"declaration": Declaration(key="d", source="invented", modules=given_)})


def values(material, demand=ALL, transport=None, delivery_km=None):
    return modules_per_kg(material, demand, transport or Transport(), delivery_km).values


def near(value):
    return pytest.approx(value, rel=1e-12, abs=1e-15)


def test_without_a_brief_that_says_more_a1_to_a3_alone_count():
    assert [per_kg(each) for each in CATALOGUE] == [(m.fossil_kgco2e_kg, m.biogenic_kgco2e_kg) for m in CATALOGUE]


def test_a_beam_by_hand():
    """200 km by lorry, 50 km to its end, burnt; two lives in 150 years."""
    demand = ALL.model_copy(update={"study_years": 150.0, "installation_kgco2e_kg": 0.01})
    found = modules_per_kg(BEAM, demand, Transport(), 200.0)
    carriage, away = 0.2 * LORRY, 0.05 * LORRY
    wasted = 0.1 * (0.15 + carriage + away + ENDINGS["incineration"]) + 0.01
    assert found.values["A1-A3"] == ModuleCarbon(fossil=0.15, biogenic=-1.64)
    assert found.values["A4"].fossil == near(carriage)
    assert found.values["A5"].fossil == near(wasted)
    assert found.values["C1"].fossil == 0.004
    assert found.values["C2"].fossil == near(away)
    assert found.values["C3"] == ModuleCarbon(fossil=ENDINGS["incineration"], biogenic=1.64)
    assert found.values["C4"] == ModuleCarbon()
    once = 0.15 + carriage + wasted + 0.004 + away + ENDINGS["incineration"]
    assert found.values["B4"].fossil == near(once)
    assert found.replacements == 1
    counted, stored = per_kg(BEAM, demand, Transport(), 200.0)
    assert counted == near(2 * once) and stored == -1.64
    assert found.generic == COUNTABLE and not (found.declared or found.missing or found.closed)


def test_the_product_s_distance_comes_before_the_brief_s():
    far = Transport(distance_km=300)
    assert values(BEAM, transport=far)["A4"].fossil == near(0.3 * LORRY)
    assert values(BEAM, transport=far, delivery_km=0.0)["A4"].fossil == 0.0
    train = load_factors().vehicles["train"].kgco2e_t_km
    by_train = values(BEAM, transport=Transport(distance_km=300, vehicle="train"))
    assert by_train["A4"].fossil == near(0.3 * train)
    assert by_train["C2"].fossil == near(0.05 * LORRY), "what comes out of a house leaves by lorry"


@pytest.mark.parametrize(
    ("study", "life", "times"), [(50, 50, 0), (50, 80, 0), (50.0, 49.9, 1), (50, 25, 1), (60, 25, 2), (200, 50, 3)]
)
def test_replacements_within_the_study_period(study, life, times):
    assert embodied_carbon.replacements(BEAM.model_copy(update={"service_life_years": life}), study) == times


def test_cellulose_lasts_the_life_of_the_house():
    cellulose = load_catalogue().get("blown-cellulose")
    assert embodied_carbon.replacements(cellulose, 80) == 0 and embodied_carbon.replacements(cellulose, 81) == 1


@pytest.mark.parametrize("end", ["incineration", "land filling", "reuse"])
@pytest.mark.parametrize("material", [BEAM, FOAM], ids=["beam", "foam"])
def test_how_a_material_ends_is_the_brief_s_choice(material, end):
    demand = ALL.model_copy(update={"end_of_life": {material.origin: end}})
    found = modules_per_kg(material, demand, Transport())
    leaves, other = ("C4", "C3") if end == "land filling" else ("C3", "C4")
    burnt = material.burnt_fossil_kgco2e_kg or 0.0
    assert found.end == end
    assert found.values[leaves].fossil == near(ENDINGS[end] + (burnt if end == "incineration" else 0.0))
    assert found.values[leaves].biogenic == near(-material.biogenic_kgco2e_kg)
    assert found.values[other] == ModuleCarbon()


def test_the_usual_end_follows_the_origin():
    usual = {"renewable": "incineration", "mineral": "land filling", "fossil": "incineration", "metal": "reuse"}
    for origin, end in usual.items():
        assert embodied_carbon.end_of_life(BEAM.model_copy(update={"origin": origin}), ALL) == end
    nameless = BEAM.model_copy(update={"origin": None})
    assert embodied_carbon.end_of_life(nameless, ALL) == "incineration"
    assert embodied_carbon.end_of_life(nameless.model_copy(update={"biogenic_kgco2e_kg": None}), ALL) == "land filling"


def test_burnt_foam_gives_off_its_own_fossil_carbon():
    assert values(FOAM)["C3"].fossil == near(2.4 + ENDINGS["incineration"])
    unknown = FOAM.model_copy(update={"burnt_fossil_kgco2e_kg": None})
    usual = load_factors().usual["fossil"].burnt_fossil_kgco2e_kg
    assert values(unknown)["C3"].fossil == near(usual + ENDINGS["incineration"])


def test_a_declaration_stands_module_by_module():
    product = declared(A1_A3=(0.2, -1.5, 0.05), A5=(0.07, 0.0), C1=(0.001, 0.0), C3=(0.09, 1.5), D=(-0.4, 0.0))
    found = modules_per_kg(product, ALL, Transport(distance_km=100))
    assert found.declared == ("A1-A3", "A5", "C1", "C3", "D")
    assert found.generic == ("A4", "B4", "C2", "C4") and not found.missing
    assert found.values["A5"].fossil == 0.07 and found.values["C1"].fossil == 0.001
    assert found.values["A4"].fossil == near(0.1 * LORRY)
    assert found.values["C4"] == ModuleCarbon(), "C3 and C4 tell of one end: nothing comes on top of the declared one"
    assert embodied_carbon.counted(found.values, ALL) == near(
        0.2 + 0.05 + 0.1 * LORRY + 0.07 + 0.001 + 0.05 * LORRY + 0.09
    )
    assert per_kg(product) == (0.25, -1.5)


def test_carriage_that_is_known_comes_before_a_declared_scenario():
    product = declared(A1_A3=(0.2, 0.0), A4=(0.5, 0.0))
    assert values(product)["A4"].fossil == 0.5
    assert values(product, delivery_km=80.0)["A4"].fossil == near(0.08 * LORRY)


def test_replacement_follows_the_brief_s_period_whatever_is_declared():
    product = declared(FOAM, A1_A3=(2.0, 0.0), B4=(9.0, 0.0))
    found = values(product)
    assert found["B4"].fossil == near(sum(found[each].fossil for each in embodied_carbon.CYCLE))


def test_what_is_stored_is_let_out_where_a_declaration_forgets_to():
    forgets = modules_per_kg(declared(A1_A3=(0.2, -1.5), C3=(0.1, 0.0), C4=(0.0, 0.0)), ALL, Transport())
    assert forgets.values["C3"].biogenic == near(1.5) and forgets.closed == ("C3",)
    half = modules_per_kg(declared(A1_A3=(0.2, -1.5), C3=(0.1, 0.9)), ALL, Transport())
    assert half.values["C4"].biogenic == near(0.6) and half.closed == ()
    whole = modules_per_kg(declared(A1_A3=(0.2, -1.6), A5=(0.0, 0.1), C3=(0.1, 1.5)), ALL, Transport())
    assert whole.values["C3"].biogenic == 1.5 and whole.closed == (), "packaging left on site"


def test_methane_counts_and_storage_is_never_netted_off():
    leaks = declared(A1_A3=(0.2, -1.5), A5=(0.0, 0.0), C4=(0.1, 1.8))
    clean = declared(A1_A3=(0.2, -1.5), A5=(0.0, 0.0), C4=(0.1, 1.5))
    assert per_kg(leaks, ALL)[0] - per_kg(clean, ALL)[0] == pytest.approx(0.3, abs=1e-12)
    packed = declared(A1_A3=(0.2, -1.6), A5=(0.0, 0.1), C3=(0.1, 1.5))
    without_a5 = CarbonDemand(modules=("A1-A3", "C3", "C4"))
    assert per_kg(packed, without_a5)[0] == near(0.3)


@pytest.mark.parametrize("modules", [("A1-A3",), ("A1-A3", "A4", "A5"), ("A1-A3", "C3"), ("C3", "C4"), ("A1-A3", "C4")])
def test_short_of_the_whole_balance_fossil_and_land_use_count(modules):
    demand = CarbonDemand(modules=modules)
    product = declared(A1_A3=(0.2, -1.5, 0.05), C3=(0.1, 1.9))
    found = values(product, demand)
    assert not embodied_carbon.is_balanced(demand)
    assert per_kg(product, demand)[0] == near(sum(found[each].fossil + found[each].land_use for each in modules))


def test_module_d_is_shown_and_never_counted():
    product = declared(A1_A3=(0.2, -1.5), D=(-5.0, 0.0))
    assert values(product)["D"].fossil == -5.0 and "D" not in values(BEAM)
    assert per_kg(product, ALL) == per_kg(declared(A1_A3=(0.2, -1.5)), ALL)
    with pytest.raises(ValidationError, match="module D lies beyond"):
        CarbonDemand(modules=("A1-A3", "D"))


def test_what_nobody_knows_is_missing_and_not_nothing():
    nameless = Material(key="x", name="x")
    found = modules_per_kg(nameless, ALL, Transport())
    assert found.missing == ("A1-A3", "A5", "B4")
    assert all(math.isnan(each) for each in per_kg(nameless, ALL))
    endless = BEAM.model_copy(update={"service_life_years": None})
    assert modules_per_kg(endless, ALL, Transport()).missing == ("B4",)
    assert math.isnan(per_kg(endless, ALL)[0])
    assert per_kg(endless, CarbonDemand(modules=("A1-A3", "A5")))[0] > 0
    assert per_kg(BEAM.model_copy(update={"biogenic_kgco2e_kg": None})) == (0.15, 0.0)


@given(materials, st.sampled_from([ALL, CarbonDemand(), CarbonDemand(modules=("A1-A3", "A5", "C3", "C4"))]))
def test_ranges_hold_the_typical_figure(material, demand):
    low, high = by_range(material, demand, Transport())
    assert low < per_kg(material, demand)[0] < high
    if demand.modules == ("A1-A3",):
        assert (low, high) == (material.fossil_low_kgco2e_kg, material.fossil_high_kgco2e_kg)


def test_ranges_go_through_waste_and_replacement():
    """The foam is built in twice within 50 years, and a tenth is cut off each time: 2 x 1.1 of what A1-A3 varies."""
    low, high = by_range(FOAM, ALL, Transport())
    assert high - low == near(2 * 1.1 * (0.26 - 0.07))


def test_a_declaration_varies_by_the_brief_s_share():
    product = declared(A1_A3=(0.2, -1.5, 0.05), D=(-0.4, 0.0))
    assert by_range(product, CarbonDemand(), Transport(), declared=0.2) == (near(0.2), near(0.3))
    cleaner = declared(A1_A3=(-0.2, -1.5))
    assert by_range(cleaner, CarbonDemand(), Transport(), declared=0.1) == (near(-0.22), near(-0.18))
    assert by_range(product, ALL, Transport(), declared=0.0) == (per_kg(product, ALL)[0],) * 2


@given(materials, st.floats(0, 2000), st.floats(1, 2000))
def test_farther_is_never_better(material, km, more):
    near_, far = (per_kg(material, ALL, Transport(), each)[0] for each in (km, km + more))
    assert far > near_


@given(materials, st.floats(1, 200), st.floats(0, 100))
def test_a_longer_period_is_never_less(material, years, more):
    short, long = (per_kg(material, ALL.model_copy(update={"study_years": each}))[0] for each in (years, years + more))
    assert long >= short


@given(materials, st.floats(0, 0.5))
def test_what_is_cut_off_counts_in_proportion(material, waste):
    none, some, twice = (
        values(material.model_copy(update={"waste_fraction": each}))["A5"].fossil for each in (0.0, waste, 2 * waste)
    )
    assert none == 0.0 and twice == pytest.approx(2 * some, rel=1e-12, abs=1e-15)


def test_a_product_keeps_the_modules_of_its_declaration():
    product = Product(
        key="p",
        name="p",
        material="beam",
        supplier="s",
        price=1,
        unit="m2",
        currency="EUR",
        source="invented",
        waste_fraction=0.0,
        declaration=declared(A1_A3=(0.2, -1.5), C3=(0.1, 1.5)).declaration,
    )
    sold = as_sold(BEAM, product)
    assert values(sold)["C3"].fossil == 0.1 and values(sold)["A5"].fossil == 0.0


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ({"modules": ()}, "at least 1"),
        ({"modules": ("A1-A3", "A1-A3")}, "once"),
        ({"modules": ("A2",)}, "A1-A3"),
        ({"study_years": 0}, "greater than or equal to 1"),
        ({"study_years": 201}, "200"),
        ({"end_of_life": {"renewable": "compost"}}, "incineration"),
        ({"end_of_life": {"wooden": "reuse"}}, "renewable"),
        ({"disposal_km": -1}, "greater than or equal to 0"),
    ],
)
def test_a_demand_that_makes_no_sense_is_refused(given_, words):
    with pytest.raises(ValidationError, match=words):
        CarbonDemand(**given_)


def test_modules_count_in_the_order_of_the_life_cycle():
    assert CarbonDemand(modules=("C3", "A1-A3", "B4")).modules == ("A1-A3", "B4", "C3")
