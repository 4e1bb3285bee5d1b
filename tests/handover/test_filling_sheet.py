"""The filling sheet: chambers and bags against a hand calculation, and what the sheet says of itself."""

from __future__ import annotations

import io
import math

import openpyxl
import pytest
from house_walls import L_SHAPE, LIBRARY, RECTANGLE, brief, frame, parted, pricing, single, twin, wall

from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.models import Material
from optimiser.handover.filling.files import filling_files, filling_table
from optimiser.handover.filling.sheet import digest_of, filling_sheet
from optimiser.handover.ordering.order import order_of
from optimiser.handover.ordering.ordered_fill import with_order
from optimiser.handover.ordering.take_off import take_off
from optimiser.wall.buildup import parse_buildup, to_toml


def test_bags_by_the_exact_example():
    """300 mm at 55 kg/m3 with 85 % void = 14.025 kg/m2 (exact); on 10.2 m less 4 x 300 mm, 2.7 m high."""
    sheet = filling_sheet(single_by_share(), brief(RECTANGLE))
    face = (20.4 - 1.2) * 2.7
    assert sheet.score_kg == pytest.approx((55 * 0.3 * 0.85 * 20.4 * 2.7,))
    assert sheet.kg == pytest.approx(14.025 * face, abs=0.01 * len(sheet.chambers))  # each rounded up to 10 g
    assert sheet.kg >= 14.025 * face
    assert sheet.bags == math.ceil(sheet.kg / 12.5)
    assert filling_sheet(single_by_share(), brief(RECTANGLE, filling={"bag_kg": 15.0})).bags == math.ceil(sheet.kg / 15)


def single_by_share():
    across = {"material": "stud", "fraction": 0.15}
    return wall({"role": "outer frame", "material": "flock", "thickness_mm": 300.0, "frame": across})


def test_every_bay_between_studs_is_a_chamber():
    """Run of 5.8 m: nine bays of 555 x 200 x 2610 mm and one of 265; of 4.0 m: six and one. 50 kg/m3 at 200 mm."""
    sheet = filling_sheet(single(), brief(RECTANGLE))
    assert len(sheet.chambers) == 2 * (10 + 7)
    first = sheet.chambers[0]
    assert (first.key, first.faces, first.width_mm, first.depth_mm, first.height_mm) == (
        "F1-W1-S1-B1-C1",
        "south",
        555,
        200,
        2610,
    )
    assert first.volume_m3 == pytest.approx(0.555 * 0.2 * 2.61, abs=5e-6)
    assert first.density_kg_m3 == 50
    assert first.kg == pytest.approx(50 * 0.555 * 0.2 * 2.61, abs=0.01)
    assert sheet.chambers[9].width_mm == 265
    assert math.fsum(each.face_m2 for each in sheet.chambers) == pytest.approx(19.6 * 2.7, abs=0.01)
    clear = 2 * (5.8 + 4.0) - (38 + 4) * 0.045
    assert math.fsum(each.volume_m3 for each in sheet.chambers) == pytest.approx(clear * 0.2 * 2.61, abs=1e-3)


def test_a_void_across_the_gap_is_one_chamber_from_corner_to_corner():
    """390 mm deep; volume of the south run: each layer on its own length, net of studs, plates and 30 tie plates."""
    sheet = filling_sheet(twin(), brief(RECTANGLE))
    assert sheet.layers == ((4, 5, 6),)
    assert [each.key for each in sheet.chambers] == [f"F1-W{run}-S1-C1" for run in (1, 2, 3, 4)]
    first = sheet.chambers[0]
    outer, gap, inner = (6.0 - 2 * 0.072 - 0.2), (6.0 - 2 * 0.272 - 0.09), (6.0 - 2 * 0.362 - 0.1)
    volume = (outer - 12 * 0.045) * 2.61 * 0.2  # 11 studs and a corner stud
    volume += (gap * 2.7 - 3 * 10 * 0.012 * 0.2) * 0.09
    volume += (inner - 11 * 0.045) * 2.61 * 0.1
    assert first.depth_mm == 390
    assert first.volume_m3 == pytest.approx(volume, abs=1e-5)
    assert first.density_kg_m3 == 55


def test_staggered_studs_leave_the_void_open():
    touching = wall(frame(200), frame(100, role="inner frame"))
    staggered = wall(frame(200), frame(100, role="inner frame", offset_mm=300.0))
    assert len(filling_sheet(touching, brief(RECTANGLE)).chambers) > 4
    assert len(filling_sheet(staggered, brief(RECTANGLE)).chambers) == 4


def test_boards_part_the_voids():
    boards = {"role": "outer gap board", "material": "strand", "thickness_mm": 12.0}
    sheet = filling_sheet(wall(frame(200), boards, frame(100, role="inner frame")), brief(RECTANGLE))
    assert sheet.layers == ((1,), (3,))
    assert {each.key.partition("-")[0] for each in sheet.chambers} == {"F1", "F2"}
    assert next(each.density_kg_m3 for each in sheet.chambers if each.void == 2) == 50


def test_high_chambers_are_broken_and_filled_bottom_up():
    """3.91 m between plates in chambers of at most 2.0 m: two of 1.955 m; parts of 3.2 m and more are blown denser."""
    tall = RECTANGLE | {"storey_height_m": 4.0}
    sheet = filling_sheet(single(), brief(tall, filling={"chamber_height_mm": 2000.0}))
    low, high = sheet.chambers[:2]
    assert (low.part, low.parts, high.part) == (1, 2, 2)
    assert low.height_mm == pytest.approx(1955)
    assert low.broken == "plate to break, break at 1955 mm"
    assert high.broken == "break to plate"
    assert [each.order for each in sheet.chambers] == list(range(1, len(sheet.chambers) + 1))
    one_piece = filling_sheet(single(), brief(tall, filling={"chamber_height_mm": 4000.0}))
    assert one_piece.chambers[0].density_kg_m3 == 50 + 4


def test_lower_storeys_are_filled_first():
    storeys = [each.storey for each in filling_sheet(twin(), brief(L_SHAPE | {"storeys": 2})).chambers]
    assert storeys == sorted(storeys) == [1] * 6 + [2] * 6


def test_openings_take_their_share():
    closed = filling_sheet(twin(), brief(RECTANGLE))
    opened = filling_sheet(twin(), brief(RECTANGLE | {"openings_m2": {"south": 4.0}}))
    south, whole = opened.chambers[0], closed.chambers[0]
    assert south.opening_m2 == pytest.approx(4.0)
    assert south.kg == pytest.approx(whole.kg * (1 - 4.0 / south.face_m2), abs=0.02)
    assert south.kg_whole == whole.kg
    assert [each.kg for each in opened.chambers[1:]] == [each.kg for each in closed.chambers[1:]]


def test_what_is_printed_is_never_below_the_limit():
    for each in filling_sheet(single(), brief(L_SHAPE | {"openings_m2": 3.3})).chambers:
        net_m3 = each.volume_m3 * (1 - each.opening_m2 / each.face_m2)
        assert each.kg >= each.density_kg_m3 * net_m3 - 1e-9
        assert each.bags * 12.5 >= each.kg - 1e-9


def test_a_wall_without_blown_fill_has_no_chambers():
    sheet = filling_sheet(wall(frame(200, fill="wool")), brief(RECTANGLE))
    assert (sheet.chambers, sheet.kg, sheet.bags, sheet.cautions) == ((), 0, 0, ())


def test_a_fill_of_no_known_density_is_refused():
    bare = Material(key="flock", name="flock", kind="loose fill", conductivity_w_mk=0.04)
    with pytest.raises(InputError, match="no density is known"):
        unknown = single().model_copy(update={"materials": LIBRARY | {"flock": bare}})
        filling_sheet(unknown, brief(RECTANGLE))


def test_what_the_check_refuses_is_on_the_sheet():
    deep = single().model_copy(update={"layers": wall(frame(600)).layers})
    (told,) = filling_sheet(deep, brief(RECTANGLE)).refused
    assert told == "void 1: the void is too deep to fill evenly"
    assert told in filling_table(filling_sheet(deep, brief(RECTANGLE))).below


def test_the_mark_of_a_build_up_survives_its_file_and_nothing_else():
    catalogue = load_catalogue()
    again = parse_buildup(to_toml(twin(), catalogue), catalogue, "twin.toml")
    assert digest_of(again) == digest_of(twin())
    assert digest_of(twin()) != digest_of(single())
    thinner = twin().model_copy(update={"layers": twin().layers[1:]})
    assert digest_of(thinner) != digest_of(twin())
    assert set(digest_of(twin())) <= set("abcdefghijklmnop")


def test_every_chamber_says_its_fill_and_each_fill_adds_up_alone():
    """Flock outside a board and glass inside it: kg by hand over the chambers, bags of each for itself."""
    sheet = filling_sheet(parted(), brief(RECTANGLE))
    assert sheet.fills == ("flock", "glass")
    assert {(each.void, each.fill) for each in sheet.chambers} == {(1, "flock"), (2, "glass")}
    flock, glass = sheet.totals
    assert flock.kg == pytest.approx(sheet.kg_of(1)) and glass.kg == pytest.approx(sheet.kg_of(2))
    assert (flock.bags, glass.bags) == tuple(math.ceil(each.kg / 12.5) for each in (flock, glass))
    table = filling_table(sheet)
    at = [each.title for each in table.columns]
    rows = [dict(zip(at, row, strict=True)) for row in table.sums]
    assert [(row["Chamber"], row["Fill"], row["Kg"], row["Bags"]) for row in rows] == [
        ("In all", "flock", flock.kg, flock.bags),
        ("In all", "glass", glass.kg, glass.bags),
    ]
    assert [each.title for each in table.columns if each.entered] == ["Went in, kg", "Went in, bags", "Remark"]
    told = dict((row[0], row[1]) for row in table.above)
    assert told["Void F2"] == "glass, layers 3, 4"
    assert all(f"{letter} " in told["Chamber key"] for letter in "FWSBC")
    assert told["Bags"].endswith("What is left of a bag goes into the next chamber of the same fill.")


def test_bags_are_those_of_the_order():
    """With the waste of list or catalogue, in the packs that are bought."""
    given = brief(RECTANGLE)
    order = order_of(take_off(parted(), given, pricing(), wall_id="W-007"), given.transport)
    sheet = with_order(order.of.filling, order)
    bought = {each.product.key: each for supplier in order.suppliers for each in supplier.lines}
    assert [each.bags for each in sheet.totals] == [bought["flock-bag"].packs, bought["glass-bag"].packs]
    glass = sheet.totals[1]
    assert glass.bags == math.ceil(glass.kg * 1.02 / 15)  # sold by 15 kg
    assert glass.words == f"{glass.bags} bags of 15 kg from Quillhaven Stores, waste included"
    unsold = order_of(take_off(parted(), given, pricing("glass-bag")), given.transport)
    assert with_order(unsold.of.filling, unsold).totals[1].words == ""


def test_two_fills_of_one_name_are_told_apart():
    twice = parted()
    named = twice.materials["glass"].model_copy(update={"name": "flock"})
    twice = twice.model_copy(update={"materials": twice.materials | {"glass": named}})
    assert filling_sheet(twice, brief(RECTANGLE)).fills == ("flock, flock", "flock, glass")


def test_the_sheet_as_a_workbook():
    sheet = filling_sheet(twin(), brief(RECTANGLE), wall_id="W-007")
    files = filling_files(sheet)
    assert files == filling_files(filling_sheet(twin(), brief(RECTANGLE), wall_id="W-007"))
    assert set(files) == {"filling-sheet.xlsx", "filling-sheet.csv"}
    (page,) = openpyxl.load_workbook(io.BytesIO(files["filling-sheet.xlsx"]))
    values = list(page.iter_rows(values_only=True))
    assert values[0][:2] == ("Wall", "W-007")
    assert values[1][:3] == ("Mark of the build-up", sheet.digest, "(stands in every document of this wall)")
    heading = next(row for row in values if row[1] == "Chamber")
    first = dict(zip(heading, values[values.index(heading) + 1], strict=True))
    assert first["Kg"] == sheet.chambers[0].kg
    assert first["Went in, kg"] is None and first["Went in, bags"] is None
    text = files["filling-sheet.csv"].decode("utf-8")
    assert text.count("Fire must not run") == 1  # the usual cautions, once
    assert "bottom up" in text and "Cables" in text
    assert text.index("Fire must not run") < text.index("F1-W1-S1-C1")  # before the first chamber


def test_a_bay_that_no_hose_reaches_into_is_packed_by_hand():
    """Common practice: a hose of about 50 mm must reach in; what is left at the end of a run may be narrower."""
    made = filling_sheet(single(), brief(RECTANGLE | {"length_m": 5.765}))
    narrow = [each for each in made.chambers if each.width_mm < 50]
    assert narrow, "no run of this house leaves such a bay"
    assert {each.broken for each in narrow} == {"too narrow for a hose: pack by hand"}
    assert not any("hand" in each.broken for each in made.chambers if each.width_mm >= 50)
