"""Random walls for the laws of heat flow: layers, frames, ties and extras drawn by hypothesis."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from hypothesis import strategies as st

from materials.models import Material
from optimiser.batch import Members, WallBatch
from optimiser.heat.steady import Steady, transmittance
from optimiser.wall.assemble import batch_of, parts_of
from optimiser.wall.buildup import BuildUp

LAMBDAS = (0.022, 0.035, 0.04, 0.05, 0.09, 0.13, 0.18, 0.25, 0.8)
MATERIALS = {
    f"m{number}": Material(key=f"m{number}", name="m", conductivity_w_mk=value) for number, value in enumerate(LAMBDAS)
}
MATERIALS["air"] = Material(key="air", name="air", kind="air")
KEYS = [key for key in MATERIALS if key != "air"]
INSULATION = ("m0", "m1", "m2", "m3")  # conduct less than every member below
TIMBER = ("m4", "m5", "m6", "m7")


def build(layers: list[dict], **more) -> BuildUp:
    """A wall of these layers, as they are."""
    return BuildUp(name="random", materials=MATERIALS, layer=layers, **({"outside": "exposed"} | more))


def plain(material: str, thickness_mm: float, **more) -> dict:
    return {"role": "layer", "material": material, "thickness_mm": thickness_mm} | more


def heat(layers: list[dict] | BuildUp, **more) -> Steady:
    wall = layers if isinstance(layers, BuildUp) else build(layers, **more)
    return transmittance(batch(wall))


def batch(wall: BuildUp) -> WallBatch:
    return batch_of(wall, parts_of(wall))


def stacked(batches: list[WallBatch]) -> WallBatch:
    """Batches of one topology as one."""
    first = batches[0]
    members = tuple(_joined([each.members[number] for each in batches]) for number in range(len(first.members)))
    slight = first.slight and replace(first.slight, opening=np.concatenate([each.slight.opening for each in batches]))
    return replace(_joined(batches), members=members, slight=slight)


def _joined(records: list[WallBatch] | list[Members]):
    names = [field.name for field in fields(records[0]) if isinstance(getattr(records[0], field.name), np.ndarray)]
    return replace(records[0], **{name: np.concatenate([getattr(each, name) for each in records]) for name in names})


@st.composite
def plain_layers(draw, most: int = 5) -> list[dict]:
    """Homogeneous layers, some of them air, some of no thickness."""
    found = []
    for _ in range(draw(st.integers(1, most))):
        material = draw(st.sampled_from([*KEYS, "air"]))
        deepest = 300 if material == "air" else 400
        found.append(plain(material, draw(st.integers(0, deepest))))
    return found


@st.composite
def frames(
    draw, materials=KEYS, axes=("vertical", "horizontal"), extras=True, fractions=True, spacings=(400, 600, 625)
):
    """One frame: members of whole mm."""
    frame: dict = {"material": draw(st.sampled_from(list(materials)))}
    if fractions and draw(st.integers(0, 4)) == 0:
        return frame | {"fraction": draw(st.integers(0, 300)) / 1000}
    spacing = draw(st.sampled_from(spacings))
    frame |= {"width_mm": draw(st.integers(1, 120)), "spacing_mm": spacing, "axis": draw(st.sampled_from(list(axes)))}
    frame["offset_mm"] = draw(st.sampled_from([0, 0, 0, spacing // 2, draw(st.integers(0, spacing - 1))]))
    if extras:
        frame["extra_fraction"] = draw(st.sampled_from([0.0, 0.0, draw(st.integers(0, 100)) / 1000]))
    return frame


@st.composite
def walls(draw, most_frames: int = 3, extras: bool = True, fractions: bool = True, ties: bool = True) -> list[dict]:
    """Layers of a whole wall: up to three frames, on lines of their own or together, ties and extras."""
    layers = draw(plain_layers())
    for _ in range(draw(st.integers(0, most_frames))):
        frame = draw(frames(extras=extras, fractions=fractions))
        framed = plain(draw(st.sampled_from([*KEYS, "air"])), draw(st.integers(1, 300)), frame=frame)
        layers.insert(draw(st.integers(0, len(layers))), framed)
    if ties and draw(st.booleans()):
        layers = layers[: draw(st.integers(0, len(layers)))] + draw(tied_twins(extras=extras))
    return layers


@st.composite
def tied_twins(draw, extras: bool = True) -> list[dict]:
    """Two frames on one line, tied by plates across the gap between them."""
    first = draw(frames(axes=("vertical",), extras=extras, fractions=False))
    second = draw(frames(axes=("vertical",), extras=extras, fractions=False))
    second |= {"spacing_mm": first["spacing_mm"], "offset_mm": first["offset_mm"]}
    tie = {"material": draw(st.sampled_from(KEYS)), "thickness_mm": draw(st.integers(1, 150))}
    tie |= {"height_mm": draw(st.integers(50, 1200)), "vertical_spacing_mm": 1200}
    fill = st.sampled_from(KEYS)
    return [
        plain(draw(fill), draw(st.integers(1, 300)), frame=first),
        plain(draw(fill), draw(st.integers(1, 300)), tie=tie),
        plain(draw(fill), draw(st.integers(1, 300)), frame=second),
    ]
