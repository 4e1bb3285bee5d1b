"""What a reader looks at on the plot, read from the page: a front, a target, the question, and what narrows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from optimiser.search.landmarks import Span
from optimiser.wall.scores import OBJECTIVES

from ..front.family import others
from ..front.front_rows import PlotRows, front_rows, my_row
from ..front.plot_axes import Look
from ..rows.choose import Row, narrowed, of_target
from ..source import FrontSource
from .locking import Lock, held, read_locks

WIDTH = 760.0  # px of the plot until the page has said how wide it is


@dataclass(frozen=True)
class PlotView:
    """A view of the plot. ranges: figure -> where its slider stands; mine: one's own wall as the page keeps it."""

    run: str | None = None
    target: float | None = None
    x: str = "thickness_mm"
    y: str = "carbon_kgco2e_m2"
    colour: str = "cost_per_m2"
    log: tuple[str, ...] = ()
    theme: str = "light"
    width: float = WIDTH
    mine: Mapping[str, Any] | None = None
    locks: Sequence[Lock] = ()
    ranges: Mapping[str, Span | None] = field(default_factory=dict)

    @classmethod
    def read(cls, parts: Mapping[str, Any]) -> PlotView:
        """The view that the page asks for, from the values of its stores and controls; what it leaves out is usual."""
        given = {key: parts[key] for key in ("run", "target", "x", "y", "colour", "mine") if key in parts}
        return cls(
            **given,
            log=tuple(parts.get("log") or ()),
            theme=parts.get("theme") or "light",
            width=float((parts.get("screen") or {}).get("width") or WIDTH),
            locks=read_locks(parts.get("locks")),
            # Before the sliders know this front they narrow nothing.
            ranges=spans_of(parts["ranges"]) if "ranges" in parts and parts.get("spans", True) else {},
        )

    def look(self, source: FrontSource) -> Look:
        """The reader's choices as the figure takes them."""
        modules = tuple(source.brief.carbon.modules) if source.brief else ("A1-A3",)
        return Look(
            self.x,
            self.y,
            self.colour,
            self.log,
            self.theme,
            self.width,
            currency=source.currency,
            modules=modules,
            asked=source.asked,
        )

    def rows(self, workspace: Any) -> PlotRows:
        """What the plot shows of its front."""
        source = workspace.source(self.run)
        every = front_rows(source)
        whole = of_target(every, self.target)
        return PlotRows(
            whole,
            narrowed_rows(whole, self, workspace),
            others(every, self.target),
            my_row(self.mine, source),
            self.look(source),
        )


def narrowed_rows(rows: Sequence[Row], view: PlotView, workspace: Any) -> list[Row]:
    """The rows of one target that the ranges and the locks of a view leave."""
    within = narrowed(rows, view.ranges)
    return held(within, view.locks, workspace.contents(view.run)) if view.locks else within


def spans_of(values: Sequence[Sequence[float] | None]) -> dict[str, Span | None]:
    """Slider values by figure."""
    return {key: tuple(value) if value else None for key, value in zip(OBJECTIVES, values, strict=True)}
