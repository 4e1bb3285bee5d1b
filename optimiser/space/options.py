"""Slots: what each may hold under a brief, as options with their amounts.

The brief names products, materials or "none"; a slot it does not mention is open to every product made for it.
`choices.py` turns options into arrays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NoReturn

from materials.catalogue import Catalogue
from materials.errors import InputError, nearest
from materials.models import Material, Product

from ..brief.brief import Brief, SlotChoice
from ..template import (
    BATTENS,
    FILLS,
    GAP,
    INNER_FRAME,
    MAY_BE_EMPTY,
    MEMBER_SLOTS,
    NONE,
    OUTER_FRAME,
    SERVICE_FILL,
    SLOT,
    SLOTS,
    USE_OF,
)
from ..wall import layers
from ..wall.buildup import AIR
from ..wall.layers import EMPTY, Amount, Stock, Terms
from ..wall.offered import candidates, fits_slot
from ..wall.option_key import OptionKey
from ..wall.pricing import Pricing, batt_lines, lapsed_words


@dataclass(frozen=True)
class Option:
    """One thing that a slot may hold; nothing at all when `stock` is None. Sizes in m."""

    key: str
    label: str
    stock: Stock | None = None
    amount: Amount = EMPTY
    thickness: float = 0.0
    width: float = 0.0  # members only
    spacing: float = 1.0
    offset: float = 0.0
    extra: float = 0.0

    @property
    def material(self) -> Material | None:
        return self.stock.material if self.stock else None

    @property
    def present(self) -> bool:
        return self.stock is not None


@dataclass(frozen=True)
class FillOption:
    """A fill: loose, or a line of batts in stock thicknesses, or unventilated air."""

    key: str
    label: str
    stock: Stock
    line: tuple[Product, ...] = ()  # batts of one kind, thinnest first

    @property
    def loose(self) -> bool:
        return self.stock.material.kind == "loose fill"

    @property
    def air(self) -> bool:
        return self.stock.material.key == AIR


EMPTY_OPTION = Option(NONE, "none")


@dataclass(frozen=True)
class OptionOffer:
    """A product that could stand in a slot, whether the brief lets it, and why its [materials] never does."""

    key: str
    label: str
    on: bool
    barred: str = ""


@dataclass(frozen=True)
class SlotOffer:
    slot: str
    locked: bool
    options: list[OptionOffer]


def allowed(name: str, brief: Brief, catalogue: Catalogue, pricing: Pricing) -> tuple[list[Product], bool, bool]:
    """Products that the brief and its [materials] let into a slot; whether it may be empty; whether it may hold air."""
    offered = candidates(name, catalogue, pricing)
    named = brief.slot(name).named
    barred = _barred(offered, brief, catalogue)
    if named is None:
        products = [each for each in offered if each.key not in barred]
        return products, name in MAY_BE_EMPTY, name == SERVICE_FILL
    empty = air = False
    chosen: dict[str, Product] = {}
    meant = _by_word(offered)
    for key in named:
        if key == NONE and name in MAY_BE_EMPTY:
            empty = True
        elif key == AIR and name in FILLS:
            air = True
        else:
            matches = meant.get(key) or _none_of(key, name, catalogue, pricing)
            if key in barred and all(each.material != key for each in matches):
                raise InputError(f'slots."{name}": "{key}" is left out: {barred[key]}')
            chosen |= {each.key: each for each in matches if each.key not in barred}
    return list(chosen.values()), empty, air


def barred_in(name: str, brief: Brief, catalogue: Catalogue, pricing: Pricing) -> dict[str, str]:
    """Products made for a slot that the brief's [materials] leaves out, each with what speaks against it."""
    return _barred(candidates(name, catalogue, pricing), brief, catalogue)


def _barred(offered: list[Product], brief: Brief, catalogue: Catalogue) -> dict[str, str]:
    materials = {each.material for each in offered}
    objections = {key: brief.materials.against(catalogue.get(key)) for key in materials}
    return {each.key: words for each in offered if (words := objections[each.material]) is not None}


def _by_word(offered: list[Product]) -> dict[str, list[Product]]:
    """What a brief's word for a slot's contents means: the product of that key, and all of that material."""
    meant: dict[str, list[Product]] = {}
    for each in offered:
        for word in {each.key, each.material}:
            meant.setdefault(word, []).append(each)
    return meant


def _none_of(key: str, name: str, catalogue: Catalogue, pricing: Pricing) -> NoReturn:
    """InputError that says why nothing on offer for a slot goes by a word."""
    place = f'slots."{name}"'
    if key == NONE:
        raise InputError(f'{place}: "none": this slot cannot be empty')
    lapsed = [each for each in _lapsed_for(name, catalogue, pricing) if key in (each.key, each.material)]
    if lapsed:
        raise InputError(f'{place}: "{key}" is left out: {_allow(lapsed[0])}')
    material = catalogue.materials.get(key) or catalogue.materials.get(
        getattr(pricing.products.get(key), "material", "")
    )
    if material is None:
        words = [*pricing.products, *catalogue.materials]
        raise InputError(f'{place}: "{key}" is neither a product on the lists nor a material{nearest(key, words)}')
    if name == "fill" and material.rigid_foam:
        raise InputError(f'{place}: "{key}": rigid foam does not belong between studs')
    if name in SLOT and SLOT[name].least_depth_mm and SLOT[name].use in material.uses:
        raise InputError(f'{place}: "{key}": a {name} is at least {SLOT[name].least_depth_mm:g} mm deep')
    if USE_OF[name] in material.uses:
        raise InputError(f'{place}: no product of "{key}" is on the price lists in a size that fits')
    uses = ", ".join(material.uses) or "nothing"
    raise InputError(f'{place}: "{key}" is not made for this slot; the catalogue uses it for: {uses}')


def options_of(name: str, brief: Brief, catalogue: Catalogue, pricing: Pricing) -> tuple[Option, ...]:
    """The options of a slot (not of the gap, nor of the fills), "none" first where it may be empty."""
    products, empty, _ = allowed(name, brief, catalogue, pricing)
    options = [EMPTY_OPTION] if empty else []
    slot = brief.slot(name)
    for product in products:
        stock = Stock.of(catalogue.get(product.material), product)
        if name in MEMBER_SLOTS:
            options += _members(name, stock, slot, brief, pricing.terms)
        else:
            thickness = (product.thickness_mm or 0) / 1000
            amount = layers.sheet(stock, name, thickness, pricing.terms)
            options.append(Option(product.key, product.name, stock, amount, thickness))
    if name == OUTER_FRAME:
        options = [each for each in options if each.thickness * 1000 >= brief.limits.min_load_bearing_depth_mm - 1e-6]
    if not options:
        if not products and _lapsed_for(name, catalogue, pricing):
            raise InputError(_all_lapsed(name, catalogue, pricing))
        barred = not products and barred_in(name, brief, catalogue, pricing)
        raise InputError(_all_barred(name, brief) if barred else _empty_slot(name, brief))
    # Neighbours in index are neighbours in thickness: crossover and mutation then make small steps.
    return tuple(sorted(options, key=lambda each: (each.present, each.thickness, each.width, each.key)))


def _all_barred(name: str, brief: Brief) -> str:
    return f'slots."{name}": nothing is left; [materials] {brief.materials.words()} leaves out all that it could hold'


def _lapsed_for(name: str, catalogue: Catalogue, pricing: Pricing) -> list[Product]:
    """Products made for a slot that are left out because their price has lapsed."""
    products = []
    for product in pricing.left_out.values():
        material = catalogue.get(product.material)
        if USE_OF[name] in material.uses and fits_slot(name, material, product):
            products.append(product)
    return products


def _all_lapsed(name: str, catalogue: Catalogue, pricing: Pricing) -> str:
    last = max(_lapsed_for(name, catalogue, pricing), key=lambda each: (each.valid_until, each.key))
    return f'slots."{name}": nothing is left; of all that is made for it the {_allow(last)}'


def _allow(product: Product) -> str:
    return f"{lapsed_words(product)} ({product.key}; prices.allow_lapsed uses it all the same)"


def _empty_slot(name: str, brief: Brief) -> str:
    if name == OUTER_FRAME and brief.limits.min_load_bearing_depth_mm:
        least = brief.limits.min_load_bearing_depth_mm
        return f'slots."{name}": no stud on the lists is {least:g} mm deep (limits.min_load_bearing_depth_mm)'
    return f'slots."{name}": no product on the price lists is made for this slot'


def _members(name: str, stock: Stock, slot: SlotChoice, brief: Brief, terms: Terms) -> list[Option]:
    """One option per spacing and offset."""
    product = stock.products[0]
    depth, width = product.thickness_mm / 1000, product.width_mm / 1000
    batten = name in BATTENS
    amount = layers.members(stock, depth, width, name, terms)
    given = None if batten else brief.framing.fraction
    options = []
    for spacing in slot.spacing_mm if given is None else slot.spacing_mm[:1]:  # a fraction stands for any spacing
        extra = 0.0 if batten else brief.framing.extra_fraction(width * 1000, spacing)
        sets = 2 if name == INNER_FRAME and any(slot.offset_mm) else 1  # staggered: both frames beside each other
        if given is None and sets * width * 1000 / spacing + extra >= 1:
            raise InputError(f'slots."{name}": {product.name} at {spacing:g} mm leaves no room between the members')
        for offset in slot.offset_mm if name == INNER_FRAME and given is None else (0.0,):
            if offset >= spacing:
                raise InputError(f'slots."{name}": offset_mm = {offset:g} must be below spacing_mm = {spacing:g}')
            key = str(OptionKey(product.key, spacing, offset))
            options.append(
                Option(
                    key,
                    f"{product.name} @ {spacing:g}" + (", staggered" if offset else ""),
                    stock,
                    amount,
                    depth,
                    width if given is None else given,
                    spacing / 1000 if given is None else 1.0,
                    offset / 1000,
                    extra if given is None else 0.0,
                )
            )
    return options


def fills_of(name: str, brief: Brief, catalogue: Catalogue, pricing: Pricing) -> tuple[FillOption, ...]:
    """The fills of the frames ("fill") or of the service zone ("service fill"), loose first, air last."""
    products, _, air = allowed(name, brief, catalogue, pricing)
    blown = [catalogue.get(each.material).kind == "loose fill" for each in products]
    loose = [each for each, is_blown in zip(products, blown, strict=True) if is_blown]
    if name == SERVICE_FILL and loose:
        raise InputError(f'slots."{name}": "{loose[0].key}": loose fill is not blown into a service zone')
    fills = [FillOption(each.key, each.name, Stock.of(catalogue.get(each.material), each)) for each in loose]
    batts = [each for each, is_blown in zip(products, blown, strict=True) if not is_blown]
    taken = {each.key for each in fills}
    for line in batt_lines(batts):
        stock = Stock.of(catalogue.get(line[0].material), line[0])
        label = f"{stock.material.name}, {line[0].supplier}"
        key = _line_key(line, taken)
        taken.add(key)
        fills.append(FillOption(key, label, stock, tuple(line)))
    if air:
        fills.append(FillOption(AIR, "air, unventilated", Stock(catalogue.get(AIR))))
    if not fills and barred_in(name, brief, catalogue, pricing):
        raise InputError(_all_barred(name, brief))
    if not fills and _lapsed_for(name, catalogue, pricing):
        raise InputError(_all_lapsed(name, catalogue, pricing))
    if not fills:
        raise InputError(f'slots."{name}": no fill on the price lists may be used')
    return tuple(fills)


def _line_key(line: list[Product], taken: Collection[str]) -> str:
    """Material and supplier name a line of batts; its thinnest product where that is not enough."""
    key = OptionKey(line[0].material, supplier=line[0].supplier)
    return str(replace(key, first=line[0].key) if str(key) in taken else key)


def offers(brief: Brief, catalogue: Catalogue, pricing: Pricing) -> list[SlotOffer]:
    """Every slot with all that could stand in it and what the brief lets in: for switching on and off."""
    slot_offers = []
    for name in (*SLOTS, *FILLS):
        if name == GAP:
            continue
        products, empty, air = allowed(name, brief, catalogue, pricing)
        on = {each.key for each in products}
        barred = barred_in(name, brief, catalogue, pricing)
        options = [OptionOffer(NONE, "none", empty)] if name in MAY_BE_EMPTY else []
        options += [
            OptionOffer(each.key, each.name, each.key in on, barred.get(each.key, ""))
            for each in candidates(name, catalogue, pricing)
        ]
        options += [OptionOffer(AIR, "air, unventilated", air)] if name in FILLS else []
        slot_offers.append(SlotOffer(name, brief.slot(name).lock is not None, options))
    return slot_offers


def with_allowed(brief: Brief, allow: Mapping[str, list[str]], offered: Iterable[SlotOffer] = ()) -> Brief:
    """The brief with other contents of some slots; InputError when one is left without any.

    offered: what the slots were offered with; what the brief's [materials] bars there stays out.
    """
    slots = dict(brief.slots)
    barred = {(each.slot, option.key) for each in offered for option in each.options if option.barred}
    for name, given in allow.items():
        keys = [key for key in given if (name, key) not in barred]
        if not keys:
            raise InputError(f'slots."{name}": nothing is left; switch on at least one')
        slots[name] = brief.slot(name).model_copy(update={"allow": tuple(keys), "lock": None})
    return brief.model_copy(update={"slots": slots})
