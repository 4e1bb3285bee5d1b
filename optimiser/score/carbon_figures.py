"""Carbon of one wall, readable: by module and by layer, what counts, what is stored and how it ends, and in use."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from materials.models import MODULES, Material, Module, ModuleCarbon

from . import embodied_carbon
from .settings import CarbonDemand, EndOfLife, Transport

ALL: tuple[Module, ...] = tuple(each for each in MODULES if each != "D")
FLOWS = ("fossil", "biogenic", "land_use")
LEAVES = {
    "incineration": "burnt at the end of life, when all of it goes to the air",
    "reuse": "used again, and counted as leaving the building with the next user",
    "land filling": "put to land fill, and counted as given off in full",
}
NO_METHANE = "methane from land fill counts only where a declaration states it; no source for a share was at hand"


@dataclass(frozen=True)
class HeldMaterial:
    """A mass [kg] of a material per m2, with the distance [km] from which its supplier delivers, where stated."""

    material: Material
    mass: float
    delivery_km: float | None = None

    def times(self, share: float) -> HeldMaterial:
        return HeldMaterial(self.material, self.mass * share, self.delivery_km)


@dataclass(frozen=True)
class LayerCarbon:
    """What one layer brings, its members and fixings included, per m2 of wall. Modules that are unknown are absent.

    declared, generic, missing: material key -> modules of which the value is declared, worked out, unknown.
    """

    number: int  # from 1, outside first
    role: str
    score: float | None
    stored: float | None
    modules: dict[Module, ModuleCarbon]
    declared: dict[str, tuple[Module, ...]]
    generic: dict[str, tuple[Module, ...]]
    missing: dict[str, tuple[Module, ...]]

    def as_json(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "role": self.role,
            "score_kgco2e_m2": self.score,
            "stored_kgco2_m2": self.stored,
            "modules": _modules_json(self.modules),
            "declared": {key: list(each) for key, each in self.declared.items()},
            "generic": {key: list(each) for key, each in self.generic.items()},
            "missing": {key: list(each) for key, each in self.missing.items()},
        }


@dataclass(frozen=True)
class CarbonFigures:
    """Carbon of a wall per m2 [kgCO2e/m2]: by module, what counts, and what is stored; in use where asked for.

    modules: of the whole wall; one that is unknown for some layer is absent. D holds what declarations state of it.
    operational, whole_life: over the study period; None where no heat source was asked for or U is unknown.
    """

    counted: tuple[Module, ...]
    balanced: bool
    study_years: float
    modules: dict[Module, ModuleCarbon]
    score: float | None
    stored: float | None
    layers: list[LayerCarbon]
    stored_words: list[str]
    operational: float | None = None
    whole_life: float | None = None

    @property
    def scope(self) -> str:
        """What the score is, in words."""
        what = "total carbon with biogenic carbon balanced" if self.balanced else "fossil carbon and land use"
        return f"{', '.join(self.counted)}: {what}"

    def as_json(self) -> dict[str, Any]:
        """The object `carbon` of `check --json`; values unrounded, null where unknown."""
        out = {
            "counted": list(self.counted),
            "scope": self.scope,
            "study_years": self.study_years,
            "score_kgco2e_m2": self.score,
            "stored_kgco2_m2": self.stored,
            "stored_words": self.stored_words,
            "modules": _modules_json(self.modules),
            "layers": [each.as_json() for each in self.layers],
        }
        if self.operational is not None:
            out |= {"operational_kgco2e_m2": self.operational, "whole_life_kgco2e_m2": self.whole_life}
        return out


def carbon_figures(
    layers: Sequence[tuple[str, Sequence[HeldMaterial]]],
    demand: CarbonDemand,
    transport: Transport,
    operational: float | None = None,
) -> CarbonFigures:
    """Carbon of a wall from what its layers (role, holdings per m2 of wall) hold, outside first.

    operational: carbon of the heat lost over the study period [kgCO2e/m2], where asked for. Source: EN 15978.
    """
    by_layer = [_layer(number, role, held, demand, transport) for number, (role, held) in enumerate(layers, 1)]
    score = _total([each.score for each in by_layer])
    materials = {each.material.key: each.material for _, held in layers for each in held if each.mass > 0}
    known = None if operational is None or math.isnan(operational) else operational
    return CarbonFigures(
        counted=demand.modules,
        balanced=embodied_carbon.is_balanced(demand),
        study_years=demand.study_years,
        modules=_sum_known([each.modules for each in by_layer]),
        score=score,
        stored=_total([each.stored for each in by_layer]),
        layers=by_layer,
        stored_words=[words for each in materials.values() if (words := stored_words(each, demand))],
        operational=known,
        whole_life=None if known is None or score is None else score + known,
    )


def _layer(
    number: int, role: str, held: Sequence[HeldMaterial], demand: CarbonDemand, transport: Transport
) -> LayerCarbon:
    holdings = [
        (each, embodied_carbon.modules_per_kg(each.material, demand, transport, each.delivery_km)) for each in held
    ]
    scores = [embodied_carbon.counted(per_kg.values, demand) * each.mass for each, per_kg in holdings]
    stored = [embodied_carbon.stored(each.material) * each.mass for each, _ in holdings]
    scaled = [
        {}  # of an unknown mass no module is known
        if math.isnan(each.mass)
        else {name: embodied_carbon.times(each.mass, value) for name, value in per_kg.values.items()}
        for each, per_kg in holdings
    ]
    return LayerCarbon(
        number=number,
        role=role,
        score=_total([None if math.isnan(each) else each for each in scores]),
        stored=_total([None if math.isnan(each) else each for each in stored]),
        modules=_sum_known(scaled),
        declared={each.material.key: per_kg.declared for each, per_kg in holdings if per_kg.declared},
        generic={each.material.key: per_kg.generic for each, per_kg in holdings if per_kg.generic},
        missing={
            each.material.key: ALL if math.isnan(each.mass) else per_kg.missing
            for each, per_kg in holdings
            if per_kg.missing or math.isnan(each.mass)
        },
    )


def _total(values: Sequence[float | None]) -> float | None:
    return None if None in values else float(sum(values))


def _sum_known(parts: Sequence[Mapping[Module, ModuleCarbon]]) -> dict[Module, ModuleCarbon]:
    """Sums by module; a module is known where every part knows it. D is the sum of what is stated."""
    return {
        name: embodied_carbon.sum_of(each[name] for each in parts if name in each)
        for name in MODULES
        if (any if name == "D" else all)(name in each for each in parts)
    }


def _modules_json(modules: Mapping[Module, ModuleCarbon]) -> dict[str, Any]:
    """Every module with its flows and total; null where it is unknown, and D only where it is stated."""
    return {
        name: {flow: getattr(modules[name], flow) for flow in FLOWS} | {"total": modules[name].total}
        if name in modules
        else None
        for name in MODULES
        if name != "D" or name in modules
    }


def stored_words(material: Material, demand: CarbonDemand | None = None) -> str | None:
    """What a kg of a material stores, how that ends, and how it compares with the trade's rule; None if none."""
    demand = demand or CarbonDemand()
    stored = -embodied_carbon.stored(material)
    if not stored > 0:
        return None
    end: EndOfLife = embodied_carbon.end_of_life(material, demand)
    stated = material.declaration is not None and {"C3", "C4"} & set(material.declaration.modules)
    leaves = "given off as its declaration states" if stated else LEAVES[end]
    words = f"a kg of {material.name} holds {stored:.2f} kg CO2 until it is {leaves}"
    if end == "land filling" and not stated:
        words += f" ({NO_METHANE})"
    rule = material.biogenic_practice_kgco2e_kg
    if rule:
        share = stored / -rule - 1
        compared = "the same" if abs(share) < 0.005 else f"{abs(share):.0%} {'more' if share > 0 else 'less'}"
        words += f"; common practice reckons with about {-rule:.1f} kg, this figure is {compared}"
    return words
