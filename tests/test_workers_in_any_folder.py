"""Worker processes run this project, whatever lies in the folder that they were started from.

Python looks for modules in the current folder first (`python -m`); a user's folder may well hold a `materials`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
import toy_space as small

from dashboard.pricelists.uploads import Uploads
from optimiser.search.jobs import RUNNING, Jobs
from optimiser.search.processes import PROJECT, start_worker

PATIENCE = 60.0  # s; a bound on a hang, not on speed
HOSTILE = "from pathlib import Path\nPath({marker!r}).write_text(__name__)\nraise SystemExit('another project')\n"
GOOD = b"product,name,material,supplier,price,unit,currency,thickness_mm\no,OSB,osb,Tarn Vale,3.10,m2,EUR,9\n"
TELLS = """
import json, os, sys
from pathlib import Path
import optimiser
print(json.dumps([sys.argv[1:], os.getcwd(), optimiser.__file__, sys.path]))
"""


@pytest.fixture
def elsewhere(tmp_path, monkeypatch) -> Path:
    """The current folder, full of other projects' modules; each leaves a mark in `marks` when it is imported."""
    folder, marks = tmp_path / "elsewhere", tmp_path / "marks"
    for path in (folder / "materials", marks):
        path.mkdir(parents=True)
    for name in ("optimiser.py", "materials/__init__.py", "dashboard.py", "numpy.py", "multiprocessing.py"):
        (folder / name).write_text(HOSTILE.format(marker=str(marks / name.replace("/", "-"))), encoding="utf-8")
    monkeypatch.chdir(folder)
    return folder


def marks(elsewhere: Path) -> list[str]:
    return [each.name for each in (elsewhere.parent / "marks").iterdir()]


def ended(look, running=RUNNING):
    """Where a process stands when it has ended."""
    end = time.monotonic() + PATIENCE
    while (state := look()).status in running:
        assert time.monotonic() < end, state
        time.sleep(0.02)
    return state


def test_a_run_and_its_pool_import_nothing_of_the_current_folder(elsewhere):
    toy = elsewhere / "toy"
    toy.mkdir()
    jobs = Jobs(Path("runs"))
    run = jobs.start(small.brief_in(toy, search={"population": 40, "generations": 5, "workers": 2}), toy)
    state = ended(lambda: jobs.state(run))
    assert (state.status, marks(elsewhere)) == ("done", []), state.message
    assert state.rows and state.study.is_relative_to(elsewhere)


def test_the_command_and_its_pool_import_nothing_of_the_current_folder(elsewhere):
    """Python's own modules may stand there under another meaning too: `multiprocessing.py` is one of them."""
    small.write_brief(elsewhere, search={"population": 40, "generations": 5, "workers": 2})
    program = Path(sys.executable).with_name("wallfront" + (".exe" if os.name == "nt" else ""))
    call = [program, "search", "brief.toml", "--out", "study"]
    ours = os.environ | {"PYTHONPATH": str(PROJECT)}  # whatever is installed
    told = subprocess.run(call, env=ours, capture_output=True, text=True, timeout=PATIENCE)
    assert (told.returncode, marks(elsewhere)) == (0, []), told.stderr


def test_an_upload_is_read_without_the_modules_of_the_current_folder(elsewhere):
    uploads = Uploads(Path("uploads"))
    keys, said = uploads.take([("tarn.csv", GOOD)])
    found = uploads.get(keys[0])
    assert (said, found.words, found.keys, marks(elsewhere)) == ([], "", {"o"}, [])


def test_a_worker_is_told_whole_paths_and_keeps_the_search_path_of_python(elsewhere, monkeypatch):
    """PYTHONPATH counts as it did where the worker was started from; an empty part of it counts for nothing."""
    library = elsewhere / "library"
    library.mkdir()
    (library / "told.py").write_text(TELLS, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", f"library{os.pathsep}")
    (elsewhere / "home").mkdir()
    with start_worker("told", Path("a/b.toml"), home=Path("home"), stdout=-1) as process:
        arguments, folder, project, path = json.loads(process.communicate(timeout=PATIENCE)[0])
    assert arguments == [str(elsewhere / "a" / "b.toml")]
    assert folder == str(elsewhere / "home")
    assert project == sys.modules["optimiser"].__file__
    assert str(library) in path and not {"", str(elsewhere), str(elsewhere / "home")} & set(path)
    assert marks(elsewhere) == []
