"""Break-even values of a whole study: all that is off its front, by however many workers, and studies of no use."""

from __future__ import annotations

import dataclasses

import pytest
import toy_space as small

from materials.errors import InputError
from optimiser.market.break_even import break_even, on_front
from optimiser.market.break_even_study import break_evens, front_of_study
from optimiser.search.run import save, search
from optimiser.search.study import Study, open_study
from optimiser.space.choices import Choices

ROWS = [
    *small.PRODUCTS,
    "o-9-dear,OSB 9 again,osb,Toy Boards,9,,4.90,m2,EUR,,0.55,-1.6",
    "f-far,cellulose from afar,blown-cellulose,Far Fills,,,0.20,kg,EUR,,0.10,-1.4",
]
SLOTS = {"sheathing": {"allow": ["none", "o-9", "o-12", "o-9-dear"]}}
SUPPLIERS = ["Toy Timber", "Toy Boards", "Toy Fills"]


@pytest.fixture(scope="module")
def study(tmp_path_factory) -> Study:
    """A study of two targets whose brief does not buy from everybody."""
    folder = tmp_path_factory.mktemp("studied")
    prices = {"lists": ["toy.csv"], "suppliers": SUPPLIERS}
    targets = {"u_value": 0.11, "also": [0.13]}
    brief = small.brief_in(folder, ROWS, target=targets, prices=prices, slots=SLOTS)
    save(search(brief, folder), folder, folder / "study")
    return open_study(folder / "study")


def plain(found):
    """What was found, less the time it took."""
    return [dataclasses.replace(each, seconds=0.0) for each in found]


@pytest.fixture(scope="module")
def found(study):
    return break_evens(study, ("price", "conductivity"))


def test_every_product_off_the_front_is_told_of_once(study, found):
    choices = Choices(study.brief, study.catalogue, study.pricing)
    held = on_front(choices, front_of_study(study, choices, 0.11))
    prices = [each for each in found if each.lever == "price"]
    assert {each.product for each in prices} == ({*study.pricing.products} - held) | {"f-far"}
    assert len(prices) == len({each.product for each in prices})
    for each in prices:
        named = {value for row in study.rows if row["target"] == 0.11 for value in row.values()}
        assert each.product not in named
        assert (each.at is None) == bool(each.reason)
    asked = [each.product for each in found if each.lever == "conductivity"]
    assert asked == [each.product for each in prices]


def test_what_is_told_of_a_product(found):
    told = {each.product: each for each in found if each.lever == "price"}
    twin = told["o-9-dear"]
    assert 4.20 <= twin.at <= 4.20 + 1e-4
    assert (twin.name, twin.supplier, twin.unit, twin.today) == ("OSB 9 again", "Toy Boards", "EUR/m2", 4.90)
    assert twin.wall["sheathing"] == "o-9-dear" and twin.wall["u_value"] <= 0.11
    assert told["f-far"].reason == "the brief does not buy from Far Fills"
    assert told["f-far"].today == 0.20


def test_the_result_does_not_depend_on_the_number_of_workers(study, found):
    seen = []
    again = break_evens(study, ("price", "conductivity"), watch=lambda *told: seen.append(told[:2]), workers=2)
    assert plain(again) == plain(found)
    total = len(found) - 2  # less the one of a supplier that is not bought from, for either lever
    assert seen == [(number, total) for number in range(1, total + 1)]


def test_some_products_and_another_target(study):
    (told,) = break_evens(study, keys=["wf-60"], target=0.13)
    choices = Choices(study.brief, study.catalogue, study.pricing)
    known = front_of_study(study, choices, 0.13)
    assert plain([told]) == plain([break_even(choices, 0.13, known, "wf-60")])
    (other,) = break_evens(study, keys=["wf-60"])
    assert told.at != other.at
    (held,) = break_evens(study, keys=["o-9"])
    assert held.reason == "on the front"


def test_stopped_it_holds_what_was_done(study):
    done = []
    told = break_evens(study, watch=lambda number, of, each: done.append(each), stop=lambda: len(done) >= 2)
    assert [each for each in told if each.product != "f-far"] == done
    assert len(done) == 2
    assert break_evens(study, keys=["wf-60"], stop=lambda: True) == []


def test_words_that_are_none(study):
    with pytest.raises(InputError, match=r'product "wf-61".*nearest: "wf-60"'):
        break_evens(study, keys=["wf-61"])
    with pytest.raises(InputError, match=r'lever "cost".*price, carbon, conductivity'):
        break_evens(study, ("cost",))
    with pytest.raises(InputError, match=r"targets are 0.11, 0.13"):
        break_evens(study, target=0.12)


def test_a_study_whose_lists_have_changed_is_refused(study):
    rows = [row for row in study.rows if row["id"] != study.rows[0]["id"]]
    with pytest.raises(InputError, match="search again"):
        break_evens(dataclasses.replace(study, rows=rows), keys=["wf-60"])
