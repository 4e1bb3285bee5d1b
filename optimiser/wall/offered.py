"""What the lists offer for a slot: the products made for it, whatever a brief allows."""

from __future__ import annotations

from materials.catalogue import Catalogue
from materials.models import Material, Product

from ..template import FILL, FILLS, SLOT, USE_OF
from .pricing import Pricing

FILL_KINDS = ("loose fill", "batt")


def candidates(name: str, catalogue: Catalogue, pricing: Pricing) -> list[Product]:
    """Products made for a slot, whatever the brief allows, in the order of the lists."""
    use = USE_OF[name]
    made_for = {key for key, material in catalogue.materials.items() if use in material.uses}
    return [
        each
        for each in pricing.products.values()
        if each.material in made_for and fits_slot(name, catalogue.get(each.material), each)
    ]


def fits_slot(name: str, material: Material, product: Product) -> bool:
    """Whether a product of a material made for a slot (or list of fills) comes in a kind and size that fit there."""
    if name in FILLS:
        return material.kind in FILL_KINDS and not (name == FILL and material.rigid_foam)
    slot = SLOT[name]
    if slot.members is None:
        return True
    sized = product.width_mm is not None and product.thickness_mm is not None
    return material.kind == "timber" and sized and product.thickness_mm >= slot.least_depth_mm
