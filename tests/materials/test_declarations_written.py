"""Declarations written and read back: nothing is lost, whole files, equal bytes."""

from __future__ import annotations

from datetime import date

import pytest
from declaration_files import CARBON, GWP_A1
from declared_products import archive, read_declaration, refused
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from materials.declared.declarations import DeclaredProduct, DeclaredUnit, ModuleValues, write_declaration
from materials.models import MODULES

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
