"""A save killed at any moment: the study is there afterwards, the earlier or the new one, and nothing beside it."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.search import files, study
from optimiser.search.jobs import Jobs
from optimiser.search.run import save, search

KILLED = """
import os, sys
from pathlib import Path
from optimiser.search import files
place, moment = Path(sys.argv[1]), sys.argv[2]
rename, count = Path.rename, 0

def killing(path, target):
    global count
    count += 1
    if moment == f"before {count}":
        os._exit(9)
    rename(path, target)
    if moment == f"after {count}":
        os._exit(9)

Path.rename = killing
files.replace_folder(place, lambda fresh: [(fresh / name).write_bytes((place.parent / "new" / name).read_bytes())
    for name in ("front.csv", "brief.toml", "toy.csv", files.MARK) if (place.parent / "new" / name).exists()])
"""
QUICK = {"population": 40, "generations": 6, "complete": False}


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """A folder with two studies of one brief by other seeds, `s` and `new`."""
    folder = tmp_path_factory.mktemp("two")
    for seed, name in ((7, "s"), (8, "new")):
        brief = small.brief_in(folder, search=QUICK, seed={"value": seed})
        save(search(brief, folder), folder, folder / name)
    return folder


@pytest.fixture
def place(two, tmp_path):
    shutil.copytree(two, tmp_path, dirs_exist_ok=True)
    return tmp_path


def killed(place, moment: str) -> None:
    done = subprocess.run([sys.executable, "-c", KILLED, place / "s", moment], timeout=60)
    assert done.returncode == 9


def rows(folder):
    return study.open_study(folder).rows


def hidden(place) -> list[str]:
    return sorted(each.name for each in place.iterdir() if each.name.startswith("."))


@pytest.mark.parametrize(
    ("moment", "stands"), [("before 1", "s"), ("after 1", "new"), ("before 2", "new"), ("after 2", "new")]
)
def test_a_save_killed_at_its_renames_leaves_a_study(place, moment, stands):
    expected = rows(place / stands)
    killed(place, moment)
    assert (place / "s").exists() == (moment not in ("after 1", "before 2")), "the moment is the one that is meant"
    assert hidden(place)
    assert rows(place / "s") == expected
    files.check_replaceable(place / "s")  # what comes before the next save
    assert rows(place / "s") == expected
    assert hidden(place) == []


def test_the_earlier_study_comes_back_where_the_new_one_is_not_whole(place):
    expected = rows(place / "s")
    killed(place, "after 1")
    fresh = next(each for each in place.iterdir() if each.name.startswith(".s.") and not each.name.endswith(".old"))
    (fresh / files.MARK).unlink()
    assert rows(place / "s") == expected


def test_the_next_save_finds_the_study_and_takes_its_place(place):
    killed(place, "after 1")
    save(search(small.brief_in(place, search=QUICK, seed={"value": 8}), place), place, place / "s")
    assert rows(place / "s") == rows(place / "new")
    assert hidden(place) == []


def test_a_run_of_the_explorer_finds_it_too(place):
    killed(place, "after 1")
    (place / "0001").mkdir()
    for each in list(place.iterdir()):
        if each.name.startswith(".s."):
            each.rename(place / "0001" / each.name.replace(".s.", ".study."))
    files.write_json(place / "0001" / "state.json", {"status": "failed", "message": ""})
    assert Jobs(place).state("0001").study == place / "0001" / "study"


def test_a_save_under_way_is_left_alone(place):
    """It holds a lock on the folder that it fills: nobody removes it or puts it in place meanwhile."""
    fresh = place / ".s.abcd1234"
    shutil.copytree(place / "new", fresh)
    handle = files._lock(fresh)
    code = f"from optimiser.search import files; from pathlib import Path; files.recover(Path({str(place / 's')!r}))"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
    assert fresh.exists()
    files._close(handle)
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
    assert not fresh.exists()


def test_folders_of_others_are_left_alone(place):
    """Only what a save of this very folder makes: its name, eight signs, and nothing that was begun just now."""
    names = (".s.notes", ".s.abcdefgh9", ".st.abcd1234", ".s.x.abcd1234", ".s.abcd1234")
    for name in names:
        (place / name).mkdir()
    files.recover(place / "s")
    assert hidden(place) == sorted(names)
    left_behind = place / ".s.abcd1234"
    shutil.os.utime(left_behind, (time.time() - 1000,) * 2)
    files.recover(place / "s")
    assert not left_behind.exists()


def test_a_half_written_file_in_a_study_does_not_bar_the_next_save(place):
    (place / "s" / ".front.csv.abcd1234").write_text("id")
    files.check_replaceable(place / "s")
    (place / "s" / ".diary").write_text("mine")
    with pytest.raises(InputError, match="diary"):
        files.check_replaceable(place / "s")


def test_what_was_set_aside_is_never_removed_while_nothing_stands_in_its_place(place, monkeypatch):
    expected = rows(place / "s")
    rename, count = files.Path.rename, [0]

    def refuse(path, target):
        count[0] += 1
        if count[0] > 1:
            raise OSError("no")
        return rename(path, target)

    with monkeypatch.context() as patch:
        patch.setattr(files.Path, "rename", refuse)
        with pytest.raises(OSError, match="no"):
            files.replace_folder(place / "s", lambda fresh: (fresh / "x").write_text("x"))
        with pytest.raises(InputError, match="cannot be put back"):
            study.open_study(place / "s")
    assert rows(place / "s") == expected
