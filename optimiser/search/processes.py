"""How a worker process is started: the same project as here, whatever lies in the folder that it is started from."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).resolve().parents[2]  # holds the package that runs here
INSTALLED = ("site-packages", "dist-packages")  # where Python looks without being told
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}  # several processes would wait for one another


def start_worker(module: str, *paths: Path, home: Path, **pipes: Any) -> subprocess.Popen:
    """Start `python -m MODULE PATHS...` in a session of its own, working in `home`, silent but for `pipes`.

    `-P` keeps the current folder, which may hold a `materials` of somebody else, out of the search for modules, there
    and in the processes that the worker starts. Paths are made whole here, as the worker works in another folder.
    """
    silent = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
    return subprocess.Popen(
        [sys.executable, "-P", "-m", module, *(str(each.resolve()) for each in paths)],
        cwd=home.resolve(),
        env=os.environ | ONE_THREAD | {"PYTHONPATH": _search_path()},
        start_new_session=True,
        **(silent | pipes),
    )


@contextmanager
def deaf_to_interrupts() -> Iterator[None]:
    """Processes and threads that start meanwhile never get Ctrl+C, which a terminal sends to all of a command.

    Only the process that started them decides what it means; one that comes meanwhile is delivered afterwards.
    """
    if not hasattr(signal, "pthread_sigmask"):  # systems without it
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _search_path() -> str:
    """PYTHONPATH of a worker: the project that runs here, where it is not installed, and what is given, made whole."""
    project = [] if PROJECT.name in INSTALLED else [str(PROJECT)]
    given = [os.path.abspath(each) for each in os.environ.get("PYTHONPATH", "").split(os.pathsep) if each]
    return os.pathsep.join(dict.fromkeys([*project, *given]))
