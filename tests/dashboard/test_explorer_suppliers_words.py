"""What each supplier means, in words, figures and swaps: plain functions under the explorer's view."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.front.plot_axes import Look
from dashboard.suppliers import comparison_words as words
from dashboard.suppliers import part, swaps_part
from dashboard.suppliers.figure import suppliers_figure
from dashboard.words import QUANTITIES
from optimiser.market.cases import SupplierCase
from optimiser.market.losses import Losses, More
from optimiser.market.suppliers import SupplierFront, SupplierFronts
from optimiser.market.swaps import NO_METHOD, Swap
from optimiser.space.buildable import RULES

OBJECTIVES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2")


# -- words ---------------------------------------------------------------------------------------------------------


def front(median=0.0, worst=0.0, best=(0.0, 0.0, 0.0), stay=1, unreached=0, walls=2, **more) -> SupplierFront:
    same = More(median, worst, unreached, 4)
    lost = Losses(
        walls,
        stay,
        {key: same for key in OBJECTIVES[1:]},
        {key: same for key in OBJECTIVES},
        dict(zip(OBJECTIVES, best, strict=True)),
        0.9,
    )
    return SupplierFront(SupplierCase("Marl Insulation"), walls={"id": [""] * walls}, losses=lost, **more)


def told(*given: SupplierFront, walls: int = 3) -> SupplierFronts:
    return SupplierFronts(0.105, OBJECTIVES, walls, True, given, 1.0)


def test_a_case_in_three_lines():
    found = front(2.1, 7.57, (12.0, 1.3, 0.0), unreached=1)
    assert words.case_words(found, told(found), "EUR") == [
        "Without Marl Insulation: 2 walls on the front, 3 today; 1 of today’s stays.",
        "The thinnest is 12 mm thicker, the cheapest is €1.30 dearer and the lowest carbon as today.",
        "At the same thickness: cost +€2.10 in the median, +€7.57 at worst; carbon +2.1 kg in the median, "
        "+7.6 kg at worst. Walls as thin as today’s thinnest are gone.",
    ]


def test_a_case_that_changes_nothing_says_so():
    found = front(stay=3, walls=3)
    assert words.case_words(found, told(found), "EUR") == [
        "Without Marl Insulation: 3 walls on the front, as today; all of today’s stay.",
        "The thinnest, cheapest and lowest carbon are as good as today.",
        "At the same thickness: cost as today; carbon as today.",
    ]


def test_a_case_that_leaves_no_wall_says_why():
    rule = f"the slots leave no wall that can be built; needed: {RULES['racking']}"
    nothing = SupplierFront(SupplierCase("Marl Insulation", "boards"), reason=rule)
    assert words.case_words(nothing, told(nothing), "EUR") == [
        "Boards by Marl Insulation alone: no wall at all.",
        "No wall can be built: it takes a racking board fixed to the load-bearing frame.",
    ]
    row = words.case_rows(told(nothing))[0]
    assert (row["walls"], row["reason"]) == (0, words.reason_words(nothing))


def test_the_first_case_is_the_supplier_most_is_lost_without():
    light = front()
    heavy = replace(front(), case=SupplierCase("Hollin Timber"), losses=replace(front().losses, volume=0.4))
    alone = replace(front(), case=SupplierCase("Hollin Timber", "timber"), losses=replace(front().losses, volume=0.1))
    assert words.first_case(told(light, heavy, alone)) == "without Hollin Timber"
    assert words.first_case(told()) is None


def test_every_case_has_a_row_that_adds_up(fronts):
    rows = words.case_rows(fronts)
    assert [row["id"] for row in rows] == [words.case_name(each) for each in fronts.fronts]
    assert len({row["id"] for row in rows}) == len(rows)
    for row, each in zip(rows, fronts.fronts, strict=True):
        assert row["walls"] == len(each)
        if row["reason"] is None:
            assert row["stay"] <= min(row["walls"], fronts.walls)
            assert row["stay"] == sum(bool(name) for name in each.walls["id"])
            assert words.case_words(each, fronts, "EUR")[0].startswith(row["case"][:1].upper())


def test_walls_of_a_case_lie_where_the_front_would_draw_them(compared, fronts):
    source = compared.source(None)
    found = next(each for each in fronts.fronts if each.losses and each.losses.stay)
    rows = words.other_rows(found, source.brief)
    today = {row["id"]: row for row in source.rows}
    stay = [row for row in rows if row["wall"]]
    assert len(stay) == found.losses.stay
    for row in stay:
        for key in (*OBJECTIVES, "floor_area_lost_m2"):
            assert row[key] == pytest.approx(today[row["wall"]][key])
    assert all(row["id"] == words.case_name(found) for row in rows if not row["wall"])


def price(product, at, today=10.0, reason="", slots=("sheathing",), **more):
    change = None if at is None else at / today - 1
    named = {"product": product, "name": f"board 45 x {product}", "supplier": "Marl Insulation"}
    return (
        named
        | {
            "unit": "EUR/m2",
            "today": today,
            "at": at,
            "change": change,
            "slots": list(slots),
            "reason": reason,
            "in_short": "9 OSB",
        }
        | more
    )


def test_break_even_values_are_sorted_out_the_nearest_first():
    found = [
        price("a", 2.0),
        price("b", 9.0),
        price("c", None, reason="not even as a gift", slots=("outer fill", "gap fill")),
        price("d", None, reason="the brief does not let it in (lining)", slots=()),
        price("e", 5.0, supplier="Hollin Timber"),
    ]
    carbon = {"carbon": [price("c", 0.3, 0.4), price("a", None, reason="not even without carbon of its making")]}
    all_of_them = words.prices_of(found, "price", None, "EUR", carbon)
    assert [(row["id"], row["per"]) for row in all_of_them.rows] == [("b", "m²"), ("e", "m²"), ("a", "m²")]
    assert all_of_them.rows[0]["fall"] == pytest.approx(0.1)
    assert all_of_them.never == [
        (
            "board 45×c, Marl Insulation",
            "could stand as outer fill and gap fill; would enter with its carbon of its making 25.0 % lower",
        )
    ]
    assert all_of_them.others == {"the brief does not let it in (lining)": ["board 45×d, Marl Insulation"]}
    assert "Nearest: board 45×b of Marl Insulation, at €9.00 per m², 10.0 % below today." in words.prices_words(
        all_of_them, "price", "EUR"
    )
    one = words.prices_of(found, "price", "Hollin Timber", "EUR", {})
    assert [row["id"] for row in one.rows] == ["e"]
    assert not one.never and not one.others
    assert len(part.other_parts(all_of_them, "price")) == 2


def test_every_product_off_the_front_is_told_once(compared):
    kept = compared.comparing.compared(compared.source(None), None)
    found = words.prices_of(kept.prices["price"], "price", None, "EUR", {})
    assert found.rows and found.others
    counted = len(found.rows) + len(found.never) + sum(map(len, found.others.values()))
    assert counted == len(kept.prices["price"])
    falls = [row["fall"] for row in found.rows]
    assert falls == sorted(falls)
    assert all(0 <= row["at"] <= row["today"] for row in found.rows)


@pytest.mark.parametrize(
    ("share", "said"), [(0.124, "12.4 %"), (3e-8, "less than 0.1 %"), (0.0, "0.0 %"), (0.9999, "100.0 %")]
)
def test_shares(share, said):
    assert words.percent(share) == said


def test_a_figure_that_enters_just_below_today_shows_the_digits_that_tell_them_apart():
    assert words.digits_apart(5.49, 5.21, 2) == 2
    assert words.digits_apart(5.49, 5.4871, 2) == 3
    assert words.digits_apart(5.49, 5.48999, 2) == 5
    assert words.digits_apart(5.49, 5.4899999, 2) is None
    each = {"product": "p", "name": "OSB 9 x 1250", "supplier": "Hollin", "slots": ["sheathing"], "today": 5.49}
    each |= {"unit": "EUR/m2", "change": -0.0005, "in_short": "a wall", "reason": ""}
    near, within = (words.prices_of([each | {"at": at}], "price", None, "EUR", {}) for at in (5.4871, 5.4899999))
    assert (near.rows[0]["digits"], near.rows[0]["near"]) == (3, False)
    assert (within.rows[0]["digits"], within.rows[0]["near"]) == (2, True)
    assert "at €5.487 per m², less than 0.1 % below today." in words.prices_words(near, "price", "EUR")
    assert "at €5.49 per m², within rounding of today’s." in words.prices_words(within, "price", "EUR")
    function = next(
        column["valueFormatter"]["function"]
        for column in part.price_columns(near.rows, "price", "EUR")
        if column["field"] == "at"
    )
    assert "params.data.near ? 'as today'" in function and "params.data.digits" in function


def test_the_hold_names_the_ranges_of_the_brief(compared):
    source = compared.source(None)
    rows = [{"stability": 0.95}, {"stability": 0.5}, {"stability": None}]
    first, second = words.hold_words(source.brief, rows)
    for each in ("512 scenarios", "±8 %", "±5 %", "±10 %", "±15 %"):
        assert each in first
    assert first.startswith("“Stays on front” in the table is the share of 512 scenarios")
    assert second.startswith("1 wall of 2 stays in at least 90 %")
    assert f"“{QUANTITIES['stability'].noun}”" in second
    assert words.hold_words(source.brief, [{"stability": None}]) == []


# -- figure --------------------------------------------------------------------------------------------------------


def test_both_fronts_are_drawn_and_told_apart(compared, fronts):
    source = compared.source(None)
    found = next(each for each in fronts.without if each.losses and 0 < each.losses.stay < len(each))
    other = words.other_rows(found, source.brief)
    new = [number for number, row in enumerate(other) if not row["wall"]]
    look = Look("thickness_mm", "carbon_kgco2e_m2")
    figure = suppliers_figure(source.rows, other, words.case_name(found), look, source.rows[0]["id"], new[0])
    today, staying, fresh, ring = figure["data"][2:]
    assert list(today["ids"]) == [row["id"] for row in source.rows]
    assert len(staying["x"]) == found.losses.stay
    assert [each[1] for each in fresh["customdata"]] == new
    assert ring["x"] == [source.rows[0]["thickness_mm"], other[new[0]]["thickness_mm"]]
    assert {each["text"] for each in figure["layout"]["annotations"]} == {"all suppliers", words.case_name(found)}
    low, high = figure["layout"]["xaxis"]["range"]
    assert all(low <= x <= high for trace in (today, fresh) for x in trace["x"])


def test_a_case_without_walls_still_draws_today(compared):
    source = compared.source(None)
    figure = suppliers_figure(source.rows, [], "without somebody", Look())
    assert len(figure["data"][2]["x"]) == len(source.rows)
    assert [each["text"] for each in figure["layout"]["annotations"]] == ["all suppliers"]


def test_a_hostile_name_stays_text_in_the_figure(compared):
    source = compared.source(None)
    row = {**source.rows[0], "id": "<b>x</b>", "wall": ""}
    figure = suppliers_figure(source.rows, [row], "<b>x</b>", Look())
    assert "&lt;b&gt;x&lt;/b&gt;" in figure["data"][4]["text"][0]
    assert "&lt;b&gt;x&lt;/b&gt;" in {each["text"] for each in figure["layout"]["annotations"]}


# -- swaps ---------------------------------------------------------------------------------------------------------

CHANGE = {"thickness_mm": 3.0, "u_value": 0.002, "cost_per_m2": -0.36, "carbon_kgco2e_m2": 0.0}
ROW = {"id": "W-001", "target": 0.105, "u_value": 0.105, "thickness_mm": 619.0}


def swap(**more) -> Swap:
    given = {
        "places": ("sheathing",),
        "product": "ps-osb-9",
        "name": "OSB 9",
        "supplier": "Pellowmere Supplies",
        "rival": "bb-osb-12",
        "rival_name": "OSB 12",
        "rival_supplier": "Brackenfold Boards",
        "same_kind": False,
        "change": CHANGE,
        "fails": (),
        "reason": None,
        "wall": None,
        "row": (),
    }
    return Swap(**(given | more))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "passes"),
        ({"fails": ("strength", "moisture")}, "fails strength and moisture"),
        ({"fails": ("target", "fill")}, "misses the target by 0.002, fails fill"),
        (
            {"fails": ("target",), "change": CHANGE | {"u_value": 0.00002}},
            "misses the target by 0.00002",
        ),
        ({"fails": ("max_thickness_mm",)}, "over the limit of 620 mm by 2 mm"),
        ({"fails": (NO_METHOD,)}, "its layers differ too much for the combined method of ISO 6946"),
        (
            {
                "reason": "one wind-tight layer: a membrane, or else an outermost board that is wind-tight by itself",
                "change": {},
            },
            "cannot be built: it takes one wind-tight layer",
        ),
    ],
)
def test_whether_a_swapped_wall_passes_is_told_in_words(compared, more, said):
    brief = compared.source(None).brief
    assert swaps_part.verdict_words(swap(**more), ROW, brief, "EUR") == said


def test_changes_have_signs_and_no_more_digits_than_mean_something():
    assert [swaps_part.cell(key, CHANGE[key]) for key in swaps_part.FIGURES] == ["+3", "+0.0020", "−0.36", "0"]
    assert swaps_part.cell("thickness_mm", -12.5) == "−12.5"
    assert swaps_part.cell("u_value", None) == ""


def test_swaps_are_grouped_by_product_and_the_rest_is_folded():
    rivals = [swap(rival=str(number), rival_name=f"OSB {number}") for number in range(6)]
    rivals += [swap(rival="x", fails=("strength",)), swap(rival="y", fails=("fill",))]
    fill = swap(places=("outer fill", "gap fill"), same_kind=True)
    groups = swaps_part.swap_groups([*rivals, fill], ROW, None, "EUR")
    assert [each.place for each in groups] == ["sheathing", "outer and gap fill"]
    assert groups[1].lines[0].rival == "the same by Brackenfold Boards"
    first, rest = swaps_part.split(groups[0])
    assert len(first) == 4 and len(rest) == 4
    assert swaps_part.rest_words(rest) == "and 2 more that pass, 2 that do not"
    assert swaps_part.split(groups[1]) == (list(groups[1].lines), [])


def test_every_swap_of_a_wall_is_shown_and_found_once(compared):
    source = compared.source(None)
    wall = source.rows[0]["id"]
    found = compared.comparing.swaps(source, wall)
    assert compared.comparing.swaps(source, wall) is found
    groups = swaps_part.swap_groups(found, source.rows[0], source.brief, "EUR")
    assert sum(len(each.lines) for each in groups) == len(found)
    for each in groups:
        standing = [line.passes for line in each.lines]
        assert standing == sorted(standing, reverse=True), "those that pass come first"
        assert [*map(len, swaps_part.split(each))] != [0, 0]
    assert compared.comparing.swaps(source, "W-999") == []
    assert swaps_part.swap_parts(groups, "EUR")
