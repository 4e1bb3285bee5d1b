"""Which walls stand side by side: walls of fronts and kept ones of one's own, as the columns of the comparison."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import parse_qs

from materials.errors import InputError
from optimiser.checks.judge import Judged
from optimiser.house.house import HouseTotals, house_totals
from optimiser.search.study import OF_THE_HOUSE

from ..rows.choose import by_id
from ..source import KEY
from ..wall.my_wall import in_short, is_own, row_of, slots_of
from ..wall.steps import Names
from .decisions import Board

MOST, FEWEST = 4, 2  # walls side by side
STRANGE = "a wall of one’s own"  # that is not kept here


@dataclass(frozen=True)
class WallColumn:
    """One wall of the comparison."""

    run: str | None
    wall: str
    row: Mapping[str, Any]
    judged: Judged
    totals: HouseTotals | None
    names: Names
    brief: Any
    on_shortlist: bool
    note: str
    own_name: str = ""  # of a wall of one's own

    @property
    def key(self) -> str:
        return key_of(self.run, self.wall)

    @property
    def name(self) -> str:
        return wall_name(self.run, self.own_name or self.wall)


def key_of(run: str | None, wall: str) -> str:
    """A wall of any run as one word: 'RUN:WALL', the run empty for the study itself."""
    return f"{run or ''}:{wall}"


def of_key(key: str) -> tuple[str | None, str]:
    """'RUN:WALL' -> (run, wall)."""
    run, _, wall = key.partition(":")
    return run or None, wall


def wall_name(run: str | None, wall: str) -> str:
    """A wall as it is called among walls of several searches."""
    return f"{wall} of search {int(run)}" if run and run.isdigit() else wall


def called(board: Board, key: str) -> str:
    """A wall as it is called on the page; one's own by its name."""
    run, wall = of_key(key)
    entry = board.find(run, wall)
    return wall_name(run, entry.called) if entry else STRANGE if is_own(wall) else wall_name(run, wall)


def gone_words(board: Board, keys: Sequence[str]) -> str:
    """What there is to say of walls that were asked for and cannot be drawn."""
    walls = [called(board, key) for key in keys if not is_own(of_key(key)[1])]
    said = [f"{', '.join(walls)}: no longer on this front."] if walls else []
    if len(walls) < len(keys):
        said.append("A wall of one’s own is no longer on the shortlist, or its file no longer reads.")
    return " ".join(said)


def read_walls(search: str | None) -> list[str] | None:
    """'?run=R&walls=W-1,0002:W-7' -> their keys, a bare wall being of run R; None where none is named."""
    query = parse_qs((search or "").lstrip("?"), max_num_fields=10)
    run = query.get("run", [""])[0]
    keys = []
    for each in query.get("walls", [""])[0][:500].split(","):
        of, colon, wall = each.strip().rpartition(":")
        of = of if colon else run
        if KEY.fullmatch(wall) and (not of or KEY.fullmatch(of)):
            keys.append(f"{of}:{wall}")
    return list(dict.fromkeys(keys))[:MOST] or None


def chosen_keys(board: Board, wanted: Sequence[str] | None) -> list[str]:
    """Which walls stand side by side: those asked for, else the first of the shortlist."""
    return list(wanted if wanted is not None else [key_of(each.run, each.wall) for each in board.shortlist])[:MOST]


def columns(workspace: Any, keys: Iterable[str], board: Board) -> list[WallColumn]:
    """The walls that can still be drawn. One's own is held to the target of the first wall of a front beside it."""
    walls = [each for each in (_column(workspace, *of_key(key), board) for key in keys) if each is not None]
    goal = next((each.row["target"] for each in walls if not each.own_name), None)
    return [_held_to(each, goal) if each.own_name else each for each in walls]


def _column(workspace: Any, run: str | None, wall: str, board: Board) -> WallColumn | None:
    if is_own(wall):
        return _own_column(workspace, run, wall, board)
    source = workspace.source(run)
    row, judged = by_id(source.rows, wall), workspace.wall(run, wall)
    if row is None or judged is None:
        return None
    try:
        totals = source.study.totals(wall)
    except InputError:  # walls so thick would meet in this house
        totals = None
    entry = board.find(run, wall)
    note = entry.note if entry else ""
    return WallColumn(run, wall, row, judged, totals, workspace.names(run), source.brief, entry is not None, note)


def _own_column(workspace: Any, run: str | None, wall: str, board: Board) -> WallColumn | None:
    """A wall of one's own, by the brief and the prices of its run."""
    entry, judged = board.find(run, wall), workspace.shortlisted_wall(run, wall)
    if entry is None or judged is None:
        return None
    source = workspace.standard(run)
    row = row_of(judged, workspace.floor_lost(judged.thickness_mm, source.brief))
    products = source.study.pricing.products if source.study else {}
    row |= slots_of(judged, products) | {"id": wall, "in_short": in_short(judged)}
    names = workspace.names(source.run)
    return WallColumn(
        run, wall, row, judged, _totals(row, source.brief), names, source.brief, True, entry.note, entry.called
    )


def _totals(row: Mapping[str, Any], brief: Any) -> HouseTotals | None:
    if brief is None or brief.house is None:
        return None
    try:
        return house_totals(brief.house, **{key: row.get(key) for key in OF_THE_HOUSE})
    except InputError:  # walls so thick would meet in this house
        return None


def _held_to(wall: WallColumn, goal: float | None) -> WallColumn:
    """One's own wall with a target; without one beside it, the first of its brief."""
    if goal is None and wall.brief is not None:
        goal = wall.brief.target.u_value
    return replace(wall, row={**wall.row, "target": goal})


def options(board: Board, chosen: list[str]) -> list[dict]:
    """A box for each kept wall, and for walls that only the address names; four may be ticked."""
    keys = list(dict.fromkeys([*(key_of(each.run, each.wall) for each in board.shortlist), *chosen]))
    full = len(chosen) >= MOST
    return [{"label": called(board, key), "value": key, "disabled": full and key not in chosen} for key in keys]


def in_order(board: Board, ticked: list[str], before: list[str]) -> list[str]:
    """Ticked walls in the order of keeping; those only the address names come last, as it names them."""
    order = list(dict.fromkeys([*(key_of(each.run, each.wall) for each in board.shortlist), *before]))
    return sorted(ticked, key=lambda key: order.index(key) if key in order else len(order))[:MOST]
