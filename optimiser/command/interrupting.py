"""Ctrl+C in a search: what was found is kept. Before anything is, the command ends at once."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager

CODE = 130  # what a shell expects of a command that Ctrl+C ended
NOTHING = "wallfront: stopped before a wall was found; there is nothing to keep"


class Interrupt:
    """Whether Ctrl+C was pressed while it is listened for.

    Until it is first asked nothing can be lost, and the process ends at once: an exception raised somewhere in an
    import or a library may be swallowed or leave a traceback.
    """

    def __init__(self) -> None:
        self.pressed, self._asked = False, False

    @contextmanager
    def listening(self) -> Iterator[Interrupt]:
        """Ctrl+C only presses within this block; another thread than the main one leaves it as it is."""
        try:
            before = signal.signal(signal.SIGINT, self._press)
        except ValueError:
            yield self
            return
        try:
            yield self
        finally:
            signal.signal(signal.SIGINT, before)

    def wanted(self) -> bool:
        """Whether to stop: what a search asks as it goes."""
        self._asked = True
        return self.pressed

    def _press(self, number: int, frame: object) -> None:
        self.pressed = True
        if not self._asked:
            os.write(2, f"{NOTHING}\n".encode())
            os._exit(CODE)
