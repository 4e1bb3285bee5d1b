"""What one layer, or the members across it, brings to a wall: resistance and quantities, from material and product.

The one place where materials become numbers, called for every option of a search and for every layer of a build-up
file alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import ClassVar

from materials.catalogue import Catalogue
from materials.models import Material, Product, as_sold

from ..score import cost, embodied_carbon
from ..score.carbon_figures import HeldMaterial
from ..score.settings import CarbonDemand, Fixing, Labour, Transport

UNKNOWN = float("nan")


def sawn(one_mm: float, other_mm: float, sign: str = " × ") -> str:
    """A section of timber as the trade calls it, the smaller side first whichever way it lies: '38 × 50'."""
    return f"{min(one_mm, other_mm):g}{sign}{max(one_mm, other_mm):g}"


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

    def laying(self, waste: float) -> float:
        """What it costs to lay one layer of a batt, as a price before waste [currency/m2]."""
        return self.labour.rate_per_h * self.labour.batt_h_per_m2 / (1 + waste)


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
    bill: ClassVar[cost.Bill] = cost.NOTHING
    held: ClassVar[tuple[HeldMaterial, ...]] = ()


@dataclass(frozen=True)
class Costed(Amount):
    """An amount with what its price and labour are made of, and what its mass is of."""

    bill: cost.Bill = cost.NOTHING
    held: tuple[HeldMaterial, ...] = ()


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
    purchases = [
        cost.purchase(each, material, (each.thickness_mm or 0) / 1000, share * mass, terms.transport)
        for each, share in _shares(stock.products)
    ]
    hours = cost.board_hours(terms.labour, role, material)
    layers = max(len(stock.products), 1)
    hours = {name: layers * each for name, each in hours.items()}
    return _amount(stock, thickness, mass, purchases, hours, _fixed(terms, role, "per_m2"), terms)


def blown(stock: Stock, thickness: float, void_depth: float, terms: Terms) -> Amount:
    """A blown fill of a thickness [m] in a void of a depth [m], which sets its density."""
    material = stock.material
    mass = _mass(material, thickness, material.installed_density(void_depth * 1000))
    purchases = [cost.purchase(each, material, thickness, mass, terms.transport) for each in stock.products[:1]]
    return _amount(stock, thickness, mass, purchases, cost.blown_hours(terms.labour, thickness), [], terms)


def blown_prices(stock: Stock, terms: Terms) -> tuple[float, float]:
    """Price of a blown fill by mass [currency/kg] and by volume [currency/m3]; delivery goes by mass, however sold."""
    meter = blown(stock, 1.0, 1.0, terms)
    if stock.products[0].unit == "kg":
        return meter.price / meter.mass, 0.0
    return (meter.bill.delivery / meter.mass if meter.bill.delivery else 0.0), meter.price - meter.bill.delivery


def members(stock: Stock, depth: float, width: float, role: str, terms: Terms) -> Amount:
    """Studs or battens of a depth through the wall and a width along it [m], per m2 of a solid layer of them."""
    material = stock.material
    mass = _mass(material, depth, material.density_kg_m3)
    purchases = [cost.purchase(each, material, depth, mass, terms.transport) for each in stock.products[:1]]
    hours = cost.member_hours(terms.labour, role, width)
    return _amount(stock, depth, mass, purchases, hours, _fixed(terms, role, "per_m", 1 / width), terms)


def ties(stock: Stock, gap: float, thickness: float, height: float, overlap: float, terms: Terms) -> Amount:
    """Tie plates across a gap [m] reaching an overlap [m] onto the studs on either side, per m2 of solid plates."""
    material = stock.material
    length = gap + 2 * overlap
    mass = _mass(material, length, material.density_kg_m3)
    purchases = [cost.cut_from_sheet(each, material, length, mass, terms.transport) for each in stock.products[:1]]
    hours = cost.tie_hours(terms.labour, thickness, height)
    fixed = _fixed(terms, "tie", "per_tie", 1 / (thickness * height))
    amount = _amount(stock, length, mass, purchases, hours, fixed, terms)
    sd, sd_humid = vapour(material, gap)
    return replace(amount, resistance=resistance_of(material, gap), sd=sd, sd_humid=sd_humid)


def _shares(products: tuple[Product, ...]) -> list[tuple[Product, float]]:
    """Each product of a layer with its share of the layer's mass: by thickness where several lie on each other."""
    total = sum(each.thickness_mm or 0 for each in products)
    return [(each, (each.thickness_mm or 0) / total if total else 1 / len(products)) for each in products]


def _fixed(terms: Terms, place: str, measure: str, per_m2: float = 1.0) -> list[tuple[Stock, float]]:
    """Fixings and tapes of a place with their number of units per m2 of a solid layer. per_m2: measures in a m2."""
    given = [(getattr(each, measure), stock) for each, stock in terms.fixings.get(place, ())]
    return [(stock, number * per_m2) for number, stock in given if number is not None]


def _mass(material: Material, thickness: float, density: float | None) -> float:
    if material.mass_kg_m2 is not None and thickness == 0:
        return material.mass_kg_m2
    if thickness == 0:
        return 0.0
    return UNKNOWN if density is None else density * thickness


def _amount(
    stock: Stock,
    thickness: float,
    mass: float,
    purchases: list[cost.Purchase],
    hours: Mapping[str, float],
    fixed: list[tuple[Stock, float]],
    terms: Terms,
) -> Costed:
    """The amount of a layer with its fixings, from what it is bought as."""
    fixings, masses = [], [HeldMaterial(stock.material, mass, _distance(stock, terms))]
    for each, units in fixed:
        product = each.products[0]
        fixings.append(cost.fixing(product, each.material, units, terms.transport))
        masses.append(HeldMaterial(each.material, units * cost.unit_mass(product), _distance(each, terms)))
    counted, stored = (sum(each) for each in zip(*(_carbon(each, terms) for each in masses), strict=True))
    mass = sum(each.mass for each in masses)
    bill = cost.bill(purchases, fixings, hours, terms.labour)
    resistance, (sd, sd_humid) = resistance_of(stock.material, thickness), vapour(stock.material, thickness)
    return Costed(resistance, mass, bill.price, bill.labour, counted, stored, sd, sd_humid, bill, tuple(masses))


def carbon_per_kg(stock: Stock, terms: Terms) -> tuple[float, float]:
    """Carbon that counts and biogenic carbon stored [kgCO2e/kg] of a stock; NaN where nothing is known."""
    return embodied_carbon.per_kg(stock.material, terms.carbon, terms.transport, _distance(stock, terms))


def _carbon(held: HeldMaterial, terms: Terms) -> tuple[float, float]:
    """The same of a mass [kgCO2e]."""
    counted, stored = embodied_carbon.per_kg(held.material, terms.carbon, terms.transport, held.delivery_km)
    return counted * held.mass, stored * held.mass


def _distance(stock: Stock, terms: Terms) -> float | None:
    """Mean delivery distance by mass [km] where a supplier states one; None where none does."""
    if all(each.delivery_km is None for each in stock.products):
        return None
    usual = terms.transport.distance_km
    return sum(
        share * (usual if each.delivery_km is None else each.delivery_km) for each, share in _shares(stock.products)
    )


def shelve(catalogue: Catalogue, stock: Stock, library: dict[str, Material]) -> str:
    """Put a material on the wall's own shelf: under the catalogue's key, or the product's where its values differ."""
    material = stock.material
    if catalogue.materials.get(material.key) != material:
        material = material.model_copy(update={"key": stock.products[0].key, "sources": {}})
    library[material.key] = material
    return material.key
