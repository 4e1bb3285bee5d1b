"""Weighing the objectives: ranks, how far a weight can move, how often each wall wins; by hand."""

from __future__ import annotations

import numpy as np
import pytest

from dashboard.choosing.weighing import Weighed, scale, stays_first, verdict, weigh, weightings, winners

KEYS = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")


def row(name: str, *figures: float | None) -> dict:
    return {"id": name} | dict(zip(KEYS, figures, strict=False))


# Scaled: A (0, 1), B (0.4, 0.4), C (1, 0).
ROWS = [row("A", 400, 200), row("B", 440, 140), row("C", 500, 100)]
EVEN = {"thickness_mm": 5, "cost_per_m2": 5}


def test_the_least_weighted_sum_comes_first():
    found = weigh(ROWS, ROWS, EVEN)
    assert found.ids == ("B", "A", "C")
    assert found.sums == pytest.approx((4.0, 5.0, 5.0))
    assert found.rank == {"B": 1, "A": 2, "C": 2}


def test_how_far_each_weight_can_move_by_hand():
    # B against A: 0.4 w - 0.6 v < 0, against C: -0.6 w + 0.4 v < 0, with v = 5: w from 10/3 to 7.5; and the other way.
    found = weigh(ROWS, ROWS, EVEN)
    assert found.within["thickness_mm"] == pytest.approx((10 / 3, 7.5))
    assert found.within["cost_per_m2"] == pytest.approx((10 / 3, 7.5))


def test_a_weight_moved_to_its_ends_changes_the_first_there_and_not_before():
    for key, ends in weigh(ROWS, ROWS, EVEN).within.items():
        for end, out in zip(ends, (-0.01, 0.01), strict=True):
            assert weigh(ROWS, ROWS, EVEN | {key: end - out}).first == "B"
            assert weigh(ROWS, ROWS, EVEN | {key: end + out}).first != "B"


def test_the_best_in_all_stays_first_whatever_counts():
    best = row("Z", 390, 90)
    found = weigh([*ROWS, best], [*ROWS, best], EVEN)
    assert found.first == "Z"
    assert found.within == {"thickness_mm": (0.0, 10.0), "cost_per_m2": (0.0, 10.0)}
    assert found.shares == {"Z": 1.0}
    assert found.rival is None


def test_shares_of_all_weightings_by_hand():
    # With weights w and 1 - w, A wins where 1 - w <= 0.4, C where w <= 0.4, B between: 0.4, 0.2, 0.4.
    found = weigh(ROWS, ROWS, EVEN)
    assert found.shares == pytest.approx({"A": 0.4, "B": 0.2, "C": 0.4}, abs=0.001)
    assert found.rival[0] in ("A", "C")
    assert sum(found.shares.values()) == pytest.approx(1.0)


def test_three_corners_share_the_triangle_of_weights_evenly():
    corners = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 0.0]])
    counts = np.bincount(winners(corners)) / len(winners(corners))
    assert counts == pytest.approx([1 / 3] * 3, abs=0.005)


@pytest.mark.parametrize("objectives", [1, 2, 3, 5])
def test_weightings_are_even_and_always_the_same(objectives):
    drawn = weightings(objectives, 4096)
    assert drawn.shape == (4096, objectives)
    assert drawn.min() >= 0
    assert drawn.sum(axis=1) == pytest.approx(1.0)
    assert drawn.mean(axis=0) == pytest.approx(1 / objectives, abs=0.005)
    # Dirichlet (1, ..., 1): variance (n - 1) / (n^2 (n + 1)).
    assert drawn.var(axis=0) == pytest.approx((objectives - 1) / (objectives**2 * (objectives + 1)), abs=0.002)
    assert (weightings(objectives, 4096) == drawn).all()


def test_the_scale_is_that_of_the_whole_front_even_where_few_are_left():
    assert scale(ROWS[1:2], ROWS, KEYS[:2]) == pytest.approx(np.array([[0.4, 0.4]]))
    assert weigh(ROWS[1:], ROWS, EVEN).sums == pytest.approx((4.0, 5.0))


def test_a_figure_that_is_the_same_for_all_decides_nothing():
    rows = [each | {"carbon_kgco2e_m2": 20.0} for each in ROWS]
    found = weigh(rows, rows, EVEN | {"carbon_kgco2e_m2": 10})
    assert found.ids == weigh(ROWS, ROWS, EVEN).ids
    assert found.within["carbon_kgco2e_m2"] == (0.0, 10.0)


def test_a_wall_without_a_price_is_not_ranked_and_nothing_weighed_ranks_nobody():
    rows = [*ROWS, row("N", 300, None)]
    assert "N" not in weigh(rows, rows, EVEN).rank
    assert weigh(ROWS, ROWS, {"thickness_mm": 0, "cost_per_m2": 0}) is None
    assert weigh([], ROWS, EVEN) is None


def test_the_interval_holds_the_weight_itself():
    scaled = np.array([[0.0, 1.0], [0.0, 1.0], [1.0, 0.0]])  # two alike, as on an edge
    low, high = stays_first(scaled, 0, np.array([5.0, 5.0]), 0)
    assert low == pytest.approx(5.0)
    assert high == 10.0


def test_the_verdict_in_words():
    found = Weighed(("A", "B"), (1.0, 2.0), {"cost_per_m2": (3.0, 7.25)}, {"A": 0.22, "B": 0.18})
    said = verdict(found, {"cost_per_m2": 5})
    assert said.first + said.stays + said.rival + said.besides == (
        "A comes first. It stays first while cost counts 3 to 7.2, one moved at a time; of all weightings it wins "
        "22 %, B most often of the others: 18 %."
    )
    alone = verdict(Weighed(("A",), (1.0,), {"cost_per_m2": (0.0, 10.0)}, {"A": 1.0}), {"cost_per_m2": 5})
    assert alone.rival is None
    assert alone.stays.endswith("it wins 100 %.")
