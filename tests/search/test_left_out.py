"""Every cause by which a search leaves something out is told, with all that it concerns; what a brief names is not."""

from __future__ import annotations

import toy_space as small

from materials.catalogue import load_catalogue
from optimiser.brief.price_lists import pricing_of
from optimiser.space.left_out import LeftOut, left_out, with_names

MISFITS = [
    "m-20,batten 20,larch-batten,Toy Timber,20,45,0.80,m,EUR,,,",
    "m-b,hemp by the cubic metre,hemp-batt,Toy Fills,50,,90.00,m3,EUR,,,",
]


def lines(folder, rows=small.PRODUCTS, **changes) -> dict[str, LeftOut]:
    """What is left out, by its reason."""
    brief = small.brief_in(folder, rows, **changes)
    catalogue = load_catalogue()
    return {each.why: each for each in left_out(brief, catalogue, pricing_of(brief, folder, catalogue)[0])}


def test_where_all_is_used_nothing_is_told(tmp_path):
    assert lines(tmp_path) == {}


def test_products_that_no_slot_can_take_are_told_by_what_is_in_the_way(tmp_path):
    told = {why: each.names for why, each in lines(tmp_path, [*small.PRODUCTS, *MISFITS]).items()}
    assert told == {
        "too shallow (least depth: ventilated space 25 mm)": ("m-20",),
        "batts need a thickness and a price by m2": ("m-b",),
    }


def test_a_screw_and_a_tie_have_places_of_their_own(tmp_path):
    screw = "s-1,screw,steel-screws,Toy Boards,,,0.05,piece,EUR,,,"
    assert lines(tmp_path, [*small.PRODUCTS, screw]) == {}  # k-12, the tie plate, is among them


def test_suppliers_that_the_brief_does_not_buy_from_are_told(tmp_path):
    told = lines(tmp_path, prices={"suppliers": ["Toy Timber", "Toy Boards"]})
    (each,) = told.values()
    assert (
        each.what == "6 products of Toy Fills" and each.why == "prices.suppliers asks for Toy Timber, Toy Boards alone"
    )
    assert len(each.names) == 6 and "h-45" in each.names


def test_declarations_that_products_name_and_the_brief_does_not_are_told(tmp_path):
    small.write_brief(tmp_path)
    brief = small.brief_in(tmp_path)
    rows = [row + (",epd-osb" if row.startswith("o-") else ",") for row in small.PRODUCTS]
    (tmp_path / "toy.csv").write_text("\n".join([small.COLUMNS + ",declaration", *rows]) + "\n", encoding="utf-8")
    catalogue = load_catalogue()
    (each,) = left_out(brief, catalogue, pricing_of(brief, tmp_path, catalogue)[0])
    assert each.names == ("epd-osb",) and "prices.declarations" in each.why


def test_many_names_are_kept_within_bounds_and_counted_all_the_same():
    line = LeftOut("prices", "900 products", "lapsed", tuple(f"p-{number:03d}" for number in range(900))).as_json()
    assert line["count"] == 900 and len(line["names"]) == 200
    assert with_names(line) == "900 products: lapsed (p-000, p-001, p-002 and 897 more)"
