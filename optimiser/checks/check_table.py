"""The table of checks: a new check is a module of its own and one line here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import create_model

from materials.errors import Checked

from .common.check import Check, D
from .fill.check import FILL
from .moisture.check import MOISTURE
from .strength.check import STRENGTH

CHECKS: tuple[Check, ...] = (
    MOISTURE,
    STRENGTH,
    FILL,
)
NAMED = {each.name: each for each in CHECKS}

ChecksAsked = create_model(
    "ChecksAsked",
    __base__=Checked,
    __doc__="Which checks rule walls out in a search. What is off is not checked, and said to be so.",
    **{each.name: (bool, False) for each in CHECKS},
)
SECTIONS: dict[str, Any] = {each.section: (each.demand, each.demand()) for each in CHECKS}  # of a brief, field by field


@dataclass(frozen=True)
class Demands:
    """What is asked of a wall by each check; the defaults where no brief says otherwise."""

    by_section: Mapping[str, Checked]

    @classmethod
    def of(cls, brief: Any = None) -> Demands:
        """What a brief asks; without one the defaults."""
        return cls({each.section: each.demand() if brief is None else getattr(brief, each.section) for each in CHECKS})

    def __getitem__(self, check: Check[Any, D]) -> D:
        return self.by_section[check.section]

    def but(self, check: Check[Any, D], demand: D) -> Demands:
        """The same with another demand of one check."""
        return Demands({**self.by_section, check.section: demand})


def switched_on(brief: Any) -> tuple[Check, ...]:
    """The checks that rule walls out under a brief, in the order of the table."""
    return tuple(each for each in CHECKS if getattr(brief.checks, each.name))
