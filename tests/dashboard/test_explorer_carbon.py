"""Carbon by module, as the panel and the print view show it."""

from __future__ import annotations

import pytest

from dashboard.wall import carbon_part, panel
from dashboard.wall.facts import layer_lines, order_words
from dashboard.wall.print_page import wall_sheet
from materials.models import MODULES, Product
from optimiser.checks.judge import judge
from optimiser.score.settings import CarbonDemand, Operation

WHOLE = tuple(each for each in MODULES if each != "D")


def number(shown: str) -> float:
    return float(shown.replace("−", "-"))


def judged_with(workspace, modules, operation=None):
    """A wall of the front, judged as a brief that counts other modules would."""
    study = workspace.source(None).study
    demand = CarbonDemand(modules=modules, study_years=80)
    terms = study.pricing.terms.__class__(
        study.pricing.terms.labour, study.pricing.terms.transport, study.pricing.terms.fixings, demand
    )
    pricing = study.pricing.__class__(study.pricing.products, terms, study.pricing.currency)
    return judge(study.buildup(workspace.source(None).rows[0]["id"]), pricing, None, operation), pricing


@pytest.mark.parametrize(
    ("modules", "words"),
    [
        (("A1-A3",), "A1–A3"),
        (("A1-A3", "A4", "A5"), "A1–A5"),
        (("A1-A3", "A5"), "A1–A3, A5"),
        (("C4", "C3", "A1-A3"), "A1–A3, C3–C4"),
        (WHOLE, "A1–A5, B4, C1–C4"),
    ],
)
def test_modules_are_said_as_people_write_them(modules, words):
    assert carbon_part.modules_words(modules) == words


@pytest.mark.parametrize("modules", [("A1-A3",), ("A1-A3", "A4", "A5"), ("A1-A3", "C3", "C4"), WHOLE])
def test_the_table_holds_what_the_judgement_says(workspace, modules):
    judged, _ = judged_with(workspace, modules)
    rows = carbon_part.module_table(judged).rows
    told = judged.carbon
    for name, row in zip(WHOLE, rows, strict=False):
        value = told.modules[name]
        shown = [number(cell) for cell in row.cells[1:5]]
        assert shown == pytest.approx([value.fossil, value.biogenic, value.land_use, value.total], abs=0.051)
        assert (row.cells[-1] == carbon_part.NOT_COUNTED) == (name not in modules)
        assert (row.kind == "off") == (name not in modules)
    total = next(row for row in rows if row.kind == "sum")
    assert number(total.cells[-1]) == pytest.approx(judged.carbon_kgco2e_m2, abs=0.051)
    counts = [number(row.cells[-1]) for row in rows if row.kind == "" or row.cells[0].startswith("stored")]
    assert sum(counts) == pytest.approx(judged.carbon_kgco2e_m2, abs=0.06 * len(counts))
    assert rows[-1].kind == "apart"
    assert rows[-1].cells[0].startswith("D ")
    assert "never counted" in rows[-1].cells[0]


def test_what_is_stored_leaves_again_and_cellulose_is_compared(workspace):
    study = workspace.source(None).study
    name = next(row["id"] for row in study.rows if "cellulose" in row["in_short"])
    judged = workspace.wall(None, name)
    said = carbon_part.stored_lines(judged)
    assert f"{-judged.carbon.stored:.1f} kgCO₂ per m² are stored" in said[0]
    assert "leave at the end of its life" in said[0]
    assert any("cellulose" in each and "common practice reckons with about 1.2 kg" in each for each in said)
    assert len(carbon_part.stored_lines(judged, everything=True)) > len(said)


def test_a_generic_value_shows_its_range_and_a_declared_one_its_source(workspace):
    study = workspace.source(None).study
    judged = workspace.wall(None, study.rows[0]["id"])
    found = {each.name: each for each in carbon_part.bases(judged, study.pricing)}
    tape = found["airtight tape"]  # a fixing, which the build-up file does not hold
    assert tape.kind == "generic"
    rows = {row.cells[1]: row for row in carbon_part.basis_table(judged, study.pricing).rows}
    material = study.catalogue.get("airtight-tape")
    low, high = material.fossil_low_kgco2e_kg, material.fossil_high_kgco2e_kg
    assert rows["airtight tape"].cells[4] == f"{low:.2f} to {high:.2f}"
    assert rows["airtight tape"].hint
    lining = rows["gypsum fibre board"]
    assert lining.cells[2].startswith("declared")
    assert lining.cells[4] == "–"
    assert "invented for the demo" in lining.hint
    assert "generic values in layer" in carbon_part.carbon_head(judged, study.pricing)


def test_the_heat_lost_is_told_only_where_the_brief_asks(workspace, small_brief):
    without, _ = judged_with(workspace, ("A1-A3",))
    assert carbon_part.life_words(without, small_brief) == ""
    judged, _ = judged_with(workspace, ("A1-A3",), Operation(heat_source="gas", degree_hours_kkh=80))
    brief = small_brief.model_copy(update={"operation": Operation(heat_source="gas")})
    words = carbon_part.life_words(judged, brief)
    assert f"over 80 years, by gas: {judged.carbon.operational:.1f}" in words
    assert f"{judged.carbon.operational + judged.carbon_kgco2e_m2:.1f}" in words


def test_the_workspace_judges_with_the_briefs_heat_source(study_folder, tmp_path):
    import shutil

    from dashboard.workspace import Workspace
    from optimiser.brief.brief import brief_to_toml, read_brief

    shutil.copytree(study_folder, tmp_path / "study")
    brief = read_brief(study_folder / "brief.toml").model_copy(update={"operation": Operation(heat_source="gas")})
    (tmp_path / "study" / "brief.toml").write_text(brief_to_toml(brief), encoding="utf-8")
    workspace = Workspace(tmp_path / "study", tmp_path / "runs")
    judged = workspace.wall(None, workspace.source(None).rows[0]["id"])
    assert judged.carbon.operational > 0


def test_the_print_view_has_carbon_and_cost_in_full(workspace):
    source = workspace.source(None)
    name = source.rows[0]["id"]
    judged = workspace.wall(None, name)
    text = wall_sheet(judged, name, source, None)
    assert "Carbon by module" in text
    assert "never counted" in text
    for each in carbon_part.basis_table(judged, source.study.pricing).rows:
        assert each.cells[1] in text
    assert f"{judged.cost.by_part.total:.2f}" in text


def test_a_lapsed_price_is_marked_once_and_an_order_is_explained(workspace):
    from datetime import date

    study = workspace.source(None).study
    judged = workspace.wall(None, study.rows[0]["id"])
    key = next(layer.product for layer in judged.wall.layers if layer.role == "lining")
    product = study.pricing.products[key]
    offered = {**study.pricing.products, key: product.model_copy(update={"valid_until": date(2026, 6, 30)})}
    line = layer_lines(judged, offered, date(2026, 7, 1))[-1]
    assert line.mark == "price lapsed 2026-06-30"
    assert "lapsed" not in line.what
    assert layer_lines(judged, offered, date(2026, 6, 30))[-1].mark == ""
    shown = str(panel.layers(judged, "EUR", offered, date(2026, 7, 1)))
    assert shown.count("price lapsed 2026-06-30") == 1
    stated = Product(
        key="a",
        name="board",
        material="osb",
        supplier="S",
        price=4,
        unit="m2",
        currency="EUR",
        lead_time_days=7,
        minimum_order=15,
        source="test",
    )
    assert order_words(stated) == "board: 7 days to delivery, at least 15 m²"


@pytest.mark.browser
def test_the_part_opens_stays_open_and_follows_the_wall(desk, workspace):
    rows = workspace.source(None).rows
    desk.locator("#carbon-part > summary").click()
    table = desk.locator("#carbon-body .modules")
    table.wait_for()
    for row in (rows[3], rows[-1]):
        desk.evaluate("wall => window.dash_clientside.set_props('wall', {data: wall})", row["id"])
        judged = workspace.wall(None, row["id"])
        shown = carbon_part.module_table(judged)
        total = next(each for each in shown.rows if each.kind == "sum").cells[-1]
        desk.locator("#carbon-body tr.sum td:last-child", has_text=total).wait_for()
        assert desk.locator("#carbon-head").inner_text().startswith(total)
    assert desk.locator("#carbon-part").evaluate("part => part.open")
    desk.locator("#carbon-part > summary").click()
