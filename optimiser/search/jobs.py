"""Searches in worker processes: a folder a run, so that a reload, another browser or a killed server loses nothing.

A run folder holds brief.toml, state.json (where it stands), partial.json (the front so far), resume-*.npz (to go on
from) and, at the end, study/.
"""

from __future__ import annotations

import shutil
import subprocess
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from materials.errors import InputError

from ..brief.brief import Brief, brief_to_toml
from . import files
from .processes import start_worker
from .records import StateRecord, checked, partial_rows
from .study import NUMBERS, with_lists

RUNNING = ("waiting", "running")


@dataclass(frozen=True)
class RunState:
    """Where a run stands. status: waiting, running, done, cancelled, failed or infeasible."""

    run: str
    status: str
    message: str = ""
    progress: dict[str, Any] = field(default_factory=dict)
    rows: list[dict[str, Any]] = field(default_factory=list)
    study: Path | None = None


class Jobs:
    """The runs in one folder."""

    def __init__(self, home: Path) -> None:
        self.home = Path(home).resolve()
        self._processes: dict[str, subprocess.Popen] = {}

    def start(self, brief: Brief, source: Path) -> str:
        """Start a search; `source` is the folder that the brief's price lists stand in. Returns the run's id."""
        self.home.mkdir(parents=True, exist_ok=True)
        folder = self._fresh()
        try:
            text = brief_to_toml(with_lists(brief, source, folder))
        except InputError:
            shutil.rmtree(folder)
            raise
        files.write_text(folder / "brief.toml", text)
        self._spawn(folder)
        return folder.name

    def _fresh(self) -> Path:
        number = max((int(each) for each in self.list()), default=0)
        while True:
            number += 1
            folder = self.home / f"{number:04d}"
            try:
                folder.mkdir()
            except FileExistsError:
                continue
            return folder

    def list(self) -> list[str]:
        """Ids of all runs, oldest first."""
        if not self.home.is_dir():
            return []
        return sorted(each.name for each in self.home.iterdir() if each.is_dir() and each.name.isdigit())

    def state(self, run: str) -> RunState:
        """Where a run stands; a worker that died without a word counts as failed and can be resumed."""
        folder = self._folder(run)
        raw = self._raw(folder) or {"status": "waiting"}
        status, message = raw["status"], raw.get("message", "")
        if status in RUNNING and not self._alive(run, raw):
            raw = self._raw(folder) or raw  # it may have ended between the two looks
            status, message = raw["status"], raw.get("message", "")
            if status in RUNNING:
                status, message = "failed", "the search stopped without a word; it can be resumed from where it stood"
        study = folder / "study"
        if status not in RUNNING and not study.exists():
            files.recover(study)  # a worker killed while it saved
        return RunState(
            run,
            status,
            message,
            raw.get("progress", {}),
            partial_rows(files.read_json(folder / "partial.json"), NUMBERS, folder / "partial.json"),
            study if (study / files.MARK).is_file() else None,
        )

    @staticmethod
    def _raw(folder: Path) -> dict[str, Any] | None:
        """What stands in state.json, None without one; InputError where no worker wrote it so."""
        raw = files.read_json(folder / "state.json")
        return raw if raw is None else checked(raw, StateRecord, folder / "state.json")

    def cancel(self, run: str) -> None:
        """Ask a run to stop; what it found so far is kept as a study."""
        (self._folder(run) / "cancel").touch()

    def resume(self, run: str) -> None:
        """Go on with a run that was cancelled, or whose worker died."""
        folder = self._folder(run)
        if self.state(run).status in RUNNING:
            return
        (folder / "cancel").unlink(missing_ok=True)
        self._spawn(folder)

    def _folder(self, run: str) -> Path:
        folder = self.home / str(run)
        if not str(run).isdigit() or not folder.is_dir():
            raise InputError(f'no run "{run}"')
        return folder

    def _spawn(self, folder: Path) -> None:
        files.write_json(folder / "state.json", {"status": "waiting", "since": time.time()})
        self._processes[folder.name] = start_worker("optimiser.search.worker", folder, home=self.home)

    def _alive(self, run: str, raw: dict[str, Any]) -> bool:
        process = self._processes.get(run)
        if process is not None:
            return process.poll() is None
        if "pid" not in raw:
            return time.time() - raw.get("since", 0.0) < 20.0
        return files.held(self.home / run / files.LOCK, raw["pid"])
