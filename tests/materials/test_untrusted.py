"""Files from outside as bytes: one message each for what can't be read, told once."""

from __future__ import annotations

import os
import re

import pytest

from materials.errors import InputError
from materials.untrusted import check_size, read_within, reason, shown

PIPES = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")


def test_what_is_within_the_limit_is_read(tmp_path):
    (tmp_path / "a").write_bytes(b"12345")
    assert read_within(tmp_path / "a", 5, "a list") == b"12345"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("large", "{}: 3 MB; expected at most 2 MB"),
        ("none", "{}: no such file"),
        ("folder", "{}: is a folder; expected a list"),
        pytest.param("pipe", "{}: is no file; expected a list", marks=PIPES),
    ],
)
def test_each_fault_is_told_once_and_in_full(tmp_path, name, words):
    """The path stands in the message once: no fault is wrapped into another."""
    (tmp_path / "folder").mkdir()
    with (tmp_path / "large").open("wb") as file:
        file.truncate(3_000_000)
    if name == "pipe":
        os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match=f"^{re.escape(words.format(tmp_path / name))}$"):
        read_within(tmp_path / name, 2_000_000, "a list")


def test_a_name_that_no_system_has(tmp_path):
    with pytest.raises(InputError):
        read_within(tmp_path / "a\0b", 5, "a list")


def test_sizes_are_told_as_they_are():
    check_size("a", 8_000_000, 8_000_000)
    with pytest.raises(InputError, match=r"^a, b: 20\.5 MB; expected a data set of at most 8 MB$"):
        check_size("a, b", 20_500_000, 8_000_000, "a data set of ")


def test_words_of_a_file_are_cut_and_made_printable():
    assert shown("a\x1b[31m\nb") == "a?[31m?b"
    assert shown("x" * 60) == "x" * 60
    assert shown("x" * 61) == "x" * 57 + "..."


def test_the_reason_is_one_line_or_the_name_of_the_error():
    assert reason(ValueError("bad \x07\nmore")) == "bad ?"
    assert reason(KeyError()) == "KeyError"
    assert len(reason(ValueError("x" * 500))) == 120
