"""The wall as taken off: shares and ties against counts by hand, its U against that of a build-up that holds them."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import openpyxl
import pypdfium2
import pytest
from house_walls import LIBRARY, RECTANGLE, brief, pricing, single, twin
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from materials.catalogue import load_catalogue
from materials.models import Material
from optimiser.brief.brief import Brief
from optimiser.checks.judge import judge
from optimiser.document import SumStep, Text
from optimiser.handover.calculation.page import calculation_html
from optimiser.handover.calculation.print import calculation_pdf
from optimiser.handover.calculation.sheet import calculation
from optimiser.handover.documents import documents
from optimiser.handover.ordering.as_taken_off import FURTHER, TARGET, TIE_SPACING, AsTakenOff, as_taken_off
from optimiser.handover.ordering.order import order_of
from optimiser.handover.ordering.order_files import order_files
from optimiser.handover.ordering.take_off import take_off
from optimiser.handover.ordering.taken_off_report import missed_line, taken_off_section, taken_off_table
from optimiser.wall.buildup import BuildUp, parse_buildup, to_toml


def fed_back(wall: BuildUp, given: Brief, target: float | None = None) -> AsTakenOff:
    return as_taken_off(wall, given, take_off(wall, given, pricing(), wall_id="W-007"), target)


def missing(wall: BuildUp, given: Brief) -> AsTakenOff:
    """The wall against a target that it meets as declared by a hair."""
    return fed_back(wall, given, judge(wall).u_value + 1e-6)


# Counts by hand


def test_the_share_of_timber_by_hand():
    """Runs of 5.8, 4.0, 5.8 and 4.0 m, 2.7 m high: 52.92 m2 of face. In it, 45 mm wide: 38 studs and 4 at corners of
    2.61 m, two plates of 19.6 m. (99.18 + 10.44 + 39.20) m x 0.045 m = 6.6969 m2: 12.655 % of the face.
    """
    (frame,) = fed_back(single(), brief(RECTANGLE)).members
    assert frame.face_m2 == pytest.approx(19.6 * 2.7)
    parts = {"studs": 99.18 * 0.045, "corner studs": 10.44 * 0.045, "plates": 39.20 * 0.045}
    assert dict(frame.counted) == pytest.approx(parts)
    assert frame.taken == pytest.approx(6.6969 / 52.92)
    assert frame.declared == pytest.approx(45 / 600 + 2 * 45 / 2700)
    key, declared, taken = frame.key
    assert (key, declared) == ("extra_fraction", pytest.approx(2 * 45 / 2700))
    assert taken == pytest.approx(6.6969 / 52.92 - 45 / 600)


def test_openings_and_members_round_them_by_hand():
    """5 m2 of openings leave 47.92 m2 of face. The studs stand in the whole face; corner studs, plates and 2 % round
    the openings in what is left of it.
    """
    framing = {"height_mm": 2700.0, "plates": 2, "openings_fraction": 0.02}
    wall = single(extra_fraction=2 * 45 / 2700 + 0.02)
    (frame,) = fed_back(wall, brief(RECTANGLE | {"openings_m2": 5.0}, framing=framing)).members
    assert frame.taken == pytest.approx(99.18 * 0.045 / 52.92 + (10.44 + 39.20) * 0.045 / 47.92 + 0.02)


def test_ties_per_m2_by_count():
    """102 ties. Their layer lies 272 mm inside and is 90 mm deep: 20.4 - 8 x 0.272 - 4 x 0.09 = 17.864 m round."""
    ties = fed_back(twin(), brief(RECTANGLE)).members[1]
    assert ties.ties and ties.counted == (("ties", 102.0),)
    assert ties.taken == pytest.approx(102 / (17.864 * 2.7))
    assert ties.declared == pytest.approx(1 / (0.6 * 1.2))
    assert 1e6 / (ties.key[2] * 600) == pytest.approx(ties.taken)


def test_every_frame_within_the_ventilated_space_is_counted():
    found = fed_back(twin(), brief(RECTANGLE)).members
    assert [(each.layer, each.role) for each in found] == [
        (4, "outer frame"),
        (5, "gap"),
        (6, "inner frame"),
        (8, "service zone"),
    ]
    battens = found[-1]  # 6 rows on 2 x (5.036 + 3.236) m, 50 mm wide
    assert battens.taken == pytest.approx(6 * 0.05 / 2.7)


# U


@pytest.mark.parametrize("wall", [single(), twin()], ids=["single", "twin"])
def test_u_is_that_of_the_build_up_with_those_figures(wall):
    """Written into the build-up's file, read again and judged as `check` does."""
    found = fed_back(wall, brief(RECTANGLE))
    layers = list(wall.layers)
    for each in found.members:
        at, part, (key, _, value) = each.layer - 1, "tie" if each.ties else "frame", each.key
        layers[at] = layers[at].model_copy(update={part: getattr(layers[at], part).model_copy(update={key: value})})
    catalogue = load_catalogue()
    text = to_toml(wall.model_copy(update={"layers": tuple(layers)}), catalogue)
    again = parse_buildup(text, catalogue, "as taken off")
    assert found.u_taken == pytest.approx(judge(again).u_value, rel=1e-8)
    assert found.u_declared == judge(wall).u_value
    shares = {row[0]: row[2] for row in judge(again).heat.lower}
    for each in found.members:
        share = each.taken * 0.012 * 0.2 if each.ties else each.taken  # plates of 12 x 200 mm
        assert shares[each.layer] == pytest.approx(share, rel=1e-8)


HOUSES = st.fixed_dictionaries(
    {
        "length_m": st.floats(3.0, 20.0),
        "width_m": st.floats(3.0, 20.0),
        "storeys": st.integers(1, 3),
        "storey_height_m": st.floats(2.2, 3.4),
        "openings_m2": st.floats(0.0, 6.0),
    }
)


def test_less_timber_lowers_u():
    """Storeys of 3.4 m hold fewer plates to the m2 than 2.7 m, that the wall was sought with: less on 16 m runs."""
    wide = {"length_m": 16.0, "width_m": 16.0, "storey_height_m": 3.4}
    found = fed_back(single(), brief(wide))
    assert found.members[0].taken < found.members[0].declared
    assert found.u_taken < found.u_declared


@settings(max_examples=40, deadline=None)
@given(HOUSES, st.sampled_from(["single", "twin"]))
def test_more_timber_and_ties_never_lower_u(house, kind):
    """Both conduct better than the fill: where each is counted more often than declared, U is no lower."""
    found = fed_back({"single": single, "twin": twin}[kind](), brief(house))
    assert found.reason is None
    assume(all(each.taken >= each.declared for each in found.members))
    assert found.u_taken >= found.u_declared


def test_a_frame_by_its_share_counts_as_it_is_given():
    found = fed_back(single(extra_fraction=0.0, fraction=0.15), brief(RECTANGLE))
    (frame,) = found.members
    assert frame.key is None
    assert frame.taken == pytest.approx(frame.declared)
    assert found.u_taken == found.u_declared


def test_why_there_is_no_u_is_told():
    steel = Material(key="stud", name="steel", kind="timber", conductivity_w_mk=50.0, origin="metal")
    metal = single().model_copy(update={"materials": LIBRARY | {"stud": steel}})
    found = fed_back(metal, brief(RECTANGLE), 0.2)
    assert (found.u_declared, found.u_taken, found.missed, found.changes) == (None, None, False, ())
    assert "metal" in found.reason
    assert any("U as taken off is not given" in each for each in said(found))


def numbers(found: AsTakenOff) -> list[list[float | None]]:
    """The cells of the workbook's rows that are numbers or empty."""
    return [[cell for cell in row if not isinstance(cell, str)] for row in taken_off_table(found).rows]


def test_faces_that_openings_take_are_told():
    """2 x 2 m round, 2.7 m high: 21.6 m2 on the outer face, and less within than the openings take."""
    full = fed_back(twin(), brief({"length_m": 2.0, "width_m": 2.0, "openings_m2": 21.0}), 0.2)
    assert full.u_taken is None and full.u_declared is not None
    assert full.reason == "layer 4 (outer frame): the openings are as large as its own face"
    assert all(cell is None or math.isfinite(cell) for row in numbers(full) for cell in row)


def high_ties() -> BuildUp:
    """Ties 600 mm high every 620 mm: 5 rows in a storey of 2.7 m stand every 540 mm."""
    wall = twin()
    tied = wall.layers[4].tie.model_copy(update={"height_mm": 600.0, "vertical_spacing_mm": 620.0})
    layers = (*wall.layers[:4], wall.layers[4].model_copy(update={"tie": tied}), *wall.layers[5:])
    return wall.model_copy(update={"layers": layers})


@pytest.mark.parametrize(
    ("wall", "openings", "words"),
    [
        (single(), 18.4, "layer 1 (outer frame): the timber that is counted leaves no room between openings"),
        (high_ties(), 0.0, "layer 5 (gap): the ties that are counted stand closer than they are high"),
        (twin(), 5.0, None),
    ],
)
def test_little_room_is_told(wall, openings, words):
    found = fed_back(wall, brief({"length_m": 2.0, "width_m": 2.0, "openings_m2": openings}), 0.2)
    assert found.reason == words
    assert (found.u_taken is None) == (words is not None)


# The target, and what to change


def changed(wall: BuildUp, given: Brief, found: AsTakenOff) -> tuple[BuildUp, Brief]:
    """Brief and wall as a search makes them after the change."""
    then = {each.key: each.then for each in found.changes}
    framing = given.framing.model_copy(update={"further_fraction": then.get(FURTHER, given.framing.further_fraction)})
    layers = []
    for layer in wall.layers:
        if layer.tie is not None and TIE_SPACING in then:
            update = {"tie": layer.tie.model_copy(update={"vertical_spacing_mm": then[TIE_SPACING]})}
            layer = layer.model_copy(update=update)
        if layer.frame is not None and layer.role in ("outer frame", "inner frame"):
            extra = framing.extra_fraction(layer.frame.width_mm, layer.frame.spacing_mm)
            update = {"frame": layer.frame.model_copy(update={"extra_fraction": extra})}
            layer = layer.model_copy(update=update)
        layers.append(layer)
    return wall.model_copy(update={"layers": tuple(layers)}), given.model_copy(update={"framing": framing})


@pytest.mark.parametrize("wall", [single(), twin()], ids=["single", "twin"])
@pytest.mark.parametrize("house", [RECTANGLE, RECTANGLE | {"storeys": 2, "openings_m2": 9.0}], ids=["closed", "opened"])
def test_after_the_change_the_search_counts_what_is_ordered_and_no_more_is(wall, house):
    given = brief(house)
    found = missing(wall, given)
    assert found.missed and {each.key for each in found.changes} <= {FURTHER, TIE_SPACING}
    again = fed_back(*changed(wall, given, found))
    assert [each.counted for each in again.members] == [each.counted for each in found.members]
    assert again.u_taken == pytest.approx(found.u_taken, rel=1e-12)
    assert again.u_declared >= again.u_taken - 1e-9
    assert again.u_declared == pytest.approx(again.u_taken, rel=2e-3)  # and not much more


def test_ties_come_closer_without_another_row():
    """Studs of 2610 mm, 3 rows at 1200 mm: 870 mm would be a fourth, 875 mm is not."""
    (spacing,) = [each for each in missing(twin(), brief(RECTANGLE)).changes if each.key == TIE_SPACING]
    assert (spacing.now, spacing.then) == (1200, 875)


def test_where_no_further_share_can_be_given_the_target_leaves_room():
    """A frame given by its share counts as it is given; what more the ties take no key of the framing holds."""
    given = brief(RECTANGLE, framing={"fraction": 0.14})
    wall = single(extra_fraction=0.0)
    found = missing(wall, given)
    (change,) = found.changes
    assert change.key == TARGET
    assert change.then * found.u_taken / found.u_declared <= found.target
    assert change.then > found.target * found.u_declared / found.u_taken - 6e-4


def test_a_target_that_is_met_is_not_told_as_missed():
    found = fed_back(twin(), brief(RECTANGLE), 0.2)
    assert not found.missed and not found.changes and missed_line(found) == ""
    assert not any("misses" in each for each in said(found))


# What is said


def said(found: AsTakenOff | str) -> list[str]:
    return [each.words for each in taken_off_section(found).parts if isinstance(each, Text)]


def sheet(found: AsTakenOff | str, wall: BuildUp | None = None):
    target = None if isinstance(found, str) else found.target
    return calculation(judge(wall or twin()), brief(RECTANGLE), wall_id="W-007", target=target, taken=found)


def test_the_pdf_says_both_values_and_what_to_change():
    found = missing(twin(), brief(RECTANGLE))
    document = pypdfium2.PdfDocument(calculation_pdf(sheet(found)))
    text = re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_range() for page in document))
    assert f"U, W/m²K {found.u_declared:.4f} {found.u_taken:.4f}" in text
    assert f"U-value as taken off {found.u_taken:.4f} W/m²K" in text
    assert "met as declared, missed as taken off" in text
    assert text.count("As taken off the wall misses its target") == 1  # where it is worked out
    for each in found.changes:
        assert f"{each.key} = {each.then:g} (now {each.now:g}" in text
    for each in found.members:
        shown = f"{each.declared:.3f} {each.taken:.3f}" if each.ties else f"{100 * each.declared:.2f} %"
        assert shown in text.replace("\u00a0", " ")


def test_the_sums_come_out_as_typed():
    for step in taken_off_section(missing(twin(), brief(RECTANGLE))).parts:
        if isinstance(step, SumStep):
            value = eval(re.sub(r" \([a-z][^()]*\)", "", step.sum), {"__builtins__": {}})
            shown = step.result.replace("\u00a0", " ")
            assert shown in (f"{value:.3f}", f"{100 * value:.2f} %")


def test_why_nothing_was_counted_is_told():
    found = sheet("the brief has no [house]")
    assert any(
        "They could not be counted: the brief has no [house]." in each for each in said("the brief has no [house]")
    )
    assert "as taken off" not in dict(found.sections[0].parts[1].pairs)["target"]


def test_the_workbook_has_a_sheet_of_its_own():
    given = brief(RECTANGLE)
    found = missing(twin(), given)
    order = order_of(take_off(twin(), given, pricing(), wall_id="W-007"), given.transport)
    files = order_files(order, found)
    assert files == order_files(order, missing(twin(), given))
    assert set(files) - set(order_files(order)) == {"order-u-as-taken-off.csv"}
    rows = list(openpyxl.load_workbook(io.BytesIO(files["order.xlsx"]))["U as taken off"].iter_rows(values_only=True))
    at = next(number for number, row in enumerate(rows) if row[0] == "Layer")
    told = [dict(zip(rows[at], row, strict=True)) for row in rows[at + 1 : at + 2 + len(found.members)]]
    assert [row["As taken off"] for row in told] == pytest.approx(
        [*(each.taken for each in found.members), found.u_taken]
    )
    assert [row["Key as taken off"] for row in told[:-1]] == pytest.approx([each.key[2] for each in found.members])


def test_sheets_are_equal_for_equal_input():
    one, other = (sheet(missing(twin(), brief(RECTANGLE))) for _ in range(2))
    assert calculation_html(one) == calculation_html(other)
    assert calculation_pdf(one) == calculation_pdf(other)


def test_numbers_are_in_the_locale_on_the_sheet_and_with_points_in_the_line():
    given = brief(RECTANGLE, locale="de")
    target = judge(twin()).u_value + 1e-6
    study = SimpleNamespace(
        brief=given,
        pricing=pricing(),
        row=lambda _: {"id": "W-007", "target": target},
        buildup=lambda _: twin(),
        summary={},
    )
    order, page = sorted(documents(study, "W-007", ("calculation", "order")), key=lambda each: each.document)[::-1]
    assert order.note == page.note
    u_taken = missing(twin(), given).u_taken
    assert order.note.startswith("W-007: as taken off the wall misses its target: ") and "\n" not in order.note
    assert f"U is {u_taken:.4f} W/m2K" in order.note and "[tie] vertical_spacing_mm = 875" in order.note
    assert f"{u_taken:.4f}".replace(".", ",") in page.files["calculation.html"].decode()
    study.row = lambda _: {"id": "W-007", "target": 1.0}
    assert [each.note for each in documents(study, "W-007", ("order",))] == [""]


def test_a_wall_that_cannot_be_counted_has_its_sheet_all_the_same():
    study = SimpleNamespace(
        brief=brief(),
        pricing=pricing(),
        row=lambda _: {"id": "W-007", "target": 0.2},
        buildup=lambda _: twin(),
        summary={},
    )
    page, order = documents(study, "W-007", ("calculation", "order"))
    assert "They could not be counted: the brief has no [house]" in page.files["calculation.html"].decode()
    assert page.note == "" and "no [house]" in order.trouble


def test_a_line_names_the_target_where_nothing_else_counts_it():
    found = replace(missing(single(), brief(RECTANGLE)), changes=())
    assert missed_line(found).endswith(f"as declared it is {found.u_declared:.4f}")
