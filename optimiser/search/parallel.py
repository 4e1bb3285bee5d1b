"""The complete search shared out over processes: each settles its share of the space, the fronts are joined."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from typing import Any

import numpy as np

from ..batch import Index
from ..space.choices import Choices
from ..space.judgements import judgements
from . import bounds
from .complete import Complete
from .tally import Settled, Tally
from .warmth import Unsafe

LOOK = 0.2  # s between looks at the workers

_BOARD: Any = None  # in a worker: shared array, (settled share, front size, evaluated) of every worker, then "stop"


def complete(
    choices: Choices,
    target: float,
    seeds: Index | None = None,
    workers: int = 1,
    stop: Callable[[], bool] = lambda: False,
) -> Iterator[tuple[Settled, Complete]]:
    """Run the complete search with the brief's judgements in one process or several.

    Yields where it stands and the search that holds the result.
    `stop` is asked now and then; a stopped search holds what it has found. The result does not depend on `workers`.
    """
    search = Complete(choices, target, seeds, judgements(choices))
    if workers <= 1:
        for standing in search.run():
            yield standing, search
            if stop():
                return
        return
    try:
        yield from _shared(search, seeds, workers, stop)
    except Unsafe:  # all workers must do without dominance, or none
        search = Complete(choices, target, seeds, judgements(choices), guarded=True)
        yield from _shared(search, seeds, workers, stop)


def _shared(
    search: Complete, seeds: Index | None, workers: int, stop: Callable[[], bool]
) -> Iterator[tuple[Settled, Complete]]:
    context = multiprocessing.get_context("spawn")
    board = context.Array("d", [0.0] * (3 * workers + 1), lock=False)
    started = time.monotonic()
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_pin, initargs=(board,)) as pool:
        task = (search.choices, search.target, seeds, search.guarded)
        futures = {pool.submit(_share, task, (number, workers)) for number in range(workers)}
        results = []
        while futures:
            done, futures = wait(futures, LOOK, FIRST_COMPLETED)
            results += [each.result() for each in done]
            if stop():
                board[3 * workers] = 1.0
            shares = np.array(board[: 3 * workers]).reshape(workers, 3)
            seconds = time.monotonic() - started
            yield (
                Settled(shares[:, 0].sum(), int(shares[:, 1].max()), int(shares[:, 2].sum()), seconds, None),
                search,
            )
    tally = Tally(ruled_out=dict.fromkeys(search.tally.ruled_out, 0))
    x, steps = [search.x], [search.steps]
    for rows, scores, part, guarded in results:
        if guarded and not search.guarded:
            raise Unsafe
        x.append(rows)
        steps.append(scores)
        tally = tally.merged(part)
    rows, first = np.unique(np.concatenate(x), axis=0, return_index=True)
    scores = np.concatenate(steps)[first]
    alive = bounds.undominated(scores)
    search.x, search.steps, search.tally = rows[alive], scores[alive], tally
    size = len(np.unique(search.steps, axis=0))
    share = tally.settled / search.size if search.size else 1.0
    yield Settled(share, size, tally.evaluated, time.monotonic() - started, None), search


def _pin(board: Any) -> None:
    global _BOARD
    _BOARD = board


def _share(task: tuple, share: tuple[int, int]) -> tuple[Index, np.ndarray, Tally, bool]:
    """One worker's share of the space."""
    choices, target, seeds, guarded = task
    search = Complete(choices, target, seeds, judgements(choices), share, guarded)
    number, workers = share
    for standing in search.run():
        _BOARD[3 * number : 3 * number + 3] = [standing.share, standing.front_size, standing.evaluated]
        if _BOARD[3 * workers]:
            break
    return search.x, search.steps, search.tally, search.guarded
