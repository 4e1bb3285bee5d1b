"""The columns of a price list in our own names, and what a supplier's headings usually mean."""

from __future__ import annotations

import re
from collections.abc import Collection

from ..errors import nearest

REQUIRED = ("product", "name", "material", "supplier", "price", "unit", "currency")
OPTIONAL = (
    "thickness_mm",
    "width_mm",
    "conductivity_w_mk",
    "conductivity_declared_w_mk",
    "conversion_moisture",
    "conversion_temperature",
    "conversion_ageing",
    "density_kg_m3",
    "vapour_mu",
    "sd_m",
    "sd_m_dry",
    "sd_m_humid",
    "mass_kg_m2",
    "declared_fossil_kgco2e_kg",
    "declared_biogenic_kgco2e_kg",
    "pack",
    "pack_contents",
    "contents_unit",
    "minimum_order",
    "price_steps",
    "discount_percent",
    "vat_percent",
    "freight",
    "freight_free_from",
    "waste_percent",
    "mass_kg",
    "valid_until",
    "lead_time_days",
    "delivery_km",
    "declaration",
    "source",
    "note",
)
COLUMNS = (*REQUIRED, *OPTIONAL)
ALIASES = {"mu": "vapour_mu"}
WORDS = ("product", "name", "material", "supplier", "unit", "currency", "pack", "contents_unit", "declaration")
NOT_NUMBERS = (*WORDS, "price_steps", "valid_until", "source", "note")
NUMBERS = tuple(name for name in COLUMNS if name not in NOT_NUMBERS)
CONVERSIONS = ("conversion_moisture", "conversion_temperature", "conversion_ageing")
CONDUCTIVITIES = ("conductivity_w_mk", "conductivity_declared_w_mk", *CONVERSIONS)
STEP = "price from "  # a column of prices from a quantity on, which the mapping states under [steps]

# Headings of the trade, folded and without signs, by what they mean (from memory). A part of a heading is enough.
MEANT = {
    "discount_percent": ("rabatt", "rab", "discount", "disc", "remise", "nachlass", "korting", "sconto", "alennus"),
    "vat_percent": ("vat", "mwst", "ust", "moms", "mva", "tva", "btw", "iva", "alv"),
    "price": ("preis", "einzelpreis", "listenpreis", "pris", "prix", "prijs", "prezzo", "precio", "hinta"),
    "thickness_mm": ("dicke", "stärke", "tjocklek", "tykkelse", "epaisseur", "épaisseur", "dikte", "spessore"),
    "width_mm": ("breite", "bredd", "bredde", "largeur", "breedte", "larghezza"),
    "unit": ("einheit", "enhet", "enhed", "unité", "eenheid"),
    "currency": ("währung", "valuta", "devise"),
    "product": ("artikel", "artikelnummer", "artnr", "article", "sku"),
    "name": ("bezeichnung", "benämning", "désignation", "omschrijving", "description"),
    "freight": ("fracht", "frakt", "fragt", "transport", "porto"),
    "density_kg_m3": ("rohdichte", "dichte", "densitet", "densité"),
    "sd_m": ("sd",),
    "vapour_mu": ("µ", "μ"),
    "conductivity_declared_w_mk": ("lambda", "λ", "λd"),
    "waste_percent": ("verschnitt", "spill", "waste"),
}
_MEANT = {word: column for column, words in MEANT.items() for word in words}


def hint(word: str, columns: Collection[str] = COLUMNS) -> str:
    """' (nearest: "x")' for the column that a heading means: by the trade's words, else by its spelling."""
    column = meaning(word)
    return f' (nearest: "{column}")' if column in columns else nearest(word, columns)


def meaning(word: str) -> str | None:
    """The column that a heading means by the trade's words; None for one that says nothing to us."""
    parts = re.split(r"[\s.,:;%()\[\]/_-]+", word[:200].casefold())
    return next((_MEANT[part] for part in parts if part in _MEANT), None)
