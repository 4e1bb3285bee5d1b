"""Where an interrupted `wallfront search` goes on from: beside its study, as the explorer keeps its runs."""

from __future__ import annotations

import contextlib
import shutil
from pathlib import Path
from typing import Any

from materials.errors import InputError

from . import files

VERSION = 1
PARTS = {"population", "rank", "crowding", "archive", "reference", "meta"}  # of `Evolution.state`


class Resuming:
    """The states of a search by target, written into `DIR-runs/search/` when it was interrupted.

    They go with one brief, catalogue and contents of lists, by their mark: `from_before` gives none to any other.
    """

    def __init__(self, study: Path) -> None:
        study = study.resolve()
        self.folder = study.with_name(f"{study.name}-runs") / "search"
        self.resumed = False
        self._mark, self._states = "", {}

    def from_before(self, mark: str) -> dict[float, dict[str, Any]]:
        """Where an interrupted search of the same mark stopped, by target."""
        self._mark = mark
        about = files.read_json(self.folder / "search.json")
        if not isinstance(about, dict) or about.get("version") != VERSION or about.get("mark") != mark:
            return {}
        targets = [each for each in about.get("targets", []) if isinstance(each, int | float)]
        states = {target: files.read_arrays(self._place(target)) for target in targets}
        self._states = {target: state for target, state in states.items() if state and state.keys() >= PARTS}
        self.resumed = bool(self._states)
        return dict(self._states)

    def keep(self, target: float, state: dict[str, Any]) -> None:
        """Hold a state until it is known how the search ends."""
        self._states[target] = state

    def write(self) -> None:
        """Write the states: the search was interrupted. InputError where that cannot be done."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            for target, state in self._states.items():
                files.write_arrays(self._place(target), state)
            about = {"version": VERSION, "mark": self._mark, "targets": list(self._states)}
            files.write_json(self.folder / "search.json", about)
        except OSError as error:
            words = f"cannot be written, so the search cannot be resumed ({error.strerror or error})"
            raise InputError(f"{self.folder}: {words}") from None

    def clear(self) -> None:
        """Forget them: the search came to its end."""
        shutil.rmtree(self.folder, ignore_errors=True)
        with contextlib.suppress(OSError):  # other runs may lie in it, or nothing ever did
            self.folder.parent.rmdir()

    def _place(self, target: float) -> Path:
        return self.folder / f"resume-{target!r}.npz"
