"""Brief: what the wall must do, what it may cost, and what may vary. TOML both ways."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

import tomli_w
from pydantic import Field, ValidationError, create_model, field_validator, model_validator

from materials.errors import Checked, InputError, explain, kind_of_file, nearest, parse_toml
from materials.listed.prices import DEMO
from materials.models import FIRE_CLASSES, FireClass, Material, Origin
from materials.parsed import read_toml
from materials.slips import METRES, within
from materials.untrusted import check_inside

from ..checks.check_table import SECTIONS, ChecksAsked
from ..conduction.numeric_demand import NumericDemand, Uncertainty
from ..house.house import House
from ..locales import DEFAULT, MARKS
from ..score.settings import FIXED, CarbonDemand, Fixing, Labour, Operation, Ranges, Transport
from ..template import CHOSEN, FILLS, GAP, MUST_BE_NAMED, OUTER_FRAME, SLOT_KEYS, SLOTS
from ..wall.buildup import Conditions, Corrections, Loads
from ..wall.quantities import GapWidth, Goal, NotNegative, Number, Piece, Positive, Share, Spacing, Step, Tall
from ..wall.scores import OBJECTIVES
from ..wall.storey_framing import StoreyFraming
from ..wall.weather import with_weather
from .own_materials import OwnMaterials, own_of

Whole = Annotated[int, Field(strict=True)]

Rate = Annotated[Number, Field(ge=1e-6, le=1e6)]  # of exchange


class Target(Checked):
    """The transmittance to reach [W/m2K], and further targets for fronts of their own."""

    u_value: Goal
    also: tuple[Goal, ...] = ()

    @property
    def all(self) -> tuple[float, ...]:
        return tuple(dict.fromkeys((self.u_value, *self.also)))


class Objectives(Checked):
    minimise: tuple[str, ...] = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")

    @field_validator("minimise")
    @classmethod
    def _known(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for each in value:
            if each not in OBJECTIVES:
                raise ValueError(
                    f'"{each}" is no objective{nearest(each, OBJECTIVES)}; choose among {", ".join(OBJECTIVES)}'
                )
        if not value or len(set(value)) != len(value):
            raise ValueError("name at least one objective, each once")
        return value


class Limits(Checked):
    """Hard limits on a wall; what is absent does not bind."""

    max_thickness_mm: Annotated[Number, within(10, 5000, "mm", METRES)] | None = None
    max_cost_per_m2: Positive | None = None
    max_carbon_kgco2e_m2: Number | None = None
    max_weight_kg_m2: Positive | None = None
    max_whole_life_kgco2e_m2: Number | None = None
    min_load_bearing_depth_mm: GapWidth = 0.0

    def upper(self) -> dict[str, float]:
        """Figure -> largest value allowed."""
        pairs = {key.removeprefix("max_"): value for key, value in self if key.startswith("max_")}
        return {key: value for key, value in pairs.items() if value is not None}


class Prices(Checked):
    """Supplier lists (paths beside the brief, or "demo:NAME" for a shipped one), and whom to buy from."""

    lists: Annotated[tuple[str, ...], Field(min_length=1)]
    currency: str = "EUR"
    exchange: dict[str, Rate] = Field(default_factory=dict)  # what one unit of another currency is worth in it
    suppliers: tuple[str, ...] | None = None
    declarations: tuple[str, ...] = ()  # environmental declarations, beside the brief or "demo:NAME"
    on: date | None = None  # the day on which prices must be valid; today where it says nothing
    allow_lapsed: bool = False

    @model_validator(mode="after")
    def _others(self) -> Prices:
        for code in self.exchange:
            if len(code) != 3 or not (code.isascii() and code.isalpha() and code.isupper()):
                raise ValueError(f'exchange: "{code}": expected a currency code of three capitals, such as SEK')
            if code == self.currency:
                raise ValueError(
                    f"exchange: {code} is the brief's own currency; give what one of another is worth in it"
                )
        return self


class MaterialFilter(OwnMaterials):
    """Which materials the brief lets into the slots, by origin and by least class of reaction to fire (EN 13501-1).

    It holds for every slot and fill, membranes included; not for the ties and fixings, nor for air. A material that
    states no origin is left out where origins are given; one that states no class counts as F.
    """

    origins: Annotated[tuple[Origin, ...], Field(min_length=1)] | None = None
    reaction_to_fire: FireClass | None = None

    def against(self, material: Material) -> str | None:
        """What speaks against a material, in words; None where it is let in."""
        if self.origins is not None and material.origin not in self.origins:
            origin = material.origin or "not stated"
            return f"its origin is {origin}; materials.origins lets in {', '.join(self.origins)}"
        if self.reaction_to_fire is not None and material.fire_rank > FIRE_CLASSES.index(self.reaction_to_fire):
            held = FIRE_CLASSES[material.fire_rank]
            return f"its reaction to fire is {held}; materials.reaction_to_fire asks for {self.reaction_to_fire}"
        return None

    def words(self) -> str:
        """The filter as the brief gives it."""
        origins = f"origins = {', '.join(self.origins)}" if self.origins is not None else ""
        fire = f'reaction_to_fire = "{self.reaction_to_fire}"' if self.reaction_to_fire is not None else ""
        return " and ".join(each for each in (origins, fire) if each)


class Framing(Checked):
    """What stands in a frame besides its studs: plates, noggings and the members round openings.

    Together 12 to 15 % of a wall's area is common practice. `fraction` replaces the geometry.
    """

    height_mm: Tall = 2700.0
    plates: Annotated[Whole, Field(ge=0, le=6)] = 2
    nogging_rows: Annotated[Whole, Field(ge=0, le=10)] = 0
    openings_fraction: Share = 0.0
    further_fraction: Share = 0.0  # studs at corners and ends of runs, plates of low storeys: see the order's count
    fraction: Share | None = None

    def extra_fraction(self, width_mm: float, spacing_mm: float) -> float:
        """Share of the area [-] taken by plates, noggings, openings and what else stands on top of the studs' own."""
        return self.placed.share(width_mm, spacing_mm) + self.openings_fraction + self.further_fraction

    @property
    def placed(self) -> StoreyFraming:
        """The part of it that has a place in a storey."""
        return StoreyFraming(height_mm=self.height_mm, plates=self.plates, nogging_rows=self.nogging_rows)


class TieSpec(Checked):
    """The plates that tie a twin frame together across the gap."""

    product: str
    height_mm: Piece = 200.0
    vertical_spacing_mm: Spacing = 1200.0
    overlap_mm: GapWidth = 60.0

    @model_validator(mode="after")
    def _fits(self) -> TieSpec:
        if self.height_mm > self.vertical_spacing_mm:
            raise ValueError("height_mm must not exceed vertical_spacing_mm")
        return self


class Gap(Checked):
    """The widths the gap may have: none, and min to max by step."""

    min_mm: GapWidth = 0.0
    max_mm: GapWidth = 0.0
    step_mm: Step = 10.0

    @model_validator(mode="after")
    def _ordered(self) -> Gap:
        if self.max_mm < self.min_mm:
            raise ValueError("max_mm must not be below min_mm")
        if (self.max_mm - self.min_mm) / self.step_mm > 2000:
            raise ValueError("step_mm is too fine: more than 2000 widths")
        return self

    def widths_mm(self) -> list[float]:
        """All widths, smallest first [mm]; 0 stands for no gap."""
        count = int((self.max_mm - self.min_mm) / self.step_mm + 1e-9) + 1
        widths = [round(self.min_mm + number * self.step_mm, 3) for number in range(count)]
        return widths if widths[0] == 0 else [0.0, *widths]


class SlotChoice(Checked):
    """What a slot may hold: product or material keys, "none" for empty; or one thing, locked."""

    allow: Annotated[tuple[str, ...], Field(min_length=1)] | None = None
    lock: str | None = None
    spacing_mm: Annotated[tuple[Spacing, ...], Field(min_length=1)] = (600.0,)
    offset_mm: Annotated[tuple[NotNegative, ...], Field(min_length=1)] = (0.0,)
    axis: Literal["vertical", "horizontal"] | None = None

    @model_validator(mode="after")
    def _one_way(self) -> SlotChoice:
        if self.allow is not None and self.lock is not None:
            raise ValueError("give allow or lock, not both")
        return self

    @property
    def named(self) -> tuple[str, ...] | None:
        return (self.lock,) if self.lock is not None else self.allow


class Seed(Checked):
    value: Annotated[Whole, Field(ge=0, lt=2**32)] = 1


class SearchBudget(Checked):
    """How the search looks: an evolutionary start, then (unless `complete` is false) the proof that none was missed."""

    complete: bool = True
    start_generations: Annotated[int, Field(ge=1, le=100000)] = 40  # of the evolutionary start before the proof
    workers: Annotated[int, Field(ge=1, le=64)] = 1  # processes that share the proof
    population: Annotated[Whole, Field(ge=8, le=5000)] = 300
    generations: Annotated[Whole, Field(ge=1, le=100000)] = 250
    seconds: Positive | None = None  # wall-clock budget of a target; a busy machine loses what an idle one finishes
    stagnation: Annotated[Whole, Field(ge=2)] = 30  # generations without 0.01 % more hypervolume

    def over(self, seconds: float) -> bool:
        """Whether so many seconds spend the budget; without one a search runs to its end."""
        return self.seconds is not None and seconds >= self.seconds


class _Opening(Checked):
    """What a brief says before its checks."""

    name: str
    place: str = ""
    locale: str = DEFAULT  # how the explorer writes numbers
    target: Target
    objectives: Objectives = Objectives()
    limits: Limits = Limits()
    house: House | None = None
    climate: Conditions = Conditions()
    loads: Loads | None = None
    corrections: Corrections = Corrections()


# Which checks rule walls out, and what each of them asks: a section for every line of the table of checks.
_Checked = create_model("_Checked", __base__=_Opening, checks=(ChecksAsked, ChecksAsked()), **SECTIONS)


class Brief(_Checked):
    """The whole brief."""

    materials: MaterialFilter = MaterialFilter()
    prices: Prices
    labour: Labour = Labour()
    transport: Transport = Transport()
    fixings: dict[str, tuple[Fixing, ...]] = Field(default_factory=dict)  # by slot, and "tie"
    carbon: CarbonDemand = CarbonDemand()
    operation: Operation | None = None
    ranges: Ranges = Ranges()
    framing: Framing = Framing()
    tie: TieSpec | None = None
    gap: Gap = Gap()
    slots: dict[str, SlotChoice] = Field(default_factory=dict)
    seed: Seed = Seed()
    search: SearchBudget = SearchBudget()
    numeric: NumericDemand = NumericDemand()
    uncertainty: Uncertainty = Uncertainty()

    @field_validator("locale")
    @classmethod
    def _written(cls, value: str) -> str:
        if value not in MARKS:
            raise ValueError(f'"{value}" is no locale here{nearest(value, MARKS)}; choose among {", ".join(MARKS)}')
        return value

    @field_validator("slots")
    @classmethod
    def _slot_names(cls, value: dict[str, SlotChoice]) -> dict[str, SlotChoice]:
        known = [*CHOSEN, *FILLS]
        for name in value:
            if name == GAP:
                raise ValueError("the gap's widths stand in [gap] (min_mm, max_mm, step_mm)")
            if name not in known:
                raise ValueError(f'"{name}" is no slot{nearest(name, known)}')
        return value

    @model_validator(mode="after")
    def _locked(self) -> Brief:
        for name in MUST_BE_NAMED:
            if self.slots.get(name, SlotChoice()).named is None:
                raise ValueError(
                    f'[slots."{name}"] is missing: lock = "..." one product, or open it with allow = [...] '
                    "(otherwise the cheapest and thinnest always wins and says nothing)"
                )
        if self.slots.get(OUTER_FRAME, SlotChoice()).offset_mm != (0.0,):
            raise ValueError('offset_mm belongs to [slots."inner frame"]: the outer frame is the line of reference')
        return self

    @model_validator(mode="after")
    def _heated(self) -> Brief:
        asked = {*self.objectives.minimise, *self.limits.upper()}
        if "whole_life_kgco2e_m2" in asked and self.operation is None:
            raise ValueError("whole_life_kgco2e_m2 needs [operation] with the heat source")
        return self

    @model_validator(mode="after")
    def _numeric_constraint(self) -> Brief:
        if self.numeric.constraint and not self.search.complete:
            raise ValueError("numeric.constraint needs the complete search: leave search.complete true")
        if self.numeric.constraint and self.framing.fraction is not None:
            raise ValueError("numeric.constraint needs members that stand somewhere: framing.fraction gives none")
        if self.numeric.constraint and len(self.target.all) > 1:
            raise ValueError("numeric.constraint settles one target: leave target.also out")
        return self

    @model_validator(mode="after")
    def _walls_fit_the_house(self) -> Brief:
        most = self.limits.max_thickness_mm
        if self.house is not None and most is not None and most / 1000 >= self.house.largest_thickness_m:
            raise ValueError(f"limits.max_thickness_mm = {most:g}: such walls {self.house.meeting_words()}")
        return self

    @model_validator(mode="after")
    def _fixings(self) -> Brief:
        for name, given in self.fixings.items():
            known = [*CHOSEN, *FIXED]
            if name not in known:
                raise ValueError(f'[fixings] "{name}" is no slot{nearest(name, known)}; ties have their own, "tie"')
            measure = "per_tie" if name == "tie" else "per_m" if name in SLOT_KEYS["spacing_mm"] else "per_m2"
            if any(getattr(each, measure) is None for each in given):
                raise ValueError(f'[fixings] "{name}" is measured {measure}')
        return self

    @model_validator(mode="after")
    def _meaningful(self) -> Brief:
        for name, slot in self.slots.items():
            for key, homes in SLOT_KEYS.items():
                if key in slot.model_fields_set and name not in homes:
                    raise ValueError(f'[slots."{name}"] {key} belongs to: {", ".join(homes)}')
        named = [each.layer for each in self.corrections.fastener]
        if self.corrections.air_gap_layer is not None:
            named.append(self.corrections.air_gap_layer)
        for layer in named:
            if layer not in SLOTS:
                raise ValueError(f"corrections name layer {layer!r}, which is no slot{nearest(str(layer), SLOTS)}")
        return self

    def slot(self, name: str) -> SlotChoice:
        """What the brief says of a slot; an open one when it says nothing."""
        return self.slots.get(name, SlotChoice())


def read_brief(path: Path, enclosed: bool = False) -> Brief:
    """Read a brief. InputError names file, key, value and what was expected.

    enclosed: of a study or a run, which somebody may have sent; no file that it names may lie outside its folder.
    """
    raw = read_toml(path)
    if not enclosed:
        return brief_from(raw, str(path), path.parent)
    check_inside(path, path.parent)
    brief = brief_from(raw, str(path))  # it has the twelve values of its weather file
    for name in (*brief.prices.lists, *brief.prices.declarations):
        if not name.startswith(DEMO):
            check_inside(path.parent / name, path.parent)
    return brief


def parse_brief(text: str, place: str) -> Brief:
    """The same from text."""
    return brief_from(parse_toml(text, place), place)


def brief_from(raw: dict[str, Any], place: str, folder: Path | None = None) -> Brief:
    """Validate the parsed file. folder: that a weather file stands in; the brief then holds its twelve values."""
    if not raw:
        raise InputError(f"{place}: the brief is empty; expected at least name, [target], [prices] and [slots]")
    if kind_of_file(raw) == "a build-up":
        raise InputError(f"{place}: this is a build-up; expected a brief, with name, [target], [prices] and [slots]")
    if "climate" in raw:
        raw = raw | {"climate": with_weather(raw["climate"], folder, f"{place}: climate")}
    try:
        brief = Brief(**raw)
    except ValidationError as error:
        raise explain(error, place) from None
    own_of(brief.materials.own, place)
    return brief


def brief_to_toml(brief: Brief) -> str:
    """The brief as a file; reading it back gives an equal brief."""
    return tomli_w.dumps(_lists(brief.model_dump(exclude_none=True, exclude_unset=True, by_alias=True)))


def _lists(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _lists(each) for key, each in value.items()}
    return [_lists(each) for each in value] if isinstance(value, list | tuple) else value
