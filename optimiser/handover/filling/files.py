"""The filling sheet as a table to be filled in on site: workbook, CSV and rows for print."""

from __future__ import annotations

from collections.abc import Mapping

from ...locales import spelt
from ..tables.tabular import MARK_LABEL, MARK_WORDS, TWO, WHOLE, Cell, Column, Table, files_of
from .sheet import KEY, FillingSheet, FillTotal

WALL, BUILD_UP, CHAMBERS, BAG = "Wall", MARK_LABEL, "Chambers", "Bag, kg"
BUILD_UP_BEFORE = "Build-up"  # what older sheets call its mark
CHAMBER, DEPTH, FACE, VOLUME = "Chamber", "Depth, mm", "Face, m2", "Volume, m3"
FILL, STOREY, CLOSED = "Fill", "Storey", "Closed"
DENSITY, OPENING, KG_IN, BAGS_IN, REMARK, MARK = (
    "Density, kg/m3",
    "Openings in it, m2",
    "Went in, kg",
    "Went in, bags",
    "Remark",
    "Mark",
)
FOUR, FIVE, TENTH = "0.0000", "0.00000", "0.0"
KG_AT = 12  # where the columns of kg and bags begin


def filling_table(sheet: FillingSheet) -> Table:
    """The sheet: one row for each chamber in the order of filling; the tinted columns are filled in on site."""
    columns = (
        Column("Order", WHOLE, 7),
        Column(CHAMBER, width=18),
        Column(FILL, width=20),
        Column("Faces", width=11),
        Column(STOREY, WHOLE, 7),
        Column("Width, mm", TENTH, 10),
        Column(DEPTH, TENTH, 9),
        Column("Height, mm", TENTH, 10),
        Column(CLOSED, width=26),
        Column(FACE, FOUR, 10),
        Column(VOLUME, FIVE, 10),
        Column(DENSITY, TWO, 9),
        Column("Kg", TWO, 9),
        Column("Bags", TWO, 8),
        Column("Kg without openings", TWO, 10),
        Column(OPENING, FOUR, 10),
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
            each.fill,
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
    above = (
        (WALL, sheet.wall),
        (BUILD_UP, sheet.digest, MARK_WORDS),
        (CHAMBERS, len(rows)),
        (BAG, sheet.bag_kg),
        *_voids(sheet),
        *(() if not rows else (("Chamber key", KEY), ("Bags", bag_words(sheet)))),
        *((name, words) for name, words in zip(("Mind", "How"), sheet.cautions, strict=False)),
    )
    sums = tuple(_sum(each, len(columns)) for each in sheet.totals)
    below = (*((sheet.model,) if sheet.model else ()), *sheet.refused)
    return Table("Filling sheet", columns, rows, above, None, below, sums)


def _voids(sheet: FillingSheet) -> list[tuple[Cell, ...]]:
    """A row for each void: its fill and layers."""
    rows = []
    for number, (name, layers) in enumerate(zip(sheet.fills, sheet.layers, strict=True), 1):
        layer_words = ("layer " if len(layers) == 1 else "layers ") + ", ".join(map(str, layers))
        rows.append((f"Void F{number}", f"{name}, {layer_words}"))
    return rows


def _sum(total: FillTotal, wide: int) -> tuple[Cell, ...]:
    """The row of totals of one fill: kg and whole bags."""
    row: list[Cell] = ["", "In all", total.fill, *[None] * (wide - 3)]
    row[KG_AT : KG_AT + 2] = [total.kg, total.bags]
    return tuple(row)


def bag_words(sheet: FillingSheet) -> str:
    """The bags of each fill in a sentence, as ordered where there is an order."""
    fills = [f"{each.fill}: {each.words or _counted(each, sheet.bag_kg)}" for each in sheet.totals]
    return f"{'; '.join(fills)}. What is left of a bag goes into the next chamber of the same fill."


def _counted(total: FillTotal, bag_kg: float) -> str:
    return f"{total.bags} bag{'' if total.bags == 1 else 's'} of {spelt(bag_kg, 'g')} kg, waste not included"


def filling_files(sheet: FillingSheet) -> Mapping[str, bytes]:
    """File name -> bytes: filling-sheet.xlsx and filling-sheet.csv. Equal for equal input."""
    return files_of([filling_table(sheet)], "filling-sheet", f"Filling sheet for {sheet.wall}")
