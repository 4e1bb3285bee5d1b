"""The front proven: conduction through every wall of a study solved (ISO 10211), each with a guaranteed error.

Every wall is solved in as many dimensions as its members need; what walls share (plates, clear bays) is solved once in
each process. A wall's figures depend on that wall alone, so they are the same whatever the number of processes.
"""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from materials.errors import InputError

from ..brief.brief import Brief
from ..conduction.numeric_demand import Uncertainty
from ..conduction.u_value import numeric_u
from ..conduction.uncertainty import chances
from ..wall.buildup import BuildUp
from . import files
from .processes import deaf_to_interrupts
from .study import COLUMNS_PROVEN, Study, identity, open_study, to_csv

TOGETHER = 6  # walls that a process is given at a time
LOOK = 0.2  # s between looks at the processes
THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")

Watch = Callable[[int, int], None]  # walls solved, walls in all


@dataclass(frozen=True)
class Proven:
    """U of one wall by conduction and its error at most [W/m2K]; or why it cannot be solved."""

    u_value: float | None
    u_error: float | None
    reason: str | None = None


def prove_front(
    walls: Sequence[BuildUp],
    tolerance: float = 0.001,
    workers: int = 2,
    watch: Watch | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> list[Proven] | None:
    """Solve walls to a relative tolerance, in the order given; None where it was stopped on the way.

    workers: processes; with one, this one. The figures do not depend on it.
    """
    proofs: list[Proven | None] = [None] * len(walls)
    done = 0
    for start, part in _parts(walls, tolerance, workers, stop):
        proofs[start : start + len(part)] = part
        done += len(part)
        if watch is not None and part:
            watch(done, len(walls))
        if stop():
            return None
    return proofs


def _parts(walls, tolerance: float, workers: int, stop) -> Iterator[tuple[int, list[Proven]]]:
    """Runs of walls as they are solved: (where the run starts, its figures); empty ones while waiting."""
    if workers <= 1 or len(walls) <= TOGETHER:
        for number, wall in enumerate(walls):
            yield number, [solved(wall, tolerance)]
        return
    tasks = [(start, walls[start : start + TOGETHER], tolerance) for start in range(0, len(walls), TOGETHER)]
    context = multiprocessing.get_context("spawn")
    flag = context.Value("b", 0, lock=False)
    how = {"mp_context": context, "initializer": _pin, "initargs": (flag,)}
    with one_thread_each(), ProcessPoolExecutor(min(workers, len(tasks)), **how) as pool:
        with deaf_to_interrupts():
            futures = {pool.submit(_solved, task) for task in tasks}
        try:
            while futures:
                done, futures = wait(futures, LOOK, FIRST_COMPLETED)
                for each in done:
                    yield each.result()
                if not done:
                    yield 0, []
        finally:
            flag.value = 1
            for each in futures:
                each.cancel()


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Processes started meanwhile calculate in one thread each: several would wait for one another."""
    before = {key: os.environ.get(key) for key in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for key, value in before.items():
            if value is None:
                os.environ.pop(key, None)
            else:
                os.environ[key] = value


_FLAG: Any = None  # in a worker: raised when nobody waits for its walls any more


def _pin(flag: Any) -> None:
    global _FLAG
    _FLAG = flag


def _solved(task: tuple[int, Sequence[BuildUp], float]) -> tuple[int, list[Proven]]:
    start, walls, tolerance = task
    return start, [solved(each, tolerance) for each in walls if not _FLAG.value]


def solved(wall: BuildUp, tolerance: float) -> Proven:
    """One wall, or why it cannot be solved."""
    try:
        return Proven(*numeric_u(wall, tolerance=tolerance))
    except InputError as error:
        return Proven(None, None, str(error).removeprefix(f"{wall.name}: "))


# -- a study --------------------------------------------------------------------------------------------------


def proven(study: Study) -> bool:
    """Whether every wall of the front was solved, or found to have no cell."""
    return isinstance(study.summary.get("numeric"), dict)


def misses(row: dict[str, Any]) -> bool:
    """Whether the lower limit of a row's U by conduction misses its target."""
    return row.get("u_numeric") is not None and row["u_numeric"] - row["u_numeric_error"] > row["target"]


def meets(row: dict[str, Any]) -> bool:
    """Whether the upper limit of a row's U by conduction holds its target."""
    return row.get("u_numeric") is not None and row["u_numeric"] + row["u_numeric_error"] <= row["target"]


def undecided(rows: Sequence[dict[str, Any]]) -> list[str]:
    """Ids of the solved walls whose target lies between the limits of their U by conduction."""
    return [row["id"] for row in rows if row["u_numeric"] is not None and not meets(row) and not misses(row)]


def flagged(rows: Sequence[dict[str, Any]]) -> list[str]:
    """Ids of the walls whose numerical U misses the target by more than its error."""
    return [row["id"] for row in rows if misses(row)]


def prove_study(
    folder: Path,
    tolerance: float | None = None,
    workers: int | None = None,
    watch: Watch | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> dict[str, Any] | None:
    """Solve the front of a study and write it into the study; returns `numeric` of its study.json, None when stopped.

    tolerance, workers: those of the brief's [numeric] where they are None. `front.csv` gets u_numeric, u_numeric_error
    and the chance of meeting the target; study.json the object numeric. Each file is replaced whole, so that a killed
    process leaves a study that can be read.
    """
    folder, started = Path(folder), time.monotonic()
    study = open_study(folder)
    before = identity(folder)
    demand = study.brief.numeric
    tolerance = demand.tolerance if tolerance is None else tolerance
    walls = [study.buildup(row["id"]) for row in study.rows]
    proofs = prove_front(walls, tolerance, demand.workers if workers is None else workers, watch, stop)
    if proofs is None:
        return None
    rows = with_figures(study.rows, walls, proofs, study.brief)
    if identity(folder) != before:
        raise InputError(f"{folder}: the study was replaced meanwhile; prove it again")
    summary = {
        "tolerance": tolerance,
        "seconds": round(time.monotonic() - started, 3),
        "flagged": flagged(rows),
        "undecided": undecided(rows),
        "unsolved": {row["id"]: each.reason for row, each in zip(rows, proofs, strict=True) if each.reason is not None},
    }
    try:
        files.write_text(folder / "front.csv", to_csv(rows))
        files.write_json(folder / files.MARK, study.summary | {"numeric": summary})
    except OSError as error:
        raise InputError(f"{folder}: cannot be written ({error.strerror or error})") from None
    return summary


def with_figures(
    rows: Sequence[dict[str, Any]], walls: Sequence[BuildUp], proofs: Sequence[Proven], brief: Brief
) -> list[dict[str, Any]]:
    """Rows of a front with what was found of their walls, and the chance of meeting the target."""
    ranges: Uncertainty = brief.uncertainty
    values = [each.u_value for each in proofs]
    chance = chances(walls, [row["target"] for row in rows], values, ranges, brief.seed.value)
    return [
        row | dict(zip(COLUMNS_PROVEN, (each.u_value, each.u_error, float(share)), strict=True))
        for row, each, share in zip(rows, proofs, chance, strict=True)
    ]
