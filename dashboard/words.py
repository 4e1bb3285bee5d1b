"""What figures are called on the screen, in which unit and to how many digits: one home for all of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

SYMBOLS = {"EUR": "€", "GBP": "£", "USD": "$", "CHF": "CHF "}
MONEY = "¤"  # stands for the currency in the units below


@dataclass(frozen=True)
class Quantity:
    """A figure of a wall as people read it."""

    key: str
    noun: str  # in the question sentence
    short: str  # on a slider or in a heading
    unit: str
    digits: int
    lower: str  # what a wall with less of it is called


QUANTITIES = {
    each.key: each
    for each in (
        Quantity("thickness_mm", "wall thickness", "thickness", "mm", 0, "thinner"),
        Quantity("cost_per_m2", "cost per m²", "cost", f"{MONEY}/m²", 1, "cheaper"),
        Quantity("carbon_kgco2e_m2", "embodied carbon", "carbon", "kgCO₂e/m²", 1, "lower in carbon"),
        Quantity("u_value", "U-value", "U", "W/m²K", 4, "better insulated"),
        Quantity("weight_kg_m2", "weight", "weight", "kg/m²", 1, "lighter"),
        Quantity("floor_area_lost_m2", "floor area lost", "floor lost", "m²", 2, "easier on floor area"),
    )
}
NARROWED = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")
NOT_CHECKED = (
    "Structure, moisture and fire are not checked by this version. "
    "They belong to licensed practice and the local codes."
)


def symbol(currency: str) -> str:
    """EUR -> €; a code without a sign of its own keeps its letters and a space."""
    return SYMBOLS.get(currency, f"{currency} ")


def unit(key: str, currency: str) -> str:
    """The unit of a figure, the currency in place."""
    return QUANTITIES[key].unit.replace(MONEY, symbol(currency).strip())


def money(value: float | None, currency: str, digits: int = 0) -> str:
    """An amount with its sign in front; a dash where it is unknown."""
    return "–" if missing(value) else f"{symbol(currency)}{value:,.{digits}f}"


def missing(value: object) -> bool:
    """Whether a figure is unknown."""
    return value is None or (isinstance(value, float) and not math.isfinite(value))


def figure(key: str, value: float | None, digits: int | None = None) -> str:
    """A figure without its unit; a dash where it is unknown."""
    if missing(value):
        return "–"
    return f"{value:,.{QUANTITIES[key].digits if digits is None else digits}f}"


def with_unit(key: str, value: float | None, currency: str, digits: int | None = None) -> str:
    """A figure with its unit; money with its sign in front."""
    if missing(value):
        return "unknown"
    if key == "cost_per_m2":
        return f"{money(value, currency, 1 if digits is None else digits)} per m²"
    return f"{figure(key, value, digits)} {unit(key, currency)}"


def millimetres(value: float) -> str:
    """A thickness [mm] whole, or to the tenth where it has one."""
    return f"{value:.1f}".removesuffix(".0")


def u_shown(value: float | None) -> str:
    """U [W/m2K] to 3 decimals."""
    return "–" if missing(value) else f"{value:.3f}"


def many(count: int, one: str, several: str | None = None) -> str:
    """'1 wall', '12 walls'."""
    return f"{count:,} {one if count == 1 else several or one + 's'}"


def power_of_ten(count: float) -> str:
    """A huge count as 4.1 × 10¹⁰; smaller ones in full."""
    if count < 1_000_000:
        return f"{count:,.0f}"
    exponent = math.floor(math.log10(count))
    raised = str(exponent).translate(str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{count / 10**exponent:.1f} × 10{raised}"


def listed(words: list[str]) -> str:
    """'a, b and c'."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
