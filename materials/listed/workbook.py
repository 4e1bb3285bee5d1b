"""The sheets of a workbook as rows of text, straight from its XML (ECMA-376): several times faster than cell by cell.

Its formulas stand as the values that were last computed. The archive is checked before (`files`).
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Callable, Iterator
from xml.etree import ElementTree

from .cells import Typed, cell_text

Row = tuple[int, tuple[str, ...]]  # its number, the first being 1, and its cells
# Formats that the standard numbers without writing them out: days, times of day, and those of East Asian locales.
_DAYS = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}
MOST_CELLS = 2_000_000  # of all sheets
MOST_TEXT = 40_000_000  # letters of all texts
MOST_HELD = 300_000  # elements that are in the memory at a time: a row has 16,384 cells at most, each with a few
MOST_BYTES_HELD = 20_000_000
MOST_KNOWN = 50_000  # numbers that are remembered
CHUNK = 1 << 16
_LETTERS = re.compile(r"[A-Z]{1,3}", re.ASCII)
_NOT_SHOWN = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|_.|\*.')


class Workbook:
    """An opened workbook. KeyError, ValueError, IndexError or ParseError where it is damaged."""

    def __init__(self, data: bytes) -> None:
        self._archive = zipfile.ZipFile(io.BytesIO(data))
        self._place = next(iter(self._targets("", "officeDocument").values()), "xl/workbook.xml")
        book = self._tree(self._place)
        self._since_1904 = any(_true(each.get("date1904")) for each in _all(book, "workbookPr"))
        sheets = self._targets(self._place, "worksheet")
        named = [(each.get("name") or "", _attribute(each, "id")) for each in _all(book, "sheet")]
        self.sheets = [(name, sheets[key]) for name, key in named if key in sheets]
        if len({part for _, part in self.sheets}) < len(self.sheets):
            raise ValueError("two sheets are one part")
        self._text_left, self._cells_left = MOST_TEXT, MOST_CELLS
        self._strings = self._shared_strings()
        self._days = self._day_styles()

    def _tree(self, part: str) -> ElementTree.Element:
        """A part that says how the others belong together, read whole."""
        data = self._archive.read(part)
        if data.count(b"<") > MOST_HELD:
            raise ValueError(f"more than {MOST_HELD} elements in {part[:80]!r}")
        return ElementTree.fromstring(data)

    def _elements(self, part: str, name: str) -> Iterator[ElementTree.Element]:
        """The elements of a name, each forgotten when the next is asked for.

        ValueError where one, or all that stands between them, is too large to be held: before it is, not after.
        """
        parser, held, size = ElementTree.XMLPullParser(("end",)), 0, 0
        with self._archive.open(part) as stream:
            while chunk := stream.read(CHUNK):
                held += chunk.count(b"<") - chunk.count(b"</")
                size += len(chunk)
                if held > MOST_HELD or size > MOST_BYTES_HELD:
                    raise ValueError(f"more than {MOST_HELD} elements, or {MOST_BYTES_HELD // 10**6} MB, in one {name}")
                parser.feed(chunk)
                for _, element in parser.read_events():
                    if _local(element.tag) == name:
                        held -= len(list(element.iter()))
                        size = 0
                        yield element
                        element.clear()
        parser.close()

    def _charged(self, text: str) -> str:
        """A text of the workbook; ValueError when all of them together are more than a list has."""
        self._text_left -= len(text)
        if self._text_left < 0:
            raise ValueError(f"more than {MOST_TEXT // 10**6} million letters")
        return text

    def _targets(self, part: str, kind: str) -> dict[str, str]:
        """Parts of a kind that a part refers to, by the key of the reference."""
        folder, name = posixpath.split(part)
        rels = self._tree(posixpath.join(folder, "_rels", f"{name}.rels"))
        targets = {}
        for each in _all(rels, "Relationship"):
            if (each.get("Type") or "").rpartition("/")[2] == kind and each.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, each.attrib["Target"]))
                targets[each.attrib["Id"]] = target.lstrip("/")
        return targets

    def _part(self, kind: str) -> str | None:
        places = [place for place in self._targets(self._place, kind).values() if place in self._archive.namelist()]
        return places[0] if places else None

    def _shared_strings(self) -> list[str]:
        part = self._part("sharedStrings")
        if part is None:
            return []
        strings = []
        for each in self._elements(part, "si"):
            strings.append(self._charged(_text(each).strip()))
            if len(strings) > MOST_CELLS:
                raise ValueError(f"more than {MOST_CELLS} strings")
        return strings

    def _day_styles(self) -> set[str]:
        """The styles (as a cell names them) that show a number as a day."""
        part = self._part("styles")
        if part is None:
            return set()
        tree = self._tree(part)
        written = {each.get("numFmtId"): each.get("formatCode") or "" for each in _all(tree, "numFmt")}
        days = {str(each) for each in _DAYS} | {key for key, code in written.items() if key and _shows_a_day(code)}
        formats = [each for group in _all(tree, "cellXfs") for each in _all(group, "xf")]
        return {str(at) for at, each in enumerate(formats) if each.get("numFmtId") in days}

    def rows(self, part: str, most_columns: int) -> Iterator[Row]:
        """The rows of a sheet that hold something, cells stripped; those beyond `most_columns` are left out."""
        columns: dict[str, int] = {}
        numbers: dict[str, str] = {}

        def number(text: str) -> str:
            if text in numbers:
                return numbers[text]
            value = cell_text(float(text))
            if len(numbers) < MOST_KNOWN:
                numbers[text] = value
            return value

        last = 0
        for row in self._elements(part, "row"):
            last = int(row.get("r") or last + 1)
            self._cells_left -= len(row)
            if self._cells_left < 0:
                raise ValueError(f"more than {MOST_CELLS} cells")
            cells: list[str] = []
            for cell in row:
                at = len(cells)
                place = cell.get("r")
                if place:
                    letters = place.rstrip("0123456789")
                    at = columns[letters] if letters in columns else columns.setdefault(letters, _column(letters))
                if at >= most_columns:
                    continue
                text = self._value(cell, number)
                if at == len(cells):
                    cells.append(text)
                else:
                    cells += [""] * (at + 1 - len(cells))
                    cells[at] = text
            yield last, tuple(cells)

    def _value(self, cell: ElementTree.Element, number: Callable[[str], str]) -> str:
        kind = cell.get("t")
        if kind == "inlineStr":
            return self._charged(_text(cell).strip())
        held = next((each.text for each in cell if each.tag.endswith("}v") or each.tag == "v"), None)
        if held is None:
            return ""
        if kind == "s":
            return self._strings[int(held)]
        if kind == "b":
            return str(_true(held))
        if kind == "d":
            return Typed(held[:10]) if held[10:] in ("", "T00:00:00", "T00:00:00Z") else self._charged(held)
        if kind not in (None, "n"):
            return self._charged(held.strip())
        if cell.get("s") in self._days:
            return self._day(held)
        return number(held)

    def _day(self, held: str) -> str:
        from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

        epoch = CALENDAR_MAC_1904 if self._since_1904 else CALENDAR_WINDOWS_1900
        try:
            return cell_text(from_excel(float(held), epoch))
        except (OverflowError, ValueError):
            return held


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]


def _all(tree: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    """Elements of a name in whatever namespace: the strict kind of workbook has others."""
    return [each for each in tree.iter() if _local(each.tag) == name]


def _attribute(element: ElementTree.Element, name: str) -> str:
    """An attribute that stands in a namespace."""
    return next((value for key, value in element.attrib.items() if key.endswith("}" + name)), "")


def _text(element: ElementTree.Element) -> str:
    """Text of a string with its runs; how it is pronounced (rPh) left out."""
    parts = []
    for each in element:
        name = _local(each.tag)
        if name == "t":
            parts.append(each.text or "")
        elif name in ("r", "is"):
            parts.append(_text(each))
    return "".join(parts)


def _true(text: str | None) -> bool:
    return (text or "").strip() in ("1", "true")


def _column(letters: str) -> int:
    """'A' -> 0, 'AB' -> 27."""
    if not _LETTERS.fullmatch(letters):
        raise ValueError(f"a cell in column {letters[:10]!r}")
    at = 0
    for letter in letters:
        at = at * 26 + ord(letter) - 64
    return at - 1


def _shows_a_day(code: str) -> bool:
    shown = _NOT_SHOWN.sub("", code.split(";")[0])
    return bool(re.search("[dmhysDMHYS]", shown)) and "general" not in shown.lower()
