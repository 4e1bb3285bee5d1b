"""The numbers that a build-up file may hold, each within what its figure can be."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field

LEAST_SIZE, MOST_SIZE = 0.01, 100_000.0  # mm


def _of_a_thing(value: float) -> float:
    """A size that a member can have: what is divided by it stays a number."""
    if not LEAST_SIZE <= value <= MOST_SIZE:
        raise ValueError(f"expected {LEAST_SIZE:g} to {MOST_SIZE:g} mm")
    return value


Number = Annotated[float, Field(strict=True)]  # a number, not a text or a truth value that could stand for one
Positive = Annotated[Number, Field(gt=0)]
Size = Annotated[Positive, AfterValidator(_of_a_thing)]  # mm
NotNegative = Annotated[Number, Field(ge=0)]
Share = Annotated[Number, Field(ge=0, lt=1)]
Emissivity = Annotated[Number, Field(gt=0, le=1)]
Percent = Annotated[Number, Field(ge=0, le=100)]
Humidity = Annotated[Number, Field(gt=0, le=100)]  # of a room: air without any vapour has no dew point
Surface = Annotated[Number, Field(ge=0, le=10)]  # m2K/W
Thickness = Annotated[Number, Field(ge=0, le=5000)]  # mm; more is a slip of the unit
PerArea = Annotated[Number, Field(gt=0, le=1000)]  # 1/m2
Months = Annotated[tuple[Number, ...], Field(min_length=12, max_length=12)]
