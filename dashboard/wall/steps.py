"""What a step along the front costs, and walls of equal figures, in words; nothing of Dash."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from optimiser.search.rates import COLUMNS
from optimiser.template import MAIN_FILLS
from optimiser.wall.option_key import OptionKey

from ..numbers import spelt
from ..words import QUANTITIES, same, signed, step_size

MOST_CHANGES = 4  # named in one line
USUAL_SPACING = str(OptionKey("", 600.0)).strip()  # not said


@dataclass(frozen=True)
class StepLine:
    """One step: what is gained, what it costs, what changes in the wall, and the wall it leads to."""

    to: str
    gain: str
    price: str
    changes: str  # as many as fit into a line
    whole: str  # all of them


class Names:
    """What people call the contents of slots: products by key, batts by material and supplier."""

    def __init__(self, products: Mapping[str, Any], materials: Mapping[str, Any]) -> None:
        self._products, self._materials = products, materials

    def of(self, key: str) -> str:
        """The name behind a cell of the front; the cell itself where no product has that key."""
        if key in ("", "none"):
            return "none"
        cell = self._cell(key)
        if cell.name in self._products:
            name = self._products[cell.name].name.replace(" x ", "×")
            place = str(cell).removeprefix(cell.name).strip()
            return f"{name} {place}" if place and place != USUAL_SPACING else name
        if cell.supplier and cell.name in self._materials:
            return self._materials[cell.name].name.split(",")[0]
        return f"{key} mm" if _number(key) else key

    def supplier(self, key: str) -> str:
        """Who sells it; '' where that is not known."""
        cell = self._cell(key)
        product = self._products.get(cell.name)
        return product.supplier if product else cell.supplier

    def _cell(self, key: str) -> OptionKey:
        """What a cell names; a product's own key as it stands, whatever signs are in it."""
        return OptionKey(key) if key in self._products else OptionKey.parse(key)

    def change(self, one: str, other: str) -> str:
        """From one content of a slot to another, without saying the same words twice."""
        before, after = self.of(one), self.of(other)
        if _number(one) and _number(other):
            return f"{one} → {other} mm"
        if before == after:
            return f"{before} by {self.supplier(one) or one} → {self.supplier(other) or other}"
        kind, size = _parted(before)
        other_kind, other_size = _parted(after)
        return f"{before} → {other_size if size and other_size and kind == other_kind else after}"


def _number(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()


def _parted(name: str) -> tuple[str, str]:
    """A name and the size it ends in: 'wood-fibre board 22' -> ('wood-fibre board', '22')."""
    kind, _, size = name.rpartition(" ")
    return (kind, size) if size[:1].isdigit() else (name, "")


def changes(slots: Mapping[str, tuple[str, str]], names: Names) -> list[str]:
    """What differs slot by slot; fills that change alike are one, and what merely follows a slot is left out."""
    fills = {pair for slot, pair in slots.items() if slot in MAIN_FILLS and all(pair)}
    changed = {slot: pair for slot, pair in slots.items() if slot not in MAIN_FILLS and all(pair)}
    if len(fills) == 1:
        changed["fill"] = fills.pop()
    else:
        changed |= {slot: pair for slot, pair in slots.items() if slot in MAIN_FILLS and all(pair)}
    return [f"{slot}: {names.change(*pair)}" for slot, pair in changed.items()]


def step_lines(steps: Sequence[Any], names: Names, currency: str) -> list[StepLine]:
    """A line for each step (`optimiser.search.rates.Step`)."""
    lines = []
    for each in steps:
        gain = f"{step_size(each.objective, each.changes[each.objective], currency)} {QUANTITIES[each.objective].lower}"
        price = [
            signed(key, value, currency)
            for key, value in each.changes.items()
            if key != each.objective and not same(key, value)
        ]
        said = changes(each.slots, names)
        short = said[:MOST_CHANGES] + ([f"{len(said) - MOST_CHANGES} more"] if len(said) > MOST_CHANGES else [])
        lines.append(StepLine(each.to, gain, " · ".join(price), " · ".join(short), " · ".join(said)))
    return lines


def equal_words(row: Mapping[str, Any], others: Sequence[Mapping[str, str]], names: Names) -> list[str]:
    """What each wall of the same figures holds instead of the wall shown: a line for each."""
    lines = []
    for other in others:
        differ = {
            key: (str(row.get(key) or ""), other[key])
            for key in COLUMNS
            if key in other and (row.get(key) or "") != other[key]
        }
        changed = changes(differ, names)
        lines.append(" · ".join(changed) or "differs in nothing that is listed")
    return lines


def equal_head(count: int) -> str:
    """The line that opens the list: how many others there are."""
    others = count - 1
    return f"and {spelt(others, ',')} other{'s' if others > 1 else ''} with exactly these figures"
