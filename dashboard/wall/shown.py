"""Which wall the panel shows, what it is headed and where its pages are; nothing of Dash."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from materials.errors import InputError

from ..words import listed
from .my_wall import MINE

DRAWING_WIDTH = 520  # px; the page scales it to the panel


def wall_title(row: dict, names: dict[str, list[str]]) -> str:
    """What the panel is headed: the wall and what it is known for."""
    if row["id"] == MINE:
        return f"My wall: {row['name']}"
    known = names.get(row["id"])
    title = f"Wall {row['id']}"
    if known:
        title += f", {listed([f'the {each}' for each in known])} of the front"
    return title


def print_address(run: str | None, chosen: str, place: str = "print") -> str:
    """Where the print view of a wall is, or another page of it."""
    return f"/{place}?" + urlencode({key: value for key, value in (("run", run), ("wall", chosen)) if value})


def find(workspace: Any, run: str | None, chosen: str | None, mine: dict | None) -> Any:
    """The judged wall to draw; None when there is none of that name or its file no longer reads."""
    if chosen == MINE:
        try:
            return workspace.own_wall(mine["text"], mine["file"], run) if mine else None
        except InputError:
            return None
    return workspace.wall(run, chosen) if chosen else None


def nothing_shown(source: Any, chosen: str | None) -> Any:
    """Why no wall is drawn."""
    if source.alive:
        return "A wall is drawn here once the search has settled."
    if not source.rows:
        return "No wall to draw."
    return f"There is no wall {chosen} on this front." if chosen else "Choose a point or a row to see its wall."
