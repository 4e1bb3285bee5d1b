"""The server under the explorer: so many threads and connections and no more, and none is waited for without end."""

from __future__ import annotations

import logging
import select
import socket
import time
from functools import partial
from typing import Any

from flask import Flask
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

from .access import LARGEST_REQUEST

THREADS = 16  # that work on whole requests; a connection on which none has come whole takes none of them
CONNECTIONS = 512  # held at once; then the longest idle make room
MAKE_ROOM = 64
IDLE_S = 60  # without a byte either way
REQUEST_S = 300  # from the first byte of a request to its last
LOOK_EVERY_S = 5
LONGEST_HEADERS = 65_536  # bytes
END_S = 1.0  # for what is under way when the server ends


class Connection(HTTPChannel):
    """A connection that knows when its request began."""

    began: float | None = None  # s; None between requests

    def received(self, data: bytes) -> bool:
        if self.request is None:
            self.began = time.time()
        taken = super().received(data)
        if self.request is None:
            self.began = None
        return taken

    @property
    def idle(self) -> bool:
        """Whether nothing is under way for it: no whole request has come that is not answered yet."""
        return not self.requests


class ExplorerServer(TcpWSGIServer):
    """The explorer on a listening socket; `run` answers until it is stopped or interrupted."""

    channel_class = Connection

    def __init__(self, app: Flask, listening: socket.socket) -> None:
        logging.getLogger("waitress").setLevel(logging.ERROR)  # a full queue or a lost connection is not news
        settings = Adjustments(
            sockets=[listening],
            threads=THREADS,
            connection_limit=CONNECTIONS + 8,  # the listening socket and the trigger count too
            channel_timeout=IDLE_S,
            cleanup_interval=LOOK_EVERY_S,
            max_request_header_size=LONGEST_HEADERS,
            max_request_body_size=2 * LARGEST_REQUEST,  # a little too much is refused in the explorer's own words
            outbuf_high_watermark=2**31,  # beside a slow reader no thread waits: the answer does, on disk
            log_socket_errors=False,
            asyncore_use_poll=hasattr(select, "poll"),  # the other way knows no more than 1024 files
            ident="",
        )
        place = (listening.family, listening.type, listening.proto, listening.getsockname())
        super().__init__(app, None, True, listening, None, settings, place, bind_socket=False)

    @property
    def port(self) -> int:
        return int(self.effective_port)

    def readable(self) -> bool:
        if len(self.active_channels) >= CONNECTIONS:
            idle = sorted((each for each in self.active_channels.values() if each.idle), key=_seen)
            for each in idle[:MAKE_ROOM]:
                each.will_close = True
        return super().readable()

    def maintenance(self, now: float) -> None:
        super().maintenance(now)
        for each in self.active_channels.values():
            if each.began is not None and each.began < now - REQUEST_S:
                each.will_close = True

    def run(self) -> None:
        try:
            self.asyncore.loop(timeout=1, map=self._map, use_poll=self.adj.asyncore_use_poll)
        finally:
            self.end()

    def stop(self) -> None:
        """Let `run` return, from whichever thread."""
        self.trigger.pull_trigger(partial(self.asyncore.close_all, self._map, True))

    def end(self) -> None:
        """Give back the threads, the connections and the port."""
        self.task_dispatcher.shutdown(timeout=END_S)
        self.asyncore.close_all(self._map, ignore_all=True)


def _seen(connection: Any) -> float:
    """When a byte last went either way."""
    return connection.last_activity
