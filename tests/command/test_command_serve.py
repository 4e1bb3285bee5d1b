"""`wallfront serve` as a process: behind a token where others reach it, and searches that outlive it."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import ExitStack
from pathlib import Path

import pytest
import toy_space as small
from called import told_once

from optimiser.brief.brief import brief_to_toml, read_brief
from optimiser.search.jobs import Jobs
from optimiser.search.run import save, search

TOKEN = "a-Harbour.Wall_17~x"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def study(toy, tmp_path):
    brief = small.brief_in(toy, search={"population": 20, "generations": 3})
    save(search(brief, toy), toy, tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture
def serving(program, tmp_path):
    """Start `wallfront serve ...`; gives the process and what it printed until it answered."""
    started = []

    def start(*args, lines: int = 1):
        process = subprocess.Popen(
            [program, "serve", *map(str, args), "--no-browser"],
            cwd=tmp_path,
            text=True,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        started.append(process)
        return process, [process.stdout.readline() for _ in range(lines)]

    yield start
    for each in started:
        if each.poll() is None:
            each.kill()
        each.communicate()


def asked(address: str, cookie: str = "") -> tuple[int, dict, str]:
    """(status, headers, text) of one request."""
    request = urllib.request.Request(address, headers={"Cookie": cookie} if cookie else {})
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return answer.status, dict(answer.headers), answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, dict(error.headers), error.read().decode()


def test_on_every_address_it_answers_only_who_has_the_token(serving, study):
    port = free_port()
    _, (line,) = serving(study, "--host", "0.0.0.0", "--port", port)
    address, token = re.search(rf"(http://127\.0\.0\.1:{port})/\?token=(\S+)", line).groups()
    assert len(token) >= 40
    for path in ("/", "/_dash-layout", "/?token=", f"/?token={token[:-1]}", "/?token=guess"):
        status, _, text = asked(address + path)
        assert status == 401
        assert token not in text
    status, headers, _ = asked(f"{address}/?token={token}")
    assert status == 200
    cookie = headers["Set-Cookie"].partition(";")[0]
    assert asked(f"{address}/_dash-layout", cookie)[0] == 200


def test_a_token_of_ones_own_is_asked_on_this_machine_too(serving, study):
    port = free_port()
    _, (line,) = serving(study, "--token", TOKEN, "--port", port)
    assert f"http://127.0.0.1:{port}/?token={TOKEN} " in line
    assert asked(f"http://127.0.0.1:{port}/")[0] == 401
    assert asked(f"http://127.0.0.1:{port}/?token={TOKEN}")[0] == 200


def test_alone_on_this_machine_it_asks_for_nothing(serving, study):
    port = free_port()
    _, (line,) = serving(study, "--port", port)
    assert "token" not in line
    assert asked(f"http://127.0.0.1:{port}/")[0] == 200


HALF = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-More: "  # and never the rest


def test_six_hundred_requests_that_never_end_take_no_threads(serving, study):
    port = free_port()
    process, _ = serving(study, "--port", port)
    tasks = Path(f"/proc/{process.pid}/task")
    assert asked(f"http://127.0.0.1:{port}/")[0] == 200
    before = len(list(tasks.iterdir()))
    with ExitStack() as held:
        for _ in range(600):
            held.enter_context(socket.create_connection(("127.0.0.1", port), timeout=5)).sendall(HALF)
        began = time.monotonic()
        for path in ("/", "/_dash-layout", "/_dash-dependencies"):
            assert asked(f"http://127.0.0.1:{port}{path}")[0] == 200
        took = time.monotonic() - began
        assert len(list(tasks.iterdir())) <= before + 2
    assert before < 40
    assert took < 5


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_a_weak_token_is_refused_before_anything_is_done(wallfront, tmp_path, command):
    place = (tmp_path / "study",) if command == "serve" else ("--out", tmp_path / "study")
    found = wallfront(command, *place, "--no-browser", "--token", "1234567890")
    assert "10 characters can be guessed; expected at least 16" in told_once(found)
    assert not (tmp_path / "study").exists()


@pytest.mark.parametrize("host", ["no.such.host.invalid", "999.1.1.1", "203.0.113.7"])
def test_a_host_that_is_not_this_machine_is_told_in_words(wallfront, study, host):
    found = wallfront("serve", study, "--no-browser", "--host", host, "--port", free_port())
    assert f'"{host}" is no address of this machine' in told_once(found)


def test_a_search_outlives_the_killed_explorer_and_is_found_again(study, toy, tmp_path):
    """The worker is a process of its own: a server that is killed takes no search with it."""
    brief = read_brief(study / "brief.toml")
    budget = brief.search.model_copy(
        update={"population": 60, "generations": 90_000, "stagnation": 90_000, "seconds": 60.0, "complete": False}
    )
    home = tmp_path / "study-runs"
    code = """
import sys, time
from pathlib import Path
from optimiser.brief.brief import read_brief
from optimiser.search.jobs import Jobs
home, brief, lists = map(Path, sys.argv[1:])
print(Jobs(home).start(read_brief(brief), lists), flush=True)
time.sleep(60)
"""
    long = tmp_path / "long.toml"
    long.write_text(brief_to_toml(brief.model_copy(update={"search": budget})), encoding="utf-8")
    server = subprocess.Popen(
        [sys.executable, "-c", code, str(home), str(long), str(study)], text=True, stdout=subprocess.PIPE
    )
    run = server.stdout.readline().strip()
    jobs = Jobs(home)
    try:
        first = _until(jobs, run, lambda state: state.progress.get("generation", 0) > 3)
        server.send_signal(signal.SIGKILL)
        server.wait(10)
        later = _until(jobs, run, lambda state: state.progress["generation"] > first.progress["generation"] + 3)
        assert later.status == "running"
        assert later.rows
    finally:
        jobs.cancel(run)
        server.kill()
        server.communicate()
    assert _until(jobs, run, lambda state: state.status == "cancelled").study is not None


def _until(jobs: Jobs, run: str, done, seconds: float = 30.0):
    end = time.monotonic() + seconds
    while not done(state := jobs.state(run)):
        assert time.monotonic() < end, state
        assert state.status in ("waiting", "running"), state
        time.sleep(0.05)
    return state
