"""What an option of a slot is called in files: a product, members at a spacing, a line of batts."""

from __future__ import annotations

import math
from dataclasses import dataclass

AT, OFFSET, BY = " @", " +", " / "


@dataclass(frozen=True)
class OptionKey:
    """A cell of `front.csv`, taken apart.

    name: a product's key, or the material of a line of batts. spacing_mm, offset_mm: of members, as in
    "stud-45x195 @600 +300". supplier: of a line of batts, as in "hemp-batt / Toy Fills"; first: its thinnest product,
    where material and supplier do not tell it from another line.
    """

    name: str
    spacing_mm: float | None = None
    offset_mm: float = 0.0
    supplier: str = ""
    first: str = ""

    def __str__(self) -> str:
        if self.spacing_mm is not None:
            return f"{self.name}{AT}{self.spacing_mm:g}" + (f"{OFFSET}{self.offset_mm:g}" if self.offset_mm else "")
        return BY.join(filter(None, (self.name, self.supplier, self.first)))

    @classmethod
    def parse(cls, text: str) -> OptionKey:
        """The key behind a cell; what has none of these forms is a name as it stands."""
        name, at, place = text.partition(AT)
        spacing, _, offset = place.partition(OFFSET)
        if at and _number(spacing) is not None:
            return cls(name, _number(spacing), _number(offset) or 0.0)
        parts = text.split(BY)
        return cls(parts[0], supplier=parts[1], first=BY.join(parts[2:])) if len(parts) > 1 else cls(text)


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
