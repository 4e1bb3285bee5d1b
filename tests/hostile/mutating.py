"""Files made bad from good ones: bytes, lines, numbers, words, cells and whole branches changed, each by a seed."""

from __future__ import annotations

import io
import json
import random
import re
import tomllib
import zipfile
from collections.abc import Callable
from pathlib import PurePath
from typing import Any

import tomli_w

NUMBERS = (
    "NaN", "nan", "inf", "-inf", "Infinity", "-Infinity", "-1e308", "1e308", "1e999", "-1", "0", "-0.0", "1e-320",
    "1" * 400, "9" * 5000, "0x10", "1_000", "1,5", "12 kg", "٣", "--1", "", "2147483648", "18446744073709551616",
    "true",
)  # fmt: skip
WORDS = (
    "", "../../evil", "/etc/passwd", "..", ".", "a\0b", "\ud800", "=1+1", "x" * 5000, "\u202e", "<b>&amp;", "none",
    "W-001/../x", "con", "-", "'", '"', "é" * 300, "\n", "%s%n", "{}", "demo:", "demo:../x", "1e5", "\ufeff", "\x1b[2J",
)  # fmt: skip
TOKENS = (b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\xc3", b"[" * 3000, b"{" * 3000, b'"', b"'", b'"""', b"\r", b"\n\n",
          b",,,,,,", b";", b"[[", b"]]", b"<!DOCTYPE x>", b"&a;", b"]]>", b"a." * 400, b"\\ud800",
          b"-1e308", b"NaN")  # fmt: skip
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
QUOTED = re.compile(rb'"[^"\n]{0,200}"')
MOST_BYTES = 3_000_000


def mutated(data: bytes, name: str, rng: random.Random) -> bytes:
    """The file with one to four things wrong with it."""
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        data = rng.choice(ways_of(name))(data, rng)
        if len(data) > MOST_BYTES:
            break
    return data


def ways_of(name: str) -> tuple[Callable[[bytes, random.Random], bytes], ...]:
    kind = PurePath(name).suffix
    plain = (some_bytes, lines, a_number, a_number, a_word)
    if kind == ".json":
        return (*plain, json_branch, json_branch, json_branch, json_branch)
    if kind == ".toml":
        return (*plain, toml_branch, toml_branch, toml_branch, toml_branch)
    if kind in (".csv", ".epw"):
        return (*plain, cells, cells, cells)
    if kind in (".xlsx", ".zip"):
        return (some_bytes, part_of_archive, part_of_archive, part_of_archive)
    return plain


def some_bytes(data: bytes, rng: random.Random) -> bytes:
    one, other = sorted(rng.randrange(len(data) + 1) for _ in range(2))
    near = min(other, one + rng.randrange(200))
    way = rng.randrange(9)
    if way == 0 and data:
        at = rng.randrange(len(data))
        return data[:at] + bytes([data[at] ^ 1 << rng.randrange(8)]) + data[at + 1 :]
    if way == 1:
        return data[:one] + rng.randbytes(rng.randrange(1, 40)) + data[one:]
    if way == 2:
        return data[:one] + data[near:]
    if way == 3:
        return data[:one]
    if way == 4:
        times = rng.choice((2, 10, 1000, 20_000))
        piece = data[one : min(near, one + MOST_BYTES // times)]
        return data[:one] + piece * times + data[one:]
    if way == 5:
        return rng.choice(TOKENS) + data
    if way == 6:
        return data.decode("utf-8", "replace").encode(rng.choice(("utf-16", "utf-32", "cp037")), "replace")
    if way == 7:
        return data[other:] + data[:one]
    return data[:one] + rng.choice(TOKENS) + data[one:]


def lines(data: bytes, rng: random.Random) -> bytes:
    held = data.split(b"\n")
    at, to = rng.randrange(len(held)), rng.randrange(len(held))
    way = rng.randrange(4)
    if way == 0:
        del held[at]
    elif way == 1:
        held.insert(to, held[at])
    elif way == 2:
        held[at], held[to] = held[to], held[at]
    else:
        held[at] = held[at] * rng.choice((2, 300))
    return b"\n".join(held)


def _replaced(data: bytes, pattern: re.Pattern[bytes], new: bytes, rng: random.Random) -> bytes:
    matches = list(pattern.finditer(data[:200_000]))
    if not matches:
        return data + new
    one = rng.choice(matches)
    return data[: one.start()] + new + data[one.end() :]


def a_number(data: bytes, rng: random.Random) -> bytes:
    return _replaced(data, NUMBER, rng.choice(NUMBERS).encode(), rng)


def a_word(data: bytes, rng: random.Random) -> bytes:
    return _replaced(data, QUOTED, b'"' + rng.choice(WORDS).encode("utf-8", "surrogatepass") + b'"', rng)


def cells(data: bytes, rng: random.Random) -> bytes:
    held = data.split(b"\n")
    at = rng.randrange(len(held))
    row = held[at].split(b",")
    place = rng.randrange(len(row))
    way = rng.randrange(4)
    if way == 0:
        row[place] = rng.choice(NUMBERS).encode()
    elif way == 1:
        row[place] = rng.choice(WORDS).encode("utf-8", "surrogatepass")
    elif way == 2:
        del row[place]
    else:
        row[place:place] = [b"x"] * rng.choice((1, 70))
    held[at] = b",".join(row)
    return b"\n".join(held)


def odd_value(rng: random.Random, toml: bool = False) -> Any:
    deep: Any = []
    for _ in range(rng.choice((3, 50, 500))):
        deep = [deep] if rng.randrange(2) else {"a": deep}
    odd = [[], {}, True, [1, "a"], {"a": {}}, "x", 0, -1, 0.5, 1e308, -1e308, 1e-320, float("nan"), float("inf")]
    odd += [2**53, 2**63 - 1, rng.choice(WORDS), [rng.choice(WORDS)] * 3, [1] * rng.choice((2, 5000)), deep]
    return rng.choice(odd if toml else [*odd, None, 10**400, -(10**350)])


def change_branch(root: Any, rng: random.Random, toml: bool) -> Any:
    """A parsed file with one of its values replaced, taken out, renamed or doubled."""
    places = []
    stack = [root]
    while stack:
        held = stack.pop()
        for key in list(held) if isinstance(held, dict) else range(len(held)) if isinstance(held, list) else ():
            places.append((held, key))
            stack.append(held[key])
    if not places or rng.random() < 0.02:
        return odd_value(rng, toml)
    held, key = rng.choice(places)
    way = rng.randrange(6)
    if way == 0:
        del held[key]
    elif way == 1 and isinstance(held, dict):
        held[rng.choice((*WORDS, "extra"))] = held.pop(key)
    elif way == 2 and isinstance(held, list):
        held[key:key] = [held[key]] * rng.choice((1, 2000))
    elif way == 3 and isinstance(held[key], int | float) and not isinstance(held[key], bool):
        held[key] = rng.choice((-held[key], held[key] * 1e300, held[key] * 1e-300, 0, str(held[key]), 1.5))
    else:
        held[key] = odd_value(rng, toml)
    return root


def json_branch(data: bytes, rng: random.Random) -> bytes:
    try:
        root = change_branch(json.loads(data), rng, False)
        return json.dumps(root).encode()
    except (ValueError, RecursionError):
        return some_bytes(data, rng)


def toml_branch(data: bytes, rng: random.Random) -> bytes:
    try:
        root = change_branch(tomllib.loads(data.decode()), rng, True)
        return tomli_w.dumps(root).encode("utf-8", "surrogatepass")
    except (ValueError, TypeError, AttributeError, RecursionError):
        return some_bytes(data, rng)


def part_of_archive(data: bytes, rng: random.Random) -> bytes:
    """An archive with one part of it made bad, gone or doubled."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = [(each.filename, packed.read(each)) for each in packed.infolist()]
    except Exception:  # it is bad already
        return some_bytes(data, rng)
    if not parts:
        return data
    at = rng.randrange(len(parts))
    name, held = parts[at]
    way = rng.randrange(12)
    if way == 0:
        del parts[at]
    elif way == 1:
        parts.append((name, held))
    elif way == 2:
        parts[at] = (rng.choice(("../evil", "/abs", "x" * 300, name.upper())), held)
    else:
        parts[at] = (name, mutated(held, name if name.endswith(".json") else "part.xml", rng))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", rng.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED))) as packed:
        for each, text in parts:
            packed.writestr(zipfile.ZipInfo(each.replace("\0", "")), text)
    return out.getvalue()
