"""Build-ups through their cells: between the limits of ISO 6946, with what studs, ties, plates and corrections add."""

from __future__ import annotations

from pathlib import Path

import pytest
from grid_limits import limits
from hypothesis import given, settings
from hypothesis import strategies as st
from random_walls import INSULATION, KEYS, TIMBER, batch, build, heat, plain, plain_layers

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.models import Material
from optimiser.conduction.wall import in_plan, in_space, tie_of
from optimiser.conduction.wall_cell import NumericHeat, cell_of, numeric_heat
from optimiser.wall.buildup import read_buildup

STUD = {"material": "m5", "width_mm": 45, "spacing_mm": 600}
BATTEN = {"material": "m5", "width_mm": 45, "spacing_mm": 600, "axis": "horizontal"}
TIE = {"material": "m5", "thickness_mm": 12, "height_mm": 220, "vertical_spacing_mm": 1200}
TWIN = [
    plain("m4", 20),
    plain("m2", 140, frame=STUD),
    plain("m2", 100, tie=TIE),
    plain("m2", 63, frame=STUD | {"width_mm": 38}),
    plain("m6", 12),
    plain("m2", 45, frame=BATTEN),
    plain("m7", 12),
]
NO_TIES = [layer if "tie" not in layer else plain("m2", 100) for layer in TWIN]
NO_BATTENS = [*TWIN[:5], TWIN[6]]


def solved(layers: list[dict], tolerance: float | None = None, **more) -> NumericHeat:
    return numeric_heat(build(layers, **more), tolerance=tolerance)


@st.composite
def framed(draw, horizontal: bool) -> list[dict]:
    """Studs and battens on one spacing: lined up, staggered or anywhere, of any two materials; battens across them."""
    layers = draw(plain_layers(most=3))
    for number in range(draw(st.integers(1, 3))):
        frame = {"material": draw(st.sampled_from(KEYS)), "width_mm": draw(st.integers(2, 120)), "spacing_mm": 600}
        frame["offset_mm"] = draw(st.sampled_from([0, 0, 300, 211]))
        if horizontal and number == 0:
            frame |= {"axis": "horizontal", "spacing_mm": 400, "offset_mm": 0}
        fill = draw(st.sampled_from([*KEYS, "air"]))
        layers.insert(
            draw(st.integers(0, len(layers))),
            plain(fill, draw(st.integers(5, 300 if fill != "air" else 60)), frame=frame),
        )
    return layers


def check_between_the_limits(layers: list[dict]) -> None:
    combined, found = heat(layers), solved(layers, 0.01)
    main = found.conduction.solutions[0]
    upper, lower = limits(main)  # the cell is the geometry that the combined method counts
    assert upper == pytest.approx(1 / combined.r_upper[0], rel=1e-9)
    assert lower == pytest.approx(1 / combined.r_lower[0], rel=1e-9)
    assert upper * (1 - 1e-8) <= found.u_value <= lower * (1 + 1e-8)
    assert found.u_error <= 0.01 * found.u_value
    assert found.balance < 1e-6
    assert 0 < found.f_rsi < 1
    assert found.f_rsi_moisture < found.f_rsi


@settings(max_examples=60, deadline=None)
@given(framed(horizontal=False))
def test_framed_walls_lie_between_the_limits(layers):
    check_between_the_limits(layers)


@settings(max_examples=12, deadline=None)
@given(framed(horizontal=True))
def test_crossing_battens_lie_between_the_limits(layers):
    check_between_the_limits(layers)


@settings(max_examples=12, deadline=None)
@given(st.data())
def test_tied_twins_lie_between_the_limits(data):
    studs = [
        STUD | {"width_mm": data.draw(st.integers(30, 100)), "material": data.draw(st.sampled_from(TIMBER))}
        for _ in range(2)
    ]
    tie = TIE | {"thickness_mm": data.draw(st.integers(2, 60)), "height_mm": data.draw(st.integers(50, 1200))}
    tie["material"] = data.draw(st.sampled_from(TIMBER))
    fill = data.draw(st.sampled_from(INSULATION))
    layers = [
        plain(fill, data.draw(st.integers(40, 200)), frame=studs[0]),
        plain(fill, data.draw(st.integers(10, 200)), tie=tie),
        plain(fill, data.draw(st.integers(40, 200)), frame=studs[1]),
        plain("m7", 12),
    ]
    check_between_the_limits(layers)
    assert tie["height_mm"] == 1200 or solved(layers).chi_w_k > 0


def test_the_published_wall():
    """physics: U 0.13357 by the combined method, 0.13360 by conduction (own)."""
    wall = read_buildup(Path(__file__).parents[1] / "published" / "walls" / "single_300_stud.toml", load_catalogue())
    found = numeric_heat(wall, tolerance=1e-5)
    assert found.u_value == pytest.approx(0.13360, abs=1e-5)
    assert found.chi_w_k is None
    assert found.u_value == pytest.approx(found.u_unbridged + found.psi_w_mk / 0.6, rel=1e-9)
    assert found.shares["2 outer frame"] + found.shares["2 outer frame: frame"] == pytest.approx(1, abs=1e-6)
    assert found.coldest_c(20, -5) == pytest.approx(-5 + 25 * found.f_rsi)
    assert numeric_heat(wall).f_rsi == pytest.approx(found.f_rsi, abs=0.001)


# Ties and battens


def test_a_tie_adds_its_point_transmittance():
    """One to every 0.6 x 1.2 m; asked for alone it is the same."""
    with_ties, without = (
        solved(NO_BATTENS, 0.0005),
        solved([*NO_TIES[:5], NO_TIES[6]], 0.0005),
    )
    chi = with_ties.chi_w_k
    assert (with_ties.u_value - without.u_value) * 0.72 == pytest.approx(chi, rel=0.05)
    alone, error = tie_of(*cell_of(build(NO_BATTENS)), 0.0005)
    assert alone == pytest.approx(chi, rel=1e-9)
    assert error < 0.05 * chi
    assert tie_of(*cell_of(build(TWIN)), 0.0005)[0] == pytest.approx(solved(TWIN, 0.0005).chi_w_k, rel=1e-9)


def test_adding_ties_agrees_with_solving_them_between_battens():
    """Ties 1.25 m apart and battens 0.6 m have no common cell: the tie is added. At 1.2 m both ways can be gone."""
    whole = solved(TWIN, 0.0005)
    added = solved(NO_TIES, 0.0005).u_value + tie_of(*cell_of(build(TWIN)), 0.0005)[0] / 0.72
    assert not whole.conduction.ties_added
    assert added == pytest.approx(whole.u_value, rel=0.0002)
    apart = [layer | ({"tie": TIE | {"vertical_spacing_mm": 1250}} if "tie" in layer else {}) for layer in TWIN]
    found = solved(apart, 0.0005)
    assert found.conduction.ties_added
    assert len(found.conduction.solutions) == 2
    assert found.u_value == pytest.approx(whole.u_value, rel=0.001)
    combined = heat(apart)
    assert 1 / combined.r_upper[0] < found.u_value < 1 / combined.r_lower[0]


@pytest.mark.parametrize("layers", [TWIN, NO_TIES, NO_BATTENS], ids=["ties and battens", "battens", "ties"])
def test_plan_sections_enclose_space(layers):
    slabs, r_si, r_se = cell_of(build(layers))
    flat, truth, combined = in_plan(slabs, r_si, r_se), in_space(slabs, r_si, r_se, 0.0005), heat(layers)
    assert abs(flat.u_value - truth.u_value) <= flat.u_error
    assert 1 / combined.r_upper[0] <= flat.u_value - flat.u_error
    assert flat.u_value + flat.u_error <= 1 / combined.r_lower[0]
    assert flat.f_rsi == pytest.approx(truth.f_rsi, abs=0.02)
    assert flat.psi == pytest.approx(truth.psi, rel=0.02)


def test_steel_ties_are_solved_too():
    steel = Material(key="steel", name="steel", conductivity_w_mk=50, origin="metal")
    tie = TIE | {"material": "steel", "thickness_mm": 2}
    layers = [layer | ({"tie": tie} if "tie" in layer else {}) for layer in NO_BATTENS]
    wall = build(layers)
    wall = wall.model_copy(update={"materials": wall.materials | {"steel": steel}})
    found = numeric_heat(wall)
    assert found.u_error <= 0.005 * found.u_value
    assert found.chi_w_k > 3 * solved(NO_BATTENS).chi_w_k


# What the wall's file adds


def test_timber_without_a_place_is_enclosed_between_beside_the_cell_and_spread_through_it():
    """e (U_plate - U_clear), by hand for a frame between two boards, is the least; the most a cell with such fill."""
    layers = [plain("m4", 20), plain("m2", 140, frame=STUD | {"extra_fraction": 0.06}), plain("m4", 20)]
    bare = [layers[0], plain("m2", 140, frame=STUD), layers[2]]
    found, cell = solved(layers, 0.0002), solved(bare, 0.0002)
    around = 0.17 + 2 * 0.02 / 0.09
    plate, clear = 1 / (around + 0.14 / 0.13), 1 / (around + 0.14 / 0.04)
    least = found.u_extra - found.u_extra_error
    assert found.u_cell == pytest.approx(cell.u_value, rel=1e-12)
    assert least == pytest.approx(0.06 * (plate - clear), abs=0.001 * cell.u_value)
    assert not found.placed and found.u_extra_error > 0
    spread = build([layers[0], plain("m2", 140, frame=STUD), layers[2]])
    mixed = 0.04 + 0.06 / (1 - STUD["width_mm"] / STUD["spacing_mm"]) * (0.13 - 0.04)
    fill = spread.of("m2").model_copy(update={"conductivity_w_mk": mixed})
    most = numeric_heat(spread.model_copy(update={"materials": spread.materials | {"m2": fill}}), None, 0.0002).u_value
    assert found.u_cell + found.u_extra + found.u_extra_error == pytest.approx(most, abs=0.001 * most)
    combined = heat(layers)
    assert 1 / combined.r_upper[0] <= found.u_value <= 1 / combined.r_lower[0]


def test_such_timber_of_two_frames_lines_up():
    """The larger share holds the smaller, as in the combined method: the least grows by the steps of R'."""
    frames = [STUD | {"extra_fraction": 0.06}, STUD | {"extra_fraction": 0.02}]
    layers = [plain("m2", 140, frame=frames[0]), plain("m2", 60), plain("m2", 95, frame=frames[1])]
    found, combined = solved(layers, 0.0002), heat(layers)
    cell = heat([plain("m2", 140, frame=STUD), plain("m2", 60), plain("m2", 95, frame=STUD)])
    least = found.u_extra - found.u_extra_error
    assert least == pytest.approx(1 / combined.r_upper[0] - 1 / cell.r_upper[0], abs=0.002 * found.u_value)


def test_corrections_are_added():
    given = {"point": [{"number_per_m2": 6, "chi_w_k": 0.002}]}
    assert solved(NO_TIES, corrections=given).u_value == pytest.approx(solved(NO_TIES).u_value + 0.012, rel=1e-12)


def test_what_lies_outside_a_ventilated_space_does_not_count():
    cladding = [plain("m4", 24) | {"role": "cladding"}]
    space = [plain("air", 38, frame=STUD) | {"role": "ventilated space"}]
    one, two = solved(cladding + space + NO_TIES, outside="vented"), solved(NO_TIES, outside="vented")
    assert one.u_value == pytest.approx(two.u_value, rel=1e-12)


def test_a_slightly_ventilated_layer_mixes_resistances():
    """Av 1000 mm2/m: half way between unventilated and well ventilated, in resistance (ISO 6946)."""

    def cavity(**more) -> float:
        return solved([plain("m8", 100), plain("air", 50, **more), *NO_TIES[1:5]]).u_value

    well = cavity(ventilation="well")
    half = cavity(ventilation="slight", opening_mm2_per_m=1000)
    assert 1 / half == pytest.approx((1 / cavity() + 1 / well) / 2, rel=1e-9)


def test_a_layer_that_resists_without_thickness_counts():
    film = Material(key="film", name="film", resistance_m2k_w=0.3)
    wall = build([plain("film", 0), *NO_TIES[1:4]])
    wall = wall.model_copy(update={"materials": wall.materials | {"film": film}})
    assert numeric_heat(wall).u_unbridged == pytest.approx(1 / (1 / solved(NO_TIES[1:4]).u_unbridged + 0.3), rel=1e-9)


def test_the_json_object():
    given = solved(NO_BATTENS).as_json()
    assert {"u_value", "u_error", "f_rsi", "chi_w_k", "psi_w_mk"} <= set(given)
    assert isinstance(given.pop("placed"), bool) and isinstance(given.pop("psi_counts"), str)
    assert all(isinstance(value, float | dict) for value in given.values())


# What can't be drawn


def test_a_frame_by_fraction_is_refused():
    with pytest.raises(InputError, match=r"layer 2 \(layer\): the frame is given by fraction.*needs width_mm"):
        solved([plain("m4", 20), plain("m2", 140, frame={"material": "m5", "fraction": 0.1})])


def test_members_that_never_line_up_again_are_refused():
    layers = [plain("m2", 140, frame=STUD), plain("m2", 140, frame=STUD | {"spacing_mm": 625})]
    with pytest.raises(InputError, match="members every 600 and 625 mm do not repeat together within 4 m"):
        solved(layers)


def test_members_at_two_distances_that_line_up_again_are_solved():
    """400 and 600 mm: a cell of 1.2 m, half of it drawn."""
    layers = [plain("m2", 140, frame=STUD), plain("m2", 60), plain("m2", 90, frame=STUD | {"spacing_mm": 400})]
    found = solved(layers)
    main = found.conduction.solutions[0]
    assert main.grid.domain.size[-1] == pytest.approx(0.6)
    upper, lower = limits(main)
    assert upper <= found.u_value <= lower


def test_a_wall_without_room_or_resistance_is_refused():
    with pytest.raises(InputError, match="more than the whole area"):
        wide = [STUD | {"width_mm": 300, "offset_mm": offset, "extra_fraction": 0.2} for offset in (0, 300)]
        solved([plain("m2", 100, frame=wide[0]), plain("m2", 100, frame=wide[1])])
    with pytest.raises(InputError, match="no layer resists heat"):
        solved([plain("m8", 0)])


def test_the_batch_at_hand_gives_the_same():
    wall = build(NO_BATTENS)
    assert numeric_heat(wall, batch=batch(wall)).u_value == numeric_heat(wall).u_value
