"""The shipped brief: a complete front whose every wall passes every check, and walls that the checks keep off."""

from __future__ import annotations

import pytest

from optimiser.brief.brief import read_brief
from optimiser.checks.check_table import Demands
from optimiser.checks.judge import judge
from optimiser.checks.moisture.check import MOISTURE
from optimiser.checks.strength.check import STRENGTH
from optimiser.command.cli import demo_brief
from optimiser.handover.ordering.as_taken_off import as_taken_off
from optimiser.handover.ordering.take_off import take_off
from optimiser.search.run import save, search
from optimiser.search.study import open_study


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    brief = read_brief(demo_brief())
    folder = tmp_path_factory.mktemp("demo") / "study"
    save(search(brief, demo_brief().parent), demo_brief().parent, folder)
    return open_study(folder)


def test_the_front_is_complete_and_rich(study):
    """At least 60 walls from at least 10^8, with four undominated options in every open slot."""
    assert study.summary["complete"]
    assert study.summary["front_size"] == len(study.rows) >= 60
    assert study.summary["space_size"] >= 1e8
    counts = {name: study.summary["undominated"][name] for name, size in study.summary["options"].items() if size > 1}
    assert min(counts.values()) >= 4, counts
    (proof,) = study.summary["proof"]
    assert proof["evaluated"] + sum(proof["excluded"].values()) == study.summary["space_size"]


def test_every_wall_on_it_passes_every_check(study):
    demands = Demands.of(study.brief)
    for row in study.rows:
        told = judge(study.buildup(row["id"]), study.pricing, demands).verdicts
        assert told.failed == [], (row["id"], told.failed)
        assert told[MOISTURE].passes and told[STRENGTH].passes
        assert all(rule.passes for rule in told.rules), row["id"]


def test_the_checks_change_the_front_and_say_why(study):
    assert len(study.ruled_out) > 0
    assert {row["check"] for row in study.ruled_out} == {"strength", "fill"}
    assert all(row["reason"] for row in study.ruled_out)
    beaten = {row["in_short"] for row in study.ruled_out} - {row["in_short"] for row in study.rows}
    assert beaten, "a wall that the checks keep off is on the front"


def test_the_share_of_members_is_what_the_trade_knows(study):
    """12 to 15 % of the area is timber in the outer frame with studs at 600 mm, corners apart: common practice."""
    corners = study.brief.framing.further_fraction
    for row in study.rows:
        frame = next(each.frame for each in study.buildup(row["id"]).layers if each.role == "outer frame")
        assert 0.12 <= frame.width_mm / frame.spacing_mm + frame.extra_fraction - corners <= 0.15, row["id"]


def test_walls_meet_the_target_with_the_timber_and_ties_that_are_ordered(study):
    """What the search counts is what the order counts: U as taken off is within 1 % of it all over the front."""
    for row in study.rows[:: max(len(study.rows) // 12, 1)]:
        wall = study.buildup(row["id"])
        found = as_taken_off(wall, study.brief, take_off(wall, study.brief, study.pricing), row["target"])
        assert found.u_taken == pytest.approx(row["u_value"], rel=0.01), row["id"]
        assert found.u_taken <= 1.001 * row["target"], row["id"]
