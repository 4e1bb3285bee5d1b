"""Where every value of a wall comes from: material, value, source and how far the source can be trusted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from materials.catalogue import Catalogue
from materials.declared.basis import carbon_basis
from materials.models import Material, Product

from ...brief.brief import Brief
from ...brief.own_materials import catalogue_of
from ...checks.judge import Judged
from ...document import NONE, DocumentPart, DocumentTable, Section, Text, exact, number
from ...wall.pricing import Pricing

STATED = ("stated in the build-up file", "stated in the file")
VALUES = (  # key of a material, what it is, unit
    ("conductivity_declared_w_mk", "conductivity, declared", "W/mK"),
    ("conversion", "factors to the design value", ""),
    ("conductivity_w_mk", "conductivity, design", "W/mK"),
    ("resistance_m2k_w", "resistance", "m²K/W"),
    ("density_kg_m3", "density", "kg/m³"),
    ("density_by_depth", "density in kg/m³ up to a depth:", ""),
    ("mass_kg_m2", "mass", "kg/m²"),
    ("vapour_mu", "vapour resistance factor μ", ""),
    ("sd_m", "vapour resistance sd", "m"),
    ("sd_m_dry", "sd in dry air", "m"),
    ("sd_m_humid", "sd in humid air", "m"),
    ("blown_support_mm", "widest battens behind a blown fill", "mm"),
    ("waste_fraction", "waste on site", ""),
    ("service_life_years", "service life", "years"),
    ("burnt_fossil_kgco2e_kg", "fossil carbon when burnt", "kgCO₂e/kg"),
)
OTHERS = (
    ("surface resistances, air layers, combined method, corrections", "ISO 6946", "published standard"),
    ("conversion of conductivities", "ISO 10456", "published standard"),
    ("monthly method of moisture, room humidity by class", "ISO 13788", "published standard"),
    ("limit of condensate", "DIN 4108-3", "from memory"),
    ("least drying reserve", "DIN 68800-2", "from memory"),
    ("mould on wood", "Hukka and Viitanen 1999", "published table"),
    ("partial and combination factors, recommended values", "EN 1990", "from memory"),
    ("strength and stiffness of timber by class", "EN 338", "from memory"),
    ("checks and factors of strength", "EN 1995-1-1", "from memory"),
    ("blown fill: chambers, depths, densities", "practice of installers", "common practice"),
)


@dataclass(frozen=True)
class _Used:
    """A material of the wall with the layers it stands in and the product it is bought as, where one is known."""

    material: Material
    layers: tuple[int, ...]
    product: Product | None


def sources_section(judged: Judged, brief: Brief | None, pricing: Pricing | None) -> Section:
    """A line for each value of each material, prices, and the values of standards and practice."""
    catalogue = catalogue_of(brief)
    lines = [row for used in _used(judged, pricing) for row in _rows(used, catalogue)]
    titles: dict[str, str] = {}  # source -> its number
    rows = []
    for *head, title, kind in lines:
        number_ = "" if title == NONE else titles.setdefault(title, str(len(titles) + 1))
        rows.append((*head, kind, number_))
    heads = ("layers", "material", "value", "kind of source", "source")
    grid = DocumentTable("Materials", heads, tuple(rows), words=4, widths=(0.9, 3, 5, 2.2, 0.8))
    numbered = tuple((number_, title) for title, number_ in titles.items())
    keys = DocumentTable("The sources by number", ("no.", "source"), numbered, words=2, widths=(0.5, 11))
    others = [*OTHERS, *_of_the_brief(judged, brief)]
    other = DocumentTable("Other values", ("value", "source", "kind"), tuple(others), words=3, widths=(4, 3, 1.8))
    parts: list[DocumentPart] = [grid, keys, *_prices(judged, pricing), other]
    notes = () if pricing is None else tuple(Text(f"{each}.") for each in pricing.notes)
    return Section("Where every value comes from", (*parts, *notes))


def _used(judged: Judged, pricing: Pricing | None) -> list[_Used]:
    """Materials in the order of the layers, each once."""
    by_material: dict[str, list[int]] = {}
    bought: dict[str, str | None] = {}
    for at, layer in enumerate(judged.wall.layers, 1):
        product = layer.product if isinstance(layer.product, str) or layer.product is None else layer.product[0]
        held = [(layer.material, product)]
        held += [(each.material, each.product) for each in (layer.frame, layer.tie) if each is not None]
        for key, name in held:
            if at not in by_material.setdefault(key, []):
                by_material[key].append(at)
            bought[key] = bought.get(key) or name
    offered = {} if pricing is None else pricing.products
    return [
        _Used(judged.wall.of(key), tuple(layers), offered.get(bought[key] or key))
        for key, layers in by_material.items()
    ]


def _rows(used: _Used, catalogue: Catalogue) -> Iterator[tuple[str, ...]]:
    material = used.material
    head = (", ".join(map(str, used.layers)), material.name)
    first = True
    for key, name, unit in VALUES:
        value = getattr(material, key)
        if value in (None, (), 0.0) or (key == "density_kg_m3" and material.density_by_depth):
            continue
        said = f"{name} {_shown(key, value)} {unit}".rstrip()
        yield (*(head if first else ("", "")), said, *_source(used, key, catalogue))
        first = False
    carbon = _carbon(used, catalogue)
    if carbon:
        yield (*(head if first else ("", "")), *carbon)
        first = False
    if first:
        yield (*head, "no value of its own", NONE, NONE)


def _shown(key: str, value) -> str:
    if key == "conversion":
        return " × ".join(exact(each) for each in (value.temperature, value.moisture, value.ageing))
    if key == "density_by_depth":
        return ", ".join(f"{exact(each.density_kg_m3)} to {exact(each.depth_mm)} mm" for each in value)
    if key == "waste_fraction":
        return f"{exact(100 * value)}\u00a0%"
    return exact(value)


def _source(used: _Used, key: str, catalogue: Catalogue) -> tuple[str, str]:
    """(title, kind) of a value: the material's own source, the product's, or the catalogue's where it is the same."""
    source = used.material.sources.get(key)
    if source in catalogue.sources:
        return _of_catalogue(catalogue, source)
    if used.product is not None and _states(used.product, key, getattr(used.material, key)):
        return _of_product(used.product)
    base = _base(used, catalogue)
    if base is not None and getattr(base, key) == getattr(used.material, key) and key in base.sources:
        return _of_catalogue(catalogue, base.sources[key])
    return STATED


def _of_catalogue(catalogue: Catalogue, key: str) -> tuple[str, str]:
    source = catalogue.sources[key]
    return (source.title if source.note is None else f"{source.title} ({source.note})"), source.kind


def _states(product: Product, key: str, value: object) -> bool:
    given = getattr(product, key, None)
    return given is not None and given == value


def _of_product(product: Product) -> tuple[str, str]:
    """A supplier's list, or what the list itself says it is."""
    kind = "invented for the demo" if "invented for the demo" in product.source else "supplier's list"
    return f"{product.supplier}: {product.name}", kind


def _base(used: _Used, catalogue: Catalogue) -> Material | None:
    """The catalogue's material that this one was made from."""
    key = used.material.key if used.product is None else used.product.material
    if key in catalogue.materials:
        return catalogue.materials[key]
    return next((each for each in catalogue.materials.values() if each.name == used.material.name), None)


def _carbon(used: _Used, catalogue: Catalogue) -> tuple[str, str, str] | None:
    """A1-A3 per kg with its range."""
    basis = carbon_basis(used.material, catalogue.sources)
    if basis.typical is None:
        return None
    said = f"carbon A1-A3 {number(basis.typical, 3)}"
    if basis.low != basis.high:
        said += f" ({number(basis.low, 3)} to {number(basis.high, 3)})"
    if basis.biogenic:
        said += f", biogenic {number(basis.biogenic, 3)}"
    said += " kgCO₂e/kg"
    if basis.kind == "declared":
        until = f", valid until {basis.valid_until.isoformat()}" if basis.valid_until else ""
        region = f", {basis.region}" if basis.region else ""
        kind = "invented for the demo" if "invented for the demo" in basis.source else "declared"
        return said, f"declared by the product: {basis.source}{region}{until}", kind
    return said, *_source(used, "fossil_kgco2e_kg", catalogue)


def _prices(judged: Judged, pricing: Pricing | None) -> list[DocumentTable]:
    """What the wall is bought as, with each price's source and end."""
    if pricing is None:
        return []
    keys: list[str] = []
    for layer in judged.wall.layers:
        for each in (layer, layer.frame, layer.tie):
            given = None if each is None else each.product
            keys += (given,) if isinstance(given, str) else given or ()
    keys += [stock.products[0].key for group in pricing.terms.fixings.values() for _, stock in group]
    rows = []
    for key in dict.fromkeys(keys):
        product = pricing.products.get(key)
        if product is None:
            continue
        until = product.valid_until.isoformat() if product.valid_until else "no date"
        unit = {"m2": "m²", "m3": "m³"}.get(product.unit, product.unit)
        price = f"{number(product.price, 4 if product.unit in ('piece', 'kg') else 2)} {product.currency}/{unit}"
        rows.append((f"{product.name} ({product.supplier})", price, until, product.source, _of_product(product)[1]))
    heads = ("product", "price", "valid until", "source", "kind")
    if not rows:
        return []
    return [
        DocumentTable("Prices, fixings of the brief included", heads, tuple(rows), words=5, widths=(4, 2, 1.6, 2.4, 2))
    ]


def _of_the_brief(judged: Judged, brief: Brief | None) -> Iterator[tuple[str, str, str]]:
    given = "brief" if brief is not None else "build-up file"
    conditions = judged.wall.conditions
    if conditions.outdoor_temperature_c is None:
        yield ("climate by month", "a mild, damp coast, shipped", "invented for the demo")
    else:
        yield ("climate by month", given, "stated in the file")
    if judged.wall.loads is not None:
        yield ("loads", given, "stated in the file")
    if judged.wall.corrections.model_dump(exclude_defaults=True):
        yield ("fasteners, air gaps, point bridges", given, "stated in the file")
    if brief is not None:
        yield ("hours and rate of labour, delivery, carbon modules", given, "stated in the file")
