"""Prices that have lapsed: left out, or used and marked where the brief allows it; the day goes into the study."""

from datetime import date

import pytest
from price_tables import BOARD, SCREW, TIMBER, csv_bytes, grid

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import Brief, brief_to_toml, read_brief
from optimiser.brief.price_lists import dated, pricing_of
from optimiser.command.cli import demo_brief
from optimiser.score.settings import Fixing
from optimiser.search.study import with_lists
from optimiser.space.options import allowed, options_of

CATALOGUE = load_catalogue()
DAY = date(2027, 6, 1)
OLD, GOOD = "2027-05-31", "2027-06-01"
ROWS = (
    BOARD | {"product": "old", "valid_until": OLD},
    BOARD | {"product": "good", "valid_until": GOOD},
    BOARD | {"product": "ever", "valid_until": ""},
    TIMBER | {"valid_until": OLD},
    SCREW | {"valid_until": OLD, "mass_kg": "0.004"},
)


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "list.csv").write_bytes(csv_bytes(grid(*ROWS)))
    return tmp_path


def brief(on: date | None = DAY, allow: bool = False, **changes) -> Brief:
    shipped = read_brief(demo_brief())
    prices = shipped.prices.model_copy(update={"lists": ("list.csv",), "on": on, "allow_lapsed": allow})
    return shipped.model_copy(update={"prices": prices, "slots": {}, "fixings": {}} | changes)


def priced(asked, folder):
    return pricing_of(asked, folder, CATALOGUE)[0]


def test_a_price_is_good_to_the_end_of_its_last_day(folder):
    pricing = priced(brief(), folder)
    assert set(pricing.products) == {"good", "ever"}
    assert set(pricing.left_out) == {"old", "t", "s"} and not pricing.lapsed
    assert set(priced(brief(on=date(2027, 6, 2)), folder).products) == {"ever"}


def test_allowed_it_is_used_and_its_name_says_so(folder):
    pricing = priced(brief(allow=True), folder)
    assert set(pricing.products) == {"old", "good", "ever", "t", "s"}
    assert pricing.lapsed == {"old", "t", "s"} and not pricing.left_out
    assert pricing.products["old"].name == "OSB 12 (price lapsed 2027-05-31)"
    assert pricing.products["good"].name == "OSB 12"
    labels = {each.label for each in options_of("sheathing", brief(allow=True), CATALOGUE, pricing)}
    assert "OSB 12 (price lapsed 2027-05-31)" in labels


def test_a_lapsed_product_that_is_named_is_told_with_its_day(folder):
    pricing = priced(brief(), folder)
    with pytest.raises(
        InputError, match=r'tie: product "old" is left out: its price lapsed 2027-05-31 \(prices\.allow_lapsed'
    ):
        pricing.named("old", "tie")
    slots = brief().model_copy(
        update={"slots": {"sheathing": brief().slot("sheathing").model_copy(update={"allow": ("old",)})}}
    )
    with pytest.raises(InputError, match=r'slots\."sheathing": "old" is left out: price lapsed 2027-05-31'):
        allowed("sheathing", slots, CATALOGUE, pricing)
    with pytest.raises(InputError, match=r'"nowhere" is on no price list'):
        pricing.named("nowhere", "tie")


def test_a_slot_left_empty_by_lapsed_prices_says_so(folder):
    asked = brief()
    with pytest.raises(InputError, match=r'slots\."outer frame": nothing is left; .* price lapsed 2027-05-31 \(t;'):
        options_of("outer frame", asked, CATALOGUE, priced(asked, folder))


def test_a_lapsed_fixing_that_is_named_is_told(folder):
    fixings = {"sheathing": (Fixing(product="s", per_m2=12),)}
    with pytest.raises(InputError, match=r'fixings\.sheathing: product "s" is left out: its price lapsed 2027-05-31'):
        priced(brief(fixings=fixings), folder)
    assert "s" in priced(brief(allow=True, fixings=fixings), folder).lapsed


def test_the_day_that_was_used_goes_into_the_brief_where_a_price_ends(folder):
    asked = brief(on=None, slots=read_brief(demo_brief()).slots)
    held = dated(asked, priced(asked, folder))
    assert held.prices.on == date.today()
    (folder / "brief.toml").write_text(brief_to_toml(held))
    assert read_brief(folder / "brief.toml").prices.on == date.today()
    (folder / "list.csv").write_bytes(csv_bytes(grid(BOARD)))
    assert dated(asked, priced(asked, folder)) == asked


def test_a_study_takes_the_mapping_with_its_list(folder, tmp_path_factory):
    text = '[columns]\n"code" = "product"\n'
    rows = grid(*ROWS)
    rows[0][0] = "code"
    (folder / "list.csv").write_bytes(csv_bytes(rows))
    (folder / "list.toml").write_text(text)
    study = tmp_path_factory.mktemp("study")
    copied = with_lists(brief(), folder, study)
    assert (study / "prices" / "1-list.toml").read_text() == text
    assert priced(copied, study).products == priced(brief(), folder).products
    assert [*pricing_of(copied, study, CATALOGUE)[1].values()] == [*pricing_of(brief(), folder, CATALOGUE)[1].values()]
