"""One wall with one product swapped for a rival: what it changes, and whether the wall still passes."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from ..batch import Index
from ..search.study import Study
from ..space.buildable import RULES, buildable, violations
from ..space.choices import Choices
from ..space.evaluate import evaluate, excess
from ..space.judgements import judgements
from ..space.options import FillOption, Option
from ..space.rivals import options, row_of, swapped
from ..template import AT, FILL_VARIABLES, NONE, VARIABLES, ZONE
from ..wall.scores import WHOLE_LIFE, Scores

FIGURES = ("thickness_mm", "u_value", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2")
NO_METHOD = "ISO 6946"  # what a wall fails whose layers differ too much for the combined method


@dataclass(frozen=True)
class Swap:
    """One product of a wall swapped for a rival, in every place that it is named for.

    places: slots and fills; change: figure -> what the swap adds, {} where the wall cannot be built (`reason`) or the
    figure is not known; fails: of "target", the brief's limits and its checks, those that the changed wall does not
    pass; wall: the id of the changed wall where it stands on the front; same_kind: the same material and size.
    """

    places: tuple[str, ...]
    product: str
    name: str
    supplier: str
    rival: str
    rival_name: str
    rival_supplier: str
    same_kind: bool
    change: dict[str, float]
    fails: tuple[str, ...]
    reason: str | None
    wall: str | None
    row: tuple[int, ...]  # of the changed wall, as choices of the study

    @property
    def passes(self) -> bool:
        return self.reason is None and not self.fails

    def as_json(self) -> dict[str, Any]:
        return asdict(self) | {"passes": self.passes}


def choices_of(study: Study) -> Choices:
    """What the walls of a study were chosen from."""
    return Choices(study.brief, study.catalogue, study.pricing)


def rows_of(choices: Choices, study: Study, target: float) -> tuple[list[dict[str, Any]], Index]:
    """The front of one target of a study: its rows, and the same as choices (n, 17)."""
    rows = [row for row in study.rows if row["target"] == target]
    place = f"{study.folder / 'front.csv'}: "
    x = [row_of(choices, row, place) for row in rows]
    return rows, np.array(x, np.int32).reshape(-1, len(VARIABLES))


def swaps(study: Study, wall: str) -> list[Swap]:
    """Every product of a wall of the front swapped for each rival; InputError when there is no such wall.

    Sorted from outside to inside; under each product the rivals that pass come first, the same material and size by
    another supplier before others, the cheaper before the dearer.
    """
    row = study.row(wall)
    choices = choices_of(study)
    on_front, x = rows_of(choices, study, row["target"])
    ids = {tuple(each): other["id"] for each, other in zip(x.tolist(), on_front, strict=True)}
    return swaps_of(choices, np.array(row_of(choices, row, f"{study.folder / 'front.csv'}: ")), row["target"], ids)


def swaps_of(choices: Choices, row: Index, target: float, ids: dict[tuple[int, ...], str] | None = None) -> list[Swap]:
    """The same for a row of choices; ids: what rows of the front are called."""
    candidates, x = swapped(choices, row[None])
    if not candidates:
        return []
    stands = buildable(choices, x)
    broken = violations(choices, x)
    rows = np.flatnonzero(stands)
    scores = evaluate(choices, np.concatenate([row[None], x[rows]]))
    lacking = _fails(choices, x[rows], scores, target)
    known = (WHOLE_LIFE,) if choices.brief.operation else ()
    made = []
    at = {number: place for place, number in enumerate(rows.tolist())}
    for number, (_, places, rival) in enumerate(candidates):
        reason, change, fails = None, {}, ()
        if number in at:
            change = _change(scores, at[number] + 1, known)
            fails = lacking[at[number]]
        else:
            reason = "; ".join(text for text, is_so in zip(RULES.values(), broken[number], strict=True) if is_so)
        key = tuple(x[number].tolist())
        made.append(_swap(choices, row, places, rival, change, fails, reason, (ids or {}).get(key), key))
    return sorted(made, key=_order)


def _fails(choices: Choices, x: Index, scores: Scores, target: float) -> list[tuple[str, ...]]:
    """What each row does not pass; the first of the scores is that of the wall itself."""
    if not len(x):
        return []
    missed = excess(scores, choices.brief, target)[1:] > 0
    judged = np.isfinite(scores.u_value[1:])
    table = {"target": missed[:, 0] & judged, NO_METHOD: ~judged}
    table |= {f"max_{key}": missed[:, 1 + at] for at, key in enumerate(sorted(choices.brief.limits.upper()))}
    for each in judgements(choices):
        table[each.name] = np.zeros(len(x), bool)
        table[each.name][judged] = ~each.passes(choices, x[judged])
    return [tuple(name for name, failing in table.items() if failing[number]) for number in range(len(x))]


def _change(scores: Scores, at: int, known: tuple[str, ...]) -> dict[str, float]:
    """What the row adds to the figures of the first. known: figures besides the usual ones."""
    pairs = {key: getattr(scores, key) for key in (*FIGURES, *known)}
    added = {key: float(values[at] - values[0]) for key, values in pairs.items()}
    return {key: value for key, value in added.items() if np.isfinite(value)}


def _swap(
    choices: Choices,
    row: Index,
    places: tuple[str, ...],
    rival: int,
    change: dict[str, float],
    fails: tuple[str, ...],
    reason: str | None,
    wall: str | None,
    key: tuple[int, ...],
) -> Swap:
    offered = options(choices, places[0])
    now, then = offered[row[AT[places[0]]]], offered[rival]
    return Swap(
        places,
        now.key,
        now.label,
        supplier_of(now),
        then.key,
        "left out" if then.key == NONE else then.label,
        supplier_of(then),
        same_kind(now, then),
        change,
        fails,
        reason,
        wall,
        key,
    )


def supplier_of(option: Option | FillOption) -> str:
    """Who sells what an option holds; "" for air and for nothing."""
    return option.stock.products[0].supplier if option.stock and option.stock.products else ""


def same_kind(one: Option | FillOption, other: Option | FillOption) -> bool:
    """Whether two options are the same material in the same size, by different suppliers."""
    if supplier_of(one) in ("", supplier_of(other)) or not supplier_of(other):
        return False
    if one.stock.material.key != other.stock.material.key:
        return False
    if isinstance(one, Option) and isinstance(other, Option):
        return abs(one.thickness - other.thickness) < 5e-5 and abs(one.width - other.width) < 5e-5
    return True


def _order(swap: Swap) -> tuple:
    place = min(VARIABLES.index(ZONE.get(each, each)) + 0.5 * (each in FILL_VARIABLES) for each in swap.places)
    dearer = swap.change.get("cost_per_m2", np.inf)
    standing = 0 if swap.passes else 1 if swap.reason is None else 2
    return (place, -len(swap.places), swap.places, standing, not swap.same_kind, dearer, swap.rival)
