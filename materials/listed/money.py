"""Sums of money as suppliers write them, with the sign or code of a currency beside the number."""

from __future__ import annotations

import re
from functools import lru_cache

_CROWNS = ("SEK", "NOK", "DKK", "ISK")
_DOLLARS = ("USD", "CAD", "AUD", "NZD")
# What a sign may stand for; the first is not preferred.
SIGNS = {
    "€": ("EUR",),
    "euro": ("EUR",),
    "£": ("GBP",),
    "$": _DOLLARS,
    "us$": ("USD",),
    "kr": _CROWNS,
    "kr.": _CROWNS,
    ":-": _CROWNS,
    "fr.": ("CHF",),
    "sfr.": ("CHF",),
    "zł": ("PLN",),
    "kč": ("CZK",),
    "¥": ("JPY", "CNY"),
}
_MONEY = re.compile(r"(?P<before>[^\d]{0,8}?) ?(?P<number>[+-]?\d(?:.*\d)?)(?P<round>[.,][-–])? ?(?P<after>[^\d]?.*)")
_CODE = re.compile(r"[a-z]{3}", re.ASCII)
# What one euro is worth, to the nearest large step (from memory): only to see whether a price can be meant so.
_PER_EURO = {
    "EUR": 1,
    "USD": 1.1,
    "GBP": 0.85,
    "CHF": 1,
    "CAD": 1.5,
    "AUD": 1.7,
    "NZD": 1.8,
    "SEK": 11,
    "NOK": 11,
    "DKK": 7.5,
    "ISK": 150,
    "PLN": 4.3,
    "CZK": 25,
}


@lru_cache(maxsize=1 << 14)
def parts_of(text: str) -> tuple[str, tuple[str, ...], str]:
    """(number, the codes that its sign may stand for, folded unit after a slash); text of another form as it stands."""
    match = _MONEY.fullmatch(" ".join(text.split()))
    if match is None:
        return text, (), ""
    after, _, unit = match["after"].partition("/")
    signs = [each.strip().casefold() for each in (match["before"], after) if each.strip()]
    unit = unit.strip().casefold()
    if not signs:
        return match["number"], (), unit
    if len(signs) == 1 and (codes := SIGNS.get(signs[0]) or ((signs[0].upper(),) if _CODE.fullmatch(signs[0]) else ())):
        return match["number"], codes, unit
    return text, (), ""


def codes_of(sign: str) -> tuple[str, ...]:
    """The codes that a sign alone may stand for; () for what is none."""
    return SIGNS.get(sign.strip().casefold(), ())


def per_euro(currency: str) -> float | None:
    """What one euro is worth, roughly; None where we do not know."""
    return _PER_EURO.get(currency)
