"""The upright section by hand, and the sheets that drawings are printed on."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET

import pytest
from drawn_walls import ALL, EVIL, hostile, serviced, single, twin, uneven
from house_walls import RECTANGLE, brief, parted

from materials.errors import InputError
from optimiser.handover.drawing.paper import PX_PER_MM
from optimiser.handover.drawing.plan import Plan
from optimiser.handover.drawing.section import section_svg
from optimiser.handover.drawing.sheet import drawing_svg
from optimiser.handover.drawing.title import CAUTION, Title, fitted, folded
from optimiser.handover.drawing.vertical import vertical
from optimiser.handover.pieces.counting import slotted
from optimiser.locales import writing

SVG = "{http://www.w3.org/2000/svg}"


def of_layer(drawn: Plan, number: int) -> list[tuple[float, float]]:
    """(from, to) of the members of a layer, measured up from the foot [mm], lowest first."""
    high = drawn.spans[-1].high
    return sorted((high - each.y1, high - each.y0) for each in drawn.members if each.layer == number)


def column(drawn: Plan, name: str) -> list[float]:
    """The distances of a column, lowest first."""
    return [each.high - each.low for each in sorted(drawn.spans, key=lambda e: -e.low) if each.column == name]


def words(text: str) -> list[str]:
    return [each.text for each in ET.fromstring(text).iter(f"{SVG}text")]


def framed(**more) -> object:
    return brief(framing={"height_mm": 2700.0, "plates": 3} | more)


def test_one_sole_plate_and_the_rest_on_top_each_as_thick_as_its_studs_are_wide():
    drawn = vertical(uneven(), framed())
    assert of_layer(drawn, 4) == [(0, 45), (2610, 2655), (2655, 2700)]
    assert of_layer(drawn, 6) == [(0, 38), (2624, 2662), (2662, 2700)]
    assert of_layer(drawn, 2) == []  # battens of the ventilated space run past the plates
    assert column(drawn, "4: ") == [45, 2565, 45, 45]
    assert column(drawn, "6: ") == [38, 2586, 38, 38]


@pytest.mark.parametrize(("plates", "found"), [(0, []), (1, [(0, 45)]), (2, [(0, 45), (2655, 2700)])])
def test_as_many_plates_as_the_brief_has(plates, found):
    assert of_layer(vertical(single(), framed(plates=plates)), 2) == found


def test_without_a_brief_common_practice_is_drawn_and_told():
    drawn = vertical(twin())
    assert len(of_layer(drawn, 4)) == 3
    assert "assumed, as no brief is given: storey 2700 mm, 1 sole plate and 2 top plates per frame" in drawn.notes
    assert not any("assumed" in each for each in vertical(twin(), framed()).notes)


def test_the_storey_is_the_house_s_lowest():
    house = {key: value for key, value in RECTANGLE.items() if key != "storey_height_m"}
    two = brief(house=house | {"storey_heights_m": [2.9, 2.5]})
    assert vertical(single(), two).windows == [(0.0, 2900.0)]


def test_ties_stand_at_their_spacing_from_the_sole_plate_and_the_last_under_the_top_plates():
    drawn = vertical(uneven(), framed())
    low = [(2700 - each.y1, 2700 - each.y0) for each in drawn.ties][::-1]
    assert low == [(45, 265), (1295, 1515), (2390, 2610)]
    assert column(drawn, "ties 5") == [1250, 1095]
    assert {(each.x0, each.x1) for each in drawn.ties} == {(131.0, 421.0)}  # 60 mm onto either frame
    assert not vertical(twin(offset_mm=300), framed()).ties  # no line has a stud on both sides


def test_battens_along_the_wall_are_cut_where_the_take_off_counts_them():
    drawn = vertical(serviced(), framed())
    feet = [low for low, _ in of_layer(drawn, 5)]
    assert feet == [0, 400, 800, 1200, 1600, 2000, 2400, 2655]
    assert column(drawn, "battens 5") == [400] * 6 + [255]


def test_noggings_part_the_studs_evenly_and_have_one_diagonal():
    drawn = vertical(single(), framed(nogging_rows=2))
    rows = [each for each in drawn.members if not each.continuous]
    assert [(2700 - each.y0 - each.y1 + 2700) / 2 for each in rows][::-1] == [45 + 855, 45 + 2 * 855]
    assert len(of_layer(drawn, 2)) == 5
    assert any(each.startswith("one diagonal") for each in drawn.notes)


def test_voids_are_broken_into_equal_chambers_no_higher_than_the_brief_allows():
    """2700 less 3 plates of 45 mm is 2565 mm: three chambers of 855 mm where 1000 mm are allowed."""
    drawn = vertical(
        twin(),
        framed().model_copy(update={"filling": framed().filling.model_copy(update={"chamber_height_mm": 1000.0})}),
    )
    assert [2700 - each.y for each in drawn.breaks][::-1] == pytest.approx([900, 1755])
    assert drawn.breaks[0].layers == (4, 5, 6)
    assert (drawn.breaks[0].x0, drawn.breaks[0].x1) == (82, 352)
    assert column(drawn, "chambers 4") == pytest.approx([855] * 3)
    assert not vertical(twin(), framed()).breaks
    assert column(vertical(twin(), framed()), "chambers 4") == [2565]


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("detail", [1, 2])
def test_a_shortened_height_cuts_no_member_in_two(name, detail):
    drawn = vertical(ALL[name], framed(nogging_rows=1), detail)
    assert drawn.windows[0][0] == 0
    assert drawn.windows[-1][1] == 2700
    assert all(a[1] < b[0] for a, b in itertools.pairwise(drawn.windows))
    for each in drawn.members:
        for low, high in drawn.windows:
            assert each.y1 <= low + 1e-9 or each.y0 >= high - 1e-9 or (low <= each.y0 and each.y1 <= high)


def test_a_storey_without_room_between_its_plates_is_refused():
    asked = framed()
    with pytest.raises(InputError, match="no room for studs"):
        vertical(single(), asked.model_copy(update={"framing": asked.framing.model_copy(update={"height_mm": 130.0})}))


@pytest.mark.parametrize("view", ["plan", "vertical"])
@pytest.mark.parametrize("name", ALL)
def test_every_wall_prints_to_scale_on_its_sheet(name, view):
    wall = ALL[name]
    text = drawing_svg(wall, framed(), view, title=Title("W-7", "a wall", 0.1234))
    root = ET.fromstring(text)
    assert (root.get("width"), root.get("height")) in (("210mm", "297mm"), ("297mm", "420mm"))
    _, _, width, height = (float(each) for each in root.get("viewBox").split())
    assert width / float(root.get("width")[:-2]) == pytest.approx(PX_PER_MM, rel=1e-4)
    asked = float(re.search(r"1:(\d+) on A[34]", text).group(1))
    assert float(root.get("data-scale")) == pytest.approx(PX_PER_MM / asked, rel=1e-5)
    layers = [each for each in root.iter(f"{SVG}g") if (each.get("class") or "").startswith("layer ")]
    assert [int(each.get("data-layer")) for each in layers] == list(range(1, len(wall.layers) + 1))
    for group, layer in zip(layers, wall.layers, strict=True):
        for face in (each for each in group if (each.get("class") or "").startswith("face")):
            printed = float(face.get("width")) / PX_PER_MM * asked
            assert printed == pytest.approx(layer.thickness_mm, abs=0.011 / PX_PER_MM * asked)
    for each in root.iter(f"{SVG}rect"):
        if "hatch" not in (each.get("class") or ""):
            assert 0 <= float(each.get("x")) <= width
            assert float(each.get("y")) + float(each.get("height")) <= height
    said = words(text)
    assert said.count(CAUTION) == 1
    assert {"outside", "inside", "W-7", "a wall", "0.123 W/m²K"} <= set(said)
    sized = [each.text for each in root.iter(f"{SVG}text") if each.get("class") == "mm"]
    assert sum(map(float, sized)) == pytest.approx(wall.thickness_mm)
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text.startswith(wall.name)
    assert root.find(f"{SVG}desc").text.startswith("From outside to inside")
    assert "var(" not in text
    assert text == drawing_svg(wall, framed(), view, title=Title("W-7", "a wall", 0.1234))


def test_figures_across_a_break_are_true():
    said = words(drawing_svg(uneven(), framed(), "vertical", scale=10, paper="A4"))
    assert {"5: ties 1250", "1095", "4: studs 2565", "4 to 6: chamber 2565", "storey 2700"} <= set(said)
    assert any("shortened" in each for each in said)
    whole = words(drawing_svg(uneven(), framed(), "vertical", scale=10, paper="A3"))
    assert not any("shortened" in each for each in whole)


@pytest.mark.parametrize("view", ["plan", "vertical"])
def test_slots_for_ties_in_a_board_at_the_gap_are_noted(view):
    """The ties of layer 3 pass through layer 2; where no board lies between, nothing is said."""
    told = " ".join(words(drawing_svg(parted(), framed(), view)))
    assert "layer 2: slots for the ties of layer 3 cut on site and closed airtight with tape again" in told
    assert "slots" not in " ".join(words(drawing_svg(uneven(), framed(), view)))
    assert slotted(parted()) == {2: (1,)} and slotted(uneven()) == {}


def test_layer_numbers_stand_apart():
    """At 1:10 the numbers of thin layers keep a digit's width between them."""
    root = ET.fromstring(drawing_svg(uneven(), framed(), "vertical", scale=10))
    tags = sorted((float(each.get("x")), each.text) for each in root.iter(f"{SVG}text") if each.get("class") == "tag")
    assert [said for _, said in tags] == [str(each) for each in range(1, len(uneven().layers) + 1)]
    for (x0, one), (x1, other) in itertools.pairwise(tags):
        assert x1 - x0 - (len(one) + len(other)) / 2 * 0.58 * 11 >= 7.9


@pytest.mark.parametrize("width", [160, 200, 480])
def test_layer_numbers_stay_on_a_narrow_drawing(width):
    """Closer together where there is little room, and never past the left edge."""
    for wall in (uneven(), twin()):
        root = ET.fromstring(section_svg(wall, width_px=width))
        places = [float(each.get("x")) for each in root.iter(f"{SVG}text") if each.get("class") == "tag"]
        assert places == sorted(places) and places[0] >= 3


def test_two_bays_on_plan_whole_where_they_fit_and_shortened_where_not():
    whole = drawing_svg(twin(), framed(), "plan", scale=10)
    short = drawing_svg(twin(), framed(), "plan", scale=5)
    for text in (whole, short):
        assert words(text).count("600") == 2
        assert text.count('class="f-tie tie"') == 3
    assert "f-break" not in re.sub(r"<style>.*?</style>", "", whole)
    assert re.sub(r"<style>.*?</style>", "", short).count('"f-break"') == 2


def test_the_date_is_printed_only_where_it_is_given():
    assert "date" not in words(drawing_svg(single()))
    assert {"date", "2 May"} <= set(words(drawing_svg(single(), title=Title(date="2 May"))))


def test_numbers_are_written_the_way_of_the_readers():
    with writing("de"):
        assert {"12,5", "346,5 mm", "0,105 W/m²K"} <= set(words(drawing_svg(single(), title=Title(u_value=0.105))))


@pytest.mark.parametrize("view", ["plan", "vertical"])
def test_hostile_names_stay_text_on_the_sheet(view):
    text = drawing_svg(hostile(), view=view, title=Title(EVIL, EVIL, None, EVIL))
    root = ET.fromstring(text)
    assert "<script" not in text
    assert not list(root.iter(f"{SVG}script"))
    assert not re.search(r"[\x00-\x08\x0b-\x1f]", text)


def test_what_cannot_be_drawn_is_refused_with_what_can():
    with pytest.raises(InputError, match=r'view "plane": expected plan or vertical \(nearest: "plan"\)'):
        drawing_svg(single(), view="plane")
    with pytest.raises(InputError, match="expected A4 or A3"):
        drawing_svg(single(), paper="A5")
    with pytest.raises(InputError, match="scale = 0"):
        drawing_svg(single(), scale=0)
    with pytest.raises(InputError, match="at 1:1 fits on no A4 or A3 sheet; 1:5 does"):
        drawing_svg(single(), scale=1)


def test_words_are_cut_and_folded_to_the_room_they_have():
    assert fitted("short", 100) == "short"
    assert fitted("x" * 400, 100).endswith("…")
    assert len(fitted("x" * 400, 100)) < 20
    assert " ".join(folded("one two three four", 60)) == "one two three four"
    assert len(folded("one two three four", 60)) > 1
    assert folded("", 60) == [""]
