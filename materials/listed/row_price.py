"""The price of a row: what it is for, net of discount and VAT, by pack and by quantity; freight; mass of a piece."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from ..errors import nearest
from ..models import PACKS, UNITS, Material, PriceStep
from .cells import plain
from .columns import STEP
from .list_row import ListRow
from .measures import FACTORS, TradeUnit
from .money import codes_of
from .slips import percent_slip, price_slip

UNITS_BY_KIND = {
    "timber": ("m", "m3"),
    "loose fill": ("kg", "m3"),
    "batt": ("m2", "m3"),
    "insulating board": ("m2", "m3"),
    "board": ("m2", "m3"),
    "membrane": ("m2",),
    "cladding": ("m2", "m3"),
    "fixing": ("piece", "kg", "m"),
}
MOST_PRICE = 1e6
PACK_RANGE = {"m2": (0.05, 2000), "m3": (0.001, 200), "m": (0.1, 20_000), "kg": (0.05, 5000), "piece": (1, 100_000)}
MOST_ORDER = 1e6
MASS_RANGE_KG = (1e-5, 100.0)
DISCOUNT_RANGE = (0.0, 90.0)
VAT_RANGE = (0.0, 40.0)
MOST_FREIGHT = 1e5
MOST_STEPS = 10
USUAL_MASS = "usual mass"  # in the source of a product whose list gives none
_STEPS = re.compile(r"\s*(\d{1,9}(?:\.\d{1,20})?)\s*:\s*(\d{1,9}(?:\.\d{1,20})?(?:e-?\d{1,2})?)\s*", re.ASCII)

Size = Mapping[str, float | None]


def price_of(row: ListRow, material: Material | None, size: Size) -> tuple[dict[str, object], str]:
    """Price per base unit, how it is sold, least order [base unit], steps and freight; and a remark for the source.

    A price per pack is divided by its contents. Prices are net: without discount, and without VAT where they held it.
    """
    if not row.text("price"):
        row.fault("price", "a number above 0")
    price = row.money("price", -math.inf, math.inf)
    if price is not None and not 0 < price <= MOST_PRICE:
        row.fault("price", f"a number above 0, at most {MOST_PRICE:.0f}")
        price = None
    currency = _currency(row)
    sold, unit, pack, contents, by_pack = _sold(row, material)
    _twice(row, sold)
    each = sold.amount * sold.count * (contents if by_pack and contents else 1.0)
    order = row.number("minimum_order", 0, MOST_ORDER, "the unit of the price")
    vat = _vat_share(row)
    share = _discount_share(row) / vat
    net = price if price is None or (each == 1 and share == 1) else plain(price * share / each)
    if net is not None and material is not None and not row.faults:
        slip = price_slip(material, net, unit, currency, size.get("thickness_mm"), size.get("width_mm"))
        if slip:
            row.fault("price", slip)
    mass, remark = _mass(row, material, unit, sold)
    return {
        "price": net,
        "unit": unit,
        "currency": currency,
        "pack": pack,
        "pack_contents": contents,
        "minimum_order": order if order is None or each == 1 else plain(order * each),
        "steps": _steps(row, net, share, each),
        "mass_kg": mass,
        **_freight(row, vat),
    }, remark


def _twice(row: ListRow, sold: TradeUnit) -> None:
    """A price that the unit and the mapping's factor would both convert."""
    factor = row.manner.factors.get("price", 1.0)
    if sold.amount != 1 and factor in FACTORS["price"].values():
        row.fault("unit", "a unit of ours, as factors.price in the mapping converts the price; or no such factor")


def _currency(row: ListRow) -> str:
    """The code of three letters; a sign that stands for one currency alone is taken for its code."""
    currency = row.currency()
    if not currency:
        codes = codes_of(row.text("currency"))
        which = f"; {row.text('currency')} may be {', '.join(codes)}" if codes else ""
        row.fault("currency", f"a currency code of three letters, such as EUR{which}")
    return currency


def _discount_share(row: ListRow) -> float:
    """What is left of a price after the discount [-]."""
    percent = row.number("discount_percent", *DISCOUNT_RANGE, "%")
    if slip := percent_slip(percent):
        row.fault("discount_percent", slip)
    return 1.0 if percent is None else 1 - percent / 100


def _vat_share(row: ListRow) -> float:
    """A price as the list has it over the net price [-]."""
    percent = row.number("vat_percent", *VAT_RANGE, "%")
    if slip := percent_slip(percent):
        row.fault("vat_percent", slip)
    if row.manner.include_vat and not row.text("vat_percent"):
        row.fault("vat_percent", "a number in %, as the mapping says that prices include it")
    return 1 + percent / 100 if percent is not None and row.manner.include_vat else 1.0


def _freight(row: ListRow, vat: float) -> dict[str, float | None]:
    """Freight per delivery, and the sum of goods above which there is none [currency], both net."""
    values = {}
    for column in ("freight", "freight_free_from"):
        value = row.money(column, 0, MOST_FREIGHT)
        values[column] = value if value is None or vat == 1 else plain(value / vat)
    if row.text("freight_free_from") and not row.text("freight"):
        row.fault("freight", "what a delivery below that sum costs, as freight_free_from is given")
    return values


def _steps(row: ListRow, price: float | None, share: float, each: float) -> tuple[PriceStep, ...]:
    """Prices from a quantity on, of the mapping's columns or of our own, per base unit."""
    found: list[tuple[str, float, float]] = []
    for column in row.cells:
        if column.startswith(STEP):
            value = row.money(column, 0, MOST_PRICE)
            if value is not None:
                found.append((column, float(column.removeprefix(STEP)), value))
    if row.text("price_steps"):
        parts = [_STEPS.fullmatch(each) for each in row.text("price_steps").split(";")]
        if None in parts:
            row.fault("price_steps", 'quantities with their prices, written as "50: 4.20; 200: 3.95"')
            return ()
        found += [("price_steps", float(part[1]), float(part[2])) for part in parts]
    steps = sorted((quantity * each, plain(value * share / each), column) for column, quantity, value in found)
    last_quantity, last = 0.0, price
    for quantity, value, column in steps:
        if quantity <= last_quantity or (last is not None and not 0 < value <= last):
            row.fault(column, "quantities that rise and prices that fall with them")
            return ()
        last_quantity, last = quantity, value
    if len(steps) > MOST_STEPS:
        row.fault("price_steps", f"at most {MOST_STEPS} steps")
    return tuple(PriceStep(quantity=plain(quantity), price=value) for quantity, value, _ in steps)


def _sold(row: ListRow, material: Material | None) -> tuple[TradeUnit, str, str | None, float | None, bool]:
    """(what the price is for, base unit, pack, its contents in that unit, whether the price is that of a pack)."""
    fitting = UNITS_BY_KIND[material.kind] if material else UNITS
    sold, inner = row.measure("unit"), row.measure("contents_unit")
    # A piece is a unit of its own for fixings, and a pack of so many m2 or m for what is sold by those.
    by_pack = sold.base in PACKS and not (sold.base == "piece" and "piece" in fitting and inner.base in ("", "piece"))
    if not by_pack and sold.base not in fitting:
        what = f" ({material.kind})" if material else ""
        packs = ", ".join(each for each in PACKS if each not in fitting)
        row.fault("unit", f"{' or '.join(fitting)}{what}, or one of {packs} with pack_contents and contents_unit")
        return sold, sold.base, None, None, False
    if by_pack and inner.base not in fitting:
        row.fault("contents_unit", f"{' or '.join(fitting)}: the unit of what one {sold.base} holds")
        return sold, inner.base, None, None, True
    unit = inner.base if by_pack else sold.base
    if inner.base and inner.base != unit and row.text("pack_contents"):
        row.fault("contents_unit", f"{unit}, the unit of the price")
    scale = inner.amount if inner.base else sold.amount
    contents = row.number("pack_contents", *PACK_RANGE[unit], unit, whole=unit == "piece", scale=scale)
    pack = _pack(row, sold.base if by_pack else None)
    if (pack or by_pack) and not row.text("pack_contents"):
        row.fault("pack_contents", f"a number in {unit}: what one {pack or sold.base} holds")
    if contents is None:
        return sold, unit, None, None, by_pack
    return sold, unit, pack or "pack", contents, by_pack


def _pack(row: ListRow, priced: str | None) -> str | None:
    """How it is packed: as the price says, or as the column `pack` does beside a price per m2, m or kg."""
    stated = row.measure("pack").base
    if stated and stated not in PACKS:
        row.fault("pack", f"one of {', '.join(PACKS)}{nearest(stated, PACKS)}")
    elif stated and priced and stated != priced:
        row.fault("pack", f"{priced}, as the price is given for one, or nothing")
    return priced or stated or None


def _mass(row: ListRow, material: Material | None, unit: str, sold: TradeUnit) -> tuple[float | None, str]:
    """Mass of one unit [kg] of a fixing or tape, its material's usual one where the row has none; with a remark."""
    if row.text("mass_kg") and material is not None:
        if material.kind != "fixing":
            row.fault("mass_kg", f"no value: {material.kind} is weighed by its density or per m2")
            return None, ""
        if unit == "kg":
            row.fault("mass_kg", "no value: it is sold by the kg")
            return None, ""
    scale = 1 / sold.amount
    mass = row.number("mass_kg", *MASS_RANGE_KG, f"kg per {unit}" if unit in UNITS else "kg", scale=scale)
    if mass is None and material is not None and not row.text("mass_kg"):
        usual = {"piece": material.mass_kg_piece, "m": material.mass_kg_m}.get(unit)
        source = material.sources.get("mass_kg_piece" if unit == "piece" else "mass_kg_m")
        if usual is not None:
            return usual, f"{USUAL_MASS} of one {unit} ({(source or 'its material').replace('-', ' ')})"
    return mass, ""
