"""The numbers that a build-up file may hold, each within what its figure can be."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field

from materials.slips import (
    KELVIN,
    METRES,
    MILLIMETRES,
    MILLIWATTS,
    NEWTONS,
    PERCENT,
    SHARE,
    Slip,
    within,
)

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
Share = Annotated[Number, within(0, 0.999999, "as a share", PERCENT)]
Emissivity = Annotated[Number, Field(gt=0, le=1)]
Humidity = Annotated[Number, within(5, 100, "% relative humidity", SHARE)]  # the driest months of deserts have 10
Surface = Annotated[Number, Field(ge=0, le=10)]  # m2K/W
Thickness = Annotated[Number, Field(ge=0, le=5000)]  # mm; more is a slip of the unit
WallThickness = Annotated[Number, within(10, 5000, "mm", METRES, zero=True)]
PerArea = Annotated[Number, Field(gt=0, le=1000)]  # 1/m2
Outdoors = Annotated[Number, within(-70, 60, "°C", KELVIN)]
Indoors = Annotated[Number, within(-40, 60, "°C", KELVIN)]
OutdoorMonths = Annotated[tuple[Outdoors, ...], Field(min_length=12, max_length=12)]
IndoorMonths = Annotated[tuple[Indoors, ...], Field(min_length=12, max_length=12)]
Width = Annotated[Number, within(0.3, 1000, "mm", METRES)]  # of a member's face; webs of steel have 0.6
Spacing = Annotated[Number, within(10, 10_000, "mm", METRES)]  # from member to member
Piece = Annotated[Number, within(1, 10_000, "mm", METRES)]  # the length of a plate or block
Tall = Annotated[Number, within(1000, 30_000, "mm", METRES)]  # a stud, a storey
Storey = Annotated[Number, within(1, 30, "m", MILLIMETRES)]
GapWidth = Annotated[Number, within(1, 5000, "mm", METRES, zero=True)]
Step = Annotated[Number, within(0.1, 1000, "mm", METRES)]
Run = Annotated[Number, within(0.1, 200, "m", MILLIMETRES)]  # a side of a house
Span = Annotated[Number, within(0.1, 50, "m", MILLIMETRES, zero=True)]  # of a floor, a roof
LineLoad = Annotated[Number, within(0, 1000, "kN/m", NEWTONS)]
AreaLoad = Annotated[Number, within(0, 50, "kN/m2", NEWTONS)]
Margin = Annotated[Number, within(0.5, 3, "times", PERCENT)]  # on the moisture load of a humidity class
MOST_R = 40.0  # m2K/W; what is written for U and is more was milliwatts
R_FOR_U = Slip(lambda value: 1 / value if 0 < value <= MOST_R else 0.0, "R in m2K/W")
Goal = Annotated[Number, within(0.005, 10, "W/m2K", R_FOR_U, MILLIWATTS)]
