"""Material, Product, Declaration: the records that everything else is built from.

Units stand in the keys. A material says what something is (physics, carbon, where it may be used);
a product says in what size, by whom and at what price it can be bought.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field, model_validator

from .errors import Checked

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Fraction = Annotated[float, Field(ge=0, lt=1)]

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

Use = Literal[
    "cladding",
    "batten",
    "wind-tight layer",
    "outer board",
    "sheathing",
    "frame",
    "gap board",
    "fill",
    "tie",
    "airtight layer",
    "service zone",
    "lining",
]
USES: tuple[str, ...] = get_args(Use)

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

    conductivity_w_mk: Positive | None = None
    conductivity_declared_w_mk: Positive | None = None
    conversion: Conversion | None = None
    resistance_m2k_w: NotNegative | None = None
    density_kg_m3: Positive | None = None
    density_min_kg_m3: Positive | None = None
    density_max_kg_m3: Positive | None = None
    density_by_depth: tuple[DepthDensity, ...] = ()
    specific_heat_j_kgk: Positive | None = None
    vapour_mu: Positive | None = None
    vapour_mu_dry: Positive | None = None
    vapour_mu_wet: Positive | None = None
    sd_m: Positive | None = None
    sd_m_dry: Positive | None = None
    sd_m_humid: Positive | None = None
    mass_kg_m2: Positive | None = None
    blown_support_mm: Positive | None = None  # widest spacing of battens behind a membrane that holds a blown fill

    fossil_kgco2e_kg: float | None = None
    fossil_low_kgco2e_kg: float | None = None
    fossil_high_kgco2e_kg: float | None = None
    biogenic_kgco2e_kg: Annotated[float, Field(le=0)] | None = None
    waste_fraction: Fraction = 0.0

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


class Declaration(Checked):
    """A product's own carbon values per kg (modules A1-A3), replacing the generic ones."""

    key: str
    fossil_kgco2e_kg: float
    biogenic_kgco2e_kg: Annotated[float, Field(le=0)]
    source: str


Unit = Literal["m2", "m3", "m", "kg", "piece"]


class Product(Checked):
    """A material in a size, from a supplier, at a price (per `unit`).

    `thickness_mm` is the size through the wall (a board's thickness, a stud's depth); `width_mm` the face of a
    timber across the wall. Loose fills have neither.
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
    declaration: Declaration | None = None
    source: str


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
    if product.declaration is not None:
        change |= {
            "fossil_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "fossil_low_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "fossil_high_kgco2e_kg": product.declaration.fossil_kgco2e_kg,
            "biogenic_kgco2e_kg": product.declaration.biogenic_kgco2e_kg,
        }
    return material.model_copy(update=change) if change else material
