"""Reads one uploaded file in a process of its own, with limits: `python -m dashboard.pricelists.upload_worker`.

A request stands on its input and the answer on its output, both JSON. What is read is hostile until parsed: it may use
no more than this process has, and whoever started it ends it after a while.
"""

from __future__ import annotations

import json
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from materials.catalogue import load_catalogue
from materials.errors import InputError

MOST_MEMORY = 2_500_000_000  # bytes of address space
MOST_SECONDS = 40  # of processor time
MOST_NOTES = 12
MOST_FAULTS = 500  # that are written one by one


def read(request: dict[str, Any]) -> dict[str, Any]:
    """What stands in an uploaded file. request: `file`, `name` (as its owner calls it), `kind`, `mapping` or null."""
    try:
        return _list(request) if request["kind"] == "list" else _declarations(request)
    except InputError as error:
        return {"words": str(error)}


def _list(request: dict[str, Any]) -> dict[str, Any]:
    from materials.listed.prices import parse_prices

    mapping = Path(request["mapping"]).read_bytes() if request["mapping"] else None
    catalogue = load_catalogue()
    if request.get("own"):
        from optimiser.brief.own_materials import own_of

        catalogue = catalogue.extended(own_of(request["own"], "the brief"))
    prices = parse_prices(Path(request["name"]), Path(request["file"]).read_bytes(), catalogue, mapping)
    faults = [
        {"sheet": each.sheet, "row": each.row, "column": each.column, "value": each.value, "expected": each.expected}
        for each in prices.faults[:MOST_FAULTS]
    ]
    return {
        "keys": [each.key for each in prices.products],
        "suppliers": sorted({each.supplier for each in prices.products}),
        "currencies": sorted({each.currency for each in prices.products}),
        "named": sorted({each.declaration_key for each in prices.products if each.declaration_key}),
        "passed_over": list(prices.passed_over),
        "faults": faults,
        "fault_count": len(prices.faults),
    }


def _declarations(request: dict[str, Any]) -> dict[str, Any]:
    from materials.declared.declarations import read_declarations

    declarations = [
        {
            "key": each.key,
            "name": each.name,
            "unit": each.unit.words if each.unit else "",
            "modules": list(each.modules),
            "valid_until": each.valid_until.isoformat() if each.valid_until else None,
        }
        for each in read_declarations(request["file"])
    ]
    stem = [Path(request["file"]).stem.lower()] if len(declarations) == 1 else []
    return {"declarations": declarations, "stem": stem}


def plan(request: dict[str, Any]) -> dict[str, Any]:
    """What a brief with other lists comes to. request: `brief` (TOML), `folder` of its lists, `keys` of new products,
    `names` of new declarations.

    By slot: how many of those products it may hold (`on`), and how many it could but for what the brief allows (`off`).
    """
    from optimiser.brief.brief import parse_brief
    from optimiser.brief.own_materials import catalogue_of
    from optimiser.brief.price_lists import pricing_of
    from optimiser.space.choices import Choices
    from optimiser.space.options import offers

    try:
        brief, new = parse_brief(request["brief"], "the brief"), set(request["keys"])
        catalogue = catalogue_of(brief)
        pricing, _ = pricing_of(brief, Path(request["folder"]), catalogue)
        Choices(brief, catalogue, pricing)
        slots = [
            {
                "slot": offer.slot,
                "locked": offer.locked,
                "on": sum(each.on for each in offer.options if each.key in new),
                "off": sum(not each.on and not each.barred for each in offer.options if each.key in new),
                "barred": sum(bool(each.barred) for each in offer.options if each.key in new),
            }
            for offer in offers(brief, catalogue, pricing)
        ]
    except InputError as error:
        return {"words": str(error)}
    names = new | set(request["names"])
    notes = [each for each in pricing.notes if any(name in each for name in names)]
    return {"slots": slots, "lapsed": len(new & set(pricing.left_out)), "notes": notes[:MOST_NOTES]}


def _limit() -> None:
    """Bound what this process may take; where the system knows no such limits, the time alone bounds it."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))  # it has nothing to write


def main() -> None:
    """Answer one request."""
    _limit()
    request = json.load(sys.stdin)
    answer = plan(request) if request["kind"] == "plan" else read(request)
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
