"""Every reader of files from outside, given files that were made bad: one message, in little time and memory."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import large_files
import pytest
import trying
from readers import READERS

TRYING = Path(trying.__file__)
ONE_LIST = """
import sys
from pathlib import Path
import trying
from materials.catalogue import load_catalogue
from materials.errors import InputError
from materials.listed.prices import read_prices
catalogue = load_catalogue()
watch = trying.Watch()
try:
    words = f"{len(read_prices(Path(sys.argv[1]), catalogue).products)} products"
except InputError as error:
    words = str(error)
print(watch.taken(), words)
"""

needs_proc = pytest.mark.skipif(
    not Path("/proc/self/clear_refs").exists(), reason="memory is watched as Linux tells it"
)


def run(folder: Path, count: int, *names: str) -> list[dict]:
    """What came of so many mutated files of each reader, in a process of its own."""
    call = [sys.executable, str(TRYING), str(folder), str(count), "1", *names]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return [json.loads(line) for line in done.stdout.splitlines()]


def judged(tallies: list[dict], count: int, names: list[str]) -> None:
    assert [each["reader"] for each in tallies] == names
    for each in tallies:
        assert not each["faults"], each["faults"][0]
        assert each["count"] == count
        assert each["refused"] > count / 20  # they were made bad, and it was seen
        assert each["megabytes"] <= trying.MEGABYTES


@needs_proc
def test_some_mutated_files_of_every_reader(tmp_path):
    judged(run(tmp_path, 30, *READERS), 30, list(READERS))


@needs_proc
@pytest.mark.long
@pytest.mark.parametrize("name", READERS)
def test_ten_thousand_mutated_files_of_a_reader(tmp_path, name):
    judged(run(tmp_path, 10_000, name), 10_000, [name])


def test_a_reader_that_breaks_is_seen(tmp_path, monkeypatch):
    """The watch itself: a reader with an error of its own, and one that never ends."""
    import time

    good, place = tmp_path / "good", tmp_path / "bad"
    for reader, words in (
        (trying.Reader("a", ("x.csv",), None, lambda folder: {}["x"]), "KeyError"),
        (trying.Reader("b", ("x.csv",), None, lambda folder: time.sleep(20)), "took longer than 0.1 s"),
    ):
        for folder in (good, place):
            folder.mkdir(exist_ok=True)
            (folder / "x.csv").write_bytes(b"a,b\n1,2\n")
        monkeypatch.setattr(trying, "SECONDS", 0.1)
        before = trying.signal.signal(trying.signal.SIGALRM, trying.give_up)
        try:
            assert words in trying.one(reader, good, place, 1, 1, {"alone": 0, "megabytes": 0, "faults": []})
        finally:
            trying.signal.signal(trying.signal.SIGALRM, before)
        assert (place / "x.csv").read_bytes() == b"a,b\n1,2\n"


def read_large(path: Path) -> tuple[int, str]:
    """Megabytes and words of reading a list in a process of its own."""
    call = [sys.executable, "-c", ONE_LIST, str(path)]
    done = subprocess.run(call, capture_output=True, text=True, check=False, cwd=TRYING.parent)
    assert done.returncode == 0, done.stderr[-2000:]
    megabytes, _, words = done.stdout.strip().partition(" ")
    return int(megabytes), words


@needs_proc
@pytest.mark.parametrize("name", ["one_row.xlsx", "nested.xlsx", "one_line.csv"])
def test_a_list_that_is_small_on_disk_and_large_in_the_memory_is_refused(tmp_path, name):
    make, kind = large_files.LISTS[name]
    megabytes, words = read_large(make(tmp_path / f"list{kind}"))
    assert megabytes <= trying.MEGABYTES
    assert words.startswith(f"{tmp_path}/list{kind}: ")
    assert "products" not in words


@needs_proc
@pytest.mark.long
@pytest.mark.parametrize("name", large_files.LISTS)
def test_no_list_takes_more_memory_than_it_may(tmp_path, name):
    make, kind = large_files.LISTS[name]
    megabytes, _ = read_large(make(tmp_path / f"list{kind}"))
    assert megabytes <= trying.MEGABYTES
