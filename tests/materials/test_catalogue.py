"""The shipped catalogue: complete, plausible by class, every number sourced, faults located."""

import pickle
from importlib import resources

import pytest

from materials.catalogue import load_catalogue, numeric_keys, read_catalogue
from materials.errors import InputError, parse_toml
from materials.factors import load_factors, read_factors
from optimiser.template import USE_OF

CATALOGUE = load_catalogue()
ALL = list(CATALOGUE.materials.values())

# Limits by kind (conductivity W/mK, density kg/m3, heat capacity J/kgK, mu): narrower than a slipped decimal.
LIMITS = {
    "timber": ((0.11, 0.20), (350, 700), (1500, 1700), (20, 200)),
    "loose fill": ((0.033, 0.045), (20, 70), (1000, 2100), (1, 3)),
    "batt": ((0.030, 0.050), (11, 130), (1000, 2100), (1, 3)),
    "insulating board": ((0.022, 0.056), (26, 300), (1000, 2100), (1, 70)),
    "board": ((0.050, 0.35), (250, 1300), (900, 2100), (3, 300)),
    "cladding": ((0.105, 1.05), (350, 2100), (800, 1700), (20, 250)),
    "fixing": ((10, 60), (7000, 8000), (400, 500), None),
    "tape": ((0.15, 0.5), (850, 1300), (1000, 2300), None),  # a fixing that is no metal
}
# Fossil and biogenic kg CO2e per kg, by origin.
CARBON = {
    "renewable": ((0.02, 3.5), (-1.75, -1.3)),
    "mineral": ((0.02, 1.7), (-0.75, 0)),
    "fossil": ((0.5, 7.5), (0, 0)),  # paper soaked in bitumen is the least
    "metal": ((2, 5), (0, 0)),
}
# Years that a material lasts in its usual place, by kind.
SERVICE_LIFE = {"timber": (60, 100), "loose fill": (80, 100), "cladding": (40, 80), "membrane": (30, 60)}
# Fossil carbon given off when burnt, kg CO2 per kg, boards and others first, then membranes, whose papers are coated.
BURNT = (
    {"renewable": (0.0, 0.25), "fossil": (2.3, 3.2)},
    {"renewable": (0.2, 2.4), "fossil": (2.3, 3.2)},
)
WIDEST_CARBON_RANGE = 12  # clay boards, from air-dried to kiln-dried


def shipped_texts():
    folder = resources.files("materials") / "data"
    return {f.name: f.read_text(encoding="utf-8") for f in folder.iterdir() if f.name.endswith(".toml")}


def within(value, limits):
    return value is not None and limits[0] <= value <= limits[1]


def thermal_faults(m):
    """Names of the values that lie outside the range of the material's kind."""
    if m.kind not in LIMITS:
        return []
    conductivity, density, heat, mu = LIMITS["tape" if m.kind == "fixing" and m.origin != "metal" else m.kind]
    checks = {
        "conductivity_w_mk": within(m.design_conductivity, conductivity),
        "density_kg_m3": within(m.density_kg_m3, density),
        "specific_heat_j_kgk": within(m.specific_heat_j_kgk, heat),
    }
    if m.sd_m is not None:
        checks["sd_m"] = m.vapour_mu is None and within(m.sd_m, (1500, 2000))  # faced: as tight as its foil
    elif mu:
        checks["vapour_mu"] = within(m.vapour_mu, mu)
        checks["vapour_mu_dry"] = m.vapour_mu_dry is None or within(m.vapour_mu_dry, mu)
        checks["vapour_mu_wet"] = m.vapour_mu_wet is None or within(m.vapour_mu_wet, mu)
    return [name for name, good in checks.items() if not good]


def carbon_faults(m):
    """What is wrong with the carbon values for a material of its origin."""
    if m.kind == "air":
        return []
    low, typical, high = m.fossil_low_kgco2e_kg, m.fossil_kgco2e_kg, m.fossil_high_kgco2e_kg
    fossil, biogenic = CARBON[m.origin]
    if m.kind == "membrane":
        biogenic = (-1.3, 0)  # paper with binders, fleece and bitumen
    checks = {
        "order": low < typical < high,
        "spread": high / low <= WIDEST_CARBON_RANGE,
        "fossil": within(low, fossil) and within(high, fossil),
        "biogenic": within(m.biogenic_kgco2e_kg, biogenic),
        "waste": within(m.waste_fraction, (0.005, 0.15)),
        "service life": within(m.service_life_years, SERVICE_LIFE.get(m.kind, (50, 80))),
        "burnt": m.burnt_fossil_kgco2e_kg is None
        or within(m.burnt_fossil_kgco2e_kg, BURNT[m.kind == "membrane"][m.origin]),
    }
    return [name for name, good in checks.items() if not good]


def membrane_faults(m):
    """What no membrane of its use can be: weight and vapour resistance."""
    if m.kind != "membrane":
        return []
    checks = {"mass": within(m.mass_kg_m2, (0.05, 0.5)), "conductivity": m.design_conductivity is None}
    if m.windtight:
        checks["sd"] = within(m.sd_m, (0.02, 2.0))
    elif m.sd_m is not None:
        checks["sd"] = within(m.sd_m, (2.0, 100.0))
    else:
        checks["sd"] = within(m.sd_m_humid, (0.1, 0.99)) and within(m.sd_m_dry, (4.0, 30.0))
    return [name for name, good in checks.items() if not good]


def faults_of(m):
    return thermal_faults(m) + carbon_faults(m) + membrane_faults(m)


def test_values_lie_in_the_range_of_their_class():
    assert not [(material.key, *faults) for material in ALL if (faults := faults_of(material))]


SLIPS = (
    "conductivity_w_mk",
    "density_kg_m3",
    "specific_heat_j_kgk",
    "mass_kg_m2",
    "fossil_kgco2e_kg",
    "fossil_low_kgco2e_kg",
    "fossil_high_kgco2e_kg",
    "service_life_years",
)


def test_a_slipped_decimal_would_be_seen():
    slips = [
        (material, name, getattr(material, name) * factor)
        for material in ALL
        for name in SLIPS
        for factor in (0.1, 10.0)
        if material.kind != "air" and getattr(material, name) is not None
    ]
    assert len(slips) > 400
    unseen = [(m.key, name, value) for m, name, value in slips if not faults_of(m.model_copy(update={name: value}))]
    assert not unseen


def range_faults(m):
    """Which typical value lies outside its own range; deeper voids need denser fill."""
    steps = [step.density_kg_m3 for step in m.density_by_depth]
    low, high = m.density_min_kg_m3, m.density_max_kg_m3
    checks = {"density by depth": steps == sorted(steps) and all(low <= each <= high for each in steps)}
    if m.kind in ("loose fill", "batt", "insulating board"):
        checks["density"] = low < m.density_kg_m3 < high
    if m.vapour_mu_dry is not None:
        checks["mu"] = m.vapour_mu_wet <= m.vapour_mu <= m.vapour_mu_dry and m.vapour_mu_wet < m.vapour_mu_dry
    return [name for name, good in checks.items() if not good]


def test_ranges_hold_their_typical_value():
    assert not [(material.key, *faults) for material in ALL if (faults := range_faults(material))]


def test_every_place_in_the_wall_has_a_choice():
    counts = {use: len(CATALOGUE.for_use(use)) for use in (*USE_OF.values(), "tie")}
    assert counts["fill"] >= 10 and counts["sheathing"] >= 8 and counts["lining"] >= 5
    assert counts["wind-tight layer"] >= 3 and counts["airtight layer"] >= 5
    assert all(count >= 1 for count in counts.values())


def test_uses_fit_the_kind():
    for material in ALL:
        if material.kind == "loose fill":
            assert material.uses == ("fill",), "loose fill does not stay in an open service zone"
        if material.rigid_foam:
            assert material.uses == ("outer board",)
        if "frame" in material.uses:
            assert material.strength_class in ("C16", "C24")
        if "airtight layer" in material.uses:
            assert material.airtight
        if "wind-tight layer" in material.uses:
            assert material.windtight


def test_every_number_has_a_source():
    seen = 0
    for name, text in shipped_texts().items():
        if name == "sources.toml":
            continue
        for key, table in parse_toml(text, name).items():
            for number in numeric_keys(table):
                assert table["sources"][number] in CATALOGUE.sources, (name, key, number)
                seen += 1
    assert seen > 400


def test_every_source_is_used_or_is_the_demo_s():
    factors = load_factors()
    held = [each for kind in vars(factors).values() for each in kind.values()]
    used = {source for each in [*ALL, *held] for source in each.sources.values()}
    assert set(CATALOGUE.sources) - used == {"invented"}


def test_blown_cellulose_is_denser_in_deep_voids():
    cellulose = CATALOGUE.get("blown-cellulose")
    depths = {100: (48, 50), 200: (50, 54), 300: (54, 58), 400: (57, 63), 500: (60, 65)}
    for depth, limits in depths.items():
        assert within(cellulose.installed_density(depth), limits)


def test_cellulose_lasts_as_long_as_the_house_and_claddings_less():
    """Common practice: well-fitted cellulose 80 years or more; what stands in the weather is renewed sooner."""
    assert CATALOGUE.get("blown-cellulose").service_life_years >= 80
    assert all(m.service_life_years < 80 for m in ALL if m.kind == "cladding" and m.origin == "renewable")


def test_cellulose_carries_the_trade_s_rule_beside_its_own_figure():
    """Common practice: about 1.2 kg CO2 held per kg of cellulose."""
    assert [m.key for m in ALL if m.biogenic_practice_kgco2e_kg is not None] == ["blown-cellulose"]
    assert CATALOGUE.get("blown-cellulose").biogenic_practice_kgco2e_kg == -1.2


def test_factors_lie_in_the_range_of_their_kind():
    factors = load_factors()
    assert all(within(each.kgco2e_t_km, (0.003, 0.6)) for each in factors.vehicles.values())
    assert all(within(each.kgco2e_kwh, (0.01, 0.5)) for each in factors.heat_sources.values())
    assert all(within(each.efficiency, (0.7, 5)) for each in factors.heat_sources.values())
    assert all(within(each.kgco2e_kg, (0, 0.1)) for each in factors.endings.values())
    assert set(factors.usual) == set(CARBON)
    assert factors.vehicles["ship"].kgco2e_t_km < factors.vehicles["train"].kgco2e_t_km
    assert factors.vehicles["lorry"].kgco2e_t_km < factors.vehicles["light lorry"].kgco2e_t_km


def test_unknown_material_names_the_nearest():
    with pytest.raises(InputError, match=r"'softwod-c24' is not in the catalogue.*softwood-c24"):
        CATALOGUE.get("softwod-c24")


def test_catalogue_is_read_only_and_survives_a_worker_process():
    with pytest.raises(TypeError):
        CATALOGUE.materials["x"] = None
    copy = pickle.loads(pickle.dumps(CATALOGUE))
    assert dict(copy.materials) == dict(CATALOGUE.materials) and copy.digest == CATALOGUE.digest


SOURCES = '[memory]\ntitle = "recalled"\nkind = "from memory"\n'
GOOD = '[oak]\nname = "oak"\nkind = "timber"\nconductivity_w_mk = 0.18\n[oak.sources]\nconductivity_w_mk = "memory"\n'


def read(text, sources=SOURCES):
    return read_catalogue({"sources.toml": sources, "wood.toml": text})


def test_digest_follows_the_content_not_the_line_ends():
    assert read(GOOD).digest == read(GOOD.replace("\n", "\r\n")).digest
    assert read(GOOD).digest != read(GOOD.replace("0.18", "0.17")).digest


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD.replace('conductivity_w_mk = "memory"', ""), ["wood.toml", "oak", "conductivity_w_mk", "no source"]),
        (GOOD.replace('"memory"', '"memroy"'), ["wood.toml", "oak", "memroy", 'nearest: "memory"']),
        (GOOD.replace("conductivity_w_mk = 0.18", "conductivty_w_mk = 0.18"), ["oak", "conductivty_w_mk", "nearest"]),
        (
            GOOD.replace("0.18", "-0.18"),
            ["wood.toml", "oak", "conductivity_w_mk", "-0.18", "expected 0.005 to 500 W/mK"],
        ),
        (GOOD.replace("0.18", '"0,18"'), ["wood.toml", "oak", "conductivity_w_mk", "0,18", "point"]),
        (GOOD.replace("0.18", "0,18"), ["wood.toml", "line 4", "point"]),
        (GOOD.replace('"timber"', '"timbre"'), ["wood.toml", "oak", "kind", "timbre"]),
        (GOOD + 'density_kg_m3 = "memory"\n', ["oak", "sources.density_kg_m3", "no such key"]),
        ("oak = 3\n", ["wood.toml", "oak", "expected a table"]),
    ],
)
def test_a_fault_names_file_material_key_and_what_was_expected(text, words):
    with pytest.raises(InputError) as caught:
        read(text)
    for word in words:
        assert word in str(caught.value)


STORED = 'biogenic_kgco2e_kg = {}\n[oak.sources]\nbiogenic_kgco2e_kg = "{}"\n'
FORMULA = SOURCES + '[en-16449]\ntitle = "EN 16449"\nkind = "published standard"\n'


@pytest.mark.parametrize("value", [-1.64, -1.633, -1.637])
def test_carbon_stored_in_wood_is_that_of_the_standard_it_names(value):
    """EN 16449 at 12 % moisture: 44/12 x 0.5 / 1.12 = 1.637 kg CO2 per kg (exact), told to two decimals."""
    head = GOOD.split("[oak.sources]")[0].replace("conductivity_w_mk = 0.18\n", "")
    assert read(head + STORED.format(value, "en-16449"), FORMULA).get("oak").biogenic_kgco2e_kg == value


@pytest.mark.parametrize("value", [-1.65, -1.83, -1.62, 0.0])
def test_carbon_stored_in_wood_that_the_standard_does_not_give_is_refused(value):
    head = GOOD.split("[oak.sources]")[0].replace("conductivity_w_mk = 0.18\n", "")
    with pytest.raises(InputError, match=r"wood.toml: oak, biogenic_kgco2e_kg = .*: expected -1.64, as EN 16449"):
        read(head + STORED.format(value, "en-16449"), FORMULA)
    assert read(head + STORED.format(value, "memory"), FORMULA).get("oak").biogenic_kgco2e_kg == value


def test_all_faults_are_told_at_once():
    second = GOOD.replace("oak", "ash").replace("0.18", "0")
    with pytest.raises(InputError) as caught:
        read(GOOD.replace('"memory"', '"memo"') + second)
    assert len(str(caught.value).splitlines()) == 2


def test_a_material_may_stand_in_one_file_only():
    with pytest.raises(InputError, match=r"wood.toml: oak: .*twice"):
        read_catalogue({"sources.toml": SOURCES, "a.toml": GOOD, "wood.toml": GOOD})


@pytest.mark.parametrize(
    ("sources", "words"),
    [
        (SOURCES.replace("from memory", "hearsay"), ["sources.toml: memory", "kind", "hearsay"]),
        (SOURCES.replace("title", "titel"), ["sources.toml: memory", "title"]),
    ],
)
def test_a_faulty_source_is_located(sources, words):
    with pytest.raises(InputError) as caught:
        read(GOOD, sources)
    for word in words:
        assert word in str(caught.value)


FACTOR = """
[cart]
name = "cart"
kind = "vehicle"
kgco2e_t_km = 0.1
kgco2e_t_km_low = 0.05
kgco2e_t_km_high = 0.2
[cart.sources]
kgco2e_t_km = "memory"
kgco2e_t_km_low = "memory"
kgco2e_t_km_high = "memory"
"""
FACTOR_SOURCES = {"memory": CATALOGUE.sources["from-memory"]}


def test_a_factor_is_read_with_its_sources():
    found = read_factors(FACTOR, FACTOR_SOURCES).vehicles["cart"]
    assert found.kgco2e_t_km == 0.1 and found.sources["kgco2e_t_km"] == "memory"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (FACTOR.replace('"vehicle"', '"vehcle"'), ["carbon.toml: cart", "kind", "vehcle", 'nearest: "vehicle"']),
        (
            FACTOR.replace("kgco2e_t_km = 0.1", "kgco2e_t_km = 0.3"),
            ["cart", "0.3", "between its low 0.05 and high 0.2"],
        ),
        (FACTOR.replace("kgco2e_t_km = 0.1", "kgco2e_tkm = 0.1"), ["cart", "kgco2e_tkm", "unknown key", "kgco2e_t_km"]),
        (FACTOR.replace('kgco2e_t_km = "memory"', ""), ["cart", "kgco2e_t_km", "no source"]),
        (FACTOR.replace('km = "memory"', 'km = "memroy"'), ["cart", "memroy", 'nearest: "memory"']),
        (FACTOR.replace("0.05", "-0.05"), ["cart", "kgco2e_t_km_low", "-0.05"]),
        ("cart = 3\n", ["carbon.toml: cart", "expected a table"]),
    ],
)
def test_a_faulty_factor_is_located(text, words):
    with pytest.raises(InputError) as caught:
        read_factors(text, FACTOR_SOURCES)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize("kind", ["loose fill", "batt", "insulating board"])
def test_a_source_that_cannot_hold_a_value_is_refused(kind):
    """ISO 10456 tabulates moisture properties and heat capacity of insulants, no conductivity of theirs (memory)."""
    sources = (resources.files("materials") / "data" / "sources.toml").read_text(encoding="utf-8")
    text = f'[w]\nname = "w"\nkind = "{kind}"\n{{key}} = {{value}}\n[w.sources]\n{{key}} = "{{source}}"\n'

    def refused(key, value, source):
        with pytest.raises(InputError) as error:
            read_catalogue({"sources.toml": sources, "w.toml": text.format(key=key, value=value, source=source)})
        return str(error.value)

    words = refused("conductivity_w_mk", 0.04, "iso-10456")
    assert "w.toml: w, sources.conductivity_w_mk = 'iso-10456': expected a source that can hold this value" in words
    assert f"it holds none of a {kind}" in words
    assert "it holds waste_fraction" in refused("vapour_mu", 2, "waste-se")
    assert "it holds biogenic_kgco2e_kg" in refused("density_kg_m3", 40, "en-16449")
    good = text.format(key="conductivity_w_mk", value=0.04, source="insulants-from-memory")
    assert read_catalogue({"sources.toml": sources, "w.toml": good}).materials["w"].kind == kind
    good = text.format(key="vapour_mu", value=2, source="iso-10456")
    assert read_catalogue({"sources.toml": sources, "w.toml": good}).materials["w"].vapour_mu == 2


def test_what_counts_as_renewable_stores_carbon():
    """Paper soaked in bitumen is counted with what it mostly weighs, which stores nothing (common practice)."""
    assert CATALOGUE.get("bitumen-paper").origin == "fossil"
    assert all(m.biogenic_kgco2e_kg < 0 for m in ALL if m.origin == "renewable" and m.kind != "air")
