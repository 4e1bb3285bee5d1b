"""Writing so that a reader, or a killed process, never meets half a file or half a folder."""

from __future__ import annotations

import contextlib
import errno
import io
import json
import os
import re
import shutil
import tempfile
import time
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

import numpy as np

from materials.errors import InputError
from materials.parsed import parse_json
from materials.untrusted import bytes_of, read_within

try:
    import fcntl
except ImportError:  # systems without it
    fcntl = None

MARK = "study.json"
TABLES = ("front.csv", "cloud.csv", "equals.csv", "ruled_out.csv")
SUPPLIERS = "suppliers.json"  # added to a study when suppliers are compared
OF_A_STUDY = (MARK, "brief.toml", *TABLES, SUPPLIERS, "buildups", "prices", "declarations")
LOCK = "lock"
FORGOTTEN = 60.0  # s after which a folder that nobody fills, without its mark, counts as left behind
ASIDE = ".old"  # what the name of an earlier study ends with while a new one takes its place
MOST_JSON = 50_000_000  # bytes
MOST_ARRAYS = 1_000_000_000  # bytes, packed and unpacked
MOST_VALUES = 2_000_000  # of a JSON file


def write_text(path: Path, text: str) -> None:
    """Write beside the place, then rename."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def write_json(path: Path, value: Any) -> None:
    write_text(path, json.dumps(value, indent=1, ensure_ascii=False) + "\n")


def read_json(path: Path) -> Any:
    """The parsed file; None when there is none (or none yet). InputError names file and place where it is damaged."""
    if not path.exists() and not path.is_symlink():
        return None
    return parse_json(read_within(path, MOST_JSON, "a JSON file"), path, MOST_VALUES)


def write_arrays(path: Path, arrays: dict[str, Any]) -> None:
    """Plain arrays and strings in one file, without pickling."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".npz")
    os.close(handle)
    try:
        np.savez_compressed(name, **arrays)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def read_arrays(path: Path) -> dict[str, Any] | None:
    """What `write_arrays` wrote; None when there is no such file, or a damaged one, or one that unpacks to too much."""
    try:
        data = io.BytesIO(bytes_of(path, MOST_ARRAYS))
        with zipfile.ZipFile(data) as packed:
            if sum(each.file_size for each in packed.infolist()) > MOST_ARRAYS:
                return None
        with np.load(data, allow_pickle=False) as file:
            return {key: file[key] for key in file.files}
    except (OSError, EOFError, ValueError, MemoryError, NotImplementedError, zipfile.BadZipFile, zlib.error):
        return None


_HELD: list[Any] = []  # handles of the locks this process has, open as long as it lives


def _lock_file(path: Path, mode: str) -> IO[str]:
    """A lock, opened without waiting where a pipe stands in its place."""
    flag = getattr(os, "O_NONBLOCK", 0)
    return open(path, mode, encoding="utf-8", opener=lambda name, flags: os.open(name, flags | flag, 0o666))


def hold(path: Path) -> bool:
    """Take the lock of that name for the life of this process, however it ends; False when another process has it."""
    if fcntl is None:
        return True
    handle = _lock_file(path, "a")
    for _ in range(20):  # whoever asks `held` has the lock for an instant
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            time.sleep(0.02)
            continue
        _HELD.append(handle)
        return True
    handle.close()
    return False


def held(path: Path, pid: int) -> bool:
    """Whether a process has the lock of that name; by its number where the system knows no such locks."""
    if fcntl is None:
        return _runs(pid)
    try:
        with _lock_file(path, "r") as handle:
            fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return False


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except PermissionError:
        return True
    except OSError:
        return False
    return True


LEFTOVER = r"\.{name}\.[A-Za-z0-9_]{{8}}"  # what `tempfile` makes of a name


def _leftover(name: str, of: str) -> bool:
    """Whether a name is that of half-written things of `of` that a killed process left behind."""
    return re.fullmatch(LEFTOVER.format(name=re.escape(of)), name) is not None


def recover(folder: Path) -> None:
    """Put back a study that a killed `replace_folder` left under another name, and remove what such ones left behind.

    Between its two renames a study stands nowhere: the new one lies whole beside its place, the earlier one aside. The
    new one is put in place, or else the earlier one. A save under way holds a lock and is waited for, for a moment.
    InputError where a study lies beside its place and cannot be put there.
    """
    folder = folder.resolve()
    left = [each for each in _beside(folder) if (each / MARK).is_file() or _age(each) > FORGOTTEN]
    handles = [_lock(each) for each in left if not each.name.endswith(ASIDE)]
    try:
        if None in handles:
            _wait_for(folder)
            return
        if not folder.exists():
            whole = [each for each in left if (each / MARK).is_file()]
            for each in sorted(whole, key=lambda each: (each.name.endswith(ASIDE), _age(each)))[:1]:
                _put_back(each, folder)
        for each in left:
            _remove(each)
    finally:
        _close(*handles)


def _beside(folder: Path) -> list[Path]:
    """Folders that saves of a folder filled or set aside."""
    try:
        return [
            each
            for each in folder.parent.iterdir()
            if _leftover(each.name.removesuffix(ASIDE), folder.name) and each.is_dir() and not each.is_symlink()
        ]
    except OSError:
        return []


def _age(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except OSError:
        return 0.0


def _put_back(study: Path, folder: Path) -> None:
    try:
        study.chmod(0o755)
        study.rename(folder)
    except OSError as error:
        if not folder.exists():  # else another process was faster
            words = f"a save was cut short; the study lies in {study} and cannot be put back"
            raise InputError(f"{folder}: {words} ({error.strerror or error})") from None


def _remove(study: Path) -> None:
    """Remove a folder, its mark first: what is left when that is cut short is no study."""
    with contextlib.suppress(OSError):
        (study / MARK).unlink(missing_ok=True)
    shutil.rmtree(study, ignore_errors=True)


def _wait_for(folder: Path) -> None:
    end = time.monotonic() + 2.0
    while not folder.exists() and time.monotonic() < end:
        time.sleep(0.02)


NO_LOCK = -1


def _lock(folder: Path) -> int | None:
    """A lock on a folder that lasts as long as this process, as a handle to close; None when another process has it."""
    if fcntl is None:
        return NO_LOCK
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return NO_LOCK
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno not in (errno.EWOULDBLOCK, errno.EACCES):
            return handle  # a file system without locks
        os.close(handle)
        return None
    return handle


def _close(*handles: int | None) -> None:
    for each in handles:
        if each is not None and each != NO_LOCK:
            os.close(each)


def check_replaceable(folder: Path) -> None:
    """A study may take the place of an earlier study or of nothing; InputError when anything else is there."""
    recover(folder)
    if folder.exists() and not (folder / MARK).is_file() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"{folder}: exists and is no study; name another folder")
    names = sorted(each.name for each in folder.iterdir()) if folder.exists() else []
    strange = [each for each in names if each not in OF_A_STUDY and not any(_leftover(each, of) for of in OF_A_STUDY)]
    if strange:  # the folder is replaced whole, and nothing of the user's may be lost
        raise InputError(f'{folder}: holds "{strange[0]}", which is not of the study; move it, or name another folder')
    parent = folder.resolve().parent
    if not parent.is_dir():
        raise InputError(f"{folder}: the folder {parent} does not exist")
    check_writable(parent)


def check_writable(folder: Path) -> None:
    """InputError where nothing can be written into a folder: better told before hours of work than after."""
    try:
        Path(tempfile.mkdtemp(dir=folder, prefix=".try.")).rmdir()
    except OSError as error:
        raise InputError(f"{folder}: cannot be written to ({error.strerror or error})") from None


def replace_folder(folder: Path, fill: Callable[[Path], None]) -> None:
    """Let `fill` write a new folder beside the place, then swap it in; an earlier study stays until that moment.

    Killed on the way, it leaves what `recover` finds.
    """
    check_replaceable(folder)
    folder = folder.resolve()
    fresh = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    aside = fresh.with_name(fresh.name + ASIDE)
    handle = _lock(fresh)
    try:
        fill(fresh)
        fresh.chmod(0o755)
        if folder.exists():
            folder.rename(aside)
        try:
            fresh.rename(folder)
        except OSError:
            if aside.exists():
                aside.rename(folder)
            raise
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
        if folder.exists():  # else what was set aside is all there is
            _remove(aside)
        _close(handle)
