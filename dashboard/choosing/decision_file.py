"""What is decided about one study, as it stands in a file and as readers see it; hostile until parsed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from materials.errors import Checked, InputError
from materials.parsed import parse_json
from materials.untrusted import bytes_of

from ..source import KEY
from ..wall.my_wall import LARGEST_FILE as LARGEST_BUILD_UP
from ..wall.my_wall import own_id

MOST_KEPT = 24
MOST_LIMIT_SETS = 40
MOST_SPANS = 20  # figures in one set of limits
MOST_TEXT = 2_000_000  # bytes of build-up files of one's own, those of steps that can be undone included
LONGEST_NOTE = 500  # characters
LONGEST_NAME = 60
STEPS_KEPT = 100
LARGEST_FILE = 8_000_000  # bytes; a full one stays well below

Id = Annotated[str, Field(pattern=f"^{KEY.pattern}$")]
Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Finite = Annotated[float, Field(allow_inf_nan=False)]
Spans = Annotated[dict[Annotated[str, Field(max_length=400)], list[Finite]], Field(max_length=MOST_SPANS)]


class ShortlistEntry(Checked):
    """A wall of the shortlist: its run (None: the study itself), why it is there, and when it was kept (UTC).

    One's own wall has a name; the run is the one whose brief and prices judge it.
    """

    run: Id | None
    wall: Id
    name: Annotated[str, Field(max_length=LONGEST_NAME + 10)] = ""
    note: Annotated[str, Field(max_length=LONGEST_NOTE)] = ""
    at: Annotated[str, Field(max_length=40)] = ""

    @property
    def called(self) -> str:
        """What people call it among the walls of its run."""
        return self.name or self.wall


class DecisionStep(Checked):
    """One decision: what it was, and what stood in its place before and after. A kept wall carries its place."""

    words: Annotated[str, Field(max_length=200)]
    kind: Literal["kept", "limits"]
    run: Id | None = None
    name: Annotated[str, Field(max_length=80)]  # of the wall, or of the set
    place: Annotated[int, Field(ge=0, le=1000)] = 0
    before: ShortlistEntry | Spans | None = None
    after: ShortlistEntry | Spans | None = None

    @model_validator(mode="after")
    def _fits(self) -> DecisionStep:
        wanted = ShortlistEntry if self.kind == "kept" else dict
        for each in (self.before, self.after):
            if each is not None and not isinstance(each, wanted):
                raise ValueError(f"a step of {self.kind} that holds something else")
        return self


class State(Checked):
    """The file."""

    version: Annotated[int, Field(ge=0, le=2**53)] = 0
    kept: Annotated[tuple[ShortlistEntry, ...], Field(max_length=MOST_KEPT)] = ()
    build_ups: dict[Id, Annotated[str, Field(max_length=LARGEST_BUILD_UP)]] = Field(default_factory=dict)
    limit_sets: Annotated[dict[Name, Spans], Field(max_length=MOST_LIMIT_SETS)] = Field(default_factory=dict)
    undo: Annotated[tuple[DecisionStep, ...], Field(max_length=STEPS_KEPT)] = ()
    redo: Annotated[tuple[DecisionStep, ...], Field(max_length=STEPS_KEPT)] = ()
    set_aside: Annotated[str, Field(max_length=200)] = ""

    @field_validator("limit_sets")
    @classmethod
    def _ends(cls, value: dict[str, Any]) -> dict[str, Any]:
        for name, spans in value.items():
            if any(len(span) != 2 or span[0] > span[1] for span in spans.values()):
                raise ValueError(f'the set "{name}" has a span that is none')
        return value

    @field_validator("build_ups")
    @classmethod
    def _own_names(cls, value: dict[str, str]) -> dict[str, str]:
        if any(key != own_id(text) for key, text in value.items()):
            raise ValueError("a build-up under the name of another")
        return value

    @model_validator(mode="after")
    def _once_each(self) -> State:
        if len({(each.run, each.wall) for each in self.kept}) < len(self.kept):
            raise ValueError("a wall is kept twice")
        return self


@dataclass(frozen=True)
class Board:
    """What stands decided. version changes with every decision; undo, redo: what would be undone or redone, in words.

    build_ups: the file of each wall of one's own, by its id, as it was kept: to be parsed again.
    trouble: why earlier decisions are not here, in words; '' when nothing is wrong.
    """

    version: int
    shortlist: tuple[ShortlistEntry, ...] = ()
    limit_sets: Mapping[str, dict[str, list[float]]] = field(default_factory=dict)
    undo: str = ""
    redo: str = ""
    trouble: str = ""
    build_ups: Mapping[str, str] = field(default_factory=dict)

    def find(self, run: str | None, wall: str | None) -> ShortlistEntry | None:
        """A wall of the shortlist; None where it is not kept."""
        return next((each for each in self.shortlist if each.run == run and each.wall == wall), None)

    def build_up(self, run: str | None, wall: str) -> str | None:
        """The file of a wall of one's own that is kept."""
        return self.build_ups.get(wall) if self.find(run, wall) is not None else None


def read(path: Path) -> State:
    """The file; ValueError where it is none of ours, OSError where it cannot be read."""
    raw = bytes_of(path, LARGEST_FILE)
    if len(raw) > LARGEST_FILE:
        raise ValueError("too large")
    try:
        state = State.model_validate(parse_json(raw, path.name))
        text_of(state).encode("utf-8")  # a lone half of a sign could never be written again
    except RecursionError:
        raise ValueError("nested too deeply") from None
    return state


def size_of(text: str) -> int:
    """Bytes of a text as the file writes it."""
    return len(json.dumps(text, ensure_ascii=False).encode("utf-8"))


def fitted(state: State) -> State:
    """The state with the build-ups that it still needs; the oldest steps are forgotten where they hold too many.

    InputError where those on the shortlist alone are too many.
    """
    while True:
        needed = _named(state)
        texts = {key: text for key, text in state.build_ups.items() if key in needed}
        if sum(map(size_of, texts.values())) <= MOST_TEXT:
            return state.model_copy(update={"build_ups": texts})
        if state.undo:
            state = state.model_copy(update={"undo": state.undo[1:]})
        elif state.redo:
            state = state.model_copy(update={"redo": state.redo[1:]})
        else:
            most = f"{MOST_TEXT // 1_000_000} MB"
            raise InputError(f"Your own walls on the shortlist come to more than {most}; take one off first.")


def _named(state: State) -> set[str]:
    """Every wall of the shortlist and of the steps."""
    steps = [end for step in (*state.undo, *state.redo) for end in (step.before, step.after)]
    return {each.wall for each in (*state.kept, *steps) if isinstance(each, ShortlistEntry)}


def text_of(state: State) -> str:
    """The file of a state."""
    return json.dumps(state.model_dump(mode="json"), ensure_ascii=False) + "\n"


def board_of(state: State) -> Board:
    """A state as readers see it."""
    trouble = f"Earlier decisions could not be read and were set aside as {state.set_aside}." if state.set_aside else ""
    limit_sets = {name: {key: list(span) for key, span in spans.items()} for name, spans in state.limit_sets.items()}
    undo, redo = ((steps[-1].words if steps else "") for steps in (state.undo, state.redo))
    return Board(state.version, state.kept, limit_sets, undo, redo, trouble, state.build_ups)


def place_of(state: State, run: str | None, wall: str) -> int | None:
    """Where a wall stands on the shortlist."""
    return next((place for place, each in enumerate(state.kept) if (each.run, each.wall) == (run, wall)), None)


def put(state: State, step: DecisionStep, value: Any) -> State:
    """The state with what a step is about set to a value; None takes it away."""
    if step.kind == "limits":
        sets = dict(state.limit_sets)
        sets.pop(step.name, None) if value is None else sets.update({step.name: value})
        return state.model_copy(update={"limit_sets": sets})
    shortlist = [each for each in state.kept if (each.run, each.wall) != (step.run, step.name)]
    if value is not None:
        shortlist.insert(step.place, value)
    if len(shortlist) > MOST_KEPT:
        raise InputError(f"The shortlist holds {MOST_KEPT} walls at most; take one off first.")
    return state.model_copy(update={"kept": tuple(shortlist)})
