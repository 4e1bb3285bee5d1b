"""What would mend a wall: every kind of failure gets a change that, made, passes; nothing that passed is lost."""

from __future__ import annotations

import json
import time
import tomllib

import pytest
import typer.testing

from materials.catalogue import load_catalogue
from optimiser.brief.brief import read_brief
from optimiser.brief.price_lists import pricing_of
from optimiser.checks.check_table import NAMED
from optimiser.checks.judge import judge
from optimiser.checks.mend import FIGURES, MOST, UNMENDED, mends
from optimiser.command import cli
from optimiser.wall.buildup import BuildUp, buildup_from, to_toml
from optimiser.wall.pricing import Pricing

CATALOGUE = load_catalogue()
BRIEF = read_brief(cli.demo_brief())
PRICING: Pricing = pricing_of(BRIEF, cli.demo_brief().parent, CATALOGUE)[0]
COLD = {
    "outdoor_temperature_c": [-6.0, -5.0, 0.0, 4.0, 9.0, 14.0, 16.0, 15.0, 11.0, 6.0, 1.0, -4.0],
    "outdoor_rh_percent": [85.0, 85.0, 80.0, 75.0, 72.0, 70.0, 72.0, 75.0, 80.0, 84.0, 86.0, 87.0],
}


def sheet(role: str, material: str, thickness: float = 0.0, **more) -> dict:
    return {"role": role, "material": material, "thickness_mm": thickness} | more


def framed(role: str, depth: float, fill: str = "blown-cellulose", **frame) -> dict:
    members = {"material": "softwood-c24", "width_mm": 45.0, "spacing_mm": 600.0} | frame
    return sheet(role, fill, depth, frame=members)


SOUND = {
    "wind": sheet("wind-tight layer", "breather-membrane"),
    "sheathing": sheet("sheathing", "vapour-open-fibreboard", 15.0),
    "outer": framed("outer frame", 145.0),
    "gap": None,
    "inner": None,
    "airtight": sheet("airtight layer", "airtight-fleece"),
    "lining": sheet("lining", "plasterboard", 12.5),
}
TWIN = {
    "gap": sheet("gap", "blown-cellulose", 100.0),
    "inner": framed("inner frame", 95.0),
}
LOADS = {"permanent_kn_m": 8.0, "imposed_kn_m": 4.0, "wind_kn_m2": 0.8}
OSB = sheet("sheathing", "osb", 12.0)


def wall_of(conditions: dict | None = None, loads: dict | None = None, **layers) -> BuildUp:
    held = [each for each in (SOUND | layers).values() if each is not None]
    raw = {
        "name": "a wall",
        "outside": "vented",
        "layer": held,
        "conditions": conditions or {},
        "loads": loads or LOADS,
    }
    return buildup_from(raw, CATALOGUE, "wall")


LEAKY = {"sheathing": OSB, "outer": framed("outer frame", 245.0), "conditions": COLD | {"indoor_humidity_class": 3}}
WALLS = {
    "too open inside": ("moisture", wall_of(**LEAKY, airtight=sheet("airtight layer", "airtight-paper-recycled"))),
    "nothing airtight": ("moisture", wall_of(**LEAKY, airtight=None)),
    "too tight outside": ("moisture", wall_of(**LEAKY, wind=sheet("wind-tight layer", "bitumen-paper"))),
    "studs too weak": ("strength", wall_of(loads=LOADS | {"permanent_kn_m": 38.0}, outer=framed("outer frame", 120.0))),
    "a twin too weak": (
        "strength",
        wall_of(loads=LOADS | {"permanent_kn_m": 30.0}, **TWIN | {"outer": framed("outer frame", 120.0)}),
    ),
    "a void too deep": ("fill", wall_of(**TWIN | {"gap": sheet("gap", "blown-cellulose", 330.0)})),
    "a void too shallow": (
        "fill",
        wall_of(
            loads={"permanent_kn_m": 0.5},
            gap=sheet("outer gap board", "osb", 9.0),
            inner=sheet("gap", "blown-cellulose", 30.0),
            more=sheet("inner gap board", "wood-fibre-softboard", 8.0),
        ),
    ),
    "bays too wide": (
        "fill",
        wall_of(loads={"permanent_kn_m": 0.5}, outer=framed("outer frame", 145.0, spacing_mm=1200.0)),
    ),
}


@pytest.fixture(params=WALLS, name="case")
def _case(request):
    return WALLS[request.param]


@pytest.mark.parametrize("pricing", [None, PRICING], ids=["unpriced", "priced"])
def test_each_failure_is_mended_and_nothing_that_passed_is_lost(case, pricing):
    check, wall = case
    before = judge(wall, pricing)
    assert check in before.verdicts.failed
    found = [each for each in mends(wall, CATALOGUE, pricing) if each.check == check]
    assert 1 <= len(found) <= MOST
    for each in found:
        after = judge(buildup_from_text(each.wall), pricing)
        assert set(after.verdicts.failed) <= set(before.verdicts.failed) - {check}
        kept = {rule.rule for rule in before.verdicts.rules if rule.passes}
        assert kept <= {rule.rule for rule in after.verdicts.rules if rule.passes}
        for key in FIGURES:
            was, now = getattr(before, key), getattr(after, key)
            if was is not None and now is not None:
                assert each.change[key] == pytest.approx(now - was, abs=1e-9)
        assert ": passes" in each.words


def buildup_from_text(wall: BuildUp) -> BuildUp:
    """The mended wall as a file would bring it back: it must be one that can be written and read."""
    return buildup_from(tomllib.loads(to_toml(wall, CATALOGUE)), CATALOGUE, "mended")


def test_the_cheapest_comes_first_and_no_thing_twice(case):
    check, wall = case
    found = [each for each in mends(wall, CATALOGUE, PRICING) if each.check == check]
    costs = [each.change["cost_per_m2"] for each in found]
    assert costs == sorted(costs)
    assert len({each.words.partition(" (")[0] for each in found}) == len(found)
    for each in found:
        assert f"{each.change['cost_per_m2']:+.2f} EUR/m2" in each.words


def test_without_prices_the_nearest_in_thickness_comes_first(case):
    check, wall = case
    added = [abs(each.change["thickness_mm"]) for each in mends(wall, CATALOGUE) if each.check == check]
    assert added == sorted(added)


def test_it_takes_under_half_a_second(case):
    start = time.process_time()
    mends(case[1], CATALOGUE, PRICING)
    assert time.process_time() - start < 0.5


# The words


def test_the_words_name_the_layer_what_it_becomes_and_what_it_was():
    found = mends(WALLS["too open inside"][1], CATALOGUE, PRICING)
    assert found[0].words.startswith(
        "airtight layer: polyethylene membrane 0.2 (Pellowmere Supplies, sd 50 m) instead of "
    )
    added = mends(WALLS["nothing airtight"][1], CATALOGUE)[0]
    assert added.words.startswith("airtight layer: add ")
    deep = mends(WALLS["a void too deep"][1], CATALOGUE)
    assert deep[0].words.startswith("gap: 260 mm instead of 330 mm: passes; -70 mm, U 0.")
    weak = mends(WALLS["studs too weak"][1], CATALOGUE)
    assert weak[0].words.startswith("outer frame: members at 300 mm instead of 600 mm: passes; U 0.")
    assert weak[1].words.startswith(
        "outer frame: softwood C24 45 x 220 instead of softwood C24 45 x 120: passes; +100 mm"
    )


def test_closer_studs_keep_ties_and_stagger_in_line():
    tie = {"material": "tie-plywood", "thickness_mm": 12.0, "height_mm": 200.0, "vertical_spacing_mm": 1200.0}
    loads = LOADS | {"permanent_kn_m": 30.0}
    weak = {"outer": framed("outer frame", 120.0), "inner": framed("inner frame", 95.0)}
    tied = wall_of(loads=loads, **weak | {"gap": sheet("gap", "blown-cellulose", 100.0, tie=tie)})
    staggered = wall_of(loads=loads, **TWIN | weak | {"inner": framed("inner frame", 95.0, offset_mm=300.0)})
    for wall, offset in ((tied, 0.0), (staggered, 200.0)):
        closer = [each for each in mends(wall, CATALOGUE) if "members at 400 mm" in each.words]
        assert len(closer) == 1
        frames = [layer.frame for layer in closer[0].wall.layers if layer.frame]
        assert [each.spacing_mm for each in frames] == [400.0, 400.0]
        assert frames[1].offset_mm == pytest.approx(offset)


def test_batts_follow_the_studs_in_stock_layers_or_the_stud_is_not_told():
    batt = framed("outer frame", 95.0, fill="wood-fibre-batt") | {
        "product": ["mi-wood-fibre-batt-50", "mi-wood-fibre-batt-45"]
    }
    wall = wall_of(loads=LOADS | {"permanent_kn_m": 20.0}, outer=batt)
    found = mends(wall, CATALOGUE, PRICING)
    assert found
    for each in found:
        layer = next(layer for layer in each.wall.layers if layer.role == "outer frame")
        keys = (layer.product,) if isinstance(layer.product, str) else layer.product
        assert sum(PRICING.products[key].thickness_mm for key in keys) == pytest.approx(layer.thickness_mm)


def test_the_files_own_material_of_the_same_name_stays_as_it_is():
    layers = [
        SOUND["wind"],
        OSB,
        framed("outer frame", 245.0),
        sheet("airtight layer", "airtight-paper"),
        SOUND["lining"],
    ]
    layers.append(sheet("inside", "pe-membrane"))
    own = {"pe-membrane": {"sd_m": 0.5, "mass_kg_m2": 0.2}}
    given = {"name": "own", "outside": "vented", "layer": layers, "materials": own, "conditions": LEAKY["conditions"]}
    wall = buildup_from(given, CATALOGUE, "own")
    for each in mends(wall, CATALOGUE, PRICING):
        assert each.wall.of(each.wall.layers[-1].material).sd_m == 0.5


# Nothing mends it, or nothing fails

HOPELESS = wall_of(loads={"permanent_kn_m": 900.0})


@pytest.mark.parametrize("pricing", [None, PRICING], ids=["unpriced", "priced"])
def test_what_nothing_mends_gets_none(pricing):
    assert judge(HOPELESS, pricing).verdicts.failed[0] == "strength"
    assert mends(HOPELESS, CATALOGUE, pricing) == []


def test_a_wall_that_passes_needs_none():
    wall = wall_of()
    assert not {*NAMED} & {*judge(wall).verdicts.failed}
    assert mends(wall, CATALOGUE) == []


# The command


def called(tmp_path, wall: BuildUp, *options: str):
    path = tmp_path / "wall.toml"
    path.write_text(to_toml(wall, CATALOGUE), encoding="utf-8")
    return typer.testing.CliRunner(env={"COLUMNS": "200"}).invoke(cli.app, ["check", str(path), *options])


def test_check_tells_the_mends_after_the_check_that_fails(tmp_path):
    wall = WALLS["studs too weak"][1]
    found = called(tmp_path, wall)
    assert found.exit_code == 1
    lines = found.output.splitlines()
    at = next(number for number, line in enumerate(lines) if "strength:" in line and "fails" in line)
    told = mends(wall, CATALOGUE)
    assert [line.strip() for line in lines[at + 1 : at + 1 + len(told)]] == [f"mend: {each.words}" for each in told]
    value = json.loads(called(tmp_path, wall, "--json").stdout.splitlines()[0])
    assert value["mends"] == [each.as_json() for each in told]


def test_check_says_when_nothing_mends(tmp_path):
    assert UNMENDED in called(tmp_path, HOPELESS).output
    assert json.loads(called(tmp_path, HOPELESS, "--json").stdout.splitlines()[0])["mends"] == []


def test_check_of_a_sound_wall_has_no_mends(tmp_path):
    wall = wall_of(sheathing=OSB)
    found = called(tmp_path, wall, "--json")
    assert found.exit_code == 0
    assert "mends" not in json.loads(found.stdout)
