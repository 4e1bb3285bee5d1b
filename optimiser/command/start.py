"""Where the console command begins: Ctrl+C while the rest is still being imported ends it with one word."""

from __future__ import annotations

import os
import signal


def _leave(number: int, frame: object) -> None:
    os.write(2, b"wallfront: stopped\n")
    os._exit(130)  # an import that breaks off may swallow an exception, or leave a traceback


def main() -> None:
    """Run the command."""
    signal.signal(signal.SIGINT, _leave)
    os.environ["PYTHONSAFEPATH"] = "1"  # pools of processes look for no module in the current folder
    from .cli import main as command

    signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        command()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is done, and the exit code stands


if __name__ == "__main__":
    main()
