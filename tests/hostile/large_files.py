"""Files that are small on disk and large in the memory, made where they are wanted."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

SPREADSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATED = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
MILLION = 1_000_000


def workbook(path: Path, sheet: bytes, strings: bytes | None = None) -> Path:
    """A workbook of one sheet, its rows as they are given."""
    rels = f'<Relationship Id="r1" Type="{RELATED}/worksheet" Target="s.xml"/>'
    if strings is not None:
        rels += f'<Relationship Id="r2" Type="{RELATED}/sharedStrings" Target="t.xml"/>'
    head = '<sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets>'
    parts = {
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}"><Relationship Id="r" Type="{RELATED}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{SPREADSHEET}" xmlns:r="{RELATED}">{head}</workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}">{rels}</Relationships>',
    }
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        for name, text in parts.items():
            packed.writestr(name, text)
        packed.writestr(
            "xl/s.xml", b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (SPREADSHEET.encode(), sheet)
        )
        if strings is not None:
            packed.writestr("xl/t.xml", b'<sst xmlns="%s">%s</sst>' % (SPREADSHEET.encode(), strings))
    path.write_bytes(data.getvalue())
    return path


def one_row(path: Path) -> Path:
    return workbook(path, b"<row>%s</row>" % (b"<c><v>1</v></c>" * 6_500_000))


def many_cells(path: Path) -> Path:
    return workbook(path, (b"<row>%s</row>" % (b"<c><v>1.5</v></c>" * 60)) * 110_000)


def many_numbers(path: Path) -> Path:
    rows = (
        b"<row>%s</row>" % b"".join(b"<c><v>%d</v></c>" % (row * 50 + at) for at in range(50)) for row in range(100_000)
    )
    return workbook(path, b"".join(rows))


def nested(path: Path) -> Path:
    return workbook(path, b"<row>" + b"<c>" * 20_000_000)


def beside_rows(path: Path) -> Path:
    return workbook(path, b"<mergeCell/>" * 12_000_000)


def beside_each_row(path: Path) -> Path:
    return workbook(path, (b"<row/>" + b"<x/>" * 100) * 150_000)


def one_text(path: Path) -> Path:
    return workbook(path, b"<row><c t='str'><v>%s</v></c></row>" % (b"x" * 250_000_000))


def one_string_often(path: Path) -> Path:
    rows = (b"<row>%s</row>" % (b'<c t="s"><v>0</v></c>' * 50)) * 2_000
    return workbook(path, rows, b"<si><t> %s </t></si>" % (b"x" * 2 * MILLION))


def many_strings(path: Path) -> Path:
    return workbook(path, b"", b"<si><t>ab</t></si>" * 12_000_000)


def one_line(path: Path) -> Path:
    path.write_bytes(b"product," + b"," * 19 * MILLION)
    return path


def many_lines(path: Path) -> Path:
    path.write_bytes(
        b"product,price,unit\n" + b"ab,cd,ef,gh,ij,kl,mn,op,qr,st,uv,wx,yz,ab,cd,ef,gh,ij,kl,mn,op,qr\n" * 199_000
    )
    return path


def wide_letters(path: Path) -> Path:
    path.write_bytes(b"product,price,unit\n" + "😀a,bb,cc,dd,ee\n".encode() * 199_000 + b'x,"' + b"y" * MILLION * 10)
    return path


LISTS = {
    f"{make.__name__}{kind}": (make, kind)
    for kind, makers in (
        (
            ".xlsx",
            (
                one_row,
                many_cells,
                many_numbers,
                nested,
                beside_rows,
                beside_each_row,
                one_text,
                one_string_often,
                many_strings,
            ),
        ),
        (".csv", (one_line, many_lines, wide_letters)),
    )
    for make in makers
}
