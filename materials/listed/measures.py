"""Units in which suppliers sell and measure, and what they come to in ours.

Of feet, inches and pounds the definitions: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg (international yard
and pound agreement of 1959).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..models import PACKS, UNITS

INCH_MM = 25.4
FOOT_M = 0.3048
POUND_KG = 0.45359237
SQUARE_FOOT_M2 = FOOT_M**2
CUBIC_FOOT_M3 = FOOT_M**3
BOARD_FOOT_M3 = CUBIC_FOOT_M3 / 12

SOLD_BY = tuple(dict.fromkeys((*UNITS, *PACKS)))


@dataclass(frozen=True)
class TradeUnit:
    """What a price is for: so many (`count`) of a unit that is so much (`amount`) of one of ours, or packs.

    base: '' where the cell is empty.
    """

    base: str
    amount: float = 1.0
    count: int = 1


OTHERS = {
    "SF": TradeUnit("m2", SQUARE_FOOT_M2),
    "SY": TradeUnit("m2", 9 * SQUARE_FOOT_M2),
    "LF": TradeUnit("m", FOOT_M),
    "CF": TradeUnit("m3", CUBIC_FOOT_M3),
    "BF": TradeUnit("m3", BOARD_FOOT_M3),
    "MBF": TradeUnit("m3", 1000 * BOARD_FOOT_M3),
    "lb": TradeUnit("kg", POUND_KG),
    "t": TradeUnit("kg", 1000.0),
}
MEASURES = (*SOLD_BY, *OTHERS)

SPELLINGS = {
    **{each: each for each in SOLD_BY},
    **{each.casefold(): each for each in OTHERS},
    **dict.fromkeys(("m²", "m^2", "sqm", "sq m", "square metre", "qm", "kvm"), "m2"),
    **dict.fromkeys(("m³", "m^3", "cbm", "cubic metre", "kbm"), "m3"),
    **dict.fromkeys(("lm", "lin m", "metre", "metres", "meter", "meters", "running metre", "lfm", "lfdm", "lpm"), "m"),
    **dict.fromkeys(("kgs", "kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("pc", "pcs", "pieces", "each", "ea", "stk", "stück", "st", "styck"), "piece"),
    **dict.fromkeys(("sq ft", "sqft", "sq. ft.", "ft2", "ft²", "square foot", "square feet"), "SF"),
    **dict.fromkeys(("sq yd", "yd2", "square yard"), "SY"),
    **dict.fromkeys(("ft", "lin ft", "foot", "feet", "linear foot", "linear feet", "running foot"), "LF"),
    **dict.fromkeys(("cu ft", "ft3", "ft³", "cubic foot", "cubic feet"), "CF"),
    **dict.fromkeys(("bd ft", "board foot", "board feet"), "BF"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("tonne", "tonnes", "to"), "t"),
    **{f"{each}s": each for each in PACKS},
}
_COUNTED = re.compile(r"(\d{1,6}) ?(\D.*)", re.ASCII)


def measure(word: str, own: dict[str, str] | None = None) -> TradeUnit | None:
    """What a folded word for a unit stands for, "100 pcs" included; None for one that we do not know.

    own: the supplier's folded words -> ours.
    """
    own = own or {}
    for _ in range(2):
        known = own.get(word) or SPELLINGS.get(word)
        if known is None and word in MEASURES:
            known = word
        if known in OTHERS:
            return OTHERS[known]
        if known in SOLD_BY:
            return TradeUnit(known)
        if known is None or known == word:
            break
        word = known.casefold()  # a word of the mapping for so many of one: "Pak" = "100 piece"
    counted = _COUNTED.fullmatch(word)
    if counted and int(counted[1]):
        inner = measure(counted[2].strip(), own)
        return inner and TradeUnit(inner.base, inner.amount, int(counted[1]) * inner.count)
    return None


_LENGTHS_MM = {"inch": INCH_MM, "in": INCH_MM, '"': INCH_MM, "ft": 1000 * FOOT_M, "cm": 10.0, "m": 1000.0}
_AMOUNTS = {name: each.amount for name, each in OTHERS.items()} | {"ft": FOOT_M, "sq ft": SQUARE_FOOT_M2}
_MASSES_KG = {"lb": POUND_KG, "oz": POUND_KG / 16, "g": 0.001}
_CONDUCTIVITIES = {"mW/mK": 0.001, "BTU in/h ft2 F": 0.1442279}  # the latter from memory, to seven digits
_SDS = {"cm": 0.01, "mm": 0.001, "ft": FOOT_M}
_CARBON = {"per t": 0.001, "g": 0.001}
_SHARE = {"share": 100.0}
# By column: what a number in a unit of another name is to be multiplied by. A price is per unit, and so divided.
FACTORS = {
    "thickness_mm": _LENGTHS_MM,
    "width_mm": _LENGTHS_MM,
    "price": {name: 1 / each for name, each in _AMOUNTS.items()},
    "pack_contents": _AMOUNTS,
    "minimum_order": _AMOUNTS,
    "mass_kg": _MASSES_KG,
    "mass_kg_m2": {"g/m2": 0.001, "lb/SF": POUND_KG / SQUARE_FOOT_M2},
    "density_kg_m3": {"lb/ft3": POUND_KG / CUBIC_FOOT_M3, "pcf": POUND_KG / CUBIC_FOOT_M3},
    "conductivity_w_mk": _CONDUCTIVITIES,
    "conductivity_declared_w_mk": _CONDUCTIVITIES,
    "sd_m": _SDS,
    "sd_m_dry": _SDS,
    "sd_m_humid": _SDS,
    "waste_percent": _SHARE,
    "discount_percent": _SHARE,
    "vat_percent": _SHARE,
    "declared_fossil_kgco2e_kg": _CARBON,
    "declared_biogenic_kgco2e_kg": _CARBON,
    "delivery_km": {"mile": 1.609344},
    "lead_time_days": {"week": 7.0},
}
_FRACTION = re.compile(r"(?:(\d{1,4})[ -])?(\d{1,3})/(\d{1,3})", re.ASCII)
_IN_INCHES = re.compile(r'(.*?) ?(?:"|″|inch|in\.?)', re.ASCII)


def inches(text: str) -> tuple[str, bool]:
    """A size as the US trade writes it, '7/16"' or '5-1/2', in decimals; and whether it says that it is in inches."""
    marked = _IN_INCHES.fullmatch(text)
    bare = marked[1] if marked else text
    match = _FRACTION.fullmatch(bare)
    if match and int(match[3]):
        bare = repr(int(match[1] or 0) + int(match[2]) / int(match[3]))
    return bare, bool(marked)
