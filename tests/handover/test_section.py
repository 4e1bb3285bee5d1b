"""The section is to scale, its labels stay apart, and no name can break out of it."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import pytest
from drawn_walls import MATERIALS, layer, single, stud, twin

from optimiser.handover.drawing.section import section_svg
from optimiser.handover.drawing.spread import spread
from optimiser.wall.buildup import BuildUp

SVG = "{http://www.w3.org/2000/svg}"


def drawing(wall: BuildUp, **how) -> ET.Element:
    return ET.fromstring(section_svg(wall, **how))


def scale(root: ET.Element) -> float:
    return float(root.get("data-scale"))


def classed(root: ET.Element, word: str) -> list[ET.Element]:
    return [each for each in root.iter() if word in (each.get("class") or "").split()]


def groups(root: ET.Element, class_: str) -> dict[int, ET.Element]:
    return {int(each.get("data-layer")): each for each in classed(root, class_) if each.get("data-layer")}


def box(element: ET.Element) -> tuple[float, float, float, float]:
    return tuple(float(element.get(key)) for key in ("x", "y", "width", "height"))


def words(root: ET.Element) -> list[str]:
    return [each.text for each in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("width_px", [320, 480, 700])
def test_layers_are_as_wide_as_they_are_thick(width_px):
    wall = twin()
    root = drawing(wall, width_px=width_px)
    for number, group in groups(root, "layer").items():
        thickness = wall.layers[number - 1].thickness_mm
        for face in classed(group, "face"):
            assert box(face)[2] == pytest.approx(thickness * scale(root), abs=0.011)


def test_studs_have_their_true_size_and_stand_on_their_lines():
    root = drawing(twin(), bays=1)
    by_layer = {number: classed(group, "stud") for number, group in groups(root, "layer").items()}
    assert {number for number, found in by_layer.items() if found} == {2, 4, 6}
    outer = [box(each) for each in by_layer[4]]
    assert len(outer) == 2
    assert outer[0][2] == pytest.approx(120 * scale(root), abs=0.011)
    assert outer[0][3] == pytest.approx(45 * scale(root), abs=0.011)
    assert outer[1][1] - outer[0][1] == pytest.approx(600 * scale(root), abs=0.02)
    assert [box(each)[1] for each in by_layer[6]] == pytest.approx([each[1] for each in outer])


def test_staggered_studs_are_drawn_apart():
    root = drawing(twin(offset_mm=300, tied=False), bays=1)
    layers = groups(root, "layer")
    outer, inner = (box(classed(layers[number], "stud")[0]) for number in (4, 6))
    assert inner[1] - outer[1] == pytest.approx(300 * scale(root), abs=0.02)
    assert "300" in words(root)


def test_a_shortened_wall_says_so_and_keeps_the_true_spacing_in_words():
    root = drawing(twin())
    assert len(classed(root, "break-line")) == 4
    assert "600" in words(root)
    assert any("shortened" in each for each in words(root))
    assert float(root.get("height")) < 420


def test_ties_cross_the_gap_and_lap_over_both_frames():
    root = drawing(twin())
    plates = [box(each) for each in classed(root, "tie")]
    assert len(plates) == 2
    assert plates[0][2] == pytest.approx((80 + 2 * 40) * scale(root), abs=0.011)
    assert plates[0][3] == pytest.approx(12 * scale(root), abs=0.011)
    stud_box = box(classed(groups(root, "layer")[4], "stud")[0])
    assert stud_box[1] <= plates[0][1]
    assert plates[0][1] + plates[0][3] <= stud_box[1] + stud_box[3] + 0.02
    assert not classed(drawing(twin(tied=False)), "tie")


def test_control_layers_are_lines_at_the_right_face():
    root = drawing(single())
    (air,), (wind,) = classed(root, "air-line"), classed(root, "wind-line")
    left = box(classed(groups(root, "layer")[1], "face")[0])[0]
    assert float(wind.get("x1")) == pytest.approx(left)
    assert float(air.get("x1")) - left == pytest.approx(334 * scale(root), abs=0.02)
    assert {each.get("data-layer") for each in classed(root, "control")} == {"1", "3"}


def test_horizontal_battens_are_dashed_and_explained():
    root = drawing(twin())
    assert classed(groups(root, "layer")[8], "hidden")
    assert not classed(groups(root, "layer")[8], "stud")
    assert any("layer 8: horizontal battens 45 wide every 600 mm" in each for each in words(root))


def test_a_frame_given_by_its_share_is_drawn_and_explained():
    root = drawing(single(material="stud", fraction=0.15))
    assert box(classed(groups(root, "layer")[2], "stud")[0])[3] == pytest.approx(90 * scale(root), abs=0.011)
    assert any("15.0%" in each or "15.0 %" in each for each in words(root))


def test_every_layer_is_dimensioned_and_the_total_is_bold():
    root = drawing(twin())
    shown = [each.text for each in classed(root, "mm")]
    assert sorted(shown) == sorted(["22", "38", "22", "120", "80", "70", "45", "12.5"])
    assert [each.text for each in classed(root, "total")] == ["409.5 mm"]
    assert {"outside", "inside"} <= set(words(root))


@pytest.mark.parametrize("wall", [twin(), single(), twin(offset_mm=300, tied=False)])
def test_numbers_and_dimensions_never_collide(wall):
    root = drawing(wall, width_px=360)
    for class_, least in (("tag", 6.0), ("mm", 6.0)):
        rows: dict[str, list[tuple[float, float]]] = {}
        for each in classed(root, class_):
            half = 0.5 * 6.0 * len(each.text)
            x = float(each.get("x"))
            rows.setdefault(each.get("y"), []).append((x - half, x + half))
        assert rows and least
        for row in rows.values():
            ordered = sorted(row)
            assert all(a[1] <= b[0] + 0.5 for a, b in itertools.pairwise(ordered))


def test_numbers_run_from_outside_to_inside():
    root = drawing(twin())
    places = [(float(each.get("x")), int(each.text)) for each in classed(root, "tag")]
    assert [number for _, number in sorted(places)] == list(range(1, 10))


def test_hostile_names_are_text_and_nothing_else():
    evil = '</title><script>alert(1)</script>"&\x00\x0b'
    bad = MATERIALS["plaster"].model_copy(update={"name": evil})
    wall = BuildUp(
        name=evil,
        outside="vented",
        layer=[layer(evil, "plaster", 20), layer("frame", "blown", 100, frame=stud())],
        materials=MATERIALS | {"plaster": bad},
    )
    text = section_svg(wall)
    root = ET.fromstring(text)
    assert "<script" not in text
    assert not list(root.iter(f"{SVG}script"))
    assert root.find(f"{SVG}title").text.startswith("</title><script>")


def test_the_same_wall_gives_the_same_bytes():
    assert section_svg(twin()) == section_svg(twin())


def test_the_drawing_is_read_aloud_from_outside_to_inside():
    said = drawing(twin()).find(f"{SVG}desc").text
    assert said.startswith("From outside to inside: 1 cladding, larch boards, 22 mm")
    assert said.endswith("In all 409.5 mm.")


def test_a_drawing_follows_the_page_or_stands_alone():
    assert "var(--ink,#1F2421)" in section_svg(twin())
    assert "var(--ink,#E9E7E0)" in section_svg(twin(), dark=True)
    assert "var(" not in section_svg(twin(), plain=True)


def test_one_board_alone_can_be_drawn():
    wall = BuildUp(name="board", outside="exposed", layer=[layer("any", "osb", 12)], materials=MATERIALS)
    assert [each.text for each in classed(drawing(wall), "total")] == ["12 mm"]


def test_spread_keeps_what_fits_and_parts_what_collides():
    assert spread([10, 50], [10, 10], 0, 100) == [10, 50]
    one, two, three = spread([48, 50, 52], [10, 10, 10], 0, 100, gap=2)
    assert (two - one, three - two) == (12, 12)
    assert two == pytest.approx(50)
    assert spread([1, 2], [10, 10], 0, 100, gap=0) == [5, 15]
    assert spread([98, 99], [10, 10], 0, 100, gap=0) == [85, 95]
