"""Where a section drawing lies on its sheet of paper."""

from __future__ import annotations

from dataclasses import dataclass

BREAK = 12.0  # px of a break where the wall is shortened


@dataclass(frozen=True)
class Sheet:
    """Where the drawing lies on its sheet: one scale [px/mm] both ways."""

    scale: float
    left: float
    top: float
    windows: tuple[tuple[float, float], ...]

    def x(self, mm: float) -> float:
        return self.left + mm * self.scale

    def y(self, mm: float, window: int) -> float:
        """Place [px] of a length along the wall [mm] within one of the stretches shown."""
        before = sum(high - low for low, high in self.windows[:window])
        return self.top + (before + mm - self.windows[window][0]) * self.scale + BREAK * window

    @property
    def bottom(self) -> float:
        return self.y(self.windows[-1][1], len(self.windows) - 1)
