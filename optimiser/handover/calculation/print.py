"""A document of plain records as PDF by typst: tagged, in fonts that typst carries, the same bytes for the same input.

The template is fixed and reads the records as data, so that no word of theirs is ever read as markup.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from typing import Any

from materials.errors import InputError

from ...document import NONE, Document, DocumentPart, DocumentTable, Drawing, Facts, Section, Text
from ...locales import spelt
from ..drawing.palette import LIGHT
from ..filling.files import CLOSED, MARK, STOREY, filling_table
from ..filling.sheet import FillingSheet
from ..tables.tabular import TEXT, Cell, Table, spelt_cell

STANDARD = "ua-1"  # PDF/UA-1, ISO 14289-1: tags, title, language, words for every drawing
MISSING = "a PDF needs typst: pip install 'wallfront[report]'"
SHEET_SIGNS = frozenset("′″²³₂⁻⁶–−×≤≥λθφχψγμΔραε°€…·“”‘’\u202f\u00a0")  # of the sheet itself; all fonts have them
ROUNDS, FEW = 7, 4  # attempts in all, and those that give up no more signs than typst names
LOST = "Signs that the typeface of this sheet does not have are shown as “?”."
_PROPERTY = re.compile(r"var\(\s*--[\w-]+\s*,\s*([^()]+)\)")
_DECIMALS = re.compile(r"0\.0+")
_NAMED = re.compile(r'the text `"(.*?)"` could not be displayed', re.DOTALL)
_ESCAPED = re.compile(r"\\u\{([0-9a-fA-F]+)\}")
_POWER = re.compile(r"\bm([23])\b")
_BLANK = re.compile(r"[\t\n\r]")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufdd0-\ufdef\ufffe\uffff\ud800-\udfff]")

TEMPLATE = r"""
#let doc = json(bytes(sys.inputs.document))
#let ink = rgb("INK")
#let muted = rgb("MUTED")
#let hairline = rgb("HAIRLINE")
#let accent = rgb("ACCENT")
#set document(title: doc.title, date: none)
#set text(lang: doc.language, font: "Libertinus Serif", size: 9pt, fill: ink, number-type: "lining",
  number-width: "tabular", hyphenate: false)
#set par(leading: 0.52em, spacing: 0.7em)
#set page(paper: "a4", flipped: doc.across, margin: (x: if doc.across { 12mm } else { 18mm }, top: 16mm,
  bottom: 18mm), footer: context {
  set text(size: 7.5pt, fill: muted)
  doc.foot
  h(1fr)
  counter(page).display("1 / 1", both: true)
})
#set heading(numbering: none)
#show heading.where(level: 1): set text(size: 17pt)
#show heading.where(level: 2): it => block(above: 1.9em, below: 0.8em, sticky: true, width: 100%,
  inset: (top: 5pt), stroke: (top: 0.6pt + ink), text(size: 12pt, it.body))
#show heading.where(level: 3): it => block(above: 1.3em, below: 0.7em, sticky: true, text(size: 9.5pt, it.body))
#show figure: set block(breakable: true, above: 1em, below: 1.1em)
#show figure.where(kind: table): set figure.caption(position: top)
#show figure.caption: it => block(sticky: true, width: 100%, align(left, text(weight: "bold", size: 8.5pt, it.body)))
#set figure(numbering: none, supplement: none, gap: 0.5em)

#let columns-of(part) = if part.widths.len() > 0 { part.widths.map(each => each * 1fr) } else {
  range(part.heads.len()).map(at => if at == 0 { 1.6fr } else { 1fr })
}
#let side(part, x) = if x < part.words or x in part.wordy + part.entered { left } else { right }
#let grid-of(part) = figure(kind: table, caption: part.caption, {
  set text(size: if part.heads.len() > 7 { 8pt } else { 8.3pt })
  set par(justify: false, leading: 0.42em)
  let last = part.rows.len() - part.totals
  table(
    columns: columns-of(part),
    inset: (x: if part.heads.len() > 12 { 2.4pt } else { 3pt }, y: if part.entered.len() > 0 { 5pt } else { 2.4pt }),
    align: (x, y) => side(part, x) + if y == 0 { bottom } else { top },
    stroke: (x, y) => if x in part.entered and y > 0 and y <= last { 0.4pt + muted } else {
      (bottom: if y == 0 { 0.6pt + ink } else { 0.3pt + hairline }, top: if y == last + 1 and part.totals > 0 {
        0.6pt + ink
      })
    },
    table.header(..part.heads.map(each => text(fill: muted, each))),
    ..part.rows.enumerate().map(((at, row)) => {
      row.map(each => if at < last { [#each] } else { strong(each) })
    }).flatten()
  )
})
#let writers = (
  Text: part => block(sticky: part.kept, par(if part.quiet { text(fill: muted, size: 8pt, part.words) } else {
    part.words
  })),
  Heading: part => heading(level: 3, part.words),
  Items: part => list(spacing: 0.6em, ..part.lines.map(each => [#each])),
  Facts: part => block(sticky: part.kept, breakable: not part.kept, grid(columns: (auto, 1fr), column-gutter: 1.4em,
    row-gutter: 0.55em,
    ..part.pairs.map(((label, value)) => (text(fill: muted, label), [#value])).flatten())),
  SumStep: part => block(breakable: false, sticky: part.kept, above: 0.9em, below: 0.9em, inset: (left: 7pt),
    stroke: (left: 1.2pt + if part.strong { accent } else { hairline }), {
      strong(part.title)
      linebreak()
      if part.note != "" { text(fill: muted, size: 8pt, part.note) + linebreak() }
      if part.sum != "" { part.sum + " = " }
      box(text(weight: "bold", size: if part.strong { 12pt } else { 9pt }, part.result))
    }),
  DocumentTable: grid-of,
  Drawing: part => figure(kind: image, caption: if part.caption != "" { part.caption },
    image(bytes(sys.inputs.at(part.file)), alt: part.alt, width: 100%)),
  Signature: part => block(breakable: false, above: 1.4em, {
    par(part.words)
    v(12mm)
    grid(columns: (2fr, 1fr, 2fr), column-gutter: 8mm, ..part.lines.map(each => {
      block(width: 100%, inset: (top: 4pt), stroke: (top: 0.5pt + ink), text(size: 8pt, fill: muted, each))
    }))
  }),
)

#heading(level: 1, doc.title)
#if doc.subtitle != "" { par(text(fill: muted, doc.subtitle)) }
#for section in doc.sections {
  if section.fresh { pagebreak(weak: true) }
  heading(level: 2, section.title)
  for part in section.parts { (writers.at(part.type))(part) }
}
"""


def calculation_pdf(document: Document) -> bytes:
    """The document as PDF/UA-1, A4. Signs that no font at hand has become "?", and a last line says so.

    InputError where typst is not installed.
    """
    try:
        import typst
    except ImportError:
        raise InputError(MISSING) from None
    lost: set[str] = set()
    for attempt in range(ROUNDS):
        try:
            return typst.compile(
                _template(),
                format="pdf",
                sys_inputs=_inputs(document, lost),
                pdf_standards=[STANDARD],
                ignore_system_fonts=True,
            )
        except typst.TypstError as error:
            # One message names one run of text: after a few, or where it names none of ours, all foreign ones go.
            named = _undisplayed(str(error)) - lost if attempt < FEW else set()
            more = named or _foreign(document) - lost
            if "could not be displayed" not in str(error) or not more:
                raise
            lost |= more
    raise InputError(f"{document.title}: no typeface at hand has the signs of this document")


def _undisplayed(message: str) -> set[str]:
    """The signs that typst found in no font, as its message names them."""
    match = _NAMED.search(message)
    if match is None:
        return set()
    text = _ESCAPED.sub(lambda each: chr(int(each[1], 16)), match[1])
    return {sign for sign in text if sign >= "\u0080"}


def _foreign(document: Document) -> set[str]:
    """Every sign of a document that is neither ASCII nor one of the sheet's own."""
    text = json.dumps(asdict(document), ensure_ascii=False)
    return {sign for sign in text if sign >= "\u0080" and sign not in SHEET_SIGNS}


def tables_pdf(title: str, sections: Sequence[Section], *, subtitle: str = "", across: bool = True) -> bytes:
    """Sections of tables and texts as PDF; on the long side of the paper unless told otherwise."""
    return calculation_pdf(Document(title, subtitle, tuple(sections), title, across))


def filling_pdf(sheet: FillingSheet) -> bytes:
    """The installer's filling sheet for print: every chamber in the order of filling, with room for what went in."""
    table = filling_table(sheet)
    leave = [MARK, STOREY]  # the storey is in the chamber's key
    if len({each.broken for each in sheet.chambers}) == 1:
        leave.append(CLOSED)
        table = replace(table, above=(*table.above, ("Every chamber", sheet.chambers[0].broken)))
    facts, grid, *notes = table_section(table, leave).parts
    grid = replace(grid, caption="Boxes are filled in on site")
    sections = [
        Section("Before filling", (facts,)),
        Section("Chambers, in the order of filling", (grid, *notes)),
    ]
    return tables_pdf(f"Filling sheet for {sheet.wall}", sections)


def table_section(table: Table, without: Sequence[str] = ()) -> Section:
    """A table of a workbook as a section: what stands above and below it as texts. without: columns left out."""
    indices = [at for at, column in enumerate(table.columns) if column.title not in without]
    columns = [table.columns[at] for at in indices]
    given = [*table.rows, *table.sums]
    rows = tuple(tuple(_cell(row[at], table.columns[at].shown) for at in indices) for row in given)
    words = next((at for at, column in enumerate(columns) if column.shown != TEXT and at > 0), len(columns))
    grid = DocumentTable(
        table.name,
        tuple(_raised(each.title) for each in columns),
        rows,
        words=words,
        totals=len(table.sums),
        widths=tuple(each.width for each in columns),
        entered=tuple(at for at, each in enumerate(columns) if each.entered),
        wordy=tuple(at for at, each in enumerate(columns) if each.shown == TEXT),
    )
    above = [(_raised(str(label)), _beside(cells)) for label, *cells in table.above]
    facts = (Facts(tuple(above)),) if above else ()
    return Section(table.name, (*facts, grid, *(Text(_raised(each)) for each in table.below)))


def _beside(cells: Sequence[Cell]) -> str:
    return " ".join(spelt_cell(each, "g") for each in cells)


def _raised(words: str) -> str:
    """Words of ours with their areas and volumes as printed: 'm2' -> 'm²'."""
    return _POWER.sub(lambda match: "m²" if match[1] == "2" else "m³", words)


def _cell(value: Cell, shown: str) -> str:
    """A cell in words: to the decimals that its column is shown with; a count among measures has none."""
    if isinstance(value, float) and _DECIMALS.fullmatch(shown):
        return spelt(value, f".{len(shown) - 2}f")
    return spelt_cell(value, shown)


def _inputs(document: Document, lost: set[str]) -> dict[str, str]:
    """Data and drawings under the names that the template reads. lost: signs that are shown as "?"."""
    drawings: dict[str, str] = {}

    def change(text: str) -> str:
        return "".join("?" if sign in lost else sign for sign in _CONTROL.sub("", _BLANK.sub(" ", text)))

    sections = [
        {"title": each.title, "fresh": each.fresh, "parts": [_part(part, drawings, change) for part in each.parts]}
        for each in document.sections
    ]
    if lost and sections:
        sections[-1]["parts"].append({"type": "Text", **asdict(Text(LOST, True))})
    head = {key: getattr(document, key) for key in ("title", "subtitle", "foot", "across", "language")}
    read = _titled(_through(head | {"sections": sections}, change))
    return {"document": json.dumps(read, ensure_ascii=False), **drawings}


def _titled(read: dict[str, Any]) -> dict[str, Any]:
    """Title, headings and words for drawings: the standard lets none of them be empty."""
    parts = [part for section in read["sections"] for part in section["parts"]]
    named = [(each, "title") for each in (read, *read["sections"])]
    named += [(part, {"Heading": "words", "Drawing": "alt"}.get(part["type"], "")) for part in parts]
    for each, key in named:
        if key and not each[key].strip():
            each[key] = NONE
    return read


def _template() -> bytes:
    """The template in the palette's colours."""
    template = TEMPLATE
    for role in ("ink", "muted", "hairline", "accent"):
        template = template.replace(f'"{role.upper()}"', f'"{LIGHT[role]}"')
    return template.encode("utf-8")


def _part(part: DocumentPart, drawings: dict[str, str], change: Callable[[str], str]) -> dict[str, Any]:
    """A part as data; a drawing goes into a file of its own, its colours written out."""
    if not isinstance(part, Drawing):
        return {"type": type(part).__name__, **asdict(part)}
    name = f"drawing-{len(drawings) + 1}"
    drawings[name] = change(_PROPERTY.sub(r"\1", part.svg))
    return {"type": "Drawing", "file": name, "alt": part.alt, "caption": part.caption}


def _through(value: Any, change: Callable[[str], str]) -> Any:
    """The same data with every text changed."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: _through(each, change) for key, each in value.items()}
    return [_through(each, change) for each in value] if isinstance(value, list | tuple) else value
