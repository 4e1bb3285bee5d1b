"""Prices of one currency told in another, at the rate that a brief gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..models import PriceStep, Product
from .cells import plain


@dataclass(frozen=True)
class Exchange:
    """The currency that prices are wanted in, and what one unit of each other is worth in it (`rates`)."""

    currency: str
    rates: Mapping[str, float] = field(default_factory=dict)

    def of(self, product: Product) -> Product | None:
        """The product in that currency, its source with the rate; None where no rate is given for it."""
        if product.currency == self.currency:
            return product
        rate = self.rates.get(product.currency)
        if rate is None:
            return None
        freight, free = (
            None if each is None else plain(each * rate) for each in (product.freight, product.freight_free_from)
        )
        steps = tuple(PriceStep(quantity=each.quantity, price=plain(each.price * rate)) for each in product.steps)
        return product.model_copy(
            update={
                "price": plain(product.price * rate),
                "currency": self.currency,
                "steps": steps,
                "freight": freight,
                "freight_free_from": free,
                "source": f"{product.source}; {self.words(product.currency)}",
            }
        )

    def words(self, currency: str) -> str:
        """'1 SEK = 0.088 EUR'."""
        return f"1 {currency} = {self.rates[currency]:g} {self.currency}"

    def missing(self, currency: str) -> str:
        """What is wrong with a list whose currency has no rate."""
        return (
            f"the lists are in {currency}; the brief asks for {self.currency}: give what one {currency} is worth, "
            f"prices.exchange = {{ {currency} = ... }}"
        )
