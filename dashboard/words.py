"""What figures are called on the screen, in which unit and to how many digits: one home for all of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.search.landmarks import missing
from optimiser.wall.scores import WHOLE_LIFE

from . import numbers
from .numbers import spelt, written

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
        Quantity("floor_lost_percent", "share of floor lost", "floor lost", "% of floor", 2, "easier on floor area"),
        Quantity("whole_life_kgco2e_m2", "whole-life carbon", "whole life", "kgCO₂e/m²", 1, "lower over its life"),
        Quantity("u_numeric", "U by conduction", "U conducted", "W/m²K", 4, "better insulated"),
        Quantity("chance", "chance of meeting the target", "chance", "of 1", 2, "less sure of its target"),
        Quantity("stability", "stay on the front", "stays on front", "share of scenarios", 2, "less sure of its place"),
    )
}
SHORT_UNITS = {"carbon_kgco2e_m2": "kg", "weight_kg_m2": "kg weight", WHOLE_LIFE: "kg"}
NOT_CHECKED = "Fire, racking and connections are not checked. They belong to licensed practice and the local codes."
NOT_CHECKED_ELSE = (  # where strength says what it leaves out
    "Fire, and whatever is not named here, is not checked. It belongs to licensed practice and the local codes."
)


def symbol(currency: str) -> str:
    """EUR -> €; a code without a sign of its own keeps its letters and a space."""
    return SYMBOLS.get(currency, f"{currency} ")


def unit(key: str, currency: str) -> str:
    """The unit of a figure, the currency in place."""
    return QUANTITIES[key].unit.replace(MONEY, symbol(currency).strip())


def money(value: float | None, currency: str, digits: int = 0) -> str:
    """An amount with its sign where the brief's locale has it; a dash where it is unknown."""
    return "–" if missing(value) else numbers.money(value, symbol(currency), digits)


def figure(key: str, value: float | None, digits: int | None = None) -> str:
    """A figure without its unit; a dash where it is unknown."""
    if missing(value):
        return "–"
    return spelt(value, f",.{QUANTITIES[key].digits if digits is None else digits}f")


def with_unit(key: str, value: float | None, currency: str, digits: int | None = None) -> str:
    """A figure with its unit; money with its sign in front."""
    if missing(value):
        return "unknown"
    if key == "cost_per_m2":
        return f"{money(value, currency, 1 if digits is None else digits)} per m²"
    return f"{figure(key, value, digits)} {unit(key, currency)}"


def millimetres(value: float) -> str:
    """A thickness [mm] whole, or to the tenth where it has one."""
    return written(f"{value:.1f}".removesuffix(".0"))


def u_shown(value: float | None) -> str:
    """U [W/m2K] to 3 decimals."""
    return "–" if missing(value) else spelt(value, ".3f")


def u_goal(target: float) -> str:
    """A target [W/m2K] as people say it, two decimals at least: 0.12, 0.105."""
    whole, _, digits = f"{target:.4f}".rstrip("0").partition(".")
    return written(f"{whole}.{digits:0<2}")


def step_size(key: str, value: float, currency: str) -> str:
    """The size of a small change with its unit: '14 mm', '€4.10', '0.005 kg'."""
    size = abs(value)
    if key == "thickness_mm":
        return f"{millimetres(size)} mm"
    if key == "cost_per_m2":
        return money(size, currency, 2 if size < 100 else 0)
    if key == "u_value":
        return spelt(size, ".3f")
    digits = 1 if size >= 0.995 else 2 if size >= 0.0095 else 3
    unit_short = SHORT_UNITS.get(key) or unit(key, currency)
    return f"{spelt(size, f'.{digits}f')} {unit_short}"


def signed(key: str, value: float, currency: str) -> str:
    """A change with its sign: '+€6.20', '−3.1 kg'."""
    over = " over its life" if key == WHOLE_LIFE else ""
    return f"{'−' if value < 0 else '+'}{step_size(key, value, currency)}{over}"


def same(key: str, value: float) -> bool:
    """Whether a change of this size shows as none."""
    return abs(value) < (0.05 if key == "thickness_mm" else 0.005 if key == "cost_per_m2" else 0.0005)


def share_words(share: float) -> str:
    """A share in percent, never rounded up to the whole: '99.9 %'."""
    if share >= 1.0:
        return "100 %"
    if 0.0 < share < 0.001:
        return f"less than {written('0.1')} %"
    return f"{spelt(math.floor(share * 1000) / 10, '.1f')} %"


def power_of_ten(count: float) -> str:
    """A huge count as 4.1 × 10¹⁰; smaller ones in full."""
    if count < 1_000_000:
        return spelt(count, ",.0f")
    exponent = math.floor(math.log10(count))
    raised = str(exponent).translate(str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{spelt(count / 10**exponent, '.1f')} × 10{raised}"


def listed(words: list[str]) -> str:
    """'a, b and c'."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def limit_words(limits: Mapping[str, float], currency: str) -> list[str]:
    """Upper limits as people say them: 'at most 620 mm thick'."""
    said = []
    if "thickness_mm" in limits:
        said.append(f"at most {millimetres(limits['thickness_mm'])} mm thick")
    if "cost_per_m2" in limits:
        cost = limits["cost_per_m2"]
        said.append(f"at most {money(cost, currency, 0 if float(cost).is_integer() else 1)} per m²")
    if "carbon_kgco2e_m2" in limits:
        said.append(f"at most {spelt(limits['carbon_kgco2e_m2'], 'g')} kgCO₂e/m²")
    if "weight_kg_m2" in limits:
        said.append(f"at most {spelt(limits['weight_kg_m2'], 'g')} kg/m²")
    if WHOLE_LIFE in limits:
        said.append(f"at most {spelt(limits[WHOLE_LIFE], 'g')} kgCO₂e/m² over its life")
    return said
