"""Uploaded price lists and declarations that wait for a search: kept in a folder each, known by an unguessable key.

Nothing of a file is believed before `upload_worker` has read it. Whoever holds a key sees its upload, nobody else.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
import subprocess
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import BoundedSemaphore
from typing import Annotated, Any, Literal

from pydantic import Field

from materials.declared import declaration_files
from materials.errors import InputError
from materials.listed import mapping as listed_mapping
from materials.listed import supplier_files
from optimiser.search import files
from optimiser.search.processes import start_worker
from optimiser.search.records import Count, Written, checked

from ..numbers import spelt

KEY = re.compile(r"[A-Za-z0-9_-]{22,43}")
MOST_FILES = 12
MOST_KEPT = 40
KEPT_SECONDS = 2 * 24 * 3600
SECONDS = 30.0  # to read one file
AT_ONCE = 2  # files read at the same time
WAIT = 20.0  # s for a place among them
KINDS = "a price list (.csv, .xlsx), its mapping (.toml) or declarations (.xml, .json, .zip)"
PRICES, MAPPING, DECLARATIONS = "list", "mapping", "declarations"


class _ReadRecord(Written):
    """read.json of an upload."""

    kind: Literal["list", "declarations"]
    name: str
    file: Annotated[str, Field(pattern=r"^[^/\\\x00]+$")]
    mapping: str | None = None
    words: str = ""
    suppliers: list[str] = Field(default_factory=list)
    currencies: list[str] = Field(default_factory=list)
    named: list[str] = Field(default_factory=list)
    passed_over: list[str] = Field(default_factory=list)
    faults: list[dict[str, Any]] = Field(default_factory=list)
    fault_count: Count = 0
    declarations: list[dict[str, Any]] = Field(default_factory=list)
    stem: list[str] = Field(default_factory=list)
    keys: list[str] = Field(default_factory=list)


@dataclass(frozen=True)
class Upload:
    """One uploaded file as it was read. kind: list or declarations; words: why it can't be used, '' where it can."""

    key: str
    kind: str
    name: str  # as its owner calls it
    path: Path
    mapping: str = ""
    words: str = ""
    suppliers: tuple[str, ...] = ()
    currencies: tuple[str, ...] = ()
    named: frozenset[str] = frozenset()  # declarations that its products name
    passed_over: tuple[str, ...] = ()
    faults: tuple[dict[str, Any], ...] = ()
    fault_count: int = 0
    declarations: tuple[dict[str, Any], ...] = ()
    stem: tuple[str, ...] = ()
    keys: frozenset[str] = field(default=frozenset(), repr=False)

    @property
    def good(self) -> bool:
        """Whether it can be used: read as a whole, without a fault."""
        return not self.words and not self.fault_count and bool(self.keys or self.declarations)

    @property
    def names(self) -> set[str]:
        """What its declarations are called where something is to be said of them."""
        return {each["name"] for each in self.declarations} | ({self.path.name} if self.declarations else set())

    @property
    def declared(self) -> set[str]:
        """The words by which products may name its declarations."""
        return {each["key"].lower() for each in self.declarations} | set(self.stem)


class Uploads:
    """The uploads in one folder."""

    def __init__(self, home: Path) -> None:
        self.home = home.resolve()
        self._places = BoundedSemaphore(AT_ONCE)

    def take(
        self, sent: Sequence[tuple[str, bytes]], known: Iterable[str] = (), own: Mapping[str, Any] | None = None
    ) -> tuple[list[str], list[str]]:
        """Keep and read files (name, bytes). Returns the keys of what is now there, newest last, and what to say.

        known: keys of the same browser; a mapping that comes alone joins the list of its name among them. own: the
        tables of the brief's own materials, which lists may name.
        """
        self._sweep()
        own = dict(own or {})
        keys = [each for each in dict.fromkeys(known) if self.get(each) is not None]
        said: list[str] = []
        if len(sent) > MOST_FILES:
            return keys, [f"{len(sent)} files; expected at most {MOST_FILES} at a time"]
        sorted_out: dict[str, list[tuple[str, bytes]]] = {PRICES: [], MAPPING: [], DECLARATIONS: []}
        for name, data in sent:
            name = declaration_files.shown(Path(name.replace("\\", "/")).name or "a file without a name", 120)
            kind, fault = kind_of(name, len(data))
            said += [fault] if fault else []
            sorted_out[kind] += [] if fault else [(name, data)]
        mappings = dict(sorted_out[MAPPING])
        lists = sorted_out[PRICES]
        for name, data in lists:
            mapping = _mapping_for(name, mappings, alone=len(lists) == 1)
            keys.append(self._keep(PRICES, name, data, own, (mapping, mappings.pop(mapping)) if mapping else None))
        for name, data in sorted_out[DECLARATIONS]:
            keys.append(self._keep(DECLARATIONS, name, data, own))
        for name, data in mappings.items():
            said += self._join(name, data, keys, own)
        return keys, said

    def get(self, key: object) -> Upload | None:
        """An upload by its key; None where there is none."""
        if not isinstance(key, str) or not KEY.fullmatch(key):
            return None
        place = self.home / key / "read.json"
        try:
            raw = checked(files.read_json(place), _ReadRecord, place)
        except InputError:  # none, or none that was written here
            return None
        lists = {name: tuple(raw.get(name, ())) for name in ("suppliers", "currencies", "passed_over", "faults")}
        return Upload(
            key,
            raw["kind"],
            raw["name"],
            self.home / key / raw["file"],
            raw.get("mapping") or "",
            raw.get("words", ""),
            **lists,
            named=frozenset(raw.get("named", ())),
            fault_count=raw.get("fault_count", 0),
            declarations=tuple(raw.get("declarations", ())),
            stem=tuple(raw.get("stem", ())),
            keys=frozenset(raw.get("keys", ())),
        )

    def drop(self, key: str) -> None:
        """Forget an upload."""
        if self.get(key) is not None:
            shutil.rmtree(self.home / key, ignore_errors=True)

    def ask(self, request: dict[str, Any], name: str) -> dict[str, Any]:
        """The answer of a worker process; `words` in it where there is none. name: of the file, for the words."""
        if not self._places.acquire(timeout=WAIT):
            return {"words": f"{name}: other files are being read just now; try again in a moment"}
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
        try:
            self.home.mkdir(parents=True, exist_ok=True)
            with start_worker("dashboard.pricelists.upload_worker", home=self.home, **pipes) as process:
                try:
                    answer, _ = process.communicate(json.dumps(request).encode(), SECONDS)
                finally:
                    process.kill()  # one that has not answered by now; nothing to one that has
            return json.loads(answer)
        except subprocess.TimeoutExpired:
            return {"words": f"{name}: given up after {SECONDS:.0f} s; expected a file that is read in less"}
        except ValueError:  # it ended without a word: the limits on memory and time
            return {"words": f"{name}: takes more memory or time to read than such a file does"}
        finally:
            self._places.release()

    def _keep(
        self, kind: str, name: str, data: bytes, own: Mapping[str, Any], mapping: tuple[str, bytes] | None = None
    ) -> str:
        key = secrets.token_urlsafe(18)
        folder = self.home / key
        folder.mkdir(parents=True)
        file = safe_name(name)
        (folder / file).write_bytes(data)
        self._read(folder, kind, name, file, own, mapping)
        return key

    def _read(
        self, folder: Path, kind: str, name: str, file: str, own: Mapping[str, Any], mapping: tuple[str, bytes] | None
    ) -> None:
        beside = (folder / file).with_suffix(".toml")
        if mapping is not None:
            beside.write_bytes(mapping[1])
        request = {
            "kind": kind,
            "name": name,
            "file": str(folder / file),
            "mapping": str(beside) if mapping is not None else None,
            "own": dict(own),
        }
        answer = self.ask(request, name)
        if answer.get("words"):  # the worker knows the file by its place here
            answer["words"] = answer["words"].replace(str(folder / file), name)
        about = {"kind": kind, "name": name, "file": file, "mapping": mapping and mapping[0]}
        files.write_json(folder / "read.json", answer | about)

    def _join(self, name: str, data: bytes, keys: Iterable[str], own: Mapping[str, Any]) -> list[str]:
        """Read a list again with the mapping that came for it; says so where there is no such list."""
        lists = [each for key in keys if (each := self.get(key)) is not None and each.kind == PRICES]
        named = [each for each in lists if Path(each.name).stem.casefold() == Path(name).stem.casefold()]
        bare = [each for each in lists if not each.mapping]
        target = named[-1:] or (bare if len(bare) == 1 else [])
        if not target:
            return [f"{name}: belongs to no list here; expected a price list of the same name before or with it"]
        upload = target[0]
        self._read(upload.path.parent, PRICES, upload.name, upload.path.name, own, (name, data))
        return []

    def _sweep(self) -> None:
        """Forget what is old, and the oldest where there are many."""
        if not self.home.is_dir():
            return
        aged = sorted((each.stat().st_mtime, each) for each in self.home.iterdir() if KEY.fullmatch(each.name))
        old = [each for when, each in aged if when < time.time() - KEPT_SECONDS]
        for folder in {*old, *(each for _, each in aged[:-MOST_KEPT])}:
            shutil.rmtree(folder, ignore_errors=True)


def kind_of(name: str, size: int) -> tuple[str, str]:
    """What a file is by its suffix, and why it can't be taken, '' where it can."""
    suffix = Path(name).suffix.lower()
    for kind, suffixes, most in (
        (PRICES, supplier_files.SUFFIXES, supplier_files.MAX_BYTES),
        (MAPPING, (".toml",), listed_mapping.MAX_BYTES),
        (DECLARATIONS, declaration_files.SUFFIXES, declaration_files.MAX_BYTES),
    ):
        if suffix in suffixes:
            large = (
                f"{name}: {spelt(size / 1e6, '.3g')} MB; expected at most {spelt(most / 1e6, 'g')} MB"
                if size > most
                else ""
            )
            return kind, large or ("" if size else f"{name}: is empty; expected {KINDS}")
    return PRICES, f"{name}: expected {KINDS}"


def safe_name(name: str) -> str:
    """A file name that is one, whatever somebody called the file: letters, digits and ' ._-', its suffix kept."""
    path = Path(name)
    stem = "".join(each if each.isalnum() or each in " ._-" else "_" for each in path.stem).strip(" .")
    return f"{stem[:60].strip(' .') or 'list'}{path.suffix.lower()}"


def _mapping_for(name: str, mappings: dict[str, bytes], alone: bool) -> str | None:
    """The mapping that came with a list: the one of its name, or the only one for the only list."""
    same = [each for each in mappings if Path(each).stem.casefold() == Path(name).stem.casefold()]
    return same[0] if same else next(iter(mappings)) if alone and len(mappings) == 1 else None
