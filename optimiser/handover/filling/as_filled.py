"""The wall as it was filled: density chamber by chamber, what will settle, and the U-value that comes of it.

Model, common practice: a fill below its settling limit (the target density of its void) settles until it has reached
it; the mass stays. Of a chamber's height the share density / limit stays full, and above it stands air. The fill keeps
the build-up's conductivity from 35 to 60 kg/m3 (practice, from memory) and over the densities that the catalogue gives
for it; a density outside of both is told. U is the mean by area of the filled part and of the part with air.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from materials.errors import InputError
from materials.models import Material

from ...checks.fill.voids import Void, voids_of
from ...checks.judge import judge
from ...heat import air_layers, steady
from ...wall import scores
from ...wall.assemble import batch_of, parts_of
from ...wall.buildup import BuildUp
from .reading import Entered, read_filled
from .sheet import fill_names

MODEL = (
    "Model (common practice): a fill below its settling limit settles to it, its mass stays, air stands above it; U is "
    "the mean by area of the filled part and of that with air."
)
FLAT = (35.0, 60.0)  # kg/m3 between which the conductivity of a blown fill stays the same (practice, from memory)
SETTLED = "settled-void"
TOLERANCE = 1e-9


@dataclass(frozen=True)
class FilledChamber:
    """One chamber as filled. filled_share: of its height once settled; below: the settling limit is missed."""

    key: str
    void: int
    fill: str
    volume_m3: float
    face_m2: float
    kg: float
    limit_kg_m3: float
    density_kg_m3: float
    filled_share: float
    below: bool
    outside: bool  # of the densities at which the conductivity holds
    remark: str = ""

    @property
    def missing_kg(self) -> float:
        return max(self.limit_kg_m3 * self.volume_m3 - self.kg, 0.0)


@dataclass(frozen=True)
class AsFilled:
    """The whole wall. u_planned, u_as_filled [W/m2K]; None where the method refuses the wall, and `reason` says why."""

    wall: str
    digest: str
    chambers: tuple[FilledChamber, ...]
    u_planned: float | None
    u_as_filled: float | None
    reason: str | None = None
    notes: tuple[str, ...] = ()

    @property
    def kg(self) -> float:
        return _kg(self.chambers)

    @property
    def kg_needed(self) -> float:
        """At the settling limits, in the volumes really there."""
        return _needed(self.chambers)

    @property
    def by_fill(self) -> dict[str, tuple[FilledChamber, ...]]:
        """The chambers of each fill."""
        names = dict.fromkeys(each.fill for each in self.chambers)
        return {name: tuple(each for each in self.chambers if each.fill == name) for name in names}

    @property
    def below(self) -> tuple[FilledChamber, ...]:
        return tuple(each for each in self.chambers if each.below)

    @property
    def outside(self) -> tuple[FilledChamber, ...]:
        return tuple(each for each in self.chambers if each.outside)

    @property
    def passes(self) -> bool:
        return not self.below

    def as_json(self) -> dict:
        """For programs; values unrounded, null where unknown."""
        return {
            "wall": self.wall,
            "build_up": self.digest,
            "kg": self.kg,
            "kg_needed": self.kg_needed,
            "fills": {name: {"kg": _kg(of), "kg_needed": _needed(of)} for name, of in self.by_fill.items()},
            "u_planned": self.u_planned,
            "u_as_filled": self.u_as_filled,
            "reason": self.reason,
            "below": [each.key for each in self.below],
            "outside": [each.key for each in self.outside],
            "chambers": [asdict(each) | {"missing_kg": each.missing_kg} for each in self.chambers],
            "notes": list(self.notes),
            "passes": self.passes,
        }


def _kg(of: Iterable[FilledChamber]) -> float:
    return math.fsum(each.kg for each in of)


def _needed(of: Iterable[FilledChamber]) -> float:
    return math.fsum(each.limit_kg_m3 * each.volume_m3 for each in of)


def as_filled(path: Path, wall: BuildUp) -> AsFilled:
    """Read a filled-in sheet back against its wall.

    InputError names every fault of the sheet with its place; nothing is half read.
    """
    returned = read_filled(path, wall)
    voids = _voids(wall)
    for each in returned.chambers:
        if not 1 <= each.void <= len(voids):
            raise InputError(f'{path}: chamber "{each.key}": this wall has {len(voids)} voids that are blown full')
    names = fill_names(wall, voids)
    chambers = tuple(
        _chamber(each, names[each.void - 1], _range(wall, voids[each.void - 1])) for each in returned.chambers
    )
    planned = judge(wall)
    if planned.heat.refused:
        return AsFilled(returned.wall, returned.digest, chambers, None, None, planned.heat.refused)
    u, notes = _u_as_filled(wall, voids, chambers, planned.u_value)
    return AsFilled(returned.wall, returned.digest, chambers, planned.u_value, u, None, notes)


def _voids(wall: BuildUp) -> list[Void]:
    parts = parts_of(wall)
    return voids_of(wall, parts, batch_of(wall, parts))


def _range(wall: BuildUp, void: Void) -> tuple[float, float]:
    """Densities [kg/m3] at which the build-up's conductivity is taken to hold."""
    material = wall.of(wall.layers[void.layers[0]].material)
    low, high = material.density_min_kg_m3 or FLAT[0], material.density_max_kg_m3 or FLAT[1]
    return min(low, FLAT[0]), max(high, FLAT[1])


def _chamber(each: Entered, name: str, holds: tuple[float, float]) -> FilledChamber:
    density = each.kg / each.volume_m3 if each.volume_m3 > 0 else each.density_kg_m3
    below = density < each.density_kg_m3 * (1 - TOLERANCE)
    share = min(density / each.density_kg_m3, 1.0) if below else 1.0
    settled = max(density, each.density_kg_m3)  # what stays full once it has settled
    return FilledChamber(
        key=each.key,
        void=each.void,
        fill=name,
        volume_m3=each.volume_m3,
        face_m2=each.face_m2,
        kg=each.kg,
        limit_kg_m3=each.density_kg_m3,
        density_kg_m3=density,
        filled_share=share,
        below=below,
        outside=not holds[0] - TOLERANCE <= settled <= holds[1] + TOLERANCE,
        remark=each.remark,
    )


def _u_as_filled(
    wall: BuildUp, voids: list[Void], chambers: tuple[FilledChamber, ...], planned: float
) -> tuple[float, tuple[str, ...]]:
    """U by area; of a wall with two voids the parts with air of one are taken to lie behind full parts of the other."""
    u, notes = planned, []
    for number, void in enumerate(voids, 1):
        mine = [each for each in chambers if each.void == number]
        face = math.fsum(each.face_m2 for each in mine)
        empty = math.fsum(each.face_m2 * (1 - each.filled_share) for each in mine)
        if not face or not empty:
            continue
        with_air, safe = _u_with_air(wall, void)
        u += empty / face * (with_air - planned)
        notes.append(f"void {number}: {empty:.2f} m2 of {face:.2f} m2 stand empty once settled, U {with_air:.3f} there")
        if safe:
            notes.append(
                f"void {number}: U of the empty part from the lower limit R'', the safe side (R'/R'' above 1.5)"
            )
    return u, tuple(notes)


def _u_with_air(wall: BuildUp, void: Void) -> tuple[float, bool]:
    """U [W/m2K] of the wall with air in a void, one unventilated layer across its depth; whether from R'' alone.

    The depth counts to 0.3 m, as far as ISO 6946 knows air layers.
    """
    depth = min(void.depth, air_layers.DEEPEST_AIR_LAYER)
    resistance = float(air_layers.unventilated(depth, air_layers.DIRECTION[wall.element]))
    still = Material(key=SETTLED, name="air above settled fill", conductivity_w_mk=void.depth / resistance)
    layers = tuple(
        each.model_copy(update={"material": SETTLED, "product": None, "supplier": None}) if at in void.layers else each
        for at, each in enumerate(wall.layers)
    )
    hollow = wall.model_copy(update={"layers": layers, "materials": wall.materials | {SETTLED: still}})
    batch = batch_of(hollow, parts_of(hollow))
    transmittance = steady.transmittance(batch)
    correction = float(scores.correction(hollow.corrections, batch, hollow.index_of)[0])
    if transmittance.refused[0]:
        return 1 / float(transmittance.r_lower[0]) + correction, True
    return float(transmittance.u_bare[0]) + correction, False


def as_filled_words(filled: AsFilled) -> list[str]:
    """What is to be said of it, a line each: mass, every chamber that is told, U, what it rests on."""
    lines = [f"{filled.wall}: {filled.kg:.1f} kg went in; {filled.kg_needed:.1f} kg keep every chamber from settling"]
    if len(filled.by_fill) > 1:
        lines += [
            f"{name}: {_kg(of):.1f} kg in {len(of)} chambers; {_needed(of):.1f} kg keep them from settling"
            for name, of in filled.by_fill.items()
        ]
    for each in filled.chambers:
        if faults := _faults(each):
            lines.append(
                f"{each.key}: {each.density_kg_m3:.1f} kg/m3, settling limit {each.limit_kg_m3:.1f}: {faults}"
                + (f"; {each.missing_kg:.1f} kg are missing" if each.below else "")
            )
    if filled.u_planned is None:
        lines.append(f"U is not given: {filled.reason}")
    else:
        lines.append(f"U as filled {filled.u_as_filled:.4f} W/m2K, as planned {filled.u_planned:.4f} W/m2K")
    return [*lines, *filled.notes, MODEL]


def _faults(each: FilledChamber) -> str:
    words = []
    if each.below:
        words.append("below the settling limit")
    if each.outside:
        words.append("outside the densities its conductivity is known at")
    return "; ".join(words)
