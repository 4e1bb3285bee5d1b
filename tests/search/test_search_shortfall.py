"""When no wall meets the brief, every reason given is true of the whole space, listed by brute force."""

import re

import numpy as np
import pytest
import toy_space as small

from optimiser.search.run import search
from optimiser.space import buildable as rules

QUICK = {"population": 60, "generations": 30}


def shortfall_of(folder, rows=small.PRODUCTS, **changes):
    brief = small.brief_in(folder, rows, **({"search": QUICK} | changes))
    outcome = search(brief, folder)
    assert not outcome.has_front
    assert len(outcome.shortfalls) == 1
    return outcome.shortfalls[0], outcome


def number_in(reasons, pattern) -> float:
    found = [match for reason in reasons if (match := re.search(pattern, reason))]
    assert found, f"no reason says {pattern!r}: {reasons}"
    return float(found[0].group(1))


@pytest.mark.parametrize(
    ("limits", "binding", "pattern"),
    [
        ({"max_thickness_mm": 400}, "max_thickness_mm", r"max_thickness_mm = 400 binds: .* ([\d.]+) mm"),
        ({"max_cost_per_m2": 70}, "max_cost_per_m2", r"max_cost_per_m2 = 70 binds: .* ([\d.]+) per m2"),
        ({"max_carbon_kgco2e_m2": 6}, "max_carbon_kgco2e_m2", r"max_carbon_kgco2e_m2 = 6 binds: .* ([\d.]+) kgCO2e/m2"),
        ({"max_weight_kg_m2": 40}, "max_weight_kg_m2", r"max_weight_kg_m2 = 40 binds: .* ([\d.]+) kg/m2"),
        (
            {"max_thickness_mm": 480, "max_carbon_kgco2e_m2": 8},
            "max_thickness_mm",
            r"max_thickness_mm = 480 binds: the least thickness found that holds the rest is ([\d.]+) mm",
        ),
        (
            {"max_thickness_mm": 480, "max_carbon_kgco2e_m2": 8},
            "max_carbon_kgco2e_m2",
            r"max_carbon_kgco2e_m2 = 8 binds: the least carbon found that holds the rest is ([\d.]+) kgCO2e/m2",
        ),
    ],
)
def test_loosening_the_named_limit_to_the_stated_value_admits_a_wall(whole, tmp_path, limits, binding, pattern):
    missed, _ = shortfall_of(tmp_path, limits=limits)
    assert not whole.holding(**limits).any(), "the brief can be met: the case tests nothing"
    stated = number_in(missed.reasons, pattern)
    assert stated > limits[binding]
    assert whole.holding(**(limits | {binding: stated})).any()


def test_a_reason_speaks_only_of_limits_that_bind(whole, tmp_path):
    limits = {"max_thickness_mm": 400, "max_weight_kg_m2": 500}
    missed, _ = shortfall_of(tmp_path, limits=limits)
    assert not whole.holding(**limits).any()
    assert any("max_thickness_mm" in reason for reason in missed.reasons)
    assert not any("max_weight_kg_m2" in reason for reason in missed.reasons)


def test_the_nearest_miss_is_a_wall_of_the_space_and_its_figures_are_its_own(whole, tmp_path):
    missed, _ = shortfall_of(tmp_path, target={"u_value": 0.07})
    assert whole.scores.u_value.min() > 0.07
    figures = np.stack([whole.scores.u_value, whole.scores.thickness_mm, whole.scores.cost_per_m2], axis=1)
    nearest = [missed.nearest[key] for key in ("u_value", "thickness_mm", "cost_per_m2")]
    assert np.isclose(figures, nearest, rtol=1e-9).all(axis=1).any()
    assert missed.nearest["u_value"] == pytest.approx(whole.scores.u_value.min(), rel=0.01)
    assert f"U {missed.nearest['u_value']:.4f}" in missed.reasons[0]
    assert "U at most 0.07" in missed.words()


NARROW = {
    "gap": {"min_mm": 0, "max_mm": 60, "step_mm": 20},
    "slots": small.SMALL["slots"]
    | {
        "outer board": {"allow": ["none", "wf-60"]},
        "outer frame": {"allow": ["t-195"]},
        "service zone": {"lock": "none"},
        "fill": {"allow": ["f-gw", "f-cel"]},
    },
    "target": {"u_value": 0.09},
}


@pytest.fixture(scope="module")
def narrow(tmp_path_factory):
    """The shortfall of NARROW."""
    return shortfall_of(tmp_path_factory.mktemp("narrow"), **NARROW)[0]


def test_the_widest_gap_was_used_up_and_about_the_stated_millimetres_more_would_do(narrow, tmp_path):
    missed = narrow
    more = number_in(missed.reasons, r"gap\.max_mm = 60 is used up; about (\d+) mm more of the same fill would do")
    assert not small.listed(small.brief_in(tmp_path, **NARROW), tmp_path).holding().any()

    def meets(extra):
        wider = NARROW | {"gap": {"min_mm": 0, "max_mm": 60 + extra, "step_mm": (60 + extra) / 2}}
        return small.listed(small.brief_in(tmp_path, **wider), tmp_path).holding().any()

    assert meets(round(more * 1.15))
    assert not meets(round(more * 0.85))


def test_the_thickest_frames_were_at_their_deepest_and_the_best_fill_was_tried(narrow, tmp_path):
    missed = narrow
    every = small.listed(small.brief_in(tmp_path, **NARROW), tmp_path)
    best = every.x[np.argmin(every.scores.u_value)]
    for name in ("outer frame", "inner frame"):
        depth = number_in(missed.reasons, rf"thickest frame: the {name} is at its deepest on offer, (\d+) mm")
        assert depth == pytest.approx(every.choices.column[name]["thickness"].max() * 1000)
        assert every.choices.take(name, "thickness", best[None])[0] * 1000 == pytest.approx(depth)
    lowest = min(each.stock.material.design_conductivity for each in every.choices.fills["outer fill"])
    assert number_in(missed.reasons, r"no fill good enough: the best allowed has ([\d.]+) W/mK") == lowest == 0.034


def test_a_fill_as_good_as_the_one_called_for_meets_the_target_nearly(narrow, tmp_path):
    missed = narrow
    needed = number_in(missed.reasons, r"in this wall about ([\d.]+) would be needed")
    assert needed < 0.034

    def lowest_u(conductivity):
        rows = [row.replace(",kg,EUR,0.034,", f",kg,EUR,{conductivity:.4f},") for row in small.PRODUCTS]
        assert rows != small.PRODUCTS
        return small.listed(small.brief_in(tmp_path, rows, **NARROW), tmp_path).scores.u_value.min()

    assert lowest_u(needed) == pytest.approx(0.09, rel=0.05)
    assert lowest_u(needed * 1.1) > 0.09


NOTHING = {
    "wind-tight": ({"wind-tight layer": {"lock": "w-1"}, "outer board": {"lock": "wf-22"}}, "one wind-tight layer"),
    "racking": ({"sheathing": {"lock": "none"}, "outer gap board": {"lock": "none"}}, "racking board"),
    "closed void": (
        {"sheathing": {"lock": "none"}, "outer board": {"lock": "none"}, "fill": {"allow": ["f-cel"]}},
        "a board outside the outer frame where its fill is blown",
    ),
    "batts fit": (
        {"fill": {"allow": ["h-60"]}, "outer frame": {"allow": ["t-145"]}},
        "batts in stock thicknesses",
    ),
    "gap": (
        {"inner frame": {"lock": "none"}, "inner gap board": {"lock": "o-9"}},
        "only where there is an inner frame",
    ),
}


@pytest.mark.parametrize(("slots", "words"), NOTHING.values(), ids=NOTHING.keys())
def test_when_nothing_can_be_built_the_rule_named_is_broken_by_every_row(tmp_path, slots, words):
    few = {"service zone": {"lock": "none"}, "fill": {"allow": ["f-cel", "hemp-batt"]}}
    changes = {"slots": small.SMALL["slots"] | few | slots}
    missed, outcome = shortfall_of(tmp_path, **changes)
    assert outcome.summary["space_size"] == 0
    assert missed.nearest is None
    reason = next(each for each in missed.reasons if "no wall that can be built" in each)
    assert words in reason
    choices = small.choices_of(small.brief_in(tmp_path, **changes), tmp_path)
    rows = np.stack(np.unravel_index(np.arange(np.prod(choices.sizes)), choices.sizes), axis=1)
    rows = np.unique(rules.canonical(choices, rows), axis=0)
    broken = rules.violations(choices, rows)
    assert broken.any(axis=1).all()
    for text, column in zip(rules.RULES.values(), broken.T, strict=True):
        assert (text in reason) == column.all()


def test_the_reasons_follow_from_what_was_tried_not_from_chance(tmp_path):
    one, _ = shortfall_of(tmp_path, limits={"max_thickness_mm": 400})
    two, _ = shortfall_of(tmp_path, limits={"max_thickness_mm": 400})
    assert one == two


def test_a_shortfall_for_one_target_leaves_the_other_its_front(tmp_path):
    brief = small.brief_in(tmp_path, target={"u_value": 0.11, "also": [0.05]}, search=QUICK)
    outcome = search(brief, tmp_path)
    assert [each.target for each in outcome.archives] == [0.11]
    assert [each.target for each in outcome.shortfalls] == [0.05]
