"""What is read back of suppliers.json, held to what was written there: somebody else may have sent it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from ..search.records import Count, Finite, Share, Written
from ..wall.scores import OBJECTIVES

Objective = Literal[*OBJECTIVES]
Choices = Annotated[str, Field(pattern=r"^\d{1,9}( \d{1,9})*$")]


class MoreRecord(Written):
    """How much more of a figure a front takes."""

    median: Finite | None
    worst: Finite | None
    unreached: Count
    asked: Count


class LossesRecord(Written):
    """What a front loses."""

    walls: Count
    stay: Count
    same_thickness: dict[str, MoreRecord]
    like_for_like: dict[str, MoreRecord]
    best: dict[str, Finite]
    volume: Finite | None


class WallsRecord(Written):
    """The walls of a front as columns, all of one length."""

    id: list[str]
    in_short: list[str]
    row: list[Choices]
    thickness_mm: list[Finite]
    cost_per_m2: list[Finite]
    carbon_kgco2e_m2: list[Finite]
    weight_kg_m2: list[Finite]
    u_value: list[Finite]

    @model_validator(mode="after")
    def _even(self) -> WallsRecord:
        if len({len(value) for value in self.model_dump().values() if isinstance(value, list)}) > 1:
            raise ValueError("columns of one length")
        return self


class CaseRecord(Written):
    """The front without a supplier, or with one alone."""

    supplier: str
    category: str | None
    reason: str | None
    kept: list[str]
    walls: WallsRecord | Annotated[dict[str, Any], Field(max_length=0)]
    space_size: Count
    share: Share
    seconds: Finite
    losses: LossesRecord | None


class FrontsRecord(Written, extra="forbid"):
    """The comparison of one target."""

    target: Finite
    objectives: list[Objective]
    walls: Count
    complete: bool
    seconds: Finite
    stopped: bool
    fronts: list[CaseRecord]


class BreakEvenRecord(Written):
    """The break-even value of one product."""

    product: str
    name: str
    supplier: str
    lever: str
    unit: str
    today: Finite | None
    at: Finite | None
    slots: list[str]
    wall: dict[str, str | Finite | None] | None
    reason: str
    moved: list[str]
    change: Finite | None
    in_short: str

    @model_validator(mode="after")
    def _of_a_value(self) -> BreakEvenRecord:
        if self.at is not None and self.today is None:
            raise ValueError("today beside at")
        return self


class SuppliersRecord(Written):
    """suppliers.json."""

    version: int
    of: str
    fronts: dict[str, FrontsRecord] = Field(default_factory=dict)
    break_even: dict[str, list[BreakEvenRecord]] = Field(default_factory=dict)
    break_even_carbon: dict[str, list[BreakEvenRecord]] = Field(default_factory=dict)
    break_even_conductivity: dict[str, list[BreakEvenRecord]] = Field(default_factory=dict)
