"""The filling sheet that comes back: round trip, density and U as filled, and every fault with its place."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pytest
from house_walls import LIBRARY, RECTANGLE, brief, frame, parted, single, twin, wall
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.errors import InputError
from materials.models import Material
from optimiser.checks.judge import judge
from optimiser.handover.filling.as_filled import as_filled, as_filled_words
from optimiser.handover.filling.files import filling_files
from optimiser.handover.filling.sheet import filling_sheet
from optimiser.heat.air_layers import unventilated

HOUSE = RECTANGLE | {"openings_m2": 5.0}


def written(folder: Path, of=None, enter=None, kind: str = "csv", house=HOUSE) -> Path:
    """The sheet of a wall, filled in: `enter` gives a row's cells by heading, from the row as printed."""
    files = filling_files(filling_sheet(of or twin(), brief(house), wall_id="W-007"))
    enter = enter or (lambda row: {"Went in, kg": row["Kg"]})
    path = folder / f"back.{kind}"
    if kind == "xlsx":
        book = openpyxl.load_workbook(io.BytesIO(files["filling-sheet.xlsx"]))
        page = book.active
        at = next(row[1].row for row in page.iter_rows() if row[1].value == "Chamber")
        heading = [cell.value for cell in page[at]]
        for cells in page.iter_rows(min_row=at + 1):
            row = dict(zip(heading, (cell.value for cell in cells), strict=True))
            if row["Mark"]:
                for name, value in enter(row).items():
                    cells[heading.index(name)].value = value
        book.save(path)
        return path
    rows = list(csv.reader(io.StringIO(files["filling-sheet.csv"].decode("utf-8"))))
    at = next(number for number, row in enumerate(rows) if "Chamber" in row)
    for cells in rows[at + 1 :]:
        row = dict(zip(rows[at], cells, strict=False))
        if row.get("Mark"):
            for name, value in enter(row).items():
                cells[rows[at].index(name)] = str(value)
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("of", [twin(), single()])
def test_filled_as_told_it_is_the_wall_as_planned(tmp_path, kind, of):
    found = as_filled(written(tmp_path, of, kind=kind), of)
    sheet = filling_sheet(of, brief(HOUSE))
    assert [each.key for each in found.chambers] == [each.key for each in sheet.chambers]
    assert found.kg == pytest.approx(sheet.kg)
    assert found.passes and found.below == ()
    assert found.u_as_filled == found.u_planned == judge(of).u_value
    assert found.wall == "W-007"


def test_bags_stand_for_kg(tmp_path):
    found = as_filled(written(tmp_path, enter=lambda row: {"Went in, bags": row["Bags"]}), twin())
    assert found.passes
    assert found.kg == pytest.approx(filling_sheet(twin(), brief(HOUSE)).kg, rel=1e-3)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_each_fill_is_read_back_for_itself(tmp_path, kind):
    """All of the flock went in, half of the glass: the glass alone is short."""
    sheet = filling_sheet(parted(), brief(HOUSE))

    def enter(row):
        return {"Went in, kg": float(row["Kg"]) * (0.5 if row["Fill"] == "glass" else 1)}

    found = as_filled(written(tmp_path, parted(), enter, kind), parted())
    assert {each.fill for each in found.below} == {"glass"} and len(found.by_fill["flock"]) == len(
        [each for each in sheet.chambers if each.void == 1]
    )
    told = found.as_json()["fills"]
    assert told["flock"]["kg"] == pytest.approx(sheet.kg_of(1)) and told["glass"]["kg"] == pytest.approx(
        sheet.kg_of(2) / 2
    )
    words = as_filled_words(found)
    assert words[1].startswith(f"flock: {sheet.kg_of(1):.1f} kg in ") and words[2].startswith("glass: ")


def test_sheets_printed_before_fills_were_named_still_read(tmp_path):
    """No column of fills, and the mark of the build-up under its older label."""
    path = written(tmp_path, parted())
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    head = next(number for number, row in enumerate(rows) if "Chamber" in row)
    at = rows[head].index("Fill")
    older = [[*row[:at], *row[at + 1 :]] if number >= head else row for number, row in enumerate(rows)]
    older = [["Build-up", row[1]] if row[0] == "Mark of the build-up" else row for row in older]
    out = io.StringIO()
    csv.writer(out).writerows(older)
    path.write_text(out.getvalue(), encoding="utf-8")
    found = as_filled(path, parted())
    assert found.passes and set(found.by_fill) == {"flock", "glass"}


def test_a_chamber_below_its_limit_settles(tmp_path):
    """Nine tenths of the mass in one run: nine tenths of its height stay full; by hand from U of wall and air."""
    of = wall(frame(200), {"role": "lining", "material": "plaster", "thickness_mm": 12.5})
    short = "F1-W1-S1-B3-C1"

    def enter(row):
        return {"Went in, kg": float(row["Kg"]) * (0.9 if row["Chamber"] == short else 1)}

    found = as_filled(written(tmp_path, of, enter, house=RECTANGLE), of)
    (below,) = found.below
    assert below.key == short and not found.passes
    assert below.density_kg_m3 == pytest.approx(0.9 * 50, rel=1e-3)
    assert below.filled_share == pytest.approx(0.9, rel=1e-3)
    assert below.missing_kg == pytest.approx(0.1 * 50 * below.volume_m3, rel=1e-2)
    hollow = Material(key="flock", name="air", conductivity_w_mk=0.2 / float(unventilated(0.2)))
    u_air = judge(of.model_copy(update={"materials": LIBRARY | {"flock": hollow}}))
    face = sum(each.face_m2 for each in found.chambers)
    share = below.face_m2 * (1 - below.filled_share) / face
    expected = judge(of).u_value * (1 - share) + share * (
        1 / u_air.heat.r_lower if u_air.heat.refused else u_air.u_value
    )
    assert found.u_as_filled == pytest.approx(expected, rel=1e-9)
    assert found.u_as_filled > found.u_planned


def test_openings_really_there_change_the_volume(tmp_path):
    """All of the south openings entered as none: the mass told for less volume no longer reaches the limit."""
    found = as_filled(written(tmp_path, enter=lambda row: {"Went in, kg": row["Kg"], "Openings in it, m2": 0}), twin())
    assert len(found.below) == 4
    whole = {"Went in, kg": None, "Openings in it, m2": 0}
    full = as_filled(written(tmp_path, enter=lambda row: whole | {"Went in, kg": row["Kg without openings"]}), twin())
    assert full.passes


def test_a_density_outside_what_is_known_is_told(tmp_path):
    found = as_filled(written(tmp_path, enter=lambda row: {"Went in, kg": float(row["Kg"]) * 1.3}), twin())
    assert found.passes and len(found.outside) == len(found.chambers)  # 71.5 kg/m3; the catalogue goes to 65
    assert found.u_as_filled == found.u_planned
    none = as_filled(written(tmp_path, enter=lambda row: {"Went in, kg": row["Kg"]}), twin())
    assert none.outside == ()


def test_nothing_went_in(tmp_path):
    found = as_filled(written(tmp_path, enter=lambda row: {"Went in, kg": 0}), twin())
    assert all(each.filled_share == 0 for each in found.chambers)
    assert found.u_as_filled > 2 * found.u_planned
    assert any("stand empty" in each for each in found.notes)


@settings(deadline=None, max_examples=12)
@given(st.lists(st.integers(0, 120), min_size=4, max_size=4))
def test_less_fill_never_makes_a_better_wall(tmp_path_factory, shares):
    folder = tmp_path_factory.mktemp("back")
    given_in = iter([each / 100 for each in shares])
    more = iter([each / 100 + 0.05 for each in shares])
    less = as_filled(written(folder, enter=lambda row: {"Went in, kg": float(row["Kg"]) * next(given_in)}), twin())
    better = as_filled(written(folder, enter=lambda row: {"Went in, kg": float(row["Kg"]) * next(more)}), twin())
    assert better.u_as_filled <= less.u_as_filled + 1e-12
    assert less.u_as_filled >= less.u_planned - 1e-12
    assert less.passes == all(each >= 100 for each in shares)


def test_a_metal_wall_has_no_u_but_its_densities(tmp_path):
    steel = Material(
        key="stud", name="steel stud", kind="timber", conductivity_w_mk=50, density_kg_m3=7800, origin="metal"
    )
    of = single().model_copy(update={"materials": LIBRARY | {"stud": steel}})
    found = as_filled(written(tmp_path, of), of)
    assert (found.u_planned, found.u_as_filled) == (None, None)
    assert "metal" in found.reason
    assert found.passes


def test_it_is_told_in_words_and_as_json(tmp_path):
    found = as_filled(written(tmp_path, enter=lambda row: {"Went in, kg": 1, "Remark": "=1+1, wet"}), twin())
    told = found.as_json()
    assert told["passes"] is False and told["below"] == [each.key for each in found.below]
    assert told["chambers"][0]["remark"] == "=1+1, wet"
    words = as_filled_words(found)
    assert words[0].startswith("W-007: 4.0 kg went in")
    assert sum("below the settling limit" in each for each in words) == 4
    assert any(each.startswith("U as filled") for each in words)


# Bad sheets


def faults(folder: Path, enter, of=None) -> list[str]:
    with pytest.raises(InputError) as error:
        as_filled(written(folder, enter=enter), of or twin())
    return str(error.value).splitlines()


def test_every_fault_is_told_at_once_with_its_place(tmp_path):
    entered = iter(
        [
            {},
            {"Went in, kg": "many"},
            {"Went in, kg": 10, "Went in, bags": 1},
            {"Went in, kg": -3, "Openings in it, m2": ""},
        ]
    )
    told = faults(tmp_path, lambda row: next(entered))
    assert len(told) == 5
    assert 'row 11, "Went in, kg" is empty: expected kg here, or bags in "Went in, bags"; 0 where' in told[0]
    assert "row 12, \"Went in, kg\" = 'many': expected a number of 0 or more" in told[1]
    assert 'row 13, "Went in, bags" = \'1\': "Went in, kg" is filled in too' in told[2]
    assert 'row 14, "Openings in it, m2" is empty: expected the m2 of openings in it, 0 where' in told[3]
    assert "row 14, \"Went in, kg\" = '-3': expected a number of 0 or more" in told[4]
    assert all(str(tmp_path) in each for each in told)


@pytest.mark.parametrize("name", ["Depth, mm", "Face, m2", "Volume, m3", "Density, kg/m3", "Mark", "Chamber"])
def test_what_was_printed_may_not_be_changed(tmp_path, name):
    changed = {"Mark": "abcabcabcabc", "Chamber": "F1-W9-S1-C1"}.get(name, "1.5")
    told = faults(tmp_path, lambda row: {"Went in, kg": row["Kg"]} | ({name: changed} if row["Order"] == "1" else {}))
    assert len(told) == 1 and "row 11" in told[0] and "were changed" in told[0]


def test_a_sheet_of_another_wall_is_refused(tmp_path):
    told = faults(tmp_path, None, of=single())
    assert len(told) == 1 and "the sheet is of another wall" in told[0]


def test_too_much_to_be_true(tmp_path):
    told = faults(tmp_path, lambda row: {"Went in, bags": row["Kg"]})
    assert len(told) == 4 and all("no blown fill is as dense" in each for each in told)
    told = faults(tmp_path, lambda row: {"Went in, kg": row["Kg"], "Openings in it, m2": 99})
    assert all("more than its face" in each for each in told)


def test_missing_and_double_rows(tmp_path):
    path = written(tmp_path)
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines[:10], lines[10], lines[10], *lines[12:]]), encoding="utf-8")
    with pytest.raises(InputError) as error:
        as_filled(path, twin())
    first, second = str(error.value).splitlines()
    assert "row 12, \"Chamber\" = 'F1-W1-S1-C1': is already in row 11" in first
    assert "holds 3 chambers; 4 were printed on it" in second


def test_missing_columns_and_headings(tmp_path):
    path = written(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("Went in, bags", "Bags in").replace("Mark of the build-up", "Buildup"), encoding="utf-8"
    )
    with pytest.raises(InputError) as error:
        as_filled(path, twin())
    assert 'the column "Went in, bags" is missing' in str(error.value)
    assert 'the row "Mark of the build-up" above the table is missing' in str(error.value)
    path.write_text("a,b,c\n1,2,3\n", encoding="utf-8")
    with pytest.raises(InputError, match="expected a filling sheet"):
        as_filled(path, twin())


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 not a workbook", b"\xff\xfe\x00", bytes(range(256))])
def test_files_that_are_no_sheets(tmp_path, data):
    for suffix in ("csv", "xlsx"):
        path = tmp_path / f"back.{suffix}"
        path.write_bytes(data)
        with pytest.raises(InputError):
            as_filled(path, twin())
    with pytest.raises(InputError, match=r"ending in \.xlsx or \.csv"):
        as_filled(tmp_path / "back.pdf", twin())
    with pytest.raises(InputError, match="no such file"):
        as_filled(tmp_path / "none.csv", twin())


def test_decimal_commas_and_semicolons_are_read(tmp_path):
    path = written(tmp_path)
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    out = io.StringIO()
    at = next(number for number, row in enumerate(rows) if "Chamber" in row)
    writer = csv.writer(out, delimiter=";")
    writer.writerows(rows[: at + 1])
    commas = [[cell.replace(".", ",") for cell in row] for row in rows[at + 1 :]]
    writer.writerows(commas)
    path.write_text(out.getvalue(), encoding="utf-8")
    assert as_filled(path, twin()).passes
