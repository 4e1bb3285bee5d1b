"""Comparisons of suppliers as the explorer keeps them: found in a process apart, read from the study, shared by all."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import Any

from materials.errors import InputError
from optimiser.market.break_even_study import stored_break_evens
from optimiser.market.suppliers import SupplierFronts, stored_fronts
from optimiser.market.suppliers_worker import FRONTS, PARTS, USUAL, Comparison, Comparisons
from optimiser.market.swaps import Swap, swaps
from optimiser.search import files

from ..rows.choose import by_id
from ..source import FrontSource

OF_THE_STUDY = "study"  # what the comparison of the opened study is called; those of runs have the run's name
LEVERS = PARTS[1:]
WALLS_KEPT = 64
STUDIES_KEPT = 8
SURE_FROM = 16  # a pace is told once a sixteenth is done
STILL_SEARCHED = "the front is still being searched; its suppliers can be compared when it has settled"
NO_FRONT = "there is no front to compare suppliers for"


@dataclass(frozen=True)
class Compared:
    """What is kept with a study for one target. stamp: changes whenever any of it does."""

    stamp: str
    fronts: SupplierFronts | None = None
    prices: dict[str, list[dict[str, Any]]] = field(default_factory=dict)  # lever -> break-even values, where found

    def lacks(self, parts: Sequence[str]) -> bool:
        """Whether one of some parts of a comparison is not there."""
        return any(self.fronts is None if each == FRONTS else each not in self.prices for each in parts)


class Comparing:
    """Starts, follows and reads comparisons of the fronts of one explorer."""

    def __init__(self, home: Path) -> None:
        self.jobs = Comparisons(home)
        self._lock = Lock()
        self._began: dict[str, tuple[str, int, float]] = {}  # part under way, done and time when it was first seen so
        self._compared: dict[object, Compared] = {}
        self._swaps: dict[object, list[Swap]] = {}

    def state(self, source: FrontSource) -> Comparison:
        """Where the comparison of a front stands."""
        return self.jobs.state(_name(source))

    def left(self, source: FrontSource, state: Comparison, now: float | None = None) -> float | None:
        """About how long the part under way takes yet [s], by its pace since it was first looked at; None before it is
        known. now: seconds of a steady clock."""
        now, name = time.monotonic() if now is None else now, _name(source)
        with self._lock:
            part, done, since = self._began.get(name, ("", 0, now))
            if not state.alive or part != state.part or state.done < done:
                self._began[name] = (state.part if state.alive else "", state.done, now)
                return None
        if state.done - done < max(1, state.total // SURE_FROM) or now <= since:
            return None
        return (state.total - state.done) * (now - since) / (state.done - done)

    def start(self, source: FrontSource, target: float | None, parts: Sequence[str] = USUAL) -> None:
        """Begin to compare; InputError while the front is still being searched, or where there is none."""
        if source.alive:
            raise InputError(STILL_SEARCHED)
        if source.study is None or not source.rows:
            raise InputError(NO_FRONT)
        with self._lock:  # of two readers who ask at once, one starts it and both follow it
            self.jobs.start(_name(source), source.study.folder, _target(source, target), parts)

    def cancel(self, source: FrontSource) -> None:
        """Stop comparing; what is finished is kept."""
        self.jobs.cancel(_name(source))

    def compared(self, source: FrontSource, target: float | None) -> Compared:
        """What is kept for a target of a front; nothing of a study that has changed since."""
        study = source.study
        if study is None or source.alive:
            return Compared("")
        key = (str(study.folder), _stamp(study.folder), _target(source, target))
        with self._lock:
            if key in self._compared:
                return self._compared[key]
        asked = key[2]
        prices = {lever: stored_break_evens(study, asked, lever) for lever in LEVERS}
        known = {lever: values for lever, values in prices.items() if values is not None}
        value = Compared(str(key), stored_fronts(study, asked), known)
        return self._keep(self._compared, key, value, STUDIES_KEPT)

    def swaps(self, source: FrontSource, wall: str | None) -> list[Swap]:
        """A wall of a front with each product swapped for each rival; none where there is no such wall."""
        study = source.study
        if study is None or by_id(source.rows, wall) is None:
            return []
        key = (str(study.folder), _stamp(study.folder)[0], wall)
        with self._lock:
            if key in self._swaps:
                return self._swaps[key]
        return self._keep(self._swaps, key, swaps(study, wall), WALLS_KEPT)

    def _keep(self, held: dict, key: object, value: Any, most: int) -> Any:
        with self._lock:
            held[key] = value
            while len(held) > most:
                del held[next(iter(held))]
        return value


def _name(source: FrontSource) -> str:
    return source.run or OF_THE_STUDY


def _target(source: FrontSource, target: float | None) -> float:
    return target if target is not None else source.study.brief.target.u_value


def _stamp(folder: Path) -> tuple[int, int]:
    """Changes with the study, and with what is kept beside it."""
    return tuple(_written(folder / name) for name in (files.MARK, files.SUPPLIERS))


def _written(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
