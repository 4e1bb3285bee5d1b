"""Embodied carbon of what is built in, by life-cycle module: EN 15978, with the indicators of EN 15804+A2.

Everything is linear in the mass built in, so a material has one figure per kg for each module, and a wall the sum over
its layers. What the modules hold, per kg built in:

- A1-A3: making it. From the product's declaration, else the generic value of its kind.
- A4: carriage to the site. The product's own delivery distance comes first, then its declaration, then the brief's
  distance. By vehicle, per tonne and km.
- A5: what is cut off on site (made, carried, and ended without being used), and energy of the work.
- B4: replacements within the study period, each with A1-A3, A4, A5 and the end of life of what comes out. Always worked
  out from the service life and the study period, which no declaration can know.
- C1, C2: taking down, and carriage to where it ends (by lorry).
- C3, C4: its end: burnt or used again (C3), or put to land fill (C4).
- D: beyond the building's life. From declarations alone, shown apart and never counted.

Biogenic carbon goes in as -1 and out as +1 (EN 16485, EN 15804+A2). Burnt, reused and land filled alike, all of it
leaves within C3 and C4: what is burnt goes to the air, what is reused leaves with the next user, and land fill may not
count as a store. Methane from land fill counts only where a declaration states it: no source for a share was at hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from materials.factors import load_factors
from materials.models import MODULES, Declaration, Material, Module, ModuleCarbon

from ..batch import Array, WallBatch
from .area import per_layer
from .settings import CarbonDemand, EndOfLife, Transport

PER_TONNE = 1e-3  # t per kg
CYCLE: tuple[Module, ...] = ("A1-A3", "A4", "A5", "C1", "C2", "C3", "C4")  # what every replacement repeats
WASTED: tuple[Module, ...] = ("A1-A3", "A4", "C2", "C3", "C4")  # what is cut off on site has gone through
BALANCED: frozenset[Module] = frozenset(("A1-A3", "C3", "C4"))  # counted together, biogenic carbon goes in and out
DISPOSAL_VEHICLE = "lorry"
NOTHING = ModuleCarbon()
UNKNOWN = float("nan")


def embodied(batch: WallBatch) -> Array:
    """Embodied carbon per m2 of wall over the modules that count (n,) [kgCO2e/m2]."""
    return per_layer(batch, "carbon").sum(axis=1)


def biogenic(batch: WallBatch) -> Array:
    """Biogenic carbon stored per m2 of wall (n,) [kgCO2/m2], negative."""
    return per_layer(batch, "biogenic").sum(axis=1)


@dataclass(frozen=True)
class MaterialCarbon:
    """Carbon of a material by module [kgCO2e per kg built in], and where each value comes from.

    values: the modules that are known. D is among them only where a declaration states it.
    declared, generic, missing: those from the product's declaration, those worked out, those that nobody can tell.
    closed: declared modules to which the stored carbon was added that the declaration never lets out.
    """

    values: dict[Module, ModuleCarbon]
    declared: tuple[Module, ...]
    generic: tuple[Module, ...]
    missing: tuple[Module, ...]
    closed: tuple[Module, ...]
    end: EndOfLife
    replacements: int | None  # within the study period; None where no service life is known


def modules_per_kg(
    material: Material, demand: CarbonDemand, transport: Transport, delivery_km: float | None = None
) -> MaterialCarbon:
    """Carbon of a material by module per kg built in. Source: EN 15978, EN 15804+A2.

    delivery_km: of the product, where its supplier states it. A declaration's modules stand in place of generic ones,
    module by module. C3 and C4 tell of one end: where a declaration states one of them, the other adds nothing but the
    stored carbon that is still in the material.
    """
    declared = _declared(material, delivery_km)
    end = end_of_life(material, demand)
    values = _generic(material, demand, transport, delivery_km, end, declared) | declared
    closed = _close(values, material, end, declared)
    if "A5" not in values and "A1-A3" in values:
        values["A5"] = _installation(values, material, demand)
    count = replacements(material, demand.study_years)
    if count == 0 or (count is not None and all(each in values for each in CYCLE)):
        values["B4"] = times(count, sum_of(values[each] for each in CYCLE)) if count else NOTHING
    ordered = {each: values[each] for each in MODULES if each in values}
    return MaterialCarbon(
        values=ordered,
        declared=tuple(each for each in ordered if each in declared),
        generic=tuple(each for each in ordered if each not in declared),
        missing=tuple(each for each in MODULES if each not in ordered and each != "D"),
        closed=closed,
        end=end,
        replacements=count,
    )


def per_kg(
    material: Material,
    demand: CarbonDemand | None = None,
    transport: Transport | None = None,
    delivery_km: float | None = None,
) -> tuple[float, float]:
    """Carbon that counts, and biogenic carbon stored [kgCO2e/kg built in]; NaN where nothing is known.

    What counts: see `counted`. Stored: as A1-A3 takes it up (negative), whatever counts.
    """
    demand = demand or CarbonDemand()
    modules = modules_per_kg(material, demand, transport or Transport(), delivery_km)
    return counted(modules.values, demand), stored(material)


def stored(material: Material) -> float:
    """Biogenic carbon that a kg holds [kgCO2/kg], negative; NaN where nothing is known of the material's carbon."""
    if material.declaration is not None:
        return material.declaration.biogenic_kgco2e_kg
    if material.biogenic_kgco2e_kg is not None:
        return material.biogenic_kgco2e_kg
    return UNKNOWN if material.fossil_kgco2e_kg is None else 0.0


def is_balanced(demand: CarbonDemand) -> bool:
    """Whether the modules that count see biogenic carbon both go in and come out: A1-A3 with C3 and C4."""
    return set(demand.modules) >= BALANCED


def counted(values: dict[Module, ModuleCarbon], demand: CarbonDemand) -> float:
    """The carbon that counts, of modules [the unit of the values]; NaN where one that counts is missing.

    Fossil and land use of the modules that count. Biogenic carbon joins where they see it go in and come out; what then
    stays is what was given off on top of what was taken up (methane). What is stored is never netted off.
    """
    if any(each not in values for each in demand.modules):
        return UNKNOWN
    total = sum(values[each].fossil + values[each].land_use for each in demand.modules)
    if not is_balanced(demand):
        return total
    return total + max(sum(values[each].biogenic for each in demand.modules), 0.0)


def by_range(
    material: Material,
    demand: CarbonDemand,
    transport: Transport,
    delivery_km: float | None = None,
    declared: float = 0.15,
) -> tuple[float, float]:
    """Lowest and highest carbon that counts [kgCO2e/kg built in].

    Generic values run from the low to the high of A1-A3, and through waste and replacement with them. A product's own
    declaration turns out up to the share `declared` lower or higher (brief: ranges.declared_carbon).
    """
    if material.declaration is not None:
        ends = [_scaled(material, factor) for factor in (1.0 - declared, 1.0 + declared)]
    else:
        typical = material.fossil_kgco2e_kg
        given = (material.fossil_low_kgco2e_kg, material.fossil_high_kgco2e_kg)
        ends = [material.model_copy(update={"fossil_kgco2e_kg": typical if each is None else each}) for each in given]
    bounds = [per_kg(each, demand, transport, delivery_km)[0] for each in ends]
    return min(bounds), max(bounds)


def end_of_life(material: Material, demand: CarbonDemand) -> EndOfLife:
    """How a material ends: as the brief says for its origin, else as is usual for it.

    One of no stated origin is burnt where it stores carbon, and put to land fill otherwise.
    """
    origin = material.origin or ("renewable" if (material.biogenic_kgco2e_kg or 0.0) < 0 else "mineral")
    return demand.end_of_life.get(origin) or load_factors().usual[origin].end_of_life


def replacements(material: Material, study_years: float) -> int | None:
    """How often it is replaced within the study period: study over service life, rounded up, less the first one.

    None where no service life is known. Source: EN 15978.
    """
    if material.service_life_years is None:
        return None
    return max(math.ceil(study_years / material.service_life_years - 1e-9) - 1, 0)


def _declared(material: Material, delivery_km: float | None) -> dict[Module, ModuleCarbon]:
    """The declaration's modules that stand here: not B4, and A4 only where the product's own distance is unknown."""
    if material.declaration is None:
        return {}
    ours = ("B4",) if delivery_km is None else ("A4", "B4")
    return {each: value for each, value in material.declaration.modules.items() if each not in ours}


def _generic(
    material: Material,
    demand: CarbonDemand,
    transport: Transport,
    delivery_km: float | None,
    end: EndOfLife,
    declared: dict[Module, ModuleCarbon],
) -> dict[Module, ModuleCarbon]:
    """The modules that follow from the material and the brief alone."""
    factors = load_factors()
    values = {
        "A4": _carriage(transport.distance_km if delivery_km is None else delivery_km, transport.vehicle),
        "C1": ModuleCarbon(fossil=demand.demolition_kgco2e_kg),
        "C2": _carriage(demand.disposal_km, DISPOSAL_VEHICLE),
        "C3": NOTHING,
        "C4": NOTHING,
    }
    if material.fossil_kgco2e_kg is not None:
        values["A1-A3"] = ModuleCarbon(fossil=material.fossil_kgco2e_kg, biogenic=material.biogenic_kgco2e_kg or 0.0)
    if not {"C3", "C4"} & set(declared):
        given_off = _burnt(material) if end == "incineration" else 0.0
        values[_exit(end)] = ModuleCarbon(fossil=factors.endings[end].kgco2e_kg + given_off)
    return values


def _carriage(distance_km: float, vehicle: str) -> ModuleCarbon:
    return ModuleCarbon(fossil=distance_km * PER_TONNE * load_factors().vehicles[vehicle].kgco2e_t_km)


def _burnt(material: Material) -> float:
    """Fossil carbon of its own that a material gives off when burnt [kgCO2/kg]."""
    if material.burnt_fossil_kgco2e_kg is not None:
        return material.burnt_fossil_kgco2e_kg
    return load_factors().usual[material.origin or "renewable"].burnt_fossil_kgco2e_kg


def _exit(end: EndOfLife) -> Module:
    """The module in which a material leaves the building's account."""
    return "C4" if end == "land filling" else "C3"


def _close(
    values: dict[Module, ModuleCarbon], material: Material, end: EndOfLife, declared: dict[Module, ModuleCarbon]
) -> tuple[Module, ...]:
    """Let out at the end of life, in place, what was taken up and has not left; the declared modules so changed.

    It leaves in the module of its end, or in the other one where a declaration states that and not this.
    """
    taken = values["A1-A3"].biogenic if "A1-A3" in values else material.biogenic_kgco2e_kg or 0.0
    given_off = sum(values[each].biogenic for each in CYCLE if each in values and each != "A1-A3")
    held = -(taken + given_off)
    if held <= 1e-12:
        return ()
    usual = _exit(end)
    other: Module = "C3" if usual == "C4" else "C4"
    into = other if usual in declared and other not in declared else usual
    values[into] = values[into].model_copy(update={"biogenic": values[into].biogenic + held})
    return (into,) if into in declared else ()


def _installation(values: dict[Module, ModuleCarbon], material: Material, demand: CarbonDemand) -> ModuleCarbon:
    """A5: what is cut off on site, and energy of the work."""
    wasted = times(material.waste_fraction, sum_of(values[each] for each in WASTED))
    return wasted.model_copy(update={"fossil": wasted.fossil + demand.installation_kgco2e_kg})


def _scaled(material: Material, factor: float) -> Material:
    """The material with what its declaration gives off in every module times a factor; what it stores stands."""
    given = material.declaration
    modules = {
        each: value.model_copy(update={"fossil": value.fossil * factor, "land_use": value.land_use * factor})
        for each, value in given.modules.items()
    }
    changed: Declaration = given.model_copy(update={"modules": modules})
    return material.model_copy(update={"declaration": changed})


def sum_of(values: Iterable[ModuleCarbon]) -> ModuleCarbon:
    """The flows of several values, each added up."""
    values = list(values)
    return ModuleCarbon(
        fossil=sum(each.fossil for each in values),
        biogenic=sum(each.biogenic for each in values),
        land_use=sum(each.land_use for each in values),
    )


def times(factor: float, value: ModuleCarbon) -> ModuleCarbon:
    """Every flow of a value times a factor."""
    return ModuleCarbon(
        fossil=factor * value.fossil, biogenic=factor * value.biogenic, land_use=factor * value.land_use
    )
