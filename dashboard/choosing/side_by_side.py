"""What the view of walls side by side shows: every part of it at once, by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from . import compare_figures
from .columns import FEWEST, MOST, WallColumn, chosen_keys, columns, gone_words, options


def side_by_side(workspace: Any, run: str | None, beside: Sequence[str] | None) -> dict[str, Any]:
    """The parts of the view for the walls asked for, else the first of the shortlist. run: of the front on the page."""
    board = workspace.decisions.board()
    wanted = chosen_keys(board, beside)
    walls = columns(workspace, wanted, board)
    keys = [each.key for each in walls]
    boxes = options(board, wanted)
    chooser = {"shown": keys, "options": boxes, "chosen": wanted, "chooser_hidden": len(boxes) <= FEWEST}
    if len(walls) >= FEWEST:
        gone = gone_words(board, [key for key in wanted if key not in keys])
        return chooser | _drawn(walls, gone, workspace.source(walls[0].run).currency)
    source = workspace.source(run)
    started = bool(board.shortlist) or not source.rows
    keep = compare_figures.keep_words(source.asked)
    return chooser | _empty(len(board.shortlist), started, len(boxes) < FEWEST) | {"standing_out": keep}


def _empty(count: int, started: bool, body_hidden: bool) -> dict[str, Any]:
    """Before there are two walls to compare. count: walls on the shortlist; started: nothing has to be proposed."""
    return {
        "empty_hidden": False,
        "empty_head": compare_figures.empty_words(count),
        "standing_out_hidden": started,
        "body_hidden": body_hidden,
        "sentence": ["Tick two walls to compare them."],
        "line": "",
        "table": [],
        "walls_hidden": [True] * MOST,
        "names": [[]] * MOST,
        "notes_hidden": [True] * MOST,
        "keeps_hidden": [True] * MOST,
        "drawings": [],
    }


def _drawn(walls: Sequence[WallColumn], gone: str, currency: str) -> dict[str, Any]:
    """Two to four walls; the places of those that are not there are hidden. gone: what is said of lost walls."""
    none = MOST - len(walls)
    return {
        "empty_hidden": True,
        "standing_out": "",
        "standing_out_hidden": True,
        "body_hidden": False,
        "sentence": compare_figures.sentence(walls, gone),
        "line": compare_figures.line_words(walls),
        "table": compare_figures.table(walls, currency),
        "walls_hidden": [*[False] * len(walls), *[True] * none],
        "names": [*(compare_figures.name(each, walls[0], currency) for each in walls), *[[]] * none],
        "notes_hidden": [*(not each.on_shortlist for each in walls), *[True] * none],
        "keeps_hidden": [*(each.on_shortlist for each in walls), *[True] * none],
        "drawings": compare_figures.drawings(walls),
    }
