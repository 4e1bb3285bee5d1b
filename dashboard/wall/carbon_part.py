"""The carbon of one wall by life-cycle module, and what its values rest on: words and tables; nothing of Dash."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from materials.catalogue import load_catalogue
from materials.declared.basis import CarbonBasis, carbon_basis
from materials.models import MODULES, Material, Module, ModuleCarbon
from optimiser.checks.judge import Judged
from optimiser.locales import many
from optimiser.search.landmarks import missing
from optimiser.wall.pricing import Pricing

from ..numbers import spelt, written
from ..words import listed
from .facts import FactRow, FactTable

MODULE_WORDS: dict[str, str] = {
    "A1-A3": "making",
    "A4": "carriage to the site",
    "A5": "waste, work on site",
    "B4": "replacement",
    "C1": "taking down",
    "C2": "carriage away",
    "C3": "burning or reuse",
    "C4": "land fill",
    "D": "beyond the house",
}
UNKNOWN = "not known"
NOT_COUNTED = "not counted"
PER_M2 = "kgCO₂e per m²"


@dataclass(frozen=True)
class MaterialBasis:
    """A material of the wall: in which layers it stands, and what its carbon rests on.

    declared: modules that its declaration states; basis is None where the material itself is not at hand.
    """

    key: str
    name: str
    basis: CarbonBasis | None
    layers: tuple[int, ...]
    declared: tuple[Module, ...] = ()
    missing: tuple[Module, ...] = ()
    stored: float | None = field(default=None)

    @property
    def kind(self) -> str:
        """Declared, generic, or not known: of the carbon of its making."""
        if "A1-A3" in self.missing:
            return UNKNOWN
        return "declared" if "A1-A3" in self.declared else "generic"


def modules_words(modules: Iterable[str]) -> str:
    """Modules in a line, those that follow each other within a letter as a span."""
    runs: list[list[str]] = []
    order = list(MODULES)
    for name in sorted(modules, key=order.index):
        follows = runs and order.index(runs[-1][-1]) == order.index(name) - 1 and runs[-1][-1][0] == name[0]
        runs[-1].append(name) if follows else runs.append([name])
    return ", ".join(_span(run) for run in runs)


def _span(run: list[str]) -> str:
    first, last = run[0].partition("-")[0], run[-1].rpartition("-")[2]
    return first if first == last else f"{first}–{last}"


def signed(value: float, digits: int = 1) -> str:
    """A value whose minus sign is one, and whose zero has none."""
    shown = f"{value:.{digits}f}"
    return spelt(0, f".{digits}f") if float(shown) == 0 else written(shown).replace("-", "−")


def carbon_head(judged: Judged, pricing: Pricing | None = None) -> str:
    """The part in a line: what counts, what is stored, and where it rests on generic values."""
    carbon = judged.carbon
    scope = modules_words(carbon.counted)
    said = [f"{UNKNOWN} for {scope}" if carbon.score is None else f"{signed(carbon.score)} {PER_M2} for {scope}"]
    if carbon.whole_life is not None:
        said.append(f"{signed(carbon.whole_life)} with {spelt(carbon.study_years, 'g')} years of heat")
    elif carbon.stored:
        said.append(f"{signed(-carbon.stored)} kgCO₂ stored")
    generic = sorted({number for each in bases(judged, pricing) if each.kind == "generic" for number in each.layers})
    if generic:
        said.append(
            f"generic values in layer{'s' if len(generic) > 1 else ''} {listed([str(each) for each in generic])}"
        )
    return ", ".join(said)


def module_table(judged: Judged) -> FactTable:
    """The modules of EN 15978, a line each. 'counts' is the part of each that the score adds up.

    Where all of every module counts that column would repeat the totals, and is left out.
    """
    carbon = judged.carbon
    rows = [_module(name, judged) for name in MODULES if name != "D"]
    known = [carbon.modules[name] for name in carbon.counted if name in carbon.modules]
    rest = 0.0 if carbon.score is None else carbon.score - sum(_counts(each, carbon.balanced) for each in known)
    if abs(rest) > 1e-6:  # taken up in what counts, given off elsewhere
        rows.append(FactRow(("stored, never netted off", "", "", "", "", signed(rest))))
    rows.append(FactRow((f"{modules_words(carbon.counted)}, the score", *_sums(judged, known)), "sum"))
    rows.append(_beyond(judged))
    heads = (PER_M2, "fossil", "biogenic", "land use", "total", "counts")
    if carbon.balanced and len(carbon.counted) == len(MODULES) - 1 and abs(rest) <= 1e-6:
        return FactTable(heads[:-1], tuple(replace(each, cells=each.cells[:-1]) for each in rows))
    return FactTable(heads, tuple(rows))


def _counts(value: ModuleCarbon, balanced: bool) -> float:
    """What the score takes of a module: all of it where biogenic carbon is balanced, else without the biogenic."""
    return value.total if balanced else value.fossil + value.land_use


def _sum(values: list[ModuleCarbon]) -> ModuleCarbon:
    return ModuleCarbon(
        fossil=sum(each.fossil for each in values),
        biogenic=sum(each.biogenic for each in values),
        land_use=sum(each.land_use for each in values),
    )


def _sums(judged: Judged, known: list[ModuleCarbon]) -> tuple[str, str, str, str, str]:
    """What the score adds up, by column; columns that it leaves out stay empty."""
    carbon = judged.carbon
    if carbon.score is None:
        return "", "", "", "", UNKNOWN
    fossil, biogenic, land_use, total = _flows(_sum(known))
    return fossil, biogenic if carbon.balanced else "", land_use, total if carbon.balanced else "", signed(carbon.score)


def _flows(value: ModuleCarbon) -> tuple[str, str, str, str]:
    return signed(value.fossil), signed(value.biogenic), signed(value.land_use), signed(value.total)


def _module(name: Module, judged: Judged) -> FactRow:
    carbon = judged.carbon
    label = f"{modules_words([name])} {MODULE_WORDS[name]}"
    if name == "B4":
        label += f" in {spelt(carbon.study_years, 'g')} years"
    off = name not in carbon.counted
    value = carbon.modules.get(name)
    if value is None:
        lacking = [str(each.number) for each in carbon.layers if name not in each.modules]
        hint = f"not known for layer{'s' if len(lacking) > 1 else ''} {listed(lacking)}" if lacking else ""
        return FactRow((label, "", "", "", UNKNOWN, NOT_COUNTED if off else UNKNOWN), "off" if off else "", None, hint)
    counts = NOT_COUNTED if off else signed(_counts(value, carbon.balanced))
    return FactRow((label, *_flows(value), counts), "off" if off else "")


def _beyond(judged: Judged) -> FactRow:
    value = judged.carbon.modules.get("D")
    label = f"D {MODULE_WORDS['D']}’s life, never counted"
    if value is None:
        return FactRow((label, "", "", "", "not stated", ""), "apart", None, "no declaration of a product states it")
    return FactRow((label, *_flows(value), ""), "apart", None, "as far as declarations state it")


def score_words(judged: Judged) -> str:
    """How the score is made of the columns."""
    if judged.carbon.balanced:
        return (
            "Making and the end of life both count, so biogenic carbon goes in as −1 and comes out as +1: "
            "what is stored is not netted off."
        )
    return "Fossil and land use count. Biogenic carbon is shown and never netted off."


def stored_lines(judged: Judged, everything: bool = False) -> list[str]:
    """What the wall stores, how it ends, and how our figure compares with the trade's rule.

    everything: a line for each material too, as on paper.
    """
    carbon = judged.carbon
    if not carbon.stored:
        return ["This wall stores no biogenic carbon."] if carbon.stored == 0 else []
    said = f"{signed(-carbon.stored)} kgCO₂ per m² are stored while the wall stands"
    ends = [
        f"{signed(carbon.modules[name].biogenic)} {words}"
        for name, words in (("C3", "burnt or passed on (C3)"), ("C4", "in land fill (C4)"))
        if name in carbon.modules and carbon.modules[name].biogenic > 0.05
    ]
    said += f" and leave at the end of its life: {listed(ends)}." if ends else "."
    lines = [_in_print(each) for each in carbon.stored_words if everything or "common practice" in each]
    return [said, *dict.fromkeys(lines)]


def _in_print(words: str) -> str:
    """Words of a figure as the page writes them."""
    words = re.sub(r"\d+\.\d+", lambda match: written(match[0]), words)
    words = words.replace("CO2", "CO₂").replace("%", "\u00a0%")
    return f"{words[0].upper()}{words[1:]}."


def life_words(judged: Judged, brief: Any) -> str:
    """The heat lost over the study period beside the embodied carbon; '' where the brief names no heat source."""
    carbon = judged.carbon
    if carbon.operational is None:
        return ""
    source = f", by {brief.operation.heat_source}" if brief is not None and brief.operation is not None else ""
    words = f"Heat lost over {spelt(carbon.study_years, 'g')} years{source}: {signed(carbon.operational)} {PER_M2}."
    if carbon.whole_life is not None:
        words += f" Whole life, with the score above: {signed(carbon.whole_life)}."
    return words


def bases(judged: Judged, pricing: Pricing | None = None) -> list[MaterialBasis]:
    """Every material of the wall, fixings included, outside first, each once. pricing: where its fixings are from."""
    known = _materials(judged, pricing)
    by_material: dict[str, dict[str, Any]] = {}
    for layer in judged.carbon.layers:
        for key in dict.fromkeys((*layer.declared, *layer.generic, *layer.missing)):
            each = by_material.setdefault(key, {"layers": [], "declared": (), "missing": ()})
            each["layers"].append(layer.number)
            each["declared"] = layer.declared.get(key, each["declared"])
            each["missing"] = layer.missing.get(key, each["missing"])
    return [
        MaterialBasis(
            key,
            known[key].name if key in known else key,
            carbon_basis(known[key]) if key in known else None,
            tuple(each["layers"]),
            each["declared"],
            each["missing"],
            None if key not in known or known[key].biogenic_kgco2e_kg is None else -known[key].biogenic_kgco2e_kg,
        )
        for key, each in by_material.items()
    ]


def _materials(judged: Judged, pricing: Pricing | None) -> Mapping[str, Material]:
    """Materials by key: the wall's own before those of its fixings, those before the catalogue's."""
    fixings = pricing.terms.fixings.values() if pricing is not None else ()
    sold = {stock.material.key: stock.material for group in fixings for _, stock in group}
    return load_catalogue().materials | sold | dict(judged.wall.materials)


def basis_table(judged: Judged, pricing: Pricing | None = None) -> FactTable:
    """What the carbon of each material rests on: declared, or generic with its range. Per kg.

    Materials of one name and one value (a batten in two sizes) share a line.
    """
    layers: dict[FactRow, list[int]] = {}
    for each in bases(judged, pricing):
        layers.setdefault(_basis(each), []).extend(each.layers)
    rows = [
        replace(row, cells=(", ".join(map(str, sorted(set(numbers)))), *row.cells[1:]))
        for row, numbers in layers.items()
    ]
    return FactTable(("layer", "material", "rests on", "A1–A3", "range", "stored"), tuple(rows), words=3)


def _basis(each: MaterialBasis) -> FactRow:
    """Its line, the layers left open."""
    basis, words = each.basis, each.kind
    if each.kind == "declared" and len(each.declared) > 1:
        words = f"declared {modules_words(each.declared)}"
    stored = "–" if missing(each.stored) or not each.stored else spelt(each.stored, ".2f")
    if basis is None or basis.typical is None or each.kind != basis.kind:
        return FactRow(("", each.name, words, "–", "–", stored), "off" if each.kind == UNKNOWN else "")
    span = "–"
    if basis.kind == "generic" and basis.low != basis.high:
        span = f"{spelt(basis.low, '.2f')} to {spelt(basis.high, '.2f')}"
    return FactRow(("", each.name, words, spelt(basis.typical, ".2f"), span, stored), "", None, source_words(basis))


def source_words(basis: CarbonBasis) -> str:
    """Where a value is from, and how long and where it holds."""
    until = f", valid until {basis.valid_until.isoformat()}" if basis.valid_until else ""
    region = f", {basis.region}" if basis.region else ""
    return f"{basis.source}{region}{until}"


def basis_words(judged: Judged, pricing: Pricing | None = None) -> str:
    """How many materials rest on what."""
    kinds = [row.cells[2] for row in basis_table(judged, pricing).rows]
    declared, generic, lacking = (
        sum(each.startswith(kind) for each in kinds) for kind in ("declared", "generic", UNKNOWN)
    )
    said = [f"{many(declared, 'material')} {'rests' if declared == 1 else 'rest'} on a declaration"] if declared else []
    if generic:
        said.append(
            f"{generic} on the generic value of {'its' if generic == 1 else 'their'} kind, within the range shown"
        )
    if lacking:
        said.append(f"{lacking} on nothing")
    return f"{listed(said)}. Modules that no declaration states are worked out from carriage, waste and the usual end."
