"""The rows of a front rebuilt, many of them in processes beside this one: a wall at a time takes its time."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from ..space.choices import Choices
from .front_rows import Standing
from .rebuilt_row import rebuilt
from .refusal import Refusal

FEW = 100  # rows that are done before a process has started
TOGETHER = 20  # rows of a task
MOST_WORKERS = 4

_given: tuple[Path, Choices] | None = None  # in a worker: folder and choices of the study


@contextmanager
def rebuilding(folder: Path, choices: Choices, rows: list[Standing]) -> Iterator[Callable[[], list[Refusal]]]:
    """Start on the rows; yields what waits for them and tells what does not hold of them, in their order."""
    if len(rows) <= FEW:
        yield lambda: [each for row in rows for each in rebuilt(folder, choices, row.cells, row.x, row.target)]
        return
    workers = min(MOST_WORKERS, os.cpu_count() or 1)
    pool = ProcessPoolExecutor(
        workers, multiprocessing.get_context("spawn"), initializer=_begin, initargs=(folder, choices)
    )
    try:
        tasks = [pool.submit(_some, rows[at : at + TOGETHER]) for at in range(0, len(rows), TOGETHER)]
        yield lambda: [each for task in tasks for each in task.result()]
    finally:
        pool.shutdown(cancel_futures=True)


def _begin(folder: Path, choices: Choices) -> None:
    global _given
    _given = folder, choices


def _some(rows: list[Standing]) -> list[Refusal]:
    folder, choices = _given
    return [each for row in rows for each in rebuilt(folder, choices, row.cells, row.x, row.target)]
