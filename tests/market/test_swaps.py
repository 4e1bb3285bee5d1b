"""One product swapped for a rival: each changed wall judged by itself, through its build-up file."""

from __future__ import annotations

import numpy as np
import pytest
import toy_space as small
from hypothesis import HealthCheck, given, settings
from random_spaces import spaces
from test_suppliers import sold

from materials.errors import InputError
from optimiser.checks.check_table import CHECKS, Demands
from optimiser.checks.judge import judge
from optimiser.market.swaps import choices_of, rows_of, swaps, swaps_of
from optimiser.search.run import save, search
from optimiser.search.study import open_study
from optimiser.space.buildable import buildable, canonical, violations
from optimiser.space.rivals import options, row_of, swapped
from optimiser.space.walls import buildup
from optimiser.template import AT, VARIABLES, ZONE

FIGURES = ("thickness_mm", "cost_per_m2", "carbon_kgco2e_m2", "weight_kg_m2")
LIMITS = {"max_thickness_mm": 520, "max_cost_per_m2": 170}


@pytest.fixture(scope="module")
def studied(tmp_path_factory):
    """A study of the toy space with all checks, two limits and four suppliers."""
    folder = tmp_path_factory.mktemp("swapped")
    brief = small.brief_in(folder, sold(), search={"start_generations": 2}, limits=LIMITS, **small.SOUND)
    save(search(brief, folder), folder, folder / "study")
    return open_study(folder / "study")


def test_every_changed_wall_is_what_its_build_up_file_is_judged_to_be(studied):
    """Figures, target, limits, moisture, strength and fill, of every swap of some walls of the front."""
    choices, brief = choices_of(studied), studied.brief
    demands = Demands.of(brief)
    met = set()
    for row in studied.rows[:: max(1, len(studied.rows) // 3)]:
        before = judge(buildup(choices, np.array(row_of(choices, row)), "before"), studied.pricing, demands)
        for each in swaps(studied, row["id"]):
            if each.reason is not None:
                continue
            after = judge(buildup(choices, np.array(each.row), "changed"), studied.pricing, demands)
            for key in FIGURES:
                added = getattr(after, key) - getattr(before, key)
                assert each.change[key] == pytest.approx(added, abs=1e-9), (each, key)
            assert each.change["u_value"] == pytest.approx(after.heat.u_value - before.heat.u_value, abs=1e-12)
            fails = {"target"} if after.heat.u_value > row["target"] else set()
            fails |= {key for key, most in LIMITS.items() if getattr(after, key.removeprefix("max_")) > most}
            fails |= {check.name for check in CHECKS if after.verdicts[check].passes is False}
            assert set(each.fails) == fails, each
            assert each.passes == (not fails)
            met |= fails
    assert {"target", "strength", "moisture", "fill"} <= met, "the swaps of these walls try every check"


def test_swaps_are_every_option_of_every_product_and_what_cannot_be_built_says_why(studied):
    choices = choices_of(studied)
    for row in studied.rows[:: max(1, len(studied.rows) // 4)]:
        x = np.array(row_of(choices, row))
        found = swaps(studied, row["id"])
        for name in ("airtight layer", "sheathing", "outer board", "outer frame", "inner frame", "service zone"):
            mine = [each for each in found if each.places == (name,)]
            held = choices.options[name][x[AT[name]]]
            others = {each.key for each in choices.options[name]} - {held.key} if held.present else set()
            assert {each.rival for each in mine} == others, name
        for each in found:
            changed = np.array(each.row)[None]
            assert bool(buildable(choices, changed)[0]) == (each.reason is None)
            if each.reason is not None:
                assert each.change == {} and each.fails == () and not each.passes
                assert each.reason.count(";") == violations(choices, changed).sum() - 1
            else:
                differs = {VARIABLES[at] for at in np.flatnonzero(changed[0] != x)}
                assert set(each.places) & differs
        places = [min(VARIABLES.index(ZONE.get(place, place)) for place in each.places) for each in found]
        assert places == sorted(places), "from outside to inside"


def test_a_fill_that_stands_in_several_zones_is_swapped_in_all_of_them(studied):
    choices = choices_of(studied)
    row = next(row for row in studied.rows if row["gap fill"] and row["outer gap board"] == "none")
    found = [each for each in swaps(studied, row["id"]) if "gap fill" in each.places]
    assert {each.places for each in found} >= {("outer fill", "gap fill", "inner fill")}
    rivals = {each.rival for each in found if len(each.places) == 3}
    assert rivals == {each.key for each in choices.fills["outer fill"]} - {row["outer fill"]}, "air fills no frame"


def test_the_same_kind_is_the_same_material_and_size_of_another_supplier(tmp_path):
    rows = [
        *small.PRODUCTS,
        "u-195,stud 195,softwood-c24,Hill Sawmill,195,45,4.40,m,EUR,,0.09,-1.6",
        "g-cel,cellulose,blown-cellulose,Far Fills,,,1.05,kg,EUR,,0.11,-1.4",
        "n-45,hemp 45,hemp-batt,Far Fills,45,,5.00,m2,EUR,0.041,0.02,-1.3",
        "n-50,hemp 50,hemp-batt,Far Fills,50,,5.50,m2,EUR,0.041,0.02,-1.3",
        "n-60,hemp 60,hemp-batt,Far Fills,60,,6.60,m2,EUR,0.041,0.02,-1.3",
    ]
    slots = small.SMALL["slots"] | {
        "outer frame": {"allow": ["softwood-c24"]},
        "fill": {"allow": ["blown-cellulose", "f-gw", "hemp-batt"]},
        "service zone": {"allow": ["b-45", "b-60"]},
        "service fill": {"lock": "hemp-batt"},
    }
    brief = small.brief_in(tmp_path, rows, slots=slots, search={"start_generations": 2})
    choices = small.choices_of(brief, tmp_path)
    wall = np.zeros(len(VARIABLES), int)
    wall[AT["outer frame"]] = [each.key for each in choices.options["outer frame"]].index("t-195 @600")
    wall[AT["sheathing"]], wall[AT["outer board"]] = 1, 1
    wall = canonical(choices, wall[None])[0]
    assert options(choices, "outer fill")[wall[AT["outer fill"]]].key == "f-cel"
    alike = {(each.places, each.rival) for each in swaps_of(choices, wall, 0.2) if each.same_kind}
    assert alike == {
        (("outer frame",), "u-195 @600"),
        (("outer fill",), "g-cel"),
        (("service fill",), "hemp-batt / Far Fills"),
    }


def test_a_swap_that_leads_to_another_wall_of_the_front_names_it(studied):
    rows, x = rows_of(choices_of(studied), studied, studied.brief.target.u_value)
    ids = {tuple(each): row["id"] for each, row in zip(x.tolist(), rows, strict=True)}
    named = 0
    for row in rows:
        for each in swaps(studied, row["id"]):
            assert each.wall == ids.get(each.row)
            assert each.wall is None or each.passes
            named += each.wall is not None
    assert named


def test_an_unknown_wall_is_told(studied):
    with pytest.raises(InputError, match="no wall"):
        swaps(studied, "W-9999")


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(spaces())
def test_every_row_is_in_its_one_form_and_another_wall(choices):
    rng = np.random.default_rng(3)
    walls = canonical(choices, rng.integers(0, choices.sizes, size=(400, len(choices.sizes))))
    walls = np.unique(walls, axis=0)
    walls = walls[buildable(choices, walls)][:6]
    found, x = swapped(choices, walls)
    assert len(found) == len(x)
    if not len(x):
        return
    assert (canonical(choices, x) == x).all()
    for (number, places, rival), row in zip(found, x, strict=True):
        assert (row != walls[number]).any()
        assert row[AT[places[0]]] == rival or places[0] in ("outer fill", "gap fill", "inner fill", "service fill")
        if places[0] in ("outer frame", "inner frame", "service zone"):
            now, then = (choices.options[places[0]][each[AT[places[0]]]] for each in (walls[number], row))
            assert not then.present or (now.spacing, now.offset) == (then.spacing, then.offset)
