"""The front to show and where it stands."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from optimiser.search.landmarks import asked_of
from optimiser.search.records import WALL

if TYPE_CHECKING:
    from optimiser.brief.brief import Brief
    from optimiser.search.study import Study

ALIVE = ("waiting", "running")
KEY = WALL  # what a run and a wall may be called


@dataclass(frozen=True)
class FrontSource:
    """One front: of the study that the explorer was opened on (run None), or of a run."""

    run: str | None = None
    status: str = "done"  # done | waiting | running | cancelled | failed | infeasible | missing
    message: str = ""
    brief: Brief | None = None
    rows: list[dict[str, Any]] = field(default_factory=list)
    cloud: dict[str, list[float]] = field(default_factory=dict)
    summary: dict[str, Any] = field(default_factory=dict)
    progress: dict[str, Any] = field(default_factory=dict)
    study: Study | None = None

    @property
    def version(self) -> str:
        """Changes whenever the rows to show change."""
        if self.study is not None:
            proven = "|proven" if self.summary.get("numeric") else ""
            return f"{self.run}|whole|{len(self.rows)}{proven}"
        at = [self.progress.get(key) for key in ("target", "generation", "settled")]
        return f"{self.run}|{self.status}|{at}|{len(self.rows)}"

    @property
    def alive(self) -> bool:
        """Whether it is still being searched."""
        return self.status in ALIVE

    @property
    def asked(self) -> tuple[str, ...]:
        """What its walls are narrowed, ranked and compared by."""
        return asked_of(self.brief)

    @property
    def currency(self) -> str:
        return self.brief.prices.currency if self.brief else "EUR"
