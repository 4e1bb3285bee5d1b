"""What a check is: one record from its demand in a brief to its words on screen and paper, and what goes through it.

The checks themselves are folders beside this one; `check_table.py` lists them, and whatever checks walls loops over
it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Generic, TypeVar

from materials.errors import Checked

from ...batch import WallBatch
from ...document import DocumentPart, Section, Text, in_print, passed
from ...wall.assemble import LayerParts, batch_of, last_vented, parts_of
from ...wall.buildup import BuildUp
from ...wall.places import Places, places_of
from .changes import Candidate, Change, Shelf
from .lines import Line, Working
from .search_judgement import Judgement, Space


@dataclass(frozen=True)
class OneWall:
    """One wall as a check looks at it: its layers, a batch of one, and U [W/m2K] (NaN where heat gives none)."""

    wall: BuildUp
    parts: list[LayerParts]
    batch: WallBatch
    places: Places
    u_value: float = math.nan

    @classmethod
    def of(cls, wall: BuildUp, u_value: float = math.nan) -> OneWall:
        parts = parts_of(wall)
        return cls(wall, parts, batch_of(wall, parts), places_of(wall, last_vented(wall)), u_value)


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What a check says of one wall; each check has a record of its own, with the figures that it rests on."""

    passes: bool
    caution: ClassVar[str] = ""  # said once, where the verdict stands

    @property
    def rules_out(self) -> bool:
        """Whether the wall fails by it."""
        return not self.passes

    @property
    def notes(self) -> tuple[str, ...]:
        """What is no limit but must be seen."""
        return ()

    def as_json(self) -> dict[str, Any]:
        """The object of `check --json`."""
        return asdict(self)


@dataclass(frozen=True)
class NotJudged:
    """Why a check could not be made."""

    reason: str
    passes: ClassVar[None] = None
    rules_out: ClassVar[bool] = False

    def as_json(self) -> dict[str, Any]:
        return {"passes": None, "reason": self.reason}


V = TypeVar("V", bound=Verdict)
D = TypeVar("D", bound=Checked)


def _nothing(*_: Any) -> list:
    return []


def _all(candidates: list[Candidate], demand: Any) -> list[Candidate]:
    return candidates


@dataclass(frozen=True)
class Check(Generic[V, D]):
    """A check besides heat.

    name: in [checks] of a brief, in JSON and in words. section, demand: where a brief says what is asked, and the
    record of it. verdict: judges one wall. judgement: what a search must know. words: a verdict in a line.
    turn: its turn in a search, the cheapest first. failure: what fails and by how much (else `words`). lines: of the
    explorer (else one of `words`). title, sheet: its part of the calculation sheet (else of `words`). working:
    tables behind the lines. changes: single changes that could mend a wall that fails; sift: those of them that the
    check passes, many at once, where that is quicker than one by one.
    """

    name: str
    section: str
    demand: type[D]
    verdict: Callable[[OneWall, D], V | NotJudged]
    judgement: Callable[[Space, D], Judgement]
    words: Callable[[V], str]
    turn: int = 0
    failure: Callable[[V], str] | None = None
    lines: Callable[[V, D], list[Line]] | None = None
    title: str = ""
    sheet: Callable[[BuildUp, V, D], tuple[DocumentPart, ...]] | None = None
    working: Callable[[V], list[Working]] = _nothing
    changes: Callable[[BuildUp, Shelf, D, V], list[Change]] = _nothing
    sift: Callable[[list[Candidate], D], list[Candidate]] = _all

    @property
    def label(self) -> str:
        """What it is called where people read."""
        return self.name.replace("_", " ")

    def lines_of(self, verdict: V | NotJudged, demand: D) -> list[Line]:
        """A verdict as lines of the explorer; why it was not made where it was not."""
        if isinstance(verdict, NotJudged):
            return [Line(self.label, "open", "not checked", verdict.reason)]
        if self.lines is not None:
            return self.lines(verdict, demand)
        state = "passes" if verdict.passes else "fails"
        return [Line(self.label, state, state, self.words(verdict))]

    def section_of(self, wall: BuildUp, verdict: V | NotJudged, demand: D) -> Section:
        """Its part of the calculation sheet."""
        title = self.title or self.label.capitalize()
        if isinstance(verdict, NotJudged):
            return Section(title, (Text(f"Not checked: {verdict.reason}."),))
        if self.sheet is not None:
            return Section(title, self.sheet(wall, verdict, demand))
        words = in_print(self.words(verdict))
        return Section(title, (Text(f"Verdict: {passed(verdict.passes)}: {words}."),))

    def why(self, verdict: V) -> str:
        """What fails, and by how much, in short."""
        return (self.failure or self.words)(verdict)
