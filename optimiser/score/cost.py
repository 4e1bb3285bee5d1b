"""Cost per m2 of wall: material, waste, delivery, fixings and tapes, and labour by operation.

What one layer costs is a `Bill`, per m2 of a solid layer of it; every part is linear in mass and area, so that the
bills of a wall's layers add up by their shares of the area (`cost_parts.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from materials.errors import InputError
from materials.models import Material, Product

from ..batch import Array, WallBatch
from ..template import SLOT, STUDS
from .area import per_layer
from .settings import Labour, Transport

UNKNOWN = float("nan")
FIXING_UNITS = ("piece", "m", "kg")  # in which fixings and tapes are sold and counted


def cost(batch: WallBatch) -> Array:
    """Material with waste, delivery, fixings and labour per m2 of wall (n,) [currency/m2]."""
    return cost_by_layer(batch).sum(axis=1)


def cost_by_layer(batch: WallBatch) -> Array:
    """The same by layer (n, L) [currency/m2]."""
    return per_layer(batch, "price") + per_layer(batch, "labour")


@dataclass(frozen=True)
class Purchase:
    """What is bought of one product for a m2 of a solid layer [currency]; in `fixings` their own waste is included."""

    supplier: str
    material: float = 0.0
    material_with_waste: float = 0.0
    delivery: float = 0.0
    fixings: float = 0.0

    @property
    def waste(self) -> float:
        return self.material_with_waste - self.material

    @property
    def money(self) -> float:
        """All that the supplier is paid for it."""
        return self.material_with_waste + self.delivery + self.fixings


@dataclass(frozen=True)
class Bill:
    """What a m2 of a solid layer costs: purchases, and hours by operation (the words of the brief's [labour])."""

    purchases: tuple[Purchase, ...] = ()
    hours: Mapping[str, float] = field(default_factory=dict)
    rate_per_h: float = 0.0
    priced: bool = True  # False where no product is known: material, waste and delivery are then unknown

    @property
    def delivery(self) -> float:
        return sum(each.delivery for each in self.purchases)

    @property
    def price(self) -> float:
        """Material with waste, delivery and fixings [currency/m2]; NaN where no product is known."""
        material_with_waste = sum(each.material_with_waste for each in self.purchases) if self.priced else UNKNOWN
        return material_with_waste + self.delivery + sum(each.fixings for each in self.purchases)

    @property
    def labour(self) -> float:
        """Hours at their rate [currency/m2]."""
        return self.rate_per_h * sum(self.hours.values())


NOTHING = Bill()


def bill(
    purchases: Iterable[Purchase], fixings: Iterable[Purchase], hours: Mapping[str, float], labour: Labour
) -> Bill:
    """The bill of a layer: what it is made of, its fixings and the hours; without purchases its price is unknown."""
    bought = tuple(purchases)
    return Bill((*bought, *fixings), hours, labour.rate_per_h, priced=bool(bought))


def purchase(product: Product, material: Material, thickness: float, mass: float, transport: Transport) -> Purchase:
    """Buy a solid layer of a product: its material, waste and delivery per m2. thickness [m], mass [kg/m2]."""
    waste = waste_of(product, material)
    net = net_price_per_m2(product, thickness, mass)
    return Purchase(product.supplier, net, net * (1.0 + waste), delivery(product, mass * (1.0 + waste), transport))


def cut_from_sheet(product: Product, material: Material, length: float, mass: float, transport: Transport) -> Purchase:
    """Buy plates cut from sheets, standing with their length [m] through the wall: per m2 of solid plates."""
    if product.unit != "m2":
        return purchase(product, material, length, mass, transport)
    waste = waste_of(product, material)
    net = product.price / ((product.thickness_mm or 1) / 1000) * length
    return Purchase(product.supplier, net, net * (1.0 + waste), delivery(product, mass * (1.0 + waste), transport))


def fixing(product: Product, material: Material, units: float, transport: Transport) -> Purchase:
    """Buy fixings or tape: a number of units (pieces, m, kg) per m2 of a layer, with waste and delivery."""
    bought = units * (1.0 + waste_of(product, material))
    carried = delivery(product, bought * unit_mass(product), transport)
    return Purchase(product.supplier, delivery=carried, fixings=bought * product.price)


def waste_of(product: Product, material: Material) -> float:
    """Share bought on top [-]: the product's own, else its material's."""
    return material.waste_fraction if product.waste_fraction is None else product.waste_fraction


def delivery(product: Product, mass: float, transport: Transport) -> float:
    """What it costs to bring a mass [kg] to the site: by t km, from the product's own distance or the brief's."""
    distance = transport.distance_km if product.delivery_km is None else product.delivery_km
    per_kg = transport.rate_per_t_km * distance / 1000
    return per_kg * mass if per_kg else 0.0  # nothing is nothing, even where the mass is not known


def net_price_per_m2(product: Product, thickness: float, mass: float) -> float:
    """Price of a solid layer of a product per m2 of that layer, without waste [currency/m2].

    thickness [m]; mass of the layer [kg/m2]. By unit: m2 as it is, m3 by thickness, kg by mass, m (timber) by its
    section. InputError for a product sold by the piece, or by the metre without a section.
    """
    if product.unit == "m2":
        return product.price
    if product.unit == "m3":
        return product.price * thickness
    if product.unit == "kg":
        return product.price * mass
    if product.unit == "m" and product.width_mm and product.thickness_mm:
        return product.price / (product.width_mm * product.thickness_mm * 1e-6) * thickness
    raise InputError(
        f'product "{product.key}": a price per {product.unit} says nothing per m2 of a layer; expected one per m2, m3, '
        "kg, or m with thickness_mm and width_mm"
    )


def unit_mass(product: Product) -> float:
    """Mass of one unit of a fixing or tape [kg]: 1 where it is sold by kg; NaN where it is not stated."""
    if product.unit == "kg":
        return 1.0
    return UNKNOWN if product.mass_kg is None else product.mass_kg


def check_fixing(product: Product, place: str) -> None:
    """InputError where a product cannot be counted as fixing or tape: sold by area or volume, or of unknown mass."""
    if product.unit not in FIXING_UNITS:
        raise InputError(
            f'{place}: product "{product.key}" is sold by {product.unit}; expected a fixing or tape sold by '
            f"{', '.join(FIXING_UNITS)}"
        )
    if math.isnan(unit_mass(product)):
        raise InputError(f'{place}: product "{product.key}" states no mass_kg (of one {product.unit})')


def board_hours(labour: Labour, role: str, material: Material) -> dict[str, float]:
    """Hours for one layer of a sheet, membrane, cladding, lining or batt, by operation [h/m2]."""
    slot = SLOT.get(role)
    if slot and slot.work:
        hours = {slot.work: getattr(labour, f"{slot.work}_h_per_m2")}
    elif material.kind == "batt":
        hours = {"batt": labour.batt_h_per_m2}
    elif material.kind == "membrane":
        hours = {"membrane": labour.membrane_h_per_m2}
    else:
        hours = {"board": labour.board_h_per_m2}
    return hours | ({"taping": labour.taping_h_per_m2} if slot and slot.tight == "air" else {})


def blown_hours(labour: Labour, thickness: float) -> dict[str, float]:
    """Hours for a blown fill of a thickness [m] [h/m2]."""
    return {"blown": labour.blown_h_per_m3 * thickness}


def member_hours(labour: Labour, role: str, width: float) -> dict[str, float]:
    """Hours for members of a width [m] in a layer of that role, per m2 of a solid layer of them [h/m2]."""
    if role in STUDS:
        return {"stud": labour.stud_h_per_m / width}
    return {"batten": labour.batten_h_per_m / width}


def tie_hours(labour: Labour, thickness: float, height: float) -> dict[str, float]:
    """Hours for tie plates of a thickness along the wall and a height [m], per m2 of solid plates [h/m2]."""
    return {"tie": labour.tie_h_per_piece / (thickness * height)}
