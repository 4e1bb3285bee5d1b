"""A declaration per declared unit -> carbon per kg of one product, or what is missing to know it."""

from __future__ import annotations

from ..errors import InputError
from ..listed.rows import BIOGENIC_RANGE, DENSITY_RATIO, FOSSIL_RANGE
from ..models import Declaration, Material, Module, ModuleCarbon, Product
from ..wood_carbon import CO2_PER_CARBON
from .declaration_record import INDICATOR_NAMES, DeclaredProduct, DeclaredUnit, ModuleValues

PRODUCT_STAGE = "A1-A3"
# Packaging and biogenic methane lift GWP-biogenic of mineral products slightly above zero (common practice).
BIOGENIC_HIGHEST = 0.05
# Nothing that a wall is made of gives off or saves more per kg in any one module than the worst product stage.
MODULE_RANGE = (-FOSSIL_RANGE[1], FOSSIL_RANGE[1])
# Declared values are rounded: a total may differ from its parts by this share of the largest, or this many kgCO2e.
TOTAL_TOLERANCE = (0.02, 0.01)
BALANCE_TOLERANCE = 0.05
# In these no carbon held by the product leaves it, so a total can only be fossil (and land use).
CARBON_STAYS = ("A4", "C1", "C2")


def for_product(declared: DeclaredProduct, material: Material, product: Product) -> Declaration:
    """The declaration per kg of a product [kgCO2e/kg].

    The mass of the declared unit is the file's own where it states one (or a density, grammage, ...), otherwise from
    the product's density and size, otherwise from the material's. A total that stands alone is split by the stated
    biogenic carbon (stored = 44/12 C); modules that can't be split are left out. InputError, naming the figure: no
    mass, no split of A1-A3, or a value that no building product has. Source: EN 15804.
    """
    place = _place(declared)
    modules = _split(declared, place)
    mass = _mass(declared, material, product, place)
    _check_density(declared.unit, material, product, mass, place)
    for name, each in modules.items():
        _check_range(name, each, declared, mass, place)
    return Declaration(
        key=declared.key,
        name=declared.name,
        source=f"declaration to {declared.standard}",
        modules={
            name: ModuleCarbon(fossil=each.fossil / mass, biogenic=each.biogenic / mass, land_use=each.land_use / mass)
            for name, each in modules.items()
        },
        valid_until=declared.valid_until,
        region=declared.region,
    )


def left_out(declared: DeclaredProduct) -> tuple[Module, ...]:
    """Modules with a total alone, whose share of biogenic carbon is not known: they are not used."""
    return tuple(name for name in declared.modules if name not in _split(declared, _place(declared)))


def split_modules(declared: DeclaredProduct) -> dict[Module, ModuleCarbon]:
    """Fossil, biogenic and land use of every module that can be split, per declared unit [kgCO2e].

    InputError where A1-A3 cannot be, or a total is not the sum of its parts.
    """
    return _split(declared, _place(declared))


def mass_alone(declared: DeclaredProduct) -> float | None:
    """Mass of the declared unit [kg] by the file alone; None where a product's size must give it.

    InputError for a file without its declared unit, and for values per kg that no building product has.
    """
    place = _place(declared)
    if declared.unit is None:
        raise InputError(_no_unit(place))
    mass = _stated_mass(declared.unit)
    if mass:
        for name, each in _split(declared, place).items():
            _check_range(name, each, declared, mass, place)
    return mass or None


def biogenic_balance(declaration: Declaration) -> float | None:
    """Biogenic carbon over A to C [kgCO2/kg], which EN 15804 wants to be zero; None without any C3 or C4."""
    if not {"C3", "C4"} & set(declaration.modules):
        return None
    return sum(each.biogenic for name, each in declaration.modules.items() if name != "D")


def balances(declaration: Declaration) -> bool:
    """Whether what is taken up in A1-A3 is given off by the end of life, within the rounding of declarations."""
    balance = biogenic_balance(declaration)
    stored = abs(declaration.biogenic_kgco2e_kg)
    return balance is None or abs(balance) <= max(BALANCE_TOLERANCE * stored, BIOGENIC_HIGHEST)


def _place(declared: DeclaredProduct) -> str:
    return f'declaration "{declared.name}" ({declared.key})'


def _split(declared: DeclaredProduct, place: str) -> dict[Module, ModuleCarbon]:
    """Fossil, biogenic and land use of every module that can be split, per declared unit."""
    modules: dict[Module, ModuleCarbon] = {}
    for name, values in declared.modules.items():
        parts = _parts(values)
        if parts is None and values.total is not None:
            parts = _by_carbon(name, values.total, declared.unit)
        if parts is not None:
            _check_total(name, values, parts, place)
            modules[name] = parts
    if PRODUCT_STAGE not in modules:
        raise InputError(f"{place}, {PRODUCT_STAGE}: {_unsplit(declared.modules[PRODUCT_STAGE])}")
    return modules


def _unsplit(values: ModuleValues) -> str:
    if values.total is not None and values.fossil is None and values.biogenic is None:
        return (
            "only the total of climate change, with biogenic carbon inside; to tell fossil from biogenic the file "
            "must state the biogenic carbon content of the product"
        )
    stated = {"fossil": values.fossil, "biogenic": values.biogenic, "total": values.total}
    missing = [INDICATOR_NAMES[name] for name, value in stated.items() if value is None]
    return f"{' and '.join(missing)} missing; expected fossil and biogenic"


def _parts(values: ModuleValues) -> ModuleCarbon | None:
    """The three parts of a module, one that is missing taken from the total; None where that can't be done.

    Land use may be left out of a declaration where it is a small part of the total (EN 15804+A2): without a total to
    tell how much, it counts as none.
    """
    fossil, biogenic, land_use, total = values.fossil, values.biogenic, values.land_use, values.total
    if fossil is not None and biogenic is not None:
        if land_use is None:
            land_use = 0.0 if total is None else total - fossil - biogenic
    elif total is None or land_use is None or (fossil is None and biogenic is None):
        return None
    elif fossil is None:
        fossil = total - biogenic - land_use
    else:
        biogenic = total - fossil - land_use
    return ModuleCarbon(fossil=fossil, biogenic=biogenic, land_use=land_use)


def _by_carbon(name: str, total: float, unit: DeclaredUnit | None) -> ModuleCarbon | None:
    """A total with biogenic carbon inside, split by the carbon that the product is stated to hold."""
    if name in CARBON_STAYS:
        return ModuleCarbon(fossil=total)
    if name != PRODUCT_STAGE or unit is None or unit.biogenic_carbon_kg is None:
        return None
    stored = CO2_PER_CARBON * unit.biogenic_carbon_kg
    return ModuleCarbon(fossil=total + stored, biogenic=-stored)


def _check_total(name: str, values: ModuleValues, parts: ModuleCarbon, place: str) -> None:
    if values.total is None:
        return
    share, least = TOTAL_TOLERANCE
    largest = max(abs(parts.fossil), abs(parts.biogenic), abs(parts.land_use))
    if abs(values.total - parts.total) > max(share * largest, least):
        raise InputError(
            f"{place}, {name}: GWP-total {values.total:g} kg CO2e; expected {parts.total:g}, the sum of its parts"
        )


def _mass(declared: DeclaredProduct, material: Material, product: Product, place: str) -> float:
    """Mass of the declared unit [kg]; InputError says which figure is missing."""
    unit = declared.unit
    if unit is None:
        raise InputError(_no_unit(place))
    mass = _stated_mass(unit) or _mass_by_size(unit, material, product)
    if not mass:
        raise InputError(f"{place}: declared per {unit.words}; {_missing(unit, material, product)}")
    return mass


def _no_unit(place: str) -> str:
    return (
        f"{place}: the declared unit is not known: it stands in the flow data set; give the ZIP archive that holds "
        "both, or the extended JSON"
    )


def _stated_mass(unit: DeclaredUnit) -> float | None:
    """Mass of the declared unit by the file alone [kg]."""
    if unit.unit == "kg":
        return unit.amount
    if unit.mass_kg:
        return unit.mass_kg
    per_unit = {
        "m3": unit.density_kg_m3,
        "m2": unit.grammage_kg_m2 or _times(unit.density_kg_m3, unit.thickness_m),
        "m": unit.linear_density_kg_m,
        "piece": unit.piece_kg,
    }[unit.unit]
    if per_unit:
        return unit.amount * per_unit
    return unit.amount / unit.units_per_kg if unit.units_per_kg else None


def _mass_by_size(unit: DeclaredUnit, material: Material, product: Product) -> float | None:
    """Mass of the declared unit by what is known of the product and its material [kg]."""
    density = unit.density_kg_m3 or product.density_kg_m3 or material.density_kg_m3
    thickness = unit.thickness_m or _metres(product.thickness_mm)
    per_unit = {
        "m3": density,
        "m2": _times(density, thickness) or material.mass_kg_m2,
        "m": _times(density, thickness, _metres(product.width_mm)) or _product_mass(product, "m"),
        "piece": _product_mass(product, "piece"),
    }[unit.unit]
    return unit.amount * per_unit if per_unit else None


def _metres(millimetres: float | None) -> float | None:
    return None if not millimetres else millimetres / 1000.0


def _product_mass(product: Product, unit: str) -> float | None:
    return product.mass_kg if product.unit == unit else None


def _times(*factors: float | None) -> float | None:
    """The product of all factors; None where one is not known."""
    result = 1.0
    for each in factors:
        if not each:
            return None
        result *= each
    return result


def _missing(unit: DeclaredUnit, material: Material, product: Product) -> str:
    in_file = {"m3": "gross density", "m2": "grammage", "m": "linear density", "piece": "weight per piece"}[unit.unit]
    needed = {
        "density_kg_m3": unit.unit != "piece" and not (product.density_kg_m3 or material.density_kg_m3),
        "thickness_mm": unit.unit in ("m2", "m") and not product.thickness_mm,
        "width_mm": unit.unit == "m" and not product.width_mm,
        "mass_kg (of one piece)": unit.unit == "piece",
    }
    missing = [name for name, is_missing in needed.items() if is_missing]
    return (
        f'its mass is not known: the file states no {in_file}, product "{product.key}" ({material.key}) no '
        f"{' and no '.join(missing)}"
    )


def _check_density(unit: DeclaredUnit, material: Material, product: Product, mass: float, place: str) -> None:
    """A declaration of another product shows in its density."""
    usual = product.density_kg_m3 or material.density_kg_m3
    stated = mass / unit.amount if unit.unit == "m3" else unit.density_kg_m3
    if stated is None and unit.grammage_kg_m2 and unit.thickness_m:
        stated = unit.grammage_kg_m2 / unit.thickness_m
    if usual is None or stated is None:
        return
    low, high = (ratio * usual for ratio in DENSITY_RATIO)
    if not low <= stated <= high:
        raise InputError(
            f"{place}: {stated:g} kg/m3; expected {low:.0f} to {high:.0f} kg/m3 for product "
            f'"{product.key}" ({material.key}: {usual:g})'
        )


def _check_range(name: str, carbon: ModuleCarbon, declared: DeclaredProduct, mass: float, place: str) -> None:
    stage = name == PRODUCT_STAGE
    ranges = {
        "fossil": FOSSIL_RANGE if stage else MODULE_RANGE,
        "biogenic": (BIOGENIC_RANGE[0], BIOGENIC_HIGHEST) if stage else MODULE_RANGE,
        "land_use": MODULE_RANGE,
    }
    for part, (low, high) in ranges.items():
        value = getattr(carbon, part) / mass
        if not low <= value <= high:
            raise InputError(
                f"{place}, {name}: {INDICATOR_NAMES[part]} {value:.4g} kg CO2e per kg; expected {low:g} to {high:g} "
                f"({declared.unit.words} taken as {mass:g} kg)"
            )
