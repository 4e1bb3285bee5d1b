"""Slips of unit: what a figure can be, and what was probably meant where it cannot.

Bounds are physical, or far beyond what is built, so that no real input is refused; a value outside of them that would
lie inside in another unit is told with that unit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pydantic import AfterValidator


@dataclass(frozen=True)
class Slip:
    """How a value may have been meant: what to do to it, and the unit that it then was written in."""

    mend: Callable[[float], float]
    written: str


def times(factor: float, written: str) -> Slip:
    """A value written in a unit of so many of the expected one."""
    return Slip(lambda value: value * factor, written)


PERCENT = times(0.01, "percent")
SHARE = times(100.0, "a share")
METRES = times(1000.0, "m")  # where mm are expected
MILLIMETRES = times(0.001, "mm")  # where m are expected
METRES_FOR_KM = times(0.001, "m")  # where km are expected
KELVIN = Slip(lambda value: value - 273.15, "kelvin")
NEWTONS = times(0.001, "N")
TENFOLD = times(10.0, "a slip of the decimal point")
TENTH = times(0.1, "a slip of the decimal point")
MILLIWATTS = times(0.001, "mW")
MINUTES = times(1 / 60, "minutes")
GRAMS = times(0.001, "a thousandth of that unit")
KILO = times(1000.0, "thousands")


@dataclass(frozen=True)
class Bounds:
    """From low to high, in a unit; `zero`: or none at all."""

    low: float
    high: float
    unit: str
    slips: tuple[Slip, ...] = ()
    zero: bool = False

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high or (self.zero and value == 0)

    def check(self, value: float) -> float:
        """The value; ValueError with what was expected, and what was probably meant."""
        if not self.holds(value):
            raise ValueError(self.words(value))
        return value

    def words(self, value: float) -> str:
        unit = f" {self.unit}" if self.unit else ""
        expected = f"expected {'0 or ' if self.zero and self.low > 0 else ''}{self.low:g} to {self.high:g}{unit}"
        for slip in self.slips:
            meant = slip.mend(value)
            if self.holds(meant) and meant != 0:
                return f"{expected}; {value:g} looks like {slip.written}: did you mean {meant:.6g}?"
        return expected


def within(low: float, high: float, unit: str, *slips: Slip, zero: bool = False) -> AfterValidator:
    """For a field of a record: a number from low to high (or 0), else what was probably meant."""
    return AfterValidator(Bounds(low, high, unit, slips, zero).check)
