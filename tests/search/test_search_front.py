"""Fronts, ties, hypervolume and knee against naive versions of the same laws."""

import numpy as np
import pytest
import toy_space as small
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.search import front
from optimiser.search.archive import Archive
from optimiser.wall.scores import Scores


@st.composite
def scored(draw, least=1):
    """Distinct rows of choices with scores from a small range, so that ties and dominance abound."""
    objectives = draw(st.integers(1, 4))
    rows = draw(st.lists(st.tuples(*[st.integers(0, 4)] * 3), min_size=least, max_size=40, unique=True))
    steps = draw(
        st.lists(st.tuples(*[st.integers(1, 6)] * objectives), min_size=len(rows), max_size=len(rows)).map(list)
    )
    return np.array(rows, int).reshape(-1, 3), np.array(steps, np.int64).reshape(-1, objectives)


def beats(one, other):
    return all(a <= b for a, b in zip(one, other, strict=True)) and any(a < b for a, b in zip(one, other, strict=True))


@given(scored(least=0))
def test_one_row_stands_for_each_score_vector_and_it_is_the_lowest(found):
    x, steps = found
    kept, kept_steps, counts = front.distinct(x, steps)
    groups = {}
    for row, score in zip(map(tuple, x), map(tuple, steps), strict=True):
        groups.setdefault(score, []).append(row)
    assert list(map(tuple, kept_steps)) == sorted(groups)
    assert list(map(tuple, kept)) == [min(groups[score]) for score in sorted(groups)]
    assert list(counts) == [len(groups[score]) for score in sorted(groups)]


@given(scored(least=0), st.randoms(use_true_random=False))
def test_distinct_does_not_depend_on_the_order_in_which_rows_come(found, random):
    x, steps = found
    order = list(range(len(x)))
    random.shuffle(order)
    for one, other in zip(front.distinct(x, steps), front.distinct(x[order], steps[order]), strict=True):
        assert np.array_equal(one, other)


@given(scored())
def test_nondominated_rows_are_those_that_no_other_beats(found):
    steps = np.unique(found[1], axis=0)
    expected = [not any(beats(other, row) for other in steps) for row in steps]
    assert front.nondominated(steps).tolist() == expected


def test_nondominated_tells_scores_apart_that_differ_in_the_last_whole_step():
    large = 40_000_000  # 4000 currency per m2, in steps of 0.0001
    steps = np.array([[large, large], [large, large + 1], [large - 1, large + 1]], np.int64)
    assert front.nondominated(steps).tolist() == [True, False, True]


@settings(max_examples=60)
@given(scored(), st.integers(3, 8))
def test_hypervolume_is_the_share_of_the_box_that_the_rows_dominate(found, edge):
    steps = found[1]
    reference = np.full(steps.shape[1], float(edge))
    axes = np.meshgrid(*[np.arange(edge)] * steps.shape[1], indexing="ij")
    cells = np.stack([axis.ravel() for axis in axes], axis=1)
    dominated = np.zeros(len(cells), bool)
    for row in steps:  # a row of whole numbers covers the unit cells at and beyond it
        dominated |= (cells >= row).all(axis=1)
    assert front.hypervolume(steps, reference) == pytest.approx(dominated.mean(), abs=1e-12)
    assert small.volume(steps, reference) == pytest.approx(dominated.mean(), abs=1e-12)


TWINS = [*small.PRODUCTS, "a-0,the same paper,airtight-paper,Other Toys,,,1.90,m2,EUR,,,"]
TIED = {
    "airtight layer": {"allow": ["a-1", "a-2", "a-0"]},
    "outer board": {"lock": "wf-60"},
    "sheathing": {"lock": "o-9"},
}


@pytest.mark.parametrize("objectives", [["thickness_mm"], ["thickness_mm", "cost_per_m2", "carbon_kgco2e_m2"]])
def test_an_archive_of_the_whole_space_counts_its_ties_and_keeps_the_lowest(tmp_path, objectives):
    brief = small.brief_in(tmp_path, TWINS, slots=TIED, objectives={"minimise": objectives})
    every = small.listed(brief, tmp_path)
    archive = Archive(every.choices, brief.target.u_value)
    order = np.random.default_rng(3).permutation(len(every.x))
    for part in np.array_split(order, 7):  # in pieces and out of order, as a search adds them
        archive.add(every.x[part], Scores(*(values[part] for values in vars(every.scores).values())))
    holds = every.holding()
    ties = {}
    for row, score in zip(every.x[holds].tolist(), map(tuple, every.steps()[holds]), strict=True):
        ties.setdefault(score, []).append(row)
    true = list(map(tuple, every.front()))
    assert list(map(tuple, archive.best_steps)) == true
    assert archive.best_x.tolist() == [min(ties[score]) for score in true]
    assert archive.equal_counts().tolist() == [len(ties[score]) for score in true]
    assert max(len(ties[score]) for score in true) > 1, "the case holds no tie: it tests nothing"
