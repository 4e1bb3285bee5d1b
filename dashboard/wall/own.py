"""My wall: a build-up file of one's own beside the front."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Mapping
from typing import Any

from materials.errors import InputError
from optimiser.judge import Judgement

from ..numbers import spelt
from ..words import NARROWED, QUANTITIES, many, missing, u_shown, with_unit

MINE = "mine"
LARGEST_FILE = 200_000  # bytes of a build-up file


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


def row_of(judged: Judgement, floor_lost: float | None) -> dict[str, Any]:
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
        "floor_area_lost_m2": floor_lost,
        "unpriced": list(judged.unpriced),
    }


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


def margin(less: Mapping[str, float], currency: str) -> str:
    """By how much one wall beats another: '22 mm thinner, €4.10 per m² cheaper'."""
    parts = [
        f"{with_unit(key, value, currency)} {QUANTITIES[key].lower}"
        if value > 1e-9
        else f"equal in {QUANTITIES[key].short}"
        for key, value in less.items()
    ]
    return ", ".join(parts)


def verdict(count: int, compared: int) -> str:
    """How many walls of the front beat one's own."""
    known = compared == len(NARROWED)
    scope = "in thickness, cost and carbon alike" if known else "in every figure that is known of it"
    if count == 0:
        return f"No wall of the front beats it {scope}."
    return f"{many(count, 'wall')} of the front {'beats' if count == 1 else 'beat'} it {scope}:"
