"""Where a cut through a wall lies on its sheet of paper."""

from __future__ import annotations

from dataclasses import dataclass

BREAK = 12.0  # px of a break where the wall is shortened
PX_PER_MM = 96 / 25.4  # of paper


@dataclass(frozen=True)
class Sheet:
    """Where a cut lies on its sheet: one scale both ways, from millimetres of the wall to units of the sheet.

    unit: what one px of the paper is in units of the sheet. A sheet of the screen has px for units (unit 1); the
    drawing model has millimetres of the wall (scale 1, unit 1 / px per mm).
    """

    scale: float
    left: float
    top: float
    windows: tuple[tuple[float, float], ...]
    unit: float = 1.0

    def px(self, size: float) -> float:
        """A size on the paper [px] in units of the sheet."""
        return size * self.unit

    def x(self, mm: float) -> float:
        return self.left + mm * self.scale

    def y(self, mm: float, window: int) -> float:
        """Place of a length along the wall [mm] within one of the stretches shown."""
        before = sum(high - low for low, high in self.windows[:window])
        return self.top + (before + mm - self.windows[window][0]) * self.scale + self.px(BREAK) * window

    def place_of(self, mm: float) -> float | None:
        """Place of a length along the wall [mm]; None where it is not shown."""
        for index, (low, high) in enumerate(self.windows):
            if low - 1e-6 <= mm <= high + 1e-6:
                return self.y(mm, index)
        return None

    @property
    def bottom(self) -> float:
        return self.y(self.windows[-1][1], len(self.windows) - 1)


def model(windows: list[tuple[float, float]], px_per_mm: float) -> Sheet:
    """The sheet of the drawing model: millimetres of the wall, text and gaps sized for that scale [px/mm]."""
    return Sheet(1.0, 0.0, 0.0, tuple(windows), 1 / px_per_mm)
