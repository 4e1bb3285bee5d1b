"""Locking a choice of the front: which walls hold it, what that costs, and the brief of a search under it."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from materials.errors import InputError, explain
from optimiser.brief.brief import Brief, MaterialFilter
from optimiser.search.landmarks import USUAL, best_in, ends, missing
from optimiser.search.rates import COLUMNS
from optimiser.space.options import SlotOffer, with_allowed
from optimiser.template import FILL, GAP, MAIN_FILLS, NONE, SERVICE_FILL, SLOT_KEYS
from optimiser.wall.option_key import OptionKey
from optimiser.wall.scores import OBJECTIVES

from ..rows.choose import Row
from ..wall.steps import Names
from ..words import limit_words, same, signed, with_unit

LOCKABLE = tuple(each for each in COLUMNS if each not in (GAP, *MAIN_FILLS))
INSULATING = ("loose fill", "batt", "insulating board")
MOST_LOCKS = 12
MOST_LETTERS = 400  # of a lock's value

KEEP, CAP, FOAM, RENEWABLE, SUPPLIER = "keep", "most", "no foam", "renewable", "not from"
SCOPES = ("insulation", "all")
SET_MARK = "="  # of a lock within a saved set of limits
CAPPED = OBJECTIVES


@dataclass(frozen=True)
class Lock:
    """One choice held fast.

    keep: slot `name` holds what `value` says ("fill": every fill is among the cells of `value`, a JSON list);
    most: figure `name` is `value` or less; no foam: none of plastic; renewable: "insulation" or "all"; not from:
    supplier `value`.
    """

    kind: str
    name: str = ""
    value: str = ""

    @property
    def token(self) -> str:
        """As text, for the page."""
        return f"{self.kind}:{self.name}:{self.value}"


def read_locks(tokens: Iterable[Any] | None) -> list[Lock]:
    """Locks from the page, each once; what is none is left out, as pages and files are not to be trusted."""
    locks: dict[str, Lock] = {}
    for token in list(tokens or ())[:MOST_LOCKS]:
        lock = _read(token)
        if lock is not None:
            locks.setdefault(lock.token, lock)
    return list(locks.values())


def _read(token: Any) -> Lock | None:
    parts = str(token)[:MOST_LETTERS].split(":", 2)
    if len(parts) < 3:
        return None
    lock = Lock(*parts)
    known = {
        KEEP: lock.name in LOCKABLE or (lock.name == FILL and _cells(lock) is not None),
        CAP: lock.name in CAPPED and _number(lock.value) is not None,
        FOAM: True,
        RENEWABLE: lock.name in SCOPES,
        SUPPLIER: bool(lock.value),
    }
    return lock if known.get(lock.kind, False) else None


def _cells(lock: Lock) -> list[str] | None:
    """The fills that a lock keeps; None where its value is no list of them."""
    try:
        cells = json.loads(lock.value)
    except (ValueError, RecursionError):
        return None
    return cells if isinstance(cells, list) and cells and all(isinstance(each, str) for each in cells) else None


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


class CellContents:
    """What stands behind a cell of the front: its material and who sells it."""

    def __init__(self, products: Mapping[str, Any], materials: Mapping[str, Any]) -> None:
        self.products, self.materials = products, materials
        self._let: dict[tuple[str, str, str, str], bool] = {}

    def material(self, cell: str) -> Any | None:
        """The material of a cell; None for an empty one or one that is not known."""
        key = self._key(cell)
        known = self.products.get(key.name)
        return self.materials.get(key.name if known is None else known.material)

    def supplier(self, cell: str) -> str:
        """Who sells it; '' where nobody does."""
        key = self._key(cell)
        return self.products[key.name].supplier if key.name in self.products else key.supplier

    def _key(self, cell: str) -> OptionKey:
        """What a cell names; a product's own key as it stands, whatever signs are in it."""
        return OptionKey(cell) if cell in self.products else OptionKey.parse(cell)

    def lets(self, lock: Lock, cell: str) -> bool:
        """Whether a cell may stand in a wall under a lock on materials or suppliers."""
        key = (lock.kind, lock.name, lock.value, cell)
        if key not in self._let:
            self._let[key] = self._lets(lock, cell)
        return self._let[key]

    def _lets(self, lock: Lock, cell: str) -> bool:
        if lock.kind == SUPPLIER:
            return self.supplier(cell) != lock.value
        material = self.material(cell)
        if material is None:
            return True
        insulating = material.kind in INSULATING
        if lock.kind == FOAM:
            return not (material.rigid_foam or (insulating and material.origin == "fossil"))
        if material.kind == "air" or (lock.name == "insulation" and not insulating):
            return True
        return material.origin == "renewable"


def holds(lock: Lock, row: Row, contents: CellContents) -> bool:
    """Whether a wall of the front holds a lock."""
    if lock.kind == CAP:
        return not missing(row.get(lock.name)) and row[lock.name] <= float(lock.value) + 1e-9
    if lock.kind == KEEP and lock.name == FILL:
        return set(_fills(row)) <= set(_cells(lock) or ())
    if lock.kind == KEEP:
        return _cell(row, lock.name) == lock.value
    return all(contents.lets(lock, cell) for name in COLUMNS if name != GAP and (cell := _cell(row, name)))


def held(rows: Iterable[Row], locks: Sequence[Lock], contents: CellContents) -> list[Row]:
    """The rows that hold every lock."""
    return [row for row in rows if all(holds(lock, row, contents) for lock in locks)]


def _cell(row: Row, name: str) -> str:
    value = row.get(name)
    return "" if value is None or value == NONE else str(value)


def _fills(row: Row) -> list[str]:
    return sorted({_cell(row, name) for name in MAIN_FILLS} - {""})


def lock_words(lock: Lock, names: Names, currency: str) -> str:
    """A lock as people say it: 'sheathing: OSB 9', 'at most 380 mm thick', 'nothing from Hollin Timber'."""
    if lock.kind == CAP:
        return limit_words({lock.name: float(lock.value)}, currency)[0]
    if lock.kind == KEEP and lock.name == FILL:
        return "fill: " + " or ".join(_content_words(cell, names) for cell in _cells(lock) or ())
    if lock.kind == KEEP:
        return f"no {lock.name}" if not lock.value else f"{lock.name}: {_content_words(lock.value, names)}"
    if lock.kind == SUPPLIER:
        return f"nothing from {lock.value}"
    if lock.kind == RENEWABLE:
        return "renewable insulation only" if lock.name == "insulation" else "renewable materials only"
    return "no plastic foam"


def _content_words(cell: str, names: Names) -> str:
    supplier = names.supplier(cell)
    return f"{names.of(cell)}, {supplier}" if supplier else names.of(cell)


@dataclass(frozen=True)
class Offer:
    """A lock that could be set, in words, and how many of the walls would hold it."""

    lock: Lock
    words: str
    count: int


def offered(
    chosen: Row | None, rows: Sequence[Row], locks: Sequence[Lock], contents: CellContents, names: Names, currency: str
) -> list[Offer]:
    """Locks to choose from: what the chosen wall holds and others do not, its figures as limits, and general ones.

    rows: the walls that hold the locks set so far.
    """
    wanted = [*_of_wall(chosen, rows), *_general(rows, contents)]
    counted = [(lock, len(held(rows, [lock], contents))) for lock in wanted if lock not in locks]
    return [
        Offer(lock, lock_words(lock, names, currency), count)
        for lock, count in counted
        if lock.kind not in (KEEP, CAP) or count < len(rows)
    ]


def _of_wall(chosen: Row | None, rows: Sequence[Row]) -> list[Lock]:
    if chosen is None:
        return []
    locks = [Lock(KEEP, name, _cell(chosen, name)) for name in LOCKABLE if name in chosen]
    # A service zone that is not there has no fill to keep.
    locks = [each for each in locks if each.name != SERVICE_FILL or each.value]
    fills = _fills(chosen)
    # Two lines of batts of one maker and material have no name of their own that a brief could keep.
    if fills and not any(OptionKey.parse(cell).first for cell in fills):
        locks.append(Lock(KEEP, "fill", json.dumps(fills, ensure_ascii=False)))
    caps = [Lock(CAP, key, f"{_upwards(chosen[key]):g}") for key in CAPPED if not missing(chosen.get(key))]
    return [*locks, *caps]


def _upwards(value: float) -> float:
    """To the next tenth, so that the wall itself stays within its own figure."""
    return math.ceil(round(value * 10, 6)) / 10


def _general(rows: Sequence[Row], contents: CellContents) -> list[Lock]:
    cells = {cell for row in rows for name in COLUMNS if name != GAP and (cell := _cell(row, name))}
    sellers = Counter(seller for cell in cells if (seller := contents.supplier(cell)))
    return [
        Lock(FOAM),
        *(Lock(RENEWABLE, scope) for scope in SCOPES),
        *(Lock(SUPPLIER, "", seller) for seller in sorted(sellers)),
    ]


@dataclass(frozen=True)
class Cost:
    """What the locks do to one end of the front: its name, the change in its figure, and the figure that is left."""

    name: str
    change: str
    left: str


def costs(whole: Sequence[Row], holding: Sequence[Row], currency: str, asked: Sequence[str] = USUAL) -> list[Cost]:
    """Thinnest, cheapest and lowest carbon of the rows kept, against those of the whole front; by the figures asked."""
    changes = []
    for key, name in ends(asked):
        before, after = best_in(whole, key), best_in(holding, key)
        if before is None or after is None:
            continue
        change = after[key] - before[key]
        words = "no change" if same(key, change) else signed(key, change, currency)
        changes.append(Cost(name, words, with_unit(key, after[key], currency, 1)))
    return changes


def locked_brief(brief: Brief, locks: Sequence[Lock], offers: Sequence[SlotOffer], contents: CellContents) -> Brief:
    """The brief changed so that a search under it finds walls that hold the locks, all of them and no others.

    offers: what each slot may hold under the brief. InputError when a lock leaves a slot without any.
    """
    for lock in locks:
        brief = _limited(brief, lock) if lock.kind == CAP else brief
        if lock.kind == RENEWABLE and lock.name == "all":
            filtered = MaterialFilter(origins=("renewable",), reaction_to_fire=brief.materials.reaction_to_fire)
            brief = brief.model_copy(update={"materials": filtered})
    allow = {each.slot: _left(each, locks, contents) for each in offers}
    changed = {
        each.slot: allow[each.slot]
        for each in offers
        if allow[each.slot] != [option.key for option in each.options if option.on]
    }
    for name, keys in changed.items():
        if not keys:
            raise InputError(f"{name}: nothing is left under these locks; let go of one")
    brief = with_allowed(brief, changed)
    for lock in locks:
        if lock.kind == KEEP and OptionKey.parse(lock.value).spacing_mm is not None:
            brief = _spaced(brief, lock)
    try:
        return Brief.model_validate(brief.model_dump(exclude_unset=True))
    except ValidationError as error:
        raise explain(error, "the brief under these locks") from None


def _limited(brief: Brief, lock: Lock) -> Brief:
    key, value = f"max_{lock.name}", float(lock.value)
    before = getattr(brief.limits, key)
    limits = brief.limits.model_copy(update={key: value if before is None else min(before, value)})
    return brief.model_copy(update={"limits": limits})


def _left(offer: SlotOffer, locks: Sequence[Lock], contents: CellContents) -> list[str]:
    """What of a slot's options that are on the locks let in."""
    keys = [option.key for option in offer.options if option.on]
    for lock in locks:
        if lock.kind == KEEP:
            if lock.name == offer.slot:
                cells = _cells(lock) or () if lock.name == FILL else [lock.value or NONE]
                keys = [key for key in keys if any(_stands_for(cell, key, contents) for cell in cells)]
        elif lock.kind != CAP:
            keys = [key for key in keys if key == NONE or contents.lets(lock, key)]
    return keys


def _stands_for(cell: str, key: str, contents: CellContents) -> bool:
    """Whether a cell of the front stands for a product: its key, or its line of batts by material and supplier."""
    named = OptionKey.parse(cell)
    if key == (cell if named.supplier else named.name):
        return True
    product = contents.products.get(key)
    return product is not None and str(named) == str(OptionKey(product.material, supplier=product.supplier))


def _spaced(brief: Brief, lock: Lock) -> Brief:
    """The members of a slot at the spacing and offset of the wall that was kept: 'key @600 +300'."""
    key = OptionKey.parse(lock.value)
    update: dict[str, Any] = {"spacing_mm": (key.spacing_mm,)}
    if lock.name in SLOT_KEYS["offset_mm"]:
        update["offset_mm"] = (key.offset_mm,)
    slot = brief.slot(lock.name).model_copy(update=update)
    return brief.model_copy(update={"slots": {**brief.slots, lock.name: slot}})


def with_locks(spans: Mapping[str, Sequence[float]], locks: Sequence[Lock]) -> dict[str, list[float]]:
    """Ranges and locks as one set of limits to be saved: a lock is a figure of its own, from 0 to 0."""
    return {key: list(span) for key, span in spans.items()} | {SET_MARK + each.token: [0.0, 0.0] for each in locks}


def parted(saved: Mapping[str, Sequence[float]]) -> tuple[dict[str, list[float]], list[Lock]]:
    """A saved set of limits as ranges and locks."""
    spans = {key: list(span) for key, span in saved.items() if not key.startswith(SET_MARK)}
    return spans, read_locks(key.removeprefix(SET_MARK) for key in saved if key.startswith(SET_MARK))
