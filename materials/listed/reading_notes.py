"""What is to be said of how a list was read: taxes and discounts, steps, freight, usual masses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..models import Product
from .headings import Headed
from .mapping import ListMapping
from .row_price import USUAL_MASS


def notes_of(products: Sequence[Product], sheets: Iterable[Headed], how: ListMapping) -> tuple[str, ...]:
    """A line each, in words for the terminal; that prices are net is always said."""
    columns = {name for sheet in sheets for name in sheet.columns} | set(how.defaults)
    vat = "they held VAT, which is taken off" if how.include_vat else "without VAT"
    discount = ", and without their discounts" if "discount_percent" in columns else ""
    notes = [f"prices are net: {vat}{discount}"]
    if stepped := [each for each in products if each.steps]:
        notes.append(
            f"{len(stepped)} with price steps: a search reckons with the least quantity, an order with its own"
        )
    charged = {each.supplier: each for each in products if each.freight is not None}
    for supplier, each in charged.items():
        free = "" if each.freight_free_from is None else f", none from goods for {each.freight_free_from:g}"
        notes.append(f"freight of {supplier}: {each.freight:g} a delivery{free}; it stands in the order alone")
    if usual := [each for each in products if USUAL_MASS in each.source]:
        notes.append(f"{len(usual)} without mass_kg: the usual mass of its material is taken ({usual[0].key} first)")
    return tuple(notes)
