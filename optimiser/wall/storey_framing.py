"""Where timber of the frames besides their studs stands: `[framing]` of a build-up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import Field

from materials.errors import Checked, InputError

from .quantities import Tall


class StoreyFraming(Checked):
    """Where timber of the frames besides their studs stands: plates at foot and head of a storey, rows of noggings.

    Its share of the area is part of every vertical frame's extra_fraction, in which the combined method counts it; the
    rest of that has no place.
    """

    height_mm: Tall
    plates: Annotated[int, Field(strict=True, ge=0, le=6)] = 0
    nogging_rows: Annotated[int, Field(strict=True, ge=0, le=10)] = 0

    def share(self, width_mm: float, spacing_mm: float) -> float:
        """Share of the area [-] of plates and noggings of a width, noggings between studs at a spacing."""
        plates = self.plates * width_mm / self.height_mm
        noggings = self.nogging_rows * width_mm / self.height_mm * (1 - width_mm / spacing_mm)
        return plates + noggings


def check_framing(framing: StoreyFraming | None, layers: Sequence[Any], place: str) -> None:
    """InputError where plates and noggings take more than the extra_fraction of a frame, of which they are a part."""
    if framing is None:
        return
    for number, layer in enumerate(layers, 1):
        frame = layer.frame
        if frame is None or frame.axis != "vertical" or not frame.extra_fraction:
            continue
        share = framing.share(frame.width_mm, frame.spacing_mm)
        if share > frame.extra_fraction + 1e-9:
            raise InputError(
                f"{place}: [framing]: plates and noggings take {share:.4f} of layer {number} ({layer.role}), more than "
                f"its extra_fraction = {frame.extra_fraction:g}, of which they are a part"
            )
