"""The complete search shared out over processes: each settles its share of the space, the fronts are joined."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from typing import Any

import numpy as np

from ..batch import Array, Index
from ..space.choices import Choices
from ..space.judgements import judgements
from ..stopping import NO_STOP, Stopped, stepwise, stoppable
from . import bounds
from .complete import Complete
from .processes import deaf_to_interrupts
from .tally import Settled, Tally, share_of
from .warmth import Unsafe

LOOK = 0.1  # s between looks at the workers
STATE, BEGUN, BOUNDED = 3, 1, 2  # where its state stands in a worker's line, and what it may be besides 0: not begun

_BOARD: Any = None  # in a worker: shared array, a line for every worker (`_line`), then "stop"


def complete(
    choices: Choices,
    target: float,
    seeds: Index | None = None,
    workers: int = 1,
    stop: Callable[[], bool] = NO_STOP,
) -> Iterator[tuple[Settled, Complete]]:
    """Run the complete search with the brief's judgements in one process or several.

    Yields where it stands and the search that holds the result, at least once.
    `stop` is asked all along; a stopped search holds what it has found. The result does not depend on `workers`.
    """
    search = Complete(choices, target, seeds, judgements(choices))
    if workers <= 1:
        for standing in stepwise(search.run(), stop):
            yield standing, search
            if stop():
                return
        return
    try:
        yield from _shared(search, seeds, workers, stop)
    except Unsafe:  # all workers must do without dominance, or none
        again = Complete(choices, target, seeds, judgements(choices), guarded=True)
        again.x, again.steps = search.x, search.steps
        yield from _shared(again, seeds, workers, stop)


def _shared(
    search: Complete, seeds: Index | None, workers: int, stop: Callable[[], bool]
) -> Iterator[tuple[Settled, Complete]]:
    context = multiprocessing.get_context("spawn")
    width = len(_line(search, 0.0, 0, 0))
    board = context.Array("d", width * workers + 1, lock=False)
    started, task = time.monotonic(), (search.choices, search.target, seeds, search.guarded)
    try:
        with stoppable(stop):
            search.begin()
    except Stopped:
        yield Settled(0.0, len(np.unique(search.steps, axis=0)), 0, time.monotonic() - started, None), search
        return
    results, others = [], set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_pin, initargs=(board,))
    try:
        with deaf_to_interrupts():
            futures = {pool.submit(_share, task, (number, workers)): number for number in range(workers)}
        lines = np.zeros((workers, width))
        while futures and not (board[-1] and all(lines[number, STATE] == 0 for number in futures.values())):
            for each in wait(futures, LOOK, FIRST_COMPLETED).done:
                results.append(each.result())
                del futures[each]
            if stop():
                board[-1] = 1.0
            lines = np.array(board[:-1]).reshape(workers, width)
            share, still = share_of(lines[:, 0].sum(), 1), search.still(_bound(lines))
            seconds = time.monotonic() - started
            yield Settled(share, int(lines[:, 1].max()), int(lines[:, 2].sum()), seconds, still), search
    finally:
        board[-1] = 1.0  # whoever listens here no more must not wait for the workers' end
        pool.shutdown(wait=False, cancel_futures=True)
        if futures:  # those that never began: starting takes longer than a stop may
            for each in set(multiprocessing.active_children()) - others:
                each.terminate()
    _join(search, results)
    size = len(np.unique(search.steps, axis=0))
    share = share_of(search.tally.settled, search.size)
    still = search.still(_bound(np.array(board[:-1]).reshape(workers, width))) if share < 1.0 else None
    yield Settled(share, size, search.tally.evaluated, time.monotonic() - started, still), search


def _join(search: Complete, results: list[tuple[Index, np.ndarray, Tally, bool]]) -> None:
    """Put what the workers found and how they accounted for their shares into a search; Unsafe where one says so."""
    tally = Tally(ruled_out=dict.fromkeys(search.tally.ruled_out, 0))
    x, steps = [search.x], [search.steps]
    for rows, scores, part, _ in results:
        x.append(rows)
        steps.append(scores)
        tally = tally.merged(part)
    rows, first = np.unique(np.concatenate(x), axis=0, return_index=True)
    scores = np.concatenate(steps)[first]
    alive = bounds.undominated(scores)
    search.x, search.steps = rows[alive], scores[alive]
    if any(guarded for *_, guarded in results) and not search.guarded:
        raise Unsafe
    search.tally = tally


def _line(search: Complete, share: float, front_size: int, evaluated: int) -> list[float]:
    """Where a worker stands: settled share, front size, evaluated, its state, and the bound (k,) where it knows one."""
    bound = search.bound()
    least = [0.0] * len(search.follow.keys) if bound is None else bound.tolist()
    return [share, front_size, evaluated, float(BEGUN if bound is None else BOUNDED), *least]


def _bound(lines: Array) -> Array | None:
    """(k,) the least figures that are open anywhere; None where a worker does not know yet."""
    return lines[:, STATE + 1 :].min(axis=0) if (lines[:, STATE] == BOUNDED).all() else None


def _pin(board: Any) -> None:
    global _BOARD
    _BOARD = board


def _share(task: tuple, share: tuple[int, int]) -> tuple[Index, np.ndarray, Tally, bool]:
    """One worker's share of the space."""
    choices, target, seeds, guarded = task
    search = Complete(choices, target, seeds, judgements(choices), share, guarded)
    number, _ = share
    _BOARD[len(_line(search, 0.0, 0, 0)) * number + STATE] = BEGUN
    for standing in stepwise(search.run(), lambda: bool(_BOARD[-1])):
        line = _line(search, standing.share, standing.front_size, standing.evaluated)
        _BOARD[len(line) * number : len(line) * (number + 1)] = line
        if _BOARD[-1]:
            break
    return search.x, search.steps, search.tally, search.guarded
