"""Files from outside as bytes, within limits, and what a message may carry of them. Nothing is parsed here."""

from __future__ import annotations

from pathlib import Path

from .errors import InputError


def read_within(path: Path, most: int, expected: str) -> bytes:
    """The bytes of a file. most: how many it may have; expected: what it should be, in words.

    InputError when it is missing, no file, unreadable or above the limit.
    """
    try:
        if path.is_dir():
            raise InputError(f"{path}: is a folder; expected {expected}")
        if path.exists() and not path.is_file():  # a device may have no end
            raise InputError(f"{path}: is no file; expected {expected}")
        check_size(path, path.stat().st_size, most)
        return path.read_bytes()
    except InputError:  # is a ValueError too
        raise
    except FileNotFoundError:
        raise InputError(f"{path}: no such file") from None
    except (OSError, ValueError) as error:
        raise InputError(f"{path}: cannot be read ({error})") from None


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
