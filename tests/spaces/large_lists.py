"""Large invented price lists: many suppliers of the catalogue's materials in stock sizes, for what must stay quick.

Every supplier asks its own price of an article, or the same as the next one, and declares conductivity, carbon and
delivery of some of its lines. Random, but the same for the same seed; no product, supplier or price is a real one.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from materials.catalogue import Catalogue, load_catalogue
from materials.listed.export import write_list
from materials.models import Declaration, Material, Product
from optimiser.brief.brief import Brief, brief_from
from optimiser.brief.price_lists import terms_of
from optimiser.space.choices import Choices
from optimiser.wall.pricing import Pricing

SECTIONS = [(depth, width) for depth in (63, 89, 95, 120, 140, 145, 170, 195, 220, 245) for width in (38, 45, 60)]
BATTENS = [(depth, width) for depth in (25, 30, 38, 45, 50, 60, 80) for width in (45, 50)]
SHEETS = (9, 10, 12, 12.5, 15, 18, 22, 25)
SLABS = (22, 35, 40, 52, 60, 80, 100, 120)
BATTS = (30, 40, 45, 50, 60, 70, 80, 95, 100, 120, 140, 145, 160, 180, 195, 200, 220, 240)
BOARDINGS = (18, 20, 24, 28)
MEMBRANES = ("75", "100", "150")  # grades of a membrane: their price differs, and nothing else
FILLS = ("fine", "standard")
TIES = (12, 15)
SOURCE = "invented for the test"


def articles(material: Material) -> list[tuple[str, float | None, float | None, float, str]]:
    """(name, thickness_mm, width_mm, price, unit) of the stock sizes of a material; prices are drawn around these."""
    if material.kind == "timber":
        sizes = SECTIONS if "frame" in material.uses else BATTENS
        return [(f"{b:g}x{d:g}", d, b, d * b * 0.00042, "m") for d, b in sizes]
    if material.kind == "membrane":
        return [(grade, None, None, 0.012 * int(grade), "m2") for grade in MEMBRANES]
    if material.kind == "loose fill":
        return [(name, None, None, 1.2, "kg") for name in FILLS]
    sizes = {"batt": BATTS, "cladding": BOARDINGS, "insulating board": SLABS}.get(material.kind, SHEETS)
    if "tie" in material.uses:
        sizes = TIES
    per_mm = {"batt": 0.12, "cladding": 1.4, "insulating board": 0.26}.get(material.kind, 0.45)
    return [(f"{size:g}", size, None, 1.0 + per_mm * size, "m2") for size in sizes]


def large_list(count: int, seed: int = 1) -> list[Product]:
    """So many products of as many suppliers as it takes, sorted by supplier; all that may stand in some slot."""
    draw = random.Random(seed)
    usable = [each for each in load_catalogue().materials.values() if each.uses]
    products: list[Product] = []
    number = 0
    while len(products) < count:
        number += 1
        products += _supply(draw, f"Stores {number:03d}", usable)
    drawn = draw.sample(range(len(products)), count)
    return [products[each] for each in sorted(drawn)]


def _supply(draw: random.Random, supplier: str, usable: list[Material]) -> list[Product]:
    """All that one supplier sells: about 600 articles."""
    away = draw.choice([None, 20, 45, 120, 350])
    products = []
    for material in usable:
        line = _line(draw, material)
        dearer = draw.choice([1.0, 1.0, 0.8 + 0.5 * draw.random()])
        for name, thickness, width, price, unit in articles(material):
            key = f"{supplier[-3:]}-{material.key}-{name}"
            asked = price * dearer * draw.choice([1.0, 1.0, 0.97, 1.04])
            values: dict[str, Any] = dict(key=key, name=f"{material.name} {name}", material=material.key, unit=unit)
            values |= dict(thickness_mm=thickness, width_mm=width, price=max(0.01, round(asked, 2)), supplier=supplier)
            products.append(Product(**values, currency="EUR", delivery_km=away, source=SOURCE, **line))
    return products


def _line(draw: random.Random, material: Material) -> dict[str, Any]:
    """What a supplier declares of all its products of one material: nothing, or a conductivity, or carbon, or both."""
    line: dict[str, Any] = {}
    conductivity = material.design_conductivity
    if conductivity and material.kind in ("batt", "loose fill", "insulating board") and draw.random() < 0.6:
        line["conductivity_w_mk"] = round(conductivity + draw.choice([-0.002, -0.001, 0.001, 0.002]), 3)
    if draw.random() < 0.5:
        fossil = round((material.fossil_kgco2e_kg or 0.5) * draw.choice([0.6, 0.8, 1.0, 1.3]), 3)
        stored = material.biogenic_kgco2e_kg or 0.0
        line["declaration"] = Declaration.of_product_stage("declared", fossil, stored, SOURCE)
    return line


def by_use(catalogue: Catalogue, use: str) -> list[str]:
    """Materials of a use, as a slot's `allow` names them."""
    return [each.key for each in catalogue.materials.values() if use in each.uses]


def open_brief(catalogue: Catalogue, **changes: Any) -> Brief:
    """A brief that leaves every slot open to all that is made for it; `changes` replace whole sections."""
    raw: dict[str, Any] = {
        "name": "large lists",
        "target": {"u_value": 0.13},
        "prices": {"lists": ["large.csv"]},
        "labour": {"rate_per_h": 40, "stud_h_per_m": 0.05, "board_h_per_m2": 0.1, "batt_h_per_m2": 0.05},
        "gap": {"min_mm": 0, "max_mm": 200, "step_mm": 20},
        "limits": {"max_thickness_mm": 600, "min_load_bearing_depth_mm": 120},
        "materials": {},
        "slots": {
            "cladding": {"allow": by_use(catalogue, "cladding")},
            "ventilated space": {"allow": by_use(catalogue, "batten"), "spacing_mm": [600]},
            "lining": {"allow": by_use(catalogue, "lining")},
        },
    }
    return brief_from(raw | changes, "large lists")


def large_choices(count: int, seed: int = 1, **changes: Any) -> Choices:
    """The choices of `open_brief` on a large list."""
    catalogue = load_catalogue()
    brief = open_brief(catalogue, **changes)
    return Choices(brief, catalogue, pricing_for(large_list(count, seed), brief, catalogue))


def pricing_for(products: list[Product], brief: Brief, catalogue: Catalogue) -> Pricing:
    offered = {each.key: each for each in products}
    return Pricing(offered, terms_of(brief, catalogue, offered), "EUR")


def write_large_list(path: Path, count: int, seed: int = 1) -> Path:
    """The same list as a file, by the columns of a price list."""
    write_list(path, large_list(count, seed))
    return path
