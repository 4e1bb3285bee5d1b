"""Plain questions to the rows of a front."""

from __future__ import annotations

import pytest

from dashboard.rows import choose
from optimiser.search import landmarks


def row(key: str, thickness: float, cost: float | None, carbon: float, u: float = 0.104, target: float = 0.105) -> dict:
    return {
        "id": key,
        "target": target,
        "thickness_mm": thickness,
        "cost_per_m2": cost,
        "carbon_kgco2e_m2": carbon,
        "u_value": u,
    }


FRONT = [row("A", 400, 200, 40), row("B", 430, 180, 25), row("C", 480, 160, 22), row("D", 500, 190, 20)]


def test_rows_are_narrowed_with_their_ends_included():
    kept = choose.narrowed(FRONT, {"thickness_mm": (430, 480), "cost_per_m2": None})
    assert [each["id"] for each in kept] == ["B", "C"]


def test_a_wall_without_a_price_is_not_lost_to_the_price_slider():
    rows = [*FRONT, row("E", 450, None, 30)]
    kept = choose.narrowed(rows, {"cost_per_m2": (170, 185)})
    assert [each["id"] for each in kept] == ["B", "E"]


def test_the_walls_that_stand_out():
    assert landmarks.standing_out(FRONT) == {
        "A": ["thinnest"],
        "C": ["cheapest"],
        "D": ["lowest carbon"],
        "B": ["most balanced"],
    }
    assert landmarks.standing_out([]) == {}
    assert landmarks.standing_out(FRONT[:1]) == {"A": ["thinnest", "cheapest", "lowest carbon", "most balanced"]}


def test_one_targets_rows():
    rows = [*FRONT, row("X", 350, 150, 20, target=0.13)]
    assert choose.targets(rows) == [0.105, 0.13]
    assert [each["id"] for each in choose.of_target(rows, 0.13)] == ["X"]
    assert len(choose.of_target(rows, None)) == 5


def test_slider_ends_leave_no_wall_out():
    low, high, step = choose.slider_span([row("A", 396.5, 1, 12.93), row("B", 512.5, 1, 29.84)], "thickness_mm")
    assert (low, high, step) == (396, 513, 1)
    low, high, step = choose.slider_span([row("A", 1, 1, 12.93), row("B", 1, 1, 29.84)], "carbon_kgco2e_m2")
    assert (low, high, step) == (12.9, 29.9, 0.1)
    assert choose.slider_span([], "cost_per_m2")[0] < choose.slider_span([], "cost_per_m2")[1]


@pytest.mark.parametrize(
    ("value", "before", "now", "kept"),
    [
        (None, None, (10, 20), [10, 20]),
        ([10, 20], (10, 20), (5, 30), [5, 30]),
        ([12, 20], (10, 20), (5, 30), [12, 30]),
        ([12, 18], (10, 20), (14, 16), [14, 16]),
        ([12, 13], (10, 20), (15, 25), [15, 15]),
    ],
)
def test_a_slider_keeps_what_the_reader_narrowed(value, before, now, kept):
    assert choose.moved_span(value, before, now) == kept


def test_a_histogram_counts_every_value_once():
    counts = choose.histogram([0, 1, 5, 9.99, 10], (0, 10), bins=10)
    assert sum(counts) == 5
    assert (counts[0], counts[1], counts[5], counts[9]) == (1, 1, 1, 2)


def test_walls_that_beat_ones_own_and_by_how_much():
    mine = {"id": "mine", "u_value": 0.111} | {"thickness_mm": 480, "cost_per_m2": 185, "carbon_kgco2e_m2": 25}
    found = choose.beating(FRONT, mine, landmarks.USUAL)
    assert [each.id for each in found] == ["C", "B"]
    assert {each.id: each.less["thickness_mm"] for each in found} == {"C": 0, "B": 50}
    assert choose.beating(FRONT, FRONT[0], landmarks.USUAL) == []


def test_an_unknown_price_is_left_out_of_the_comparison():
    mine = {"id": "mine", "u_value": 0.1, "thickness_mm": 430, "cost_per_m2": None, "carbon_kgco2e_m2": 26}
    (found,) = choose.beating(FRONT, mine, landmarks.USUAL)
    assert found.id == "B"
    assert set(found.less) == {"thickness_mm", "carbon_kgco2e_m2"}


def test_a_wall_that_misses_its_target_beats_nobody_who_meets_it():
    mine = {"id": "mine", "u_value": 0.1, "thickness_mm": 600, "cost_per_m2": 300, "carbon_kgco2e_m2": 60}
    assert choose.beating([row("Z", 300, 100, 10, u=0.2)], mine, landmarks.USUAL) == []


def test_the_walls_named_are_different_ones():
    mine = {"id": "mine", "u_value": 0.11, "thickness_mm": 600, "cost_per_m2": 300, "carbon_kgco2e_m2": 60}
    found = choose.beating(FRONT, mine, landmarks.USUAL)
    named = [each.id for each in choose.telling(found, mine, 3)]
    assert named[0] == found[0].id
    assert len(set(named)) == 3
    assert "A" in named  # the thinnest of them
    assert choose.telling([], mine, 3) == []
    assert choose.telling(found, mine, 9) == found


def test_the_share_of_floor_lost_goes_with_the_area():
    rows = [FRONT[0] | {"floor_area_lost_m2": 5.0}, FRONT[1]]
    found = choose.with_percent(rows, 200.0)
    assert found[0]["floor_lost_percent"] == pytest.approx(2.5)
    assert "floor_lost_percent" not in found[1]
    assert choose.with_percent(rows, None) == rows
    assert choose.known_figures(found, ("floor_lost_percent", "stability", "thickness_mm")) == [
        "floor_lost_percent",
        "thickness_mm",
    ]
