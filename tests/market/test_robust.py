"""How often walls stay on the front: the maths by hand and by law, and a wall taken apart by what it is bought as."""

from __future__ import annotations

import numpy as np
import pytest
import toy_space as small
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from random_spaces import spaces

from optimiser import stopping
from optimiser.score import scenarios as maths
from optimiser.search import stability as robust
from optimiser.search.articles import shares
from optimiser.search.run import save, search
from optimiser.search.study import open_study
from optimiser.space.buildable import buildable, canonical
from optimiser.space.evaluate import evaluate
from optimiser.space.judgements import holding
from optimiser.space.rivals import swapped

STILL = {"supplier_price": 0, "product_price": 0, "labour": 0, "declared_carbon": 0}
TWO = {"minimise": ["cost_per_m2", "carbon_kgco2e_m2"]}


# -- the maths --------------------------------------------------------------------------------------------------


def test_three_walls_by_hand():
    """Two walls of one thickness, at 100 times a factor from 0.9 to 1.1 and at 104; a thicker one at 90.

    The first beats the second below a factor of 1.04: 70 % of the range. The third is beaten where the first costs 90
    or less, which only the end of the range does, and the second never does.
    """
    at = maths.draws(4096, 1, seed=5)
    factor = maths.about_one(at[:, 0], 0.1)
    figures = [np.array([[300, 100 * each], [300, 104], [310, 90.0]]) for each in factor]
    stays = maths.share_undominated(3, figures)
    assert stays == pytest.approx([0.7, 0.3, 1.0], abs=2 / 4096)
    assert maths.share_undominated(1, figures) == pytest.approx([0.7], abs=2 / 4096)


def test_equal_walls_do_not_beat_each_other_and_one_objective_is_enough():
    same = np.array([[3, 5], [3, 5], [4, 4]])
    assert maths.share_undominated(3, [same]).tolist() == [1, 1, 1]
    assert maths.share_undominated(3, [np.array([[2], [1], [1]])]).tolist() == [0, 1, 1]
    with pytest.raises(ValueError, match="no scenario"):
        maths.share_undominated(1, [])


@pytest.mark.parametrize("count", [16, 100, 512])
def test_draws_fill_the_range_evenly_and_follow_the_seed(count):
    first, again, other = maths.draws(count, 7, 3), maths.draws(count, 7, 3), maths.draws(count, 7, 4)
    assert first.shape == (count, 7)
    assert first.tolist() == again.tolist() != other.tolist()
    assert (first >= 0).all() and (first < 1).all()
    if count & (count - 1) == 0:  # a whole power of two: one point in every slice of every factor
        assert (np.sort((first * count).astype(int), axis=0) == np.arange(count)[:, None]).all()
    assert maths.draws(count, 0, 1).shape == (count, 0)


def test_a_lopsided_range_keeps_its_typical_value_as_median():
    at = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
    assert maths.about_zero(at, -0.2, 0.6).tolist() == pytest.approx([-0.2, -0.1, 0.0, 0.3, 0.6])
    assert maths.about_one(at, 0.1).tolist() == pytest.approx([0.9, 0.95, 1.0, 1.05, 1.1])


FIGURES = arrays(np.int64, st.tuples(st.integers(1, 12), st.just(3)), elements=st.integers(0, 9))


@given(st.lists(arrays(np.int64, (8, 3), elements=st.integers(0, 9)), min_size=1, max_size=6), st.integers(1, 8))
def test_more_walls_to_stand_against_never_help(scenarios, watched):
    few = maths.share_undominated(watched, [each[:watched] for each in scenarios])
    many = maths.share_undominated(watched, scenarios)
    assert (many <= few).all()
    slow = np.zeros(watched)
    for figures in scenarios:
        for at in range(watched):
            beats = (figures <= figures[at]).all(axis=1) & (figures < figures[at]).any(axis=1)
            slow[at] += not beats.any()
    assert many.tolist() == (slow / len(scenarios)).tolist()


# -- walls by what they are bought as ---------------------------------------------------------------------------


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(spaces())
def test_what_a_wall_is_bought_as_adds_up_to_its_score(choices):
    rng = np.random.default_rng(2)
    x = canonical(choices, rng.integers(0, choices.sizes, size=(2000, len(choices.sizes))))
    x = x[buildable(choices, x)]
    found, scores = shares(choices, x), evaluate(choices, x)
    assert len({each.key for each in found.articles}) == len(found.articles)
    assert np.allclose(found.price.sum(axis=1) + found.labour, scores.cost_per_m2, rtol=0, atol=1e-9)
    assert np.allclose(found.mass.sum(axis=1), scores.weight_kg_m2, rtol=0, atol=1e-9)
    assert np.allclose(found.carbon.sum(axis=1), scores.carbon_kgco2e_m2, rtol=0, atol=1e-9)


def test_an_article_has_what_its_price_moves(tmp_path):
    """Each product's share of a wall's cost is what the cost gains when its price on the list is doubled."""
    dear = {}
    for key in ("f-cel", "t-145", "o-12", "p-12"):
        rows = []
        for row in small.PRODUCTS:
            cells = row.split(",")
            if cells[0] == key:
                cells[6] = str(2 * float(cells[6]))
            rows.append(",".join(cells))
        folder = tmp_path / key
        dear[key] = small.choices_of(small.brief_in(folder, rows), folder)
    choices = small.choices_of(small.brief_in(tmp_path), tmp_path)
    rng = np.random.default_rng(2)
    x = canonical(choices, rng.integers(0, choices.sizes, size=(3000, len(choices.sizes))))
    x = x[buildable(choices, x)]
    found = shares(choices, x)
    keys = [each.key for each in found.articles]
    for key, changed in dear.items():
        gained = evaluate(changed, x).cost_per_m2 - evaluate(choices, x).cost_per_m2
        assert gained.max() > 0.1
        assert np.allclose(gained, found.price[:, keys.index(key)], atol=1e-9)


# -- fronts -----------------------------------------------------------------------------------------------------


def front_in(folder, rows=small.PRODUCTS, **changes):
    """The complete front of a toy brief as an archive."""
    brief = small.brief_in(folder, rows, **({"search": {"start_generations": 2}} | changes))
    return search(brief, folder).archives[0]


def test_when_nothing_moves_every_wall_stays(tmp_path):
    """Everything declared, and no range: each scenario is today."""
    rows = [fill(row) for row in small.PRODUCTS]
    archive = front_in(tmp_path, rows, ranges=STILL)
    assert len(archive.best_x) > 10
    assert archive.stability.tolist() == [1.0] * len(archive.best_x)


def fill(row: str) -> str:
    """A row of the toy list that declares its carbon."""
    cells = row.split(",")
    cells[10], cells[11] = cells[10] or "0.4", cells[11] or "-1.2"
    return ",".join(cells)


def test_generic_carbon_moves_within_the_range_of_the_catalogue(tmp_path):
    archive = front_in(tmp_path, ranges=STILL)
    assert archive.stability.min() < 1.0
    articles = shares(archive.choices, archive.best_x).articles
    low, high = robust.carbon_ranges(archive.choices, articles)
    for each, down, up in zip(articles, low, high, strict=True):
        material = each.stock.material
        if each.declares:
            assert (down, up) == (0.0, 0.0), "no range, and so no difference"
        elif material.fossil_low_kgco2e_kg is not None:
            assert down == pytest.approx(material.fossil_low_kgco2e_kg - material.fossil_kgco2e_kg)
            assert up == pytest.approx(material.fossil_high_kgco2e_kg - material.fossil_kgco2e_kg)


def test_all_prices_together_change_no_order(tmp_path):
    """One supplier, no labour, carbon that stands still: his prices move all walls alike."""
    declared = [fill(row) for row in small.PRODUCTS]
    rows = [",".join([*row.split(",")[:3], "Toy", *row.split(",")[4:]]) for row in declared]
    ranges = STILL | {"supplier_price": 0.3}
    archive = front_in(tmp_path, rows, ranges=ranges, labour={"rate_per_h": 0}, objectives=TWO)
    assert len(archive.best_x) > 4
    assert archive.stability.tolist() == [1.0] * len(archive.best_x)
    apart = front_in(tmp_path, declared, ranges=ranges, labour={"rate_per_h": 0}, objectives=TWO)
    assert apart.stability.min() < 1.0, "three suppliers do"


def test_one_of_the_thinnest_walls_stays_in_every_scenario(tmp_path):
    archive = front_in(tmp_path)
    thickness = evaluate(archive.choices, robust.pool(archive.choices, archive.best_x, archive.target)).thickness_mm
    thinnest = np.flatnonzero(thickness == thickness.min())
    assert thinnest.max() < len(archive.best_x), "all of them are on the front"
    assert archive.stability[thinnest].sum() >= 1.0
    assert archive.stability.min() < 1.0
    assert archive.stability.min() >= 0


def test_the_same_seed_gives_the_same_shares_and_another_nearly(tmp_path):
    one, again = front_in(tmp_path / "1"), front_in(tmp_path / "2")
    other = front_in(tmp_path / "3", seed={"value": 8})
    assert one.stability.tolist() == again.stability.tolist()
    assert other.best_x.tolist() == one.best_x.tolist()
    assert other.stability.tolist() != one.stability.tolist()
    assert np.abs(other.stability - one.stability).max() < 0.1
    assert len(set(one.stability)) > 5


def test_the_pool_holds_swaps_that_pass_and_could_win_and_leaves_none_out(tmp_path):
    """Against all walls of the toy space that differ in one product: those left out are beaten in every scenario."""
    archive = front_in(tmp_path, ranges={"scenarios": 64})
    choices, front = archive.choices, archive.best_x
    x = robust.pool(choices, front, archive.target)
    assert x[: len(front)].tolist() == front.tolist()
    assert len(np.unique(x, axis=0)) == len(x)
    assert buildable(choices, x).all()
    assert (evaluate(choices, x).u_value <= archive.target).all()
    made = np.unique(swapped(choices, front)[1], axis=0)
    made = made[buildable(choices, made)]
    made = made[holding(choices, made, evaluate(choices, made), archive.target)]
    known = {tuple(row) for row in x.tolist()}
    left_out = np.array([row for row in made.tolist() if tuple(row) not in known])
    assert len(left_out) > 0 and len(known - {tuple(row) for row in front.tolist()}) > 0
    every = np.concatenate([x, left_out]).astype(np.int32)
    few = maths.share_undominated(len(front), (steps[: len(x)] for steps in robust.scenarios(choices, every)))
    many = maths.share_undominated(len(front), robust.scenarios(choices, every))
    assert few.tolist() == many.tolist()


def test_a_pool_beyond_its_size_keeps_the_front_and_the_nearest(tmp_path, monkeypatch):
    archive = front_in(tmp_path, ranges={"scenarios": 64})
    choices, front = archive.choices, archive.best_x
    whole = robust.pool(choices, front, archive.target)
    monkeypatch.setattr(robust, "MOST_WALLS", len(front) + 5)
    few = robust.pool(choices, front, archive.target)
    assert len(few) == len(front) + 5 < len(whole)
    assert few[: len(front)].tolist() == front.tolist()
    assert {tuple(row) for row in few.tolist()} <= {tuple(row) for row in whole.tolist()}
    monkeypatch.setattr(robust, "MOST_WALLS", 1)
    assert robust.pool(choices, front, archive.target).tolist() == front.tolist(), "never less than the front"


def test_scenarios_move_cost_and_carbon_alone_and_stay_within_their_ranges(tmp_path):
    archive = front_in(tmp_path, ranges=STILL | {"labour": 0.5, "scenarios": 32})
    choices, x = archive.choices, archive.best_x
    labour = shares(choices, x).labour
    today = archive.best_steps
    seen = np.array(list(robust.scenarios(choices, x)))
    assert seen.shape == (32, len(x), 3)
    assert (seen[:, :, 0] == today[:, 0]).all()
    moved = (seen[:, :, 1] - today[:, 1]) / 1e4
    assert (np.abs(moved) <= 0.5 * labour + 1e-4).all()
    assert moved.min() < -0.4 * labour.min() and moved.max() > 0.4 * labour.min()


def test_a_stopped_look_gives_nothing(tmp_path, monkeypatch):
    archive = front_in(tmp_path)
    monkeypatch.setattr(stopping, "EVERY", 0.0)  # asked in every loop, however soon after the last
    calls = iter(range(100))
    assert robust.stability(archive, lambda: next(calls) > 2) is None
    assert robust.stability(archive).tolist() == archive.stability.tolist()


def test_the_column_of_the_front_is_read_back_and_earlier_studies_open_without_it(tmp_path):
    brief = small.brief_in(tmp_path, search={"start_generations": 2})
    outcome = search(brief, tmp_path)
    save(outcome, tmp_path, tmp_path / "study")
    opened = open_study(tmp_path / "study")
    assert sorted(row["stability"] for row in opened.rows) == sorted(outcome.archives[0].stability.tolist())
    lines = [line.split(",") for line in (tmp_path / "study" / "front.csv").read_text().splitlines()]
    at = lines[0].index("stability")
    assert all('"' not in cell for line in lines for cell in line[:at])
    text = "\n".join(",".join(line[:at] + line[at + 1 :]) for line in lines) + "\n"
    (tmp_path / "study" / "front.csv").write_text(text)
    assert all(row["stability"] is None for row in open_study(tmp_path / "study").rows)
