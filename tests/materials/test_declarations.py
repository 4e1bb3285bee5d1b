"""Declarations in ILCD+EPD: what is read of the XML, the JSON and the archive, and that a written one reads back."""

from datetime import date

import pytest
from declaration_files import (
    AREA,
    BIOGENIC,
    BIOGENIC_30,
    BOARD,
    CARBON,
    ENERGY,
    FLOW_KEY,
    FOSSIL,
    FOSSIL_30,
    GWP_A1,
    ITEMS,
    KEY,
    LAND_USE,
    LENGTH,
    MASS,
    PACKAGING,
    TOTAL,
    VOLUME,
    flow_xml,
    process_json,
    process_xml,
    write_json,
    write_xml,
    write_zip,
)
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from materials.declarations import (
    DeclaredProduct,
    DeclaredUnit,
    ModuleValues,
    read_declaration,
    read_declarations,
    write_declaration,
)
from materials.declared.files import MAX_BYTES
from materials.errors import InputError
from materials.models import MODULES


def archive(tmp_path, values=BOARD, quantity=VOLUME, amount=1.0, flow=None, **process):
    """A process and its flow in one archive, read."""
    path = write_zip(tmp_path / "a.zip", process_xml(values, **process), flow_xml(quantity, amount, **(flow or {})))
    return read_declaration(path)


def refused(call, *words):
    with pytest.raises(InputError) as caught:
        call()
    message = str(caught.value)
    for word in words:
        assert word in message, message


def test_everything_an_archive_states(tmp_path):
    found = archive(
        tmp_path,
        mean_amount="1000.0",
        quantity=MASS,
        flow={
            "others": {CARBON: 0.4, PACKAGING: 0.01},
            "material": {"gross density": 250, "layer thickness": "0.022", "colour": "brown"},
        },
    )
    assert found == DeclaredProduct(
        key=KEY,
        name="a board",
        standard="EN 15804+A2",
        modules={
            "A1-A3": ModuleValues(fossil=200, biogenic=-400, land_use=0.5, total=-199.5),
            "C3": ModuleValues(fossil=4, biogenic=400, land_use=0, total=404),
        },
        valid_until=date(2029, 12, 31),
        reference_year=2024,
        region="RER",
        unit=DeclaredUnit(
            amount=1000,
            unit="kg",
            gross_density_kg_m3=250,
            thickness_m=0.022,
            biogenic_carbon_kg=400,
            packaging_carbon_kg=10,
        ),
    )


def test_json_says_the_same_as_the_archive(tmp_path):
    facts = {"others": {MASS: 250, CARBON: 109.1}, "material": {"gross density": 250}}
    xml = archive(tmp_path, flow=facts)
    assert read_declaration(write_json(tmp_path / "a.json", process_json(**facts))) == xml
    assert xml.unit.mass_kg == 250


def test_a_process_alone_has_no_declared_unit(tmp_path):
    found = read_declaration(write_xml(tmp_path / "a.xml", process_xml()))
    assert found.unit is None and found.modules["A1-A3"].fossil == 200


def test_json_in_an_archive_and_other_data_sets_beside_it(tmp_path):
    path = write_zip(tmp_path / "a.zip", **{"sources__s.xml": "<sourceDataSet/>", "unitgroups__bad.xml": "<<<"})
    write_zip(path, process_xml(), flow_xml(), **{"contact.xml": "<contactDataSet/>", "readme.txt": "hello"})
    assert read_declaration(path).unit.unit == "m3"
    write_zip(path, **{"p.json": write_json(tmp_path / "p.json", process_json()).read_text(), "x.json": "{}"})
    assert read_declaration(path).unit.unit == "m3"


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


# --- the declared unit


@pytest.mark.parametrize(
    ("quantity", "unit"), [(MASS, "kg"), (VOLUME, "m3"), (AREA, "m2"), (LENGTH, "m"), (ITEMS, "piece")]
)
def test_declared_units(tmp_path, quantity, unit):
    found = archive(tmp_path, quantity=quantity, amount=2.0, mean_amount="3")
    assert (found.unit.unit, found.unit.amount) == (unit, 6)
    root = process_json(quantity=quantity, amount=2.0, meanAmount=3)
    assert read_declaration(write_json(tmp_path / "a.json", root)).unit == found.unit


def test_every_quantity_of_the_flow_scales_with_the_amount(tmp_path):
    found = archive(tmp_path, mean_amount="2", flow={"others": {MASS: 250, CARBON: 100}})
    assert (found.unit.amount, found.unit.mass_kg, found.unit.biogenic_carbon_kg) == (2, 500, 200)


def test_an_empty_amount_of_the_reference_flow_falls_back_to_the_resulting_one(tmp_path):
    assert archive(tmp_path, mean_amount="0.0", resulting="3").unit.amount == 3
    refused(lambda: archive(tmp_path, mean_amount="0.0"), "exchange[1]/meanAmount", "above 0")
    root = process_json(meanAmount=0.0, resultingflowAmount=1000)
    assert read_declaration(write_json(tmp_path / "a.json", root)).unit.amount == 1000
    root = process_json(amount=2, resultingflowAmount=1000)
    path = write_json(tmp_path / "a.json", root)
    refused(lambda: read_declaration(path), "1000 declared units; expected 2")


@pytest.mark.parametrize("value", ["0", "-1", "", "one", "NaN", "inf", "1e400", "1,5"])
def test_a_unit_without_a_size_is_refused(tmp_path, value):
    refused(lambda: archive(tmp_path, amount=value), "flowProperty[1]/meanValue", "expected a number")


def test_other_declared_units_are_refused(tmp_path):
    refused(lambda: archive(tmp_path, quantity=ENERGY), "expected mass, volume, area, length or number of items")
    refused(lambda: archive(tmp_path, quantity=CARBON), "expected mass, volume, area, length or number of items")


def test_units_of_the_json_are_checked(tmp_path):
    for spelt in ("m3", "m^3", "m³", "cbm"):
        root = process_json()
        root["exchanges"]["exchange"][0]["flowProperties"][0]["referenceUnit"] = spelt
        assert read_declaration(write_json(tmp_path / "a.json", root)).unit.unit == "m3"
    root["exchanges"]["exchange"][0]["flowProperties"][0]["referenceUnit"] = "l"
    refused(lambda: read_declaration(write_json(tmp_path / "a.json", root)), "flowProperties[1]/referenceUnit", "'l'")


def test_material_properties_in_another_unit_are_refused(tmp_path):
    thick = {"material": {"layer thickness": 22}, "units": {"layer thickness": "mm"}}
    refused(lambda: archive(tmp_path, flow=thick), "layer thickness in 'mm'; expected m")
    assert archive(tmp_path, flow={"material": {"gross density": "0", "grammage": ""}}).unit.gross_density_kg_m3 is None
    refused(lambda: archive(tmp_path, flow={"material": {"grammage": -3}}), "grammage -3", "above 0")


def test_of_two_editions_of_the_flow_the_one_referred_to_is_read(tmp_path):
    asked = process_xml().replace(f'refObjectId="{FLOW_KEY}"', f'refObjectId="{FLOW_KEY}" version="00.02.000"')
    old, new = flow_xml(VOLUME), flow_xml(AREA, version="00.02.000")
    assert read_declaration(write_zip(tmp_path / "a.zip", asked, old, new)).unit.unit == "m2"
    path = write_zip(tmp_path / "b.zip", process_xml(), old, new)
    refused(lambda: read_declaration(path), "flows/2.xml", FLOW_KEY, "expected one")


# --- what it is and until when


def test_the_english_name_is_preferred_and_any_other_will_do(tmp_path):
    assert archive(tmp_path, names=(("fr", "panneau"), ("en-GB", "a\n  board"))).name == "a board"
    assert archive(tmp_path, names=(("fr", "panneau"),)).name == "panneau"
    refused(lambda: archive(tmp_path, names=(("fr", " "),)), "name/baseName is missing")


@pytest.mark.parametrize(
    ("written", "meant"), [("2029", date(2029, 12, 31)), ("2029-06-30", date(2029, 6, 30)), (None, None)]
)
def test_valid_to_the_end_of_the_year(tmp_path, written, meant):
    found = archive(tmp_path, until=written)
    assert found.valid_until == meant
    assert not found.lapsed(date(2029, 6, 30)) and found.lapsed(date(2030, 1, 1)) == (meant is not None)


@pytest.mark.parametrize("written", ["29", "soon", "0000", "9999", "2029-02-30", "2029.5"])
def test_an_unlikely_year_is_refused(tmp_path, written):
    refused(lambda: archive(tmp_path, until=written), "time/dataSetValidUntil", written, "expected a year")


@pytest.mark.parametrize("key", ["", "42", "../../etc/passwd", KEY + "0"])
def test_a_declaration_needs_its_uuid(tmp_path, key):
    refused(lambda: archive(tmp_path, key=key), "dataSetInformation/UUID", "UUID")


def test_an_archive_of_several_declarations(tmp_path):
    other = "99999999-2222-4333-8444-555555555555"
    path = write_zip(tmp_path / "a.zip", process_xml(), process_xml(key=other), flow_xml())
    assert [each.key for each in read_declarations(path)] == [KEY, other]
    refused(lambda: read_declaration(path), "2 declarations", KEY, other)


def test_files_that_are_no_declaration(tmp_path):
    refused(lambda: read_declaration(tmp_path / "none.xml"), "no such file")
    refused(lambda: read_declaration(tmp_path / "none.pdf"), "expected a declaration ending in .xml, .json or .zip")
    (tmp_path / "folder.zip").mkdir()
    refused(lambda: read_declaration(tmp_path / "folder.zip"), "is a folder")
    refused(lambda: read_declaration(write_xml(tmp_path / "a.xml", "<html/>")), "expected a process data set")
    refused(lambda: read_declaration(write_xml(tmp_path / "a.xml", flow_xml())), "no process data set")
    refused(lambda: read_declaration(write_json(tmp_path / "a.json", {})), "dataSetInformation/UUID is missing")
    large = tmp_path / "large.json"
    with large.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    refused(lambda: read_declaration(large), "expected at most 20 MB")


# --- written and read back

finite = st.floats(-1e6, 1e6, allow_nan=False).map(lambda value: value if abs(value) > 1e-20 else 0.0)
size = st.floats(1e-3, 1e5)
maybe = st.none() | size
values = st.builds(ModuleValues, fossil=finite, biogenic=st.none() | finite, land_use=st.none() | finite, total=finite)
text = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20)
scenario = st.sampled_from(["burning", 'a "quoted" <one> & more', "größer"])


@st.composite
def declarations(draw) -> DeclaredProduct:
    modules = {"A1-A3": draw(values)} | draw(st.dictionaries(st.sampled_from(MODULES), values, max_size=8))
    unit = DeclaredUnit(
        amount=draw(size),
        unit=draw(st.sampled_from(["kg", "m3", "m2", "m", "piece"])),
        gross_density_kg_m3=draw(maybe),
        bulk_density_kg_m3=draw(maybe),
        grammage_kg_m2=draw(maybe),
        thickness_m=draw(maybe),
        linear_density_kg_m=draw(maybe),
        piece_kg=draw(maybe),
        units_per_kg=draw(maybe),
        biogenic_carbon_kg=draw(st.none() | st.just(0.0) | size),
        packaging_carbon_kg=draw(maybe),
    )
    if unit.unit != "kg":
        unit = unit.model_copy(update={"mass_kg": draw(maybe)})
    year = draw(st.none() | st.integers(2000, 2100))
    return DeclaredProduct(
        key=str(draw(st.uuids())),
        name=draw(text),
        comment=draw(st.just("") | text),
        standard="EN 15804+A2",
        modules={name: modules[name] for name in MODULES if name in modules},
        scenarios={name: draw(scenario) for name in MODULES if name in modules and draw(st.booleans())},
        valid_until=year and date(year, 12, 31),
        reference_year=draw(st.none() | st.integers(2000, 2100)),
        region=draw(st.none() | st.sampled_from(["RER", "SE", "DE-BY"])),
        unit=unit,
    )


def close(one: DeclaredProduct, other: DeclaredProduct) -> None:
    """Equal in everything, numbers to 1e-12."""
    flat = [_flat(each.model_dump(mode="json")) for each in (one, other)]
    assert flat[0].keys() == flat[1].keys()
    for name, value in flat[0].items():
        assert flat[1][name] == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value), name


def _flat(value, path=""):
    if not isinstance(value, dict):
        return {path: value}
    return {name: leaf for key, each in value.items() for name, leaf in _flat(each, f"{path}/{key}").items()}


ROUND_TRIP = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@ROUND_TRIP
@given(declared=declarations(), suffix=st.sampled_from([".json", ".zip"]))
def test_a_written_declaration_reads_back(tmp_path, declared, suffix):
    path = tmp_path / f"round{suffix}"
    write_declaration(declared, path)
    close(read_declaration(path), declared)


@ROUND_TRIP
@given(declared=declarations())
def test_a_process_written_alone_reads_back_without_its_unit(tmp_path, declared):
    write_declaration(declared, tmp_path / "round.xml")
    close(read_declaration(tmp_path / "round.xml"), declared.model_copy(update={"unit": None}))


def test_the_older_standard_reads_back_too(tmp_path):
    old = archive(tmp_path, {GWP_A1: {"A1-A3": -1.0, "C3": 3.0}}, flow={"others": {CARBON: 0.5}})
    for name in ("old.json", "old.zip"):
        write_declaration(old, tmp_path / name)
        assert read_declaration(tmp_path / name) == old


def test_writing_leaves_whole_files_with_equal_bytes(tmp_path):
    found = archive(tmp_path)
    for name in ("w.json", "w.zip", "w.xml"):
        write_declaration(found, tmp_path / name)
        first = (tmp_path / name).read_bytes()
        write_declaration(found, tmp_path / name)
        assert (tmp_path / name).read_bytes() == first
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.zip", "w.json", "w.xml", "w.zip"]
    refused(lambda: write_declaration(found, tmp_path / "w.pdf"), "expected a name ending in .xml, .json or .zip")
    refused(lambda: write_declaration(found, tmp_path / "none" / "w.json"), "cannot be written")


def test_land_use_is_read_by_its_own_method(tmp_path):
    assert archive(tmp_path, {FOSSIL: {"A1-A3": 1.0}, LAND_USE: {"A1-A3": 0.5}}).modules["A1-A3"].land_use == 0.5
