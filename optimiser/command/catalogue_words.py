"""`wallfront catalogue`: materials, and the products of a brief's lists, by the keys that briefs and build-ups name."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from materials.catalogue import Catalogue, Source, numeric_keys
from materials.errors import nearest
from materials.models import Material, Product

from .searching import naming
from .wide import wide_console

if TYPE_CHECKING:
    from ..brief.brief import Brief

ROOMY = 130  # letters of a line that has room for the sources
FEW = 3  # materials that are told number by number, each with its source
SHOWN = ("conductivity", "resistance", "vapour", "sd_m", "density", "mass_kg", "fossil_kgco2e")  # how their keys begin


def report(word: str | None, brief: Path | None, as_json: bool) -> bool:
    """Print what a word finds, all without one; whether it found anything. InputError for an unusable brief."""
    from ..brief.own_materials import catalogue_of

    asked = _read(brief)
    catalogue = catalogue_of(asked)
    products, lapsed, currency = _products(asked, brief, catalogue)
    materials = [each for each in catalogue.materials.values() if _says(word, *_words_of(each))]
    bought = [
        each
        for each in products
        if _says(word, each.key, each.name, each.supplier, *_words_of(catalogue.get(each.material)))
    ]
    if as_json:
        out: dict[str, object] = {"word": word, "materials": [_as_json(each, catalogue) for each in materials]}
        if brief is not None:
            out["products"] = [
                each.model_dump(mode="json", exclude_none=True) | {"lapsed": each.key in lapsed} for each in bought
            ]
        print(json.dumps(out, ensure_ascii=False))
    else:
        _print_materials(materials, catalogue)
        if bought:
            _print_products(bought, lapsed, currency)
    if not materials and not bought:
        known = [text for each in catalogue.materials.values() for text in _words_of(each)]
        known += [text for each in products for text in (each.key, each.name)]
        where = "" if brief is None else f" nor on the lists of {brief}"
        print(f'"{word}" is not in the catalogue{where}{nearest(word or "", known)}', file=sys.stderr)
    return bool(materials or bought)


def _read(brief: Path | None) -> Brief | None:
    if brief is None:
        return None
    from ..brief.brief import read_brief

    with naming(brief):
        return read_brief(brief)


def _products(asked: Brief | None, place: Path | None, catalogue: Catalogue) -> tuple[list[Product], set[str], str]:
    """The products of a brief's lists, which of them are left out as their price has lapsed, and the currency."""
    if asked is None or place is None:
        return [], set(), ""
    from ..brief.price_lists import pricing_of

    with naming(place):
        pricing = pricing_of(asked, place.parent, catalogue)[0]
    return [*pricing.products.values(), *pricing.left_out.values()], set(pricing.left_out), pricing.currency


def _words_of(material: Material) -> tuple[str, ...]:
    return material.key, material.name, material.kind or "", *material.uses


def _says(word: str | None, *texts: str) -> bool:
    return word is None or any(word.casefold() in text.casefold() for text in texts)


def _print_materials(materials: list[Material], catalogue: Catalogue) -> None:
    """A table by kind; where it is but a few, their numbers with the source of each."""
    from rich.table import Table

    if not materials:
        return
    if len(materials) <= FEW:
        for each in materials:
            _print_whole(each, catalogue)
        return
    console = wide_console()
    roomy = console.width >= ROOMY
    heads = [("material", "left"), ("W/mK", "right"), ("mu, or sd m", "right"), ("kg/m3", "right")]
    heads += [("kgCO2e/kg", "right"), ("stands in", "left"), *([("sources", "left")] if roomy else [])]
    lines = {each.key: _cells(each, roomy) for each in materials}
    told = [at for at in range(len(heads)) if any(cells[at] for cells in lines.values())]  # no column stands empty
    table = Table(box=None, pad_edge=False, header_style="dim")
    for at in told:
        head, side = heads[at]
        table.add_column(head, justify=side, no_wrap=head == "material")
    for kind in dict.fromkeys(each.kind for each in materials):
        table.add_row(f"{kind or 'other'}:")
        for each in materials:
            if each.kind == kind:
                table.add_row(*(lines[each.key][at] for at in told))
    console.print(table)
    print("design conductivities; carbon of A1-A3, fossil; `wallfront catalogue KEY` tells every number and its source")


def _cells(material: Material, roomy: bool) -> list[str]:
    """The line of a material in the table."""
    sources = [_sources(material)] if roomy else []
    return [f"  {material.key}", *_figures(material), ", ".join(material.uses), *sources]


def _figures(material: Material) -> tuple[str, str, str, str]:
    conductivity = material.design_conductivity
    return (
        "" if conductivity is None else f"{conductivity:.4g}",
        _vapour(material),
        "" if material.density_kg_m3 is None else f"{material.density_kg_m3:g}",
        "" if material.fossil_kgco2e_kg is None else f"{material.fossil_kgco2e_kg:g}",
    )


def _vapour(material: Material) -> str:
    if material.sd_m_dry is not None:
        return f"sd {material.sd_m_dry:g} to {material.sd_m_humid:g}"
    if material.sd_m is not None:
        return f"sd {material.sd_m:g}"
    return "" if material.vapour_mu is None else f"{material.vapour_mu:g}"


def _sources(material: Material) -> str:
    """Where the figures of its line come from; `catalogue KEY` says which is whose."""
    return ", ".join(dict.fromkeys(source for key, source in material.sources.items() if key.startswith(SHOWN)))


def _print_whole(material: Material, catalogue: Catalogue) -> None:
    """Every number of a material with its source."""
    from rich.table import Table

    print(f"{material.key}: {material.name}, {material.kind or 'other'}; stands in: {_used(material)}")
    stated = (("origin", material.origin), ("reaction to fire", material.reaction_to_fire))
    words = [f"{name} {value}" for name, value in stated if value]
    words += [word for word in ("airtight", "windtight", "racking") if getattr(material, word)]
    if words:
        print(f"  {', '.join(words)}")
    table = Table(box=None, pad_edge=False, show_header=False)
    for head, side in (("key", "left"), ("value", "right"), ("source", "left")):
        table.add_column(head, justify=side, no_wrap=head != "source")
    for key in numeric_keys(material.model_dump(exclude_none=True, exclude_defaults=True)):
        source = catalogue.sources.get(material.sources.get(key, ""))
        table.add_row(f"  {key}", _value(getattr(material, key)), "" if source is None else _told(source))
    wide_console().print(table)


def _told(source: Source) -> str:
    """The title of a source, and how far it can be trusted where the title does not say so."""
    return source.title if source.kind in source.title.lower() else f"{source.title} ({source.kind})"


def _used(material: Material) -> str:
    return ", ".join(material.uses) or "no slot of its own"


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ", ".join(f"{each.density_kg_m3:g} to {each.depth_mm:g} mm" for each in value)
    return ", ".join(f"{key} {number:g}" for key, number in dict(value).items())


def _print_products(products: list[Product], lapsed: set[str], currency: str) -> None:
    from rich.table import Table

    from ..wall.pricing import lapsed_words

    table = Table(box=None, pad_edge=False, header_style="dim")
    for head, side in (
        ("product", "left"),
        ("name", "left"),
        ("material", "left"),
        ("mm", "right"),
        (currency, "right"),
        ("per", "left"),
        ("supplier", "left"),
    ):
        table.add_column(head, justify=side, no_wrap=head == "product")
    for each in sorted(products, key=lambda each: (each.material, each.thickness_mm or 0.0, each.key)):
        sizes = "×".join(f"{size:g}" for size in (each.width_mm, each.thickness_mm) if size)
        name = f"{each.name} ({lapsed_words(each)})" if each.key in lapsed else each.name
        table.add_row(each.key, name, each.material, sizes, f"{each.price:.2f}", each.unit, each.supplier)
    wide_console().print(table)


def _as_json(material: Material, catalogue: Catalogue) -> Mapping[str, object]:
    """A material with its design conductivity, and the title of every source."""
    known = {key: catalogue.sources.get(source) for key, source in material.sources.items()}
    titles = {key: source.title for key, source in known.items() if source is not None}
    figures = material.model_dump(mode="json", exclude_none=True)
    return figures | {"design_conductivity_w_mk": material.design_conductivity, "source_titles": titles}
