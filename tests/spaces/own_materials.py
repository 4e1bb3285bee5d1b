"""A small brief with materials of its own: a membrane that follows the humidity, and a fill, both on its list."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import toy_space as small

MATERIALS: dict[str, Any] = {
    "own-membrane": {
        "name": "own membrane",
        "kind": "membrane",
        "uses": ["airtight layer"],
        "origin": "fossil",
        "sd_m_dry": 18.0,
        "sd_m_humid": 0.35,
        "mass_kg_m2": 0.12,
        "fossil_kgco2e_kg": 2.4,
        "biogenic_kgco2e_kg": 0.0,
        "airtight": True,
    },
    "own-fill": {"like": "blown-cellulose", "name": "own fill", "conductivity_w_mk": 0.036, "fossil_kgco2e_kg": 0.05},
}
ROWS = [
    "om-1,membrane of our own,own-membrane,Toy Boards,,,1.20,m2,EUR,,,",
    "of-1,fill of our own,own-fill,Toy Fills,,,0.90,kg,EUR,0.035,,",
    "of-2,the same as it comes,own-fill,Other Fills,,,0.80,kg,EUR,,,",
]
SLOTS = small.SMALL["slots"] | {
    "wind-tight layer": {"lock": "w-1"},
    "outer board": {"lock": "none"},
    "sheathing": {"allow": ["o-9", "o-12"]},
    "outer frame": {"allow": ["t-145", "t-195"]},
    "outer gap board": {"lock": "none"},
    "fill": {"allow": ["own-fill", "f-cel"]},
    "airtight layer": {"allow": ["own-membrane"]},
    "service zone": {"lock": "none"},
}


def own_brief(folder: Path, **changes: Any) -> Path:
    """The brief as a file, with its list beside it."""
    given = {
        "slots": SLOTS,
        "materials": MATERIALS,
        "target": {"u_value": 0.12},
        "house": {"length_m": 10.0, "width_m": 8.0, "storey_height_m": 2.75},
        "climate": {"outdoor_temperature_c": [4] * 12, "outdoor_rh_percent": [80] * 12, "indoor_rh_percent": 50},
        "loads": {"height_mm": 2700, "permanent_kn_m": 6},
        "checks": {"fill": True},
        "search": {"population": 40, "start_generations": 5},
    }
    return small.write_brief(folder, [*small.PRODUCTS, *ROWS], **given | changes)
