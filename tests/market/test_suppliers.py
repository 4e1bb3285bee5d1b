"""Comparing suppliers: every front against plain enumeration of the walls that are left."""

from __future__ import annotations

import json

import numpy as np
import pytest
import toy_space as small
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from random_spaces import CATALOGUE, listed, spaces

from materials.errors import InputError
from optimiser.brief.price_lists import terms_of
from optimiser.market import suppliers
from optimiser.market.cases import CATEGORIES, Between, SupplierCase, cases, left_of
from optimiser.search import front
from optimiser.search.complete import Complete
from optimiser.search.run import save, search
from optimiser.search.study import open_study
from optimiser.space.buildable import buildable, canonical
from optimiser.space.choices import Choices
from optimiser.space.evaluate import evaluate
from optimiser.template import AT, FILL_VARIABLES, SLOTS, ZONE
from optimiser.wall.pricing import Pricing

# The toy list sold by four: two sell studs, two boards, two fills.
SOLD_BY = {
    "t-195": "Hill Sawmill",
    "b-60": "Hill Sawmill",
    "o-12": "Plain Boards",
    "a-2": "Plain Boards",
    "wf-60": "Plain Boards",
    "f-fib": "Plain Boards",
}


def sold(rows=small.PRODUCTS, by=SOLD_BY) -> list[str]:
    """The rows of a list with other suppliers."""
    return small.sold_by(by, rows)


@pytest.fixture(scope="module")
def studied(tmp_path_factory):
    """A study of the toy space with four suppliers, and the folder of its brief."""
    folder = tmp_path_factory.mktemp("four-suppliers")
    brief = small.brief_in(folder, sold(), search={"start_generations": 2})
    save(search(brief, folder), folder, folder / "study")
    return open_study(folder / "study"), folder


def bought(option, of) -> bool:
    """Whether what an option is bought as is sold by somebody that `of` lets sell."""
    if option.stock is None or not option.stock.products:
        return True
    return all(of(each, option.stock.material.kind) for each in option.stock.products)


def possible(choices: Choices, x: np.ndarray, case: SupplierCase) -> np.ndarray:
    """(n,) walls that a case leaves, by what stands in each of their places; places held to one product are free."""
    fine = np.ones(len(x), bool)
    for name in (*SLOTS, *FILL_VARIABLES):
        if name == "gap":
            continue
        slot = choices.brief.slot("service fill" if name == "service fill" else "fill" if name in ZONE else name)
        named = slot.named
        if named is not None and len(named) == 1 and named[0] in choices.pricing.products:
            continue
        offered = choices.options[name] if name in choices.options else choices.fills[name]
        lets = np.array([bought(each, lambda product, kind: sells(case, product.supplier, kind)) for each in offered])
        there = choices.column[ZONE[name]]["thickness"][x[:, AT[ZONE[name]]]] > 0 if name in ZONE else True
        fine &= lets[x[:, AT[name]]] | ~np.asarray(there)
    return fine


def sells(case: SupplierCase, supplier: str, kind: str) -> bool:
    if case.category is None:
        return supplier != case.supplier
    return supplier == case.supplier or kind not in CATEGORIES[case.category]


def vectors(found: suppliers.SupplierFront, keys) -> list[list[int]]:
    scale = np.array([small.STEP.get(key, 1e-4) for key in keys])
    figures = np.array([found.walls[key] for key in keys]).T.reshape(-1, len(keys))
    return np.unique(np.rint(figures / scale).astype(np.int64), axis=0).tolist()


def test_every_front_of_the_toy_space_equals_plain_enumeration(studied):
    study, folder = studied
    whole = small.listed(small.brief_in(folder, sold(), search={"start_generations": 2}), folder)
    holding = whole.holding()
    found = suppliers.supplier_fronts(study)
    assert found.complete and not found.stopped
    assert {each.case.supplier for each in found.without} == {
        *SOLD_BY.values(),
        "Toy Boards",
        "Toy Fills",
        "Toy Timber",
    }
    assert found.categories == ["timber", "boards", "membranes", "insulation"]
    keys = study.brief.objectives.minimise
    possible_cases = 0
    for each in found.fronts:
        left = holding & possible(whole.choices, whole.x, each.case)
        true = small.best_of(whole.steps()[left])
        if each.reason is not None:
            assert not left.any(), each.case
            assert len(each) == 0
            continue
        possible_cases += 1
        assert vectors(each, keys) == np.unique(true, axis=0).tolist(), each.case
        assert each.share == 1.0
        assert each.walls["thickness_mm"] == sorted(each.walls["thickness_mm"])
        of_full = {row["id"] for row in study.rows}
        assert {name for name in each.walls["id"] if name} <= of_full
        assert each.losses.stay == sum(bool(name) for name in each.walls["id"])
        rows = np.array(each.walls["row"])
        assert possible(whole.choices, rows, each.case).all()
        assert evaluate(whole.choices, rows).cost_per_m2.tolist() == each.walls["cost_per_m2"]
    assert 3 <= possible_cases < len(found.fronts), "some cases are possible, some are not"


FEW = settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
NAMES = ("Ash Yard", "Beck Stores", "Coombe Supply")


@st.composite
def sold_spaces(draw) -> Choices:
    """A random space whose products are sold by three."""
    choices = draw(spaces())
    products = {
        key: each.model_copy(update={"supplier": draw(st.sampled_from(NAMES))})
        for key, each in choices.pricing.products.items()
    }
    brief = choices.brief
    return Choices(brief, CATALOGUE, Pricing(products, terms_of(brief, CATALOGUE, products), "EUR"))


@FEW
@given(sold_spaces())
def test_every_front_of_random_spaces_equals_plain_enumeration(choices):
    target = choices.brief.target.u_value
    full = Complete(choices, target)
    for _ in full.run():
        pass
    x, _, _ = front.distinct(full.x, full.steps)
    names = [f"W-{number}" for number in range(len(x))]
    for each in suppliers.fronts_of(choices, x, target, names).fronts:
        truth = listed(choices, target, also=lambda of, x, case=each.case: possible(of, x, case))
        if each.reason is not None:
            assert not truth.rows, each.case
            continue
        steps = evaluate(choices, np.array(each.walls["row"]).reshape(-1, len(choices.sizes)))
        steps = steps.steps(choices.brief.objectives.minimise)
        assert sorted(steps.tolist()) == truth.steps.tolist(), each.case
        assert sorted(map(tuple, each.walls["row"])) == sorted(truth.rows), each.case


@FEW
@given(sold_spaces())
def test_rows_come_back_as_they_were(choices):
    rng = np.random.default_rng(1)
    x = rng.integers(0, choices.sizes, size=(3000, len(choices.sizes)))
    x = np.unique(canonical(choices, x), axis=0)
    x = x[buildable(choices, x)].astype(np.int32)
    for case in cases(choices):
        try:
            left, _ = left_of(choices, case)
        except InputError:
            continue
        between = Between(choices, left)
        there = x[possible(choices, x, case)]
        back = between.to_full(between.to_left(x))
        assert np.unique(back, axis=0).tolist() == there.tolist()
        if len(there):
            assert np.allclose(evaluate(left, between.to_left(x)).cost_per_m2, evaluate(choices, back).cost_per_m2)


def test_what_the_brief_holds_to_one_product_stays_and_is_told(studied):
    study, _ = studied
    choices = suppliers.choices_of(study)
    left, kept = left_of(choices, SupplierCase("Toy Boards"))
    assert [each.key for each in left.options["lining"]] == ["p-12"]
    assert kept == ("lining: plasterboard 12.5, Toy Boards",)
    with pytest.raises(InputError, match="airtight layer: nothing is left; Toy Fills sells nothing"):
        left_of(choices, SupplierCase("Toy Fills", "membranes"))


def test_a_case_without_walls_says_why(studied):
    """Hill Sawmill sells no inner stud; Toy Boards sells no board that racks once the other two are its own."""
    study, folder = studied
    told = {each.case: each.reason for each in suppliers.supplier_fronts(study).fronts}
    assert told[SupplierCase("Toy Timber")] == told[SupplierCase("Hill Sawmill", "timber")] == suppliers.NO_WALL
    assert told[SupplierCase("Hill Sawmill")] is None
    rows = sold(by=SOLD_BY | {"o-9": "Plain Boards"})
    choices = small.choices_of(small.brief_in(folder / "no-racking", rows), folder / "no-racking")
    found = suppliers.fronts_of(choices, np.empty((0, len(choices.sizes)), np.int32), 0.11, [])
    reasons = {each.case: each.reason for each in found.fronts}
    assert "racking board" in reasons[SupplierCase("Plain Boards")]
    rows = sold(by=SOLD_BY | {"t-145": "Hill Sawmill"})
    choices = small.choices_of(small.brief_in(folder / "no-stud", rows), folder / "no-stud")
    found = suppliers.fronts_of(choices, np.empty((0, len(choices.sizes)), np.int32), 0.11, [])
    reasons = {each.case: each.reason for each in found.fronts}
    stud = "outer frame: nothing is left; all that may stand there is sold by Hill Sawmill"
    assert reasons[SupplierCase("Hill Sawmill")] == stud
    assert "Toy Timber sells nothing that may stand there" in reasons[SupplierCase("Toy Timber", "timber")]


def test_workers_change_nothing_and_the_watch_counts(studied):
    study, _ = studied
    seen = []
    alone = suppliers.supplier_fronts(study, watch=lambda done, total, words: seen.append((done, total, words)))
    shared = suppliers.supplier_fronts(study, workers=2)
    strip = [[each.as_json() | {"seconds": 0} for each in found.fronts] for found in (alone, shared)]
    assert strip[0] == strip[1]
    total = len(alone.fronts)
    assert [each[:2] for each in seen] == [(number, total) for number in range(total + 1)]
    assert all(words for _, _, words in seen)


def test_a_stopped_comparison_holds_what_was_settled_and_is_not_kept(studied):
    study, _ = studied
    calls = iter(range(10_000))
    found = suppliers.supplier_fronts(study, stop=lambda: next(calls) > 3)
    assert found.stopped
    assert len(found.fronts) < len(cases(suppliers.choices_of(study)))
    suppliers.keep_fronts(study, found)
    assert suppliers.stored_fronts(study) is None


def test_a_comparison_is_kept_with_the_study_until_the_front_changes(studied, tmp_path):
    study, folder = studied
    save(search(study.brief, folder / "study"), folder / "study", tmp_path / "s")
    mine = open_study(tmp_path / "s")
    found = suppliers.supplier_fronts(mine)
    suppliers.keep_fronts(mine, found)
    suppliers.keep(mine, break_even={"0.11": []})
    again = open_study(tmp_path / "s")
    assert suppliers.stored_fronts(again) == found
    assert suppliers.stored_part(again, "break_even") == {"0.11": []}
    assert json.loads((tmp_path / "s" / "suppliers.json").read_text())["version"] == suppliers.VERSION
    save(search(study.brief, folder / "study"), folder / "study", tmp_path / "s")
    assert not (tmp_path / "s" / "suppliers.json").exists(), "a new search replaces the folder whole"
    suppliers.keep_fronts(mine, found)
    text = (tmp_path / "s" / "front.csv").read_text().splitlines()
    (tmp_path / "s" / "front.csv").write_text("\n".join(text[:-1]) + "\n")
    assert suppliers.stored_fronts(open_study(tmp_path / "s")) is None, "another front"
    (tmp_path / "s" / "suppliers.json").write_text("{")
    with pytest.raises(InputError, match=r"suppliers\.json"):
        suppliers.stored_fronts(open_study(tmp_path / "s"))


def test_a_target_that_was_not_searched_is_told(studied):
    study, _ = studied
    with pytest.raises(InputError, match=r"U at most 0\.2"):
        suppliers.supplier_fronts(study, target=0.2)
