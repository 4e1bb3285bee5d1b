"""The documents are a contract: every command, option, key and column stands in README.md or DEVELOPERS.md."""

from __future__ import annotations

import re
from pathlib import Path

import typer

from materials import models
from materials.catalogue import load_catalogue
from optimiser.brief import brief
from optimiser.checks.check_table import ChecksAsked
from optimiser.checks.fill.demand import FillDemand
from optimiser.checks.moisture.demand import MoistureDemand
from optimiser.checks.strength.demand import StrengthDemand
from optimiser.command.cli import app, demo_brief
from optimiser.score import settings
from optimiser.search.study import FIGURES
from optimiser.template import FILLS, SLOTS, USE_OF
from optimiser.wall import buildup
from optimiser.wall.storey_framing import StoreyFraming

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BOTH = README + DEVELOPERS
COMMANDS = typer.main.get_command(app).commands


def words(text: str) -> set[str]:
    return set(re.findall(r"[A-Za-z_][\w-]*", text))


KNOWN = words(BOTH) | words(demo_brief().read_text(encoding="utf-8"))


def test_every_command_and_option_is_in_the_readme():
    assert not [name for name in COMMANDS if f"wallfront {name}" not in README]
    options = [(name, each) for name, command in COMMANDS.items() for one in command.params for each in one.opts]
    assert len(options) > len(COMMANDS)
    assert not [(name, each) for name, each in options if each.startswith("--") and each not in README]


def test_every_key_of_briefs_and_build_ups_is_described():
    records = [
        *(brief.Brief, brief.Target, brief.Objectives, brief.Limits, brief.House, brief.Prices, brief.MaterialFilter),
        *(brief.Framing, brief.TieSpec, brief.Gap, brief.SlotChoice, brief.Seed, brief.SearchBudget),
        *(buildup.Frame, buildup.Tie, buildup.Layer, buildup.Conditions, buildup.Loads, buildup.Corrections),
        *(buildup.Fastener, buildup.PointBridge, StoreyFraming),
        *(settings.Labour, settings.Transport, settings.Fixing),
        *(settings.CarbonDemand, settings.Operation, settings.Ranges),
        *(ChecksAsked, MoistureDemand, StrengthDemand, FillDemand),
    ]
    keys = [(each.__name__, field.alias or name) for each in records for name, field in each.model_fields.items()]
    assert not [each for each in keys if each[1] not in KNOWN]


def test_every_slot_objective_and_column_is_described():
    for name in (*SLOTS, *FILLS):
        assert name in BOTH + demo_brief().read_text(encoding="utf-8"), name
    assert set(brief.OBJECTIVES) | set(FIGURES) <= KNOWN


def test_every_kind_and_use_of_the_catalogue_is_described_and_used():
    uses = {*USE_OF.values(), "tie"}
    for each in (*models.KINDS, *uses):
        assert f"`{each}`" in DEVELOPERS, each
    catalogue = load_catalogue().materials.values()
    assert {material.kind for material in catalogue} == set(models.KINDS)
    assert {use for material in catalogue for use in material.uses} == uses


def test_the_first_paragraph_of_the_readme_is_the_job_and_two_commands_follow():
    paragraphs = [each for each in README.split("\n\n") if each.strip()]
    assert "heat-loss target" in paragraphs[1]
    commands = re.findall(r"```sh\n(.*?)\n```", README, re.S)[:2]
    assert all("\n" not in each and each.startswith("python3 -m venv .venv && ") for each in commands)
    assert commands[0].endswith("wallfront demo")
    assert "pytest" in commands[1]
