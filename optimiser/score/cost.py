"""Cost per m2 of wall: material with waste, and labour by operation."""

from __future__ import annotations

from materials.models import Material, Product

from ..batch import Array, WallBatch
from .area import per_layer
from .settings import Labour


def cost(batch: WallBatch) -> Array:
    """Material with waste and labour per m2 of wall (n,) [currency/m2]."""
    return cost_by_layer(batch).sum(axis=1)


def cost_by_layer(batch: WallBatch) -> Array:
    """The same by layer (n, L) [currency/m2]."""
    return per_layer(batch, "price") + per_layer(batch, "labour")


def price_per_m2(product: Product, thickness: float, mass: float, waste: float) -> float:
    """Price of a solid layer of a product per m2 of that layer, waste included [currency/m2].

    thickness [m]; mass of the layer [kg/m2]; waste: share bought on top [-].
    By unit: m2 as it is, m3 by thickness, kg by mass, m (timber) by its section.
    """
    if product.unit == "m2":
        price = product.price
    elif product.unit == "m3":
        price = product.price * thickness
    elif product.unit == "kg":
        price = product.price * mass
    elif product.unit == "m" and product.width_mm and product.thickness_mm:
        price = product.price / (product.width_mm * product.thickness_mm * 1e-6) * thickness
    else:
        raise ValueError(f"{product.key}: a price per {product.unit} says nothing per m2 of wall")
    return price * (1.0 + waste)


def board_labour(labour: Labour, role: str, material: Material) -> float:
    """Labour for one layer of a sheet, membrane, cladding, lining or batt [currency/m2]."""
    if role in ("cladding", "lining"):
        hours = labour.cladding_h_per_m2 if role == "cladding" else labour.lining_h_per_m2
    elif material.kind == "batt":
        hours = labour.batt_h_per_m2
    elif material.kind == "membrane":
        hours = labour.membrane_h_per_m2
    else:
        hours = labour.board_h_per_m2
    taped = labour.taping_h_per_m2 if role == "airtight layer" else 0.0
    return labour.rate_per_h * (hours + taped)


def blown_labour(labour: Labour, thickness: float) -> float:
    """Labour for a blown fill of a thickness [m] [currency/m2]."""
    return labour.rate_per_h * labour.blown_h_per_m3 * thickness


def member_labour(labour: Labour, width: float, batten: bool) -> float:
    """Labour for members of a width [m], per m2 of a solid layer of them [currency/m2]."""
    hours = labour.batten_h_per_m if batten else labour.stud_h_per_m
    return labour.rate_per_h * hours / width


def tie_labour(labour: Labour, thickness: float, height: float) -> float:
    """Labour for tie plates of a thickness along the wall and a height [m], per m2 of solid plates [currency/m2]."""
    return labour.rate_per_h * labour.tie_h_per_piece / (thickness * height)
