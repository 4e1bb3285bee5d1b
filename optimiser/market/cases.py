"""Cases of a comparison of suppliers: one left out, or alone in a category, and the choices that this leaves.

A slot that the brief holds to one product keeps it, whoever sells it, and so do ties and fixings: that is the brief's
choice, not an offer to be compared.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from materials.errors import InputError
from materials.models import Product

from ..batch import Index
from ..space.buildable import buildable, canonical
from ..space.choices import Choices
from ..space.options import allowed
from ..space.rivals import options
from ..template import AT, CHOSEN, FILLS, NONE, VARIABLES, ZONE
from ..wall.buildup import AIR

# Kinds of material by who comes to lay them: carpenter's timber, sheets, membranes, and what fills the frames.
CATEGORIES = {
    "timber": ("timber", "cladding"),
    "boards": ("board", "insulating board"),
    "membranes": ("membrane",),
    "insulation": ("loose fill", "batt"),
}


@dataclass(frozen=True)
class SupplierCase:
    """A question asked of the front: a supplier left out, or alone in a category."""

    supplier: str
    category: str | None = None  # None: left out everywhere

    def keeps(self, product: Product, kind: str | None) -> bool:
        """Whether a product of that kind of material may still be bought."""
        if self.category is None:
            return product.supplier != self.supplier
        return product.supplier == self.supplier or kind not in CATEGORIES[self.category]

    def words(self) -> str:
        return f"without {self.supplier}" if self.category is None else f"{self.category} by {self.supplier} alone"


def cases(choices: Choices) -> list[SupplierCase]:
    """Every supplier left out, then every one alone in each category that several sell for.

    Only suppliers with a product that the brief lets into an open place.
    """
    offered: dict[str, set[str]] = {}
    for name in _places():
        if not _held(choices, name):
            for product in allowed(name, choices.brief, choices.catalogue, choices.pricing)[0]:
                offered.setdefault(product.supplier, set()).add(choices.catalogue.get(product.material).kind or "")
    suppliers = sorted(offered)
    supplier_cases = [SupplierCase(each) for each in suppliers] if len(suppliers) > 1 else []
    for category, kinds in CATEGORIES.items():
        selling = [each for each in suppliers if offered[each] & set(kinds)]
        supplier_cases += [SupplierCase(each, category) for each in selling] if len(selling) > 1 else []
    return supplier_cases


def left_of(choices: Choices, case: SupplierCase) -> tuple[Choices, tuple[str, ...]]:
    """The choices that a case leaves, and the products kept because the brief holds their place to them.

    InputError says what is missing where a place can no longer be filled.
    """
    brief, catalogue, pricing = choices.brief, choices.catalogue, choices.pricing
    slots, exempt = dict(brief.slots), []
    for name in _places():
        products, empty, air = allowed(name, brief, catalogue, pricing)
        fits = [each for each in products if case.keeps(each, catalogue.get(each.material).kind)]
        if _held(choices, name):
            exempt += [f"{name}: {each.name}, {each.supplier}" for each in products if each not in fits]
            fits = products
        keys = [*([NONE] if empty else []), *(each.key for each in fits), *([AIR] if air else [])]
        if not keys:
            raise InputError(_nothing(name, case))
        slots[name] = brief.slot(name).model_copy(update={"allow": tuple(keys), "lock": None})
    fixed = [stock.products[0] for given in pricing.terms.fixings.values() for _, stock in given]
    ties = choices.tie.products[:1] if choices.tie else ()
    for place, bought in (("tie", ties), ("fixings", {each.key: each for each in fixed}.values())):
        exempt += [
            f"{place}: {each.name}, {each.supplier}"
            for each in bought
            if not case.keeps(each, catalogue.get(each.material).kind)
        ]
    return Choices(brief.model_copy(update={"slots": slots}), catalogue, pricing), tuple(exempt)


def _places() -> list[str]:
    return [*CHOSEN, *FILLS]


def _held(choices: Choices, name: str) -> bool:
    """Whether the brief holds a place to one product."""
    named = choices.brief.slot(name).named
    return named is not None and len(named) == 1 and named[0] in choices.pricing.products


def _nothing(name: str, case: SupplierCase) -> str:
    if case.category is None:
        return f"{name}: nothing is left; all that may stand there is sold by {case.supplier}"
    return f"{name}: nothing is left; {case.supplier} sells nothing that may stand there"


class Between:
    """Rows of the full choices as rows of what is left of them, and back."""

    def __init__(self, full: Choices, left: Choices) -> None:
        self.full, self.left = full, left
        self.forth, self.back = {}, {}
        for name in VARIABLES:
            ours, theirs = ([_identity(each) for each in options(of, name)] for of in (full, left))
            where = {key: number for number, key in enumerate(theirs)}
            self.forth[name] = np.array([where.get(key, -1) for key in ours])
            self.back[name] = np.array([ours.index(key) for key in theirs])

    def to_left(self, x: Index) -> Index:
        """The rows that are still possible, as rows of what is left."""
        rows = np.zeros_like(x)
        for name in VARIABLES:
            rows[:, AT[name]] = self.forth[name][x[:, AT[name]]]
            if name in ZONE:  # what fills nothing has no meaning
                rows[self.full.take(ZONE[name], "thickness", x) == 0, AT[name]] = 0
        rows = rows[(rows >= 0).all(axis=1)]
        rows = np.unique(canonical(self.left, rows), axis=0) if len(rows) else rows
        return rows[buildable(self.left, rows)] if len(rows) else rows

    def to_full(self, x: Index) -> Index:
        """Rows of what is left as rows of the full choices."""
        rows = np.stack([self.back[name][x[:, AT[name]]] for name in VARIABLES], axis=1).astype(np.int32)
        return canonical(self.full, rows)


def _identity(option: Any) -> tuple[str, ...]:
    """What makes an option the same one in other choices: the products of its line, else its key."""
    return tuple(each.key for each in getattr(option, "line", ())) or (option.key,)
