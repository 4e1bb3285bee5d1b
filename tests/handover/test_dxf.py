"""The CAD file read back: clean, in millimetres, with hatches and dimensions that measure the build-up."""

from __future__ import annotations

import builtins
import io
import re
import time

import pytest
from drawn_walls import ALL, EVIL, hostile, serviced, single, twin, uneven
from house_walls import brief

from materials.errors import InputError
from optimiser.handover.drawing.dxf import LAYERS, drawing_dxf, open_parts, plain
from optimiser.handover.drawing.title import CAUTION, Title
from optimiser.locales import writing
from optimiser.wall.buildup import BuildUp

FRAMED = brief(framing={"height_mm": 2700.0, "plates": 3})


def read(content: bytes):
    import ezdxf

    return ezdxf.read(io.StringIO(content.decode("utf-8")))


def measured(document) -> list[float]:
    return sorted(round(each.get_measurement(), 6) for each in document.modelspace().query("DIMENSION"))


def along(wall: BuildUp, axis: str) -> list:
    return [each for each in read(drawing_dxf(wall, FRAMED)).modelspace().query("DIMENSION") if each.dxf.angle == axis]


@pytest.mark.parametrize("name", ALL)
def test_the_file_is_clean_and_in_millimetres(name):
    content = drawing_dxf(ALL[name], FRAMED, title=Title("W-7", u_value=0.1))
    document = read(content)
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.dxfversion >= "AC1024"  # R2010
    assert document.header["$INSUNITS"] == 4
    used = {each.dxf.layer for each in document.modelspace()}
    assert used <= set(LAYERS)
    assert {"dimension", "tag", "text", "title block"} <= used


@pytest.mark.parametrize("name", ALL)
def test_dimensions_measure_the_build_up(name):
    """In each of the two views every layer across, and the total."""
    wall = ALL[name]
    across = sorted(round(each.get_measurement(), 6) for each in along(wall, 0))
    sized = [each.thickness_mm for each in wall.layers if each.thickness_mm]
    assert across == sorted([*sized, wall.thickness_mm] * 2)


def test_dimensions_along_the_wall_are_true():
    found = [round(each.get_measurement(), 6) for each in along(uneven(), 90)]
    assert sorted(found) == sorted([600, 600, 1250, 1095, 45, 45, 45, 2565, 38, 38, 38, 2586, 2565, 2700])
    staggered = [round(each.get_measurement(), 6) for each in along(twin(offset_mm=300, tied=False), 90)]
    assert staggered.count(300) == 4


def test_dimensions_are_drawn_and_show_what_they_measure():
    document = read(drawing_dxf(serviced(), FRAMED))
    for each in document.modelspace().query("DIMENSION"):
        shown = [part.text for part in each.virtual_entities() if part.dxftype() == "MTEXT"]
        assert len(shown) == 1
        figure = f"{each.get_measurement():.1f}".removesuffix(".0")
        assert figure in shown[0]
    with writing("de"):
        comma = read(drawing_dxf(serviced(), FRAMED))
    shown = [
        part.text
        for each in comma.modelspace().query("DIMENSION")
        for part in each.virtual_entities()
        if part.dxftype() == "MTEXT"
    ]
    assert "12,5" in shown
    assert "12.5" not in shown


@pytest.mark.parametrize(("name", "count"), [("single", 2), ("serviced", 3), ("board", 0)])
def test_hatched_layers_have_patterns_in_both_views(name, count):
    """Fill, rigid board and cladding are hatched, once each in each view; plain boards are not."""
    hatches = read(drawing_dxf(ALL[name], FRAMED)).modelspace().query("HATCH")
    assert len(hatches) == 2 * count
    assert all(each.pattern.lines for each in hatches)
    assert {each.dxf.layer for each in hatches} <= {"fill hatch", "board hatch"}


def test_ties_on_plan_are_solid_and_true():
    ties = [each for each in read(drawing_dxf(twin(), FRAMED)).modelspace().query("HATCH") if each.dxf.layer == "tie"]
    assert len(ties) == 3
    points = ties[0].paths[0].vertices
    assert max(p[0] for p in points) - min(p[0] for p in points) == pytest.approx(160)
    assert max(p[1] for p in points) - min(p[1] for p in points) == pytest.approx(12)


def test_no_hatch_lies_over_timber():
    """The area hatched on plan: two bays of 600 mm and what is shown beside, less the studs."""
    hatches = read(drawing_dxf(single(), FRAMED)).modelspace().query("HATCH")
    (fill,) = [each for each in hatches if each.dxf.layer == "fill hatch" and each.paths[0].vertices[0][0] < 500]
    area = 0.0
    for path in fill.paths:
        xs, ys = [p[0] for p in path.vertices], [p[1] for p in path.vertices]
        area += (max(xs) - min(xs)) * (max(ys) - min(ys))
    assert area == pytest.approx(300 * (1200 - 2 * 45 + 2 * 60))


def test_parts_of_a_face_behind_others():
    face = (0.0, 0.0, 10.0, 10.0)
    assert open_parts(face, ()) == [face]
    assert open_parts(face, [(-1, 4, 11, 6)]) == [(0, 0, 10, 4), (0, 6, 10, 10)]
    assert open_parts(face, [(2, 4, 5, 6)]) == [(0, 0, 10, 4), (0, 4, 2, 6), (5, 4, 10, 6), (0, 6, 10, 10)]
    assert open_parts(face, [(-5, -5, 15, 15)]) == []
    assert open_parts(face, [(20, 20, 30, 30)]) == [face]


def test_views_stand_side_by_side():
    document = read(drawing_dxf(twin(), FRAMED))
    named = {
        each.dxf.text: each.dxf.insert for each in document.modelspace().query("TEXT") if "section" in each.dxf.text
    }
    plan_at, vertical_at = (named[f"{view} section 1:10"] for view in ("Plan", "Vertical"))
    assert vertical_at.x > plan_at.x + twin().thickness_mm
    assert vertical_at.y == pytest.approx(plan_at.y)


@pytest.mark.parametrize("scale", [5, 10, 20])
def test_text_is_sized_for_the_print(scale):
    document = read(drawing_dxf(twin(), FRAMED, scale))
    sizes = {round(each.dxf.height / scale, 2) for each in document.modelspace().query("TEXT")}
    assert min(sizes) >= 1.8  # mm of paper, height of capitals
    assert max(sizes) < 4


def test_the_same_wall_gives_the_same_bytes_at_another_moment():
    first = drawing_dxf(twin(), FRAMED)
    time.sleep(1.1)
    assert drawing_dxf(twin(), FRAMED) == first
    assert drawing_dxf(uneven(), FRAMED) != first


def test_hostile_names_are_harmless():
    document = read(drawing_dxf(hostile(), FRAMED, title=Title(EVIL, EVIL, None, EVIL)))
    assert not document.audit().errors
    said = [each.dxf.text for each in document.modelspace().query("TEXT")]
    assert CAUTION in said  # what comes last is still there
    assert not any(re.search(r"[\x00-\x1f\u2028]|%%", each) for each in said)
    assert any("<script>" in each for each in said)


def test_words_keep_their_letters_and_lose_their_codes():
    assert plain("Bäume, 12 µm") == "Bäume, 12 µm"
    assert plain("a\nb%%c^J\\U+0041") == "a b% %c^ J\\ U+0041"


def test_a_missing_package_is_named(monkeypatch):
    true = builtins.__import__

    def without(name, *rest):
        if name.split(".")[0] == "ezdxf":
            raise ImportError(name)
        return true(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match=r"pip install 'wallfront\[cad\]'"):
        drawing_dxf(twin())


def test_a_scale_must_make_sense():
    with pytest.raises(InputError, match="scale = 0"):
        drawing_dxf(twin(), scale=0)


@pytest.mark.parametrize("name", ["twin", "serviced", "staggered"])
def test_the_rendered_file_shows_hatches_lines_and_text(name):
    """Drawn by the library's own renderer: every layer that has entities leaves a mark of its colour."""
    from ezdxf.addons.drawing import Frontend, RenderContext, layout
    from ezdxf.addons.drawing.svg import SVGBackend

    document = read(drawing_dxf(ALL[name], FRAMED))
    backend = SVGBackend()
    Frontend(RenderContext(document), backend).draw_layout(document.modelspace())
    drawn = backend.get_string(layout.Page(0, 0, layout.Units.mm), settings=layout.Settings(scale=0.1))
    high = float(re.search(r'height="([\d.]+)mm"', drawn).group(1))
    assert 300 < high < 450  # 2700 mm of storey, words and title block at 1:10
    assert drawn.count("<path") > 150
