"""The blown fill of one wall, judged: its voids through the limits of common practice."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from ...fill import practice as fill
from ...wall.buildup import BuildUp
from ..common.check import NotJudged, OneWall, Verdict
from ..strength.standing import height
from .demand import FillDemand
from .voids import Void, needs, voids_of

USUAL_HEIGHT = 2.7  # m between plates, where a wall has no loads


@dataclass(frozen=True)
class VoidVerdict:
    """One void: its layers from 1, what it takes, and why it can't be filled (None where it can)."""

    layers: tuple[int, ...]
    depth_mm: float
    density_kg_m3: float
    kg_m2: float
    chambers: int
    reason: str | None


@dataclass(frozen=True, kw_only=True)
class FillVerdict(Verdict):
    """The blown fill of one wall. membrane, uneven: why a membrane does not hold it, why batts cannot lie in a gap."""

    density_kg_m3: float
    kg_m2: float
    bags_m2: float
    chambers: int
    voids: tuple[VoidVerdict, ...]
    membrane: str | None
    uneven: str | None
    taken_for_blown: tuple[int, ...]  # layers of a kind that nobody stated
    caution: ClassVar[str] = fill.CAUTION

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it can't be filled."""
        every = [each.reason for each in self.voids] + [self.membrane, self.uneven]
        return tuple(each for each in every if each)

    def as_json(self) -> dict[str, Any]:
        record = asdict(self)
        record["voids"] = [asdict(each) | {"layers": list(each.layers)} for each in self.voids]
        record["taken_for_blown"] = list(self.taken_for_blown)
        return record | {"caution": self.caution}


def judge_fill(one: OneWall, demand: FillDemand) -> FillVerdict | NotJudged:
    """Judge one wall; why not where nothing is blown in or a density is not known."""
    wall = one.wall
    voids, uneven = voids_of(wall, one.parts, one.batch), _uneven(wall)
    if not voids and uneven is None:
        return NotJudged("nothing in this wall is blown in")
    unknown = [number + 1 for void in voids for number in void.layers if void.density <= 0]
    if unknown:
        return NotJudged(f"no density is known of layer {unknown[0]} ({wall.layers[unknown[0] - 1].role})")
    amounts = needs(voids, height(wall.loads) if wall.loads else USUAL_HEIGHT, demand)
    membrane = _membrane(wall, voids)
    verdict = FillVerdict(
        passes=bool(amounts.passes.all()) and membrane is None and uneven is None,
        density_kg_m3=float(amounts.density.max(initial=0.0)),
        kg_m2=float(amounts.kg_m2.sum()),
        bags_m2=float(amounts.bags_m2.sum()),
        chambers=int(amounts.chambers.max(initial=0)),
        voids=tuple(
            VoidVerdict(
                tuple(number + 1 for number in void.layers),
                void.depth * 1000,
                float(amounts.density[at]),
                float(amounts.kg_m2[at]),
                int(amounts.chambers[at]),
                amounts.reason(at),
            )
            for at, void in enumerate(voids)
        ),
        membrane=membrane,
        uneven=uneven,
        taken_for_blown=tuple(
            number + 1 for void in voids for number in void.layers if wall.of(wall.layers[number].material).kind is None
        ),
    )
    if verdict.taken_for_blown and not verdict.passes:  # only what is known to be blown in can fail
        layer = verdict.taken_for_blown[0]
        return NotJudged(f"kind of layer {layer} not stated; as a loose fill: {verdict.reasons[0]}")
    return verdict


def _uneven(wall: BuildUp) -> str | None:
    """Why batts cannot lie in a gap; None where they can, or there are none."""
    for number, layer in enumerate(wall.layers, 1):
        if not fill.laid_evenly(wall.of(layer.material).kind == "batt", layer.tie is not None):
            place = f"layer {number} ({layer.role})"
            return f"{place}: tie plates make the void uneven for batts; blow it in, or leave the ties out"
    return None


def _membrane(wall: BuildUp, voids: list[Void]) -> str | None:
    """Why the membrane inside of a blown void does not hold it; None where it does, or nothing presses on one."""
    for void in voids:
        number = void.layers[-1] + 1
        if number + 1 >= len(wall.layers):
            continue
        span = wall.of(wall.layers[number].material).blown_support_mm
        battens = wall.layers[number + 1].frame
        if span is None or battens is None or not battens.spacing_mm:
            continue
        if not fill.membrane_holds(battens.spacing_mm / 1000, span / 1000):
            return f"battens at {battens.spacing_mm:g} mm behind a membrane that holds blowing at {span:g} mm or less"
    return None
