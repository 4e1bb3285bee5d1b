"""From a row of choices to its build-up file, and to the words of a table."""

from __future__ import annotations

from materials.models import Material

from ..batch import Index
from ..brief.as_judged import corrections_of, framing_of
from ..template import (
    AT,
    BEFORE_FRAME,
    FILL_OF,
    GAP,
    INNER_FRAME,
    MAIN_FILLS,
    OUTER_FRAME,
    SERVICE_FILL,
    SERVICE_ZONE,
    SLOT,
    SLOTS,
    ZONE,
)
from ..wall.buildup import AIR, BuildUp, Frame, Layer, Tie
from ..wall.layers import Stock, sawn, shelve
from .choices import Choices
from .options import Option


def buildup(choices: Choices, row: Index, name: str) -> BuildUp:
    """The wall of one buildable row, layer by layer from outside; empty slots are left out."""
    library: dict[str, Material] = {}
    layers = [layer for slot in SLOTS if (layer := _layer(choices, row, slot, library)) is not None]
    brief = choices.brief
    return BuildUp(
        name=name,
        outside="vented",
        layer=tuple(layers),
        conditions=brief.climate,
        loads=brief.loads,
        framing=framing_of(brief),
        corrections=corrections_of(brief.corrections, {layer.role for layer in layers}),
        materials=library,
    )


def _layer(choices: Choices, row: Index, slot: str, library: dict[str, Material]) -> Layer | None:
    option = choices.options[slot][row[AT[slot]]]
    if slot in FILL_OF:
        return _filled(choices, row, slot, option, library)
    if not option.present:
        return None
    product = option.stock.products[0]
    thickness = _mm(option.thickness)
    if SLOT[slot].members:  # battens with air beside them
        frame = _frame(choices, option, "vertical", library)
        return Layer(
            role=slot,
            material=_shelve(choices, Stock(choices.catalogue.get(AIR)), library),
            thickness_mm=thickness,
            frame=frame,
        )
    key = _shelve(choices, option.stock, library)
    return Layer(role=slot, material=key, thickness_mm=thickness, product=product.key, supplier=product.supplier)


def _filled(choices: Choices, row: Index, slot: str, option: Option, library: dict[str, Material]) -> Layer | None:
    """A zone that a fill takes: a frame, the gap or the service zone."""
    if option.thickness == 0:
        return None
    name = FILL_OF[slot]
    fill = row[AT[name]]
    stock = choices.tables[name].stacks.get((fill, row[AT[slot]]), choices.fills[name][fill].stock)
    keys = tuple(each.key for each in stock.products)
    suppliers = ", ".join(dict.fromkeys(each.supplier for each in stock.products))
    framed = tie = None
    if slot == GAP:
        tie = _tie(choices, row, library)
    else:
        axis = choices.brief.slot(slot).axis or ("horizontal" if SLOT[slot].axis else "vertical")
        framed = _frame(choices, option, axis, library)
    return Layer(
        role=slot,
        material=_shelve(choices, stock, library),
        thickness_mm=_mm(option.thickness),
        frame=framed,
        tie=tie,
        product=(keys[0] if len(keys) == 1 else keys) or None,
        supplier=suppliers or None,
    )


def _frame(choices: Choices, option: Option, axis: str, library: dict[str, Material]) -> Frame:
    product = option.stock.products[0]
    common = {"material": _shelve(choices, option.stock, library), "product": product.key, "supplier": product.supplier}
    if choices.brief.framing.fraction is not None and axis == "vertical" and option.spacing == 1.0:
        return Frame(fraction=option.width, **common)
    return Frame(
        width_mm=_mm(option.width),
        spacing_mm=_mm(option.spacing),
        axis=axis,
        offset_mm=_mm(option.offset),
        extra_fraction=option.extra,
        **common,
    )


def _tie(choices: Choices, row: Index, library: dict[str, Material]) -> Tie | None:
    if not choices.tied(row[None])[0]:
        return None
    spec, product = choices.brief.tie, choices.tie.products[0]
    return Tie(
        material=_shelve(choices, choices.tie, library),
        thickness_mm=product.thickness_mm,
        height_mm=spec.height_mm,
        vertical_spacing_mm=spec.vertical_spacing_mm,
        overlap_mm=spec.overlap_mm,
        product=product.key,
        supplier=product.supplier,
    )


def _shelve(choices: Choices, stock: Stock, library: dict[str, Material]) -> str:
    return shelve(choices.catalogue, stock, library)


def _mm(metres: float) -> float:
    return round(metres * 1000, 6)


def described(choices: Choices, row: Index) -> dict[str, str]:
    """Slot -> what it holds, for the columns of `front.csv`; fills under their own names."""
    out = {slot: choices.options[slot][row[AT[slot]]].key for slot in SLOTS}
    for zone, name in FILL_OF.items():
        filled = choices.options[zone][row[AT[zone]]].thickness > 0
        out[name] = choices.fills[name][row[AT[name]]].key if filled else ""
    return out


def in_short(choices: Choices, row: Index) -> str:
    """A wall in ten words: outer board, frames and gap, fill, service zone."""
    held = {slot: choices.options[slot][row[AT[slot]]] for slot in SLOTS}
    words = [_board_words(held[slot]) for slot in BEFORE_FRAME if held[slot].present]
    frames = _member_words(held[OUTER_FRAME])
    if held[INNER_FRAME].present:
        gap = held[GAP].thickness * 1000
        frames += (f" + {gap:g}" if gap else "") + f" + {_member_words(held['inner frame'])}"
        frames += " staggered" if held[INNER_FRAME].offset else ""
    words.append(frames)
    main = [name for name in MAIN_FILLS if held[ZONE[name]].thickness > 0]
    fills = [_short(choices.fills[name][row[AT[name]]].stock.material) for name in main]
    words.append(", ".join(dict.fromkeys(fills)))
    if held[SERVICE_ZONE].present:
        fill = choices.fills[SERVICE_FILL][row[AT[SERVICE_FILL]]]
        words.append(f"service zone {held['service zone'].thickness * 1000:g} {_short(fill.stock.material)}")
    return " · ".join(words)


def _board_words(option: Option) -> str:
    return f"{option.thickness * 1000:g} {_short(option.material)}"


def _member_words(option: Option) -> str:
    product = option.stock.products[0]
    return sawn(product.width_mm, product.thickness_mm, "×")


def _short(material: Material) -> str:
    """The first words of a material's name: "OSB", "wood-fibre board"."""
    return material.name.split(",")[0]
