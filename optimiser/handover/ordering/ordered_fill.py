"""The filling sheet with what the order brings of each fill, so that the site counts the bags that come."""

from __future__ import annotations

from dataclasses import replace

from ...locales import spelt
from ..filling.sheet import FillingSheet, Ordered
from .order import Order, OrderLine


def with_order(sheet: FillingSheet, order: Order) -> FillingSheet:
    """The sheet, its totals by fill those of the order; what is on no list keeps the sheet's own count."""
    lines = {each.product.key: each for supplier in order.suppliers for each in supplier.lines}
    by_fill: dict[str, Ordered] = {}
    for item in order.of.items:
        void = next((n for n, layers in enumerate(sheet.layers, 1) if item.layer in layers), None)
        if item.what != "blown fill" or item.product is None or void is None:
            continue
        name, line = sheet.fills[void - 1], lines[item.product.key]
        by_fill.setdefault(name, Ordered(name, line.packs, _words(line)))
    return replace(sheet, ordered=tuple(by_fill.values()))


def _words(line: OrderLine) -> str:
    """'43 bags of 12.5 kg from Some Supplier, waste included'."""
    product = line.product
    if line.packs is None:
        amount = f"{spelt(line.quantity, '.1f')} {product.unit}"
    else:
        pack = product.pack or "pack"
        amount = (
            f"{line.packs} {pack}{'' if line.packs == 1 else 's'} of {spelt(product.pack_contents, 'g')} {product.unit}"
        )
    return f"{amount} from {product.supplier}, waste included"
