"""The worker process of one run: `python -m optimiser.search.worker RUN_FOLDER`."""

from __future__ import annotations

import os
import sys
import time
from dataclasses import asdict
from pathlib import Path
from typing import Any

from materials.errors import InputError

from ..brief.brief import read_brief
from . import files
from .run import save, search
from .study import front_of

EVERY = 0.5  # s between looks at the front so far


class Reporter:
    """Writes where a run stands into its folder, at most every half second."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.last = folder, 0.0
        self.progress: dict[str, Any] = {}

    def state(self, status: str, message: str = "") -> None:
        value = {"status": status, "message": message, "pid": os.getpid(), "progress": self.progress}
        files.write_json(self.folder / "state.json", value)

    def watch(self, progress, archive) -> None:
        self.progress = asdict(progress)
        if time.monotonic() - self.last >= EVERY:
            files.write_json(self.folder / "partial.json", [row for row, _ in front_of(archive, "P")])
            self.state("running")
            self.last = time.monotonic()

    def cancelled(self) -> bool:
        return (self.folder / "cancel").exists()

    def keep(self, target: float, state: dict[str, Any]) -> None:
        files.write_arrays(self.folder / f"resume-{target:g}.npz", state)

    def states(self, targets: tuple[float, ...]) -> dict[float, dict[str, Any]]:
        arrays = {target: files.read_arrays(self.folder / f"resume-{target:g}.npz") for target in targets}
        return {target: state for target, state in arrays.items() if state is not None}


def main(folder: Path) -> None:
    if not files.hold(folder / files.LOCK):
        return  # another worker is at it
    report = Reporter(folder)
    report.state("running")
    try:
        brief = read_brief(folder / "brief.toml", enclosed=True)
        states = report.states(brief.target.all)
        outcome = search(brief, folder, report.watch, report.cancelled, states, report.keep)
        if outcome.has_front:
            save(outcome, folder, folder / "study")
        if report.cancelled():
            report.state("cancelled", "stopped on request; it can be resumed from where it stood")
        elif outcome.has_front:
            report.state("done", "\n".join(each.words() for each in outcome.shortfalls))
        else:
            report.state("infeasible", "\n".join(each.words() for each in outcome.shortfalls))
    except InputError as error:
        report.state("failed", str(error))
    except Exception as error:
        report.state("failed", f"the search broke off: {type(error).__name__}: {error}")
        raise


if __name__ == "__main__":
    main(Path(sys.argv[1]))
