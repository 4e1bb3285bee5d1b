"""Own membranes and fills on a list, in another currency, in a brief: searched, kept apart by their vapour, judged."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import toy_space as small

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import Brief, brief_to_toml, parse_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.checks.check_table import Demands
from optimiser.checks.judge import judge
from optimiser.search import front
from optimiser.search.complete import Complete
from optimiser.search.run import save, search
from optimiser.search.study import open_study
from optimiser.space.evaluate import evaluate
from optimiser.space.judgements import judgements, passes_all
from optimiser.wall.layers import vapour

OWN = """product;name;material;supplier;price;unit;currency;sd_m;sd_m_dry;sd_m_humid;mu;conductivity_w_mk
own-open;open membrane;pe-membrane;Own Trade;5,00 kr;m2;SEK;0,03;;;;
own-variable;variable membrane;pe-membrane;Own Trade;31,00 kr;m2;SEK;;14;0,4;;
own-tight;tight membrane;pe-membrane;Own Trade;33,00 kr;m2;SEK;120;;;;
own-fill;own fill;blown-cellulose;Own Trade;11,00 kr;kg;SEK;;;;1,3;0,036
"""
CHANGES = small.SOUND | {
    "prices": {"lists": ["toy.csv", "own.csv"], "exchange": {"SEK": 0.088}},
    "slots": small.SMALL["slots"]
    | {
        "airtight layer": {"allow": ["own-open", "own-variable", "own-tight", "a-1"]},
        "fill": {"allow": ["own-fill", "f-cel"]},
    },
}


def brief_in(folder: Path, **changes) -> Brief:
    folder.mkdir(exist_ok=True)
    (folder / "own.csv").write_text(OWN, encoding="utf-8")
    return small.brief_in(folder, **CHANGES | changes)


def test_products_of_one_material_are_kept_apart_by_their_vapour(tmp_path):
    """Against plain enumeration: the cheap open membrane must not displace those that pass."""
    brief = brief_in(tmp_path)
    whole = small.listed(brief, tmp_path)
    choices, x = whole.choices, whole.x[whole.holding()]
    asked = judgements(choices)
    passing = passes_all(choices, asked, x)
    assert 0 < passing.sum() < len(x)
    found = Complete(choices, brief.target.u_value, judgements=asked)
    for _ in found.run():
        pass
    _, scores, _ = front.distinct(found.x, found.steps)
    steps = evaluate(choices, x[passing]).steps(brief.objectives.minimise)
    assert scores.tolist() == small.best_of(steps).tolist()


def test_a_study_of_them_holds_what_the_list_says(tmp_path):
    brief = brief_in(tmp_path)
    outcome = search(brief, tmp_path)
    save(outcome, tmp_path, tmp_path / "study")
    study = open_study(tmp_path / "study")
    assert json.loads((tmp_path / "study" / "study.json").read_text())["exchange"] == {"SEK": 0.088}
    held = {row["airtight layer"] for row in study.rows}
    assert held & {"own-variable", "own-tight"} and "own-open" not in held
    assert {row["check"] for row in study.ruled_out} >= {"moisture"}  # the open one would be the cheapest
    row = next(row for row in study.rows if row["airtight layer"] in ("own-variable", "own-tight"))
    wall = study.buildup(row["id"])
    (layer,) = [each for each in wall.layers if each.role == "airtight layer"]
    sd = {"own-variable": (14, 0.4), "own-tight": (120, 120)}[row["airtight layer"]]
    assert vapour(wall.of(layer.material), 0) == sd
    told = judge(wall, study.pricing, Demands.of(study.brief))
    assert told.verdicts.failed == [] and told.cost_per_m2 == pytest.approx(row["cost_per_m2"])


def test_prices_of_another_currency_are_told_at_the_brief_s_rate(tmp_path):
    brief = brief_in(tmp_path)
    pricing, _ = pricing_of(brief, tmp_path, load_catalogue())
    fill = pricing.products["own-fill"]
    assert (fill.price, fill.currency) == (pytest.approx(11 * 0.088), "EUR")
    assert "1 SEK = 0.088 EUR" in fill.source
    assert pricing.notes == ("prices of Own Trade taken at 1 SEK = 0.088 EUR, as the brief gives it",)
    assert parse_brief(brief_to_toml(brief), "again.toml").prices == brief.prices


@pytest.mark.parametrize(
    ("exchange", "words"),
    [
        (
            {},
            "own.csv: the lists are in SEK; the brief asks for EUR: give what one SEK is worth, prices.exchange",
        ),
        ({"NOK": 0.09}, "prices.exchange = { SEK = ... }"),
        ({"sek": 0.088}, 'exchange: "sek": expected a currency code of three capitals'),
        ({"EUR": 1.0}, "EUR is the brief's own currency"),
        ({"SEK": 0}, "at least 1e-06"),
    ],
)
def test_a_rate_that_is_missing_or_wrong_is_told(tmp_path, exchange, words):
    with pytest.raises(InputError) as told:
        brief = brief_in(tmp_path, prices={"lists": ["toy.csv", "own.csv"], "exchange": exchange})
        pricing_of(brief, tmp_path, load_catalogue())
    assert words in str(told.value)


def test_a_section_is_told_by_how_it_begins(tmp_path):
    with pytest.raises(InputError, match=r'frame: unknown key \(nearest: "framing"\)'):
        brief_in(tmp_path, frame={"height_mm": 2700})
