"""My wall: a build-up file of one's own beside the front."""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from materials.errors import InputError
from materials.models import Product
from optimiser.checks.judge import Judged
from optimiser.locales import many
from optimiser.search.landmarks import USUAL, missing
from optimiser.template import GAP, SLOTS, ZONE
from optimiser.wall.buildup import AIR, BuildUp, Layer
from optimiser.wall.option_key import OptionKey
from optimiser.wall.scores import STEPS, WHOLE_LIFE

from ..numbers import spelt
from ..words import QUANTITIES, listed, u_shown, with_unit

MINE = "mine"  # the one that stands beside the front just now
LARGEST_FILE = 200_000  # bytes of a build-up file
PREFIX = f"{MINE}-"  # of those that are kept
OTHERS = "other layers"  # those whose role is no slot of a brief
FILLS = {zone: fill for fill, zone in ZONE.items()}
SAME_U = 1e-9  # W/m2K, rounding
MOST_DIGITS = 4  # of a small difference; a step of the scores has no more


def own_id(text: str) -> str:
    """What a build-up file of one's own is called among the walls that are kept: equal for equal text."""
    return PREFIX + hashlib.sha256(text.encode("utf-8")).hexdigest()[:12]


def is_own(wall: str | None) -> bool:
    """Whether a wall is a kept one of one's own, not one of a front."""
    return (wall or "").startswith(PREFIX)


def text_of(contents: str | None, name: str, largest: int = LARGEST_FILE) -> str:
    """The text of an uploaded file (a data URL); InputError says what is wrong with it."""
    _, _, body = (contents or "").partition("base64,")
    if len(body) > largest * 4 // 3 + 8:
        raise InputError(f"{name}: larger than {largest // 1000} kB; a build-up file is not")
    try:
        raw = base64.b64decode(body, validate=True)
        text = raw.decode("utf-8-sig")
    except (binascii.Error, UnicodeDecodeError):
        raise InputError(f"{name}: cannot be read as UTF-8 text; expected a build-up file (TOML)") from None
    if not text.strip():
        raise InputError(f"{name}: is empty; expected name, outside and at least one [[layer]]")
    return text


def row_of(judged: Judged, floor_lost: float | None) -> dict[str, Any]:
    """The wall as a row beside the rows of the front."""
    return {
        "id": MINE,
        "name": judged.wall.name,
        "thickness_mm": judged.thickness_mm,
        "cost_per_m2": judged.cost_per_m2,
        "carbon_kgco2e_m2": judged.carbon_kgco2e_m2,
        "u_value": None if missing(judged.u_value) else judged.u_value,
        "weight_kg_m2": judged.weight_kg_m2,
        "biogenic_kgco2e_m2": judged.biogenic_kgco2e_m2,
        WHOLE_LIFE: judged.carbon.whole_life,
        "floor_area_lost_m2": floor_lost,
        "unpriced": list(judged.unpriced),
    }


def in_short(judged: Judged) -> str:
    """One's own wall in a line: that it is none of the front, and what is not known of it."""
    said = f"your own, {many(len(judged.layers), 'layer')}"
    return f"{said}; no price is known of {listed(judged.unpriced)}" if judged.unpriced else said


def slots_of(judged: Judged, products: Mapping[str, Product]) -> dict[str, str]:
    """Slot -> what one's own wall holds there, as the front writes it: product keys where they are known, else words.

    products: those on the lists, by key; a layer that names none is shown as the one that prices it. Layers of one role
    are one after the other; those of no slot come under `OTHERS`.
    """
    wall, known = judged.wall, {(each.name, each.supplier): key for key, each in products.items()}
    held: dict[str, list[str]] = {}
    for layer, figures in zip(wall.layers, judged.layers, strict=True):
        place, priced = layer.role, known.get((figures.product, figures.supplier))
        if place not in SLOTS:
            held.setdefault(OTHERS, []).append(f"{place}: {_words(wall, layer)}")
            continue
        held.setdefault(place, []).append(_held(wall, layer, None if place in FILLS else priced))
        if place in FILLS and layer.thickness_mm:
            held.setdefault(FILLS[place], []).append(_filling(wall, layer, products, priced))
    return {place: " + ".join(dict.fromkeys(each)) for place, each in held.items()}


def _held(wall: BuildUp, layer: Layer, priced: str | None) -> str:
    """What a slot holds: members where the layer has some, the width of a gap, else what it is made of."""
    frame = layer.frame
    if frame is not None:
        product = frame.product or priced
        if product and frame.spacing_mm is not None:
            return str(OptionKey(product, frame.spacing_mm, frame.offset_mm))
        size = f" {frame.width_mm:g}×{layer.thickness_mm:g}" if frame.width_mm else f" {layer.thickness_mm:g}"
        return f"{wall.of(frame.material).name}{size}"
    if layer.role == GAP:
        return f"{layer.thickness_mm:g}"
    product = layer.product or priced
    return _named(wall, layer.material, product) if product else _words(wall, layer)


def _words(wall: BuildUp, layer: Layer) -> str:
    """Material and thickness of a layer."""
    thick = f" {layer.thickness_mm:g}" if layer.thickness_mm >= 1 else ""
    return f"{_named(wall, layer.material, None)}{thick}"


def _filling(wall: BuildUp, layer: Layer, products: Mapping[str, Product], priced: str | None) -> str:
    """What fills a zone; batts of one kind are one, whatever stock layers they lie in."""
    named = layer.product or priced
    keys = (named,) if isinstance(named, str) else named or ()
    batts = [products[key] for key in keys if key in products and wall.of(layer.material).kind == "batt"]
    if batts:
        return " + ".join(dict.fromkeys(str(OptionKey(each.material, supplier=each.supplier)) for each in batts))
    return _named(wall, layer.material, named)


def _named(wall: BuildUp, material: str, product: str | tuple[str, ...] | None) -> str:
    if isinstance(product, str):
        return product
    if product or material == AIR:
        return " + ".join(product or (AIR,))
    return wall.of(material).name.split(",")[0]


def against_target(row: Mapping[str, Any], target: float | None) -> str:
    """Whether the wall reaches the target, in words."""
    if missing(row.get("u_value")):
        return "U is not given: the combined method does not apply to this wall"
    if target is None:
        return f"U {u_shown(row['u_value'])}"
    over = row["u_value"] - target
    if over > 0:
        return f"U {u_shown(row['u_value'])} misses the target {u_shown(target)} by {spelt(over, '.3f')} W/m²K"
    return f"U {u_shown(row['u_value'])} meets the target {u_shown(target)}"


def in_steps(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row whose scores are the whole steps in which a search compares them, so that equal walls are equal."""
    scores = {key: row[key] for key in STEPS if not missing(row.get(key))}
    return {**row, **{key: round(value * STEPS[key]) / STEPS[key] for key, value in scores.items()}}


def same_as(row: Mapping[str, Any], rows: Iterable[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """The wall of the front with U and every score of one's own; None where there is none, or one is unknown."""
    mine = in_steps(row)
    if any(missing(mine.get(key)) for key in (*USUAL, "u_value")):
        return None
    known = [key for key in STEPS if not missing(mine.get(key))]
    for each in map(in_steps, rows):
        if all(each.get(key) == mine[key] for key in known) and abs(each["u_value"] - mine["u_value"]) < SAME_U:
            return each
    return None


def same_words(equal: Mapping[str, Any]) -> tuple[str, str]:
    """What is said before and after the name of the wall that one's own is; of several equal ones it may be another."""
    if (equal.get("equal_count") or 1) > 1:
        return "It equals ", " of the front in every figure."
    return "It is ", " of the front."


def margin(less: Mapping[str, float], currency: str) -> str:
    """By how much one wall beats another: '22 mm thinner, €4.10 per m² cheaper'."""
    parts = [
        f"{with_unit(key, value, currency, _digits(key, value))} {QUANTITIES[key].lower}"
        if value > 1e-9
        else f"equal in {QUANTITIES[key].short}"
        for key, value in less.items()
    ]
    return ", ".join(parts)


def _digits(key: str, value: float) -> int:
    """As many decimals as a figure has, more where it would show as nothing."""
    usual = QUANTITIES[key].digits
    return next((each for each in range(usual, MOST_DIGITS) if round(value, each)), MOST_DIGITS)


def verdict(count: int, compared: int, asked: Sequence[str] = USUAL) -> str:
    """How many walls of the front beat one's own. compared: how many of the figures asked are known of it."""
    named = listed([QUANTITIES[key].short for key in asked])
    scope = f"in {named} alike" if compared == len(asked) else "in every figure that is known of it"
    if count == 0:
        return f"No wall of the front beats it {scope}."
    return f"{many(count, 'wall')} of the front {'beats' if count == 1 else 'beat'} it {scope}:"
