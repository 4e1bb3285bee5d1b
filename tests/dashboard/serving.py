"""The explorer over a workspace, answering at an address."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def answering(workspace, token: str | None = None) -> Iterator[str]:
    """The explorer over a workspace, answering at an address; with a token, only to who brings it."""
    server, thread = started(workspace, token=token)
    try:
        yield f"http://127.0.0.1:{server.port}"
    finally:
        server.stop()
        thread.join(5)


def started(workspace, port: int = 0, token: str | None = None):
    """The explorer's server over a workspace and the thread that it runs in."""
    from dashboard.app import build, listen
    from dashboard.server import ExplorerServer

    server = ExplorerServer(build(workspace, token).server, listen("127.0.0.1", port))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    return server, thread
