"""A row of a supplier's list under examination: its cells as numbers, words, units, money and days."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from ..catalogue import Catalogue
from .cells import ISO_DATE, Typed, parse_date, parse_number, unguarded
from .columns import STEP
from .measures import FACTORS, INCH_MM, TradeUnit, inches, measure
from .money import codes_of, parts_of

DAYS = (date(2000, 1, 1), date(2100, 12, 31))
LONGEST_SUM = 60  # letters
_CODE = re.compile(r"[A-Za-z]{3}", re.ASCII)
_PERCENT = ("waste_percent", "discount_percent", "vat_percent")
_SIZES = ("thickness_mm", "width_mm")


@dataclass(frozen=True)
class Manner:
    """How a list writes things: decimals and dates (see `cells`), its own words for units and materials.

    Words of units and materials are folded to lower case. factors: by column, what a number is multiplied by.
    include_vat: whether prices hold the VAT; None where the mapping does not say.
    """

    decimal: str | None = None
    doubtful: str = ","
    date_format: str = ISO_DATE
    units: Mapping[str, str] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)
    factors: Mapping[str, float] = field(default_factory=dict)
    include_vat: bool | None = None


@dataclass
class ListRow:
    """A row under examination: cells by column (those that hold something), the catalogue, and its faults so far."""

    cells: Mapping[str, str]
    catalogue: Catalogue
    manner: Manner
    faults: list[tuple[str, str, str]] = field(default_factory=list)  # column, value, expected

    def text(self, column: str) -> str:
        return self.cells.get(column, "")

    def fault(self, column: str, expected: str) -> None:
        self.faults.append((column, self.text(column), expected))

    def number(
        self, column: str, low: float, high: float, unit: str, whole: bool = False, scale: float = 1.0
    ) -> float | None:
        """The number in a cell, None when it is empty or faulty; limits are included. scale: to `unit`."""
        text = self.cells.get(column, "")
        if not text:
            return None
        what = f"a {'whole ' if whole else ''}number" + (f" in {unit}" if unit else "")
        return self._within(column, self._plain(column, text, what), low, high, what, whole, scale)

    def money(self, column: str, low: float, high: float, unit: str = "", scale: float = 1.0) -> float | None:
        """A sum of money, a sign or code beside it held to the row's currency; like `number` otherwise."""
        text = self.cells.get(column, "")
        if not text:
            return None
        what = "a number" + (f" {unit}" if unit else "")
        if isinstance(text, Typed) or len(text) > LONGEST_SUM:
            return self._within(column, self._plain(column, text, what), low, high, what, False, scale)
        bare, codes, per = parts_of(text)
        value = self._plain(column, bare, what)
        if value is not None and codes and self.currency() not in ("", *codes):
            said = codes[0] if len(codes) == 1 else f"one of {', '.join(codes)}"
            self.fault(column, f"a sum in {self.currency()}, the row's currency; what stands beside it is {said}")
            return None
        if value is not None and per and measure(per, self.manner.units) != self.measure("unit"):
            self.fault(column, f"a price per {self.text('unit')}, as the unit says; here it is per {per}")
            return None
        return self._within(column, value, low, high, what, False, scale)

    def currency(self) -> str:
        """The code of the row's currency; '' where it has none, or a sign that may stand for several."""
        text = self.text("currency").strip()
        codes = codes_of(text)
        if len(codes) == 1:
            return codes[0]
        return text.upper() if _CODE.fullmatch(text) else ""

    def _plain(self, column: str, text: str, what: str) -> float | None:
        """The number as the cell has it, in our unit by the mapping's factor."""
        factor = self._factor(column)
        if not isinstance(text, Typed):
            if column in _PERCENT:
                text = text.removesuffix("%").rstrip()
            elif column in _SIZES:
                in_inches, marked = inches(text)
                if marked or factor == INCH_MM:
                    text, factor = in_inches, INCH_MM
        value, against = parse_number(text, self.manner.decimal, self.manner.doubtful)
        if value is None:
            self.fault(column, f"{what}, {against}")
            return None
        return value if factor == 1.0 else value * factor

    def _factor(self, column: str) -> float:
        return self.manner.factors.get("price" if column.startswith(STEP) else column, 1.0)

    def _within(
        self, column: str, value: float | None, low: float, high: float, what: str, whole: bool, scale: float
    ) -> float | None:
        if value is None:
            return None
        value = value if scale == 1.0 else value * scale
        if self._factor(column) != 1.0 or scale != 1.0:
            value = float(f"{value:.12g}")
        if low <= value <= high and not (whole and value != int(value)):
            return value
        read = f" (read as {value:g})" if self._factor(column) != 1.0 or scale != 1.0 else ""
        self.fault(column, f"{what} from {low:g} to {high:g}{read}{_meant(column, value, low, high)}")
        return None

    def words(self, column: str) -> str:
        text = unguarded(" ".join(self.text(column).split()))
        if not text:
            self.fault(column, "a value")
        elif len(text) > 200 or not text.isprintable():
            self.fault(column, "plain text of at most 200 characters")
        return text

    def measure(self, column: str) -> TradeUnit:
        """What a unit or kind of pack comes to in ours; one of base '' where the cell is empty.

        One of the cell's own word where we know none.
        """
        word = " ".join(self.text(column).split()).casefold()
        return (measure(word, self.manner.units) if word else None) or TradeUnit(word)

    def day(self, column: str) -> date | None:
        text = self.text(column)
        if not text:
            return None
        form = ISO_DATE if isinstance(text, Typed) else self.manner.date_format
        stated_day = parse_date(text, form)
        if stated_day is None or not DAYS[0] <= stated_day <= DAYS[1]:
            self.fault(column, f"a day from {DAYS[0]:%Y} to {DAYS[1]:%Y} written as {form}")
            return None
        return stated_day


# Slips of unit in a column: what a number outside of its range may be in.
_SLIPS = {
    "thickness_mm": ((1000.0, "metres"), (10.0, "centimetres"), (25.4, "inches")),
    "width_mm": ((1000.0, "metres"), (10.0, "centimetres"), (25.4, "inches")),
    "mass_kg": ((0.001, "grams"),),
    "mass_kg_m2": ((0.001, "grams"),),
    "delivery_km": ((0.001, "metres"),),
}


def _meant(column: str, value: float, low: float, high: float) -> str:
    for factor, unit in _SLIPS.get(column, ()):
        if value > 0 and low <= value * factor <= high and (value < low) == (factor > 1):
            return f"; did you mean {value * factor:g}? It looks like {unit}"
    return ""


def known_factor(column: str, name: str) -> float | None:
    """The factor of a named unit for a column; None for one that it does not know."""
    return {key.casefold(): each for key, each in FACTORS.get(column, {}).items()}.get(name.strip().casefold())
