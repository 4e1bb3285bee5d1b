"""What readers decide about one study: the shortlist, sets of limits, and the way back over both.

Kept beside the runs in `decisions.json`, written whole or not at all, one writer at a time. The file is hostile until
parsed: one that cannot be read is set aside under another name and told, never lost.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from materials.errors import InputError
from optimiser.search import files

from ..wall.my_wall import is_own, own_id
from .decision_file import (
    LARGEST_BUILD_UP,
    LONGEST_NAME,
    LONGEST_NOTE,
    MOST_KEPT,
    MOST_LIMIT_SETS,
    MOST_SPANS,
    STEPS_KEPT,
    Board,
    DecisionStep,
    ShortlistEntry,
    State,
    board_of,
    fitted,
    place_of,
    put,
    read,
    text_of,
)

FILE, LOCK = "decisions.json", "decisions.lock"
PATIENCE = 5.0  # s to wait for another writer


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
            state = read(self._path)
        except OSError as error:
            return Board(0, trouble=f"{FILE} cannot be read ({error.strerror or error}).")
        except ValueError:
            try:
                with self._alone():
                    state = self._state()
            except InputError as error:
                return Board(0, trouble=str(error))
            stamp = self._stamp()
        board = board_of(state)
        if stamp is not None:
            self._seen = (stamp, board)
        return board

    def _stamp(self) -> tuple[int, ...] | None:
        try:
            stat = self._path.stat()
        except OSError:
            return None
        return stat.st_mtime_ns, stat.st_size, stat.st_ino

    # The shortlist

    def keep(self, run: str | None, wall: str) -> Board:
        """Put a wall at the end of the shortlist; one that is there already stays where it is."""
        return self._decide(lambda state: _keeping(state, run, wall))

    def keep_own(self, run: str | None, text: str, name: str) -> Board:
        """Put one's own wall, its build-up file and name, at the end of the shortlist; the run's brief judges it.

        A name that another of one's own has is numbered.
        """
        try:
            size, wall = len(text.encode("utf-8")), own_id(text)
        except UnicodeEncodeError:
            raise InputError("This build-up is no text that can be kept.") from None
        if size > LARGEST_BUILD_UP:
            raise InputError(f"A build-up file larger than {LARGEST_BUILD_UP // 1000} kB is not kept.")

        def change(state: State) -> DecisionStep | None:
            return _keeping(state, run, wall, _free_name(state, wall, name))

        return self._decide(change, {wall: text})

    def note(self, run: str | None, wall: str, text: str) -> Board:
        """Write why a wall is on the shortlist: one line, at most 500 characters."""
        text = plain(text)
        if len(text) > LONGEST_NOTE:
            raise InputError(f"A note has at most {LONGEST_NOTE} characters; this one has {len(text)}.")

        def change(state: State) -> DecisionStep | None:
            place = place_of(state, run, wall)
            if place is None:
                gone = "This wall" if is_own(wall) else wall
                raise InputError(f"{gone} is no longer on the shortlist; its note was not kept.")
            before = state.kept[place]
            if before.note == text:
                return None
            after = before.model_copy(update={"note": text})
            words = f"the note on {before.called}"
            return DecisionStep(words=words, kind="kept", run=run, name=wall, place=place, before=before, after=after)

        return self._decide(change)

    def drop(self, run: str | None, wall: str) -> Board:
        """Take a wall off the shortlist, with its note."""

        def change(state: State) -> DecisionStep | None:
            place = place_of(state, run, wall)
            if place is None:
                return None
            before = state.kept[place]
            words = f"taking {before.called} off"
            return DecisionStep(words=words, kind="kept", run=run, name=wall, place=place, before=before)

        return self._decide(change)

    # Sets of limits

    def save_limits(self, name: str, spans: Mapping[str, Sequence[float]]) -> Board:
        """Save limits (figure -> least, most) under a name; a set of that name is replaced."""
        name = plain(name)
        if not name or len(name) > LONGEST_NAME:
            raise InputError(f"A set of limits needs a name of 1 to {LONGEST_NAME} characters.")
        after = _spans(spans)

        def change(state: State) -> DecisionStep | None:
            before = state.limit_sets.get(name)
            if before == after:
                return None
            if before is None and len(state.limit_sets) >= MOST_LIMIT_SETS:
                raise InputError(f"{MOST_LIMIT_SETS} sets of limits are saved, which is the most; drop one first.")
            return DecisionStep(
                words=f"saving the limits “{name}”", kind="limits", name=name, before=before, after=after
            )

        return self._decide(change)

    def drop_limits(self, name: str) -> Board:
        """Forget a set of limits."""

        def change(state: State) -> DecisionStep | None:
            before = state.limit_sets.get(name)
            if before is None:
                return None
            return DecisionStep(words=f"dropping the limits “{name}”", kind="limits", name=name, before=before)

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
            changed = put(state, step, step.before if from_ == "undo" else step.after)
            moved = {from_: steps[:-1], to: (*getattr(state, to), step)[-STEPS_KEPT:]}
            self._write(changed.model_copy(update=moved))
        return step.words

    def _decide(self, change: Callable[[State], DecisionStep | None], texts: Mapping[str, str] | None = None) -> Board:
        """Make a decision on what stands at this moment; nothing is written where it changes nothing.

        texts: build-ups that come with it, by id.
        """
        with self._alone():
            state = self._state()
            step = change(state)
            if step is not None:
                undo = (*state.undo, step)[-STEPS_KEPT:]
                build_ups = {**state.build_ups, **(texts or {})}
                update = {"undo": undo, "redo": (), "set_aside": "", "build_ups": build_ups}
                self._write(put(state, step, step.after).model_copy(update=update))
        return self.board()

    # The file

    def _state(self) -> State:
        """What the file says; one that cannot be read is moved aside. Only while alone."""
        try:
            return read(self._path)
        except FileNotFoundError:
            return State()
        except OSError as error:
            raise InputError(f"{FILE} cannot be read ({error.strerror or error}).") from None
        except ValueError:
            name = f"decisions-damaged-{datetime.now(UTC):%Y%m%d-%H%M%S}-{time.time_ns() % 10**9:09d}.json"
            os.replace(self._path, self._path.with_name(name))
            return self._write(State(set_aside=name))

    def _write(self, state: State) -> State:
        """Write under a new version: later than any before, even after the file was lost."""
        version = max(state.version + 1, time.time_ns() // 1_000_000)
        state = fitted(state).model_copy(update={"version": version})
        try:
            files.write_text(self._path, text_of(state))
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


def _keeping(state: State, run: str | None, wall: str, name: str = "") -> DecisionStep | None:
    """Keeping a wall as a step; None where it is kept already. InputError where it cannot be."""
    if place_of(state, run, wall) is not None:
        return None
    if len(state.kept) >= MOST_KEPT:
        raise InputError(f"The shortlist holds {MOST_KEPT} walls at most; take one off first.")
    after = _checked(ShortlistEntry, run=run, wall=wall, name=name, at=datetime.now(UTC).isoformat(timespec="seconds"))
    place = len(state.kept)
    return DecisionStep(words=f"keeping {after.called}", kind="kept", run=run, name=wall, place=place, after=after)


def _free_name(state: State, wall: str, name: str) -> str:
    """The name of one's own wall, numbered where another of one's own is called so."""
    name = plain(name)[:LONGEST_NAME].strip() or "my wall"
    taken = {each.name for each in state.kept if each.wall != wall}
    numbered = (f"{name} ({number})" for number in range(2, len(taken) + 2))
    return next(each for each in (name, *numbered) if each not in taken)


def _checked(kind: type, **values: Any) -> Any:
    try:
        return kind(**values)
    except ValidationError:
        raise InputError("That is no wall that can be kept.") from None


def _spans(spans: Mapping[str, Sequence[float]]) -> dict[str, list[float]]:
    """Spans as they are kept; InputError where one is none."""
    checked = {}
    for key, span in spans.items():
        ends = [float(each) for each in span]
        if len(ends) != 2 or not all(map(math.isfinite, ends)) or ends[0] > ends[1] or not 0 < len(key) <= 400:
            raise InputError(f"{key}: expected a least and a most, in that order.")
        checked[key] = ends
    if not 0 < len(checked) <= MOST_SPANS:
        raise InputError(f"A set of limits has 1 to {MOST_SPANS} figures.")
    return checked


def plain(text: str) -> str:
    """Words as one line, without control characters and lone surrogates."""
    words = "".join(sign if sign.isprintable() else " " for sign in str(text or ""))
    return " ".join(words.encode("utf-8", "ignore").decode("utf-8").split())
