"""Declarations: which indicators are read, by which module, of which scenario."""

from __future__ import annotations

import pytest
from declaration_files import (
    BIOGENIC,
    BIOGENIC_30,
    BOARD,
    FOSSIL,
    FOSSIL_30,
    GWP_A1,
    LAND_USE,
    TOTAL,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_xml,
    write_zip,
)
from declared_products import archive, read_declaration, refused

from materials.declared.declarations import ModuleValues

# --- which indicators


def test_a_declaration_of_the_older_method_and_of_the_older_standard(tmp_path):
    found = archive(tmp_path, {FOSSIL_30: {"A1-A3": 2.0}, BIOGENIC_30: {"A1-A3": -1.0}})
    assert found.standard == "EN 15804+A2" and found.modules["A1-A3"] == ModuleValues(fossil=2, biogenic=-1)
    found = archive(tmp_path, {GWP_A1: {"A1-A3": -1.0}})
    assert found.standard == "EN 15804+A1" and found.modules["A1-A3"] == ModuleValues(total=-1)


def test_of_several_sets_the_one_that_splits_is_read(tmp_path):
    both = {GWP_A1: {"A1-A3": 9.0}, FOSSIL_30: {"A1-A3": 3.0}, BIOGENIC_30: {"A1-A3": 0.0}, **BOARD}
    assert archive(tmp_path, both).modules["A1-A3"].fossil == 200
    total_only = {TOTAL: {"A1-A3": 9.0}, FOSSIL_30: {"A1-A3": 3.0}, BIOGENIC_30: {"A1-A3": 0.0}}
    assert archive(tmp_path, total_only).modules["A1-A3"] == ModuleValues(fossil=3, biogenic=0)


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("GWP-fossil", "fossil"),
        ("Climate change - fossil (GWP-fossil)", "fossil"),
        ("Global warming potential - biogenic", "biogenic"),
        ("Global Warming Potential land use and land use change (GWP-luluc)", "land_use"),
        ("Climate change - total", "total"),
    ],
)
def test_a_method_without_a_uuid_is_known_by_its_name(tmp_path, name, part):
    found = archive(tmp_path, {f"name:{name}": {"A1-A3": 2.5}})
    assert found.standard == "EN 15804+A2" and found.modules["A1-A3"] == ModuleValues(**{part: 2.5})


def test_the_name_of_the_undivided_potential_is_that_of_the_older_standard(tmp_path):
    found = archive(tmp_path, {"name:Treibhauspotential (GWP 100)": {"A1-A3": 2.5}})
    assert found.standard == "EN 15804+A1" and found.modules["A1-A3"] == ModuleValues(total=2.5)


@pytest.mark.parametrize("name", ["GWP-GHG", "GWP excluding biogenic", "Ozone depletion", "fossil and biogenic GWP"])
def test_other_accounts_and_other_indicators_are_passed_over(tmp_path, name):
    assert archive(tmp_path, BOARD | {f"name:{name}": {"A1-A3": 77.0}}).modules == archive(tmp_path).modules
    unknown = "00000000-0000-4000-8000-000000000000"
    with_faults = BOARD | {unknown: {"A1-A3": "not even a number"}}
    assert archive(tmp_path, with_faults).modules == archive(tmp_path).modules
    refused(lambda: archive(tmp_path, {f"name:{name}": {"A1-A3": 77.0}}), "no climate change (GWP)")


def test_an_indicator_twice_is_refused(tmp_path):
    twice = process_xml(BOARD | {FOSSIL.upper(): {"A1-A3": 9.0}})
    path = write_zip(tmp_path / "a.zip", twice, flow_xml())
    refused(lambda: read_declaration(path), "LCIAResult[5]", "GWP-fossil stands in", "LCIAResult[1]")


def test_another_unit_is_refused(tmp_path):
    refused(lambda: archive(tmp_path, unit=(None, "g CO2 eq.")), "LCIAResult[1]", "g CO2 eq.", "expected kg CO2e")
    assert archive(tmp_path, unit=(None, "kg CO2-Äq.")).modules == archive(tmp_path).modules


def test_the_mean_amount_of_a_result_is_never_read(tmp_path):
    empty = {FOSSIL: {}, BIOGENIC: {"A1-A3": -1.0}, TOTAL: {"A1-A3": 1.0}}
    assert archive(tmp_path, empty).modules["A1-A3"].fossil is None


def test_land_use_is_read_by_its_own_method(tmp_path):
    assert archive(tmp_path, {FOSSIL: {"A1-A3": 1.0}, LAND_USE: {"A1-A3": 0.5}}).modules["A1-A3"].land_use == 0.5


# --- modules


@pytest.mark.parametrize("spelt", ["A1-A3", "A1A3", "a1 - a3", "A1–A3", "A1-3", "A1A2A3", "A1-A2-A3", "A1_A3"])
def test_the_product_stage_in_any_spelling(tmp_path, spelt):
    assert archive(tmp_path, {FOSSIL: {spelt: 5.0}}).modules == {"A1-A3": ModuleValues(fossil=5)}


def test_a1_a2_and_a3_apart_are_added_up(tmp_path):
    apart = {FOSSIL: {"A1": 5.0, "A2": 0.25, "A3": 1.5}, BIOGENIC: {"A1": -9.0, "A2": 0.0, "A3": 0.5}}
    assert archive(tmp_path, apart).modules == {"A1-A3": ModuleValues(fossil=6.75, biogenic=-8.5)}


def test_a_part_of_the_product_stage_that_is_missing_is_not_zero(tmp_path):
    refused(lambda: archive(tmp_path, {FOSSIL: {"A1": 5.0, "A3": 1.5}}), "GWP-fossil is missing for A2", "not zero")
    refused(lambda: archive(tmp_path, {FOSSIL: {"A4": 5.0}}), "no climate change (GWP) for A1-A3")


def test_a_sum_that_contradicts_its_parts_is_refused(tmp_path):
    given = {"A1": 5.0, "A2": 0.2, "A3": 1.5}
    assert archive(tmp_path, {FOSSIL: given | {"A1-A3": 6.7}}).modules["A1-A3"].fossil == 6.7
    refused(lambda: archive(tmp_path, {FOSSIL: given | {"A1-A3": 5.0}}), "5 for A1-A3; expected 6.7")


@pytest.mark.parametrize("empty", ["", " ", "-", "ND", "MND", "MNR"])
def test_a_module_not_declared_stays_absent(tmp_path, empty):
    found = archive(tmp_path, {FOSSIL: {"A1-A3": 5.0, "A4": empty, "C4": 0.0}})
    assert found.modules == {"A1-A3": ModuleValues(fossil=5), "C4": ModuleValues(fossil=0)}


def test_modules_that_no_wall_has_are_passed_over(tmp_path):
    found = archive(tmp_path, {FOSSIL: {"A1-A3": 5.0, "B6": 7.0, ("B1", "x"): 1.0, ("B1", "y"): 2.0, "Z": 1.0}})
    assert list(found.modules) == ["A1-A3"]


# --- scenarios

EOL = {
    FOSSIL: {"A1-A3": 5.0, ("C3", "burning"): 1.0, ("C3", "recycling"): 2.0, ("D", "burning"): -3.0},
    BIOGENIC: {"A1-A3": -4.0, ("C3", "burning"): 4.0, ("C3", "recycling"): 4.0, ("D", "burning"): 0.0},
}


@pytest.mark.parametrize("form", ["xml", "json"])
def test_of_several_scenarios_the_declared_default_is_read(tmp_path, form):
    declared = {"burning": False, "recycling": True}
    if form == "xml":
        found = archive(tmp_path, EOL, scenarios=declared)
    else:
        found = read_declaration(write_json(tmp_path / "a.json", process_json(EOL, scenarios=declared)))
    assert found.modules["C3"] == ModuleValues(fossil=2, biogenic=4)
    assert found.modules["D"] == ModuleValues(fossil=-3, biogenic=0)  # the only one that it has
    assert found.scenarios == {"C3": "recycling", "D": "burning"}


@pytest.mark.parametrize("module", ["A4", "B4", "C1", "C2", "C3", "C4", "D"])
def test_without_a_default_the_caller_names_one(tmp_path, module):
    values = {FOSSIL: {"A1-A3": 5.0, (module, "near"): 1.0, (module, "far"): 2.0}}
    path = write_zip(tmp_path / "a.zip", process_xml(values), flow_xml())
    refused(lambda: read_declaration(path), f"module {module}", '"near", "far"', "no single default", "name one")
    assert read_declaration(path, scenario="far").modules[module].fossil == 2
    assert read_declaration(path, scenario=("near",)).modules[module].fossil == 1
    refused(lambda: read_declaration(path, scenario="fair"), '"fair"', 'nearest: "far"', '"far", "near"')
    refused(lambda: read_declaration(path, scenario=("near", "far")), "no single default")


def test_a_named_scenario_goes_before_the_default_and_binds_only_modules_that_have_it(tmp_path):
    values = {FOSSIL: {"A1-A3": 5.0, ("A4", "near"): 1.0, ("A4", "far"): 2.0, ("C3", "burn"): 3.0, ("C3", "fill"): 4.0}}
    text = process_xml(values, scenarios={"near": True, "far": False, "burn": True, "fill": False})
    found = read_declaration(write_xml(tmp_path / "a.xml", text), scenario="fill")
    assert (found.modules["A4"].fossil, found.modules["C3"].fossil) == (1, 4)


def test_two_defaults_for_one_module_are_none(tmp_path):
    refused(lambda: archive(tmp_path, EOL, scenarios={"burning": True, "recycling": True}), "no single default")


def test_a_value_without_a_scenario_beside_others_is_one_more(tmp_path):
    values = {FOSSIL: {"A1-A3": 5.0, "C3": 1.0, ("C3", "burning"): 2.0}}
    refused(lambda: archive(tmp_path, values), '"burning"', "one without a name")
    assert archive(tmp_path, values, scenarios={"burning": True}).modules["C3"].fossil == 2


def test_two_values_of_one_module_and_scenario_are_refused(tmp_path):
    spelt_twice = {FOSSIL: {"A1-A3": 5.0, "A1A3": 6.0}}
    refused(lambda: archive(tmp_path, spelt_twice), "other/amount[2]", "6 for module A1-A3", "5 stands in")
