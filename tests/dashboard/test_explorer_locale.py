"""Numbers in the locale and currency of the brief: on the page, in the plot and the table; never in files."""

from __future__ import annotations

import re
import shutil
import threading
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from serving import answering

from dashboard import numbers, words
from dashboard.app import build
from dashboard.choosing.narrowing_words import beside_words
from dashboard.choosing.weighing import Weighed, verdict
from dashboard.pricelists.uploads import kind_of
from dashboard.wall.panel import equal_walls
from dashboard.workspace import Workspace
from materials.errors import InputError
from optimiser.brief.brief import brief_to_toml, parse_brief, read_brief
from optimiser.locales import MARKS, THIN, WIDE, many, spelt, writing, written

SAID = {  # 1234.5 of a thing, and of money in EUR, as each locale writes it
    "en": ("1,234.5", "€1,234.5"),
    "de": ("1.234,5", f"1.234,5{WIDE}€"),
    "de-CH": ("1’234.5", f"€{WIDE}1’234.5"),
    "fr": (f"1{THIN}234,5", f"1{THIN}234,5{WIDE}€"),
    "nl": ("1.234,5", f"€{WIDE}1.234,5"),
    "sv": (f"1{WIDE}234,5", f"1{WIDE}234,5{WIDE}€"),
    "nb": (f"1{WIDE}234,5", f"1{WIDE}234,5{WIDE}€"),
    "da": ("1.234,5", f"1.234,5{WIDE}€"),
    "fi": (f"1{WIDE}234,5", f"1{WIDE}234,5{WIDE}€"),
    "it": ("1.234,5", f"1.234,5{WIDE}€"),
    "es": ("1.234,5", f"1.234,5{WIDE}€"),
}


def test_every_locale_is_written_out_here():
    assert SAID.keys() == MARKS.keys()


@pytest.mark.parametrize("locale", SAID)
def test_numbers_and_money_are_written_as_the_locale_does(locale):
    plain, money = SAID[locale]
    with writing(locale):
        assert spelt(1234.5, ",.1f") == plain
        assert words.money(1234.5, "EUR", 1) == money
        assert words.figure("weight_kg_m2", 1234.5) == plain
    assert spelt(1234.5, ",.1f") == "1,234.5"


def test_counts_and_sizes_that_are_told_follow_the_locale():
    rows = [{"id": f"W-{number}"} for number in range(1500)]
    with writing("de"):
        assert "2 walls of 1.500 left" in beside_words(rows, rows[:2])
        assert "20,5 MB; expected at most 20 MB" in kind_of("prices.csv", 20_500_000)[1]
        assert "and 1.460 more" in str(equal_walls(["sheathing"] * 1500)[1])
        said = verdict(Weighed(("W-1",), (0.1,), {"thickness_mm": (0.5, 2.0)}, {"W-1": 1.0}), {"thickness_mm": 1.0})
        assert "thickness counts 0,5 to 2" in said.stays


def test_a_code_without_a_sign_keeps_its_letters_and_a_debt_its_minus():
    assert words.money(12, "SEK") == "SEK 12"
    assert words.money(-12, "EUR") == "−€12"
    assert words.money(-0.2, "EUR") == "€0"
    with writing("sv"):
        assert words.money(-12, "SEK") == f"−12{WIDE}SEK"
    assert numbers.around("€") == ("€", "")
    with writing("fr"):
        assert numbers.around("€") == ("", f"{WIDE}€")


def test_the_words_of_the_page_follow_the_locale():
    with writing("de"):
        assert words.u_goal(0.12) == "0,12"
        assert words.u_shown(0.1268) == "0,127"
        assert words.millimetres(404.5) == "404,5"
        assert words.share_words(0.9991) == "99,9 %"
        assert words.power_of_ten(4.1e10) == "4,1 × 10¹⁰"
        assert many(1234, "wall") == "1.234 walls"
        assert words.signed("cost_per_m2", 6.2, "EUR") == f"+6,20{WIDE}€"
        assert numbers.separators() == ",."
        assert numbers.page_marks() == 'data-decimal="," data-group="."'


@given(st.sampled_from(sorted(MARKS)), st.floats(-1e9, 1e9), st.integers(0, 4))
def test_the_digits_are_those_of_the_plain_number(locale, value, digits):
    plain = f"{value:,.{digits}f}"
    with writing(locale) as marks:
        said = spelt(value, f",.{digits}f")
        assert said == written(plain)
    assert said.replace(marks.group, "").replace(marks.decimal, ".") == plain.replace(",", "")


def test_two_readers_at_once_are_each_answered_in_their_own():
    told, both = {}, threading.Barrier(2)

    def reader(locale: str) -> None:
        with writing(locale):
            both.wait(5)
            told[locale] = spelt(0.5)

    threads = [threading.Thread(target=reader, args=(each,)) for each in ("de", "en")]
    for each in threads:
        each.start()
    for each in threads:
        each.join(5)
    assert told == {"de": "0,5", "en": "0.5"}


def test_a_brief_names_its_locale_and_a_wrong_one_is_refused(study_folder):
    brief = read_brief(study_folder / "brief.toml")
    assert brief.locale == "en"
    text = brief_to_toml(brief)
    assert parse_brief(f'locale = "de"\n{text}', "brief.toml").locale == "de"
    with pytest.raises(InputError, match=r'"dk" is no locale here.*choose among en, de, de-CH'):
        parse_brief(f'locale = "dk"\n{text}', "brief.toml")


@pytest.fixture(scope="module")
def german_workspace(study_folder: Path, tmp_path_factory) -> Workspace:
    """The same study, whose brief is German."""
    folder = tmp_path_factory.mktemp("german") / "study"
    shutil.copytree(study_folder, folder)
    brief = read_brief(folder / "brief.toml").model_copy(update={"locale": "de"})
    (folder / "brief.toml").write_text(brief_to_toml(brief), encoding="utf-8")
    return Workspace(folder, tmp_path_factory.mktemp("german-runs"))


def test_the_print_view_has_no_point_in_a_number(german_workspace):
    client = build(german_workspace).server.test_client()
    text = client.get("/print?wall=W-001").get_data(as_text=True)
    shown = re.sub(r"<(style|script).*?</\1>|<svg.*?</svg>|<[^>]*>", " ", text, flags=re.S)
    assert re.search(r"0,\d{3}", shown)
    assert f"{WIDE}€" in shown
    for product in german_workspace.source(None).study.pricing.products.values():
        shown = shown.replace(product.name, "")  # a name is no number
    shown = re.sub(r"v\d+\.\d+|\(\d\.\d+\)", "", shown)  # nor is an edition, or an equation of a standard
    assert re.findall(r".{20}\d\.\d(?!\d\d\b).{9}", shown) == []
    assert spelt(0.5) == "0.5"  # the request leaves nothing behind


@pytest.mark.browser
def test_the_page_the_plot_and_the_table_are_german_and_the_file_is_not(chromium, german_workspace):
    with answering(german_workspace) as address:
        tab = chromium.new_page(viewport={"width": 1440, "height": 900})
        tab.goto(f"{address}/?wall=W-001")
        tab.wait_for_selector("#drawing svg")
        tab.wait_for_selector("#plot .scatterlayer .point")
        tab.wait_for_selector("#table .ag-row")
        figures = tab.locator("#figures .value").all_inner_texts()
        assert re.fullmatch(r"0,\d{3}", figures[1])
        assert re.fullmatch(r"\d+\u00a0€", figures[2])
        cells = tab.locator("#table .ag-row [col-id=u_value]").all_inner_texts()
        assert cells
        assert all(re.fullmatch(r"0,\d{4}", each) for each in cells)
        _until(tab, "document.querySelector('#range-cost_per_m2').textContent.includes('€')")
        assert re.fullmatch(r"[\d,.]+ – [\d,.]+\u00a0€ per m²", tab.text_content("#range-cost_per_m2"))
        tab.evaluate("""() => window.dash_clientside.set_props("y", {value: "u_value"})""")
        _until(tab, "/U-value/.test(document.querySelector('#plot .ytitle')?.textContent)")
        ticks = tab.locator("#plot .ytick text").all_text_contents()
        assert ticks
        assert all(re.fullmatch(r"0(,\d+)?", each) for each in ticks)
        with tab.expect_download() as waiting:
            tab.click("#csv")
        text = Path(waiting.value.path()).read_text(encoding="utf-8-sig")
        assert re.search(r",0\.\d{3,}", text)
        tab.context.close()


def _until(tab, question: str) -> None:
    end = time.monotonic() + 20
    while not tab.evaluate(question):
        assert time.monotonic() < end, f"never true: {question}"
        time.sleep(0.05)
