"""Whole-life carbon as an objective, weight as a limit: from a brief to each place of the explorer that has figures."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace

import pytest
from looking import at_rest, until
from serving import answering

from dashboard.app import build
from dashboard.choosing import columns, compare, compare_figures, locking
from dashboard.choosing.keeping import standing_out
from dashboard.choosing.narrowing_words import weighed_figures
from dashboard.front import family, proof_words, table
from dashboard.front.front_rows import chosen_nouns, cloud_of, front_rows, noun_options
from dashboard.front.parallel_figure import parallel_lines
from dashboard.front.plot_axes import Look
from dashboard.rows.brief_line import brief_words
from dashboard.suppliers.swaps_part import swap_groups, swap_parts
from dashboard.wall import facts, my_wall
from dashboard.wall.my_wall_part import own_words
from dashboard.wall.steps import step_lines
from dashboard.workspace import Workspace
from optimiser.brief.brief import brief_to_toml, read_brief
from optimiser.search import landmarks
from optimiser.search.landmarks import USUAL
from optimiser.search.rates import steps
from optimiser.search.run import save, search
from optimiser.search.study import open_study, to_csv
from optimiser.wall.scores import WHOLE_LIFE

WEIGHT = "weight_kg_m2"
ASKED = (*USUAL, WEIGHT, WHOLE_LIFE)


@pytest.fixture(scope="module")
def life_folder(small_brief, tmp_path_factory):
    """A study of a brief that minimises thickness, cost and whole-life carbon, and limits the last and the weight."""
    folder = tmp_path_factory.mktemp("life")
    fewer = {
        "wind-tight layer": ("ps-breather",),
        "sheathing": ("ps-osb-9", "ht-diagonal-20"),
        "outer frame": ("ht-c24-45x145", "ht-c24-45x195"),
        "inner frame": ("none", "ht-c16-38x63"),
        "fill": ("blown-cellulose",),
        "airtight layer": ("ps-pe-recycled", "lf-airtight-paper"),
        "service zone": ("none", "ht-batten-45x45"),
        "service fill": ("wood-fibre-batt",),
    }
    slots = {name: small_brief.slot(name).model_copy(update={"allow": keys}) for name, keys in fewer.items()}
    minimise = ("thickness_mm", "cost_per_m2", WHOLE_LIFE)
    asked = {
        "slots": small_brief.slots | slots,
        "objectives": small_brief.objectives.model_copy(update={"minimise": minimise}),
        "limits": small_brief.limits.model_copy(update={"max_weight_kg_m2": 150.0, "max_whole_life_kgco2e_m2": 500.0}),
        "numeric": small_brief.numeric.model_copy(update={"prove": False}),
    }
    (folder / "brief.toml").write_text(brief_to_toml(small_brief.model_copy(update=asked)), encoding="utf-8")
    outcome = search(read_brief(folder / "brief.toml"), folder)
    assert outcome.has_front
    save(outcome, folder, folder / "study")
    return folder / "study"


@pytest.fixture(scope="module")
def life(life_folder, tmp_path_factory):
    return Workspace(life_folder, tmp_path_factory.mktemp("life-runs"))


def text_of(node) -> str:
    if isinstance(node, str):
        return node
    children = getattr(node, "children", node)
    return " ".join(map(text_of, children)) if isinstance(children, (list, tuple)) else str(children or "")


def test_the_study_has_a_column_of_what_check_says_of_each_wall(life_folder, life):
    with (life_folder / "front.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) > 3
    for row in rows[:: len(rows) // 4]:
        judged = life.wall(None, row["id"])
        assert float(row[WHOLE_LIFE]) == pytest.approx(judged.carbon.whole_life, abs=1e-9)
        assert float(row[WHOLE_LIFE]) > float(row["carbon_kgco2e_m2"])
    study = open_study(life_folder)
    assert min(study.cloud[WHOLE_LIFE]) > 0
    totals = study.totals(rows[0]["id"])
    assert totals.whole_life_kgco2e == pytest.approx(float(rows[0][WHOLE_LIFE]) * totals.wall_area_m2)


def test_a_step_along_the_front_says_what_it_saves_over_its_life(life):
    source, names = life.source(None), life.names(None)
    dearest = max(source.rows, key=lambda row: row[WHOLE_LIFE])["id"]
    found = {each.objective: each for each in life.steps(None, dearest)}
    assert found[WHOLE_LIFE].changes[WHOLE_LIFE] < 0
    lines = {each.to: each for each in step_lines(life.steps(None, dearest), names, "EUR")}
    assert lines[found[WHOLE_LIFE].to].gain.endswith(" kg lower over its life")
    said = [each.price for row in source.rows for each in step_lines(life.steps(None, row["id"]), names, "EUR")]
    assert any("kg over its life" in each for each in said)


def test_an_older_study_without_the_column_opens_and_is_served(life_folder, tmp_path):
    folder = tmp_path / "older"
    shutil.copytree(life_folder, folder)
    for name in ("front.csv", "cloud.csv"):
        with (folder / name).open(encoding="utf-8", newline="") as file:
            rows = [{key: value for key, value in row.items() if key != WHOLE_LIFE} for row in csv.DictReader(file)]
        (folder / name).write_text(to_csv(rows), encoding="utf-8")
    older = Workspace(folder, tmp_path / "runs")
    rows = older.source(None).rows
    assert {row[WHOLE_LIFE] for row in rows} == {None}
    found = older.steps(None, rows[-1]["id"])
    assert found and WHOLE_LIFE not in {each.objective for each in found}
    assert steps([row | {"cost_per_m2": None} for row in rows], rows[0]["id"], ["cost_per_m2"]) == []
    assert set(open_study(folder).cloud[WHOLE_LIFE]) == {None}
    client = build(older).server.test_client()
    assert client.get("/").status_code == 200
    assert client.get(f"/print?wall={rows[0]['id']}").status_code == 200


def test_every_part_that_names_figures_names_them(life):
    source = life.source(None)
    rows, asked = source.rows, source.asked
    assert asked == ASKED
    assert "whole-life carbon" in [each["label"] for each in noun_options(front_rows(source))]
    assert chosen_nouns(source, noun_options(front_rows(source)), ("x", "y", "colour"), None)[1] == WHOLE_LIFE
    named = [each["name"] for each in parallel_lines(rows, Look(x="floor_area_lost_m2", asked=asked))["axes"]]
    assert named == ["thickness · floor lost", "carbon A1–A3", "cost", "weight", "whole life"]
    assert weighed_figures(source) == ["thickness_mm", "cost_per_m2", WHOLE_LIFE]
    heads = [each["headerName"] for each in table.front_columns(rows, "EUR", False, asked)]
    assert "whole life kgCO₂e/m²" in heads and "kg/m²" in heads
    assert set(table.grid_rows(rows)[0]) >= {WEIGHT, WHOLE_LIFE}
    least = min(rows, key=lambda row: row[WHOLE_LIFE])["id"]
    assert "lowest whole-life carbon" in landmarks.standing_out(rows, asked)[least]
    assert "at most 500 kgCO₂e/m² over its life" in brief_words(source.brief)
    lines = proof_words.proof_lines(source.summary, {"target": 0.1, "evaluated": 1, "excluded": {"limit": 2}}, "EUR")
    assert "over its life" in lines[0][1]
    assert "lower over its life than" in proof_words.still_words({WHOLE_LIFE: 200.0}, "EUR")
    assert len(cloud_of(source, None)[WHOLE_LIFE]) == len(cloud_of(source, None)["thickness_mm"])


def test_a_wall_is_shown_printed_and_compared_with_them(life):
    source = life.source(None)
    first, *_, last = source.rows
    judged = life.wall(None, first["id"])
    told = dict((label, value) for value, label in facts.key_figures(judged, 1.0, "EUR", source.asked))
    assert told["CO₂e whole life"] == f"{first[WHOLE_LIFE]:.1f} kg"
    assert told["weight per m²"] == f"{first[WEIGHT]:.1f} kg"
    page = build(life).server.test_client().get(f"/print?wall={first['id']}").get_data(as_text=True)
    assert "CO₂e whole life" in page and told["CO₂e whole life"] in page
    walls = columns.columns(life, [f":{first['id']}", f":{last['id']}"], life.decisions.board())
    figures = {each.name: each for each in compare.per_m2(walls, "EUR")}
    assert figures["whole-life carbon"].values[0] == f"{first[WHOLE_LIFE]:.1f}"
    assert "whole-life carbon of the walls" in {each.name for each in compare.for_the_house(walls, "EUR")}
    said = compare.at_a_glance(walls[1], walls[0], "EUR")
    assert "over its life" in said and ("heavier" in said or "lighter" in said)
    assert compare_figures.keep_words(source.asked).endswith("the lightest and the lowest over its life now")


def test_ones_own_wall_locks_and_swaps_count_them(life):
    source = life.source(None)
    rows, asked = source.rows, source.asked
    row = my_wall.row_of(life.wall(None, rows[0]["id"]), None)
    assert my_wall.same_as(row, rows)["id"] == rows[0]["id"]
    heavier = row | {WHOLE_LIFE: row[WHOLE_LIFE] + 5.0}
    said = text_of(own_words(heavier, rows, 0.105, "EUR", asked=asked))
    assert "5.0 kgCO₂e/m² lower over its life" in said
    assert "in thickness, cost, carbon, weight and whole life alike" in said
    lock = locking.Lock(locking.CAP, WHOLE_LIFE, "400")
    assert locking.read_locks([lock.token]) == [lock]
    assert locking.lock_words(lock, life.names(None), "EUR") == "at most 400 kgCO₂e/m² over its life"
    capped = locking.locked_brief(source.brief, [lock], life.slots(None), life.contents(None))
    assert capped.limits.max_whole_life_kgco2e_m2 == 400
    ends = locking.costs(rows, rows[:2], "EUR", asked)
    assert {"lightest", "lowest whole-life carbon"} <= {each.name for each in ends}
    every = life.comparing.swaps(source, rows[0]["id"])
    groups = swap_groups(every, rows[0], source.brief, "EUR")
    assert {len(line.cells) for each in groups for line in each.lines} == {6}
    assert "whole life" in text_of(swap_parts(groups, "EUR", asked))
    assert any(line.cells[5] not in ("", "0") for each in groups for line in each.lines)


def test_what_a_target_costs_and_what_is_kept_at_once(life):
    source = life.source(None)
    looser = [row | {"target": 0.15, WHOLE_LIFE: row[WHOLE_LIFE] + 3.0} for row in source.rows]
    price = family.price_of([*source.rows, *looser], source.rows[0]["target"], "EUR", source.asked)
    assert {each.name: each.change for each in price.ends}["lowest whole-life carbon"] == "−3.0 kg over its life"
    least = min(source.rows, key=lambda row: row[WHOLE_LIFE])["id"]
    assert least in standing_out(life, None, None)


def test_a_brief_that_asks_for_neither_sees_what_it_saw(workspace):
    source = workspace.source(None)
    assert source.asked == USUAL
    assert replace(source, brief=None).asked == USUAL
    heads = [each["field"] for each in table.front_columns(source.rows, "EUR", False, source.asked)]
    assert WEIGHT not in heads and WHOLE_LIFE not in heads


@pytest.mark.browser
def test_from_the_front_to_the_comparison_it_has_axis_slider_weight_and_column(life, page):
    rows = life.source(None).rows
    with answering(life) as address:
        page.goto(address)
        until(page, "!!document.querySelector('#plot .scatterlayer .point')")
        at_rest(page)
        assert "at most 500 kgCO₂e/m² over its life" in page.inner_text("#brief")
        until(page, "document.querySelector('#plot .ytitle').textContent.startsWith('whole-life carbon, kgCO₂e/m²')")
        assert page.is_visible(f"#slider-{WHOLE_LIFE}") and page.is_visible(f"#slider-{WEIGHT}")
        until(page, f"document.querySelector('#range-{WHOLE_LIFE}').textContent.includes('kgCO₂e/m²')")
        middle = sorted(row[WHOLE_LIFE] for row in rows)[len(rows) // 2]
        page.evaluate(f"() => window.dash_clientside.set_props('slider-{WHOLE_LIFE}', {{value: [0, {middle}]}})")
        left = sum(row[WHOLE_LIFE] <= middle + 1e-9 for row in rows)
        until(page, f"document.querySelector('#count').textContent === '{left} of {len(rows)} walls.'")
        at_rest(page)
        page.click("#narrowing-undo")
        until(page, f"document.querySelector('#count').textContent === '{len(rows)} of {len(rows)} walls.'")
        assert "whole life" in page.inner_text("#table .ag-header").lower()
        page.click("#weighing summary")
        until(page, "document.querySelector('#weighing-words').textContent.includes('whole life counts')")
        assert page.is_visible(f"#weight-part-{WHOLE_LIFE}") and not page.is_visible(f"#weight-part-{WEIGHT}")
        assert "CO₂e whole life" in page.inner_text("#figures")
        page.click("#view-compare")
        until(page, "document.querySelector('#keep-standing-out').textContent.includes('the lowest over its life')")
        page.click("#keep-standing-out")
        until(page, "document.querySelector('#compare-table').textContent.includes('whole-life carbon')")
