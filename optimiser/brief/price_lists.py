"""What a brief can buy: its price lists and declarations, held to its day, as Pricing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from os.path import exists
from pathlib import Path

from materials.catalogue import Catalogue
from materials.declared.not_used import NotUsed
from materials.errors import InputError, nearest
from materials.listed.exchange import Exchange
from materials.listed.prices import DEMO, load_price_lists
from materials.models import Product

from ..score.cost import check_fixing
from ..wall.layers import Stock, Terms
from ..wall.pricing import Pricing, lapsed_words, why_absent
from .brief import Brief


def pricing_of(brief: Brief, folder: Path, catalogue: Catalogue) -> tuple[Pricing, dict[str, str]]:
    """The products of the brief's lists (paths beside it, in `folder`), and the digest of each list and declaration.

    Prices of other currencies are told in the brief's, at its rates. Products whose price has lapsed on the brief's
    day (today where it names none) are left out, or marked where the brief allows them.
    """
    for name in brief.prices.lists:
        if not name.startswith(DEMO) and not exists(folder / name):
            raise InputError(f'prices, lists: "{name}": no such file in {folder.resolve()}')
    exchange = Exchange(brief.prices.currency, brief.prices.exchange)
    products, digests = load_price_lists(brief.prices.lists, folder, catalogue, exchange)
    known = {each.supplier for each in products}
    for supplier in brief.prices.suppliers or ():
        if supplier not in known:
            raise InputError(f'prices: supplier "{supplier}" is on no list{nearest(supplier, known)}')
    day = brief.prices.on or date.today()
    products, notes, declared, not_used = _declared(brief, folder, products, catalogue, day)
    chosen = [each for each in products if brief.prices.suppliers is None or each.supplier in brief.prices.suppliers]
    lapsed = {each.key: each for each in chosen if each.lapsed(day)}
    if brief.prices.allow_lapsed:
        offered = {each.key: _marked(each) if each.key in lapsed else each for each in chosen}
        used, left_out = frozenset(lapsed), {}
    else:
        offered = {each.key: each for each in chosen if each.key not in lapsed}
        used, left_out = frozenset(), lapsed
    notes = (*notes, *_exchanged(exchange, offered))
    terms = terms_of(brief, catalogue, offered, left_out)
    asked = {each.key for each in chosen}
    unasked = {each.key: each for each in products if each.key not in asked}
    pricing = Pricing(offered, terms, brief.prices.currency, used, left_out, day, notes, unasked, not_used)
    return pricing, digests | declared


def _exchanged(exchange: Exchange, offered: Mapping[str, Product]) -> list[str]:
    """A line for each supplier and rate at which its prices were told in the brief's currency."""
    lines = {}
    for currency in exchange.rates:
        words = exchange.words(currency)
        suppliers = sorted({each.supplier for each in offered.values() if each.source.endswith(words)})
        lines |= {f"prices of {name} taken at {words}, as the brief gives it": None for name in suppliers}
    return list(lines)


def _declared(
    brief: Brief, folder: Path, products: list[Product], catalogue: Catalogue, day: date
) -> tuple[list[Product], tuple[str, ...], dict[str, str], tuple[NotUsed, ...]]:
    """The products with the brief's declarations, what is to be said of them, their digests, and what is not used."""
    if not brief.prices.declarations:
        return products, (), {}, ()
    from materials.declared.declarations import load_declarations  # brings an XML reader that most briefs do not need

    declarations = load_declarations(
        brief.prices.declarations, folder, products, catalogue, on=day, allow_lapsed=brief.prices.allow_lapsed
    )
    return list(declarations.products), declarations.notes, declarations.digests, declarations.not_used


def _marked(product: Product) -> Product:
    """A product that says wherever it is named that its price has lapsed."""
    return product.model_copy(update={"name": f"{product.name} ({lapsed_words(product)})"})


def dated(brief: Brief, pricing: Pricing) -> Brief:
    """The brief with the day its prices were held to, so that it gives the same result again.

    As it is where no price ends.
    """
    products = (*pricing.products.values(), *pricing.left_out.values())
    if pricing.on is None or all(each.valid_until is None for each in products):
        return brief
    return brief.model_copy(update={"prices": brief.prices.model_copy(update={"on": pricing.on})})


def terms_of(
    brief: Brief, catalogue: Catalogue, offered: Mapping[str, Product], left_out: Mapping[str, Product] | None = None
) -> Terms:
    """What the brief says of quantities, its fixings found among the products.

    InputError for one on no list, or among those left out as their price has lapsed.
    """
    fixings = {
        name: tuple(
            (each, _fixing(each.product, f"fixings.{name}", catalogue, offered, left_out or {})) for each in given
        )
        for name, given in brief.fixings.items()
    }
    return Terms(brief.labour, brief.transport, fixings, brief.carbon)


def _fixing(
    key: str, place: str, catalogue: Catalogue, offered: Mapping[str, Product], left_out: Mapping[str, Product]
) -> Stock:
    if key not in offered:
        raise InputError(f'{place}: product "{key}" {why_absent(key, offered, left_out)}')
    check_fixing(offered[key], place)
    return Stock.of(catalogue.get(offered[key].material), offered[key])
