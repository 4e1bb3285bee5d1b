"""Comparing the suppliers of a study in a process of its own: `python -m optimiser.market.suppliers_worker FOLDER`.

What it finds is kept with the study (`suppliers.json`). Where it stands is kept in a folder apart: request.json,
state.json, `cancel`, and a lock that the process holds as long as it lives. One process at a time compares a study.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from materials.errors import InputError

from ..search import files
from ..search.processes import start_worker
from ..search.records import StateRecord, checked

FRONTS = "fronts"
PARTS = (FRONTS, "price", "carbon", "conductivity")  # the fronts, and break-even values by lever
USUAL = (FRONTS, "price")
RUNNING = ("waiting", "running")
EVERY = 0.3  # s between reports
STARTING = 30.0  # s that a process may take to begin
CUT_OFF = "the comparison stopped without a word; what was finished before is kept"
CHANGED = "the study was changed while its suppliers were compared; compare again"


@dataclass(frozen=True)
class Comparison:
    """Where a comparison stands. status: none, waiting, running, done, cancelled or failed."""

    status: str = "none"
    message: str = ""
    target: float | None = None
    part: str = ""  # of PARTS
    done: int = 0
    total: int = 0
    words: str = ""  # what was settled last
    parts: tuple[str, ...] = field(default=USUAL)

    @property
    def alive(self) -> bool:
        return self.status in RUNNING


class Comparisons:
    """The comparisons of the studies of one explorer, each in a folder of its own."""

    def __init__(self, home: Path) -> None:
        self.home = Path(home).resolve()
        self._processes: dict[str, subprocess.Popen] = {}

    def start(self, name: str, study: Path, target: float, parts: Sequence[str] = USUAL) -> None:
        """Compare the suppliers of a study under a name, for one target [W/m2K]; nothing where one is under way.

        InputError for parts that are none.
        """
        unknown = [each for each in parts if each not in PARTS]
        if unknown or not parts:
            raise InputError(f"{', '.join(unknown) or 'nothing'} to compare; expected of {', '.join(PARTS)}")
        if self.state(name).alive:
            return
        folder = self.home / name
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "cancel").unlink(missing_ok=True)
        asked = {"study": str(Path(study).resolve()), "target": target, "parts": list(parts)}
        files.write_json(folder / "request.json", asked)
        files.write_json(folder / "state.json", {"status": "waiting", "since": time.time()} | asked)
        self._processes[name] = start_worker("optimiser.market.suppliers_worker", folder, home=self.home)

    def state(self, name: str) -> Comparison:
        """Where a comparison stands; one whose process died without a word counts as failed."""
        try:
            return self._state(name)
        except InputError as error:
            return Comparison("failed", str(error))

    def _state(self, name: str) -> Comparison:
        raw = self._raw(name)
        if raw is None:
            return Comparison()
        if raw["status"] in RUNNING and not self._alive(name, raw):
            raw = self._raw(name) or raw  # it may have ended between the two looks
            if raw["status"] in RUNNING:
                raw |= {"status": "failed", "message": CUT_OFF}
        known = {key: raw[key] for key in Comparison.__dataclass_fields__ if key in raw}
        return Comparison(**(known | {"parts": tuple(raw.get("parts", USUAL))}))

    def _raw(self, name: str) -> dict[str, Any] | None:
        place = self.home / name / "state.json"
        raw = files.read_json(place)
        return raw if raw is None else checked(raw, StateRecord, place)

    def cancel(self, name: str) -> None:
        """Ask a comparison to stop; what it finished is kept."""
        if self.state(name).alive:
            (self.home / name / "cancel").touch()

    def _alive(self, name: str, raw: dict[str, Any]) -> bool:
        process = self._processes.get(name)
        if process is not None and process.poll() is None:
            return True
        if "pid" not in raw:
            return process is None and time.time() - raw.get("since", 0.0) < STARTING
        return files.held(self.home / name / files.LOCK, raw["pid"])


class _Reporter:
    """Writes where a comparison stands, and tells whether it is to stop."""

    def __init__(self, folder: Path, asked: dict[str, Any]) -> None:
        self.folder, self.last = folder, 0.0
        self.progress: dict[str, Any] = {"target": asked["target"], "parts": asked["parts"], "pid": os.getpid()}

    def state(self, status: str, message: str = "") -> None:
        files.write_json(self.folder / "state.json", self.progress | {"status": status, "message": message})

    def watch(self, part: str, words: Callable[[Any], str] = str) -> Callable[[int, int, Any], None]:
        def look(done: int, total: int, latest: Any) -> None:
            self.progress |= {"part": part, "done": done, "total": total, "words": words(latest)}
            if time.monotonic() - self.last >= EVERY or done == total:
                self.state("running")
                self.last = time.monotonic()

        return look

    def begin(self, part: str) -> None:
        self.progress |= {"part": part, "done": 0, "total": 0, "words": ""}
        self.state("running")

    def cancelled(self) -> bool:
        return (self.folder / "cancel").exists()


def compare(
    folder: Path,
    target: float,
    parts: Sequence[str],
    begin: Callable[[str], None] = lambda part: None,
    watch: Callable[[str, Callable[[Any], str]], Callable[[int, int, Any], None]] | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> bool:
    """Find the parts that are not yet kept with a study, each kept as soon as it is found; False when stopped.

    begin, watch: told what comes next and how far it is. InputError for a study that cannot be compared, or that has
    changed on the way.
    """
    from ..search.study import open_study
    from .break_even_study import break_evens, keep_break_evens, stored_break_evens
    from .suppliers import keep_fronts, stored_fronts, supplier_fronts

    study = open_study(folder)
    before = _stamp(folder)
    workers = study.brief.search.workers
    for part in parts:
        if stop():
            return False
        begin(part)
        look = watch and watch(part, str if part == FRONTS else lambda latest: f"{latest.name}, {latest.supplier}")
        if part == FRONTS:
            if stored_fronts(study, target) is not None:
                continue
            fronts = supplier_fronts(study, look, stop, workers, target)
            if stop() or fronts.stopped:
                return False
            _unchanged(folder, before)
            keep_fronts(study, fronts)
        elif stored_break_evens(study, target, part) is None:
            values = break_evens(study, (part,), None, look, stop, workers, target)
            if stop():
                return False
            _unchanged(folder, before)
            keep_break_evens(study, target, part, values)
    return True


def _stamp(folder: Path) -> str:
    """Changes whenever the study does; what is proven of its front by conduction does not change it."""
    from ..search.study import identity

    return f"{identity(folder)} {files.read_json(folder / files.MARK)['catalogue']}"


def _unchanged(folder: Path, before: str) -> None:
    """InputError where a study is no longer the one that was read: results of the old one are not kept with the new."""
    try:
        now = _stamp(folder)
    except (OSError, InputError, TypeError, KeyError):  # gone, or half a study
        now = None
    if now != before:
        raise InputError(CHANGED)


def main(folder: Path) -> None:
    """Answer the request in a folder."""
    if not files.hold(folder / files.LOCK):
        return  # another process is at it
    asked = files.read_json(folder / "request.json")
    report = _Reporter(folder, asked)
    report.state("running")
    try:
        study = Path(asked["study"])
        whole = compare(study, asked["target"], asked["parts"], report.begin, report.watch, report.cancelled)
        report.state("done") if whole else report.state("cancelled", "stopped on request; what was finished is kept")
    except InputError as error:
        report.state("failed", str(error))
    except Exception as error:
        report.state("failed", f"the comparison broke off: {type(error).__name__}: {error}")
        raise


if __name__ == "__main__":
    main(Path(sys.argv[1]))
