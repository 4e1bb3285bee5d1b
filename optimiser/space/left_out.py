"""What a search does not look at, and why: told before its result, so that nothing is missing in silence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from materials.catalogue import Catalogue
from materials.models import Product

from ..brief.brief import Brief
from ..template import INNER_FRAME, NONE, USE_OF
from ..wall.offered import candidates
from ..wall.pricing import Pricing
from .options import barred_in

PRICES, DECLARATIONS, MATERIALS, PLACES = "prices", "declarations", "materials", "places"
SHOWN = 3


@dataclass(frozen=True)
class LeftOut:
    """One cause by which something is left out. subject: what kind of thing; names: keys, where it is products."""

    subject: str
    words: str
    names: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        return {"subject": self.subject, "words": self.words, "names": list(self.names)}


def left_out(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> tuple[LeftOut, ...]:
    """All that the brief's lists, declarations and silence leave out; what it excludes by name is its own choice."""
    return (
        *_lapsed(pricing),
        *(LeftOut(DECLARATIONS, note) for note in pricing.notes),
        *_barred(brief, catalogue, pricing),
        *_nowhere(brief, catalogue, pricing),
        *_no_gap(brief, catalogue, pricing),
    )


def _lapsed(pricing: Pricing) -> Iterator[LeftOut]:
    """By supplier and last day: products whose price has lapsed."""
    offered = {each.supplier for each in pricing.products.values()}
    groups: dict[tuple[str, object], list[Product]] = {}
    for each in pricing.left_out.values():
        groups.setdefault((each.supplier, each.valid_until), []).append(each)
    for (supplier, until), products in groups.items():
        what = f"all {len(products)}" if supplier not in offered else f"{len(products)}"
        words = f"{supplier}: {what} {_plural(products)} left out, valid until {until}, prices held to {pricing.on}"
        yield LeftOut(PRICES, words, _keys(products))


def _barred(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """What the brief's [materials] bars, by what speaks against it."""
    reasons: dict[str, dict[str, Product]] = {}
    for name in USE_OF:
        for key, words in barred_in(name, brief, catalogue, pricing).items():
            reasons.setdefault(words, {})[key] = pricing.products[key]
    for words, products in reasons.items():
        yield LeftOut(MATERIALS, f"{len(products)} {_plural(products)} left out: {words}", _keys(products.values()))


def _nowhere(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """Products that fit no place of a wall, by their material; ties and fixings have places of their own."""
    placed = {each.key for name in USE_OF for each in candidates(name, catalogue, pricing)}
    groups: dict[str, list[Product]] = {}
    for each in pricing.products.values():
        material = catalogue.get(each.material)
        if each.key not in placed and material.kind != "fixing" and "tie" not in material.uses:
            groups.setdefault(each.material, []).append(each)
    for material, products in groups.items():
        uses = catalogue.get(material).uses
        why = "in this size it fits none of its places" if uses else "it is made for no place of a wall"
        yield LeftOut(PLACES, f"{len(products)} {_plural(products)} of {material} in no slot: {why}", _keys(products))


def _no_gap(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """The gap of 0 that a brief gets which says nothing of it, where a wall may have two frames."""
    if brief.gap.max_mm > 0 or "gap" in brief.model_fields_set:
        return
    named = brief.slot(INNER_FRAME).named
    if (named is None or set(named) != {NONE}) and candidates(INNER_FRAME, catalogue, pricing):
        yield LeftOut(PLACES, "walls with a gap between the frames: the brief has no [gap], so that it is 0 mm wide")


def _plural(products: Iterable[object]) -> str:
    return "product" if len(list(products)) == 1 else "products"


def _keys(products: Iterable[Product]) -> tuple[str, ...]:
    return tuple(sorted(each.key for each in products))


def shown_names(names: tuple[str, ...] | list[str]) -> str:
    """The first few names, and how many more: 'a, b, c and 4 more'."""
    first = ", ".join(names[:SHOWN])
    return first if len(names) <= SHOWN else f"{first} and {len(names) - SHOWN} more"
