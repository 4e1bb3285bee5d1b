"""What is no file, given as any file of any command, is refused at once: pipes, folders, devices, the input itself."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest
from readers import WALL

from materials.errors import InputError
from optimiser.command import cli
from optimiser.search import files, study

SECONDS = 5
pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")


@contextmanager
def at_once():
    """Fails where what is within waits."""

    def give_up(*_):
        raise TimeoutError(f"waited for {SECONDS} s")

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def stand_ins(folder: Path) -> dict[str, Path]:
    """By name: a pipe, a folder and links to them and to devices, each under every ending that a file may have."""
    named = {}
    for end in ("toml", "csv", "xlsx", "json", "zip", "epw"):
        pipe, inner = folder / f"pipe.{end}", folder / f"folder.{end}"
        os.mkfifo(pipe)
        inner.mkdir()
        named |= {f"pipe.{end}": pipe, f"folder.{end}": inner}
        for device in ("zero", "stdin"):
            link = folder / f"{device}.{end}"
            link.symlink_to(f"/dev/{device}")
            named[link.name] = link
    return named | {"zero": Path("/dev/zero"), "stdin": Path("/dev/stdin")}


CALLS = {  # "?" stands for what is no file
    "search": ("toml", ["search", "?", "--out", "out"]),
    "check": ("toml", ["check", "?"]),
    "check --brief": ("toml", ["check", "wall.toml", "--brief", "?"]),
    "serve": ("toml", ["serve", "?", "--no-browser"]),
    "prove": ("toml", ["prove", "?"]),
    "verify": ("toml", ["verify", "?"]),
    "handover": ("toml", ["handover", "?", "--pick", "W-001", "--out", "out"]),
    "suppliers": ("toml", ["suppliers", "?"]),
    "asfilled": ("csv", ["asfilled", "?", "wall.toml"]),
    "asfilled xlsx": ("xlsx", ["asfilled", "?", "wall.toml"]),
    "asfilled build-up": ("toml", ["asfilled", "sheet.csv", "?"]),
    "prices": ("csv", ["prices", "?"]),
    "prices xlsx": ("xlsx", ["prices", "?"]),
}


@pytest.mark.parametrize("name", CALLS)
def test_no_command_waits_for_what_is_no_file(name, tmp_path, monkeypatch, capsys):
    end, call = CALLS[name]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "wall.toml").write_text(WALL, encoding="utf-8")
    given = stand_ins(tmp_path)
    reading, writing = os.pipe()  # an input that nobody ever writes to
    before = os.dup(0)
    os.dup2(reading, 0)
    try:
        for kind in (f"pipe.{end}", f"folder.{end}", f"zero.{end}", f"stdin.{end}", "zero", "stdin"):
            monkeypatch.setattr(
                sys, "argv", ["wallfront", *(str(given[kind]) if each == "?" else each for each in call)]
            )
            with at_once(), pytest.raises(SystemExit) as end_of:
                cli.main()
            out, err = capsys.readouterr()
            assert (end_of.value.code, out) == (2, ""), (kind, err)
            assert err.startswith("wallfront: ") and str(given[kind]) in err, err
    finally:
        os.dup2(before, 0)
        for each in (before, reading, writing):
            os.close(each)
    assert not (tmp_path / "out").exists()


def weather_of(brief: str) -> str:
    """The brief with a pipe for its weather file."""
    head, _, tail = brief.partition("[climate]\n")
    return f'{head}[climate]\nepw = "pipe.epw"\n{tail[tail.index(chr(10) + "[") :]}'


def test_a_brief_that_names_a_pipe_for_a_list_a_declaration_or_a_weather_file(tmp_path, monkeypatch):
    given = stand_ins(tmp_path)
    brief = cli.demo_brief().read_text(encoding="utf-8")
    from materials.catalogue import load_catalogue
    from optimiser.brief.brief import parse_brief, read_brief
    from optimiser.brief.price_lists import pricing_of

    plain = parse_brief(brief, "brief.toml")
    for field, end in (("lists", "csv"), ("lists", "xlsx"), ("declarations", "json"), ("declarations", "zip")):
        for kind in ("pipe", "zero"):
            held = getattr(plain.prices, field)
            prices = plain.prices.model_copy(update={field: (*held, given[f"{kind}.{end}"].name)})
            with at_once(), pytest.raises(InputError, match=f"{kind}.{end}: is no file; expected"):
                pricing_of(plain.model_copy(update={"prices": prices}), tmp_path, load_catalogue())
    (tmp_path / "brief.toml").write_text(weather_of(brief), encoding="utf-8")
    with at_once(), pytest.raises(InputError, match=r"pipe.epw: is no file; expected a weather file"):
        read_brief(tmp_path / "brief.toml")


def test_a_pipe_in_the_place_of_a_mapping(tmp_path):
    from materials.catalogue import load_catalogue
    from materials.listed.prices import read_prices

    (tmp_path / "list.csv").write_text("product,name\n", encoding="utf-8")
    os.mkfifo(tmp_path / "list.toml")
    with at_once(), pytest.raises(InputError, match=r"list.toml: is no file"):
        read_prices(tmp_path / "list.csv", load_catalogue())


@pytest.mark.parametrize("name", ["study.json", "front.csv", "cloud.csv", "ruled_out.csv", "equals.csv", "brief.toml"])
def test_a_pipe_in_the_place_of_a_file_of_a_study(sent, name):
    place = sent / "study" / name
    place.unlink()
    os.mkfifo(place)
    with at_once(), pytest.raises(InputError, match=f"{name}: is no file"):
        study.open_study(sent / "study").check_whole()


@pytest.mark.parametrize("name", ["suppliers.json", "../study-runs/0001/state.json", "../study-runs/0001/partial.json"])
def test_a_pipe_in_the_place_of_what_is_kept_beside(sent, name):
    from optimiser.market.suppliers import stored_fronts
    from optimiser.search.jobs import Jobs

    opened = study.open_study(sent / "study")
    place = sent / "study" / name
    place.unlink()
    os.mkfifo(place)
    with at_once(), pytest.raises(InputError, match=f"{place.name}: is no file"):
        stored_fronts(opened) if name == "suppliers.json" else Jobs(sent / "study-runs").state("0001")


def test_a_pipe_in_the_place_of_decisions_is_set_aside(sent):
    from dashboard.choosing.decisions import Decisions

    place = sent / "study-runs" / "decisions.json"
    place.unlink()
    os.mkfifo(place)
    with at_once():
        assert "set aside" in Decisions(sent / "study-runs").board().trouble


def test_a_pipe_in_the_place_of_a_lock_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "lock")
    with at_once():
        files.held(tmp_path / "lock", os.getpid())
        with pytest.raises(OSError):
            files.hold(tmp_path / "lock")


def test_a_command_started_with_a_pipe_ends(tmp_path):
    """As a process of its own, which nothing but its own care ends."""
    os.mkfifo(tmp_path / "brief.toml")
    call = [sys.executable, "-c", "from optimiser.command.cli import main; main()"]
    call += ["search", str(tmp_path / "brief.toml"), "--out", str(tmp_path / "out")]
    done = subprocess.run(call, capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode == 2
    assert done.stderr == f"wallfront: {tmp_path / 'brief.toml'}: is no file; expected a TOML file\n"


def test_an_archive_of_arrays_that_unpacks_to_too_much_counts_as_none(tmp_path, monkeypatch):
    import numpy as np

    files.write_arrays(tmp_path / "a.npz", {"x": np.zeros(10_000)})
    assert len(files.read_arrays(tmp_path / "a.npz")["x"]) == 10_000
    monkeypatch.setattr(files, "MOST_ARRAYS", 10_000)
    assert files.read_arrays(tmp_path / "a.npz") is None
