"""Whose products make the better wall: the front without each supplier, and with one alone in a category.

Each is a complete search of its own over the options that are left; the walls of the full front that are still possible
are known from the start. What the brief holds to one product stays (`cases.py`).
"""

from __future__ import annotations

import hashlib
import multiprocessing
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from materials.errors import InputError

from ..batch import Index
from ..search import files, front
from ..search.complete import Complete
from ..search.processes import deaf_to_interrupts
from ..search.records import checked
from ..search.shortfall import nothing_builds
from ..search.study import Study, identity
from ..space.buildable import space_size
from ..space.choices import Choices
from ..space.evaluate import evaluate
from ..space.judgements import judgements
from ..space.walls import in_short
from ..stopping import stepwise
from ..wall.scores import STEPS
from .cases import Between, SupplierCase, cases, left_of
from .losses import Losses, losses
from .stored import SuppliersRecord
from .swaps import choices_of, rows_of

FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2", "u_value")
NO_WALL = "no wall is left that meets the target, the limits and the checks"
VERSION = 1
LOOK = 0.2  # s between looks at the workers
Watch = Callable[[int, int, str], None]


@dataclass(frozen=True)
class SupplierFront:
    """The answer: the complete front of what is left, or the reason why there is none.

    walls: columns of the front, thinnest first: `id` of the full front's wall with the same figures ("" where there is
    none), the figures, `in_short` and `row`, its choices by their numbers in the whole study. share: of the walls that
    could be built that is settled, 1 when the front is proven complete. exempt: products that stay though not of this
    supplier, or though of the one left out, because the brief holds their place to them.
    """

    case: SupplierCase
    reason: str | None = None
    exempt: tuple[str, ...] = ()
    walls: dict[str, list] = field(default_factory=dict)
    losses: Losses | None = None
    space_size: int = 0
    share: float = 1.0
    seconds: float = 0.0

    def __len__(self) -> int:
        return len(self.walls.get("id", ()))

    def as_json(self) -> dict[str, Any]:
        fields = {key: getattr(self, key) for key in ("reason", "walls", "space_size", "share", "seconds")}
        if self.walls:
            fields["walls"] = self.walls | {"row": [" ".join(map(str, each)) for each in self.walls["row"]]}
        lost = self.losses and self.losses.as_json()
        return asdict(self.case) | fields | {"kept": list(self.exempt), "losses": lost}

    @classmethod
    def from_json(cls, value: dict[str, Any]) -> SupplierFront:
        rest = {key: value[key] for key in ("reason", "walls", "space_size", "share", "seconds")}
        if rest["walls"]:
            row = [[int(each) for each in text.split()] for text in rest["walls"]["row"]]
            rest["walls"] = rest["walls"] | {"row": row}
        lost = value["losses"] and Losses.from_json(value["losses"])
        return cls(SupplierCase(value["supplier"], value["category"]), losses=lost, exempt=tuple(value["kept"]), **rest)


@dataclass(frozen=True)
class SupplierFronts:
    """Every case of a study's target; `complete`: the full front that they are compared with is proven."""

    target: float
    objectives: tuple[str, ...]
    walls: int
    complete: bool
    fronts: tuple[SupplierFront, ...]
    seconds: float
    stopped: bool = False

    @property
    def without(self) -> list[SupplierFront]:
        return [each for each in self.fronts if each.case.category is None]

    def alone(self, category: str) -> list[SupplierFront]:
        return [each for each in self.fronts if each.case.category == category]

    @property
    def categories(self) -> list[str]:
        return list(dict.fromkeys(each.case.category for each in self.fronts if each.case.category is not None))

    def as_json(self) -> dict[str, Any]:
        fields = {key: getattr(self, key) for key in ("target", "walls", "complete", "seconds", "stopped")}
        return fields | {"objectives": list(self.objectives), "fronts": [each.as_json() for each in self.fronts]}

    @classmethod
    def from_json(cls, value: dict[str, Any]) -> SupplierFronts:
        fronts = tuple(SupplierFront.from_json(each) for each in value["fronts"])
        return cls(**(value | {"objectives": tuple(value["objectives"]), "fronts": fronts}))


# -- the searches --------------------------------------------------------------------------------------------------


def supplier_fronts(
    study: Study,
    watch: Watch | None = None,
    stop: Callable[[], bool] = lambda: False,
    workers: int = 1,
    target: float | None = None,
) -> SupplierFronts:
    """Every case for a target of a study, by default its first; see `fronts_of`. InputError for a target without front.

    workers: processes that share the cases.
    """
    target = study.brief.target.u_value if target is None else target
    choices = choices_of(study)
    rows, x = rows_of(choices, study, target)
    if not rows:
        raise InputError(f"{study.folder}: no wall of the front was searched for U at most {target:g} W/m2K")
    proofs = {each["target"]: each["share"] for each in study.summary.get("proof", [])}
    names = [row["id"] for row in rows]
    return fronts_of(choices, x, target, names, proofs.get(target) == 1.0, watch, stop, workers)


def fronts_of(
    choices: Choices,
    x: Index,
    target: float,
    names: list[str],
    complete: bool = True,
    watch: Watch | None = None,
    stop: Callable[[], bool] = lambda: False,
    workers: int = 1,
) -> SupplierFronts:
    """The same for rows of choices that are the front, with what they are called; complete: whether that is proven.

    watch: called with how many cases are settled, of how many, and what comes next. Stopped, it holds what was settled
    until then; the result does not depend on `workers`.
    """
    started, asked, fronts = time.monotonic(), cases(choices), {}
    say = watch or (lambda done, total, words: None)
    say(0, len(asked), asked[0].words() if asked else "")
    for number, settled in _settled(choices, x, target, asked, stop, workers):
        fronts[number] = _supplier_front(choices, x, names, asked[number], settled)
        say(len(fronts), len(asked), asked[number].words())
    whole = len(fronts) == len(asked) and all(each.share == 1.0 for each in fronts.values())
    return SupplierFronts(
        target,
        choices.brief.objectives.minimise,
        len(x),
        complete,
        tuple(fronts[number] for number in sorted(fronts)),
        round(time.monotonic() - started, 3),
        stopped=not whole,
    )


@dataclass(frozen=True)
class _Settled:
    """What a search of one case came to; x: rows of the full choices, ties among them."""

    reason: str | None
    exempt: tuple[str, ...] = ()
    x: Index | None = None
    size: int = 0
    share: float = 1.0
    seconds: float = 0.0


def _settle(choices: Choices, x: Index, target: float, case: SupplierCase, stop: Callable[[], bool]) -> _Settled:
    """Search what a case leaves, to its end unless stopped."""
    started = time.monotonic()
    try:
        left, exempt = left_of(choices, case)
    except InputError as error:
        return _Settled(str(error))
    size = space_size(left)
    if size == 0:
        return _Settled(nothing_builds(left), exempt)
    between = Between(choices, left)
    search = Complete(left, target, between.to_left(x), judgements(left))
    share = 0.0
    for standing in stepwise(search.run(), stop):
        share = standing.share
        if stop():
            break
    rows = between.to_full(search.x)
    reason = NO_WALL if not len(rows) and share == 1.0 else None
    return _Settled(reason, exempt, rows, size, share, round(time.monotonic() - started, 3))


def _settled(
    choices: Choices, x: Index, target: float, asked: list[SupplierCase], stop: Callable[[], bool], workers: int
) -> Iterator[tuple[int, _Settled]]:
    """Settle cases, side by side where there are several workers: (number of the case, what it came to)."""
    if workers <= 1 or len(asked) <= 1:
        for number, case in enumerate(asked):
            if stop():
                return
            yield number, _settle(choices, x, target, case, stop)
        return
    context = multiprocessing.get_context("spawn")
    flag = context.Value("b", 0, lock=False)
    with ProcessPoolExecutor(min(workers, len(asked)), mp_context=context, initializer=_pin, initargs=(flag,)) as pool:
        with deaf_to_interrupts():
            open_cases = {pool.submit(_share, choices, x, target, case): number for number, case in enumerate(asked)}
        while open_cases:
            done, _ = wait(open_cases, LOOK, FIRST_COMPLETED)
            for each in done:
                number, settled = open_cases.pop(each), each.result()
                if settled is not None:
                    yield number, settled
            if stop():
                flag.value = 1


_FLAG: Any = None  # in a worker: raised when the searches are to stop


def _pin(flag: Any) -> None:
    global _FLAG
    _FLAG = flag


def _share(choices: Choices, x: Index, target: float, case: SupplierCase) -> _Settled | None:
    """One case in a worker; None when it was stopped before it began."""
    return None if _FLAG.value else _settle(choices, x, target, case, lambda: bool(_FLAG.value))


def _supplier_front(
    choices: Choices, x: Index, names: list[str], case: SupplierCase, settled: _Settled
) -> SupplierFront:
    keys = choices.brief.objectives.minimise
    full = evaluate(choices, x).steps(keys)
    if settled.x is None:
        return SupplierFront(case, settled.reason, settled.exempt)
    rows, steps, _ = front.distinct(settled.x, evaluate(choices, settled.x).steps(keys))
    called = {tuple(each): name for each, name in zip(full.tolist(), names, strict=True)}
    scores = evaluate(choices, rows)
    order = np.lexsort((scores.carbon_kgco2e_m2, scores.cost_per_m2, scores.thickness_mm))
    columns = dict.fromkeys((*FIGURES, *keys))
    walls = {"id": [called.get(tuple(each), "") for each in steps[order].tolist()]}
    walls |= {key: getattr(scores, key)[order].tolist() for key in columns}
    walls |= {"in_short": [in_short(choices, rows[at]) for at in order], "row": rows[order].tolist()}
    lost = losses(keys, full, steps, np.array([STEPS[key] for key in keys], float))
    return SupplierFront(
        case, settled.reason, settled.exempt, walls, lost, settled.size, settled.share, settled.seconds
    )


# -- beside the study ----------------------------------------------------------------------------------------------


def keep(study: Study, **parts: Any) -> None:
    """Keep JSON-able parts of a comparison in the study's `suppliers.json`, beside those that are there already.

    parts: `fronts` (by target, as text), `break_even`. InputError when the folder cannot be written.
    """
    value = _stored(study) | parts
    try:
        files.write_json(study.folder / files.SUPPLIERS, {"version": VERSION, "of": _digest(study)} | value)
    except OSError as error:
        raise InputError(f"{study.folder / files.SUPPLIERS}: cannot be written ({error.strerror or error})") from None


def stored_fronts(study: Study, target: float | None = None) -> SupplierFronts | None:
    """The comparison kept with a study for a target, by default its first; None where there is none of this front."""
    target = study.brief.target.u_value if target is None else target
    comparison = _stored(study).get("fronts", {}).get(repr(target))
    return None if comparison is None else SupplierFronts.from_json(comparison)


def keep_fronts(study: Study, comparison: SupplierFronts) -> None:
    """Keep a comparison with the study; one that was stopped is not worth keeping."""
    if not comparison.stopped:
        keep(study, fronts=_stored(study).get("fronts", {}) | {repr(comparison.target): comparison.as_json()})


def stored_part(study: Study, part: str) -> Any:
    """A part kept with the study; None where there is none of this front."""
    return _stored(study).get(part)


def _stored(study: Study) -> dict[str, Any]:
    place = study.folder / files.SUPPLIERS
    value = files.read_json(place)
    if not isinstance(value, dict) or value.get("version") != VERSION or value.get("of") != _digest(study):
        return {}
    checked(value, SuppliersRecord, place)
    return {key: each for key, each in value.items() if key not in ("version", "of")}


def _digest(study: Study) -> str:
    """What a comparison belongs to: brief, front and catalogue."""
    return hashlib.sha256((identity(study.folder) + study.catalogue.digest).encode()).hexdigest()
