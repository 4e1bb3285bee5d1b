"""What readers decide about one study: the shortlist, sets of limits, and the way back over both.

Kept beside the runs in `decisions.json`, written whole or not at all, one writer at a time. The file is hostile until
parsed: one that cannot be read is set aside under another name and told, never lost.
"""

from __future__ import annotations

import json
import math
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, field_validator, model_validator

from materials.errors import Checked, InputError
from optimiser.search import files

FILE, LOCK = "decisions.json", "decisions.lock"
MOST_KEPT = 24
MOST_LIMIT_SETS = 40
MOST_SPANS = 20  # figures in one set of limits
LONGEST_NOTE = 500  # characters
LONGEST_NAME = 60
STEPS_KEPT = 100
LARGEST_FILE = 4_000_000  # bytes; a full one stays well below
PATIENCE = 5.0  # s to wait for another writer

Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,79}$")]
Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Finite = Annotated[float, Field(allow_inf_nan=False)]
Spans = Annotated[dict[Annotated[str, Field(max_length=400)], list[Finite]], Field(max_length=MOST_SPANS)]


class Kept(Checked):
    """A wall of the shortlist: its run (None: the study itself), why it is there, and when it was kept (UTC)."""

    run: Id | None
    wall: Id
    note: Annotated[str, Field(max_length=LONGEST_NOTE)] = ""
    at: Annotated[str, Field(max_length=40)] = ""


class _Step(Checked):
    """One decision: what it was, and what stood in its place before and after. A kept wall carries its place."""

    words: Annotated[str, Field(max_length=200)]
    kind: Literal["kept", "limits"]
    run: Id | None = None
    name: Annotated[str, Field(max_length=80)]  # of the wall, or of the set
    place: Annotated[int, Field(ge=0, le=1000)] = 0
    before: Kept | Spans | None = None
    after: Kept | Spans | None = None

    @model_validator(mode="after")
    def _fits(self) -> _Step:
        wanted = Kept if self.kind == "kept" else dict
        for each in (self.before, self.after):
            if each is not None and not isinstance(each, wanted):
                raise ValueError(f"a step of {self.kind} that holds something else")
        return self


class _State(Checked):
    """The file."""

    version: Annotated[int, Field(ge=0, le=2**53)] = 0
    kept: Annotated[tuple[Kept, ...], Field(max_length=MOST_KEPT)] = ()
    limit_sets: Annotated[dict[Name, Spans], Field(max_length=MOST_LIMIT_SETS)] = Field(default_factory=dict)
    undo: Annotated[tuple[_Step, ...], Field(max_length=STEPS_KEPT)] = ()
    redo: Annotated[tuple[_Step, ...], Field(max_length=STEPS_KEPT)] = ()
    set_aside: Annotated[str, Field(max_length=200)] = ""

    @field_validator("limit_sets")
    @classmethod
    def _ends(cls, value: dict[str, Any]) -> dict[str, Any]:
        for name, spans in value.items():
            if any(len(span) != 2 or span[0] > span[1] for span in spans.values()):
                raise ValueError(f'the set "{name}" has a span that is none')
        return value

    @model_validator(mode="after")
    def _once_each(self) -> _State:
        if len({(each.run, each.wall) for each in self.kept}) < len(self.kept):
            raise ValueError("a wall is kept twice")
        return self


@dataclass(frozen=True)
class Board:
    """What stands decided. version changes with every decision; undo, redo: what would be undone or redone, in words.

    trouble: why earlier decisions are not here, in words; '' when nothing is wrong.
    """

    version: int
    kept: tuple[Kept, ...] = ()
    limit_sets: Mapping[str, dict[str, list[float]]] = field(default_factory=dict)
    undo: str = ""
    redo: str = ""
    trouble: str = ""

    def find(self, run: str | None, wall: str | None) -> Kept | None:
        """A wall of the shortlist; None where it is not kept."""
        return next((each for each in self.kept if each.run == run and each.wall == wall), None)


class Decisions:
    """The decisions in one folder, shared by all readers and processes. InputError where one cannot be made."""

    def __init__(self, folder: Path) -> None:
        self._path = Path(folder) / FILE
        self._seen: tuple[tuple[int, ...], Board] | None = None
        self._threads = threading.Lock()

    # What stands

    def board(self) -> Board:
        """What stands decided now; a damaged file is set aside first."""
        stamp = self._stamp()
        if stamp is None:
            return Board(0)
        seen = self._seen
        if seen is not None and seen[0] == stamp:
            return seen[1]
        try:
            state = _read(self._path)
        except OSError as error:
            return Board(0, trouble=f"{FILE} cannot be read ({error.strerror or error}).")
        except ValueError:
            try:
                with self._alone():
                    state = self._state()
            except InputError as error:
                return Board(0, trouble=str(error))
            stamp = self._stamp()
        found = _board(state)
        if stamp is not None:
            self._seen = (stamp, found)
        return found

    def _stamp(self) -> tuple[int, ...] | None:
        try:
            found = self._path.stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_size, found.st_ino

    # The shortlist

    def keep(self, run: str | None, wall: str) -> Board:
        """Put a wall at the end of the shortlist; one that is there already stays where it is."""

        def change(state: _State) -> _Step | None:
            if _place(state, run, wall) is not None:
                return None
            if len(state.kept) >= MOST_KEPT:
                raise InputError(f"The shortlist holds {MOST_KEPT} walls at most; take one off first.")
            after = _checked(Kept, run=run, wall=wall, at=datetime.now(UTC).isoformat(timespec="seconds"))
            place = len(state.kept)
            return _Step(words=f"keeping {wall}", kind="kept", run=run, name=wall, place=place, after=after)

        return self._decide(change)

    def note(self, run: str | None, wall: str, text: str) -> Board:
        """Write why a wall is on the shortlist: one line, at most 500 characters."""
        text = plain(text)
        if len(text) > LONGEST_NOTE:
            raise InputError(f"A note has at most {LONGEST_NOTE} characters; this one has {len(text)}.")

        def change(state: _State) -> _Step | None:
            place = _place(state, run, wall)
            if place is None:
                raise InputError(f"{wall} is no longer on the shortlist; its note was not kept.")
            before = state.kept[place]
            if before.note == text:
                return None
            after = before.model_copy(update={"note": text})
            words = f"the note on {wall}"
            return _Step(words=words, kind="kept", run=run, name=wall, place=place, before=before, after=after)

        return self._decide(change)

    def drop(self, run: str | None, wall: str) -> Board:
        """Take a wall off the shortlist, with its note."""

        def change(state: _State) -> _Step | None:
            place = _place(state, run, wall)
            if place is None:
                return None
            words, before = f"taking {wall} off", state.kept[place]
            return _Step(words=words, kind="kept", run=run, name=wall, place=place, before=before)

        return self._decide(change)

    # Sets of limits

    def save_limits(self, name: str, spans: Mapping[str, Sequence[float]]) -> Board:
        """Save limits (figure -> least, most) under a name; a set of that name is replaced."""
        name = plain(name)
        if not name or len(name) > LONGEST_NAME:
            raise InputError(f"A set of limits needs a name of 1 to {LONGEST_NAME} characters.")
        after = _spans(spans)

        def change(state: _State) -> _Step | None:
            before = state.limit_sets.get(name)
            if before == after:
                return None
            if before is None and len(state.limit_sets) >= MOST_LIMIT_SETS:
                raise InputError(f"{MOST_LIMIT_SETS} sets of limits are saved, which is the most; drop one first.")
            return _Step(words=f"saving the limits “{name}”", kind="limits", name=name, before=before, after=after)

        return self._decide(change)

    def drop_limits(self, name: str) -> Board:
        """Forget a set of limits."""

        def change(state: _State) -> _Step | None:
            before = state.limit_sets.get(name)
            if before is None:
                return None
            return _Step(words=f"dropping the limits “{name}”", kind="limits", name=name, before=before)

        return self._decide(change)

    # The way back

    def undo(self) -> str | None:
        """Take the last decision back, whoever made it; what was undone in words, None when there is nothing."""
        return self._step("undo", "redo")

    def redo(self) -> str | None:
        """Make the decision that was last undone again; what was redone in words, None when there is nothing."""
        return self._step("redo", "undo")

    def _step(self, from_: str, to: str) -> str | None:
        with self._alone():
            state = self._state()
            steps = getattr(state, from_)
            if not steps:
                return None
            step = steps[-1]
            found = _put(state, step, step.before if from_ == "undo" else step.after)
            moved = {from_: steps[:-1], to: (*getattr(state, to), step)[-STEPS_KEPT:]}
            self._write(found.model_copy(update=moved))
        return step.words

    def _decide(self, change: Callable[[_State], _Step | None]) -> Board:
        """Make a decision on what stands at this moment; nothing is written where it changes nothing."""
        with self._alone():
            state = self._state()
            step = change(state)
            if step is not None:
                undo = (*state.undo, step)[-STEPS_KEPT:]
                update = {"undo": undo, "redo": (), "set_aside": ""}
                self._write(_put(state, step, step.after).model_copy(update=update))
        return self.board()

    # The file

    def _state(self) -> _State:
        """What the file says; one that cannot be read is moved aside. Only while alone."""
        try:
            return _read(self._path)
        except FileNotFoundError:
            return _State()
        except OSError as error:
            raise InputError(f"{FILE} cannot be read ({error.strerror or error}).") from None
        except ValueError:
            name = f"decisions-damaged-{datetime.now(UTC):%Y%m%d-%H%M%S}-{time.time_ns() % 10**9:09d}.json"
            os.replace(self._path, self._path.with_name(name))
            return self._write(_State(set_aside=name))

    def _write(self, state: _State) -> _State:
        """Write under a new version: later than any before, even after the file was lost."""
        state = state.model_copy(update={"version": max(state.version + 1, time.time_ns() // 1_000_000)})
        try:
            files.write_text(self._path, _text(state))
        except OSError as error:
            raise InputError(f"{FILE} cannot be written ({error.strerror or error}).") from None
        self._seen = None
        return state

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Hold the lock of the folder; it ends with its process, however that ends."""
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            handle = self._path.with_name(LOCK).open("a")
        except OSError as error:
            raise InputError(f"{self._path.parent} cannot be written to ({error.strerror or error}).") from None
        with handle, self._threads:
            if files.fcntl is not None:
                _take(handle)
            yield


def _take(handle: Any) -> None:
    """Take the file lock; InputError when another process does not let go of it in time."""
    end = time.monotonic() + PATIENCE
    while True:
        try:
            files.fcntl.flock(handle, files.fcntl.LOCK_EX | files.fcntl.LOCK_NB)
            return
        except OSError:
            if time.monotonic() > end:
                raise InputError("Another program holds the shortlist; try again in a moment.") from None
            time.sleep(0.02)


def _read(path: Path) -> _State:
    """The file; ValueError where it is none of ours, OSError where it cannot be read."""
    if path.is_dir():
        raise ValueError("a folder")
    with path.open("rb") as file:
        raw = file.read(LARGEST_FILE + 1)
    if len(raw) > LARGEST_FILE:
        raise ValueError("too large")
    try:
        return _State.model_validate(json.loads(raw.decode("utf-8")))
    except RecursionError:
        raise ValueError("nested too deeply") from None


def _text(state: _State) -> str:
    return json.dumps(state.model_dump(mode="json"), ensure_ascii=False) + "\n"


def _board(state: _State) -> Board:
    trouble = f"Earlier decisions could not be read and were set aside as {state.set_aside}." if state.set_aside else ""
    limit_sets = {name: {key: list(span) for key, span in spans.items()} for name, spans in state.limit_sets.items()}
    undo, redo = ((steps[-1].words if steps else "") for steps in (state.undo, state.redo))
    return Board(state.version, state.kept, limit_sets, undo, redo, trouble)


def _place(state: _State, run: str | None, wall: str) -> int | None:
    """Where a wall stands on the shortlist."""
    return next((place for place, each in enumerate(state.kept) if (each.run, each.wall) == (run, wall)), None)


def _put(state: _State, step: _Step, value: Any) -> _State:
    """The state with what a step is about set to a value; None takes it away."""
    if step.kind == "limits":
        sets = dict(state.limit_sets)
        sets.pop(step.name, None) if value is None else sets.update({step.name: value})
        return state.model_copy(update={"limit_sets": sets})
    kept = [each for each in state.kept if (each.run, each.wall) != (step.run, step.name)]
    if value is not None:
        kept.insert(step.place, value)
    if len(kept) > MOST_KEPT:
        raise InputError(f"The shortlist holds {MOST_KEPT} walls at most; take one off first.")
    return state.model_copy(update={"kept": tuple(kept)})


def _checked(kind: type, **values: Any) -> Any:
    try:
        return kind(**values)
    except ValidationError:
        raise InputError("That is no wall that can be kept.") from None


def _spans(spans: Mapping[str, Sequence[float]]) -> dict[str, list[float]]:
    """Spans as they are kept; InputError where one is none."""
    found = {}
    for key, span in spans.items():
        ends = [float(each) for each in span]
        if len(ends) != 2 or not all(map(math.isfinite, ends)) or ends[0] > ends[1] or not 0 < len(key) <= 400:
            raise InputError(f"{key}: expected a least and a most, in that order.")
        found[key] = ends
    if not 0 < len(found) <= MOST_SPANS:
        raise InputError(f"A set of limits has 1 to {MOST_SPANS} figures.")
    return found


def plain(text: str) -> str:
    """Words as one line, without control characters and lone surrogates."""
    words = "".join(sign if sign.isprintable() else " " for sign in str(text or ""))
    return " ".join(words.encode("utf-8", "ignore").decode("utf-8").split())
