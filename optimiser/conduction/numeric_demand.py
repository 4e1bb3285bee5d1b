"""What a brief says of the numerical proof and of what is not known exactly: sections [numeric] and [uncertainty]."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from materials.errors import Checked, nearest
from materials.models import KINDS

Spread = Annotated[float, Field(ge=0, le=0.5)]
PartOfLevel = Annotated[float, Field(ge=0, le=1)]

# Half of the range about the design value, as a share of it: common practice, from memory.
USUAL_SPREAD = {
    "timber": 0.10,
    "loose fill": 0.05,
    "batt": 0.04,
    "insulating board": 0.04,
    "board": 0.10,
    "membrane": 0.0,
    "cladding": 0.10,
    "fixing": 0.10,
    "air": 0.10,
}


class NumericDemand(Checked):
    """The walls' conduction solved (ISO 10211): of the front once it is found, or as what decides in the search."""

    prove: bool = False  # solve every wall of the front
    constraint: bool = False  # the numerical U is what must meet the target
    tolerance: Annotated[float, Field(ge=2e-4, le=0.05)] = 0.001  # of U
    workers: Annotated[int, Field(ge=1, le=64)] = 2  # processes that share the front

    @property
    def proves(self) -> bool:
        """Whether the front is to be solved once it is found: what the search settled by bounds alone is told too."""
        return self.prove or self.constraint


class Uncertainty(Checked):
    """Ranges about what a wall is drawn with; every value in them is as likely as any other.

    Usual values: common practice, from memory.
    """

    conductivity: dict[str, Spread] = Field(default_factory=dict)  # by kind of material, in place of the usual share
    fill_density: Spread = 0.10  # share, of loose fills
    conductivity_by_density: Annotated[float, Field(ge=-1, le=1)] = 0.0  # change by change, both relative: flat
    gap_mm: Annotated[float, Field(ge=0, le=50)] = 5.0
    frame_fraction: Spread = 0.10  # share
    air_gaps: tuple[PartOfLevel, PartOfLevel] = (0.0, 0.5)  # dU'' of ISO 6946, from level 0 (0) to level 1 (1)
    samples: Annotated[int, Field(ge=64, le=65536)] = 1024  # of one wall
    front_samples: Annotated[int, Field(ge=64, le=65536)] = 256  # of every wall of a front

    @field_validator("conductivity")
    @classmethod
    def _kinds(cls, value: dict[str, float]) -> dict[str, float]:
        for kind in value:
            if kind not in KINDS:
                raise ValueError(f'"{kind}" is no kind of material{nearest(kind, KINDS)}')
        return value

    @field_validator("air_gaps")
    @classmethod
    def _ordered(cls, value: tuple[float, float]) -> tuple[float, float]:
        if value[1] < value[0]:
            raise ValueError("the range runs from the smaller to the larger")
        return value

    @field_validator("samples", "front_samples")
    @classmethod
    def _power(cls, value: int) -> int:
        if value & (value - 1):
            raise ValueError("a power of two is expected, such as 256 or 1024")
        return value

    def spread_of(self, kind: str | None) -> float:
        """Half of the range of a kind's conductivity, as a share; the widest of all where a file states no kind."""
        if kind is None:
            return max(self.spread_of(each) for each in USUAL_SPREAD)
        return self.conductivity.get(kind, USUAL_SPREAD[kind])

    @classmethod
    def none(cls) -> Uncertainty:
        """Everything as drawn."""
        still = dict.fromkeys(KINDS, 0.0)
        return cls(conductivity=still, fill_density=0.0, gap_mm=0.0, frame_fraction=0.0, air_gaps=(0.0, 0.0))
