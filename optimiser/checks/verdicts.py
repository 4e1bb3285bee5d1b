"""Every verdict on one wall besides heat, check by check, and the rules of building."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from .check_table import CHECKS, Demands
from .common.check import Check, NotJudged, OneWall, V, Verdict
from .moisture.check import MOISTURE
from .rules import BuildingRule, rules


@dataclass(frozen=True)
class Verdicts:
    """The verdicts on one wall, in the order of the table; one that could not be given says why."""

    given: tuple[Verdict | NotJudged, ...]
    rules: tuple[BuildingRule, ...]

    def __getitem__(self, check: Check[V, Any]) -> V | NotJudged:
        return self.given[CHECKS.index(check)]

    def known(self, check: Check[V, Any]) -> V | None:
        """The verdict of a check; None where it could not be given."""
        verdict = self[check]
        return None if isinstance(verdict, NotJudged) else verdict

    @property
    def failed(self) -> list[str]:
        """The names of the checks that the wall fails."""
        names = [check.name for check, verdict in zip(CHECKS, self.given, strict=True) if verdict.rules_out]
        return names + (["rules"] if any(each.passes is False for each in self.rules) else [])

    @property
    def passing(self) -> set[str]:
        """The names of the checks and rules that the wall passes."""
        names = {check.name for check, verdict in zip(CHECKS, self.given, strict=True) if verdict.passes}
        return names | {each.rule for each in self.rules if each.passes}

    def as_json(self) -> dict[str, Any]:
        """One object per check, by its name, and the rules."""
        by_check = {check.name: verdict.as_json() for check, verdict in zip(CHECKS, self.given, strict=True)}
        return by_check | {"rules": [asdict(each) for each in self.rules]}


def verdicts(one: OneWall, demands: Demands) -> Verdicts:
    """Judge one wall by every check."""
    given = tuple(check.verdict(one, demands[check]) for check in CHECKS)
    return Verdicts(given, tuple(rules(one, given[CHECKS.index(MOISTURE)].passes)))
