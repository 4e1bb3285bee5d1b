"""Walls side by side: figures against exact values, signs of differences, contents, addresses, drawings."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from fractions import Fraction

import pytest

from dashboard.choosing import columns, compare, compare_figures
from dashboard.choosing.columns import in_order, options
from dashboard.choosing.compare import MINUS, Figure
from dashboard.choosing.decisions import Board, ShortlistEntry
from dashboard.wall.steps import Names
from optimiser.handover.drawing.section import LEFT, RIGHT, Beside, section_svg


@pytest.fixture(scope="module")
def four(workspace) -> list[columns.WallColumn]:
    """Four walls of the front, the thinnest first."""
    rows = workspace.source(None).rows
    return beside(workspace, [rows[number]["id"] for number in (0, len(rows) // 3, 2 * len(rows) // 3, -1)])


def beside(workspace, walls: list[str], board: Board | None = None) -> list[columns.WallColumn]:
    return columns.columns(workspace, [f":{each}" for each in walls], board or Board(0))


def line(found: list[Figure], name: str, unit: str) -> Figure:
    return next(each for each in found if (each.name, each.unit) == (name, unit))


def number(text: str) -> float:
    return float(text.replace(MINUS, "-").replace(",", "").replace("same", "0"))


def written(folder, wall: str) -> dict[str, str]:
    """A line of front.csv as it stands in the file."""
    with (folder / "front.csv").open(encoding="utf-8", newline="") as file:
        return next(row for row in csv.DictReader(file) if row["id"] == wall)


# The plan of the brief: 11.4 m x 5.2 m less a corner of 2.4 m x 1.2 m, two storeys, the outside fixed, 3400 per m2.
# Perimeter 2 x (11.4 + 5.2) = 33.2 m; area 59.28 - 2.88 = 56.4 m2; the inner plan is A - P t + 4 t^2.
PERIMETER, AREA, STOREYS, PRICE = Fraction("33.2"), Fraction("56.4"), 2, 3400


def test_floor_area_is_exact_for_the_house_of_the_brief(four, study_folder):
    house = four[0].brief.house
    assert house.outline == ((0, 0), (11.4, 0), (11.4, 5.2), (2.4, 5.2), (2.4, 4), (0, 4))
    assert (house.storeys, house.fixed, house.floor_price_per_m2, house.reference_thickness_mm) == (
        2,
        "outside",
        3400,
        0,
    )
    found = compare.for_the_house(four, "EUR")
    lost = []
    for each in four:
        t = Fraction(written(study_folder, each.wall)["thickness_mm"]) / 1000
        lost.append(STOREYS * (PERIMETER * t - 4 * t * t))
    exact = [
        ("floor area lost", "m²", 2, lost),
        ("floor area lost", "%", 2, [100 * each / (STOREYS * AREA) for each in lost]),
        ("worth of that floor", "€", 0, [PRICE * each for each in lost]),
        ("floor area left", "m²", 2, [STOREYS * AREA - each for each in lost]),
    ]
    for name, unit, digits, values in exact:
        shown = line(found, name, unit)
        for text, value in zip(shown.values, values, strict=True):
            assert abs(number(text) - float(value)) <= 0.5 * 10**-digits + 1e-9
        rounded = [number(text) for text in shown.values]
        for text, value in zip(shown.differences[1:], rounded[1:], strict=True):
            assert number(text) == pytest.approx(value - rounded[0], abs=1e-9)


def test_signs_and_sizes_of_differences_are_those_of_the_front(four, study_folder):
    rows = [written(study_folder, each.wall) for each in four]
    keys = [
        ("thickness", "mm", "thickness_mm", 1),
        ("U", "W/m²K", "u_value", 4),
        ("cost", "€/m²", "cost_per_m2", 1),
        ("carbon", "kgCO₂e/m²", "carbon_kgco2e_m2", 1),
        ("weight", "kg/m²", "weight_kg_m2", 1),
    ]
    found = compare.per_m2(four, "EUR")
    for name, unit, key, digits in keys:
        shown, values = line(found, name, unit), [float(row[key]) for row in rows]
        assert shown.differences[0] == ""
        for text, value in zip(shown.differences[1:], values[1:], strict=True):
            assert number(text) == pytest.approx(value - values[0], abs=1.01 * 10**-digits)
            if abs(value - values[0]) > 10**-digits:
                assert text[0] == ("+" if value > values[0] else MINUS)
    stored = line(found, "carbon stored", "kgCO₂/m²")
    assert [number(each) for each in stored.values] == [
        pytest.approx(-float(row["biogenic_kgco2e_m2"]), abs=0.051) for row in rows
    ]


def test_totals_of_the_house_are_the_walls_times_their_area(four):
    area = 33.2 * 2 * 2.75 - 31.0  # perimeter by height less the openings of the brief
    found = compare.for_the_house(four, "EUR")
    for name, unit, key, digits in (
        ("cost of the walls", "€", "cost_per_m2", 0),
        ("carbon of the walls", "kgCO₂e", "carbon_kgco2e_m2", 0),
        ("heat loss of the walls", "W/K", "u_value", 2),
    ):
        shown = line(found, name, unit).values
        for text, each in zip(shown, four, strict=True):
            assert number(text) == pytest.approx(each.row[key] * area, abs=0.51 * 10**-digits)


@pytest.mark.parametrize(
    ("value", "first", "digits", "said"),
    [
        (404.5, 389.0, 1, "+15.5"),
        (389.0, 404.5, 1, "−15.5"),
        (1234.4, 0.2, 0, "+1,234"),
        (0.1301, 0.13012, 4, "same"),
        (0.14, 0.06, 1, "same"),
        (0.15000001, 0.149, 1, "+0.1"),  # as the two figures are shown: 0.2 and 0.1
        (None, 1.0, 1, "–"),
        (1.0, None, 1, "–"),
        (float("nan"), 1.0, 1, "–"),
    ],
)
def test_differences_are_signed_and_agree_with_what_is_shown(value, first, digits, said):
    assert compare.difference(value, first, digits) == said


def test_no_line_shows_a_minus_before_a_nought():
    assert compare.shown(-0.001, 1) == "0.0"


def test_a_brief_without_a_house_says_what_is_missing(four):
    bare = [replace(each, totals=None, brief=four[0].brief.model_copy(update={"house": None})) for each in four]
    assert compare.for_the_house(bare, "EUR") == []
    assert "[house]" in compare.house_words(bare[0].brief)
    assert "floor" not in compare.at_a_glance(bare[1], bare[0], "EUR")


def test_the_sentence_of_a_wall_names_what_it_costs(four):
    said = compare.at_a_glance(four[-1], four[0], "EUR")
    thicker = four[-1].row["thickness_mm"] - four[0].row["thickness_mm"]
    assert thicker > 0
    assert said.startswith(f"{thicker:g} mm thicker, ")
    assert "less floor" in said
    assert compare.at_a_glance(four[0], four[0], "EUR").startswith("the same")


def test_contents_say_where_walls_differ_and_in_what(four):
    found = {each.name: each.cells for each in compare.contents(four)}
    assert {"cladding", "sheathing", "outer frame", "gap", "lining"} <= set(found)
    slots = list(found)
    assert slots.index("cladding") < slots.index("outer frame") < slots.index("gap") < slots.index("lining")
    for name, cells in found.items():
        assert cells[0].state == "first"
        if name in four[0].row:
            for cell, wall in zip(cells[1:], four[1:], strict=True):
                alike = wall.row[name] == four[0].row[name]
                assert cell.state == ("same" if alike else "differs")
                assert bool(cell.said) is not alike


def test_the_way_in_which_contents_differ_is_named():
    names = Names({}, {})
    assert compare.differs_words("none", "170", names, names) == "added"
    assert compare.differs_words("170", "none", names, names) == "left out"
    assert compare.differs_words("170", "190", names, names) == "+20 mm"
    assert compare.differs_words("190", "170", names, names) == "−20 mm"
    assert compare.differs_words("board 12", "board 22", names, names) == "other size"
    assert compare.differs_words("board 12", "panel 22", names, names) == "other product"


def test_every_group_of_judgements_has_its_verdict_in_words(four):
    found = {each.name: each.cells for each in compare.judgement_rows(four)}
    assert set(found) == {"heat", "moisture", "strength", "fill", "rules"}
    for cells in found.values():
        for cell in cells:
            assert cell.words.startswith(("passes", "fails", "not checked", "shown"))
            assert (cell.state == "differs") == (cell.words != cells[0].words)


# Addresses, and which walls


@pytest.mark.parametrize(
    ("search", "keys"),
    [
        (None, None),
        ("?view=compare", None),
        ("?walls=", None),
        ("?walls=W-012,W-031", [":W-012", ":W-031"]),
        ("?run=0003&walls=W-012,:W-031,0001:W-2", ["0003:W-012", ":W-031", "0001:W-2"]),
        ("?walls=W-1,W-1,W-2,W-3,W-4,W-5", [":W-1", ":W-2", ":W-3", ":W-4"]),
        ("?walls=../x,%3Cb%3E,W-1", [":W-1"]),
        ("?walls=" + "W-1," * 5000, [":W-1"]),
    ],
)
def test_the_address_names_walls(search, keys):
    assert columns.read_walls(search) == keys


def test_without_an_address_the_first_four_of_the_shortlist_stand_side_by_side():
    board = Board(1, tuple(ShortlistEntry(run=None, wall=f"W-{each}") for each in range(6)))
    assert columns.chosen_keys(board, None) == [":W-0", ":W-1", ":W-2", ":W-3"]
    assert columns.chosen_keys(board, [":W-5", ":W-9"]) == [":W-5", ":W-9"]
    found = options(board, [":W-0", ":W-1", ":W-2", ":W-9"])
    assert [each["value"] for each in found] == [f":W-{each}" for each in (0, 1, 2, 3, 4, 5, 9)]
    assert [each["disabled"] for each in found] == [False, False, False, True, True, True, False]
    assert in_order(board, [":W-9", ":W-4", ":W-2"], [":W-9", ":W-2"]) == [":W-2", ":W-4", ":W-9"]


def test_walls_that_are_gone_are_left_out(workspace):
    wall = workspace.source(None).rows[0]["id"]
    assert [each.wall for each in columns.columns(workspace, [":W-9999", f":{wall}", "0042:W-1"], Board(0))] == [wall]


def test_a_run_is_named_with_its_wall():
    assert columns.wall_name("0003", "W-7") == "W-7 of search 3"
    assert columns.wall_name(None, "W-7") == "W-7"


# Drawings


def scale_of(svg: str) -> float:
    return float(re.search(r'data-scale="([\d.]+)"', svg).group(1))


def total_line(svg: str) -> tuple[float, float]:
    """Where the outermost faces lie on the sheet [px]: the ends of the dimension lines."""
    ends = re.findall(r'<line x1="([\d.]+)" y1="[\d.]+" x2="([\d.]+)" y2="[\d.]+" class="dim"', svg)
    return min(float(a) for a, _ in ends), max(float(b) for _, b in ends)


def test_drawings_share_one_scale_and_the_line_of_the_fixed_faces(four):
    found = compare_figures.drawings(four)
    assert len({scale_of(each) for each in found}) == 1
    scale, span = scale_of(found[0]), max(each.judged.thickness_mm for each in four)
    assert scale == pytest.approx((compare_figures.SHEET - LEFT - RIGHT) / span, abs=1e-5)
    for svg, wall in zip(found, four, strict=True):
        left, right = total_line(svg)
        assert left == pytest.approx(LEFT, abs=0.01)
        assert right - left == pytest.approx(wall.judged.thickness_mm * scale, abs=0.02)
    assert len({re.search(r'viewBox="0 0 (\S+)', each).group(1) for each in found}) == 1
    lines = [re.findall(r'<line x1="([\d.]+)" y1="0"[^>]*class="hidden"', each) for each in found]
    assert lines[0] == []  # the first wall ends at its own face: a mark would run through its tags
    marks = {each[0] for each in lines[1:]}
    assert len(marks) == 1  # the first wall's inside face, in one line through all others
    assert float(marks.pop()) == pytest.approx(LEFT + four[0].judged.thickness_mm * scale, abs=0.02)


def test_drawings_are_aligned_inside_where_the_rooms_are_fixed(four):
    house = four[0].brief.house.model_copy(update={"fixed": "inside"})
    brief = four[0].brief.model_copy(update={"house": house})
    grown = [replace(each, brief=brief) for each in four]
    ends = [total_line(each)[1] for each in compare_figures.drawings(grown)]
    assert max(ends) - min(ends) < 0.02
    assert "Inside faces in one line" in compare_figures.line_words(grown)


def test_a_drawing_beside_others_shows_every_frame_and_no_notes(four):
    for wall in four:
        svg = section_svg(wall.judged.wall, width_px=560, beside=Beside(span_mm=700))
        framed = [each for each in wall.judged.wall.layers if each.frame and each.frame.axis == "vertical"]
        assert svg.count('class="f-timber stud"') >= len(framed)
        assert "solid heavy line" not in svg
    assert "solid heavy line" in section_svg(four[0].judged.wall)
