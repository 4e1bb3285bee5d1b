"""When no wall meets the brief: the nearest miss, and which limit binds, in words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..batch import Index
from ..space.choices import Choices
from ..space.walls import in_short
from ..template import AT, GAP, GAP_FILL, OUTER_FILL, STUDS
from ..wall.scores import WHOLE_LIFE, Scores
from .archive import Archive

WORDS = {
    "thickness_mm": ("thickness", "mm", 1),
    "cost_per_m2": ("cost", "per m2", 2),
    "carbon_kgco2e_m2": ("carbon", "kgCO2e/m2", 1),
    "weight_kg_m2": ("weight", "kg/m2", 1),
    WHOLE_LIFE: ("whole-life carbon", "kgCO2e/m2", 1),
}


@dataclass(frozen=True)
class Shortfall:
    """Why no wall was found: reasons in words, and the figures of the nearest miss (None if none can be built)."""

    target: float
    reasons: list[str]
    nearest: dict[str, Any] | None

    def words(self) -> str:
        return "\n".join([f"no wall meets the brief (U at most {self.target:g} W/m2K)", *self.reasons])


def explain(archive: Archive) -> Shortfall:
    """Read the reasons from everything a search has tried."""
    x, scores, missed = archive.all()
    if not len(x):
        return Shortfall(archive.target, [nothing_builds(archive.choices)], None)
    reasons = _beyond_limits(archive, scores, missed)
    best = int(np.nanargmin(scores.u_value)) if not (missed[:, 0] <= 0).any() else int(np.argmin(missed.max(axis=1)))
    if not (missed[:, 0] <= 0).any():
        reasons += _too_little_insulation(archive, x[best], float(scores.u_value[best]))
    figures = {key: float(getattr(scores, key)[best]) for key in ("u_value", *WORDS)}
    short = in_short(archive.choices, x[best])
    head = f"nearest miss: U {figures['u_value']:.4f} at {figures['thickness_mm']:.1f} mm: {short}"
    return Shortfall(archive.target, [head, *reasons], figures | {"in_short": short})


def nothing_builds(choices: Choices) -> str:
    """No row keeps the rules of building."""
    from ..space.buildable import RULES, canonical, space_size, violations

    if space_size(choices) > 0:
        return "no wall that can be built was met; give the search more generations"
    rng = np.random.default_rng(0)
    rows = canonical(choices, rng.integers(0, choices.sizes, size=(20_000, len(choices.sizes))))
    broken = violations(choices, rows)
    always = [text for text, column in zip(RULES.values(), broken.T, strict=True) if column.all()]
    return "the slots leave no wall that can be built; needed: " + "; ".join(always or RULES.values())


def _beyond_limits(archive: Archive, scores: Scores, missed: np.ndarray) -> list[str]:
    """Limits that walls with the right U break, and by how little."""
    warm = missed[:, 0] <= 0
    reasons = []
    for number, (key, limit) in enumerate(sorted(archive.choices.brief.limits.upper().items()), 1):
        others = np.delete(missed, number, axis=1)
        alone = (others <= 0).all(axis=1)
        name, unit, digits = WORDS[key]
        if alone.any():
            least = _up(getattr(scores, key)[alone].min(), digits)
            reasons.append(f"max_{key} = {limit:g} binds: the least {name} found that holds the rest is {least} {unit}")
        elif warm.any() and (missed[warm, number] > 0).all():
            least = _up(getattr(scores, key)[warm].min(), digits)
            reasons.append(f"max_{key} = {limit:g} binds: walls that meet the U-value have at least {least} {unit}")
    return reasons


def _up(value: float, digits: int) -> str:
    """Rounded up: a limit set to what is stated must admit the wall."""
    return f"{math.ceil(value * 10**digits) / 10**digits:.{digits}f}"


def _too_little_insulation(archive: Archive, row: Index, u_value: float) -> list[str]:
    """What the best-insulated wall has exhausted, and how much more it would take."""
    choices = archive.choices
    lacking = 1 / archive.target - 1 / u_value
    reasons = []
    gap = choices.options[GAP][row[AT[GAP]]].thickness
    widest = max(each.thickness for each in choices.options[GAP])
    filled = GAP_FILL if gap > 0 else OUTER_FILL
    conductivity = choices.fills[filled][row[AT[filled]]].stock.material.design_conductivity
    if conductivity and gap >= widest:
        reasons.append(
            f"widest gap: gap.max_mm = {widest * 1000:g} is used up; "
            f"about {lacking * conductivity * 1000:.0f} mm more of the same fill would do"
        )
    for name in STUDS:
        depths = [each.thickness for each in choices.options[name]]
        if max(depths) > 0 and choices.options[name][row[AT[name]]].thickness >= max(depths):
            reasons.append(f"thickest frame: the {name} is at its deepest on offer, {max(depths) * 1000:g} mm")
    best = min((each.stock.material.design_conductivity or 9.0) for each in choices.fills[OUTER_FILL])
    if conductivity and conductivity <= best + 1e-9:
        needed = conductivity * archive.target / u_value
        reasons.append(
            f"no fill good enough: the best allowed has {best:.4f} W/mK; "
            f"in this wall about {needed:.4f} would be needed"
        )
    return reasons
