"""The front proven in a process of its own: `python -m optimiser.search.numeric_worker STUDY HOME`.

HOME, a folder beside the runs, holds state.json (where it stands), `cancel` while it is asked to stop, and a lock that
the process has as long as it lives. The study itself is written at the very end.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from materials.errors import InputError

from . import files
from .processes import start_worker
from .records import StateRecord, checked

RUNNING = ("waiting", "running")
EVERY = 0.3  # s between reports
STARTING = 30.0  # s that a process may take to begin
CUT_OFF = "the proof of the front stopped without a word; it can be started again"


@dataclass(frozen=True)
class ProofState:
    """Where the proof of a front stands. status: none, waiting, running, done, cancelled or failed."""

    status: str = "none"
    message: str = ""
    done: int = 0  # walls solved
    total: int = 0

    @property
    def alive(self) -> bool:
        return self.status in RUNNING


def home_of(study: Path) -> Path:
    """Where the proof of a study says how far it is: beside the runs started from it, or in the run that it is of."""
    study = Path(study).resolve()
    beside = study.parent if study.name == "study" else study.with_name(f"{study.name}-runs")
    return beside / "numeric"


class NumericProof:
    """The proof of one study's front, in a process that outlives whoever started it."""

    def __init__(self, study: Path, home: Path | None = None) -> None:
        self.study = Path(study).resolve()
        self.home = home_of(self.study) if home is None else Path(home).resolve()
        self._process: subprocess.Popen | None = None

    def wanted(self) -> bool:
        """Whether the study's brief asks for a proof that the front does not have yet."""
        from .numeric_front import proven
        from .study import open_study

        try:
            study = open_study(self.study)
        except InputError:
            return False
        return study.brief.numeric.proves and not proven(study)

    def start(self) -> None:
        """Start proving; nothing where it is under way, or where nothing can be written beside the study."""
        if self.state().alive:
            return
        try:
            self.home.mkdir(parents=True, exist_ok=True)
            (self.home / "cancel").unlink(missing_ok=True)
            files.write_json(self.home / "state.json", {"status": "waiting", "since": time.time()})
        except OSError:
            return
        self._process = start_worker("optimiser.search.numeric_worker", self.study, self.home, home=self.home)

    def state(self) -> ProofState:
        """Where it stands; one whose process died without a word counts as failed."""
        try:
            return self._state()
        except InputError as error:
            return ProofState("failed", str(error))

    def _state(self) -> ProofState:
        raw = self._raw()
        if raw is None:
            return ProofState()
        if raw["status"] in RUNNING and not self._alive(raw):
            raw = self._raw() or raw  # it may have ended between the two looks
            if raw["status"] in RUNNING:
                raw |= {"status": "failed", "message": CUT_OFF}
        return ProofState(**{key: raw[key] for key in ProofState.__dataclass_fields__ if key in raw})

    def _raw(self) -> dict[str, Any] | None:
        raw = files.read_json(self.home / "state.json")
        return raw if raw is None else checked(raw, StateRecord, self.home / "state.json")

    def cancel(self) -> None:
        """Ask it to stop; the study stays as it is."""
        if self.state().alive:
            (self.home / "cancel").touch()

    def _alive(self, raw: dict[str, Any]) -> bool:
        if self._process is not None and self._process.poll() is None:
            return True
        if "pid" not in raw:
            return self._process is None and time.time() - raw.get("since", 0.0) < STARTING
        return files.held(self.home / files.LOCK, raw["pid"])


def main(study: Path, home: Path) -> None:
    """Prove a study's front, saying in `home` how far it is."""
    from .numeric_front import prove_study

    home.mkdir(parents=True, exist_ok=True)
    if not files.hold(home / files.LOCK):
        return  # another process is at it
    progress, last = ProofState("running"), 0.0

    def tell(state: ProofState) -> None:
        files.write_json(home / "state.json", asdict(state) | {"pid": os.getpid()})

    def watch(done: int, total: int) -> None:
        nonlocal progress, last
        progress = ProofState("running", done=done, total=total)
        if time.monotonic() - last >= EVERY or done == total:
            tell(progress)
            last = time.monotonic()

    def end(status: str, message: str = "") -> None:
        tell(ProofState(status, message, progress.done, progress.total))

    tell(progress)
    try:
        summary = prove_study(study, watch=watch, stop=(home / "cancel").exists)
        if summary is None:
            end("cancelled", "stopped on request; the study is as it was")
        else:
            end("done", words(summary))
    except InputError as error:
        end("failed", str(error))
    except Exception as error:
        end("failed", f"the proof broke off: {type(error).__name__}: {error}")
        raise


def words(summary: dict[str, Any]) -> str:
    """What a proof found that is not as expected, in words; empty where all is well."""
    faults = []
    if summary["flagged"]:
        faults.append(f"numerically above the target: {', '.join(summary['flagged'])}")
    if summary["unsolved"]:
        faults.append("not solved: " + "; ".join(f"{wall}: {reason}" for wall, reason in summary["unsolved"].items()))
    return "; ".join(faults)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
