"""The filling sheet as a table to be filled in on site: workbook, CSV and rows for print."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ..ordering.tables import TWO, WHOLE, Column, Table, files_of
from .sheet import FillingSheet

WALL, BUILD_UP, CHAMBERS, BAG = "Wall", "Build-up", "Chambers", "Bag, kg"
CHAMBER, DEPTH, FACE, VOLUME = "Chamber", "Depth, mm", "Face, m2", "Volume, m3"
DENSITY, OPENING, KG_IN, BAGS_IN, REMARK, MARK = (
    "Density, kg/m3",
    "Openings in it, m2",
    "Went in, kg",
    "Went in, bags",
    "Remark",
    "Mark",
)
FOUR, FIVE, TENTH = "0.0000", "0.00000", "0.0"


def filling_table(sheet: FillingSheet) -> Table:
    """The sheet: one row for each chamber in the order of filling; the tinted columns are filled in on site."""
    columns = (
        Column("Order", WHOLE, 7),
        Column(CHAMBER, width=18),
        Column("Faces", width=11),
        Column("Storey", WHOLE, 7),
        Column("Width, mm", TENTH, 10),
        Column(DEPTH, TENTH, 9),
        Column("Height, mm", TENTH, 10),
        Column("Closed", width=26),
        Column(FACE, FOUR, 10),
        Column(VOLUME, FIVE, 10),
        Column(DENSITY, TWO, 9),
        Column("Kg", TWO, 9),
        Column("Bags", TWO, 8),
        Column("Kg without openings", TWO, 10),
        Column(OPENING, FOUR, 10, entered=True),
        Column(KG_IN, TWO, 9, entered=True),
        Column(BAGS_IN, TWO, 9, entered=True),
        Column(REMARK, width=24, entered=True),
        Column(MARK, width=15),
    )
    marks = sheet.given
    rows = tuple(
        (
            each.order,
            each.key,
            each.faces,
            each.storey,
            each.width_mm,
            each.depth_mm,
            each.height_mm,
            each.broken,
            each.face_m2,
            each.volume_m3,
            each.density_kg_m3,
            each.kg,
            each.bags,
            each.kg_whole,
            each.opening_m2,
            None,
            None,
            "",
            marks[each.key],
        )
        for each in sheet.chambers
    )
    fills = tuple(
        (f"Void {number}", f"{name}, layers {', '.join(map(str, layers))}")
        for number, (name, layers) in enumerate(zip(sheet.fills, sheet.layers, strict=True), 1)
    )
    above = ((WALL, sheet.wall), (BUILD_UP, sheet.digest), (CHAMBERS, len(rows)), (BAG, sheet.bag_kg), *fills)
    bags = math.fsum(each.bags for each in sheet.chambers)
    total = ("", "In all", *[""] * 6, None, None, None, sheet.kg, bags, None, None, None, None, "", "")
    whole = f"{sheet.bags} bags of {sheet.bag_kg:g} kg for all of it; what is left of one goes into the next chamber."
    return Table("Filling sheet", columns, rows, above, total, (whole, *sheet.cautions, *sheet.refused))


def filling_files(sheet: FillingSheet) -> Mapping[str, bytes]:
    """File name -> bytes: filling-sheet.xlsx and filling-sheet.csv. Equal for equal input."""
    return files_of([filling_table(sheet)], "filling-sheet", f"Filling sheet for {sheet.wall}")
