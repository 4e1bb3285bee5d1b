"""What `wallfront prices` prints of a supplier list that was read."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import asdict
from datetime import date
from pathlib import Path

from materials.listed.prices import PriceList


def price_list(listing: PriceList, as_json: bool = False, export: Path | None = None) -> None:
    """A supplier list that was read: products by supplier, what has lapsed today, every fault, where it was written."""
    today = date.today()
    suppliers = Counter(each.supplier for each in listing.products)
    lapsed = [each for each in listing.products if each.lapsed(today)]
    currency = listing.products[0].currency if listing.products else None
    written = export if export is not None and not listing.faults else None
    if as_json:
        out = {
            "file": str(listing.path),
            "mapping": listing.mapping,
            "products": len(listing.products),
            "suppliers": dict(suppliers),
            "currency": currency,
            "on": today.isoformat(),
            "lapsed": [{"product": each.key, "valid_until": f"{each.valid_until}"} for each in lapsed],
            "passed_over": list(listing.passed_over),
            "notes": list(listing.notes),
            "faults": [asdict(each) for each in listing.faults],
            "written": None if written is None else str(written),
        }
        print(json.dumps(out, ensure_ascii=False))
        return
    counts = ((listing.products, "product"), (suppliers, "supplier"), (listing.faults, "fault"))
    products, sellers, faults = (f"{len(each)} {word}{'' if len(each) == 1 else 's'}" for each, word in counts)
    print(f"{listing.path}: {products} of {sellers}, {faults}")
    if listing.mapping:
        print(f"read by its mapping {listing.mapping}")
    for name in listing.passed_over:
        print(f"sheet {name!r} holds no price columns and was passed over")
    if listing.products:
        print(f"prices in {currency}: " + ", ".join(f"{name} {count}" for name, count in suppliers.most_common()))
        for note in listing.notes:
            print(note)
    if lapsed:
        print(f"{len(lapsed)} prices have lapsed on {today}:")
    for each in lapsed:
        print(f"  {each.key}: valid until {each.valid_until}")
    for fault in listing.faults:
        print(fault)
    if export is not None:
        print(f"written to {export}" if written else f"{export} was not written: the list has faults")
