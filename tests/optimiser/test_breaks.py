"""What breaks what: shares of heat, and the same wall with other members."""

from __future__ import annotations

import pytest

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.checks.judge import judge
from optimiser.conduction.breaks import Breaks, breaks
from optimiser.conduction.u_value import numeric_u
from optimiser.wall.buildup import BuildUp, parse_buildup

CATALOGUE = load_catalogue()
FRAME = '{ material = "softwood-c24", width_mm = 45, spacing_mm = 600, extra_fraction = 0.05 }'
TIE = '{ material = "tie-plywood", thickness_mm = 12, height_mm = 200, vertical_spacing_mm = 1200 }'
BATTEN = '{ material = "softwood-batten", width_mm = 45, spacing_mm = 600, axis = "horizontal" }'


def wall(*layers: str, conductivity: float = 0.039) -> BuildUp:
    text = f'name = "w"\noutside = "vented"\n[materials.fill]\nconductivity_w_mk = {conductivity}\n'
    return parse_buildup(text + "".join(f"[[layer]]\n{layer}\n" for layer in layers), CATALOGUE, "w")


def layer(role: str, material: str, mm: float, more: str = "") -> str:
    return f'role = "{role}"\nmaterial = "{material}"\nthickness_mm = {mm}\n{more}'


SHEATHING = layer("sheathing", "osb", 12)
OUTER, INNER = (
    layer("outer frame", "fill", 145, f"frame = {FRAME}"),
    layer("inner frame", "fill", 95, f"frame = {FRAME}"),
)
GAP, TIED = layer("gap", "fill", 100), layer("gap", "fill", 100, f"tie = {TIE}")
SERVICE, LINING = layer("service zone", "fill", 45, f"frame = {BATTEN}"), layer("lining", "plasterboard", 12.5)


@pytest.fixture(scope="module")
def twin() -> BuildUp:
    return wall(SHEATHING, OUTER, TIED, INNER, SERVICE, LINING)


@pytest.fixture(scope="module")
def found(twin) -> Breaks:
    return breaks(twin)


def named(told: Breaks) -> dict:
    return {each.name: each for each in told.others}


def test_shares_of_every_layer_add_up_and_members_take_more_than_their_area(found):
    for number in {each.layer for each in found.through}:
        assert sum(each.of_heat for each in found.through if each.layer == number) == pytest.approx(1.0, abs=1e-6)
        assert sum(each.of_area for each in found.through if each.layer == number) == pytest.approx(1.0, abs=1e-9)
    members = [each for each in found.through if each.what in ("studs", "ties", "battens")]
    assert [(each.role, each.what) for each in members] == [
        ("outer frame", "studs"),
        ("gap", "ties"),
        ("inner frame", "studs"),
        ("service zone", "battens"),
    ]
    assert all(each.of_heat > each.of_area for each in members)
    assert members[0].of_area == pytest.approx(45 / 600) and members[1].of_area == pytest.approx(12 / 600 * 200 / 1200)


def test_the_part_due_to_members_is_what_the_unbridged_wall_lacks(twin, found):
    bare = named(found)["no members at all"]
    assert bare.u_error == 0.0 and bare.u_value == pytest.approx(found.u_unbridged)
    assert bare.u_combined == pytest.approx(bare.u_value, rel=1e-9)
    assert found.by_members == pytest.approx(-bare.difference / found.u_value)
    assert 0 < found.by_members < 0.3
    assert breaks(wall(SHEATHING, layer("fill", "fill", 300), LINING)).by_members == pytest.approx(0.0, abs=1e-9)


def test_others_stand_where_they_must(found):
    told = named(found)
    drawn = told["as drawn"].u_value
    assert told["as drawn"].difference == 0.0
    for lower in ("no ties", "half as many ties", "ties half as thick", "no battens", "no plates or openings"):
        assert told[lower].u_value < drawn, lower
        assert told["no members at all"].u_value < told[lower].u_value
    for higher in ("solid studs of equal depth", "twice as many ties", "ties twice as thick", "steel ties, 2 mm"):
        assert told[higher].u_value > drawn, higher
    assert told["no ties"].u_value < told["half as many ties"].u_value
    assert told["solid studs of equal depth"].difference > told["steel ties, 2 mm"].difference > 0.001
    assert told["steel ties, 2 mm"].u_combined is None  # metal: refused
    assert "plywood ties, 12 mm" not in told  # they are of plywood
    for each in found.others:
        assert each.difference == pytest.approx(each.u_value - drawn)
        if each.u_combined is not None:
            assert abs(each.u_combined / each.u_value - 1) < 0.05


def test_each_is_the_wall_that_its_name_says(twin, found):
    """The same walls, written out."""
    studs = layer("gap", "fill", 100, f"frame = {FRAME}")
    half = TIED.replace("vertical_spacing_mm = 1200", "vertical_spacing_mm = 2400")
    steel = TIED.replace("tie-plywood", "galvanised-fixings").replace("thickness_mm = 12,", "thickness_mm = 2,")
    written = {
        "solid studs of equal depth": wall(SHEATHING, OUTER, studs, INNER, SERVICE, LINING),
        "no ties": wall(SHEATHING, OUTER, GAP, INNER, SERVICE, LINING),
        "half as many ties": wall(SHEATHING, OUTER, half, INNER, SERVICE, LINING),
        "steel ties, 2 mm": wall(SHEATHING, OUTER, steel, INNER, SERVICE, LINING),
        "no battens": wall(SHEATHING, OUTER, TIED, INNER, layer("service zone", "fill", 45), LINING),
    }
    told = named(found)
    for name, other in written.items():
        u_value, _ = numeric_u(other, 0.001)
        assert told[name].u_value == pytest.approx(u_value, rel=1e-9), name
        if told[name].u_combined is not None:
            assert told[name].u_combined == pytest.approx(judge(other).u_value, rel=1e-9), name


def test_a_single_frame_has_no_ties_to_change():
    told = named(breaks(wall(SHEATHING, OUTER, LINING)))
    assert set(told) == {"as drawn", "no plates or openings", "no members at all"}


def test_staggered_studs_and_timber_ties():
    staggered = INNER.replace("spacing_mm = 600,", "spacing_mm = 600, offset_mm = 300,")
    told = named(breaks(wall(SHEATHING, OUTER, GAP, staggered, LINING)))
    assert told["solid studs of equal depth"].difference > 0.005
    timber = TIED.replace("tie-plywood", "softwood-c24")
    conductivity = {key: CATALOGUE.get(key).design_conductivity for key in ("softwood-c24", "tie-plywood")}
    told = named(breaks(wall(SHEATHING, OUTER, timber, INNER, LINING)))
    assert ("plywood ties, 12 mm" in told) == (len(set(conductivity.values())) == 2)
    assert "steel ties, 2 mm" in told


def test_a_wall_without_a_cell_is_refused_and_records_are_plain(found):
    given = OUTER.replace("width_mm = 45, spacing_mm = 600, extra_fraction = 0.05", "fraction = 0.1")
    with pytest.raises(InputError, match="given by fraction"):
        breaks(wall(SHEATHING, given, LINING))
    told = found.as_json()
    assert told["by_members"] == found.by_members
    assert told["others"][0]["name"] == "as drawn" and told["through"][0]["role"] == "sheathing"


def test_what_a_wall_other_than_drawn_cannot_have_is_told_with_its_reason():
    """Ties at 1000 mm against battens at 600 mm have a common cell, twice as many do not but are added apart."""
    odd = TIED.replace("vertical_spacing_mm = 1200", "vertical_spacing_mm = 1250")
    told = named(breaks(wall(SHEATHING, OUTER, odd, INNER, SERVICE, LINING)))
    assert all(each.u_value is not None and each.reason is None for each in told.values())
