"""The wall type for building models: valid by the schema's own rules, and read back as it was judged."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from types import SimpleNamespace

import house_walls
import ifcopenshell.util.element as elements
import ifcopenshell.util.pset as templates
import ifcopenshell.util.unit as units
import pytest
from bim_walls import LOADED, WALLS, catalogue_twin, faults, opened, steel_tied, type_of, unframed
from drawn_walls import MATERIALS, layer, single, stud, tie, twin
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.errors import InputError
from optimiser.checks.judge import Judged, judge
from optimiser.handover.bim.record import LONGEST, wall_type
from optimiser.handover.bim.wall_type import read_wall_type, wall_type_ifc
from optimiser.wall.buildup import BuildUp, Loads


@pytest.mark.parametrize("name", WALLS)
def test_the_file_is_valid_with_express_rules_and_reads_back_equal(name):
    found = judge(WALLS[name])
    data = wall_type_ifc(found, house_walls.brief(), "W7")
    assert faults(opened(data)) == []
    assert read_wall_type(data) == wall_type(found, house_walls.brief(), "W7")


def test_the_validator_sees_a_fault():
    """A share above 1, so that the silence above says something."""
    data = wall_type_ifc(judge(single()))
    assert b",0.925,$)" in data
    assert faults(opened(data.replace(b",0.925,$)", b",1.925,$)")))


def test_the_file_says_what_was_judged():
    found = judge(catalogue_twin())
    file = opened(wall_type_ifc(found, wall_id="W7"))
    kind = type_of(file)
    common = elements.get_pset(kind, "Pset_WallCommon")
    assert (kind.Name, kind.Tag, kind.PredefinedType) == ("twin of the catalogue", "W7", "ELEMENTEDWALL")
    assert common["ThermalTransmittance"] == pytest.approx(found.u_value, rel=1e-9)
    assert common["LoadBearing"] is True and common["IsExternal"] is True and common["Reference"] == "W7"
    impact = elements.get_pset(kind, "Pset_EnvironmentalImpactIndicators")
    assert impact["ClimateChangePerUnit"] == pytest.approx(found.carbon.score, rel=1e-9)
    assert impact["Unit"] == "m2"
    layers = elements.get_material(kind).MaterialLayers
    assert [each.Name for each in layers] == [each.role for each in found.wall.layers]
    assert [each.LayerThickness for each in layers] == [each.thickness_mm for each in found.wall.layers]
    for written, figures, meant in zip(layers, found.layers, found.wall.layers, strict=True):
        assert elements.get_pset(written, "Wallfront_Layer")["ThermalResistance"] == figures.resistance_m2k_w
        material = found.wall.of(meant.material)
        if meant.frame is None and meant.tie is None and material.design_conductivity:
            thermal = elements.get_pset(written.Material, "Pset_MaterialThermal")
            assert thermal["ThermalConductivity"] == material.design_conductivity
            assert elements.get_pset(written.Material, "Pset_MaterialCommon")["MassDensity"] == material.density_kg_m3


def test_u_can_be_reckoned_from_the_file_alone():
    """Both limits of ISO 6946 from the thicknesses, conductivities and fractions that were written."""
    found = judge(single())
    file = opened(wall_type_ifc(found))
    kind = type_of(file)
    heat = elements.get_pset(kind, "Wallfront_Heat")
    upper: dict[str, float] = {}
    fill = timber = lower = heat["InsideSurfaceResistance"] + heat["OutsideSurfaceResistance"]
    for each in elements.get_material(kind).MaterialLayers:
        thickness = each.LayerThickness / 1000
        parts = {"fill": (1.0, each.Material)}
        if each.Material.RelatesTo:
            parts = {part.Name: (part.Fraction, part.Material) for part in shares(each.Material).MaterialConstituents}
            upper = {name: fraction for name, (fraction, _) in parts.items()}
        conducted = {name: conductivity(material) for name, (_, material) in parts.items()}
        fill += thickness / conducted["fill"]
        timber += thickness / conducted.get("members", conducted["fill"])
        lower += thickness / conductivity(each.Material)  # a mixed layer's own stands for its parts by area
        assert conductivity(each.Material) == pytest.approx(
            sum(fraction * conducted[name] for name, (fraction, _) in parts.items()), rel=1e-9
        )
    limit = 1 / (upper["fill"] / fill + upper["members"] / timber)
    assert limit == pytest.approx(heat["UpperLimit"], rel=1e-9)
    assert lower == pytest.approx(heat["LowerLimit"], rel=1e-9)
    assert 2 / (limit + lower) + heat["Correction"] == pytest.approx(found.u_value, rel=1e-9)


def shares(material):
    (composite,) = [each for each in material.HasProperties if each.Name == "Wallfront_Composite"]
    (link,) = composite.Properties
    return link.PropertyReference


def conductivity(material) -> float:
    return elements.get_pset(material, "Pset_MaterialThermal")["ThermalConductivity"]


def test_mixed_layers_name_their_parts_with_their_shares_and_sizes():
    file = opened(wall_type_ifc(judge(twin())))
    layers = {each.Name: each.Material for each in elements.get_material(type_of(file)).MaterialLayers}
    parts = {
        role: {part.Name: part.Fraction for part in shares(layers[role]).MaterialConstituents}
        for role in ("ventilated space", "outer frame", "gap", "inner frame", "service zone")
    }
    framed = {"fill": 0.925, "members": 0.075}
    gap = {"fill": 1 - 12 / 600 * 200 / 1200, "ties": 12 / 600 * 200 / 1200}
    assert parts["gap"] == pytest.approx(gap)
    for role in ("ventilated space", "outer frame", "inner frame", "service zone"):
        assert parts[role] == pytest.approx(framed), role
    for role in parts:
        (relation,) = layers[role].RelatesTo
        named = {part.Material for part in shares(layers[role]).MaterialConstituents}
        assert set(relation.RelatedMaterials) == named
    (ties,) = [each for each in shares(layers["gap"]).MaterialConstituents if each.Name == "ties"]
    sizes = elements.get_pset(ties, "Wallfront_Framing")
    assert (sizes["Thickness"], sizes["Height"], sizes["VerticalSpacing"], sizes["Overlap"]) == (12, 200, 1200, 40)
    (studs,) = [each for each in shares(layers["service zone"]).MaterialConstituents if each.Name == "members"]
    sizes = elements.get_pset(studs, "Wallfront_Framing")
    assert (sizes["Width"], sizes["Spacing"], sizes["Axis"]) == (45, 600, "horizontal")


def test_the_units_are_defined():
    file = opened(wall_type_ifc(judge(single())))
    assert units.calculate_unit_scale(file) == pytest.approx(1e-3)
    (assigned,) = file.by_type("IfcUnitAssignment")
    powers = {
        each.UnitType: {(part.Unit.Prefix, part.Unit.Name): part.Exponent for part in each.Elements}
        for each in assigned.Units
        if each.is_a("IfcDerivedUnit")
    }
    metre, kelvin, watt = (None, "METRE"), (None, "KELVIN"), (None, "WATT")
    kilogram, joule = ("KILO", "GRAM"), (None, "JOULE")
    assert powers["THERMALTRANSMITTANCEUNIT"] == {watt: 1, metre: -2, kelvin: -1}
    assert powers["THERMALCONDUCTANCEUNIT"] == {watt: 1, metre: -1, kelvin: -1}
    assert powers["THERMALRESISTANCEUNIT"] == {metre: 2, kelvin: 1, watt: -1}
    assert powers["MASSDENSITYUNIT"] == {kilogram: 1, metre: -3}
    assert powers["AREADENSITYUNIT"] == {kilogram: 1, metre: -2}
    assert powers["SPECIFICHEATCAPACITYUNIT"] == {joule: 1, kilogram: -1, kelvin: -1}


def test_every_set_of_the_schema_is_written_as_its_template_has_it():
    known = templates.get_template("IFC4")
    file = opened(wall_type_ifc(judge(catalogue_twin())))
    sets = [(each.Name, each.HasProperties) for each in file.by_type("IfcPropertySet")]
    sets += [(each.Name, each.Properties) for each in file.by_type("IfcMaterialProperties")]
    written = {name for name, _ in sets if not name.startswith("Wallfront_")}
    assert written == {
        "Pset_WallCommon",
        "Pset_EnvironmentalImpactIndicators",
        "Pset_MaterialThermal",
        "Pset_MaterialCommon",
        "Pset_MaterialHygroscopic",
        "Pset_MaterialWood",
    }
    for name, properties in sets:
        if name in written:
            measures = {each.Name: each.PrimaryMeasureType for each in known.get_by_name(name).HasPropertyTemplates}
            for each in properties:
                assert measures[each.Name] == each.NominalValue.is_a(), (name, each.Name)


def test_membranes_are_layers_without_thickness_that_keep_their_vapour_resistance():
    wall = catalogue_twin()
    kept = {each.role: each for each in read_wall_type(wall_type_ifc(judge(wall))).layers}
    foil = wall.of("variable-membrane")
    written = kept["airtight layer"]
    assert written.thickness_mm == 0 and written.ventilated is False
    assert written.material.sd_m_dry == foil.sd_m_dry and written.material.sd_m_humid == foil.sd_m_humid
    assert written.material.mass_kg_m2 == foil.mass_kg_m2


def test_vapour_resistance_stands_by_humidity():
    """Upper is that of high humidity, lower that of low humidity (the templates' own words)."""
    fibre = MATERIALS["fibre"].model_copy(update={"vapour_mu_dry": 5.0, "vapour_mu_wet": 3.0})
    wall = single().model_copy(update={"materials": MATERIALS | {"fibre": fibre}})
    file = opened(wall_type_ifc(judge(wall)))
    first, *_ = elements.get_material(type_of(file)).MaterialLayers
    found = elements.get_pset(first.Material, "Pset_MaterialHygroscopic")
    assert (found["UpperVaporResistanceFactor"], found["LowerVaporResistanceFactor"]) == (3.0, 5.0)


@pytest.mark.parametrize(
    ("wall", "said", "conducts"),
    [
        (unframed(), "UNKNOWN", True),
        (unframed("slight", opening_mm2_per_m=900), True, False),
        (unframed("well"), True, False),
    ],
)
def test_air_layers_say_whether_they_are_ventilated(wall, said, conducts):
    """IsVentilated is TRUE with air from outside, UNKNOWN for a still air layer, FALSE for anything solid."""
    found = judge(wall)
    file = opened(wall_type_ifc(found))
    outer, air, inner = elements.get_material(type_of(file)).MaterialLayers
    assert (outer.IsVentilated, air.IsVentilated, inner.IsVentilated) == (False, said, False)
    thermal = elements.get_pset(air.Material, "Pset_MaterialThermal") or {}
    assert ("ThermalConductivity" in thermal) is conducts
    if conducts:
        resistance = air.LayerThickness / 1000 / thermal["ThermalConductivity"]
        assert resistance == pytest.approx(found.layers[1].resistance_m2k_w, rel=1e-9)


def test_a_refused_wall_has_no_u_until_it_is_solved():
    found = judge(steel_tied())
    assert math.isnan(found.u_value)
    bare = read_wall_type(wall_type_ifc(found))
    assert bare.u_value is None and "does not apply" in bare.method
    solved = replace(found, numeric=SimpleNamespace(heat=SimpleNamespace(u_value=0.171)))
    told = read_wall_type(wall_type_ifc(solved))
    assert (told.u_value, told.method) == (0.171, "numerical calculation (ISO 10211)")


@pytest.mark.parametrize(
    ("loads", "bears"),
    [(None, None), (Loads(wind_kn_m2=0.6), False), (Loads(storeys=2), False), (LOADED, True)],
)
def test_load_bearing_only_where_loads_say_so(loads, bears):
    """Two storeys of nothing weigh nothing: what they bring decides, not that they are there."""
    told = read_wall_type(wall_type_ifc(judge(twin().model_copy(update={"loads": loads}))))
    assert told.load_bearing is bears


@pytest.mark.parametrize("frame", ["outer frame", "inner frame"])
def test_the_layer_that_bears_is_the_one_of_the_brief(frame):
    wall = twin().model_copy(update={"loads": LOADED})
    brief = house_walls.brief(strength={"load_bearing": frame})
    told = read_wall_type(wall_type_ifc(judge(wall), brief))
    assert [each.role for each in told.layers if each.category == "LoadBearing"] == [frame]
    assert told.project == brief.name
    assert (told.layers[0].category, told.layers[-1].category) == ("Outer finish", "Inner finish")


def classed(**classes: str) -> bool | None:
    """Whether a wall of three boards is combustible, by their classes."""
    changed = {key: MATERIALS[key].model_copy(update={"reaction_to_fire": stated}) for key, stated in classes.items()}
    wall = unframed().model_copy(update={"materials": MATERIALS | changed})
    return read_wall_type(wall_type_ifc(judge(wall))).combustible


def test_combustible_only_where_the_classes_say_so():
    assert classed() is None
    assert classed(fibre="A1") is None
    assert classed(fibre="A1", osb="A2-s1,d0") is False
    assert classed(fibre="E") is True
    assert classed(fibre="A1", osb="D-s2,d0") is True


def test_products_and_suppliers_are_those_of_the_price_lists():
    found = judge(house_walls.single(), house_walls.pricing())
    frame, *_ = read_wall_type(wall_type_ifc(found)).layers
    assert frame.product == "flock-bag + stud-200"
    assert frame.supplier == "Quillhaven Stores + Tarn Timber"
    named = house_walls.single(product="stud-200", supplier="Tarn Timber")
    frame, *_ = read_wall_type(wall_type_ifc(judge(named))).layers
    assert (frame.product, frame.supplier) == ("stud-200", "Tarn Timber")


def test_a_blown_fill_has_the_density_of_its_void():
    """200 + 90 + 100 mm are one void: 55 kg/m3, where 250 mm would be 50; the mixture is weighed by volume."""
    told = {each.role: each for each in read_wall_type(wall_type_ifc(judge(house_walls.twin()))).layers}
    mixed = told["outer frame"].material
    share = 45 / 600 + 2 * 45 / 2700
    assert [part.material.density_kg_m3 for part in mixed.constituents] == [55, 420]
    assert mixed.density_kg_m3 == pytest.approx((1 - share) * 55 + share * 420)


def identifiers(data: bytes) -> list[str]:
    return [each.GlobalId for each in opened(data).by_type("IfcRoot")]


def test_equal_input_gives_equal_bytes_and_lasting_identifiers():
    found = judge(twin())
    data = wall_type_ifc(found, wall_id="W7")
    assert data == wall_type_ifc(judge(twin()), wall_id="W7")
    first = identifiers(data)
    assert len(set(first)) == len(first)
    assert identifiers(wall_type_ifc(found, house_walls.brief(), "W7")) == first
    assert not set(first) & set(identifiers(wall_type_ifc(found, wall_id="W8")))
    assert not set(first) & set(identifiers(wall_type_ifc(judge(twin(offset_mm=300, tied=False)), wall_id="W7")))


def test_no_clock_and_no_version_in_the_header():
    header = opened(wall_type_ifc(judge(single()))).header.file_name
    assert header.time_stamp == "2000-01-01T00:00:00"
    assert (header.preprocessor_version, header.originating_system) == ("ifcopenshell", "wallfront")


HOSTILE = "a'b''c\\d\\X2\\00E9\\X0\\ é漢😀\n\t\x01\x7f\x85 ');#1=IFCWALL();/* */ \"<&>"


def renamed(name: str) -> Judged:
    """A wall with that name for itself, for a role and for a material."""
    wall = single()
    fibre = wall.of("fibre").model_copy(update={"name": name})
    first = wall.layers[0].model_copy(update={"role": name, "product": name, "supplier": name})
    changed = {"name": name, "layers": (first, *wall.layers[1:]), "materials": MATERIALS | {"fibre": fibre}}
    return judge(wall.model_copy(update=changed))


def test_a_hostile_name_stays_a_name_and_the_file_valid():
    data = wall_type_ifc(renamed(HOSTILE), wall_id=HOSTILE)
    assert faults(opened(data)) == []
    assert not opened(data).by_type("IfcWall")


@settings(max_examples=60)
@given(st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), min_size=1, max_size=60))
def test_every_name_reads_back_equal(name):
    told = read_wall_type(wall_type_ifc(renamed(name), wall_id=name))
    first = told.layers[0]
    assert (told.name, told.tag, told.reference, first.role, first.product, first.supplier) == (name,) * 6
    assert first.material.name == name


def test_names_longer_than_the_schema_allows_are_cut_and_the_null_character_is_replaced():
    told = read_wall_type(wall_type_ifc(renamed("x" * 400)))
    assert told.name == "x" * (LONGEST - 1) + "…"
    assert read_wall_type(wall_type_ifc(renamed("a\0b"))).name == "a�b"


def test_materials_of_one_name_are_told_apart():
    alike = {key: MATERIALS[key].model_copy(update={"name": "n" * LONGEST}) for key in ("fibre", "osb", "plaster")}
    wall = single().model_copy(update={"materials": MATERIALS | alike})
    names = [each.Name for each in opened(wall_type_ifc(judge(wall))).by_type("IfcMaterial")]
    assert len(set(names)) == len(names)
    assert max(map(len, names)) <= LONGEST
    assert sum(each.endswith("n (2)") for each in names) == 1


def test_a_tie_of_what_it_stands_in_is_one_material():
    wall = twin()
    gap = wall.layers[4].model_copy(update={"material": "ply", "tie": wall.layers[4].tie})
    assert gap.tie.material == tie()["material"] == gap.material
    data = wall_type_ifc(judge(wall.model_copy(update={"layers": (*wall.layers[:4], gap, *wall.layers[5:])})))
    (relation,) = [each for each in opened(data).by_type("IfcMaterialRelationship") if "ties" in each.Expression]
    assert [each.Name for each in relation.RelatedMaterials] == ["plywood"]


def test_a_roof_is_no_wall_type():
    with pytest.raises(InputError, match='single: element = "roof"'):
        wall_type_ifc(judge(single().model_copy(update={"element": "roof"})))


def test_the_extra_is_named_where_the_library_is_missing(monkeypatch):
    found = judge(single())
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(InputError, match=r"pip install 'wallfront\[bim\]'"):
        wall_type_ifc(found)
    with pytest.raises(InputError, match=r"pip install 'wallfront\[bim\]'"):
        read_wall_type(b"")


def test_the_library_is_loaded_only_when_a_file_is_written():
    code = "import sys, optimiser.handover.bim.wall_type; sys.exit('ifcopenshell' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_what_is_no_wall_type_is_refused():
    data = wall_type_ifc(judge(single(material="stud", fraction=0.1)))
    other = data.replace(b"FILE_SCHEMA(('IFC4'))", b"FILE_SCHEMA(('IFC2X3'))")
    for bad in (b"", b"a wall", b"\xff\xfe", data[:300], data[: len(data) // 2], data[:-300], other):
        with pytest.raises(InputError):
            read_wall_type(bad)
    twice = data.replace(b"ENDSEC;\nEND-ISO", b"#9001=IFCWALLTYPE('0',$,$,$,$,$,$,$,$,.STANDARD.);\nENDSEC;\nEND-ISO")
    with pytest.raises(InputError, match="2 entities IfcWallType"):
        read_wall_type(twice)


def test_frames_of_other_spacing_are_other_materials():
    """Mixed layers are shared only where all of them is equal."""
    wall = single()
    other = layer("second frame", "blown", 300, frame=stud(spacing_mm=400))
    both = BuildUp(
        name="two",
        outside="vented",
        layer=[*(each.model_dump() for each in wall.layers[:2]), other],
        materials=MATERIALS,
    )
    told = read_wall_type(wall_type_ifc(judge(both)))
    assert [part.fraction for part in told.layers[2].material.constituents] == pytest.approx([1 - 45 / 400, 45 / 400])
    assert told.layers[1].material.name != told.layers[2].material.name


def test_a_schema_of_some_hundred_letters_is_refused_before_the_library_reads_it():
    """The library came down with the whole program on one, in a search of mutated files."""
    data = wall_type_ifc(judge(single())).replace(b"'IFC4'", b"'IFC" + b"1" * 400 + b"'")
    with pytest.raises(InputError, match="a schema whose name has 403 letters: expected IFC4"):
        read_wall_type(data)
