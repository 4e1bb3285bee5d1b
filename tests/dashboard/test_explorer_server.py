"""The server under the explorer: what never comes to an end is let go of, what is under way is not."""

from __future__ import annotations

import socket
import threading
import time
import urllib.request

import pytest
from flask import Flask

from dashboard import server as explorer_server
from dashboard.app import check_port, listen
from dashboard.server import ExplorerServer


@pytest.fixture
def port(monkeypatch):
    """Where a server answers that waits a second where the explorer's waits minutes."""
    for name, value in (("IDLE_S", 1), ("REQUEST_S", 1), ("LOOK_EVERY_S", 0)):
        monkeypatch.setattr(explorer_server, name, value)
    app = Flask("slow")

    @app.route("/")
    def slow():
        time.sleep(2.5)
        return "done"

    running = ExplorerServer(app, listen("127.0.0.1", 0))
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    yield running.port
    running.stop()
    thread.join(5)
    assert not thread.is_alive()
    check_port(running.port)


def ends_after(port: int, first: bytes, more: bytes) -> float:
    """Seconds until the server hangs up on who sends `first` and then, again and again, `more`."""
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", port), timeout=0.2) as held:
        held.sendall(first)
        while time.monotonic() - began < 10:
            try:
                if more:
                    held.sendall(more)
                if held.recv(4096) == b"":
                    break
            except TimeoutError:
                continue
            except OSError:
                break
    return time.monotonic() - began


def test_it_hangs_up_on_silence_and_on_requests_that_only_drip(port):
    assert 0.5 < ends_after(port, b"GET / HTTP/1.1\r\n", b"") < 6
    assert 0.5 < ends_after(port, b"GET / HTTP/1.1\r\nX: ", b"y") < 6
    assert 0.5 < ends_after(port, b"POST / HTTP/1.1\r\nContent-Length: 99999\r\n\r\n", b"y") < 6


def test_an_answer_that_takes_long_is_waited_for(port):
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=10) as answer:
        assert answer.read() == b"done"


def test_headers_without_end_and_bodies_beyond_measure_are_refused(port):
    for words, status in (
        (b"GET / HTTP/1.1\r\nX: " + b"y" * 70_000 + b"\r\n\r\n", b"431"),
        (b"POST / HTTP/1.1\r\nContent-Length: 99999999999\r\n\r\n", b"413"),
    ):
        with socket.create_connection(("127.0.0.1", port), timeout=5) as held:
            held.sendall(words)
            assert held.recv(4096).split()[1] == status
