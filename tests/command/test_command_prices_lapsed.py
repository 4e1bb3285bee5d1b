"""A search holds prices to a day, writes that day into the study, and takes the mapping of a list along."""

from datetime import date

import toy_space as small
from called import told_once

from optimiser.brief.brief import read_brief
from optimiser.search.study import open_study

QUICK = {"population": 40, "generations": 5, "start_generations": 5}
LAPSED = "cladding 20 (price lapsed 2020-12-31)"


def write(folder, until, **prices):
    """The toy brief over a list of another shape: `Key` for product, and the last day of the cladding's price."""
    header, *rows = small.write_list(folder).read_text(encoding="utf-8").splitlines()
    rows = [row + ("," + until if row.startswith("c-20") else ",") for row in rows]
    path = small.write_brief(folder, rows, search=QUICK, prices={"lists": ["toy.csv"]} | prices)
    (folder / "toy.csv").write_text(
        "\n".join([header.replace("product", "Key", 1) + ",valid_until", *rows]) + "\n", encoding="utf-8"
    )
    (folder / "toy.toml").write_text('[columns]\nKey = "product"\n', encoding="utf-8")
    return path


def test_a_price_that_has_lapsed_stops_a_search_that_names_the_product(wallfront, tmp_path):
    message = told_once(wallfront("search", write(tmp_path, "2020-12-31"), "--out", tmp_path / "study"))
    assert '"c-20" is left out: price lapsed 2020-12-31' in message and "prices.allow_lapsed" in message
    assert not (tmp_path / "study").exists()


def test_allowed_it_is_used_and_shown_as_lapsed(wallfront, tmp_path):
    brief = write(tmp_path, "2020-12-31", allow_lapsed=True)
    assert wallfront("search", brief, "--out", tmp_path / "study").code == 0
    study = open_study(tmp_path / "study")
    assert study.brief.prices.on == date.today() and study.brief.prices.allow_lapsed
    wall = tmp_path / "study" / "buildups" / f"{study.rows[0]['id']}.toml"
    told = wallfront("check", wall, "--brief", tmp_path / "study" / "brief.toml", "--json")
    assert LAPSED in told.out


def test_the_day_and_the_mapping_stay_with_the_study(wallfront, tmp_path):
    brief = write(tmp_path, "2100-12-31")
    assert read_brief(brief).prices.on is None
    assert wallfront("search", brief, "--out", tmp_path / "study").code == 0
    study = open_study(tmp_path / "study")
    assert study.brief.prices.on == date.today()
    assert (tmp_path / "study" / "prices" / "1-toy.toml").read_text() == (tmp_path / "toy.toml").read_text()
    (tmp_path / "toy.csv").unlink()
    assert set(study.pricing.products) == {row.split(",")[0] for row in small.PRODUCTS}


def test_where_no_price_ends_the_brief_stays_as_it_was(wallfront, tmp_path):
    brief = write(tmp_path, "")
    assert wallfront("search", brief, "--out", tmp_path / "study").code == 0
    assert open_study(tmp_path / "study").brief.prices.on is None
