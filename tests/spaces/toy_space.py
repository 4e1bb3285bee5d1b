"""Small invented price lists and briefs, whose whole space can be listed: material for brute force, not for walls."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tomli_w

from materials.catalogue import load_catalogue
from optimiser.brief.brief import Brief, read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.space import buildable as rules
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.wall.scores import Scores

COLUMNS = (
    "product,name,material,supplier,thickness_mm,width_mm,price,unit,currency,"
    "conductivity_w_mk,declared_fossil_kgco2e_kg,declared_biogenic_kgco2e_kg"
)
PRODUCTS = """
c-20,cladding 20,softwood-cladding,Toy Timber,20,,21.00,m2,EUR,,,
b-38,batten 38,softwood-batten,Toy Timber,38,50,1.10,m,EUR,,,
b-45,batten 45,softwood-batten,Toy Timber,45,45,1.20,m,EUR,,,
b-60,batten 60,softwood-batten,Toy Timber,60,45,1.55,m,EUR,,,
t-95,stud 95,softwood-c16,Toy Timber,95,45,1.90,m,EUR,,,
t-145,stud 145,softwood-c24,Toy Timber,145,45,3.10,m,EUR,,0.19,-1.6
t-195,stud 195,softwood-c24,Toy Timber,195,45,4.60,m,EUR,,0.08,-1.6
w-1,wind paper,wind-paper,Toy Boards,,,1.10,m2,EUR,,,
wf-22,wood fibre 22,wood-fibre-board,Toy Boards,22,,8.40,m2,EUR,,,
wf-60,wood fibre 60,wood-fibre-board,Toy Boards,60,,21.80,m2,EUR,,0.35,-1.5
o-9,OSB 9,osb,Toy Boards,9,,4.20,m2,EUR,,0.55,-1.6
o-12,OSB 12,osb,Toy Boards,12,,5.30,m2,EUR,,0.30,-1.6
a-1,airtight paper,airtight-paper,Toy Boards,,,1.90,m2,EUR,,,
a-2,PE membrane,pe-membrane,Toy Boards,,,0.60,m2,EUR,,,
p-12,plasterboard 12.5,plasterboard,Toy Boards,12.5,,3.90,m2,EUR,,,
f-cel,cellulose,blown-cellulose,Toy Fills,,,0.95,kg,EUR,,0.12,-1.4
f-fib,wood fibre,blown-wood-fibre,Toy Fills,,,1.50,kg,EUR,0.036,0.22,-1.5
f-gw,blown glass wool,blown-glass-wool,Toy Fills,,,1.70,kg,EUR,0.034,0.95,0
h-45,hemp 45,hemp-batt,Toy Fills,45,,5.10,m2,EUR,0.042,0.02,-1.3
h-50,hemp 50,hemp-batt,Toy Fills,50,,5.60,m2,EUR,0.042,0.02,-1.3
h-60,hemp 60,hemp-batt,Toy Fills,60,,6.80,m2,EUR,0.042,0.02,-1.3
k-12,tie plate 12,tie-plywood,Toy Boards,12,,14.00,m2,EUR,,,
""".strip().splitlines()

SMALL = {
    "name": "toy",
    "target": {"u_value": 0.11},
    "prices": {"lists": ["toy.csv"]},
    "labour": {"rate_per_h": 40, "stud_h_per_m": 0.05, "board_h_per_m2": 0.1, "blown_h_per_m3": 0.3},
    "gap": {"min_mm": 0, "max_mm": 140, "step_mm": 20},
    "seed": {"value": 7},
    "search": {"population": 100, "generations": 120, "stagnation": 40},
    "slots": {
        "cladding": {"lock": "c-20"},
        "ventilated space": {"lock": "b-38"},
        "wind-tight layer": {"allow": ["none", "w-1"]},
        "outer board": {"allow": ["none", "wf-22", "wf-60"]},
        "sheathing": {"allow": ["none", "o-9", "o-12"]},
        "outer frame": {"allow": ["t-145", "t-195"]},
        "outer gap board": {"allow": ["none", "o-9"]},
        "inner gap board": {"lock": "none"},
        "inner frame": {"allow": ["none", "t-95"]},
        "fill": {"allow": ["f-cel", "f-fib", "f-gw", "hemp-batt"]},
        "airtight layer": {"allow": ["a-1", "a-2"]},
        "service zone": {"allow": ["none", "b-45", "b-60"]},
        "service fill": {"allow": ["air", "hemp-batt"]},
        "lining": {"lock": "p-12"},
    },
}

# A cold winter and a tight limit, so that moisture rules walls out; loads that the smaller stud does not bear.
COLD = {
    "indoor_humidity_class": 4,
    "outdoor_temperature_c": [-14, -12, -6, 2, 9, 14, 16, 15, 9, 3, -5, -11],
    "outdoor_rh_percent": [86, 85, 80, 74, 70, 70, 73, 76, 80, 84, 87, 87],
}
SOUND = {
    "climate": COLD,
    "checks": {"moisture": True, "strength": True, "fill": True},
    "moisture": {"max_condensate_g_m2": 20, "min_drying_reserve_g_m2": 180, "mould_inside": "shown"},
    "filling": {"deepest_mm": 380},
    "loads": {"height_mm": 2700, "permanent_kn_m": 26, "imposed_kn_m": 13, "snow_kn_m": 10, "wind_kn_m2": 1.2},
}

# Whole steps in which scores are compared (design.md): 0.01 mm, 0.01 cent, 0.1 g CO2e, 1 g.
STEP = {"thickness_mm": 0.01, "cost_per_m2": 1e-4, "carbon_kgco2e_m2": 1e-4, "weight_kg_m2": 1e-3}


def raw(**changes) -> dict:
    """SMALL with sections changed: `target={"u_value": 0.1}` merges, `slots={"fill": {...}}` replaces that slot."""
    out = copy.deepcopy(SMALL)
    for key, value in changes.items():
        if isinstance(value, dict):
            out[key] = {**out.get(key, {}), **value}
        else:
            out[key] = value
    return out


def sold_by(suppliers: dict[str, str], rows: list[str] = PRODUCTS) -> list[str]:
    """The rows of a list, some of them (by their key) with other suppliers."""
    cells = [row.split(",") for row in rows]
    return [",".join([*each[:3], suppliers.get(each[0], each[3]), *each[4:]]) for each in cells]


def write_list(folder: Path, rows: list[str] = PRODUCTS, name: str = "toy.csv") -> Path:
    path = folder / name
    path.write_text("\n".join([COLUMNS, *rows]) + "\n", encoding="utf-8")
    return path


def write_brief(folder: Path, rows: list[str] = PRODUCTS, name: str = "brief.toml", **changes) -> Path:
    """A brief and its price list in `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    write_list(folder, rows)
    path = folder / name
    path.write_text(tomli_w.dumps(raw(**changes)), encoding="utf-8")
    return path


def brief_in(folder: Path, rows: list[str] = PRODUCTS, **changes) -> Brief:
    return read_brief(write_brief(folder, rows, **changes))


def choices_of(brief: Brief, folder: Path) -> Choices:
    catalogue = load_catalogue()
    return Choices(brief, catalogue, pricing_of(brief, folder, catalogue)[0])


@dataclass(frozen=True)
class Whole:
    """Every wall that can be built from a brief, with its scores, listed without the search."""

    choices: Choices
    x: np.ndarray
    scores: Scores

    def holding(self, target: float | None = None, **limits: float) -> np.ndarray:
        """(n,) which walls hold the target and the limits, by default those of the brief."""
        brief = self.choices.brief
        holds = self.scores.u_value <= (brief.target.u_value if target is None else target)
        for key in STEP:
            limit = limits.get(f"max_{key}", getattr(brief.limits, f"max_{key}"))
            if limit is not None:
                holds = holds & (getattr(self.scores, key) <= limit)
        return holds

    def steps(self, objectives: tuple[str, ...] | None = None) -> np.ndarray:
        keys = objectives or self.choices.brief.objectives.minimise
        return np.stack([np.rint(getattr(self.scores, key) / STEP[key]) for key in keys], axis=1).astype(np.int64)

    def front(self, target: float | None = None) -> np.ndarray:
        """Score vectors of the true front, each once."""
        return best_of(self.steps()[self.holding(target)])


def listed(brief: Brief, folder: Path) -> Whole:
    """Go through every row of indices there is."""
    choices = choices_of(brief, folder)
    every = np.unravel_index(np.arange(np.prod(choices.sizes)), choices.sizes)
    rows = np.stack(every, axis=1).astype(np.int32)
    rows = rows[rules.buildable(choices, rows)]
    return Whole(choices, rows, evaluate(choices, rows))


def best_of(steps: np.ndarray) -> np.ndarray:
    """Vectors that no other beats, by comparing each with those kept: one of a smaller sum can't be beaten later."""
    steps = np.unique(steps, axis=0)
    kept = np.empty((0, steps.shape[1]), steps.dtype)
    for row in steps[np.argsort(steps.sum(axis=1), kind="stable")]:
        if not (kept <= row).all(axis=1).any():
            kept = np.vstack([kept, row])
    return kept[np.lexsort(kept.T[::-1])]


def volume(steps: np.ndarray, reference: np.ndarray) -> float:
    """Dominated volume as a share of the box from 0 to `reference`, cell by cell of the grid the points span."""
    points = steps[(steps < reference).all(axis=1)]
    if not len(points):
        return 0.0
    axes = [np.unique(np.append(points[:, k], reference[k])) for k in range(steps.shape[1])]
    covered = np.zeros([len(axis) - 1 for axis in axes], bool)
    corners = [np.searchsorted(axis, points[:, k]) for k, axis in enumerate(axes)]
    for corner in zip(*corners, strict=True):
        covered[tuple(slice(start, None) for start in corner)] = True
    sizes = covered.astype(float)
    for k, axis in enumerate(axes):
        shape = [1] * len(axes)
        shape[k] = -1
        sizes = sizes * (np.diff(axis) / reference[k]).reshape(shape)
    return float(sizes.sum())
