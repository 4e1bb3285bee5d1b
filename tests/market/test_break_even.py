"""Break-even values: what they are by hand, and the whole search run again just below and just above them."""

from __future__ import annotations

import numpy as np
import pytest
import toy_space as small

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.command.cli import demo_brief
from optimiser.market.break_even import Front, break_even, complete_front, last_unbeaten, on_front
from optimiser.market.break_even_space import neighbours, swaps
from optimiser.market.levers import ProductPlaces, let_in, lever_of
from optimiser.space.choices import Choices

NEAR = 1e-6
TWINS = [
    "o-9-dear,OSB 9 again,osb,Toy Boards,9,,4.90,m2,EUR,,0.55,-1.6",
    "o-9-same,OSB 9 elsewhere,osb,Other Boards,9,,4.20,m2,EUR,,0.55,-1.6",
    "f-cel-dear,cellulose again,blown-cellulose,Toy Fills,,,1.30,kg,EUR,,0.12,-1.4",
    "h-50-dear,hemp 50 again,hemp-batt,Toy Fills,50,,6.50,m2,EUR,0.042,0.02,-1.3",
    "h-145,hemp 145,hemp-batt,Toy Fills,145,,19.00,m2,EUR,0.042,0.02,-1.3",
    "h-170,hemp 170,hemp-batt,Toy Fills,170,,19.00,m2,EUR,0.042,0.02,-1.3",
    "t-90,stud 90,softwood-c24,Toy Timber,90,45,1.80,m,EUR,,0.19,-1.6",
    "s-1,screws,wood-screw,Toy Boards,,,6.00,kg,EUR,,,",
]
ALLOWED = {
    "sheathing": {"allow": ["none", "o-9", "o-12", "o-9-dear", "o-9-same"]},
    "outer frame": {"allow": ["t-145", "t-195", "t-90"]},
    "fill": {"allow": ["f-cel", "f-fib", "f-gw", "hemp-batt", "f-cel-dear"]},
}
COLUMN = {"price": "price", "carbon": "declared_fossil_kgco2e_kg", "conductivity": "conductivity_w_mk"}


def opened(folder, rows=small.PRODUCTS, **changes):
    """Choices of the toy space, and its complete front."""
    brief = small.brief_in(folder, rows, **changes)
    choices = small.choices_of(brief, folder)
    return choices, complete_front(choices, brief.target.u_value)


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return opened(tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def twins(tmp_path_factory):
    """The toy space with dearer twins of what it holds."""
    rows = [*small.PRODUCTS, *TWINS[:-1]]
    limits = {"min_load_bearing_depth_mm": 120}
    return opened(tmp_path_factory.mktemp("twins"), rows, slots=ALLOWED, limits=limits)


def ask(space, product, lever="price"):
    choices, known = space
    return break_even(choices, choices.brief.target.u_value, known, product, lever)


# -- just below and just above ------------------------------------------------------------------------------------


def rewritten(key: str, lever: str, value: float) -> list[str]:
    """The supplier's list with one figure of one product changed."""
    rows, at = [], small.COLUMNS.split(",").index(COLUMN[lever])
    for line in small.PRODUCTS:
        cells = line.split(",")
        if cells[0] == key:
            cells[at] = repr(value)
            if lever == "carbon":
                cells[at + 1] = cells[at + 1] or repr(load_catalogue().get(cells[2]).biogenic_kgco2e_kg)
        rows.append(",".join(cells))
    return rows


@pytest.mark.parametrize("lever", ["price", "carbon", "conductivity"])
@pytest.mark.parametrize("product", ["wf-22", "wf-60"])
def test_a_list_with_the_figure_just_below_brings_the_product_onto_the_front(plain, tmp_path, product, lever):
    """The price list is written anew and the whole search run on it, knowing nothing of break-even values."""
    found = ask(plain, product, lever)
    assert 0 < found.at < found.today
    assert found.change == pytest.approx(found.at / found.today - 1)
    for sign, enters in ((-1, True), (1, False)):
        value = found.at + sign * NEAR * found.today
        choices, known = opened(tmp_path / f"{sign}", rewritten(product, lever, value))
        assert (product in on_front(choices, known)) == enters


@pytest.mark.parametrize("lever", ["price", "carbon", "conductivity"])
def test_the_wall_named_is_the_one_that_enters(plain, tmp_path, lever):
    found = ask(plain, "wf-60", lever)
    assert found.slots == ("outer board",)
    assert found.wall["outer board"] == "wf-60"
    assert found.in_short.startswith("60 wood-fibre board")
    choices, known = opened(tmp_path, rewritten("wf-60", lever, found.at - NEAR * found.today))
    assert (known.x == np.array(found.row)).all(axis=1).any()
    scores = small.evaluate(choices, np.array([found.row], np.int32))
    for key in ("thickness_mm", "u_value", "cost_per_m2", "carbon_kgco2e_m2"):
        assert found.wall[key] == pytest.approx(getattr(scores, key)[0], rel=1e-5)


@pytest.fixture(scope="module")
def demo():
    brief, catalogue = read_brief(demo_brief()), load_catalogue()
    choices = Choices(brief, catalogue, pricing_of(brief, demo_brief().parent, catalogue)[0])
    return choices, complete_front(choices, brief.target.u_value)


@pytest.mark.parametrize(
    ("lever", "slot"),
    [("price", "outer frame"), ("price", "fill"), ("carbon", "outer board"), ("conductivity", "sheathing")],
)
def test_the_demo_searched_again_just_below_and_just_above(demo, lever, slot):
    choices, _ = demo
    off = (key for key in choices.pricing.products if slot in let_in(choices, {key}))
    told = (ask(demo, key, lever) for key in off)
    found = next(each for each in told if each.at is not None and slot.split()[-1] in " ".join(each.slots))
    moving = lever_of(lever, choices, found.product)
    for sign, enters in ((-1, True), (1, False)):
        moved = moving.moved(choices, found.at + sign * NEAR * found.today)
        again = complete_front(moved, choices.brief.target.u_value)
        assert ProductPlaces.of(moved, set(found.moved)).by(again.x).any() == enters


# -- known by hand ------------------------------------------------------------------------------------------------


def test_a_dearer_twin_enters_at_its_twins_price(twins):
    """To half a step of the cost, 0.005 cent per m2, as walls of equal scores stand on the front together."""
    found = ask(twins, "o-9-dear")
    assert 4.20 <= found.at <= 4.20 + 1e-4
    assert found.unit == "EUR/m2"
    fill = ask(twins, "f-cel-dear")
    assert 0.95 <= fill.at <= 0.95 + 1e-4
    assert set(fill.slots) <= {"outer fill", "gap fill", "inner fill"}


def test_a_dearer_batt_of_a_line_enters_where_it_becomes_the_cheaper_one(twins):
    found = ask(twins, "h-50-dear")
    assert found.at == pytest.approx(5.60, abs=1e-5)
    assert found.moved == ("h-50-dear",)
    assert found.row is not None


def test_a_batt_that_no_depth_takes(twins):
    assert ask(twins, "h-170").reason == "it fits none of the depths"


def test_a_line_of_batts_is_moved_together_but_for_its_price(twins):
    """A batt that is another fill than its neighbours cannot be stacked with them."""
    choices, _ = twins
    for lever in ("carbon", "conductivity"):
        found = ask(twins, "h-50-dear", lever)
        assert found.at is None and found.reason == "a batt of its line is on the front"
        keys = {each.key for each in lever_of(lever, choices, "h-50-dear").line}
        assert keys == {"h-45", "h-50", "h-60", "h-50-dear", "h-145", "h-170"}
    assert [each.key for each in lever_of("price", choices, "h-50-dear").line] == ["h-50-dear"]


def test_a_product_of_equal_scores_is_on_the_front(twins):
    reasons = {ask(twins, "o-9-same").reason, ask(twins, "o-9").reason}
    assert reasons == {"on the front", "on the front in a wall of equal scores"}
    assert {"o-9", "o-9-same"} <= on_front(*twins)


def test_not_even_as_a_gift(tmp_path):
    """Thickness and cost are all that counts, and a board adds thickness that insulates less than a wider gap."""
    space = opened(tmp_path, objectives={"minimise": ["thickness_mm"]}, limits={"max_cost_per_m2": 400})
    found = ask(space, "wf-22")
    assert found.at is None and found.wall is None and found.change is None
    assert found.reason == "not even as a gift"
    assert found.searches >= 1


def test_a_limit_alone_gives_a_break_even_price(tmp_path):
    """Cost limited and not minimised: the dear and better insulating fill enters where the limit is held."""
    space = opened(tmp_path / "a", objectives={"minimise": ["thickness_mm"]})
    dearest = ask(space, "f-gw")
    assert dearest.reason == "on the front"
    assert ask(space, "f-cel").reason == "the brief neither minimises nor limits cost"
    choices, known = space
    cost = small.evaluate(choices, known.walls).cost_per_m2[0]
    limit = {"max_cost_per_m2": float(round(cost - 2, 2))}
    space = opened(tmp_path / "b", objectives={"minimise": ["thickness_mm"]}, limits=limit)
    found = ask(space, "f-gw")
    if found.at is None:
        assert found.reason == "on the front"
    else:
        assert found.wall["cost_per_m2"] <= limit["max_cost_per_m2"] + 1e-6


# -- what is not searched -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("product", "words"),
    [
        ("t-145", "on the front"),
        ("t-90", "90 mm deep; limits.min_load_bearing_depth_mm asks for 120"),
        ("k-12", "made for none of the slots in its size"),
        ("b-38", "on the front"),
    ],
)
def test_reasons(twins, product, words):
    found = ask(twins, product)
    assert found.at is None and found.searches == 0 and found.reason == words


def test_more_reasons(tmp_path):
    """The tie, a fixing, a product that is not allowed, one that is too thin and one whose material is left out."""
    tie = {"product": "k-12", "height_mm": 200, "vertical_spacing_mm": 1200, "overlap_mm": 60}
    fixings = {"sheathing": [{"product": "s-1", "per_m2": 0.01}]}
    slots = {
        "outer board": {"allow": ["none", "wf-22"]},
        "outer gap board": {"allow": ["none"]},
        "airtight layer": {"allow": ["airtight-paper", "pe-membrane", "osb"]},
    }
    rows, origins = [*small.PRODUCTS, TWINS[-1]], {"origins": ["renewable", "mineral"]}
    space = opened(tmp_path, rows, tie=tie, fixings=fixings, slots=slots, materials=origins)
    assert ask(space, "k-12").reason == "not a choice: it is the tie"
    assert ask(space, "s-1").reason == "not a choice: it is a fixing"
    assert ask(space, "wf-60").reason == "the brief does not let it in (outer board, sheathing)"
    assert ask(space, "a-2").reason.startswith("left out: its origin is fossil")


def test_levers_that_have_no_part(plain):
    found = ask(plain, "a-1", "conductivity")
    assert found.at is None and found.reason
    with pytest.raises(InputError, match="conductivity"):
        ask(plain, "wf-22", "conductivty")
    with pytest.raises(InputError, match="wf-22"):
        ask(plain, "wf-23")


# -- parts --------------------------------------------------------------------------------------------------------


def test_the_last_value_at_which_nothing_beats_a_wall():
    """Two objectives, the second 10 + 2 v. By hand, in whole steps: rounding turns at halves."""
    base, slope = np.array([[5.0, 10.0]]), np.array([[0.0, 2.0]])

    def last(vectors, limits=(np.inf, np.inf)):
        return float(last_unbeaten(base, slope, np.array(vectors, np.int64).reshape(-1, 2), np.array(limits))[0])

    assert last([[5, 20]]) == pytest.approx((20.5 - 10) / 2)  # equal at 20: beaten from 21 on
    assert last([[4, 20]]) == pytest.approx((19.5 - 10) / 2)  # thinner: beaten as soon as it is as cheap
    assert last([[6, 1]]) == np.inf  # never beats it
    assert last([[5, 20], [4, 16]]) == pytest.approx((15.5 - 10) / 2)
    assert last([[5, 20]], (np.inf, 18.0)) == pytest.approx(4.0)
    assert last([[5, 20]], (4.0, np.inf)) == -np.inf  # over a limit that does not move
    assert last([]) == np.inf


def test_the_front_beats_what_the_definition_says():
    rng = np.random.default_rng(3)
    vectors = rng.integers(0, 12, (40, 3))
    front = Front(np.arange(40)[:, None].astype(np.int32), vectors)
    asked = rng.integers(0, 12, (200, 3))
    expected = [bool(((vectors <= v).all(axis=1) & (vectors < v).any(axis=1)).any()) for v in asked]
    assert front.beats(asked).tolist() == expected


def test_swapped_walls_and_neighbours_can_be_built_and_hold_the_product(twins):
    choices, known = twins
    for key in ("wf-22", "o-9-dear", "f-cel-dear", "b-60"):
        held = ProductPlaces.of(choices, {key})
        made = swaps(choices, held, known.walls)
        near = neighbours(choices, held, made[:3])
        for x in (made, near):
            assert len(x)
            assert small.rules.buildable(choices, x).all()
            assert held.by(x).all()
