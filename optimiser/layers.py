"""What one layer, or the members across it, brings to a wall: resistance and quantities, from material and product.

The one place where materials become numbers, called for every option of a search and for every layer of a build-up
file alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from materials.models import Material, Product, as_sold

from .score import carbon, cost
from .score.settings import CarbonDemand, Fixing, Labour, Transport

UNKNOWN = float("nan")


@dataclass(frozen=True)
class Stock:
    """A material with the products it is bought as (several where batts lie in stock layers)."""

    material: Material
    products: tuple[Product, ...] = ()

    @classmethod
    def of(cls, material: Material, *products: Product) -> Stock:
        return cls(as_sold(material, products[0] if products else None), products)


@dataclass(frozen=True)
class Terms:
    """What a brief says of quantities: labour, delivery, the fixings of each slot (and "tie"), modules that count."""

    labour: Labour = field(default_factory=Labour)
    transport: Transport = field(default_factory=Transport)
    fixings: Mapping[str, tuple[tuple[Fixing, Stock], ...]] = field(default_factory=dict)
    carbon: CarbonDemand = field(default_factory=CarbonDemand)


NO_TERMS = Terms()


@dataclass(frozen=True)
class Amount:
    """Per m2 of a solid layer: resistance [m2K/W], mass [kg], price and labour [currency], carbon [kgCO2e].

    sd and sd_humid: vapour diffusion-equivalent thickness [m] in dry and in humid air; NaN where it is not known.
    """

    resistance: float
    mass: float
    price: float
    labour: float
    carbon: float
    biogenic: float
    sd: float = UNKNOWN
    sd_humid: float = UNKNOWN


EMPTY = Amount(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
AIR_SD = 0.01  # m, of any air layer (ISO 13788)


def vapour(material: Material, thickness: float) -> tuple[float, float]:
    """sd = mu d [m] in dry and in humid air; the material's own sd where it states one. NaN where it states neither.

    Of materials with a dry-cup and a wet-cup value the catalogue's design value stands for both: only membranes made to
    follow the humidity are taken to do so.
    """
    if material.key == "air":
        return AIR_SD, AIR_SD
    if material.sd_m_dry is not None and material.sd_m_humid is not None:
        return material.sd_m_dry, material.sd_m_humid
    if material.sd_m is not None:
        return material.sd_m, material.sd_m
    if thickness == 0:
        return 0.0, 0.0
    sd = UNKNOWN if material.vapour_mu is None else material.vapour_mu * thickness
    return sd, sd


def resistance_of(material: Material, thickness: float) -> float:
    """R = d / lambda [m2K/W] of a thickness [m], or the resistance the material states; NaN when it states neither.

    A membrane, known by its sd, has none.
    """
    if material.resistance_m2k_w is not None:
        return material.resistance_m2k_w
    if thickness == 0:
        return 0.0
    conductivity = material.design_conductivity
    if conductivity is None and (material.sd_m or material.sd_m_dry):
        return 0.0  # a membrane
    return thickness / conductivity if conductivity else UNKNOWN


def sheet(stock: Stock, role: str, thickness: float, terms: Terms) -> Amount:
    """A board, membrane, cladding or lining of one product; batts of one or more, in stock layers. Thickness [m]."""
    material = stock.material
    mass = _mass(material, thickness, material.density_kg_m3)
    price = sum(
        cost.price_per_m2(each, (each.thickness_mm or 0) / 1000, mass, material.waste_fraction)
        for each in stock.products
    )
    layers = max(len(stock.products), 1)
    return _amount(
        material,
        thickness,
        mass,
        price if stock.products else UNKNOWN,
        layers * cost.board_labour(terms.labour, role, material),
    )


def blown(stock: Stock, thickness: float, void_depth: float, terms: Terms) -> Amount:
    """A blown fill of a thickness [m] in a void of a depth [m], which sets its density."""
    material = stock.material
    mass = _mass(material, thickness, material.installed_density(void_depth * 1000))
    price = (
        cost.price_per_m2(stock.products[0], thickness, mass, material.waste_fraction) if stock.products else UNKNOWN
    )
    return _amount(material, thickness, mass, price, cost.blown_labour(terms.labour, thickness))


def members(stock: Stock, depth: float, width: float, batten: bool, terms: Terms) -> Amount:
    """Studs or battens of a depth through the wall and a width along it [m], per m2 of a solid layer of them."""
    material = stock.material
    mass = _mass(material, depth, material.density_kg_m3)
    price = cost.price_per_m2(stock.products[0], depth, mass, material.waste_fraction) if stock.products else UNKNOWN
    return _amount(material, depth, mass, price, cost.member_labour(terms.labour, width, batten))


def ties(stock: Stock, gap: float, thickness: float, height: float, overlap: float, terms: Terms) -> Amount:
    """Tie plates across a gap [m] reaching an overlap [m] onto the studs on either side, per m2 of solid plates."""
    material = stock.material
    length = gap + 2 * overlap
    mass = _mass(material, length, material.density_kg_m3)
    price = UNKNOWN
    if stock.products:
        product = stock.products[0]
        by_area = product.price / ((product.thickness_mm or 1) / 1000) * length  # plates are cut from sheets
        price = (
            by_area * (1 + material.waste_fraction)
            if product.unit == "m2"
            else cost.price_per_m2(product, length, mass, material.waste_fraction)
        )
    amount = _amount(material, length, mass, price, cost.tie_labour(terms.labour, thickness, height))
    sd, sd_humid = vapour(material, gap)
    return replace(amount, resistance=resistance_of(material, gap), sd=sd, sd_humid=sd_humid)


def _mass(material: Material, thickness: float, density: float | None) -> float:
    if material.mass_kg_m2 is not None and thickness == 0:
        return material.mass_kg_m2
    if thickness == 0:
        return 0.0
    return UNKNOWN if density is None else density * thickness


def _amount(material: Material, thickness: float, mass: float, price: float, labour: float) -> Amount:
    fossil, biogenic = carbon.per_kg(material)
    resistance, (sd, sd_humid) = resistance_of(material, thickness), vapour(material, thickness)
    return Amount(resistance, mass, price, labour, fossil * mass, biogenic * mass, sd, sd_humid)
