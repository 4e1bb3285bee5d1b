"""A study of a few walls for two targets, quick to search, to be opened, edited by hand and verified again."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import toy_space as small

from optimiser.brief.brief import read_brief
from optimiser.search.run import save, search
from optimiser.search.study import to_csv
from optimiser.space.buildable import buildable
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.space.walls import buildup, described, in_short
from optimiser.wall.buildup import to_toml

TWIN = "a-3,PE membrane,pe-membrane,Toy Boards,,,0.60,m2,EUR,,,"  # equal to a-2 in every figure
SLOTS = small.SMALL["slots"] | {
    "wind-tight layer": {"lock": "w-1"},
    "outer board": {"allow": ["none", "wf-60"]},
    "sheathing": {"allow": ["o-9", "o-12"]},
    "outer frame": {"allow": ["t-145", "t-195"]},
    "outer gap board": {"lock": "none"},
    "fill": {"allow": ["f-cel", "f-gw"]},
    "airtight layer": {"allow": ["a-1", "a-2", "a-3"]},
    "service zone": {"lock": "none"},
}
BRIEF: dict[str, Any] = {
    "slots": SLOTS,
    "target": {"u_value": 0.11, "also": [0.13]},
    "gap": {"min_mm": 0, "max_mm": 140, "step_mm": 20},
    "house": {"length_m": 10.0, "width_m": 8.0, "storey_height_m": 2.75},
    "climate": small.COLD,
    "checks": {"moisture": True, "fill": True},
    "moisture": {"mould_inside": "shown"},
    "search": {"population": 40, "start_generations": 5},
}


def tiny_study(folder: Path, **changes: Any) -> Path:
    """The study of the brief, or of one with sections replaced, in `folder`/study."""
    folder.mkdir(exist_ok=True)
    brief = small.brief_in(folder, [*small.PRODUCTS, TWIN], **BRIEF | changes)
    outcome = search(brief, folder)
    save(outcome, folder, folder / "study")
    return folder / "study"


class Edited:
    """A copy of a study with what a hand can change of it."""

    def __init__(self, study: Path, folder: Path) -> None:
        self.folder = folder / "edited"
        shutil.copytree(study, self.folder)
        self.rows = self.table("front.csv")

    def table(self, name: str) -> list[dict[str, str]]:
        with (self.folder / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def write(self, name: str, rows: list[dict[str, Any]]) -> None:
        (self.folder / name).write_text(to_csv(rows), encoding="utf-8")

    def front(self, rows: list[dict[str, Any]], counted: bool = True) -> None:
        """Write other rows; counted: `front_size` follows, so that the rows alone are what is strange."""
        self.write("front.csv", rows)
        if counted:
            self.account(lambda summary: summary.update(front_size=len(rows)))

    def cell(self, at: int, column: str, value: str) -> None:
        self.rows[at][column] = value
        self.front(self.rows)

    def account(self, change: Callable[[dict[str, Any]], Any]) -> None:
        path = self.folder / "study.json"
        summary = json.loads(path.read_text(encoding="utf-8"))
        change(summary)
        path.write_text(json.dumps(summary), encoding="utf-8")

    def build_up(self, wall: str) -> Path:
        return self.folder / "buildups" / f"{wall}.toml"

    def choices(self) -> Choices:
        return small.choices_of(read_brief(self.folder / "brief.toml"), self.folder)

    def add(self, choices: Choices, x: np.ndarray, wall: str) -> None:
        """A row with right figures and a right build-up file of its own, for the first target."""
        assert buildable(choices, x[None]).all()
        scores = evaluate(choices, x[None])
        row = dict(self.rows[0]) | {
            key: repr(float(getattr(scores, key)[0])) for key in self.rows[0] if hasattr(scores, key)
        }
        if not choices.brief.operation:  # as a search writes it
            row["whole_life_kgco2e_m2"] = ""
        lost = float(choices.brief.house.floor_area_lost(float(row["thickness_mm"]) / 1000))
        row |= {"id": wall, "floor_area_lost_m2": repr(lost), "equal_count": "1", "in_short": in_short(choices, x)}
        self.front([*self.rows, row | described(choices, x)])
        self.build_up(wall).write_text(to_toml(buildup(choices, x, wall), choices.catalogue), encoding="utf-8")
