"""The command as a user calls it: in this process for speed, as a process of its own where that is the point."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
import toy_space as small
from called import Result

from optimiser.command import cli


@pytest.fixture
def wallfront(monkeypatch, capsys, tmp_path):
    """Run `wallfront ...` here, in an empty folder; returns exit code, stdout and stderr."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONSAFEPATH", "1")  # as the command sets it; gone with the test

    def run(*args) -> Result:
        monkeypatch.setattr(sys, "argv", ["wallfront", *map(str, args)])
        capsys.readouterr()
        try:
            cli.main()
            code = 0
        except SystemExit as end:
            code = end.code or 0
        out, err = capsys.readouterr()
        return Result(code, out, err)

    return run


@pytest.fixture(scope="session")
def program():
    """The installed command."""
    path = Path(sys.executable).with_name("wallfront" + (".exe" if os.name == "nt" else ""))
    assert path.exists(), "the console command is not installed beside this Python"
    return path


@pytest.fixture(scope="session")
def process(program):
    """Run the installed command as a process of its own."""

    def run(*args, **how) -> Result:
        call = subprocess.run(
            [program, *map(str, args)], capture_output=True, text=True, encoding="utf-8", timeout=60, **how
        )
        return Result(call.returncode, call.stdout, call.stderr)

    return run


@pytest.fixture(scope="session")
def toy(tmp_path_factory):
    """A folder with a small brief, its price list, and a study of it."""
    folder = tmp_path_factory.mktemp("toy")
    small.write_brief(folder, search={"population": 60, "generations": 25})
    return folder
