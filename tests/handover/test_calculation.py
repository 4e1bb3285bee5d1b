"""The calculation sheet's records: every step comes out as typed, shares as drawn, values with their sources."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from calculated_walls import WALLS, built, plated
from drawn_walls import layer, stud, twin
from house_walls import brief, pricing

import optimiser
from materials.catalogue import load_catalogue
from materials.models import Material
from optimiser.brief.brief import Brief, read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.checks.judge import judge
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.strength.check import STRENGTH
from optimiser.conduction.figures import numeric_figures
from optimiser.conduction.wall_cell import numeric_heat
from optimiser.document import UNKNOWN, Document, DocumentTable, Facts, Heading, Section, Signature, SumStep, Text
from optimiser.handover.calculation.heat import case_of, paths_of, rounding
from optimiser.handover.calculation.sheet import calculation, drawing_of
from optimiser.handover.documents import Chosen
from optimiser.handover.filling.sheet import digest_of
from optimiser.heat import steady
from optimiser.wall.assemble import batch_of, parts_of
from optimiser.wall.buildup import BuildUp, Conditions, Loads
from optimiser.wall.pricing import Pricing

DEMO = Path(optimiser.__file__).parent / "demo"


def section(document: Document, words: str) -> Section:
    return next(each for each in document.sections if words in each.title)


def grid(found: Section, caption: str) -> DocumentTable:
    return next(each for each in found.parts if isinstance(each, DocumentTable) and caption in each.caption)


def facts(found: Section) -> dict[str, str]:
    return dict(pair for each in found.parts if isinstance(each, Facts) for pair in each.pairs)


def typed(sum_: str) -> float:
    """What a calculator says to a sum as it stands on the sheet."""
    bare = re.sub(r" \([^()]*[A-Za-z][^()]*\)|(?<=\d{4}) \(\d+\)", "", sum_)  # without the names of the terms
    for sign, operator in (("×", "*"), ("−", "-"), ("10⁻⁶", "1e-6"), ("²", "**2")):
        bare = bare.replace(sign, operator)
    return eval(bare, {"__builtins__": {}})


def slack(sum_: str, result: str) -> float:
    """What rounding may cost: half a unit of the last digit of every rounded figure of a sum, and of its result."""
    total = 0.5 * 10.0 ** -len(re.search(r"\.(\d+)", result)[1])
    for found in re.finditer(r"\d+\.(\d{4,})", sum_):
        changed = float(found[0]) + 0.5 * 10.0 ** -len(found[1])
        total += abs(typed(f"{sum_[: found.start()]}{changed:.9f}{sum_[found.end() :]}") - typed(sum_))
    return 1.01 * total


def told(result: str) -> float:
    return float(re.search(r"(?:= )?(-?\d+\.\d+)", result)[1])


@pytest.fixture(scope="module")
def demo() -> tuple[Brief, Pricing]:
    brief = read_brief(DEMO / "brief.toml")
    return brief, pricing_of(brief, DEMO, load_catalogue())[0]


@pytest.mark.parametrize("name", WALLS)
def test_every_step_comes_out_as_typed(name: str):
    """Rounding of the figures shown is all that a pocket calculator may differ by."""
    found = section(calculation(judge(WALLS[name]())), "U-value by hand")
    steps = [each for each in found.parts if isinstance(each, SumStep) and each.sum]
    assert len(steps) >= 5
    for step in steps:
        percent = 100 if step.result.startswith("e = ") else 1
        for side in step.sum.split(" = "):
            side = f"{percent} * ({side})"
            assert abs(typed(side) - told(step.result)) <= slack(side, step.result), step


@pytest.mark.parametrize("name", WALLS)
def test_resistance_and_shares_follow_from_sizes(name: str):
    """R is d over the design conductivity, that is declared times factors; a share is what its own words come to."""
    found = section(calculation(judge(WALLS[name]())), "U-value by hand")
    rows = [row for row in grid(found, "Layers").rows if row[6][0].isdigit()]
    assert rows
    for _, _, _, depth, declared, factors, design, resistance in rows:
        assert float(resistance) == pytest.approx(float(depth) / 1000 / float(design), abs=5.1e-5)
        if factors[0].isdigit():
            assert float(design) == pytest.approx(float(declared) * typed(factors), rel=1e-6)
    for table in (
        each for each in found.parts if isinstance(each, DocumentTable) and each.caption.startswith("Shares")
    ):
        for _, _, how, share in table.rows[:-1]:
            words = how.replace(" plates, noggings, openings", "").removeprefix("given: ")
            assert float(share) == pytest.approx(typed(words), abs=1.1e-5), how
        assert table.rows[-1][-1] == "1.00000"


@pytest.mark.parametrize("name", WALLS)
def test_paths_are_those_of_the_combined_method(name: str):
    """The paths written out here carry the same areas and resistances as those that the search adds up."""
    wall = WALLS[name]()
    batch = batch_of(wall, parts_of(wall))
    found = paths_of(case_of(wall, batch))
    merged: dict[tuple, float] = {}
    for share, _, through in steady.paths(batch):
        key = tuple(layer for layer, inside in sorted(through.items()) if inside[0])
        merged[key] = merged.get(key, 0.0) + float(share[0])
    expected = {key: share for key, share in merged.items() if share > 1e-12}
    assert {tuple(sorted(each.inside)): each.share for each in found} == pytest.approx(expected)
    r_upper = 1 / sum(each.share / each.resistance for each in found)
    heat = judge(wall).heat
    if heat.ventilated_share is None:
        assert r_upper == pytest.approx(heat.r_upper, rel=1e-12)


def test_plates_are_told_as_the_framing_gives_them(demo):
    framing = demo[0].framing
    extra = framing.extra_fraction(45, 600)
    wall = built(layer("frame", "blown", 200, frame=stud(extra_fraction=extra)), layer("board", "osb", 12))
    found = section(calculation(judge(wall), demo[0]), "U-value by hand")
    assert grid(found, "Shares a").caption == "Shares a: vertical members every 600 mm"
    (words,) = [each.words for each in found.parts if isinstance(each, Text) and each.words.startswith("Of shares a")]
    how = re.search(r"besides: (.*) = (0\.\d{5}) in 1\.$", words)
    assert typed(how[1]) == pytest.approx(extra) and float(how[2]) == pytest.approx(extra, abs=5e-6)


def test_refused_wall_gives_no_u_value():
    steel = Material(key="steel", name="steel", kind="fixing", origin="metal", conductivity_w_mk=50)
    wall = built(layer("frame", "blown", 200, frame=stud()), layer("board", "osb", 12))
    wall = wall.model_copy(update={"materials": wall.materials | {"stud": steel.model_copy(update={"key": "stud"})}})
    document = calculation(judge(wall))
    words = [each.words for each in section(document, "U-value by hand").parts if isinstance(each, Text)]
    assert any(each.startswith("U is not given:") and "metal" in each for each in words)
    assert not [
        each for each in section(document, "U-value by hand").parts if isinstance(each, SumStep) and each.strong
    ]
    assert facts(document.sections[0])["U-value"].startswith("not given")


def test_rounding_says_both():
    assert "0.103 W/m²K to three decimals; 0.10 W/m²K to two significant" in rounding(0.10333)
    assert "0.096 W/m²K to two significant" in rounding(0.0958)
    assert "1.2 W/m²K to two significant" in rounding(1.234)


def full_wall() -> BuildUp:
    """One that every check can judge: a damp room, loads, all materials of the catalogue."""
    shelf = load_catalogue().materials
    keys = ("osb", "blown-cellulose", "softwood-c24", "plasterboard")
    frame = {"material": "softwood-c24", "width_mm": 45, "spacing_mm": 600}
    return BuildUp(
        name="full",
        outside="exposed",
        layer=[
            layer("sheathing", "osb", 22),
            layer("outer frame", "blown-cellulose", 245, frame=frame),
            layer("lining", "plasterboard", 12.5),
        ],
        materials={key: shelf[key] for key in keys},
        conditions=Conditions(
            indoor_rh_percent=65.0,
            outdoor_temperature_c=(-5, -3, 1, 6, 11, 15, 17, 16, 12, 7, 2, -3),
            outdoor_rh_percent=(85.0,) * 12,
        ),
        loads=Loads(height_mm=2600, permanent_kn_m=6, imposed_kn_m=4, snow_kn_m=3, wind_kn_m2=0.8),
    )


def test_moisture_is_told_month_by_month():
    judged = judge(full_wall())
    found = section(calculation(judged), "Moisture")
    surface = grid(found, "Climate and inside surface")
    assert [row[0] for row in surface.rows][:2] == ["January", "February"] and len(surface.rows) == 12
    needed = max(float(row[-1].replace("−", "-")) for row in surface.rows if row[-1] != "–")
    assert needed == pytest.approx(judged.verdicts[MOISTURE].f_rsi_required, abs=5e-4)
    water = grid(found, "Condensation and drying through the fill")
    account = judged.verdicts[MOISTURE].accounts["fill"]
    place = next(at for at in range(account.monthly.shape[1]) if account.monthly[0, at].any())
    shown = [float(row[1].replace("−", "-").replace(",", "")) for row in water.rows[:12]]
    assert shown == pytest.approx(account.monthly[0, place].tolist(), abs=0.051)
    assert max(float(row[2].replace(",", "")) for row in water.rows[:12]) == pytest.approx(
        account.peak[0, place], abs=0.051
    )
    coldest = grid(found, "January, the coldest month, through the fill")
    assert float(coldest.rows[-1][2].replace("−", "-")) == pytest.approx(account.temperature[0, -1, 0], abs=0.051)


def test_strength_is_told_case_by_case():
    judged = judge(full_wall())
    found = section(calculation(judged), "Strength")
    shown = {}
    for table in (
        each for each in found.parts if isinstance(each, DocumentTable) and each.caption.startswith("Utilisation")
    ):
        for row in table.rows:
            for check, cell in zip(table.heads[1:], row[1:], strict=True):
                if cell != "–":
                    shown[row[0], check] = float(cell.removesuffix("\u00a0%"))
    cases = {(each.combination, each.check): 100 * each.utilisation for each in judged.verdicts[STRENGTH].cases}
    assert shown == pytest.approx(cases, abs=0.051)
    factors = {row[0]: row[1:] for row in grid(found, "Combinations").rows}
    assert factors["permanent alone"][0] == "1.35" and factors["permanent alone"][-1] == "0.6"
    assert factors["permanent + wind + 0.7 imposed"] == ("1.35", "1.05", "–", "1.5", "0.9")


def test_fill_rules_and_cautions_once():
    document = calculation(judge(full_wall()))
    assert grid(section(document, "Blown fill"), "Voids").rows[0][1] == "245"
    places = {
        "Not for construction until checked by a licensed person": "What this sheet is of",
        "Fire is not checked": "What this sheet is of",
        "protection against moisture belongs to licensed practice": "Moisture",
        "belongs to a licensed engineer": "Strength",
        "raises dust": "Blown fill",
        "check by an electrician": "Blown fill",
    }
    for words, place in places.items():
        assert str(document).count(words) == 1, words
        assert words in str(section(document, place))
    assert isinstance(document.sections[0].parts[0], Text)  # it is the first that is read


def test_conduction_stands_between_its_bounds():
    judged = judge(twin())
    found = facts(section(calculation(judged, numeric=numeric_heat(twin(), plan=True)), "conduction"))
    low, high, exact = (
        float(found[key].split()[0])
        for key in ("lower bound of U, 1 / R′ + ΔU", "upper bound of U, 1 / R″ + ΔU", "U by conduction")
    )
    assert low <= exact <= high
    unsolved = section(calculation(judged), "conduction").parts[0]
    assert unsolved == Text("Not solved for this sheet: U rests on the combined method alone.")


def test_carbon_and_cost_add_up(demo):
    brief, pricing = demo
    judged = judge(full_wall(), pricing)
    document = calculation(judged, brief, pricing=pricing, wall_id="W-007")
    modules = grid(section(document, "Carbon"), "by module")
    counted = [float(row[-1].replace("−", "-")) for row in modules.rows[:-1] if row[-1] != "not counted"]
    assert sum(counted) == pytest.approx(judged.carbon.score, abs=0.006)
    cost = grid(section(document, "Cost"), "Cost by layer")
    totals = [0.0 if each == "–" else float(each) for each in cost.rows[-1][3:]]
    assert sum(totals[:-1]) == pytest.approx(totals[-1], abs=0.03)
    assert totals[-1] == pytest.approx(judged.cost_per_m2, abs=0.006)
    assert document.title == "Calculation of wall W-007" and document.subtitle == "full"


def test_every_value_of_the_catalogue_has_its_source(demo):
    judged = judge(full_wall(), demo[1])
    found = section(calculation(judged, demo[0], pricing=demo[1]), "Where every value")
    titles = dict(grid(found, "The sources").rows)
    rows = [row for row in grid(found, "Materials").rows if row[2] != "no value of its own"]
    catalogue = load_catalogue()
    osb = next(row for row in rows if row[2].startswith("conductivity, design"))
    source = catalogue.sources[catalogue.get("osb").sources["conductivity_w_mk"]]
    assert osb[3] == source.kind and titles[osb[4]].startswith(source.title)
    assert all(row[3] != "stated in the file" and row[4] in titles for row in rows)
    assert len(grid(found, "Prices").rows) >= 3


def test_values_of_products_and_files_say_so(demo):
    """What a list declares is the list's, not the catalogue's; what a file states, the file's."""
    brief, pricing = demo
    product = pricing.products["lf-cellulose"]
    sold = (
        load_catalogue()
        .get("blown-cellulose")
        .model_copy(
            update={
                "key": "lf-cellulose",
                "conductivity_w_mk": None,
                "conductivity_declared_w_mk": product.conductivity_declared_w_mk,
                "conversion": product.conversion,
                "vapour_mu": 3.3,
                "sources": {},
            }
        )
    )
    wall = full_wall()
    frame = wall.layers[1].model_copy(update={"material": "lf-cellulose", "product": "lf-cellulose"})
    update = {"layers": (wall.layers[0], frame, wall.layers[2]), "materials": wall.materials | {"lf-cellulose": sold}}
    document = calculation(judge(wall.model_copy(update=update), pricing), brief, pricing=pricing)
    found = section(document, "Where every value")
    titles = dict(grid(found, "The sources").rows)
    rows = {row[2]: row for row in grid(found, "Materials").rows}
    declared = rows["conductivity, declared 0.037 W/mK"]
    assert declared[3] == "invented for the demo" and titles[declared[4]] == "Loomfield Fill: blown cellulose"
    assert rows["vapour resistance factor μ 3.3"][3] == "stated in the file"


def test_unknown_values_are_told_as_not_known():
    document = calculation(judge(plated()))
    head = facts(document.sections[0])
    assert head["weight"] == UNKNOWN and head["carbon that counts"] == UNKNOWN and head["cost"] == UNKNOWN
    assert "no price lists" in section(document, "Cost").parts[0].words
    modules = grid(section(document, "Carbon"), "by module")
    assert modules.rows[0][2:] == (UNKNOWN, UNKNOWN, UNKNOWN, UNKNOWN)
    assert section(document, "Strength").parts[0].words.startswith("Not checked: the file gives no [loads]")


def test_head_says_who_asked_for_what(demo):
    brief = demo[0]
    wall = full_wall()
    digests = {"catalogue": "ab" * 32, "list.csv": "cd" * 32}
    document = calculation(judge(wall), brief, target=0.105, digests=digests)
    head, last = facts(document.sections[0]), facts(document.sections[-1])
    assert brief.name in head["brief"] and "U at most" in head["asked for"]
    assert head["target"] == "at most 0.105 W/m²K: missed"
    assert not [label for label in head if label.startswith("mark of")]
    assert last["mark of the build-up"] == f"{digest_of(wall)} (stands in every document of this wall)"
    assert last["mark of the catalogue"] == "ab" * 8 and last["mark of list.csv"] == "cd" * 8
    assert head["prices as on"] == brief.prices.on.isoformat() and isinstance(
        document.sections[-1].parts[-1], Signature
    )


def test_numbers_follow_the_briefs_locale(demo):
    brief = demo[0].model_copy(update={"locale": "de"})
    found = section(calculation(judge(full_wall()), brief), "U-value by hand")
    steps = [each for each in found.parts if isinstance(each, SumStep)]
    assert all("," in each.result and "." not in each.result for each in steps)


def test_drawings_bring_their_own_words():
    found = calculation(judge(twin()), drawings=["<svg><title>A &amp; B</title><desc>cut</desc></svg>", "<svg/>"])
    first, second = section(found, "Drawing").parts
    assert (first.caption, first.alt) == ("A & B", "cut") and second.alt == "drawing of the wall"
    assert drawing_of("<svg/>").caption == ""


def test_heat_is_shared_out_by_name_and_as_the_command_says():
    """The sheet's fill, studs and ties are those of `check --numeric`, layer by layer."""
    study = SimpleNamespace(
        brief=brief(), pricing=pricing(), row=lambda _: {"id": "W-007"}, buildup=lambda _: plated(), summary={}
    )
    solved = Chosen(study, "W-007").numeric
    found = section(calculation(judge(plated()), numeric=solved), "conduction")
    rows = dict(grid(found, "What the heat passes through").rows)
    through = numeric_figures(plated()).breaks.through
    expected = {
        f"{each.layer} {each.role}: {each.what}": f"{100 * each.of_heat:.1f}\u00a0%"
        for each in through
        if each.of_heat < 1
    }
    assert rows == {name: share for name, share in expected.items() if not name.endswith(": layer")}
    assert list(rows)[:2] == ["2 outer frame: fill", "2 outer frame: studs"]


@pytest.mark.parametrize("name", WALLS)
def test_bold_lines_are_short_and_the_result_stays_with_its_working(name: str):
    document = calculation(judge(WALLS[name]()))
    bold = [each.caption for one in document.sections for each in one.parts if isinstance(each, DocumentTable)]
    bold += [each.words for one in document.sections for each in one.parts if isinstance(each, Heading)]
    assert max(map(len, bold)) < 90
    parts = section(document, "U-value by hand").parts
    first = next(at for at, each in enumerate(parts) if each == Heading("Total resistance and U"))
    result = next(at for at, each in enumerate(parts) if isinstance(each, SumStep) and each.strong)
    assert result > first + 1 and all(each.kept for each in parts[first + 1 : result])


def test_a_row_must_fit_its_headings():
    with pytest.raises(ValueError, match="a row of 1 cells under 2 headings"):
        DocumentTable("c", ("a", "b"), (("x",),))
    assert Heading("h").words == "h"
