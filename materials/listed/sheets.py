"""The sheets of a price list: which hold prices, where their header is, and what their rows give."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from ..catalogue import Catalogue
from ..errors import InputError, first_of, nearest
from ..models import Product
from .cells import writes_commas
from .columns import COLUMNS, NUMBERS, REQUIRED, STEP, hint, meaning
from .headings import HEADER_WITHIN, Headed, headed, is_known
from .list_row import Manner
from .mapping import EVERYTHING, ListMapping, folded
from .rows import product_from
from .supplier_files import RawRow, RawSheet

MOST_FAULTS_OF_A_LIST = 2_000  # each with a hint at what may have been meant, which takes time


@dataclass(frozen=True)
class Fault:
    """One faulty cell: where it is, what stands there and what was expected.

    column: as the list heads it, ours in brackets where it differs.
    """

    file: str
    sheet: str | None
    row: int
    column: str
    value: str
    expected: str

    def __str__(self) -> str:
        sheet = f" sheet {self.sheet!r}," if self.sheet else ""
        column = f", column {self.column}" if self.column else ""
        value = f" {_shortened(self.value)};" if self.value else ""
        return f"{self.file}:{sheet} row {self.row}{column}:{value} expected {self.expected}"


def _shortened(value: str) -> str:
    return repr(str(value) if len(value) <= 60 else value[:57] + "...")


def headed_sheets(path: Path, raw: Iterable[RawSheet], how: ListMapping) -> tuple[list[Headed], tuple[str, ...]]:
    """The sheets that hold prices, and the names of those passed over (a cover, notes: not two known columns).

    InputError names every column that is missing or stands twice, and what the mapping names in vain.
    """
    raw = _chosen(path, list(raw), how)
    pairs = [(sheet, headed(sheet, how)) for sheet in raw]
    sheets = [found for _, found in pairs if found]
    lost = [sheet.name or "" for sheet, found in pairs if not found]
    if not sheets:
        raise InputError(f"{path}: no header row; expected the columns {', '.join(REQUIRED)}{_perhaps(path, raw)}")
    faults = [fault for sheet in sheets for fault in _header_faults(path, sheet, how)]
    if how.sheets is not None:
        faults += [f"{path}: sheet {name!r}: no header row, though the mapping names this sheet" for name in lost]
    faults += _in_vain(path, sheets, how) + _vat_faults(path, sheets, how)
    if faults:
        raise InputError("\n".join(first_of(faults)))
    return sheets, tuple(lost)


def _perhaps(path: Path, raw: Iterable[RawSheet]) -> str:
    """'; row 2 may be it ...' for the row whose headings say most to the trade, with how a mapping would begin."""
    best: tuple[int, dict[str, str]] = (0, {})
    for sheet in raw:
        for row in sheet.rows[:HEADER_WITHIN]:
            meant = {column: cell[:40] for cell in reversed(row.cells) if (column := meaning(cell))}
            best = max(best, (row.number, meant), key=lambda each: len(each[1]))
    number, meant = best
    if len(meant) < 2:
        return ""
    lines = ", ".join(f'"{cell}" = "{column}"' for column, cell in reversed(meant.items()))
    return (
        f"; row {number} may be it: name its columns in {path.stem}.toml beside the list, [columns] {lines} and so on"
    )


def _chosen(path: Path, raw: list[RawSheet], how: ListMapping) -> list[RawSheet]:
    """The sheets that the mapping names, or all."""
    if how.sheets is None:
        return raw
    names = [sheet.name for sheet in raw if sheet.name is not None]
    faults = [
        f"{how.place}: sheets: {name!r} is not a sheet of {path.name} with anything on it{nearest(name, names)}"
        for name in how.sheets
        if name not in names
    ]
    if faults:
        raise InputError("\n".join(first_of(faults)))
    return [sheet for sheet in raw if sheet.name in how.sheets]


def _header_faults(path: Path, sheet: Headed, how: ListMapping) -> list[str]:
    names = [name for name in sheet.columns if name]
    place = f"{path}:" + (f" sheet {sheet.name!r}," if sheet.name else "") + f" row {sheet.header.number}:"
    faults = []
    missing = [name for name in REQUIRED if name not in names and name not in how.defaults]
    if missing:
        hints = [name + _heading_for(name, set(names) - set(COLUMNS)) for name in missing]
        faults.append(f"{place} missing column{'s' * (len(missing) > 1)} {', '.join(hints)}")
    for name in sorted({name for name in names if names.count(name) > 1}):
        shown = " and ".join(
            dict.fromkeys(cell for cell, ours in zip(sheet.header.cells, sheet.columns, strict=True) if ours == name)
        )
        faults.append(f"{place} column {name} stands there twice" + (f" ({shown})" if folded(shown) != name else ""))
    return faults


def _heading_for(column: str, headings: set[str]) -> str:
    """The heading that may stand for a column: by what it means, else by its spelling."""
    meant = sorted(each for each in headings if meaning(each) == column)
    return f' (nearest: "{meant[0][:80]}")' if meant else nearest(column, headings)


def _vat_faults(path: Path, sheets: Iterable[Headed], how: ListMapping) -> list[str]:
    """A rate of VAT without a word on whether prices hold it, or that word without a rate."""
    stated = "vat_percent" in how.defaults or any(_holds(sheet, "vat_percent") for sheet in sheets)
    if stated and how.include_vat is None:
        return [
            f"{path}: vat_percent: expected prices_include_vat = true or false in {path.stem}.toml beside it: prices "
            "are taken without VAT, and where they hold it, it is taken off"
        ]
    if how.include_vat and not stated:
        return [f"{how.place}: prices_include_vat: expected the rate, as a column or under defaults: vat_percent = 19"]
    return []


def _holds(sheet: Headed, column: str) -> bool:
    """Whether some row has something in a column."""
    if column not in sheet.columns:
        return False
    at = sheet.columns.index(column)
    return any(row.cells[at] for row in sheet.rows if at < len(row.cells))


def _in_vain(path: Path, sheets: list[Headed], how: ListMapping) -> list[str]:
    """What the mapping says of columns that no sheet has, and defaults for columns that every sheet has."""
    words = {folded(cell): cell for sheet in sheets for cell in sheet.header.cells if cell}
    faults = [
        f'{how.place}: columns."{how.words[word]}": {path.name} has no such column{nearest(word, words)}'
        for word in (*how.columns, *how.steps)
        if word not in words
    ]
    faults += [
        f"{how.place}: defaults.{column}: {path.name} has this column; a default is for a missing one"
        for column in how.defaults
        if all(column in sheet.columns for sheet in sheets)
    ]
    return faults


def products_of(
    file: str, sheets: Iterable[Headed], catalogue: Catalogue, how: ListMapping
) -> tuple[list[Product], list[Fault]]:
    """Products of the good rows of all sheets, and the faults of the others."""
    reading = _Reading(file, catalogue, how, [], [], {}, set())
    for sheet in sheets:
        reading.read(sheet)
    reading.one_currency()
    return reading.products, reading.faults


@dataclass
class _Reading:
    """A list being read: what was found so far, where each product key stands, and which defaults were told of."""

    file: str
    catalogue: Catalogue
    how: ListMapping
    products: list[Product]
    faults: list[Fault]
    places: dict[str, str]
    default_faults: set[tuple[str, str]]
    currencies: list[tuple[str, str | None, int, str]] = field(default_factory=list)  # currency and place of each row
    freights: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)  # by supplier

    def read(self, sheet: Headed) -> None:
        labels = self._labels(sheet)
        defaults = {name: value for name, value in self.how.defaults.items() if name not in sheet.columns}
        manner = self._manner(sheet)
        # Notes beside a workbook's table stand in columns of their own; in a CSV file they are a slip of separators.
        strict = not (sheet.name is not None and EVERYTHING in self.how.ignore)
        above: dict[str, str] = {}
        for row in sheet.rows:
            if len(self.faults) >= MOST_FAULTS_OF_A_LIST:
                told = f"no more than {MOST_FAULTS_OF_A_LIST} faults; from here on the list was not read"
                self.faults.append(Fault(self.file, sheet.name, row.number, "", "", told))
                return
            extra = _extra_cells(row, sheet) if strict else ""
            if extra:
                self.faults.append(Fault(self.file, sheet.name, row.number, "", "", extra))
                continue
            cells = defaults | above
            for name, cell in zip(sheet.columns, row.cells, strict=False):
                if cell and name:
                    cells[name] = cell
                    if name in self.how.fill_down:
                        above[name] = cell
            self._take(sheet, row, cells, labels, manner)

    def _take(
        self, sheet: Headed, row: RawRow, cells: dict[str, str], labels: Mapping[str, str], manner: Manner
    ) -> None:
        product, wrong = product_from(cells, self.catalogue, manner)
        if product:
            wrong += self._other_freight(product, cells)
        key = cells.get("product", "")
        if key in self.places and all(column != "product" for column, *_ in wrong):
            wrong.append(("product", key, f"a key of its own; it stands in {self.places[key]} too"))
        if key not in self.places:
            self.places[key] = f"sheet {sheet.name!r}, row {row.number}" if sheet.name else f"row {row.number}"
        for column, value, expected in wrong:
            if column in self.how.defaults and column not in sheet.columns:
                if (column, expected) in self.default_faults:  # a default that is wrong is so in every row: told once
                    continue
                self.default_faults.add((column, expected))
            shown = labels.get(column, column)
            self.faults.append(Fault(self.file, sheet.name, row.number, shown, str(value), expected))
        if product and not wrong:
            self.products.append(product)
        if "currency" in cells and all(column != "currency" for column, *_ in wrong):
            self.currencies.append((cells["currency"], sheet.name, row.number, labels.get("currency", "currency")))

    def _other_freight(self, product: Product, cells: Mapping[str, str]) -> list[tuple[str, str, str]]:
        """A delivery of one supplier that costs something else than in the rows above."""
        here = (product.freight, product.freight_free_from)
        first = self.freights.setdefault(product.supplier, here)
        if here == first:
            return []
        told = " and ".join("nothing" if each is None else f"{each:g}" for each in first)
        expected = f"one freight and one sum for all of {product.supplier}, as before: {told}"
        return [("freight", cells.get("freight", ""), expected)]

    def one_currency(self) -> None:
        """Leave out the rows of another currency than most; of two as frequent the first counts."""
        counts = Counter(cell.upper() for cell, *_ in self.currencies)
        if len(counts) < 2:
            return
        usual = counts.most_common(1)[0][0]
        self.products = [each for each in self.products if each.currency == usual]
        expected = f"one currency in a list ({usual})"
        self.faults += [
            Fault(self.file, sheet, row, column, cell, expected)
            for cell, sheet, row, column in self.currencies
            if cell.upper() != usual
        ]
        sheets = list(dict.fromkeys(each.sheet for each in self.faults))
        self.faults.sort(key=lambda each: (sheets.index(each.sheet), each.row))

    def _labels(self, sheet: Headed) -> dict[str, str]:
        """Our column -> what to call it to the supplier. A column that is not known is a fault of the header.

        A misspelt optional column would be lost without a word.
        """
        mapping = Path(self.file).with_suffix(".toml").name
        labels = {name: f"{name} (defaults of {mapping})" for name in self.how.defaults}
        for ours, shown in zip(sheet.columns, sheet.header.cells, strict=True):
            if not ours:
                continue
            if not is_known(ours):
                expected = f"a known column{hint(ours)}; {mapping} beside the list can name it under columns or ignore"
                self.faults.append(Fault(self.file, sheet.name, sheet.header.number, str(shown), "", expected))
            labels[ours] = ours if folded(shown) == ours else f"{shown} ({ours})"
        return labels

    def _manner(self, sheet: Headed) -> Manner:
        at = [place for place, name in enumerate(sheet.columns) if name and (name in NUMBERS or name.startswith(STEP))]
        commas = self.how.decimal is None and writes_commas(
            (row.cells[place] for place in at if place < len(row.cells)) for row in sheet.rows
        )
        how = self.how
        doubtful = "." if commas else ","
        return Manner(how.decimal, doubtful, how.date_format, how.units, how.materials, how.factors, how.include_vat)


def _extra_cells(row: RawRow, sheet: Headed) -> str:
    """What to expect instead when a row holds more than the header has columns for; '' when all is well."""
    columns = sheet.columns
    nameless = [i for i, cell in enumerate(row.cells) if cell and (i >= len(columns) or columns[i] == "")]
    if not nameless:
        return ""
    hint = "decimal commas need ; as the separator, or quotes" if sheet.name is None else "each under a heading"
    return f"{len(columns)} cells, as in the header, found one in place {nameless[-1] + 1}; {hint}"
