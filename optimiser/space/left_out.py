"""What a search does not look at, and why: told with its result, so that nothing is missing in silence.

What the brief excludes slot by slot, by name, is its own choice and not told; what its lists, its silence or one of its
filters leave out is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from materials.catalogue import Catalogue
from materials.models import Material, Product

from ..brief.brief import Brief
from ..template import FILLS, INNER_FRAME, NONE, SLOT, USE_OF
from ..wall.offered import candidates
from ..wall.pricing import Pricing
from .options import barred_in

PRICES, DECLARATIONS, MATERIALS, PLACES = "prices", "declarations", "materials", "places"
SHOWN = 3  # names that a sentence tells before it says "and 12 more"
MOST_NAMES = 200  # that a line keeps; its count is of all


@dataclass(frozen=True)
class LeftOut:
    """One cause by which something is left out.

    subject: what kind of thing; what: how many of what; names: keys of products, names of declarations.
    """

    subject: str
    what: str
    why: str
    names: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The whole as one line, without the names."""
        return f"{self.what}: {self.why}"

    def as_json(self) -> dict[str, object]:
        kept = {"count": len(self.names), "names": list(self.names[:MOST_NAMES])}
        return {"subject": self.subject, "what": self.what, "why": self.why, "words": self.words} | kept


def left_out(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> tuple[LeftOut, ...]:
    """All that the brief's lists, declarations, filters and silence leave out, a line for each cause."""
    return (
        *_lapsed(pricing),
        *_unasked(brief, pricing),
        *_declarations(brief, pricing),
        *_barred(brief, catalogue, pricing),
        *_nowhere(catalogue, pricing),
        *_no_gap(brief, catalogue, pricing),
    )


def _lapsed(pricing: Pricing) -> Iterator[LeftOut]:
    """Products whose price has lapsed: suppliers of whom nothing is left, and single products of the others."""
    offered = {each.supplier for each in pricing.products.values()}
    whole: dict[str, list[Product]] = {}
    single: list[Product] = []
    for each in pricing.left_out.values():
        (single if each.supplier in offered else whole.setdefault(each.supplier, [])).append(each)
    groups = [(f"all {_products(products)} of {supplier}", products) for supplier, products in whole.items()]
    if single:
        groups.append((f"{_products(single)} of {shown_names(sorted({each.supplier for each in single}))}", single))
    for at, (what, products) in enumerate(groups):
        allowed = "" if at else "; prices.allow_lapsed = true uses what has lapsed"  # said once
        yield LeftOut(PRICES, what, _lapse(products, pricing) + allowed, _keys(products))


def _lapse(products: list[Product], pricing: Pricing) -> str:
    days = sorted({str(each.valid_until) for each in products})
    until = days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"
    return f"{'price' if len(products) == 1 else 'prices'} lapsed {until}, held to {pricing.on}"


def _unasked(brief: Brief, pricing: Pricing) -> Iterator[LeftOut]:
    """Products of suppliers that the brief does not buy from."""
    products = list(pricing.unasked.values())
    if products:
        of = shown_names(sorted({each.supplier for each in products}))
        why = f"prices.suppliers asks for {shown_names(brief.prices.suppliers or ())} alone"
        yield LeftOut(PRICES, f"{_products(products)} of {of}", why, _keys(products))


def _declarations(brief: Brief, pricing: Pricing) -> Iterator[LeftOut]:
    """Declarations that carry no product's carbon, by cause."""
    groups: dict[str, dict[str, None]] = {}
    for each in pricing.undeclared:
        groups.setdefault(each.why, {})[each.name] = None
    if brief.prices.declarations:
        used = {each.declaration_key for each in pricing.products.values()}
        told = {each.name for each in pricing.undeclared}
        for each in (*pricing.left_out.values(), *pricing.unasked.values()):
            if each.declaration_key and each.declaration_key not in used and each.declaration_key not in told:
                groups.setdefault("named only by products that are left out themselves", {})[each.declaration_key] = (
                    None
                )
    else:
        named = sorted({each.declaration_key for each in pricing.products.values() if each.declaration_key})
        if named:
            groups["products name them, but the brief names no file of theirs in prices.declarations"] = dict.fromkeys(
                named
            )
    for why, names in groups.items():
        yield LeftOut(DECLARATIONS, _count(names, "declaration"), why, tuple(names))


def _barred(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """What the brief's [materials] bars, by what speaks against it."""
    reasons: dict[str, dict[str, Product]] = {}
    for name in USE_OF if brief.materials.words() else ():
        for key, words in barred_in(name, brief, catalogue, pricing).items():
            reasons.setdefault(words.removeprefix("its "), {})[key] = pricing.products[key]
    for words, products in reasons.items():
        yield LeftOut(MATERIALS, _products(products.values()), words, _keys(products.values()))


def _nowhere(catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """Products that no slot can take, by cause; ties and fixings have places of their own."""
    placed = {
        each.key for name in USE_OF for each in candidates(name, catalogue, pricing) if _laid(name, each, catalogue)
    }
    groups: dict[str, list[Product]] = {}
    for each in pricing.products.values():
        material = catalogue.get(each.material)
        if each.key not in placed and material.kind != "fixing" and "tie" not in material.uses:
            groups.setdefault(_misfit(material), []).append(each)
    for why, products in groups.items():
        yield LeftOut(PLACES, f"{_products(products)} that no slot can take", why, _keys(products))


def _laid(name: str, product: Product, catalogue: Catalogue) -> bool:
    """Whether a product made for a slot can be laid there: batts lie in their stock thickness, at a price by m2."""
    loose = catalogue.get(product.material).kind == "loose fill"
    return name not in FILLS or loose or (product.unit == "m2" and bool(product.thickness_mm))


def _misfit(material: Material) -> str:
    if not material.uses:
        return f"{material.key} is made for no slot"
    if material.kind == "timber":
        least = [f"{name} {SLOT[name].least_depth_mm:g} mm" for name in SLOT if _asks_depth(name, material)]
        return f"too shallow (least depth: {', '.join(least)})" if least else "its size fits no slot"
    if material.kind == "batt":
        return "batts need a thickness and a price by m2"
    return f"{material.key} fits none of its slots: {', '.join(material.uses)}"


def _asks_depth(name: str, material: Material) -> bool:
    return bool(SLOT[name].least_depth_mm) and SLOT[name].use in material.uses


def _no_gap(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> Iterator[LeftOut]:
    """The gap of 0 that a brief gets which says nothing of it, where a wall may have two frames."""
    if brief.gap.max_mm > 0 or "gap" in brief.model_fields_set:
        return
    named = brief.slot(INNER_FRAME).named
    if (named is None or set(named) != {NONE}) and candidates(INNER_FRAME, catalogue, pricing):
        yield LeftOut(
            PLACES, "walls with a gap between their frames", "the brief has no [gap], so that twin frames touch"
        )


def _count(things: Iterable[object] | Mapping[str, object], noun: str) -> str:
    count = len(list(things))
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _products(products: Iterable[Product]) -> str:
    return _count(products, "product")


def _keys(products: Iterable[Product]) -> tuple[str, ...]:
    return tuple(sorted(each.key for each in products))


def with_names(line: Mapping[str, Any]) -> str:
    """A line of `left_out` in study.json with its first names; those beyond what it keeps are counted too."""
    names = list(line["names"])
    if not names:
        return str(line["words"])
    more = max(int(line.get("count") or 0), len(names)) - min(SHOWN, len(names))
    return f"{line['words']} ({', '.join(names[:SHOWN])}{f' and {more} more' if more else ''})"


def shown_names(names: Iterable[str]) -> str:
    """The first few names, and how many more: 'a, b, c and 4 more'."""
    names = list(names)
    first = ", ".join(names[:SHOWN])
    return first if len(names) <= SHOWN else f"{first} and {len(names) - SHOWN} more"
