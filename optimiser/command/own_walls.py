"""Walls of one's own in the command: held to a brief, solved by conduction, handed over. Heavy imports in functions."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from materials.errors import InputError

from .searching import NO, YES, naming

if TYPE_CHECKING:
    from materials.catalogue import Catalogue

    from ..brief.brief import Brief
    from ..checks.judge import Judged
    from ..conduction.figures import NumericFigures, Unsolved
    from ..handover.own_wall import OwnWall
    from ..wall.buildup import BuildUp
    from ..wall.pricing import Pricing


@dataclass(frozen=True)
class Held:
    """A build-up file with the brief that it is held to, if any: the wall is as that judges it."""

    wall: BuildUp
    catalogue: Catalogue
    brief: Brief | None = None
    pricing: Pricing | None = None
    digests: dict[str, str] | None = None

    def judged(self) -> Judged:
        from ..brief.as_judged import judge_by
        from ..checks.judge import judge

        return judge(self.wall) if self.brief is None else judge_by(self.brief, self.wall, self.pricing, self.catalogue)


def held(buildup: Path, brief: Path | None) -> Held:
    """Read a build-up file, and the brief that judges it. InputError names the file that cannot be used."""
    from ..brief.as_judged import as_judged
    from ..brief.brief import read_brief
    from ..brief.own_materials import catalogue_of
    from ..brief.price_lists import pricing_of
    from ..wall.buildup import read_buildup

    if brief is None:
        catalogue = catalogue_of(None)
        return Held(read_buildup(buildup, catalogue), catalogue)
    with naming(brief):
        asked = read_brief(brief)
        catalogue = catalogue_of(asked)
        pricing, digests = pricing_of(asked, brief.parent, catalogue)
    wall = read_buildup(buildup, catalogue)
    with naming(buildup):
        wall = as_judged(wall, asked, pricing, catalogue)
    return Held(wall, catalogue, asked, pricing, digests)


def failures(judged: Judged, brief: Brief | None) -> tuple[list[str], list[str]]:
    """The checks that a wall fails: those that count, and those that the brief leaves off."""
    failed = judged.verdicts.failed
    off = [name for name in failed if brief is not None and not getattr(brief.checks, name, True)]
    return [name for name in failed if name not in off], off


def by_brief(judged: Judged, brief: Brief) -> dict[str, Any]:
    """The object `brief` of `check --json`: the target, whether the wall meets it, floor area lost, checks left off."""
    from ..search.study import area_lost

    return {
        "name": brief.name,
        "target": brief.target.u_value,
        "meets_target": None if judged.heat.refused else bool(judged.u_value <= brief.target.u_value),
        "floor_area_lost_m2": area_lost(brief, judged.thickness_mm) if judged.wall.element == "wall" else None,
        "not_asked": failures(judged, brief)[1],
    }


def by_brief_words(judged: Judged, brief: Brief) -> str:
    """The same in a line."""
    told = by_brief(judged, brief)
    if told["meets_target"] is None:
        words = f"target {told['target']:g} W/m2K: not held to it, the combined method does not apply"
    else:
        verb = "meets" if told["meets_target"] else "misses"
        words = f"{verb} the target of {told['target']:g} W/m2K with U {judged.u_value:.4f}"
    lost = told["floor_area_lost_m2"]
    return f"by {brief.name}: {words}" + ("" if lost is None else f"; floor area lost {lost:.2f} m2")


def prove_own(buildup: Path, brief: Path | None, tolerance: float | None, as_json: bool) -> int:
    """Solve one wall by conduction and say whether it meets the brief's target. Returns the exit code.

    tolerance: largest error of U, as a share; the brief's [numeric] where it is None.
    """
    from ..conduction.breaks import TOLERANCE
    from ..conduction.figures import Unsolved, numeric_figures

    own = held(buildup, brief)
    if tolerance is None:
        tolerance = TOLERANCE if own.brief is None else own.brief.numeric.tolerance
    with naming(buildup):
        try:
            figures: NumericFigures | Unsolved = numeric_figures(own.wall, own.brief, own.catalogue, tolerance)
        except InputError as error:
            figures = Unsolved(str(error))
    solved = not isinstance(figures, Unsolved)
    target = None if own.brief is None else own.brief.target.u_value
    meets = _meets(figures, target) if solved and target is not None else None
    if as_json:
        told = {"name": own.wall.name, "target": target, "meets_target": meets, "tolerance": tolerance}
        print(json.dumps(told | {"numeric": figures.as_json()}, ensure_ascii=False, allow_nan=False))
    else:
        _print_proof(own.wall.name, figures, target, meets)
    if not solved:
        print(f"{buildup}: {figures.reason}", file=sys.stderr)
    return NO if not solved or (target is not None and not meets) else YES


def _meets(figures: NumericFigures, target: float) -> bool | None:
    """Whether the solved U meets a target; None where the target lies within its error."""
    heat = figures.heat
    if heat.u_value + heat.u_error <= target:
        return True
    return False if heat.u_value - heat.u_error > target else None


def _print_proof(name: str, figures: NumericFigures | Unsolved, target: float | None, meets: bool | None) -> None:
    from rich.console import Console
    from rich.markup import escape

    from ..conduction.figures import Unsolved
    from . import printing_numeric

    console = Console(soft_wrap=True)
    console.print(f"[bold]{escape(name)}[/bold]")
    if isinstance(figures, Unsolved):
        printing_numeric.unsolved(console, figures)
        return
    printing_numeric.numeric(console, figures)
    if target is None:
        console.print("held to no target: --brief BRIEF.toml names one")
        return
    said = {True: "meets", False: "misses", None: "cannot be told from"}[meets]
    console.print(f"{said} the target of {target:g} W/m2K, solved to {figures.heat.u_error:.5f} W/m2K")


def own_wall(buildup: Path, brief: Path | None, out: Path) -> OwnWall:
    """A wall of one's own to be handed over. InputError without a brief, or where its file would be written over."""
    from ..handover.own_wall import OwnWall

    if brief is None:
        raise InputError(
            f"{buildup}: a build-up file is handed over under a brief, which has its house, its target and its lists; "
            "expected --brief BRIEF.toml"
        )
    own = held(buildup, brief)
    handed = OwnWall(buildup.stem, own.wall, own.brief, own.pricing, own.catalogue, own.digests or {})
    place = out / f"{handed.wall_id}.toml"
    if place.exists() and place.samefile(buildup):
        raise InputError(f"{out}: the build-up {buildup.name} itself stands there; expected another folder for --out")
    return handed
