"""Files from outside as bytes, within limits, and what a message may carry of them. Nothing is parsed here."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from .errors import InputError


def bytes_of(path: Path, most: int) -> bytes:
    """The bytes of a plain file, as many as it may have and one more where it has more.

    OSError as by opening it; InputError for what is no plain file: a pipe is waited for, a device may have no end.
    """
    place = str(path)
    if "\0" in place:
        raise InputError(f"{place!r}: is no name of a file")
    if os.path.isdir(place):  # before it is opened, which some systems refuse in words of their own
        raise InputError(f"{path}: is a folder")
    # Not to wait for whoever writes into a pipe, nor to make a terminal one's own.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
    if os.path.lexists(place) and not stat.S_ISREG(os.stat(place).st_mode):
        raise InputError(f"{path}: is no file")
    with open(os.open(place, flags), "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):  # it may have changed between the two looks
            raise InputError(f"{path}: is no file")
        return file.read(most + 1)


def read_within(path: Path, most: int, expected: str) -> bytes:
    """The bytes of a file from outside; every reader of one begins here.

    most: how many it may have; expected: what it should be, in words. InputError when it is missing, no plain file,
    unreadable or above the limit.
    """
    try:
        data = bytes_of(path, most)
        if len(data) > most:
            check_size(path, max(os.stat(path).st_size, len(data)), most)
        return data
    except InputError as error:  # is a ValueError too
        raise error if "; expected" in str(error) else InputError(f"{error}; expected {expected}") from None
    except FileNotFoundError:
        raise InputError(f"{path}: no such file") from None
    except (OSError, ValueError) as error:
        raise InputError(f"{path}: cannot be read ({getattr(error, 'strerror', None) or error})") from None


def text_within(path: Path, most: int, expected: str) -> str:
    """The text of a UTF-8 file from outside; InputError as `read_within`, and for a byte that is none of it."""
    return utf8(read_within(path, most, expected), path)


def utf8(data: bytes, place: object) -> str:
    """Bytes as UTF-8 text, a byte order mark left out; InputError names line and byte that are none of it."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{place}: line {line}: cannot be read as UTF-8 text: byte {error.start + 1} is none of it"
        ) from None


def check_inside(path: Path, folder: Path) -> None:
    """InputError where a path, links in it followed, leads out of a folder that somebody sent."""
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):  # a name that none can have, or links that lead in a ring
        inside = False
    if not inside:
        raise InputError(f"{path}: leads out of {folder}; expected a file within it")


def check_size(place: object, size: int, most: int, of: str = "") -> None:
    """InputError where something at a place has more bytes than it may; of: what was expected, as "a data set of "."""
    if size > most:
        raise InputError(f"{place}: {size / 1e6:.3g} MB; expected {of}at most {most / 1e6:g} MB")


def shown(text: object, limit: int = 60) -> str:
    """Text of a file as a message may carry it: printable, and cut where it is long."""
    clean = "".join(each if each.isprintable() else "?" for each in str(text)[: limit + 1])
    return clean if len(clean) <= limit else f"{clean[: limit - 3]}..."


def reason(error: Exception) -> str:
    """What a library says of a file that it can't read, as a message may carry it: its first line, or its name."""
    return shown((str(error).splitlines() or [type(error).__name__])[0], 120)
