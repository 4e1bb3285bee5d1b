"""The judgements of a wall: words of pass, fail and not checked; lines through the section; the panel in a browser."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from dash import html

from dashboard.wall import drying_bars, judgements, moisture_figures, working
from dashboard.wall.judgement_sheet import judgements_html
from materials.catalogue import load_catalogue
from optimiser.checks.check_table import Demands
from optimiser.checks.common.lines import Line, against_limit
from optimiser.checks.judge import judge
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.moisture.demand import MoistureDemand
from optimiser.checks.moisture.words import CAUTION as MOISTURE_CAUTION
from optimiser.checks.moisture.words import grams
from optimiser.checks.rules import BuildingRule
from optimiser.checks.strength.check import STRENGTH
from optimiser.checks.strength.words import working as working_of
from optimiser.fill import practice as fill
from optimiser.moisture.humid_air import saturation_pressure
from optimiser.strength.national_parameters import CAUTION
from optimiser.wall.buildup import parse_buildup

WET = """
name = "a wall that stays wet"
outside = "vented"
[materials.foil]
conductivity_w_mk = 0.3
sd_m = 50
density_kg_m3 = 900
[conditions]
indoor_humidity_class = 3
[loads]
height_mm = 2900
permanent_kn_m = 14
imposed_kn_m = 16
snow_kn_m = 6
wind_kn_m2 = 1.4
[[layer]]
role = "sheathing"
material = "foil"
thickness_mm = 2
[[layer]]
role = "outer frame"
material = "blown-cellulose"
thickness_mm = 120
[layer.frame]
material = "softwood-c16"
width_mm = 38
spacing_mm = 600
[[layer]]
role = "gap"
material = "blown-cellulose"
thickness_mm = 420
[[layer]]
role = "lining"
material = "gypsum-fibre-board"
thickness_mm = 12.5
"""
DRY = (
    WET.replace("sd_m = 50", "sd_m = 0.05")
    .replace("thickness_mm = 420", "thickness_mm = 160")
    .replace(
        '[[layer]]\nrole = "lining"',
        '[materials.film]\nsd_m = 20\n[[layer]]\nrole = "airtight layer"\nmaterial = "film"\nthickness_mm = 0\n'
        '[[layer]]\nrole = "lining"',
    )
)


@pytest.fixture(scope="module")
def wet():
    return judge(parse_buildup(WET, load_catalogue(), "wet.toml"))


@pytest.fixture(scope="module")
def dry():
    return judge(parse_buildup(DRY, load_catalogue(), "dry.toml"))


def said(lines, start: str):
    """The one line whose words begin so."""
    (found,) = [each for each in lines if each.words.startswith(start)]
    return found


def text_of(component, folds: bool = True) -> str:
    """All words of a component; without what its folds hold under their summary, where they are not asked for."""
    if component is None or isinstance(component, str | int | float):
        return str(component or "")
    if isinstance(component, list | tuple):
        return "".join(text_of(each, folds) for each in component)
    inside = component.children
    return text_of(inside[:1] if isinstance(component, html.Details) and not folds else inside, folds)


def folds_of(rows) -> list:
    """The folds in rows of judgements."""
    return [row.children[2].children for row in rows if isinstance(row.children[2].children, html.Details)]


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_a_limit_that_holds_says_what_is_to_spare_and_one_that_does_not_by_how_much():
    passes = against_limit("moisture", 40.0, grams, "condensate", "ISO 13788")
    fails = against_limit("moisture", -40.0, grams, "condensate", "ISO 13788")
    assert (passes.state, passes.verdict, passes.beside) == ("passes", "passes", "40 g/m² to spare · ISO 13788")
    assert (fails.state, plain(fails.verdict), fails.beside) == ("fails", "fails by 40 g/m²", "ISO 13788")
    assert against_limit("moisture", 0.0, grams, "").state == "passes"
    assert against_limit("moisture", None, grams, "").verdict == "passes"


@pytest.mark.parametrize(
    ("value", "expected"), [(0.0, "0 g/m²"), (2.64, "2.6 g/m²"), (1147.2, "1,147 g/m²"), (-863.0, "−863 g/m²")]
)
def test_amounts_of_water(value, expected):
    assert grams(value) == expected


def test_a_wall_that_fails_says_by_how_much_in_each_check(wet):
    lines = judgements.lines(wet, 0.05)
    found = wet.verdicts[MOISTURE]
    assert plain(said(lines, "U 0.07").verdict) == f"fails by {wet.u_value - 0.05:.4f}"
    assert plain(said(lines, "condensate").verdict) == f"fails by {found.peak_g_m2 - 500:,.0f} g/m²"
    assert said(lines, f"{found.left_g_m2:,.0f} g/m² of condensate left").state == "fails"
    assert said(lines, "drying reserve −").state == "fails"
    assert said(lines, "outside").verdict == "take note"
    used = wet.verdicts[STRENGTH].utilisation
    assert plain(said(lines, f"{100 * used:.0f}").verdict) == f"fails by {100 * (used - 1):.0f} %"
    assert said(lines, "layers 2 to 3: the void is too deep").verdict == "fails"


def test_a_dry_wall_passes_in_one_line_of_condensate(dry):
    lines = judgements.lines(dry, None)
    assert said(lines, "nothing condenses in any month, 500 g/m² allowed").verdict == "passes"
    assert said(lines, "inside").verdict == "shown"
    assert lines[0].words.endswith("no target given")


def test_figures_carry_their_standard(wet):
    beside = " ".join(each.beside for each in judgements.lines(wet, 0.1))
    for standard in ("ISO 6946", "ISO 13788", "DIN 4108-3", "DIN 68800-2", "EN 1995-1-1", "common practice"):
        assert standard in beside


def test_cautions_stand_once_where_the_result_stands(wet):
    cautions = [each.group for each in judgements.lines(wet, 0.1) if each.caution]
    assert cautions == ["moisture", "strength", "fill"]
    shown = text_of(working.judgement_rows(wet, 0.1))
    for caution in (MOISTURE_CAUTION, CAUTION, fill.CAUTION):
        assert shown.count(caution) == 1


def test_what_strength_leaves_out_is_said_once(wet):
    assert text_of(working.judgement_rows(wet, 0.1)).lower().count("racking, ") == 1
    assert judgements.the_rest(wet).words.startswith("Fire, and whatever is not named here")


def test_a_group_comes_to_its_worst_and_says_how_many_are_to_note(dry):
    def line(state):
        return Line("moisture", state, state, "")

    passes, note = line("passes"), line("note")
    assert judgements.overall([passes, line("shown")]) == ("passes", "passes")
    assert judgements.overall([note, passes, note]) == ("note", "passes, 2 to note")
    assert judgements.overall([note, passes, line("open")]) == ("open", "1 not checked")
    assert judgements.overall([line("open"), line("fails"), passes]) == ("fails", "fails")
    assert judgements.overall([line("shown")]) == ("shown", "shown")


@pytest.mark.parametrize("name", ["wet", "dry"])
def test_only_what_holds_is_folded_away_and_its_figures_stand_over_it(name, request):
    judged = request.getfixturevalue(name)
    rows = working.judgement_rows(judged, 0.05)
    shown, folded = text_of(rows, folds=False), text_of([*folds_of(rows)])
    lines = judgements.lines(judged, 0.05)
    for each in lines:
        words = "".join(part for part, _ in judgements.subscripts(each.words))
        assert words in (shown + folded)
        if each.state not in ("passes", "shown"):
            assert words in shown
    assert [text_of(each.children[1]).strip() for each in rows if "first" in each.className] == list(
        dict.fromkeys(each.group for each in lines)
    )
    wet_lines = [each for each in lines if each.group == "moisture"]
    assert judgements.overall(wet_lines)[1] in shown
    assert grams(judged.verdicts[MOISTURE].drying_reserve_g_m2) in text_of(rows)


def test_words_in_the_charts_stand_on_the_paper_of_the_page(wet):
    found = moisture_figures.profile(wet, "fill", 0)
    bars = drying_bars.bars_svg(wet.verdicts[MOISTURE].wet)
    for kind, svg in (("lines", moisture_figures.profile_svg(wet.wall, found)), ("water", bars)):
        (rule,) = re.findall(rf"\.wf\.{kind} \.said{{([^}}]*)}}", svg)
        assert "stroke:var(--paper," in rule


def test_what_is_not_checked_says_why():
    bare = WET.replace("sd_m = 50\n", "").replace("[loads]", "[loads]\nservice_class = 1")
    bare = re.sub(r"\[loads\].*?(?=\[\[layer)", "", bare, count=1, flags=re.S).replace("blown-cellulose", "hemp-batt")
    lines = judgements.lines(judge(parse_buildup(bare, load_catalogue(), "bare.toml")), 0.1)
    why = {each.group: each.words for each in lines if each.verdict == "not checked"}
    assert "vapour resistance" in why["moisture"]
    assert "[loads]" in why["strength"]
    assert "blown in" in why["fill"]
    assert why["the rest"].startswith("Fire, racking and connections are not checked")


def test_rules_in_words_and_one_line_for_one_reason():
    kept = judgements.rules(
        [BuildingRule("one airtight layer", True, "one airtight layer"), BuildingRule("a", False, "30% inside")]
    )
    assert [(each.state, plain(each.words)) for each in kept] == [
        ("passes", "one airtight layer"),
        ("fails", "a: 30 % inside"),
    ]
    (one,) = judgements.rules([BuildingRule("a", None, "no such layer"), BuildingRule("b", None, "no such layer")])
    assert (one.verdict, one.words, one.beside) == ("not checked", "no such layer", "a · b")


def test_mould_is_a_limit_only_where_the_brief_says_so(dry):
    shown = judgements.lines(dry, 0.1)
    asked = MoistureDemand(mould_inside="limit")
    strict = judge(dry.wall, None, Demands.of().but(MOISTURE, asked))
    assert "not a limit" in said(shown, "mould at the sheathing").beside
    assert said(judgements.lines(strict, 0.1), "mould at the sheathing").state in ("passes", "fails")


def test_symbols_carry_their_index_low():
    assert judgements.subscripts("k_c 0.5, f_Rsi") == [("k", False), ("c", True), (" 0.5, f", False), ("Rsi", True)]


def test_of_each_strength_check_the_worst_combination(wet):
    rows = working_of(wet.verdicts[STRENGTH])[0].rows
    assert len({check for check, _, _ in rows}) == len(rows)
    used = [int(plain(share).split()[0].replace(",", "")) for _, _, share in rows]
    assert used == sorted(used, reverse=True)
    assert used[0] == round(100 * wet.verdicts[STRENGTH].utilisation)


def points(svg: str, class_: str) -> np.ndarray:
    """The corners [px] of the path of that class."""
    name = "{http://www.w3.org/2000/svg}path"
    (found,) = [
        each for each in ET.fromstring(svg).iter(name) if each.get("class") == class_ and "Z" not in each.get("d")
    ]
    return np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", found.get("d")), float)


@pytest.mark.parametrize("way", ["fill", "studs"])
def test_lines_through_a_dry_wall(dry, way):
    found = moisture_figures.profile(dry, way, moisture_figures.coldest(dry))
    svg = moisture_figures.profile_svg(dry.wall, found, way=way)
    warmth = points(svg, "warmth")
    assert (np.diff(warmth[:, 0]) >= 0).all()
    assert (np.diff(warmth[:, 1]) <= 1e-9).all()  # warmer inward, upward on the screen
    limit = np.array(moisture_figures.saturation_line(found))
    vapour = np.array(moisture_figures.vapour_line(found))
    assert (limit[:, 0] == vapour[:, 0]).all()
    assert (limit[:, 1] > vapour[:, 1]).all()
    assert not moisture_figures.saturated(found)
    assert "at saturation" not in svg


def test_a_wet_wall_is_ringed_where_it_is_saturated_and_never_above(wet):
    found = moisture_figures.profile(wet, "fill", moisture_figures.coldest(wet))
    assert moisture_figures.saturated(found)
    assert "at saturation" in moisture_figures.profile_svg(wet.wall, found)
    for (_, limit), (_, vapour) in zip(
        moisture_figures.saturation_line(found), moisture_figures.vapour_line(found), strict=True
    ):
        assert vapour <= limit + 1e-9


def test_lines_stand_on_the_layers_of_the_section(workspace):
    from optimiser.handover.drawing.section import section_svg

    judged = workspace.wall(None, workspace.source(None).rows[0]["id"])
    found = moisture_figures.profile(judged, "fill", 0)
    svg = moisture_figures.profile_svg(judged.wall, found, width_px=520)
    scale = float(re.search(r'data-scale="([\d.]+)"', section_svg(judged.wall, width_px=520)).group(1))
    warmth = points(svg, "warmth")
    assert warmth[-3, 0] == pytest.approx(26 + judged.thickness_mm * scale, abs=0.02)
    vented = sum(layer.thickness_mm for layer in judged.wall.layers[:2])
    assert found.at[0] == pytest.approx(vented)
    assert found.at[-1] == pytest.approx(judged.thickness_mm)


def test_values_at_boundaries_are_those_of_the_check(dry):
    found = moisture_figures.profile(dry, "fill", 0)
    account = dry.verdicts[MOISTURE].accounts["fill"]
    line = dict(moisture_figures.temperature_line(found))
    assert line[found.at[-1]] == account.temperature[0, -1, 0]
    by_place = dict(moisture_figures.saturation_line(found))
    assert by_place[found.at[1]] == pytest.approx(float(saturation_pressure(account.temperature[0, 1, 0])))


def test_bars_of_water_above_and_below_zero(wet, dry):
    rows = wet.verdicts[MOISTURE].wet
    svg = ET.fromstring(drying_bars.bars_svg(rows))
    bars = [each for each in svg.iter("{http://www.w3.org/2000/svg}rect")]
    shown = sum(abs(value) >= drying_bars.SMALL for row in rows for value in row.monthly_g_m2)
    assert len(bars) == shown
    scale = drying_bars.scale_of(rows)
    heights = sorted(float(each.get("height")) for each in bars if each.get("class") == "wets")
    most = max(value for row in rows for value in row.monthly_g_m2)
    assert heights[-1] == pytest.approx(most * scale, abs=0.02)
    assert drying_bars.bars_svg([]) == ""
    assert working.dry_line(dry) == "Nothing condenses in any month through the fill or the studs."
    assert working.dry_line(wet) == ""


def test_the_print_view_says_every_judgement_as_a_sentence(workspace):
    source = workspace.source(None)
    judged = workspace.wall(None, source.rows[0]["id"])
    page = judgements_html(judged, source.rows[0]["target"], source)
    assert page.count("<li>") == len(judgements.lines(judged, 0.1, source.brief)) - 1
    assert page.count(judged.verdicts[STRENGTH].caution) == 1
    assert "Moisture passes: surface f<sub>Rsi</sub>" in page
    assert page.count('class="wf lines"') == len(judged.verdicts[MOISTURE].accounts)


@pytest.mark.browser
def test_the_panel_shows_the_judgements_and_its_working_opens(desk):
    lines = desk.locator("#judgements .judgement")
    lines.first.wait_for()
    groups = set(desk.locator("#judgements b").all_inner_texts())
    assert groups >= {"heat", "moisture", "strength", "fill", "rules", "the rest"}
    fold = desk.locator("#judgements details").first
    assert not fold.locator(".folded").first.is_visible()
    fold.locator("summary").click()
    assert fold.locator(".folded").first.is_visible()
    assert not desk.locator("#profile svg").is_visible()
    desk.click("#working summary")
    desk.locator("#profile svg").wait_for()
    assert desk.locator("#working-tables tbody tr").count() >= 4
    assert desk.locator("#water svg").count() or "Nothing condenses" in desk.inner_text("#working-dry")
    before = desk.text_content("#profile svg title")
    desk.evaluate("window.dash_clientside.set_props('working-month', {value: 6})")
    desk.wait_for_function("before => document.querySelector('#profile svg title').textContent !== before", arg=before)
    assert "July" in desk.text_content("#profile svg title")
    assert "July" in desk.inner_text("#working-air")
    desk.evaluate("window.dash_clientside.set_props('working-month', {value: 'coldest'})")
    desk.click("#working summary")
