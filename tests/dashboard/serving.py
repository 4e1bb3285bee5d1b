"""The explorer over a workspace, answering at an address."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from werkzeug.serving import make_server


@contextmanager
def answering(workspace, token: str | None = None) -> Iterator[str]:
    """The explorer over a workspace, answering at an address; with a token, only to who brings it."""
    from dashboard.app import Silent, build

    server = make_server("127.0.0.1", 0, build(workspace, token).server, threaded=True, request_handler=Silent)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
