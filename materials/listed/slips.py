"""Slips on price lists that have the form of good numbers: a price of another unit, sizes in swapped order.

The ranges are those of the trade, wide on purpose (common practice): a dear product passes, one that can only be meant
otherwise does not. Prices are judged in euros, roughly; those of a currency we do not know are not judged.
"""

from __future__ import annotations

from ..models import Material
from .money import per_euro

# By kind: (least and most of a usual price per m3; above which price per m2 or m one is looked at) [EUR].
USUAL_PER_M3 = {
    "timber": (150.0, 4000.0),
    "batt": (8.0, 600.0),
    "insulating board": (20.0, 1500.0),
    "board": (200.0, 3500.0),
    "cladding": (400.0, 6000.0),
}
LOOKED_AT = {"timber": 40.0, "batt": 40.0, "insulating board": 80.0, "board": 80.0, "cladding": 400.0}
DEAR = 2.0  # times the most per m3 that is usual: beyond it a price per m2 is not believed
CHEAP = 0.5  # times the least: below it a price per m3 is not believed
# Vacuum panels and aerogel cost ten times as much per m3: they are not judged.
LEAST_CONDUCTIVITY = 0.019
STUD_EDGE_MM = 85.0  # a stud's depth is at least that where its other side is a stud's width
STUD_WIDTH_MM = 63.0
FLAT = 1.7


def price_slip(
    material: Material, price: float, unit: str, currency: str, thickness_mm: float | None, width_mm: float | None
) -> str:
    """What to expect where a price per unit only fits another one; '' where all is well."""
    rate, usual = per_euro(currency), USUAL_PER_M3.get(material.kind or "")
    conductivity = material.design_conductivity
    if rate is None or usual is None or not thickness_mm or (conductivity or 1.0) < LEAST_CONDUCTIVITY:
        return ""
    least, most = usual
    euros, per_m3 = price / rate, _per_m3(price / rate, unit, thickness_mm, width_mm)
    if per_m3 is None:
        return ""
    if unit in ("m2", "m") and euros > LOOKED_AT[material.kind] and per_m3 > DEAR * most and least <= euros <= most:
        what = f"at {thickness_mm:g} mm that is {price * per_m3 / euros:,.0f} {currency} per m3"
        return f"a price per {unit}; {what}: did you mean the unit m3?"
    if unit == "m3" and per_m3 < CHEAP * least:
        other = "m" if material.kind == "timber" else "m2"
        as_other = _per_m3(euros, other, thickness_mm, width_mm)
        if as_other is not None and least <= as_other <= DEAR * most:
            return f"a price per m3; {price:g} {currency} fits one of {other}: did you mean the unit {other}?"
    return ""


def _per_m3(price: float, unit: str, thickness_mm: float, width_mm: float | None) -> float | None:
    if unit == "m3":
        return price
    if unit == "m2":
        return price / thickness_mm * 1e3
    return price / (thickness_mm * width_mm) * 1e6 if unit == "m" and width_mm else None


def percent_slip(value: float | None) -> str:
    """What to expect instead of a share where percent are meant; '' where all is well, as 0 is."""
    return f"a number in %; did you mean {value * 100:g}?" if value is not None and 0 < value < 1 else ""


def size_slip(material: Material, thickness_mm: float | None, width_mm: float | None) -> str:
    """What to expect where the two sizes of a timber stand in each other's place; '' where all is well.

    Battens may lie flat.
    """
    if thickness_mm is None or width_mm is None or "frame" not in material.uses or "batten" in material.uses:
        return ""
    if width_mm < STUD_EDGE_MM or thickness_mm > STUD_WIDTH_MM or width_mm < FLAT * thickness_mm:
        return ""
    return (
        "the size through the wall; a stud stands on edge: "
        f"did you mean thickness_mm = {width_mm:g} and width_mm = {thickness_mm:g}?"
    )


def ratio_slip(value: float, low: float, high: float, factors: dict[float, str]) -> str:
    """'; did you mean 0.038? It looks like mW/mK', for a number that one of the factors brings into its range."""
    for factor, words in factors.items():
        if low <= value * factor <= high:
            return f"; did you mean {value * factor:.3g}?" + (f" It looks like {words}" if words else "")
    return ""
