"""Cost by part, supplier and operation, as the panel shows it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.wall import cost_part
from optimiser.score.cost_parts import PARTS, CostParts


@pytest.fixture
def judged(workspace):
    return workspace.wall(None, workspace.source(None).rows[0]["id"])


def amount(shown: str) -> float:
    return 0.0 if shown == "–" else float(shown.replace(",", ""))


def test_the_table_adds_up_both_ways_and_to_the_score(judged):
    rows = cost_part.cost_table(judged, "EUR").rows
    cells = [[amount(cell) for cell in row.cells[1:]] for row in rows]
    layers, wall = cells[:-1], cells[-1]
    assert len(layers) == len(judged.layers)
    for row in cells:
        assert sum(row[:-1]) == pytest.approx(row[-1], abs=0.03)
    for column in range(len(PARTS) + 1):
        assert sum(row[column] for row in layers) == pytest.approx(wall[column], abs=0.006 * len(layers))
    assert wall[-1] == pytest.approx(judged.cost_per_m2, abs=0.006)
    assert rows[-1].kind == "sum"
    assert [row.layer for row in rows[:-1]] == [each.number for each in judged.layers]


def test_suppliers_and_hours_are_those_of_the_judgement(judged):
    words = cost_part.supplier_words(judged, "EUR")
    for name, value in judged.cost.by_supplier.items():
        assert f"{name} €{value:.2f}" in words
    labour = judged.cost.by_part.labour
    assert sum(judged.cost.by_supplier.values()) + labour == pytest.approx(judged.cost_per_m2)
    hours = cost_part.hours_words(judged)
    assert hours.startswith(f"Labour, {sum(judged.cost.labour_hours.values()):.2f} hours per m²")
    for name in judged.cost.labour_hours:
        assert name in hours


def test_the_line_above_names_the_sum_and_its_largest_parts(judged):
    head = cost_part.cost_head(judged, "EUR")
    assert head.startswith(f"€{judged.cost_per_m2:.1f} per m²: ")
    largest = max(PARTS, key=lambda name: getattr(judged.cost.by_part, name))
    assert f": {largest} €" in head


def test_an_unknown_price_is_said_and_not_summed(judged):
    unknown = CostParts(None, None, None, 0.0, 2.0)
    layers = (unknown, *judged.cost.by_layer[1:])
    told = replace(judged, unpriced=["layer 1 (cladding)"], cost=replace(judged.cost, by_layer=layers, by_part=unknown))
    rows = cost_part.cost_table(told, "EUR").rows
    assert rows[0].cells[1:] == ("not known", "not known", "not known", "–", "2.00", "not known")
    assert "no price for layer 1 (cladding)" in cost_part.cost_head(told, "EUR")


def test_a_wall_without_a_brief_has_no_such_part(judged):
    told = replace(judged, cost=None)
    assert cost_part.cost_head(told, "EUR") == ""
    assert cost_part.cost_table(told, "EUR").rows == ()
    assert cost_part.supplier_words(told, "EUR") == cost_part.hours_words(told) == ""
