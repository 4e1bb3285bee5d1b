"""Start-up, help and the explorer behind the command."""

import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request

import pytest
import toy_space as small
from called import told_once

from optimiser.brief.brief import read_brief
from optimiser.command.cli import demo_brief
from optimiser.search.run import save, search
from optimiser.search.study import open_study

COMMANDS = (
    "demo",
    "search",
    "check",
    "serve",
    "prices",
    "catalogue",
    "verify",
    "prove",
    "suppliers",
    "handover",
    "asfilled",
)
HEAVY = ("pandas", "pymoo", "dash", "plotly", "numpy", "rich", "scipy", "pydantic")


def test_help_starts_in_less_than_400_ms(program):
    """A bound on start-up by the clock: the best of five calls, interpreter included."""
    seconds = []
    for _ in range(5):
        start = time.perf_counter()
        found = subprocess.run([program, "--help"], capture_output=True, text=True)
        seconds.append(time.perf_counter() - start)
        assert found.returncode == 0
        assert all(command in found.stdout for command in COMMANDS)
    assert min(seconds) < 0.4


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(wallfront, command):
    found = wallfront(command, "--help")
    assert found.code == 0
    assert "Usage: wallfront" in found.out


def test_the_command_imports_nothing_heavy_to_start():
    code = f"import sys, optimiser.command.cli; print([name for name in {HEAVY} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    # pydantic comes with the error type that every command catches, and is quick
    assert [name for name in json.loads(found.stdout.replace("'", '"')) if name != "pydantic"] == []


@pytest.mark.parametrize(
    "args", [("serch",), ("search",), ("check",), ("serve", "x", "--port", "0"), ("demo", "--prt")]
)
def test_a_call_that_is_no_call_is_unusable(wallfront, args):
    found = wallfront(*args)
    assert found.code == 2
    assert found.out == ""
    assert "Usage: wallfront" in found.err
    assert "Error" in found.err
    assert "Traceback" not in found.err


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def taken():
    """A port that another program listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


class Explorer:
    """The command with an explorer, as a process of its own."""

    def __init__(self, program, folder, *args):
        self.start = time.monotonic()
        self.process = subprocess.Popen(
            [program, *map(str, args)],
            cwd=folder,
            text=True,
            encoding="utf-8",
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )

    def address(self) -> str:
        lines = []
        for line in self.process.stdout:
            lines.append(line)
            if found := re.search(r"http://127\.0\.0\.1:\d+", line):
                return found.group()
        pytest.fail(f"no address: {lines} {self.process.stderr.read()}")

    def stop(self) -> str:
        """Ctrl+C; what it said on stderr."""
        self.process.send_signal(signal.SIGINT)
        _, err = self.process.communicate(timeout=20)
        assert self.process.returncode in (0, 130)
        assert "Traceback" not in err
        return err


@pytest.fixture
def explorer(program, tmp_path):
    started = []

    def start(*args) -> Explorer:
        started.append(Explorer(program, tmp_path, *args))
        return started[-1]

    yield start
    for each in started:
        if each.process.poll() is None:
            each.process.kill()
            each.process.communicate()


def test_the_demo_ends_in_an_explorer_on_a_rich_front_within_30_seconds(explorer, tmp_path):
    port = free_port()
    demo = explorer("demo", "--no-browser", "--port", port, "--out", tmp_path / "demo")
    address = demo.address()
    assert address == f"http://127.0.0.1:{port}"
    with urllib.request.urlopen(address, timeout=10) as page:
        assert page.status == 200
        assert b"wallfront" in page.read()
    assert time.monotonic() - demo.start < 30
    opened = open_study(tmp_path / "demo")
    assert len(opened.rows) >= 60
    assert opened.summary["space_size"] >= 10**8
    several = {name: count for name, count in opened.summary["options"].items() if count > 1}
    assert len(several) >= 10
    few = {name: opened.summary["undominated"][name] for name in several if opened.summary["undominated"][name] < 4}
    assert few == {}, "open slots with fewer than four options that no other beats"
    assert max(row["u_value"] for row in opened.rows) <= read_brief(demo_brief()).target.u_value
    demo.stop()
    with pytest.raises(OSError):
        urllib.request.urlopen(address, timeout=5)


def test_serve_opens_a_study_and_ends_on_interrupt(explorer, toy, tmp_path):
    brief = read_brief(toy / "brief.toml")
    save(search(brief, toy), toy, tmp_path / "study")
    serving = explorer("serve", tmp_path / "study", "--no-browser", "--port", free_port())
    with urllib.request.urlopen(serving.address(), timeout=10) as page:
        assert page.status == 200
    serving.stop()


def test_serve_says_what_is_no_study(wallfront, tmp_path):
    assert "is no study" in told_once(wallfront("serve", tmp_path, "--no-browser", "--port", free_port()))
    assert "is no study" in told_once(wallfront("serve", tmp_path / "absent", "--no-browser", "--port", free_port()))


def test_a_port_in_use_is_told_before_the_search_and_touches_nothing(wallfront, taken, toy, tmp_path):
    found = wallfront("demo", "--no-browser", "--port", taken, "--out", tmp_path / "demo")
    assert f"port {taken} is in use" in told_once(found)
    assert not (tmp_path / "demo").exists()
    brief = small.brief_in(toy, search={"population": 20, "generations": 3})
    save(search(brief, toy), toy, tmp_path / "study")
    found = wallfront("serve", tmp_path / "study", "--no-browser", "--port", taken)
    assert f"port {taken} is in use" in told_once(found)
