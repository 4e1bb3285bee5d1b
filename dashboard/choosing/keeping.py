"""Keeping walls: putting them on the shortlist and taking them off, of a front or of one's own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from materials.errors import InputError
from optimiser.search.landmarks import best_in

from ..rows.choose import of_target
from ..wall.my_wall import MINE, own_id
from ..wall.my_wall_part import beside
from .columns import of_key
from .decisions import Board


def decide(workspace: Any, act: Callable[[], Any]) -> tuple[int, str]:
    """Make a decision: the version that then stands, and why it could not be made ('' when it was)."""
    try:
        act()
        said = ""
    except InputError as error:
        said = str(error)
    return workspace.decisions.board().version, said


def toggle(workspace: Any, run: str | None, wall: str) -> None:
    """Keep a wall of a front, or take it off where it is kept; InputError where it cannot be."""
    if workspace.decisions.board().find(run, wall) is not None:
        workspace.decisions.drop(run, wall)
    else:
        keep(workspace, run, wall)


def keep(workspace: Any, run: str | None, wall: str) -> None:
    """Keep a wall; InputError where the front has none of that name."""
    if workspace.wall(run, wall) is None:
        raise InputError(f"There is no wall {wall} on this front to keep.")
    workspace.decisions.keep(run, wall)


def shown_id(wall: str | None, mine: Mapping[str, Any] | None) -> str | None:
    """What the wall of the panel is called on the shortlist; None where it cannot be kept."""
    if wall != MINE:
        return wall
    return own_id(mine["text"]) if mine else None


def toggle_own(workspace: Any, run: str | None, mine: Mapping[str, Any]) -> None:
    """Keep the wall of one's own that stands beside the front, or take it off; InputError where it cannot be kept."""
    wall = own_id(mine["text"])
    if workspace.decisions.board().find(run, wall) is not None:
        workspace.decisions.drop(run, wall)
    else:
        judged = workspace.own_wall(mine["text"], mine["file"], run)
        workspace.decisions.keep_own(run, mine["text"], judged.wall.name)


def standing_out(workspace: Any, run: str | None, target: float | None) -> list[str]:
    """The walls with the least of each figure that counts, each once."""
    source = workspace.source(run)
    rows = of_target(source.rows, target)
    best = [best_in(rows, key) for key in source.asked]
    return list(dict.fromkeys(each["id"] for each in best if each is not None))


def back_words(board: Board) -> tuple[str, bool, str, bool]:
    """What the buttons of the way back say, and whether each is hidden."""
    return f"Undo: {board.undo}", not board.undo, f"Redo: {board.redo}", not board.redo


def put_beside(workspace: Any, run: str | None, wall: str) -> dict[str, Any] | None:
    """A kept wall of one's own, put beside the front again; None where it is gone or no longer reads."""
    board = workspace.decisions.board()
    text, entry = board.build_up(run, wall), board.find(run, wall)
    if text is None or entry is None:
        return None
    try:
        return beside(workspace, text, f"{entry.called}.toml", run)
    except InputError:
        return None


def without(together: list[str] | None, key: str) -> list[str] | None:
    """The walls asked for side by side less one; None, the first of the shortlist, where none is left."""
    return [each for each in together or [] if each != key] or None


def write_notes(workspace: Any, notes: Sequence[Sequence[Any]]) -> tuple[int, int, str]:
    """Write notes (number, key of the wall, text) in their order; one that stands already is no decision.

    Returns the version of the decisions that then stands, the number of the last note, and why one of them could not be
    written ('' when all were).
    """
    version, last, said = workspace.decisions.board().version, 0, ""
    for number, key, text in notes:
        version, fault = decide(workspace, lambda key=key, text=text: workspace.decisions.note(*of_key(key), text))
        last, said = max(last, int(number)), fault or said
    return version, last, said
