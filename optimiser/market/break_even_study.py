"""Break-even values for a whole study: every product that is on no wall of its front."""

from __future__ import annotations

import json
import multiprocessing
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import asdict
from typing import Any

import numpy as np

from materials.errors import InputError, nearest
from materials.models import Product

from ..brief.price_lists import pricing_of
from ..search.processes import deaf_to_interrupts
from ..search.study import Study
from ..space.choices import Choices
from ..stopping import NO_STOP, Stopped
from ..wall.pricing import lapsed_words
from ..wall.scores import STEPS
from .break_even import BreakEven, Front, break_even, complete_front, on_front
from .levers import checked_lever, unit_of
from .suppliers import keep, stored_part

LOOK = 0.2  # s between looks at the workers
Watch = Callable[[int, int, BreakEven], None]

_AT_WORK: Any = None  # in a worker process: choices, target, front, and the board that says "stop"


def break_evens(
    study: Study,
    levers: Sequence[str] = ("price",),
    keys: Sequence[str] | None = None,
    watch: Watch | None = None,
    stop: Callable[[], bool] = NO_STOP,
    workers: int = 1,
    target: float | None = None,
) -> list[BreakEven]:
    """Break-even values of products against the study's front of one target, in the order of the lists.

    levers: of `levers.LEVERS`. keys: the products; all that are on no wall of the front where it is None, those that
    the brief does not buy among them. watch: told how many of how many are done, and the latest.
    target: U [W/m2K] of the front, the brief's first one where it is None. InputError for words that are none, and for
    a study whose front is not the complete one of its brief and lists. Stopped, it holds what was done.
    The result does not depend on `workers`.
    """
    levers = [checked_lever(each) for each in levers]
    choices = Choices(study.brief, study.catalogue, study.pricing)
    target = _target(study, target)
    absent = _not_offered(study)
    for key in keys or ():
        if key not in choices.pricing.products and key not in absent:
            raise InputError(f'product "{key}" is on no price list{nearest(key, choices.pricing.products)}')
    try:
        known = front_of_study(study, choices, target, stop, workers)
    except Stopped:
        return []
    wanted = [each for each in choices.pricing.products if keys is None or each in keys]
    if keys is None:
        held = on_front(choices, known)
        wanted = [each for each in wanted if each not in held]
    tasks = [(key, lever) for lever in levers for key in wanted]
    by_task = _all(choices, target, known, tasks, watch, stop, workers)
    values = [by_task[task] for task in tasks if task in by_task]
    others = [each for key, each in absent.items() if keys is None or key in keys]
    return values + [_absent(*each, lever) for lever in levers for each in others]


def front_of_study(
    study: Study, choices: Choices, target: float, stop: Callable[[], bool] = NO_STOP, workers: int = 1
) -> Front:
    """The study's front of a target with the rows of all its walls, found anew by the complete search.

    InputError where it is not the front that the study holds: its lists or the catalogue have changed, or it was never
    proven complete. Stopped when `stop` says so.
    """
    known = complete_front(choices, target, stop, workers)
    keys = study.brief.objectives.minimise
    rows = [row for row in study.rows if row["target"] == target]
    try:
        held = [[round(row[key] * STEPS[key]) for key in keys] for row in rows]
    except (KeyError, TypeError):
        raise InputError(f"{study.folder}: front.csv lacks figures of {', '.join(keys)}") from None
    if sorted(held) != sorted(known.vectors.tolist()):
        raise InputError(
            f"{study.folder}: front.csv is not the complete front of its brief and price lists (a search that was cut "
            "short, or lists that have changed); search again"
        )
    return known


def _target(study: Study, target: float | None) -> float:
    given = study.brief.target.all
    if target is None:
        return given[0]
    if target not in given:
        raise InputError(f"target {target:g}: the study's targets are {', '.join(f'{each:g}' for each in given)}")
    return target


def _not_offered(study: Study) -> dict[str, tuple[Product, str]]:
    """Products on the lists that the brief has no use of in any slot, by key, each with the reason."""
    prices, pricing = study.brief.prices, study.pricing
    absent = {key: (each, f"its {lapsed_words(each)}") for key, each in pricing.left_out.items()}
    if prices.suppliers is not None:
        every = study.brief.model_copy(update={"prices": prices.model_copy(update={"suppliers": None})})
        offered = pricing_of(every, study.folder, study.catalogue)[0].products.values()
        others = [each for each in offered if each.supplier not in prices.suppliers]
        absent |= {each.key: (each, f"the brief does not buy from {each.supplier}") for each in others}
    return absent


def _absent(product: Product, reason: str, lever: str) -> BreakEven:
    today = product.price if lever == "price" else None
    return BreakEven(product.key, product.name, product.supplier, lever, unit_of(lever, product), today, reason=reason)


def _all(
    choices: Choices,
    target: float,
    known: Front,
    tasks: list[tuple[str, str]],
    watch: Watch | None,
    stop: Callable[[], bool],
    workers: int,
) -> dict[tuple[str, str], BreakEven]:
    by_task: dict[tuple[str, str], BreakEven] = {}

    def done(task: tuple[str, str], latest: BreakEven) -> None:
        by_task[task] = latest
        if watch is not None:
            watch(len(by_task), len(tasks), latest)

    if workers <= 1:
        for key, lever in tasks:
            if stop():
                break
            try:
                done((key, lever), break_even(choices, target, known, key, lever, stop))
            except Stopped:
                break
        return by_task
    context = multiprocessing.get_context("spawn")
    board = context.Value("b", 0, lock=False)
    given = (choices, target, known.x, known.steps, board)
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_begin, initargs=given) as pool:
        with deaf_to_interrupts():
            futures = {pool.submit(_one, *task): task for task in tasks}
        waiting = set(futures)
        while waiting:
            ready, waiting = wait(waiting, LOOK, FIRST_COMPLETED)
            for each in ready:
                latest = each.result()
                if latest is not None:
                    done(futures[each], latest)
            if stop():
                board.value = 1
    return by_task


def _begin(choices: Choices, target: float, x: np.ndarray, steps: np.ndarray, board: Any) -> None:
    global _AT_WORK
    _AT_WORK = (choices, target, Front(x, steps), board)


def _one(key: str, lever: str) -> BreakEven | None:
    """One product in a worker; None when all is stopped."""
    choices, target, known, board = _AT_WORK
    try:
        return None if board.value else break_even(choices, target, known, key, lever, lambda: bool(board.value))
    except Stopped:
        return None


# -- kept with the study ------------------------------------------------------------------------------------------


def stored_break_evens(study: Study, target: float, lever: str) -> list[dict[str, Any]] | None:
    """Break-even values of one lever kept with a study for a target; None where there are none of this front."""
    return (stored_part(study, part_of(lever)) or {}).get(repr(target))


def keep_break_evens(study: Study, target: float, lever: str, values: Sequence[BreakEven]) -> None:
    """Keep break-even values of one lever with a study; InputError when its folder cannot be written."""
    before = stored_part(study, part_of(lever)) or {}
    keep(study, **{part_of(lever): before | {repr(target): plain(values)}})


def plain(values: Sequence[BreakEven]) -> list[dict[str, Any]]:
    """Break-even values as they are read back."""
    rows = [asdict(each) | {"change": each.change, "in_short": each.in_short} for each in values]
    return json.loads(json.dumps(rows))


def part_of(lever: str) -> str:
    """Where a lever's values stand in suppliers.json and in the command's JSON."""
    return "break_even" if lever == "price" else f"break_even_{lever}"
