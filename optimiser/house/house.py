"""The house in the brief: its outline, its walls by orientation, and what a thickness of wall does to its floor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import Field, field_validator, model_validator

from materials.errors import Checked, InputError, nearest

from ..score.area import floor_area_lost
from ..wall.quantities import NotNegative, Number, Run, Storey, WallThickness
from .outline import LARGEST_M, Metres, Outline, fitting, outline_of, points_of

Storeys = Annotated[int, Field(strict=True, ge=1, le=20)]
Array = NDArray[np.float64]

ORIENTATIONS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
ON_PLAN = {(0, 1): 0.0, (1, 0): 90.0, (0, -1): 180.0, (-1, 0): 270.0}  # outward direction: degrees clockwise from +y


@dataclass(frozen=True)
class Facade:
    """The walls that face one way, all storeys together: their outer faces."""

    orientation: str  # nearest of the eight points of the compass
    azimuth_deg: float  # clockwise from north
    gross_m2: float
    openings_m2: float | None  # None where the brief gives the openings of the whole house only


class House(Checked):
    """The house whose walls these are: a right-angled plan, the same on every storey, with one side of its walls fixed.

    outline: the fixed faces on plan, corner by corner [m], +y north unless `north_deg` (where north lies on the plan,
    degrees clockwise from +y) says otherwise; or length_m (along x) and width_m of a rectangle. fixed: "outside", the
    plot is tight and thickness comes off the floor; "inside", the rooms are given and the house grows outward.
    reference_thickness_mm: the wall that floor area lost is counted against; 0, walls of no thickness.
    """

    outline: tuple[Metres, ...] | None = None
    length_m: Run | None = None
    width_m: Run | None = None
    storeys: Storeys = 1
    storey_height_m: Storey = 2.7
    storey_heights_m: tuple[Storey, ...] | None = None
    openings_m2: float | dict[str, float] = 0.0
    north_deg: Annotated[Number, Field(ge=-360, le=360)] = 0.0
    fixed: Literal["outside", "inside"] = "outside"
    reference_thickness_mm: WallThickness = 0.0
    floor_price_per_m2: NotNegative | None = None

    # What the brief gives

    @property
    def plan(self) -> Outline:
        """The outline of the fixed faces."""
        if self.outline is not None:
            return outline_of(self.outline)
        length, width = self.length_m, self.width_m
        return outline_of(((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))

    @property
    def perimeter_m(self) -> float:
        """Of the fixed faces."""
        return self.plan.perimeter_m

    @property
    def height_m(self) -> float:
        """Of the walls, all storeys together."""
        if self.storey_heights_m is not None:
            return math.fsum(self.storey_heights_m)
        return self.storeys * self.storey_height_m

    @property
    def openings_total_m2(self) -> float:
        return math.fsum(self.openings_m2.values()) if isinstance(self.openings_m2, dict) else self.openings_m2

    @property
    def reference_m(self) -> float:
        return self.reference_thickness_mm / 1000

    @property
    def largest_thickness_m(self) -> float:
        """The thickness from which walls meet: across the house, or across a recess where they grow outward.

        Infinite where nothing faces a wall that grows outward.
        """
        return self.plan.inward_limit_m if self.fixed == "outside" else self.plan.outward_limit_m

    @property
    def wall_area_m2(self) -> float:
        """External wall area less openings; where the house grows outward, with the reference wall."""
        return float(self.wall_area(self.reference_m))

    # What a thickness makes of it: thickness (...) [m], NaN below 0 and beyond `largest_thickness_m`

    def gross_wall_area(self, thickness: ArrayLike) -> Array:
        """Area of the outer faces (...) [m2], openings included: external dimensions, common practice.

        Outside fixed: P h. Inside fixed: (P + 8 t) h, as the outer face of a right-angled plan has 4 more corners.
        """
        return sum(self._lengths(thickness).values()) * self.height_m

    def wall_area(self, thickness: ArrayLike) -> Array:
        """Area of the outer faces less openings (...) [m2]."""
        return self.gross_wall_area(thickness) - self.openings_total_m2

    def facades(self, thickness: float = 0.0) -> tuple[Facade, ...]:
        """The outer faces by orientation, clockwise from the first one after north; InputError where walls meet."""
        self.check_thickness(thickness)
        faces = []
        for way, length in self._lengths(thickness).items():
            azimuth = (ON_PLAN[way] - self.north_deg) % 360.0
            name = ORIENTATIONS[int(azimuth / 45 + 0.5) % 8]
            of = self.openings_m2
            openings = of.get(name, 0.0) if isinstance(of, dict) else None
            faces.append(Facade(name, azimuth, float(length) * self.height_m, openings))
        return tuple(sorted(faces, key=lambda each: ORIENTATIONS.index(each.orientation)))

    def floor_area(self, thickness: ArrayLike) -> Array:
        """Floor area within the walls (...) [m2], all storeys: A - P t + 4 t^2 each; A where the inside is fixed."""
        if self.fixed == "outside":
            return self.storeys * self.plan.area_inside(thickness)
        return self._where_walls_fit(thickness, self.storeys * self.plan.area_m2)

    def floor_area_lost(self, thickness: ArrayLike) -> Array:
        """Floor area lost against the reference wall (...) [m2]: below 0 where thinner, 0 where the inside is fixed."""
        if self.fixed == "inside":
            return self._where_walls_fit(thickness, 0.0)
        of_plan = (self.plan.perimeter_m, self.storeys, self.plan.corners)
        return floor_area_lost(self._fitting(thickness), *of_plan) - floor_area_lost(self.reference_m, *of_plan)

    def floor_area_lost_percent(self, thickness: ArrayLike) -> Array:
        """Floor area lost (...) [%] of the floor area within the reference walls."""
        return 100 * self.floor_area_lost(thickness) / self.floor_area(self.reference_m)

    def floor_value_lost(self, thickness: ArrayLike) -> Array | None:
        """What the floor area lost is worth (...) [currency]; None where the brief gives no price of floor."""
        return None if self.floor_price_per_m2 is None else self.floor_area_lost(thickness) * self.floor_price_per_m2

    def footprint(self, thickness: ArrayLike) -> Array:
        """Ground within the outer faces (...) [m2]: A; A + P t + 4 t^2 where the house grows outward."""
        if self.fixed == "inside":
            return self.plan.area_outside(thickness)
        return self._where_walls_fit(thickness, self.plan.area_m2)

    def ground_taken(self, thickness: ArrayLike) -> Array:
        """Ground the house takes more than with the reference wall (...) [m2]; 0 where the outside is fixed."""
        return self.footprint(thickness) - self.footprint(self.reference_m)

    def check_thickness(self, thickness: float) -> None:
        """InputError where walls of this thickness [m] meet each other, or where it is below 0 or no number."""
        if not 0 <= thickness < math.inf:
            raise InputError(f"a wall {1000 * thickness:g} mm thick: expected a thickness of 0 or more")
        if np.isnan(self._where_walls_fit(thickness, 0.0)):
            raise InputError(f"walls {1000 * thickness:.10g} mm thick {self.meeting_words()}")

    def meeting_words(self) -> str:
        """Which walls meet first, and from which thickness on."""
        inside = self.fixed == "outside"
        meeting = self.plan.inwards if inside else self.plan.outwards
        if meeting is None:
            return "meet nowhere"
        across = "across the house" if inside else "across a recess"
        limit = f"{1000 * self.largest_thickness_m:.10g}"
        return f"meet {across}: {meeting.between} leave room for {limit} mm each"

    def _lengths(self, thickness: ArrayLike) -> dict[tuple[int, int], Array]:
        """Length of the outer faces (...) [m] by outward direction on plan."""
        if self.fixed == "inside":
            return self.plan.lengths_outside(thickness)
        return {way: self._where_walls_fit(thickness, each) for way, each in self.plan.lengths_outside(0.0).items()}

    def _where_walls_fit(self, thickness: ArrayLike, value: ArrayLike) -> Array:
        return np.where(np.isnan(self._fitting(thickness)), np.nan, value)

    def _fitting(self, thickness: ArrayLike) -> Array:
        return fitting(thickness, self.largest_thickness_m)

    # What a brief may not say

    @field_validator("outline", mode="plain")
    @classmethod
    def _outline(cls, value: Any) -> tuple[Metres, ...] | None:
        if value is None:
            return None
        points = points_of(value)
        outline_of(points)
        return points

    @field_validator("openings_m2", mode="plain")
    @classmethod
    def _opening_numbers(cls, value: Any) -> float | dict[str, float]:
        if not isinstance(value, dict):
            return _square_metres(value, "")
        for name in value:
            if name not in ORIENTATIONS:
                raise ValueError(f'"{name}" is no side{nearest(name, ORIENTATIONS)}; one of {", ".join(ORIENTATIONS)}')
        return {name: _square_metres(each, f"{name}: ") for name, each in value.items()}

    @model_validator(mode="before")
    @classmethod
    def _storeys_of_heights(cls, data: Any) -> Any:
        heights = data.get("storey_heights_m") if isinstance(data, dict) else None
        if isinstance(heights, list | tuple) and heights:
            return {"storeys": len(heights)} | data
        return data

    @model_validator(mode="after")
    def _shape(self) -> House:
        given = [each is not None for each in (self.length_m, self.width_m)]
        if self.outline is not None and any(given):
            raise ValueError("give outline, or length_m and width_m, not both")
        if self.outline is None and not all(given):
            raise ValueError("give length_m and width_m, or an outline = [[0, 0], ...] of at least 4 corners")
        if self.storey_heights_m is not None:
            if "storey_height_m" in self.model_fields_set:
                raise ValueError("give storey_height_m or storey_heights_m, not both")
            if len(self.storey_heights_m) != self.storeys:
                raise ValueError(
                    f"storey_heights_m has {len(self.storey_heights_m)} heights; storeys is {self.storeys}"
                )
        return self

    @model_validator(mode="after")
    def _reference(self) -> House:
        if self.reference_thickness_mm and self.reference_m >= self.largest_thickness_m:
            raise ValueError(
                f"reference_thickness_mm = {self.reference_thickness_mm:g}: such walls {self.meeting_words()}"
            )
        return self

    @model_validator(mode="after")
    def _openings(self) -> House:
        """Openings are held against the fixed faces: those of the thinnest wall."""
        if not float(self.wall_area(0.0)) > 0:
            raise ValueError("openings_m2 is larger than the walls")
        if not isinstance(self.openings_m2, dict):
            return self
        facades = {each.orientation: each for each in self.facades()}
        for name, area in self.openings_m2.items():
            if name not in facades:
                raise ValueError(f'openings_m2 "{name}": no wall faces there; the walls face {", ".join(facades)}')
            if area > facades[name].gross_m2:
                raise ValueError(
                    f'openings_m2 "{name}" = {area:g} is larger than the walls there, {facades[name].gross_m2:.2f} m2'
                )
        return self


def _square_metres(value: Any, place: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{place}expected m2, or m2 by side of the house, such as {{ north = 4.5, south = 12 }}")
    if not 0 <= value <= LARGEST_M**2:
        raise ValueError(f"{place}expected an area of 0 or more [m2], and a finite one")
    return float(value)


@dataclass(frozen=True)
class HouseTotals:
    """One wall all round the house. Money in the brief's currency; None where the figure or the price is not given."""

    thickness_mm: float
    wall_area_m2: float  # outer faces less openings
    floor_area_m2: float
    floor_area_lost_m2: float  # against the reference wall
    floor_area_lost_percent: float
    floor_value_lost: float | None
    footprint_m2: float
    ground_taken_m2: float  # against the reference wall
    cost: float | None
    carbon_kgco2e: float | None
    biogenic_kgco2e: float | None
    weight_kg: float | None
    heat_loss_w_k: float | None  # U A of the walls, external dimensions
    whole_life_kgco2e: float | None = None


def house_totals(
    house: House,
    thickness_mm: float,
    *,
    u_value: float | None = None,
    cost_per_m2: float | None = None,
    carbon_kgco2e_m2: float | None = None,
    biogenic_kgco2e_m2: float | None = None,
    weight_kg_m2: float | None = None,
    whole_life_kgco2e_m2: float | None = None,
) -> HouseTotals:
    """What a wall [mm, W/m2K, per m2 of wall] comes to for the house; InputError where such walls meet.

    Every figure per m2 times the outer faces less openings; heat loss H = U A with the same area (the external
    dimensions of ISO 13789; thermal bridges apart).
    """
    t = thickness_mm / 1000
    house.check_thickness(t)
    area = float(house.wall_area(t))

    def over(per_m2: float | None) -> float | None:
        return None if per_m2 is None else per_m2 * area

    value = house.floor_value_lost(t)
    return HouseTotals(
        thickness_mm=thickness_mm,
        wall_area_m2=area,
        floor_area_m2=float(house.floor_area(t)),
        floor_area_lost_m2=float(house.floor_area_lost(t)),
        floor_area_lost_percent=float(house.floor_area_lost_percent(t)),
        floor_value_lost=None if value is None else float(value),
        footprint_m2=float(house.footprint(t)),
        ground_taken_m2=float(house.ground_taken(t)),
        cost=over(cost_per_m2),
        carbon_kgco2e=over(carbon_kgco2e_m2),
        biogenic_kgco2e=over(biogenic_kgco2e_m2),
        weight_kg=over(weight_kg_m2),
        heat_loss_w_k=over(u_value),
        whole_life_kgco2e=over(whole_life_kgco2e_m2),
    )
