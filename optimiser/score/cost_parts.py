"""The cost of one wall taken apart: by layer and part, by supplier, and the hours by operation."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields

from ..batch import WallBatch
from .cost import UNKNOWN, Bill


@dataclass(frozen=True)
class CostParts:
    """Parts of a cost per m2 of wall [currency/m2]; None where one is unknown. Waste is that of `material`."""

    material: float | None
    waste: float | None
    delivery: float | None
    fixings: float | None
    labour: float | None

    @property
    def total(self) -> float | None:
        values = [getattr(self, each) for each in PARTS]
        return None if None in values else sum(values)


PARTS = tuple(each.name for each in fields(CostParts))


@dataclass(frozen=True)
class CostFigures:
    """What a m2 of wall costs [currency/m2]. Suppliers' money is all but labour; where a price is unknown it is less.

    by_layer: outside first. labour_hours: by operation [h/m2], those that take any.
    """

    by_part: CostParts
    by_layer: tuple[CostParts, ...]
    by_supplier: dict[str, float]
    labour_hours: dict[str, float]

    @property
    def labour_h_per_m2(self) -> float:
        return sum(self.labour_hours.values())

    def as_json(self) -> dict:
        """The object `cost` of `check --json`; null where unknown."""
        return {
            "by_part": asdict(self.by_part),
            "by_layer": [each.total for each in self.by_layer],
            "by_supplier": self.by_supplier,
            "labour_h_per_m2": self.labour_h_per_m2,
            "labour_hours": self.labour_hours,
        }


def cost_figures(batch: WallBatch, bills: Sequence[tuple[Bill, Bill | None]]) -> CostFigures:
    """Take the cost of one wall (a batch of one) apart; bills: of each layer's plain part and of its members."""
    shared = list(_shared(batch, bills))
    rows = [[0.0] * len(PARTS) for _ in bills]
    suppliers: dict[str, float] = {}
    hours: dict[str, float] = {}
    for number, share, held in shared:
        rows[number] = [total + share * value for total, value in zip(rows[number], _values(held), strict=True)]
        for each in held.purchases:
            suppliers[each.supplier] = suppliers.get(each.supplier, 0.0) + share * each.money
        for name, value in held.hours.items():
            hours[name] = hours.get(name, 0.0) + share * value
    return CostFigures(
        by_part=_parts([sum(column) for column in zip(*rows, strict=True)]),
        by_layer=tuple(_parts(row) for row in rows),
        by_supplier={name: value for name, value in suppliers.items() if value and math.isfinite(value)},
        labour_hours={name: value for name, value in hours.items() if value},
    )


def _shared(batch: WallBatch, bills: Sequence[tuple[Bill, Bill | None]]) -> Iterator[tuple[int, float, Bill]]:
    """(layer, its share of the area, bill) of everything that a layer holds."""
    plain = batch.plain_share()[0]
    for number, (held, members) in enumerate(bills):
        yield number, float(plain[number]), held
        if members is not None:
            yield number, float(batch.member_of(number).fraction[0]), members


def _values(held: Bill) -> list[float]:
    """The parts of a bill, in the order of PARTS; material, waste and delivery NaN where no product is known."""
    fixings = sum(each.fixings for each in held.purchases)
    if not held.priced:
        return [UNKNOWN, UNKNOWN, UNKNOWN, fixings, held.labour]
    return [
        sum(each.material for each in held.purchases),
        sum(each.waste for each in held.purchases),
        held.delivery,
        fixings,
        held.labour,
    ]


def _parts(values: Sequence[float]) -> CostParts:
    return CostParts(*(value if math.isfinite(value) else None for value in values))
