"""Material, Product, Declaration: the records that everything else is built from.

Units stand in the keys. A material says what something is (physics, carbon, where it may be used);
a product says in what size, by whom and at what price it can be bought.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import Field, model_validator

from .errors import Checked
from .slips import GRAMS, KILO, PERCENT, TENFOLD, within

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Fraction = Annotated[float, within(0, 0.999999, "as a share", PERCENT)]
# What anything a wall is made of can have; the conductivities of a kind of material are narrower (`check_own`).
Conductivity = Annotated[float, within(0.005, 500, "W/mK", TENFOLD)]  # evacuated panels have 0.007, copper 380
Density = Annotated[float, within(0.1, 25_000, "kg/m3")]
SpecificHeat = Annotated[float, within(100, 5000, "J/kgK", KILO)]
VapourFactor = Annotated[float, within(0.5, 1e7, "")]  # still air has 1
VapourThickness = Annotated[float, within(1e-4, 1e5, "m")]
MassPerArea = Annotated[float, within(1e-3, 100, "kg/m2", GRAMS)]
FossilCarbon = Annotated[float, within(-100, 1000, "kgCO2e per kg", GRAMS)]
StoredCarbon = Annotated[float, within(-4, 0, "kgCO2e per kg", GRAMS)]  # no substance is more than all carbon: 44/12
BurntCarbon = Annotated[float, within(0, 4, "kgCO2e per kg", GRAMS)]
Life = Annotated[float, within(1, 1000, "years")]

Kind = Literal[
    "timber",
    "loose fill",
    "batt",
    "insulating board",
    "board",
    "membrane",
    "cladding",
    "fixing",
    "air",
]
KINDS: tuple[str, ...] = get_args(Kind)

# What a material may be used as: a word that the template of slots knows, or "tie"; new slots bring new ones.
Use = Annotated[str, Field(pattern=r"^[a-z]+( [a-z-]+|-[a-z]+)*$")]

Origin = Literal["renewable", "mineral", "fossil", "metal"]
FireClass = Literal["A1", "A2", "B", "C", "D", "E", "F"]  # reaction to fire of EN 13501-1, best first
FIRE_CLASSES: tuple[str, ...] = get_args(FireClass)


class Conversion(Checked):
    """Factors from the declared to the design conductivity (ISO 10456: lambda_2 = lambda_1 F_T F_m F_a)."""

    temperature: Positive = 1.0
    moisture: Positive = 1.0
    ageing: Positive = 1.0

    @property
    def factor(self) -> float:
        return self.temperature * self.moisture * self.ageing


class DepthDensity(Checked):
    """Installed density of a blown fill in voids up to this depth [mm, kg/m3]."""

    depth_mm: Positive
    density_kg_m3: Positive


Module = Literal["A1-A3", "A4", "A5", "B4", "C1", "C2", "C3", "C4", "D"]
MOST_PER_KG = 1e4  # kgCO2e per kg of anything that a wall is made of, far beyond all of it
MODULES: tuple[str, ...] = get_args(Module)  # life-cycle modules of EN 15978, those that concern what a wall is made of


class ModuleCarbon(Checked):
    """Carbon of one life-cycle module per kg of product [kgCO2e/kg], by the indicators of EN 15804+A2.

    biogenic: taken up (negative) or given off (positive) by the product itself; land_use: land use and its change.
    """

    fossil: float = 0.0
    biogenic: float = 0.0
    land_use: float = 0.0

    @property
    def total(self) -> float:
        return self.fossil + self.biogenic + self.land_use


class Declaration(Checked):
    """A product's own carbon values per kg by module (EN 15804), replacing the generic ones; a missing module is none.

    Its A1-A3 are always there. `valid_until` and `region` as the declaration states them.
    """

    key: str
    name: str = ""
    source: str
    modules: dict[Module, ModuleCarbon]
    valid_until: date | None = None
    region: str | None = None

    @model_validator(mode="after")
    def _product_stage(self) -> Declaration:
        if "A1-A3" not in self.modules:
            raise ValueError("a declaration needs the modules A1-A3")
        for name, module in self.modules.items():
            if max(abs(module.fossil), abs(module.biogenic), abs(module.land_use)) > MOST_PER_KG:
                raise ValueError(f"{name}: expected kgCO2e per kg, from {-MOST_PER_KG:g} to {MOST_PER_KG:g}")
        return self

    @classmethod
    def of_product_stage(cls, key: str, fossil: float, biogenic: float, source: str) -> Declaration:
        """One that states A1-A3 alone [kgCO2e/kg], as a price list gives it."""
        return cls(key=key, source=source, modules={"A1-A3": ModuleCarbon(fossil=fossil, biogenic=biogenic)})

    @property
    def fossil_kgco2e_kg(self) -> float:
        """A1-A3 without what the product stores: fossil and land use."""
        return self.modules["A1-A3"].fossil + self.modules["A1-A3"].land_use

    @property
    def biogenic_kgco2e_kg(self) -> float:
        return self.modules["A1-A3"].biogenic


class Material(Checked):
    """What something is: physics, carbon per kg, and the places in a wall where it may be used.

    Every number has its source in `sources` (key of the value -> key of `data/sources.toml`); the catalogue
    refuses a number without one. A material written inside a build-up file needs none.
    """

    key: str
    name: str
    kind: Kind | None = None
    uses: tuple[Use, ...] = ()
    origin: Origin | None = None
    reaction_to_fire: str | None = None

    conductivity_w_mk: Conductivity | None = None
    conductivity_declared_w_mk: Conductivity | None = None
    conversion: Conversion | None = None
    resistance_m2k_w: NotNegative | None = None
    density_kg_m3: Density | None = None
    density_min_kg_m3: Density | None = None
    density_max_kg_m3: Density | None = None
    density_by_depth: tuple[DepthDensity, ...] = ()
    specific_heat_j_kgk: SpecificHeat | None = None
    vapour_mu: VapourFactor | None = None
    vapour_mu_dry: VapourFactor | None = None
    vapour_mu_wet: VapourFactor | None = None
    sd_m: VapourThickness | None = None
    sd_m_dry: VapourThickness | None = None
    sd_m_humid: VapourThickness | None = None
    mass_kg_m2: MassPerArea | None = None
    mass_kg_piece: Positive | None = None  # a fixing's usual mass, where a list gives none
    mass_kg_m: Positive | None = None  # the same of a tape, by the metre
    blown_support_mm: Positive | None = None  # widest spacing of battens behind a membrane that holds a blown fill

    fossil_kgco2e_kg: FossilCarbon | None = None
    fossil_low_kgco2e_kg: FossilCarbon | None = None
    fossil_high_kgco2e_kg: FossilCarbon | None = None
    biogenic_kgco2e_kg: StoredCarbon | None = None
    biogenic_practice_kgco2e_kg: StoredCarbon | None = None  # the trade's rule; only compared
    waste_fraction: Fraction = 0.0
    service_life_years: Life | None = None  # well fitted and in its usual place (module B4)
    burnt_fossil_kgco2e_kg: BurntCarbon | None = None  # fossil carbon of its own, given off when burnt (module C3)
    declaration: Declaration | None = None  # of the product that it is bought as

    strength_class: str | None = None
    airtight: bool = False
    windtight: bool = False
    racking: bool = False
    rigid_foam: bool = False

    sources: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _complete(self) -> Material:
        declared = self.conductivity_declared_w_mk is not None
        if declared and self.conversion is None:
            raise ValueError(
                "conductivity_declared_w_mk needs conversion = { moisture = ..., temperature = ..., ageing = ... } "
                "(ISO 10456), or give the design value conductivity_w_mk"
            )
        if declared and self.conductivity_w_mk is not None:
            raise ValueError("give conductivity_w_mk or conductivity_declared_w_mk, not both")
        if (self.sd_m_dry is None) != (self.sd_m_humid is None):
            raise ValueError("sd_m_dry and sd_m_humid belong together")
        return self

    @property
    def design_conductivity(self) -> float | None:
        """Design conductivity lambda [W/mK]: as given, or the declared one times its conversion."""
        if self.conductivity_declared_w_mk is not None and self.conversion is not None:
            return self.conductivity_declared_w_mk * self.conversion.factor
        return self.conductivity_w_mk

    @property
    def fire_rank(self) -> int:
        """Place in FIRE_CLASSES of its class without smoke and droplets; last (F) where no class for walls is stated.

        Source: EN 13501-1.
        """
        stated = (self.reaction_to_fire or "").strip().split("-")[0]
        return FIRE_CLASSES.index(stated) if stated in FIRE_CLASSES else len(FIRE_CLASSES) - 1

    def installed_density(self, void_depth_mm: float) -> float | None:
        """Density [kg/m3] of this material in a void of that depth: blown fills are packed denser in deep voids."""
        for step in self.density_by_depth:
            if void_depth_mm <= step.depth_mm + 1e-6:  # depths are sums of sizes in mm
                return step.density_kg_m3
        return self.density_by_depth[-1].density_kg_m3 if self.density_by_depth else self.density_kg_m3


Unit = Literal["m2", "m3", "m", "kg", "piece"]
UNITS: tuple[str, ...] = get_args(Unit)
Pack = Literal["bag", "roll", "pack", "sheet", "bundle", "piece"]
PACKS: tuple[str, ...] = get_args(Pack)


class PriceStep(Checked):
    """The price per unit from a quantity on, in that unit."""

    quantity: Positive
    price: Positive


class Product(Checked):
    """A material in a size, from a supplier, at a price (per `unit`).

    `thickness_mm` is the size through the wall (a board's thickness, a stud's depth); `width_mm` the face of a
    timber across the wall. Loose fills have neither. Packs hold `pack_contents` of `unit`, in which the price and
    `minimum_order` are counted too. `mass_kg` is that of one unit of a fixing or tape. `price` holds from the least
    quantity on; `steps` are the lower prices of larger ones. `freight` is what a delivery of the supplier costs below
    goods for `freight_free_from`.
    """

    key: str
    name: str
    material: str
    supplier: str
    thickness_mm: NotNegative | None = None
    width_mm: Positive | None = None
    price: float
    unit: Unit
    currency: str
    conductivity_w_mk: Positive | None = None
    conductivity_declared_w_mk: Positive | None = None
    conversion: Conversion | None = None
    density_kg_m3: Positive | None = None
    vapour_mu: Positive | None = None
    sd_m: Positive | None = None
    sd_m_dry: Positive | None = None
    sd_m_humid: Positive | None = None
    mass_kg_m2: Positive | None = None
    declaration: Declaration | None = None
    declaration_key: str | None = None  # of a declaration that stands in a file of its own
    waste_fraction: Fraction | None = None
    pack: Pack | None = None
    pack_contents: Positive | None = None
    minimum_order: NotNegative | None = None
    valid_until: date | None = None
    lead_time_days: Annotated[int, Field(ge=0)] | None = None
    delivery_km: NotNegative | None = None
    mass_kg: Positive | None = None
    steps: tuple[PriceStep, ...] = ()
    freight: NotNegative | None = None
    freight_free_from: NotNegative | None = None
    source: str

    def price_for(self, quantity: float) -> float:
        """Price per unit of so many of it: that of the step reached."""
        reached = [each.price for each in self.steps if quantity >= each.quantity - 1e-9]
        return reached[-1] if reached else self.price

    def lapsed(self, on: date) -> bool:
        """Whether the price is no longer valid on a day."""
        return self.valid_until is not None and self.valid_until < on


def as_sold(material: Material, product: Product | None) -> Material:
    """The material with what the product declares of itself in place of the catalogue's values."""
    if product is None:
        return material
    change: dict[str, object] = {}
    if product.conductivity_w_mk is not None:
        change |= {"conductivity_w_mk": product.conductivity_w_mk, "conductivity_declared_w_mk": None}
    elif product.conductivity_declared_w_mk is not None:
        change |= {
            "conductivity_w_mk": None,
            "conductivity_declared_w_mk": product.conductivity_declared_w_mk,
            "conversion": product.conversion,
        }
    if product.density_kg_m3 is not None:
        change |= {"density_kg_m3": product.density_kg_m3, "density_by_depth": ()}
    change |= _vapour_as_sold(product)
    if product.declaration is not None:
        change |= {
            "fossil_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "fossil_low_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "fossil_high_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "biogenic_kgco2e_kg": product.declaration.biogenic_kgco2e_kg,
            "declaration": product.declaration,
        }
    if product.waste_fraction is not None:
        change["waste_fraction"] = product.waste_fraction
    return material.model_copy(update=change) if change else material


def _vapour_as_sold(product: Product) -> dict[str, float | None]:
    """What a product says of vapour and of its mass per m2, in place of whatever its material says of vapour."""
    change: dict[str, float | None] = {} if product.mass_kg_m2 is None else {"mass_kg_m2": product.mass_kg_m2}
    if product.vapour_mu is not None:
        none = dict.fromkeys(("vapour_mu_dry", "vapour_mu_wet", "sd_m", "sd_m_dry", "sd_m_humid"))
        return change | none | {"vapour_mu": product.vapour_mu}
    if product.sd_m is not None or product.sd_m_dry is not None:
        return change | {"sd_m": product.sd_m, "sd_m_dry": product.sd_m_dry, "sd_m_humid": product.sd_m_humid}
    return change
